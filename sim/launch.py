"""From a contact point, a target, a speed and a spin to the direction of launch."""

from __future__ import annotations

import math

from sim.arithmetic import atan, atan2, cos, sin, tan
from sim.compiled import inlined, kernel
from sim.court import HALF_LENGTH_M, net_height_m
from sim.flight import fly
from sim.flight_table import drop_by_table, landing_by_table, reach_by_table

HIT, UNDER_NET, TOO_FAST, TOO_SLOW, TOO_STEEP = 0, 1, 2, 3, 4
REASONS = (
    "can be hit",
    "net: at this speed and spin the ball that lands there would have to pass under the net cord",
    "too fast to stay in: the lowest ball over the net lands past the baseline",
    "too slow: no launch angle reaches the target",
    "too steep: the high ball that lands there would have to go almost straight up",
)
# How near a search comes to what it looks for: far below what any hitter can do.
CLOSE_M = 1e-4
CLOSE_GAP_M = 1e-6
# Where the table gives way to integration the landing jumps by up to this much; no search gets
# nearer to a target inside the jump.
JUMP_M = 0.005
ALIGNED = 1e-8
STEEPEST = math.radians(89.5)
TOP_OF_CARRY = 1.3  # the elevation that carries farthest lies below
LOWEST = math.radians(-80.0)
# The first guess carries ordinary drives a tenth too far, and its slope is a fifth too steep
# (measured over drives from the baseline); a search needs one look less where both are taken off.
GUESS_FOR, GUESS_SLOPE = 0.91, 0.79
# Where no arc gets that far.
NO_ARC_RAD, NO_SLOPE = 0.6, math.inf
NO_ARC_SLOPE = 0.6841368083416923  # the tangent of that
# On its way to the net a slow drive with much topspin drops by so many times what gravity takes
# from an undelayed ball (measured likewise).
GUESS_DROP = 1.7
# From the gap of a parabola to that of a flight: a constant, a factor, and more from farther away.
GAP_GUESS, GAP_GUESS_SLOPE, GAP_GUESS_PER_M = 0.015, 1.098, 0.0083
# How much faster than without air a ball sent up has to start: a share, and more with its way, its
# topspin and its elevation (measured over lofts of 8 to 46 degrees); how its length grows with its
# speed, and how near it comes to its target, far below what anybody can do.
LOFT_GUESS, LOFT_GUESS_PER_M, LOFT_GUESS_SPIN, LOFT_GUESS_STEEP = 0.955, 0.0058, 2.4e-5, 0.0097
LOFT_SLOPE, CLOSE_LOFT_M = 1.65, 5e-3


@kernel
def launch_state(elevation, heading, speed, topspin, sidespin):  # type: ignore[no-untyped-def]
    """Velocity and spin vector of a launch; the heading is measured from the x axis."""
    return launched(elevation, cos(heading), sin(heading), speed, topspin, sidespin)


@inlined
@kernel
def launched(elevation, hx, hy, speed, topspin, sidespin):  # type: ignore[no-untyped-def]
    """`launch_state` of a launch in the direction (hx, hy)."""
    flat = speed * cos(elevation)
    return (
        flat * hx,
        flat * hy,
        speed * sin(elevation),
        -topspin * hy,
        topspin * hx,
        sidespin,
    )


@kernel
def gap_over_net(net_x, net_z, w):  # type: ignore[no-untyped-def]
    """Gap between the ball's underside and the net, negative below; NaN never got there: -inf."""
    if not math.isfinite(net_z):
        return -math.inf
    return net_z - w.radius_m - net_height_m(net_x)


@kernel
def net_by_table(x, y, hx, hy, topspin, reach, w, sheets):  # type: ignore[no-untyped-def]
    """Where the net's plane is passed: (passed, x, height); `reach` is that of `reach_by_table`.

    The height is NaN where the table has no answer.
    """
    distance, apex_speed, apex_x, drop, _ = reach
    to_net = -y / hy
    if not 0.0 < to_net < distance:
        return False, math.nan, math.nan
    lost = drop_by_table(topspin, apex_speed, to_net - apex_x, sheets)
    return True, x + to_net * hx, w.radius_m + drop - lost


