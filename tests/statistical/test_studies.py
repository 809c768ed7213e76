"""What must hold of whole settings by reasons of symmetry and chance.

False alarm: each test would fail once in ten thousand seeds (or as it says) if all were right; the
seeds are fixed, so a failure means that something changed.
"""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from scipy import stats
from tiny_study import only

from experiments.statistics.estimates import LEVEL, paired, ratio
from experiments.statistics.tally import Tally, replicate_table
from experiments.study.settings import exchange_once, opening_balls
from sim.contracts import bodies_at
from sim.exchange import Game, Place, Side, with_policy
from sim.meeting import meetings
from sim.players import Player, player
from sim.records import IN, MISSED
from sim.world import World
from strategies.catalogue import make_policy, make_shot_model

FALSE_ALARM = 1e-4
BATCH = 2000  # balls at a time: their paths fill memory
MIDDLE, CORNER = Place("middle", 0.0, 11.885), Place("corner", 3.115, 11.885)


def even_game(who: Player, seed: int = 7) -> Game:
    """Both sides the same player; the opponent hits any allowed ball, left as often as right."""
    side = Side(who, make_policy("middle"), make_shot_model("any-allowed"), 1.3)
    return Game(side, side, World(), seed)


def missed_from(game: Game, bodies: list[tuple[float, float]], count: int) -> np.ndarray:
    """Whether each ball is missed from each place and lateral velocity, those that land in."""
    out, legs = [], game.studied.player.legs
    for first in range(0, count, BATCH):
        balls, paths = opening_balls(game, MIDDLE, np.arange(first, first + BATCH))
        landed = balls["outcome"] == IN
        row = []
        for x, vx in bodies:
            body = bodies_at(np.full(BATCH, x), np.full(BATCH, -13.2))
            body["vx_m_s"] = vx
            row.append(meetings(balls, paths, body, legs.numbers, legs.times)["grade"] == MISSED)
        out.append(np.stack(row)[:, landed])
    return np.concatenate(out, axis=1).astype(float)


def z_of_difference(a: np.ndarray, b: np.ndarray) -> float:
    d = a - b
    return float(d.mean() / (d.std(ddof=1) / math.sqrt(len(d))))


@pytest.mark.parametrize(("x_m", "vx_m_s"), [(1.0, 0.0), (2.0, 0.0), (0.0, 2.0)])
def test_left_and_right_of_the_middle_are_as_good(x_m: float, vx_m_s: float) -> None:
    """Equal wings, the opponent in the middle: missed from +x equals missed from -x."""
    game = even_game(player("college-man").with_equal_wings())
    right, left = missed_from(game, [(x_m, vx_m_s), (-x_m, -vx_m_s)], 8000)
    assert right.mean() > 0.02
    assert abs(z_of_difference(right, left)) < stats.norm.isf(FALSE_ALARM / 2)


def test_a_shorter_backhand_tells_left_from_right() -> None:
    """So the test above can fail: with a two-handed backhand a right-hander misses more from the
    right, where it is the backhand that has the wider court to cover."""
    game = even_game(player("club-adult"))
    right, left = missed_from(game, [(2.0, 0.0), (-2.0, 0.0)], 48_000)
    assert z_of_difference(right, left) > stats.norm.isf(FALSE_ALARM / 2)


def tables(policies: tuple[str, ...], seed: int, count: int) -> list[np.ndarray]:
    """Replicate tables in the placed setting from the corner against the habit."""
    study = only("placed")
    game = study.game("club-adult", "habit", "middle", seed)
    out: list[list[np.ndarray]] = [[] for _ in policies]
    for first in range(0, count, BATCH):
        replicates = np.arange(first, first + BATCH)
        shared = opening_balls(game, CORNER, replicates)
        for rows, text in zip(out, policies, strict=True):
            own = with_policy(game, make_policy(text))
            strokes = exchange_once(own, CORNER, replicates, None, shared)
            rows.append(replicate_table(strokes, replicates, False))
    return [np.concatenate(rows) for rows in out]


@pytest.fixture(scope="module")
def two_seeds() -> tuple[np.ndarray, np.ndarray]:
    """The middle under two seeds."""
    (one,), (two,) = (tables(("middle",), seed, 30_000) for seed in (101, 202))
    return one, two


@pytest.mark.parametrize("top", ["set", "spare_s"])
def test_independent_seeds_differ_by_nothing_at_the_stated_rate(
    two_seeds: tuple[np.ndarray, np.ndarray], top: str
) -> None:
    """The same policy under two seeds: of many intervals of the difference, 95 % cover zero.

    400 differences of 75 balls each; the count of those that cover lies in the range of a binomial
    of rate 0.95, widened by one in a hundred since 75 balls are not yet normal.
    """
    groups = 400
    pairs = zip(*(np.split(t, groups) for t in two_seeds), strict=True)
    found = [paired(Tally.of(a, b), top, "balls") for a, b in pairs]
    rate = np.mean([f.low <= 0 <= f.high for f in found])
    low, high = stats.binom.ppf([FALSE_ALARM / 2, 1 - FALSE_ALARM / 2], groups, LEVEL) / groups
    assert low - 0.01 <= rate <= high + 0.01


@pytest.mark.parametrize("top", ["missed", "set", "spare_s", "run_m"])
def test_two_seeds_agree_on_the_whole(two_seeds: tuple[np.ndarray, np.ndarray], top: str) -> None:
    whole = paired(Tally.of(*two_seeds), top, "balls")
    assert whole.se > 0
    assert abs(whole.value / whole.se) < stats.norm.isf(FALSE_ALARM / 2)


@pytest.mark.parametrize(
    "policy", ["linear-shade,shade_m_per_m=0.3", "linear-shade,shade_m_per_m=0.1"]
)
@pytest.mark.parametrize("top", ["missed", "spare_s"])
def test_meeting_the_same_balls_makes_differences_more_exact(policy: str, top: str) -> None:
    """Variance of the paired difference over that of two independent runs: below one.

    The margin is far beyond chance: a ratio of variances from 4000 balls is known to 10 %.
    """
    mine, other = tables((policy, "middle"), 11, 4000)
    together = paired(Tally.of(mine, other), top, "balls").se ** 2
    apart = sum(ratio(Tally.of(t, t), top, "balls").se ** 2 for t in (mine, other))
    assert 0 < together / apart < 0.8


def test_more_reach_misses_fewer() -> None:
    """A sanity of sign with certainty beyond chance: the same balls, a longer arm."""
    who = player("college-man")
    longer = dataclasses.replace(who, legs=dataclasses.replace(who.legs, full_reach_m=2.2))
    short, far = (missed_from(even_game(p), [(1.5, 0.0)], 4000)[0] for p in (who, longer))
    assert (far <= short).all() and far.mean() < short.mean()
