"""How often the interval of a loss to the best place holds it, the choice of the place included.

Made-up balls whose chances are known at every place: neighbours meet the same difficulty, as places
on a line do. The truth is the loss to the best of all places. Meant for 95 of 100.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from scipy import stats

from experiments.balls.loss import Judged
from experiments.statistics.estimates import LEVEL, quantile

FALSE_ALARM, REPEATS = 1e-4, 600
X = np.linspace(-2.0, 2.0, 41)
CURVES: dict[str, Callable[[np.ndarray], np.ndarray]] = {
    "flat": lambda x: 0.0 * x + 0.04,
    "round": lambda x: 0.02 + 0.03 * x**2,
    "edge": lambda x: 0.10 + 0.06 * np.abs(x) + 0.03 * (x > 0),
    "rare": lambda x: 0.001 + 0.001 * x**2,
}


def struck(rng: np.random.Generator, chance: np.ndarray, balls: int) -> Judged:
    """Balls that each place loses with its chance; each place has a hardness of its own, too.

    A ball is lost where a normal value, shared by neighbours over about half a metre, is small.
    """
    knots = rng.normal(size=(balls, 11))
    at = np.linspace(0.0, 10.0, len(X))
    k = np.minimum(at.astype(int), 9)
    a, b = 1.0 - (at - k), at - k
    value = (a * knots[:, k] + b * knots[:, k + 1]) / np.hypot(a, b)
    lost = (value < stats.norm.ppf(chance)).astype(float)
    places = np.stack([X, np.full(len(X), -13.0)], axis=1)
    return Judged(places, np.ones_like(lost), lost, np.ones(len(X), bool))


@pytest.mark.parametrize("curve", CURVES)
@pytest.mark.parametrize("balls", [200, 1000])
def test_intervals_of_the_loss_to_the_best_place_hold_it(curve: str, balls: int) -> None:
    """At the best place itself, beside it, and far from it."""
    chance = CURVES[curve](X)
    rng = np.random.default_rng([balls, len(curve)])
    places = (int(chance.argmin()), int(chance.argmin()) + 3, 0)
    held = np.zeros(len(places), int)
    for _ in range(REPEATS):
        found = struck(rng, chance, balls)
        for i, place in enumerate(places):
            e, truth = found.loss(place), 100.0 * (chance[place] - chance.min())
            held[i] += e.low - 1e-9 <= truth <= e.high + 1e-9
    least = stats.binom(REPEATS, LEVEL).ppf(FALSE_ALARM)
    assert (held >= least).all(), held / REPEATS


def test_plain_intervals_to_the_place_that_looks_best_do_not_hold_it() -> None:
    """Why the choice must count: where all places are alike the luckiest looks better than all."""
    chance, rng, held = CURVES["flat"](X), np.random.default_rng(5), 0
    for _ in range(REPEATS):
        found = struck(rng, chance, 1000)
        more = found.lost[:, 0] - found.lost[:, found.best]
        half = quantile(LEVEL, len(more)) * more.std(ddof=1) / np.sqrt(len(more))
        held += more.mean() - half <= 0.0 <= more.mean() + half
    assert held / REPEATS < 0.8


def test_the_interval_is_not_much_wider_than_a_plain_one_where_the_choice_is_clear() -> None:
    chance, rng, wider = CURVES["edge"](X), np.random.default_rng(6), []
    for _ in range(50):
        found = struck(rng, chance, 2000)
        e = found.loss(0)
        more = found.lost[:, 0] - found.lost[:, found.best]
        half = 100.0 * quantile(LEVEL, len(more)) * more.std(ddof=1) / np.sqrt(len(more))
        wider.append((e.high - e.low) / (2 * half))
    assert 1.0 <= np.mean(wider) < 1.35