@kernel
def shoot(x, y, z, elevation, heading, speed, topspin, sidespin, w, sheets):  # type: ignore[no-untyped-def]
    """Fly one launch, by the table if it has the launch: see `fly` for what it returns."""
    hx, hy = cos(heading), sin(heading)
    return shoot_toward(x, y, z, elevation, hx, hy, speed, topspin, sidespin, w, sheets)


@inlined
@kernel
def shoot_toward(x, y, z, elevation, hx, hy, speed, topspin, sidespin, w, sheets):  # type: ignore[no-untyped-def]
    """`shoot` a launch in the direction (hx, hy)."""
    if sheets is not None:
        reach = reach_by_table(z, elevation, speed, topspin, w, sheets)
        passed, net_x, net_z = net_by_table(x, y, hx, hy, topspin, reach, w, sheets)
        far = reach[0]
        served = math.isfinite(far) and (math.isfinite(net_z) or not passed)
        if sidespin == 0.0 and served:
            t, flat, vz = landing_by_table(topspin, reach, sheets)
            return t, x + far * hx, y + far * hy, flat * hx, flat * hy, vz, net_x, net_z
    vx, vy, vz, sx, sy, sz = launched(elevation, hx, hy, speed, topspin, sidespin)
    return fly(x, y, z, vx, vy, vz, sx, sy, sz, w)


@inlined
@kernel
def carry(x, y, z, tx, ty, elevation, heading, speed, topspin, sidespin, w, sheets):  # type: ignore[no-untyped-def]
    """Where a launch lands beside the target: (metres too far, angle off, gap over the net).

    A launch that the table serves is taken to be in line with its target, as all are whose heading
    comes from `aim` or `solve_flat`: they turn only balls that curve. Its gap is worked out only
    where it lands on the target, else NaN.
    """
    dx, dy = tx - x, ty - y
    distance = math.sqrt(dx * dx + dy * dy)
    if sheets is not None:
        reach = reach_by_table(z, elevation, speed, topspin, w, sheets)
        miss = reach[0] - distance
        if sidespin == 0.0:
            if abs(miss) >= JUMP_M:
                return miss, 0.0, math.nan
            passed, net_x, net_z = net_by_table(
                x, y, dx / distance, dy / distance, topspin, reach, w, sheets
            )
            if math.isfinite(miss) and (math.isfinite(net_z) or not passed):
                return miss, 0.0, gap_over_net(net_x, net_z, w)
    shot = shoot(x, y, z, elevation, heading, speed, topspin, sidespin, w, sheets)
    lx, ly = shot[1] - x, shot[2] - y
    along = (lx * dx + ly * dy) / distance
    aside = (dx * ly - dy * lx) / distance
    return along - distance, atan2(aside, max(along, 0.1)), gap_over_net(shot[6], shot[7], w)


@kernel
def over_net(x, y, z, elevation, heading, hx, hy, speed, topspin, w, sheets):  # type: ignore[no-untyped-def]
    """Gap over the net and landing of a launch without sidespin: (gap, x, y).

    (`hx`, `hy`) is the direction of the heading, which may be left out (NaN).
    """
    if sheets is not None:
        reach = reach_by_table(z, elevation, speed, topspin, w, sheets)
        passed, net_x, net_z = net_by_table(x, y, hx, hy, topspin, reach, w, sheets)
        far = reach[0]
        if math.isfinite(far) and (math.isfinite(net_z) or not passed):
            return gap_over_net(net_x, net_z, w), x + far * hx, y + far * hy
    if math.isnan(heading):
        heading = atan2(hy, hx)
    shot = shoot(x, y, z, elevation, heading, speed, topspin, 0.0, w, sheets)
    return gap_over_net(shot[6], shot[7], w), shot[1], shot[2]


@kernel
def first_guess(distance, drop, speed, topspin, w):  # type: ignore[no-untyped-def]
    """Elevation of the flat arc without air, with speed and gravity corrected for drag and spin."""
    slope = first_slope(distance, drop, speed, topspin, w)
    return atan(slope) if slope < NO_SLOPE else NO_ARC_RAD


