"""Which kind of stroke a hitter chooses, and where it goes: beside the drive that was meant.

From the baseline a backhand is sliced by its share; well inside it, unhurried, a drop shot or an
approach comes in; against a player at the net balls are passed or lobbed; a ball that has not
bounced goes away from the opponent more often than not. All shares are the hitter's own
(`sim.repertoire`); a shot model may add drop shots and approaches against a receiver who stands too
far back for them. What a ball does not allow is decided elsewhere (`sim.can_play`).
"""

from __future__ import annotations

import math

from sim.arithmetic import exp, tan
from sim.can_play import smooth
from sim.compiled import kernel
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M
from sim.kinds import APPROACH, DRIVE, DROP_SHOT, LOB, PASSING_SHOT, SLICE
from sim.movement import running_time
from sim.net_place import halfway_x_m
from sim.records import BACKHAND
from sim.world import GRAVITY_M_S2
from strategies.directions import crosscourt_of
from strategies.margins import margins

VARIETY_DRAWS = 3
# Distances from the net. A player nearer than the first is at the net, beyond the second is not.
AT_NET_M, OFF_NET_M = 5.0, 7.5
# Drop shots are played at full share from the first and not beyond the second, approaches likewise;
# from nearer than so much everybody comes in who ever does.
DROP_FULL_M, DROP_NONE_M = 9.5, 13.5
APPROACH_FULL_M, APPROACH_NONE_M, DRAWN_IN_M, NOT_DRAWN_IN_M = 8.5, 12.0, 4.5, 7.0
EASY_QUALITY, HURRIED_QUALITY = 0.8, 0.45
LOW_BACKHAND_M, SLICED_WHEN_LOW = 0.8, 2.0
LOB_DEPTH_M, PASS_DEPTH_M, VOLLEY_DEPTH_M = 9.3, 8.4, 8.9
NARROWEST_M = 2.2  # from the centre line, of what goes past somebody or away from him
LOOK_AHEAD_S = 0.3
# How a hitter reckons how long a drop shot can still be reached: without air, this share of the
# speed down comes back up, and the second bounce is so far behind the first. On a hard court that
# is within a tenth of a second and half a metre of the balls of this model.
DROP_BOUNCE, DROP_RUNS_M = 0.75, 3.0
# How sharply a passing shot that is played away from a player at the net goes to the larger gap.
PASS_SHARPNESS_PER_M = 2.0
# A receiver who would come so late, or later, is too far back; one as much too early is not at all.
FAR_FROM_S, FAR_AT_S = -0.1, 0.4


@kernel
def between(value, none, full):  # type: ignore[no-untyped-def]
    """Smoothly from 0 at `none` to 1 at `full`."""
    return smooth((value - none) / (full - none))


@kernel
def slice_chance(c, v):  # type: ignore[no-untyped-def]
    """Chance that an unhurried backhand is sliced: more for a low ball."""
    low = 1.0 + SLICED_WHEN_LOW * smooth((LOW_BACKHAND_M - c.z_m) / 0.4)
    return min(1.0, v.slice_share * low) if c.wing == BACKHAND else 0.0


@kernel
def late_for_drop_s(c, receiver, target_x, depth, loft, legs, table):  # type: ignore[no-untyped-def]
    """How late the receiver would be at a drop shot's second bounce, s, as the hitter reckons."""
    way_x, way_y = target_x - c.x_m, depth - c.y_m
    way, rise = math.sqrt(way_x * way_x + way_y * way_y), tan(loft)
    flight = math.sqrt(2.0 * (way * rise + c.z_m) / GRAVITY_M_S2)
    down = GRAVITY_M_S2 * flight - way * rise / flight
    time = flight + 2.0 * DROP_BOUNCE * down / GRAVITY_M_S2
    drift = legs.tau_s * (1.0 - exp(-time / legs.tau_s))
    dx = receiver.x_m + drift * receiver.vx_m_s - target_x
    dy = receiver.y_m + drift * receiver.vy_m_s - depth - DROP_RUNS_M
    return legs.reaction_s + running_time(dx, dy, legs, table)[0] - time


@kernel
def far_back(c, receiver, target_x, v, aim, hitter, legs, tables):  # type: ignore[no-untyped-def]
    """How far the receiver is too far back for a drop shot, 0 to 1; 0 for who does not look."""
    if aim.drop_when_far <= 0.0 and aim.approach_when_far <= 0.0:
        return 0.0
    loft = hitter.kind_loft_rad[DROP_SHOT]
    late = late_for_drop_s(c, receiver, target_x, v.drop_depth_m, loft, legs[0], tables[0])
    return between(late, FAR_FROM_S, FAR_AT_S)


@kernel
def raised(share, more):  # type: ignore[no-untyped-def]
    """A share of strokes that somebody has who plays more of them; 0 stays 0."""
    return share + (1.0 - share) * more if share > 0.0 else share


