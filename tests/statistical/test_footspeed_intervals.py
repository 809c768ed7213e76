"""Intervals of the best place: how often they hold what many more balls find."""

from __future__ import annotations

from experiments.answers.spot.question import SpotQuestion
from scipy import stats

from experiments.answers.footspeed.places import best_place, rate_of, resample_weights
from experiments.answers.footspeed.sweep import line_of, sweep
from experiments.balls.best import best_of
from sim.court import HALF_LENGTH_M
from sim.exchange import Place
from sim.players import player
from sim.world import TABULATED, World
from strategies.catalogue import make_shot_model

REPEATS, BALLS, MANY_BALLS = 30, 2000, 40_000
FALSE_ALARM = 1e-4


def nothing() -> None:
    """Nobody waits for this run."""


def asked(balls: int, seed: int) -> SpotQuestion:
    me, place = player("college-man"), Place("corner", 3.115, HALF_LENGTH_M)
    hitter = make_shot_model("habit")
    return SpotQuestion(place, me, me, World(flight=TABULATED), hitter, [], 1.2, balls, seed)


def test_intervals_of_the_best_place_hold_it() -> None:
    """Meant for 95 of 100. Asked for: what intervals that hold it in 85 of 100 repeats would reach
    all but once in 10,000 times."""
    many = asked(MANY_BALLS, 99)
    legs, x = many.player.legs, line_of(many)
    known = best_of(x, 1.0 - rate_of(sweep(many, [legs], [x], 0, nothing)[0], "missed")).x_m
    held = 0
    for seed in range(REPEATS):
        sums = sweep(asked(BALLS, seed), [legs], [x], 0, nothing)[0]
        low, high = best_place(x, sums, "missed", resample_weights(seed)).x_interval_m
        held += low <= known <= high
    assert held >= stats.binom(REPEATS, 0.85).ppf(FALSE_ALARM)