@inlined
@kernel
def first_slope(distance, drop, speed, topspin, w):  # type: ignore[no-untyped-def]
    """Tangent of `first_guess`; NO_SLOPE where no arc gets there."""
    mean = speed * max(0.4, 1.0 - 0.5 * w.drag_per_m * w.drag_coefficient * distance)
    surface = w.radius_m * topspin
    lift = w.drag_per_m * mean * mean * surface / (2.0 * abs(surface) + mean)
    g = w.gravity_m_s2 + max(-0.8 * w.gravity_m_s2, lift)
    v2 = mean * mean
    inside = v2 * v2 - g * (g * distance * distance - 2.0 * drop * v2)
    if inside <= 0.0:
        return NO_SLOPE
    return (v2 - math.sqrt(inside)) / (g * distance)


@inlined
@kernel
def guessed_gap(x, y, z, tx, ty, speed, topspin, w):  # type: ignore[no-untyped-def]
    """About the gap over the net of the flat ball to a target, in still air, without flying it.

    By the parabola through both ends, which is a little low: where the gap is below 1 m, what is
    made of it here lies within 0.16 m (measured over strokes from 6 to 16 m).
    """
    dx, dy = tx - x, ty - y
    distance = math.sqrt(dx * dx + dy * dy)
    slope = first_slope(GUESS_FOR * distance, z - w.radius_m, speed, topspin, w)
    if slope == NO_SLOPE:
        slope = NO_ARC_SLOPE
    share, rise = y / (y - ty), distance * slope
    height = z + share * rise - share * share * (z - w.radius_m + rise)
    gap = height - w.radius_m - net_height_m(x + share * dx)
    return GAP_GUESS + GAP_GUESS_SLOPE * gap + GAP_GUESS_PER_M * y


@kernel
def aim(x, y, z, tx, ty, elevation, heading, speed, topspin, sidespin, w, sheets):  # type: ignore[no-untyped-def]
    """Turn the heading until the landing is in line with the target, by the secant method.

    Returns (metres too far, angle off, gap over the net, heading). Without wind and sidespin the
    first ball is in line.
    """
    miss, off, gap = carry(x, y, z, tx, ty, elevation, heading, speed, topspin, sidespin, w, sheets)
    slope = 1.0
    for _ in range(20):
        if abs(off) < ALIGNED:
            break
        step = max(-0.5, min(0.5, -off / slope))
        last = off
        heading += step
        miss, off, gap = carry(
            x, y, z, tx, ty, elevation, heading, speed, topspin, sidespin, w, sheets
        )
        slope = max(0.05, (off - last) / step)
    return miss, off, gap, heading


@kernel
def farthest(x, y, z, tx, ty, heading, speed, topspin, sidespin, w, sheets):  # type: ignore[no-untyped-def]
    """The launch that carries farthest (golden section): (elevation, metres too far, heading)."""
    ratio = 0.6180339887498949
    low, high = -0.2, TOP_OF_CARRY
    a, b = high - ratio * (high - low), low + ratio * (high - low)
    fa, _, _, ha = aim(x, y, z, tx, ty, a, heading, speed, topspin, sidespin, w, sheets)
    fb, _, _, hb = aim(x, y, z, tx, ty, b, heading, speed, topspin, sidespin, w, sheets)
    for _ in range(18):  # to 0.3 mrad, where the carry is flat
        if fa < fb:
            low, a, fa, ha = a, b, fb, hb
            b = low + ratio * (high - low)
            fb, _, _, hb = aim(x, y, z, tx, ty, b, hb, speed, topspin, sidespin, w, sheets)
        else:
            high, b, fb, hb = b, a, fa, ha
            a = high - ratio * (high - low)
            fa, _, _, ha = aim(x, y, z, tx, ty, a, ha, speed, topspin, sidespin, w, sheets)
    if fa > fb:
        return a, fa, ha
    return b, fb, hb


