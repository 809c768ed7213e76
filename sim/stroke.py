"""From an intent to the ball that comes: the hitter's limits, execution error, flight, bounce."""

from __future__ import annotations

import math

import numpy as np

from sim.arithmetic import atan2, cos, sin
from sim.bounce import bounce
from sim.chance import normal
from sim.compiled import kernel
from sim.court import SERVICE_LINE_M, is_long, is_wide
from sim.flight import trace
from sim.flight_table import sheets_of
from sim.hitter import usable_topspin
from sim.kinds import DRIVE, FIRST_SERVE
from sim.launch import (
    carry,
    gap_over_net,
    guessed_gap,
    launched,
    shoot_toward,
    solve_flat,
    solve_high,
    solve_launch,
    speed_for,
)
from sim.records import BACKHAND, BALL, IN, LONG, NET, PATH_POINTS, WIDE

ERROR_DRAWS = 3
SLOWER = 0.92
TRIES = 12
GAP_DOUBT_M = 0.25  # by how much a guessed gap is surely not wrong
SHORTEST_AIM_M = 3.0
LARGEST_TILT_RAD = 0.12
LARGEST_SPEED_ERROR = 0.2
# Height at the net per metre of landing depth, measured over ordinary drives from the baseline.
GAP_PER_DEPTH = 0.27
# A ball that is sent up: by how much steeper it is tried, how steep at most, and what share of the
# variance of its depth comes from the elevation, to which a steep ball owes little of its length.
LOFT_STEP_RAD, LOFT_TURNS, STEEPEST_LOFT_RAD = math.radians(4.0), 12, math.radians(45.0)
LOFTED_BY_ELEVATION = 0.15
FULL_LENGTH_M = 24.0  # of a stroke from baseline to baseline, for which margins are stated


@kernel
def net_margin_m(hitter):  # type: ignore[no-untyped-def]
    """Gap above the net that a hitter aims for on the forehand: as many own errors as are kept
    inside the lines, or the hitter's share of that."""
    spread = FULL_LENGTH_M * hitter.depth_sd_share * math.sqrt(hitter.elevation_share)
    return hitter.aim_margin_sds * GAP_PER_DEPTH * spread * hitter.net_margin_share


@kernel
def speed_gain(speed, kind, wing, hitter):  # type: ignore[no-untyped-def]
    """What an error grows by with the speed: 1 up to the usual one of the wing and kind.

    Neither the margins of aim nor the opponent's angle (`sim.landing`) counts it.
    """
    if hitter.speed_error_gain <= 0.0:
        return 1.0
    usual = hitter.forehand_speed_m_s if wing > 0 else hitter.backhand_speed_m_s
    usual *= hitter.kind_speed_share[kind]
    return 1.0 + hitter.speed_error_gain * max(speed - usual, 0.0) / max(usual, 1.0)


@kernel
def slow_down(x, y, z, tx, ty, speed, tries, topspin, sidespin, gap_wanted, w, sheets):  # type: ignore[no-untyped-def]
    """The first speed, each slower than the one before, at which the flat ball leaves the gap.

    (Best gap, speed, elevation, heading): those of the best gap if none does, -inf if no speed
    reaches the target.
    """
    best_gap, best_speed, best_elevation, best_heading = -math.inf, speed, 0.0, 0.0
    for _ in range(tries):
        reached, elevation, heading, gap = solve_flat(
            x, y, z, tx, ty, speed, topspin, sidespin, w, sheets
        )
        if not reached:
            if best_gap == -math.inf:
                best_speed, best_elevation, best_heading = speed, elevation, heading
            break
        if gap > best_gap:
            best_gap, best_speed, best_elevation, best_heading = gap, speed, elevation, heading
        if gap >= gap_wanted:
            break
        speed *= SLOWER
    return best_gap, best_speed, best_elevation, best_heading


@kernel
def find_launch(x, y, z, tx, ty, speed, topspin, sidespin, gap_wanted, w, sheets):  # type: ignore[no-untyped-def]
    """The launch that a hitter settles for: (reaches the target, speed, elevation, heading).

    The flat ball at the wished speed if it clears the net by the wished gap; else slower ones; the
    best gap found if none does; the high ball if no flat one clears the net; and where the target
    is out of range, the ball that carries farthest. Speeds that surely do not are not tried.
    """
    still = w.wind_x_m_s == 0.0 and w.wind_y_m_s == 0.0 and w.wind_z_m_s == 0.0
    doubt = gap_wanted - GAP_DOUBT_M if still else -math.inf
    slower, tries = speed, TRIES
    while tries > 1 and guessed_gap(x, y, z, tx, ty, slower, topspin, w) < doubt:
        slower *= SLOWER
        tries -= 1
    best_gap, best_speed, best_elevation, best_heading = slow_down(
        x, y, z, tx, ty, slower, tries, topspin, sidespin, gap_wanted, w, sheets
    )
    if best_gap == -math.inf and tries < TRIES:
        best_gap, best_speed, best_elevation, best_heading = slow_down(
            x, y, z, tx, ty, speed, TRIES, topspin, sidespin, gap_wanted, w, sheets
        )
    if -math.inf < best_gap < 0.0:
        reached, elevation, heading, gap = solve_high(
            x, y, z, tx, ty, best_speed, topspin, sidespin, w, sheets
        )
        if reached and gap >= 0.0:
            return True, best_speed, elevation, heading
    return best_gap > -math.inf, best_speed, best_elevation, best_heading


