"""The outermost drives that a hitter can count on from a contact, the own error counted.

A drive belongs to the angle if it lands in with at least a stated chance (`sim.landing`). Of all
such drives of the allowed speeds, topspins and elevations the outermost to one side is looked for
by Newton's method: the direction moves to where the chance is the stated one while elevation and
speed climb to where the ball of that direction lands in most often. Directions are counted from
straight ahead toward the side looked at.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from sim.arithmetic import atan2, cos, sin
from sim.compiled import kernel
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M
from sim.landing import NEVER, log_chance
from sim.launch import over_net


class Drives(NamedTuple):
    """What a search may vary: speeds and topspins between two values, launches up to an elevation;
    and the logarithm of the chance to land in that a drive must have."""

    slowest_m_s: float
    fastest_m_s: float
    flat_rad_s: float
    spin_rad_s: float
    steepest_rad: float
    log_chance: float


RAISE_RAD, TURN_RAD, FASTER = 0.02, 0.005, 0.03  # steps from which slopes are taken
LARGEST_TURN_RAD, LARGEST_RAISE_RAD, LARGEST_GAIN = 0.12, 0.1, 0.08
CLOSE_TURN_RAD, CLOSE_RAISE_RAD, CLOSE_GAIN, CLOSE_LOG, NEARLY = 2e-5, 2e-3, 2e-3, 2e-3, 0.02
FLAT = -1e-3  # bends of the log chance are taken to be at least that much downward
TURNS, CALM, WIDEST_RAD, LOWEST_RAD = 60, 15, 1.5, -0.5
FIRST_RAISE_RAD, FIRST_DEPTH_M, FIRST_MARGIN_M, SAFE_SHARE = 0.22, 5.0, 0.7, 0.6
UNLIKELY = -3.912023005428146  # log of 0.02: no such drive at all
WIDER, WIDEST, HALVINGS = (
    1.1,
    2.2,
    12,
)  # speeds beyond the allowed ones where none of those lands in


@kernel
def clamped(value, low, high):  # type: ignore[no-untyped-def]
    return max(low, min(high, value))


@kernel
def fly_over(x, y, z, elevation, hx, hy, speed, spin, w, sheets):  # type: ignore[no-untyped-def]
    """A launch in the direction (hx, hy): (gap over the net, landing x, landing y)."""
    return over_net(x, y, z, elevation, math.nan, hx, hy, speed, spin, w, sheets)


@kernel
def further(a, b, hx, hy):  # type: ignore[no-untyped-def]
    """How many metres ball `a` lands beyond ball `b` in the direction (hx, hy)."""
    return (a[1] - b[1]) * hx + (a[2] - b[2]) * hy


@kernel
def climb(x, y, z, hx, hy, elevation, speed, spin, drives, hitter, w, sheets):  # type: ignore[no-untyped-def]
    """In one direction: (log chance, its estimated largest, step in elevation, share in speed,
    slopes as `log_chance` takes them).

    One step of Newton's method in both, inside their limits. A speed at a limit that it would
    leave stays there. Slopes are taken to be the same for all balls of the step.
    """
    e_low, e_high = elevation - RAISE_RAD, elevation + RAISE_RAD
    v_high, v_low = (1.0 + FASTER) * speed, (1.0 - FASTER) * speed
    most_raise = min(LARGEST_RAISE_RAD, drives.steepest_rad - elevation)
    least_raise = max(-LARGEST_RAISE_RAD, LOWEST_RAD - elevation)
    most_gain = min(LARGEST_GAIN, drives.fastest_m_s / speed - 1.0)
    least_gain = max(-LARGEST_GAIN, drives.slowest_m_s / speed - 1.0)
    none = (0.0, 0.0, 0.0, 0.0)
    ball = fly_over(x, y, z, elevation, hx, hy, speed, spin, w, sheets)
    if not math.isfinite(ball[0]):
        return NEVER, NEVER, most_raise, most_gain if most_raise < CLOSE_RAISE_RAD else 0.0, none
    lower = fly_over(x, y, z, e_low, hx, hy, speed, spin, w, sheets)
    higher = fly_over(x, y, z, e_high, hx, hy, speed, spin, w, sheets)
    quicker = fly_over(x, y, z, elevation, hx, hy, v_high, spin, w, sheets)
    if not (math.isfinite(lower[0]) and math.isfinite(higher[0]) and math.isfinite(quicker[0])):
        most_gain = most_gain if most_raise < CLOSE_RAISE_RAD else 0.0
        return NEVER, NEVER, min(most_raise, RAISE_RAD), most_gain, none
    slopes = (
        further(higher, lower, hx, hy) / (2.0 * RAISE_RAD),
        (higher[0] - lower[0]) / (2.0 * RAISE_RAD),
        further(quicker, ball, hx, hy) / FASTER,
        (quicker[0] - ball[0]) / FASTER,
    )
    f = log_chance(x, y, ball, slopes, hitter)
    low, high = log_chance(x, y, lower, slopes, hitter), log_chance(x, y, higher, slopes, hitter)
    fast = log_chance(x, y, quicker, slopes, hitter)
    up, gain = (high - low) / (2.0 * RAISE_RAD), (fast - f) / FASTER
    bend = min((high - 2.0 * f + low) / (RAISE_RAD * RAISE_RAD), FLAT)
    raised = clamped(-up / bend, least_raise, most_raise)
    top = f + up * raised + 0.5 * bend * raised * raised
    if gain < 0.0 and least_gain > -1e-9:
        return f, top, raised, 0.0, slopes
    slower = fly_over(x, y, z, elevation, hx, hy, v_low, spin, w, sheets)
    other = fly_over(x, y, z, e_high, hx, hy, v_high, spin, w, sheets)
    if not (math.isfinite(slower[0]) and math.isfinite(other[0])):
        return f, top, raised, min(most_gain, FASTER), slopes
    slow = log_chance(x, y, slower, slopes, hitter)
    both = log_chance(x, y, other, slopes, hitter)
    gain = (fast - slow) / (2.0 * FASTER)
    curve = min((fast - 2.0 * f + slow) / (FASTER * FASTER), FLAT)
    twist, most = (both - high - fast + f) / (RAISE_RAD * FASTER), 0.95 * math.sqrt(bend * curve)
    twist = clamped(twist, -most, most)
    faster = (twist * up - bend * gain) / (bend * curve - twist * twist)
    faster = clamped(faster, least_gain, most_gain)
    raised = clamped(-(up + twist * faster) / bend, least_raise, most_raise)
    faster = clamped(-(gain + twist * raised) / curve, least_gain, most_gain)
    top = f + up * raised + 0.5 * bend * raised * raised
    top += gain * faster + 0.5 * curve * faster * faster + twist * raised * faster
    return f, top, raised, faster, slopes


@kernel
def beside(x, y, z, side, phi, elevation, speed, spin, slopes, hitter, w, sheets):  # type: ignore[no-untyped-def]
    """Logarithm of the chance of the same launch in another direction."""
    hx, hy = side * sin(phi), -cos(phi)
    ball = fly_over(x, y, z, elevation, hx, hy, speed, spin, w, sheets)
    if not math.isfinite(ball[0]):
        return NEVER
    return log_chance(x, y, ball, slopes, hitter)


@kernel
def edge(x, y, z, side, inside, start, spin, drives, hitter, w, sheets):  # type: ignore[no-untyped-def]
    """The last direction with the stated chance: (found, direction, elevation, speed).

    `inside` is a direction that has it (-inf: none known); `start` (direction, elevation, speed).
    """
    phi, elevation, speed = start
    outside = math.inf
    for turns in range(TURNS):
        hx, hy = side * sin(phi), -cos(phi)
        f, top, raised, faster, slopes = climb(
            x, y, z, hx, hy, elevation, speed, spin, drives, hitter, w, sheets
        )
        if turns > CALM:
            raised, faster = 0.5 * raised, 0.5 * faster
        settled = abs(raised) < CLOSE_RAISE_RAD and abs(faster) < CLOSE_GAIN
        turn = 0.0
        if f > NEVER:
            a = phi + TURN_RAD
            turned = beside(x, y, z, side, a, elevation, speed, spin, slopes, hitter, w, sheets)
            slope = (turned - f) / TURN_RAD
            if slope >= 0.0 and settled and top < drives.log_chance and inside == -math.inf:
                return False, phi, elevation, speed
            turn = (drives.log_chance - top) / min(slope, -1e-6)
            turn = clamped(turn, -LARGEST_TURN_RAD, LARGEST_TURN_RAD)
        if settled:
            if top >= drives.log_chance:
                inside = max(inside, phi)
            else:
                outside = min(outside, phi)
            if phi + turn < inside:
                turn = 0.5 * (inside - phi)
            if phi + turn > outside:
                turn = 0.5 * (outside - phi)
            if abs(turn) < CLOSE_TURN_RAD:
                return f > drives.log_chance - CLOSE_LOG, phi, elevation, speed
        phi += turn
        elevation += raised
        speed *= 1.0 + faster
        if abs(phi) > WIDEST_RAD:
            break
    hx, hy = side * sin(phi), -cos(phi)
    f, _, _, _, _ = climb(x, y, z, hx, hy, elevation, speed, spin, drives, hitter, w, sheets)
    return abs(f - drives.log_chance) < NEARLY, phi, elevation, speed


@kernel
def surest(x, y, z, side, start, spin, drives, hitter, w, sheets):  # type: ignore[no-untyped-def]
    """The drive that lands in most often: (log chance, direction, elevation, speed)."""
    phi, elevation, speed = start
    f = NEVER
    for _ in range(TURNS):
        hx, hy = side * sin(phi), -cos(phi)
        f, _, raised, faster, slopes = climb(
            x, y, z, hx, hy, elevation, speed, spin, drives, hitter, w, sheets
        )
        turn = 0.0
        if f > NEVER:
            h = 4.0 * TURN_RAD
            a = beside(x, y, z, side, phi - h, elevation, speed, spin, slopes, hitter, w, sheets)
            b = beside(x, y, z, side, phi + h, elevation, speed, spin, slopes, hitter, w, sheets)
            bend = min((b - 2.0 * f + a) / (h * h), FLAT)
            turn = clamped(-(b - a) / (2.0 * h) / bend, -LARGEST_TURN_RAD, LARGEST_TURN_RAD)
        if max(abs(raised), abs(faster), abs(turn)) < CLOSE_RAISE_RAD or abs(phi) > WIDEST_RAD:
            break
        phi += turn
        elevation += raised
        speed *= 1.0 + faster
    return f, phi, elevation, speed


@kernel
def surest_within(x, y, z, side, start, wider, spin, drives, hitter, w, sheets):  # type: ignore[no-untyped-def]
    """`surest`, with slower and faster drives by a factor `wider` allowed."""
    slowest, fastest = drives.slowest_m_s / wider, drives.fastest_m_s * wider
    more = Drives(slowest, fastest, spin, spin, drives.steepest_rad, drives.log_chance)
    return surest(x, y, z, side, start, spin, more, hitter, w, sheets)


@kernel
def surest_of_all(x, y, z, side, spin, drives, hitter, w, sheets):  # type: ignore[no-untyped-def]
    """The surest drive of the allowed speeds: (log chance, direction, elevation, speed).

    Where that has not the stated chance, the surest of the nearest speeds beyond them that has.
    """
    straight = atan2(-side * x, y + SAFE_SHARE * HALF_LENGTH_M)
    wanted = drives.log_chance
    start = straight, min(FIRST_RAISE_RAD, drives.steepest_rad), drives.slowest_m_s
    best = surest(x, y, z, side, start, spin, drives, hitter, w, sheets)
    narrow, wide = 1.0, 1.0
    while best[0] < wanted and wide < WIDEST:
        narrow, wide = wide, WIDER * wide
        start = straight, start[1], best[3]
        best = surest_within(x, y, z, side, start, wide, spin, drives, hitter, w, sheets)
    if wide > 1.0 and best[0] >= wanted:
        for _ in range(HALVINGS):
            middle = 0.5 * (narrow + wide)
            start = best[1], best[2], best[3]
            other = surest_within(x, y, z, side, start, middle, spin, drives, hitter, w, sheets)
            if other[0] >= wanted:
                wide, best = middle, other
            else:
                narrow = middle
    if best[0] < UNLIKELY:
        return best[0], straight, best[2], best[3]
    return best


@kernel
def outermost_of(x, y, z, side, spin, drives, hitter, w, sheets):  # type: ignore[no-untyped-def]
    """The outermost drive of one topspin: (found, log chance of the surest, direction, elevation,
    speed). Not found where none has the chance; then it is the surest one that is given."""
    inner = HALF_WIDTH_M - FIRST_MARGIN_M - side * x
    depth = FIRST_DEPTH_M if inner > 0.0 else 0.8 * HALF_LENGTH_M
    start = atan2(inner, y + depth), FIRST_RAISE_RAD, drives.slowest_m_s
    found, phi, elevation, speed = edge(
        x, y, z, side, -math.inf, start, spin, drives, hitter, w, sheets
    )
    if found:
        return True, drives.log_chance, phi, elevation, speed
    sure = surest_of_all(x, y, z, side, spin, drives, hitter, w, sheets)
    top, phi, elevation, speed = sure
    if top < drives.log_chance:
        return False, top, phi, elevation, speed
    start = phi + TURN_RAD, elevation, speed
    found, phi, elevation, speed = edge(x, y, z, side, phi, start, spin, drives, hitter, w, sheets)
    if found:
        return True, top, phi, elevation, speed
    return True, *sure


@kernel
def outermost(x, y, z, side, drives, hitter, w, sheets):  # type: ignore[no-untyped-def]
    """The outermost drive to one side: (log chance, direction, elevation, speed, topspin).

    Where no drive of the allowed speeds has the chance of `drives`, that of the nearest speed which
    has it is given, and where none has, the surest, with its own log chance.
    """
    spin = drives.spin_rad_s
    found, top, phi, elevation, speed = outermost_of(x, y, z, side, spin, drives, hitter, w, sheets)
    flat = drives.flat_rad_s
    if flat < spin:
        hx, hy = side * sin(phi), -cos(phi)
        _, flatter, _, _, _ = climb(
            x, y, z, hx, hy, elevation, speed, flat, drives, hitter, w, sheets
        )
        if not found or flatter > drives.log_chance:
            other = outermost_of(x, y, z, side, flat, drives, hitter, w, sheets)
            better = other[0] and (not found or other[2] > phi)
            if better or (not found and not other[0] and other[1] > top):
                found, top, phi, elevation, speed = other
                spin = flat
    if found:
        return drives.log_chance, phi, elevation, speed, spin
    return top, phi, elevation, speed, spin