@kernel
def solve_between(x, y, z, tx, ty, low, high, heading, speed, topspin, sidespin, w, sheets):  # type: ignore[no-untyped-def]
    """Elevation between `low` and `high` that lands on the target: (reached, elevation, heading,
    gap over the net). Not reached if the ends do not miss on both sides.

    The rule of false position, Illinois form; `heading` suits the end that carries too far.
    """
    start = heading
    f_low, _, _, _ = aim(x, y, z, tx, ty, low, start, speed, topspin, sidespin, w, sheets)
    f_high, _, _, _ = aim(x, y, z, tx, ty, high, start, speed, topspin, sidespin, w, sheets)
    if (f_low > 0.0) == (f_high > 0.0):
        return False, high, heading, -math.inf
    side = 0
    for _ in range(80):
        elevation = (low * f_high - high * f_low) / (f_high - f_low)
        miss, off, gap, heading = aim(
            x, y, z, tx, ty, elevation, heading, speed, topspin, sidespin, w, sheets
        )
        if abs(miss) < CLOSE_M and abs(off) < ALIGNED:
            return True, elevation, heading, gap
        if (miss > 0.0) == (f_high > 0.0):
            high, f_high = elevation, miss
            if side == 1:
                f_low *= 0.5
            side = 1
        else:
            low, f_low = elevation, miss
            if side == -1:
                f_high *= 0.5
            side = -1
    return abs(miss) < JUMP_M and abs(off) < 1e-5, elevation, heading, gap


@kernel
def solve_flat(x, y, z, tx, ty, speed, topspin, sidespin, w, sheets):  # type: ignore[no-untyped-def]
    """The lower of the two launches: (reached, elevation, heading, gap over the net).

    The secant method from a good guess; where it leaves the rising side of the carry, the top of
    the carry is found first and the root bracketed below it.
    """
    dx, dy = tx - x, ty - y
    distance = math.sqrt(dx * dx + dy * dy)
    heading = atan2(dy, dx)
    elevation = first_guess(GUESS_FOR * distance, z - w.radius_m, speed, topspin, w)
    miss, off, gap = carry(x, y, z, tx, ty, elevation, heading, speed, topspin, sidespin, w, sheets)
    slope = GUESS_SLOPE * distance / max(0.2, abs(tan(elevation)) + 2.0 * z / distance)
    for _ in range(14):
        heading -= off
        if abs(miss) < CLOSE_M and abs(off) < ALIGNED:
            return True, elevation, heading, gap
        step = max(-0.15, min(0.15, -miss / slope))
        last = miss
        elevation += step
        miss, off, gap = carry(
            x, y, z, tx, ty, elevation, heading, speed, topspin, sidespin, w, sheets
        )
        if step != 0.0:
            slope = (miss - last) / step
        if slope <= 0.0 or not (LOWEST < elevation < STEEPEST):
            break
    top, best, heading = farthest(
        x, y, z, tx, ty, atan2(dy, dx), speed, topspin, sidespin, w, sheets
    )
    if best < 0.0:
        return False, top, heading, -math.inf
    return solve_between(x, y, z, tx, ty, LOWEST, top, heading, speed, topspin, sidespin, w, sheets)


@kernel
def solve_high(x, y, z, tx, ty, speed, topspin, sidespin, w, sheets):  # type: ignore[no-untyped-def]
    """The higher of the two launches: (reached, elevation, heading, gap over the net)."""
    straight = atan2(ty - y, tx - x)
    top, best, heading = farthest(x, y, z, tx, ty, straight, speed, topspin, sidespin, w, sheets)
    if best < 0.0:
        return False, top, heading, -math.inf
    return solve_between(
        x, y, z, tx, ty, top, STEEPEST, heading, speed, topspin, sidespin, w, sheets
    )