@kernel
def spoil(  # type: ignore[no-untyped-def]
    x,
    y,
    z,
    tx,
    ty,
    reached,
    speed,
    elevation,
    heading,
    topspin,
    sidespin,
    errors,
    gain,
    by_elevation,
    hitter,
    w,
    sheets,
):
    """Add execution error to a launch that does or does not reach its target.

    Returns (speed, elevation, heading).

    The error of depth is a share of the distance; the share `by_elevation` of its variance acts
    through the elevation, the rest through the speed, each turned into depth by the carry's own
    slope.
    """
    base = 0.0
    if not reached:
        base = carry(x, y, z, tx, ty, elevation, heading, speed, topspin, sidespin, w, sheets)[0]
    tilted, _, _ = carry(
        x, y, z, tx, ty, elevation + 0.003, heading, speed, topspin, sidespin, w, sheets
    )
    faster, _, _ = carry(
        x, y, z, tx, ty, elevation, heading, speed * 1.01, topspin, sidespin, w, sheets
    )
    distance = math.sqrt((tx - x) ** 2 + (ty - y) ** 2)
    depth_sd = gain * hitter.depth_sd_share * distance
    by_tilt = depth_sd * math.sqrt(by_elevation) * normal(errors[1])
    by_speed = depth_sd * math.sqrt(1.0 - by_elevation) * normal(errors[2])
    tilt = by_tilt * 0.003 / max(tilted - base, 0.003)
    share = by_speed * 0.01 / max(faster - base, 0.001)
    tilt = max(-LARGEST_TILT_RAD, min(LARGEST_TILT_RAD, tilt))
    share = max(-LARGEST_SPEED_ERROR, min(LARGEST_SPEED_ERROR, share))
    turn = gain * hitter.direction_sd_rad * normal(errors[0])
    return speed * (1.0 + share), elevation + tilt, heading + turn


@kernel
def fill_ball(  # type: ignore[no-untyped-def]
    x, y, z, elevation, heading, speed, topspin, sidespin, kind, whole, w, sheets, path, out
):
    """Fly one launch and fill the BALL record `out` and its path after the bounce.

    The path of a ball that does not land in only if it is to be `whole`, else none.
    """
    out.kind = kind
    hx, hy = cos(heading), sin(heading)
    vx, vy, vz, sx, sy, sz = launched(elevation, hx, hy, speed, topspin, sidespin)
    out.x_m, out.y_m, out.z_m = x, y, z
    out.vx_m_s, out.vy_m_s, out.vz_m_s = vx, vy, vz
    out.spin_x_rad_s, out.spin_y_rad_s, out.spin_z_rad_s = sx, sy, sz
    t, lx, ly, lvx, lvy, lvz, net_x, net_z = shoot_toward(
        x, y, z, elevation, hx, hy, speed, topspin, sidespin, w, sheets
    )
    out.landing_time_s, out.landing_x_m, out.landing_y_m = t, lx, ly
    out.landing_vx_m_s, out.landing_vy_m_s, out.landing_vz_m_s = lvx, lvy, lvz
    out.net_clearance_m = gap_over_net(net_x, net_z, w)
    if out.net_clearance_m < 0.0:
        out.outcome = NET
    elif is_long(ly) or (kind >= FIRST_SERVE and abs(ly) > SERVICE_LINE_M):
        out.outcome = LONG
    elif is_wide(lx) or (kind >= FIRST_SERVE and lx * x > 0.0):
        out.outcome = WIDE
    else:
        out.outcome = IN
    bvx, bvy, bvz, bsx, bsy, bsz = bounce(lvx, lvy, lvz, sx, sy, sz, w)
    out.bounce_vx_m_s, out.bounce_vy_m_s, out.bounce_vz_m_s = bvx, bvy, bvz
    out.bounce_spin_x_rad_s, out.bounce_spin_y_rad_s, out.bounce_spin_z_rad_s = bsx, bsy, bsz
    if not (whole or out.outcome == IN):
        out.points = 0
        out.second_bounce_time_s = math.nan
        out.second_bounce_x_m, out.second_bounce_y_m = math.nan, math.nan
        return
    count, t2, x2, y2 = trace(t, lx, ly, w.radius_m, bvx, bvy, bvz, bsx, bsy, bsz, w, path)
    out.points = count
    out.second_bounce_time_s, out.second_bounce_x_m, out.second_bounce_y_m = t2, x2, y2