@kernel
def approach_chance(away, ease, share):  # type: ignore[no-untyped-def]
    """Chance to come in behind a ball struck so far away from the net."""
    if share <= 0.0:
        return 0.0
    chosen = share * between(away, APPROACH_NONE_M, APPROACH_FULL_M) * ease
    drawn = between(away, NOT_DRAWN_IN_M, DRAWN_IN_M)
    return chosen + (1.0 - chosen) * drawn


@kernel
def chosen_kind(c, receiver, far, u, v, aim):  # type: ignore[no-untyped-def]
    """The kind that is meant from a ball after its bounce, from three uniform numbers."""
    if u[0] < between(receiver.y_m, OFF_NET_M, AT_NET_M):
        if u[1] < v.lob_share:
            return LOB
        return PASSING_SHOT if u[2] < v.pass_share else DRIVE
    away, ease = -c.y_m, between(c.quality, HURRIED_QUALITY, EASY_QUALITY)
    drop = raised(v.drop_share, aim.drop_when_far * far)
    left = u[1] - drop * between(away, DROP_NONE_M, DROP_FULL_M) * ease
    if left < 0.0:
        return DROP_SHOT
    approach = raised(v.approach_share, aim.approach_when_far * far)
    left -= approach_chance(away, ease, approach) * (1.0 - u[1] + left)
    if left < 0.0:
        return APPROACH
    return SLICE if u[2] < slice_chance(c, v) else DRIVE


@kernel
def wide(x, side, margin_x):  # type: ignore[no-untyped-def]
    """A target across the court on that side, at least NARROWEST_M out where the margin allows."""
    return side * max(abs(x), min(NARROWEST_M, HALF_WIDTH_M - margin_x))


@kernel
def side_of(x, c, hand, draw):  # type: ignore[no-untyped-def]
    """The side of a target, by the draw for one near the middle."""
    if abs(x) >= 0.25 * HALF_WIDTH_M:
        return 1.0 if x > 0.0 else -1.0
    crosscourt = crosscourt_of(c.x_m, c.wing, hand)
    return crosscourt if draw < 0.5 else -crosscourt


@kernel
def open_side(receiver, c, draw, away):  # type: ignore[no-untyped-def]
    """The side that the receiver leaves open, as seen from the ball; the other one by the draw."""
    soon = receiver.x_m + LOOK_AHEAD_S * receiver.vx_m_s
    straight = c.x_m * (receiver.y_m / (receiver.y_m - c.y_m))
    side = -1.0 if soon >= straight * 0.5 else 1.0
    return side if draw < away else -side


@kernel
def passing_side(receiver, c, habitual, draw, away):  # type: ignore[no-untyped-def]
    """The side of a passing shot: the habitual one, or, of a share `away`, rather the one that the
    player at the net leaves more open, judged from halfway between the passing lanes."""
    if draw >= away:
        return habitual
    soon = receiver.x_m + LOOK_AHEAD_S * receiver.vx_m_s
    off = soon + halfway_x_m(-c.x_m, -c.y_m, receiver.y_m)
    return 1.0 if draw < away / (1.0 + exp(PASS_SHARPNESS_PER_M * off)) else -1.0


@kernel
def put_volley(c, receiver, u, v, aim, hitter, wish):  # type: ignore[no-untyped-def]
    """Send a ball that has not bounced rather where the receiver is not."""
    side = open_side(receiver, c, u[0], v.away_share)
    margin_x = margins(c, side, HALF_LENGTH_M, aim, hitter)[0]
    wish.target_x_m = wide(wish.target_x_m, side, margin_x)
    wish.target_y_m = min(wish.target_y_m, VOLLEY_DEPTH_M)


@kernel
def vary(c, receiver, u, v, hand, aim, hitter, legs, tables, wish):  # type: ignore[no-untyped-def]
    """Turn the INTENT of a drive into the kind that is chosen, with a target of its own.

    `u` are VARIETY_DRAWS uniform numbers, `v` a CHOICES record, `legs` the receiver's.
    """
    if c.volley:
        put_volley(c, receiver, u, v, aim, hitter, wish)
        return
    far = far_back(c, receiver, wish.target_x_m, v, aim, hitter, legs, tables)
    wish.kind = chosen_kind(c, receiver, far, u, v, aim)
    if wish.kind in (DRIVE, SLICE, APPROACH):
        return
    draw = u[2] / v.pass_share if wish.kind == PASSING_SHOT else u[2]
    side = side_of(wish.target_x_m, c, hand, draw)
    if wish.kind == PASSING_SHOT:
        side = passing_side(receiver, c, side, draw, aim.pass_away)
    margin_x, margin_y = margins(c, side, HALF_LENGTH_M, aim, hitter)
    if wish.kind == PASSING_SHOT:
        wish.target_x_m = wide(wish.target_x_m, side, margin_x)
        wish.target_y_m = min(wish.target_y_m, PASS_DEPTH_M)
    elif wish.kind == LOB:
        wish.target_x_m *= 0.6
        wish.target_y_m = min(HALF_LENGTH_M - margin_y, LOB_DEPTH_M)
    elif wish.kind == DROP_SHOT:
        wish.target_x_m = wide(wish.target_x_m, side, margin_x)
        wish.target_y_m = v.drop_depth_m
