"""Which kind of stroke a hitter chooses, and where it goes: beside the drive that was meant.

From the baseline a backhand is sliced by its share; well inside it, unhurried, a drop shot or an
approach comes in; against a player at the net balls are passed or lobbed; a ball that has not
bounced goes away from the opponent more often than not. All shares are the hitter's own
(`sim.repertoire`); what a ball does not allow is decided elsewhere (`sim.can_play`).
"""

from __future__ import annotations

import numpy as np

from sim.can_play import smooth
from sim.compiled import kernel
from sim.contracts import ShotSituation
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M
from sim.kinds import APPROACH, DRIVE, DROP_SHOT, LOB, PASSING_SHOT, SLICE
from sim.records import BACKHAND
from strategies.directions import crosscourt_of, hand_of
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
def approach_chance(away, ease, v):  # type: ignore[no-untyped-def]
    """Chance to come in behind a ball struck so far away from the net."""
    if v.approach_share <= 0.0:
        return 0.0
    chosen = v.approach_share * between(away, APPROACH_NONE_M, APPROACH_FULL_M) * ease
    drawn = between(away, NOT_DRAWN_IN_M, DRAWN_IN_M)
    return chosen + (1.0 - chosen) * drawn


@kernel
def chosen_kind(c, receiver, u, v):  # type: ignore[no-untyped-def]
    """The kind that is meant from a ball after its bounce, from two uniform numbers."""
    if u[0] < between(receiver.y_m, OFF_NET_M, AT_NET_M):
        if u[1] < v.lob_share:
            return LOB
        return PASSING_SHOT if u[2] < v.pass_share else DRIVE
    away, ease = -c.y_m, between(c.quality, HURRIED_QUALITY, EASY_QUALITY)
    left = u[1] - v.drop_share * between(away, DROP_NONE_M, DROP_FULL_M) * ease
    if left < 0.0:
        return DROP_SHOT
    left -= approach_chance(away, ease, v) * (1.0 - u[1] + left)
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
def vary_all(contacts, receivers, chance, choices, hand, aims, hitters, out):  # type: ignore[no-untyped-def]
    """Turn intents of drives into the kinds that are chosen, with targets of their own."""
    v, aim, hitter = choices[0], aims[0], hitters[0]
    for i in range(out.shape[0]):
        c, receiver, u, wish = contacts[i], receivers[i], chance[i], out[i]
        if c.volley:
            side = open_side(receiver, c, u[0], v.away_share)
            margin_x = margins(c, side, HALF_LENGTH_M, aim, hitter)[0]
            wish.target_x_m = wide(wish.target_x_m, side, margin_x)
            wish.target_y_m = min(wish.target_y_m, VOLLEY_DEPTH_M)
            continue
        wish.kind = chosen_kind(c, receiver, u, v)
        if wish.kind in (DRIVE, SLICE, APPROACH):
            continue
        draw = u[2] / v.pass_share if wish.kind == PASSING_SHOT else u[2]
        side = side_of(wish.target_x_m, c, hand, draw)
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


def vary(
    seen: ShotSituation, drives: np.ndarray, chance: np.ndarray, aims: np.ndarray
) -> np.ndarray:
    """INTENT records (n,) in which some of the drives are of another kind.

    `chance` are uniform numbers (n, VARIETY_DRAWS), `aims` an AIM record of length one.
    """
    ability = seen.me.hitter
    own = ability.repertoire.choices, hand_of(seen.me), aims, ability.numbers
    vary_all(seen.contact, seen.receiver, chance, *own, drives)
    return drives