@kernel
def find_lofted(x, y, z, tx, ty, loft, topspin, sidespin, gap_wanted, fastest, w, sheets):  # type: ignore[no-untyped-def]
    """The launch of a ball sent up at about `loft`: (reaches target, speed, elevation, heading).

    The speed follows from the target. Steeper where it would not clear the net by the wished gap or
    would be faster than a usual drive; where nothing reaches the target, the steepest at that
    speed.
    """
    heading = atan2(ty - y, tx - x)
    speed, elevation = fastest, loft
    for turn in range(LOFT_TURNS):
        elevation = loft + turn * LOFT_STEP_RAD
        reached, speed, heading, gap = speed_for(
            x, y, z, tx, ty, elevation, topspin, sidespin, fastest, w, sheets
        )
        if reached and gap >= gap_wanted:
            return True, speed, elevation, heading
        if elevation + LOFT_STEP_RAD > max(loft, STEEPEST_LOFT_RAD):
            break
    return reached, speed, elevation, heading


@kernel
def launch_of(x, y, z, tx, ty, speed, topspin, sidespin, kind, c, margin, h, w, sheets):  # type: ignore[no-untyped-def]
    """The launch that a hitter settles for, by kind: see `find_launch` and `find_lofted`.

    A serve for a target so near that it passes below the tape is struck as it is meant: a fault.
    """
    if kind >= FIRST_SERVE and abs(ty) < SHORTEST_AIM_M:
        reached, elevation, heading, _ = solve_flat(
            x, y, z, tx, ty, speed, topspin, sidespin, w, sheets
        )
        return reached, speed, elevation, heading
    loft = h.kind_loft_rad[kind]
    if loft <= 0.0:
        return find_launch(x, y, z, tx, ty, speed, topspin, sidespin, margin, w, sheets)
    fastest = h.forehand_speed_m_s if c.wing > 0 else h.backhand_speed_m_s
    distance = math.sqrt((tx - x) ** 2 + (ty - y) ** 2)
    gap = margin * h.kind_error_share[kind] * distance / FULL_LENGTH_M
    return find_lofted(x, y, z, tx, ty, loft, topspin, sidespin, gap, fastest, w, sheets)


@kernel
def strike_all(contacts, intents, errors, hitter, world, table, room, whole, balls, paths):  # type: ignore[no-untyped-def]
    """Strike ball i from contact i as intent i; contacts and intents in the hitter's own frame.

    Balls that do not land in have a path only if all are to be `whole`.
    """
    w, h = world[0], hitter[0]
    sheets = None if table is None else (table[0], room[0])
    margin = net_margin_m(h)
    for i in range(contacts.shape[0]):
        c, wish = contacts[i], intents[i]
        kind = wish.kind
        lacking = (1.0 - c.quality) * h.kind_losses[kind]
        x, y, z = -c.x_m, -c.y_m, c.z_m
        depth = wish.target_y_m - h.stretched_depth_loss_m * lacking
        tx, ty = -wish.target_x_m, -max(depth, min(SHORTEST_AIM_M, wish.target_y_m))
        speed = wish.speed_m_s * h.kind_speed_share[kind] * (1.0 - h.stretched_speed_loss * lacking)
        wished_spin = h.kind_topspin_rad_s[kind]
        if math.isnan(wished_spin):
            wished_spin = wish.topspin_rad_s
        topspin, sidespin = usable_topspin(wished_spin, z, h), wish.sidespin_rad_s
        gap = margin * h.backhand_net_share if c.wing == BACKHAND else margin
        reached, speed, elevation, heading = launch_of(
            x, y, z, tx, ty, speed, topspin, sidespin, kind, c, gap, h, w, sheets
        )
        gain = (1.0 + h.stretched_error_gain * lacking) * h.kind_error_share[kind]
        gain *= speed_gain(speed, kind, c.wing, h)
        by_elevation = h.elevation_share
        if h.kind_loft_rad[kind] > 0.0:
            by_elevation = LOFTED_BY_ELEVATION
        speed, elevation, heading = spoil(
            x,
            y,
            z,
            tx,
            ty,
            reached,
            speed,
            elevation,
            heading,
            topspin,
            sidespin,
            errors[i],
            gain,
            by_elevation,
            h,
            w,
            sheets,
        )
        fill_ball(
            x,
            y,
            z,
            elevation,
            heading,
            speed,
            topspin,
            sidespin,
            kind,
            whole,
            w,
            sheets,
            paths[i],
            balls[i],
        )


