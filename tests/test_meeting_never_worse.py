"""Meeting: better legs, more reach and more time never make it worse.

Weighed is what the rule weighs: the chance of the reply times 0.5 + 0.5 quality, less what waiting
costs. A better player may take a ball earlier or more surely at a lower quality, but for nothing
else. Two things are no gain by design, and left out for bodies in motion: in quicker legs an own
velocity fades sooner, and reach that differs by side jumps as the body drifts past the ball.
"""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from ordinary_drives import drives, landed_in

from sim.contracts import bodies_at
from sim.legs import Legs
from sim.meeting import BALANCED, RULES, meetings
from sim.players import player
from sim.records import MISSED, T

COUNT = 2500
SEARCH_S = 1e-3  # by which the search along a path may miss the most time
WORTH = 1e-3  # by which the place with most time, which is none of the points, may decide
MOVING_WORTH = 5e-3
BETTER = {
    "top_speed_m_s": 1.05,
    "tau_s": 0.95,
    "reaction_s": 0.9,
    "full_reach_m": 1.03,
    "comfortable_reach_m": 1.03,
    "braking_m_s2": 1.1,
    "two_handed_loss_m": 0.8,
}
IN_MOTION = [name for name in BETTER if name not in ("tau_s", "two_handed_loss_m")]
LEVELS = ("club-adult", "college-man", "professional-man")


def bodies(seed: int, fastest_m_s: float) -> np.ndarray:
    rng = np.random.default_rng(seed)
    out = bodies_at(rng.uniform(-4, 4, COUNT), -rng.uniform(11, 15, COUNT))
    speed, way = fastest_m_s * rng.random(COUNT), rng.uniform(-np.pi, np.pi, COUNT)
    out["vx_m_s"], out["vy_m_s"] = speed * np.cos(way), speed * np.sin(way)
    return out


def worth(meeting: np.ndarray, legs: Legs) -> np.ndarray:
    reply = meeting["reply_chance"] * (0.5 + 0.5 * meeting["quality"])
    return np.asarray(reply - legs.haste_per_s * meeting["time_s"])


def require_no_worse(was: np.ndarray, now: np.ndarray, legs: Legs, slack: float) -> None:
    """Neither less time, nor a lower grade, nor a reply that is worth less."""
    assert np.all(now["time_to_spare_s"] >= was["time_to_spare_s"] - SEARCH_S)
    assert np.all(now["grade"] >= was["grade"])
    reached = was["grade"] != MISSED
    change = (worth(now, legs) - worth(was, legs))[reached]
    assert change.min() >= -slack
    poorer = reached & (now["quality"] < was["quality"] - 0.01)
    for_it = (now["time_s"] < was["time_s"]) | (now["reply_chance"] > was["reply_chance"])
    assert np.all(for_it[poorer])


@pytest.mark.parametrize("field", BETTER)
@pytest.mark.parametrize("level", LEVELS)
def test_better_legs_at_rest_are_never_worse(level: str, field: str) -> None:
    balls, paths = landed_in(drives(2 * COUNT, level, seed=5), COUNT)
    legs, body = player(level).legs, bodies(6, 0.0)
    better = dataclasses.replace(legs, **{field: getattr(legs, field) * BETTER[field]})
    was, now = (meetings(balls, paths, body, k.numbers, k.times) for k in (legs, better))
    require_no_worse(was, now, legs, WORTH)
    assert np.mean(worth(now, legs) > worth(was, legs) + 1e-4) > 0.02


@pytest.mark.parametrize("field", IN_MOTION)
@pytest.mark.parametrize("level", LEVELS)
def test_better_legs_in_motion_are_never_worse(level: str, field: str) -> None:
    balls, paths = landed_in(drives(2 * COUNT, level, seed=7), COUNT)
    legs = dataclasses.replace(player(level).legs, two_handed_backhand=False)
    better = dataclasses.replace(legs, **{field: getattr(legs, field) * BETTER[field]})
    body = bodies(8, 3.0)
    was, now = (meetings(balls, paths, body, k.numbers, k.times) for k in (legs, better))
    require_no_worse(was, now, legs, MOVING_WORTH)


@pytest.mark.parametrize("fastest_m_s", [0.0, 3.0])
@pytest.mark.parametrize("level", LEVELS)
def test_more_time_is_never_worse(level: str, fastest_m_s: float) -> None:
    """The same ball a tenth of a second later: as much more time, and no worse a reply."""
    balls, paths = landed_in(drives(2 * COUNT, level, seed=9), COUNT)
    legs, later = player(level).legs, paths.copy()
    legs = dataclasses.replace(legs, two_handed_backhand=False)
    later[:, :, T] += 0.1
    body = bodies(10, fastest_m_s)
    was, now = (meetings(balls, p, body, legs.numbers, legs.times) for p in (paths, later))
    now["time_s"] -= 0.1
    require_no_worse(was, now, legs, MOVING_WORTH if fastest_m_s else WORTH)
    if fastest_m_s == 0.0:
        more = now["time_to_spare_s"] - was["time_to_spare_s"]
        np.testing.assert_allclose(more, 0.1, atol=SEARCH_S)


def test_no_other_rule_finds_a_reply_that_is_worth_more() -> None:
    """Stretch and height counted: the weighing is that of the reply as it comes out."""
    for level in LEVELS:
        balls, paths = landed_in(drives(2 * COUNT, level, seed=11), COUNT)
        legs = player(level).legs
        for fastest in (0.0, 3.0):
            body = bodies(12, fastest)
            by_rule = [
                meetings(balls, paths, body, legs.numbers, legs.times, rule)
                for rule in range(len(RULES))
            ]
            best = worth(by_rule[BALANCED], legs)
            for other in by_rule:
                reached = other["grade"] != MISSED
                assert (worth(other, legs) - best)[reached].max() <= 1e-6