@kernel
def speed_for(x, y, z, tx, ty, elevation, topspin, sidespin, fastest, w, sheets):  # type: ignore[no-untyped-def]
    """The speed that lands a launch of that elevation on the target, at most `fastest`.

    (Reached, speed, heading, gap over the net). The secant method from the flight without air.
    """
    dx, dy = tx - x, ty - y
    distance = math.sqrt(dx * dx + dy * dy)
    heading = atan2(dy, dx)
    drop = distance * tan(elevation) + z - w.radius_m
    speed = math.sqrt(0.5 * w.gravity_m_s2 * distance * distance / max(drop, 0.1))
    by_air = LOFT_GUESS_PER_M + LOFT_GUESS_SPIN * topspin + LOFT_GUESS_STEEP * elevation
    speed = min(fastest, speed / cos(elevation) * (LOFT_GUESS + by_air * distance))
    miss, _, gap, heading = aim(
        x, y, z, tx, ty, elevation, heading, speed, topspin, sidespin, w, sheets
    )
    slope = LOFT_SLOPE * distance / speed
    for _ in range(16):
        if abs(miss) < CLOSE_LOFT_M:
            if not math.isfinite(gap):
                shot = shoot(x, y, z, elevation, heading, speed, topspin, sidespin, w, sheets)
                gap = gap_over_net(shot[6], shot[7], w)
            return True, speed, heading, gap
        if miss < 0.0 and speed >= fastest:
            return False, fastest, heading, gap
        last, before = miss, speed
        speed = max(0.5 * speed, min(fastest, 1.5 * speed, speed - miss / slope))
        miss, _, gap, heading = aim(
            x, y, z, tx, ty, elevation, heading, speed, topspin, sidespin, w, sheets
        )
        if speed != before:
            slope = max(0.2 * distance / speed, (miss - last) / (speed - before))
    return abs(miss) < 0.5, speed, heading, gap


@kernel
def lowest_over_net(x, y, z, heading, speed, topspin, gap, lift, w, sheets):  # type: ignore[no-untyped-def]
    """The flattest launch that leaves `gap` above the net: (elevation, landing x, landing y, lift).

    Secant method on the gap, which grows with the elevation for every drive; returns NaN where the
    ball cannot be brought over the net on the rise of its carry. `lift` is how far above the first
    guess the elevation lies: that of a drive much like this one shortens the search, else 0.
    """
    hx, hy = cos(heading), sin(heading)
    span = abs(y / hy)
    drop = GUESS_DROP * 0.5 * w.gravity_m_s2 * span / (speed * speed)
    guess = atan((1.05 + gap - z) / span) + drop
    elevation = guess + lift
    found, lx, ly = over_net(x, y, z, elevation, heading, hx, hy, speed, topspin, w, sheets)
    slope = span
    for _ in range(20):
        before = found
        if not math.isfinite(found):
            before = -1.0
            slope = span
        miss = before - gap
        if abs(miss) < CLOSE_GAP_M:
            return elevation, lx, ly, elevation - guess
        step = max(-0.2, min(0.2, -miss / slope))
        elevation += step
        if elevation > 1.2:
            break
        found, lx, ly = over_net(x, y, z, elevation, heading, hx, hy, speed, topspin, w, sheets)
        if math.isfinite(found) and step != 0.0:
            slope = max(0.2 * span, (found - before) / step)
    return math.nan, math.nan, math.nan, 0.0


@kernel
def solve_launch(x, y, z, tx, ty, speed, topspin, sidespin, high, w, sheets):  # type: ignore[no-untyped-def]
    """Launch for a target: (reason, elevation, heading, gap over the net); reason HIT is 0."""
    if high:
        reached, elevation, heading, gap = solve_high(
            x, y, z, tx, ty, speed, topspin, sidespin, w, sheets
        )
    else:
        reached, elevation, heading, gap = solve_flat(
            x, y, z, tx, ty, speed, topspin, sidespin, w, sheets
        )
    if not reached:
        return TOO_SLOW if elevation <= TOP_OF_CARRY else TOO_STEEP, elevation, heading, gap
    if gap >= 0.0:
        return HIT, elevation, heading, gap
    over, _, landing_y, _ = lowest_over_net(x, y, z, heading, speed, topspin, 0.0, 0.0, w, sheets)
    if math.isfinite(over) and abs(landing_y) > HALF_LENGTH_M:
        return TOO_FAST, elevation, heading, gap
    return UNDER_NET, elevation, heading, gap