def strike(
    contacts: np.ndarray,
    intents: np.ndarray,
    errors: np.ndarray,
    hitter: np.ndarray,
    world: np.ndarray,
) -> tuple[np.ndarray, np.ndarray]:
    """Balls and their paths from CONTACT and INTENT records, shape (n,).

    `errors` are uniform numbers (n, ERROR_DRAWS); `hitter` and `world` records of length one, the
    world in the receiver's frame. A ball has no more topspin than the height of its contact allows
    (`usable_topspin`). Returns BALL records (n,) and paths (n, PATH_POINTS, 5), also in
    the receiver's frame.
    """
    balls = np.empty(len(contacts), BALL)
    paths = np.empty((len(contacts), PATH_POINTS, 5))
    strike_into(contacts, intents, errors, hitter, world, True, balls, paths)
    return balls, paths


def strike_into(
    contacts: np.ndarray,
    intents: np.ndarray,
    errors: np.ndarray,
    hitter: np.ndarray,
    world: np.ndarray,
    whole: bool,
    balls: np.ndarray,
    paths: np.ndarray,
) -> None:
    """`strike` that fills given BALL records (n,) and the first n of given paths.

    If not `whole`, balls that do not land in have no path and no second bounce.
    """
    strike_all(contacts, intents, errors, hitter, world, *sheets_of(world), whole, balls, paths)


@kernel
def reason_not_to_hit(c, wish, h, w, sheets):  # type: ignore[no-untyped-def]
    """Whether the INTENT can be hit from the CONTACT as it stands: see `reasons_not_to_hit`."""
    tx, ty, spin = -wish.target_x_m, -wish.target_y_m, usable_topspin(wish.topspin_rad_s, c.z_m, h)
    speed, sidespin = wish.speed_m_s, wish.sidespin_rad_s
    return solve_launch(-c.x_m, -c.y_m, c.z_m, tx, ty, speed, spin, sidespin, False, w, sheets)[0]


@kernel
def judge(contacts, intents, hitter, world, table, room, reasons):  # type: ignore[no-untyped-def]
    """Fill the reason of each intent: see `reasons_not_to_hit`."""
    sheets = None if table is None else (table[0], room[0])
    for i in range(contacts.shape[0]):
        reasons[i] = reason_not_to_hit(contacts[i], intents[i], hitter[0], world[0], sheets)


def reasons_not_to_hit(
    contacts: np.ndarray, intents: np.ndarray, hitter: np.ndarray, world: np.ndarray
) -> np.ndarray:
    """For each intent the code of sim.launch.REASONS (HIT, 0: the flat ball clears the net).

    The topspin is what the height of the contact allows the hitter, a HITTER record of length one.
    """
    reasons = np.empty(len(contacts), np.int64)
    judge(contacts, intents, hitter, world, *sheets_of(world), reasons)
    return reasons


@kernel
def fly_drive(c, d, w, sheets, path, ball):  # type: ignore[no-untyped-def]
    """Fly one drive as meant: see `fly_drives`."""
    x, y, z, speed, spin = c.x_m, c.y_m, c.z_m, d.speed_m_s, d.topspin_rad_s
    _, elevation, heading, _ = solve_flat(
        x, y, z, d.target_x_m, d.target_y_m, speed, spin, 0.0, w, sheets
    )
    fill_ball(x, y, z, elevation, heading, speed, spin, 0.0, DRIVE, True, w, sheets, path, ball)


@kernel
def fly_exactly(contacts, drives, world, table, room, balls, paths):  # type: ignore[no-untyped-def]
    """Fly drive i from contact i as meant: see `fly_drives`."""
    sheets = None if table is None else (table[0], room[0])
    for i in range(contacts.shape[0]):
        fly_drive(contacts[i], drives[i], world[0], sheets, paths[i], balls[i])


def fly_drives(
    contacts: np.ndarray, drives: np.ndarray, world: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Balls and paths of drives without execution error, all in the receiver's frame.

    `contacts` are CONTACT records (n,) at y > 0, `drives` EXTREME records (n,), whose topspin is
    taken as it is.
    """
    balls = np.zeros(len(contacts), BALL)
    paths = np.empty((len(contacts), PATH_POINTS, 5))
    fly_exactly(contacts, np.ascontiguousarray(drives), world, *sheets_of(world), balls, paths)
    return balls, paths
