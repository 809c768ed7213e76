"""How often the intervals hold the truth, over many made-up studies whose truth is known.

An interval of 95 % may hold it more often, never less. The count must not lie below what a true
rate of 95 % leaves with a false alarm once in ten thousand; seeds are fixed. Where an interval is
an approximation that is far from its limit, the test says how much is granted.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from made_table import table_of
from scipy import stats

from experiments.statistics.comparison import level_together
from experiments.statistics.estimates import (
    INDEX,
    LEVEL,
    Estimate,
    mean_difference,
    mean_of,
    paired,
    ratio,
    share,
)
from experiments.statistics.group_sequential import level_each_look
from experiments.statistics.tally import Tally

FALSE_ALARM = 1e-4
Rng = np.random.Generator


def alone(table: np.ndarray) -> Tally:
    return Tally.of(table, table)


def covers(found: Estimate, truth: float) -> bool:
    return found.low <= truth <= found.high


def least(repeats: int, rate: float = LEVEL) -> float:
    """The share of `repeats` that a true rate falls below once in ten thousand."""
    return float(stats.binom.ppf(FALSE_ALARM, repeats, rate)) / repeats


def single(rng: Rng, count: int, p: float) -> np.ndarray:
    """One ball a replicate."""
    return table_of(balls=np.ones(count), missed=rng.random(count) < p)


def ended(rng: Rng, count: int, p: float) -> np.ndarray:
    """Rallies as they are played: a missed ball ends one, else it ends after 3 in 10 balls."""
    hazard = p + (1 - p) * 0.3
    balls = rng.geometric(hazard, count)
    return table_of(balls=balls, missed=rng.random(count) < p / hazard)


def alike(rng: Rng, count: int, p: float) -> np.ndarray:
    """Balls of a rally alike: rallies of 2.5 balls with shares from a beta distribution."""
    balls = rng.geometric(0.4, count)
    return table_of(balls=balls, missed=rng.binomial(balls, rng.beta(8 * p, 8 * (1 - p), count)))


@pytest.mark.parametrize("made", [single, ended, alike])
@pytest.mark.parametrize("count", [20, 300, 2000])
def test_shares_hold_near_none_and_all_as_elsewhere(
    made: Callable[[Rng, int, float], np.ndarray], count: int
) -> None:
    repeats = 300
    for p in (0.0005, 0.003, 0.05, 0.3, 0.999):
        rng = np.random.default_rng([count, round(1e4 * p)])
        tallies = (alone(made(rng, count, p)) for _ in range(repeats))
        hits = sum(covers(share(t, "missed", "balls"), p) for t in tallies)
        assert hits / repeats >= least(repeats), p


def test_none_missed_holds_even_if_balls_are_missed_together() -> None:
    """Whole rallies of three missed or not, where none is to be seen in one study of ten."""
    rng, repeats, p = np.random.default_rng(6), 1000, 2.3 / 300
    hits = 0
    for _ in range(repeats):
        missed = 3 * (rng.random(300) < p)
        tally = alone(table_of(balls=np.full(300, 3), missed=missed))
        hits += missed.any() or covers(share(tally, "missed", "balls"), p)
    assert hits / repeats >= least(repeats)


@pytest.mark.parametrize("count", [15, 300])
def test_ratios_cover_the_truth_where_long_rallies_differ(count: int) -> None:
    """Shares that depend on the length: the ratio of sums is not the mean of the rallies' shares.

    Lengths are geometric with mean 2.5; of a rally of one ball 0.4 are missed, else 0.1. The truth
    is (0.4 * P(1) + 0.1 * (2.5 - P(1))) / 2.5 with P(1) = 0.4. Fifteen rallies are far from the
    limit of linearisation: one in a hundred is granted.
    """
    rng, repeats = np.random.default_rng(7), 1000
    truth = (0.4 * 0.4 + 0.1 * (2.5 - 0.4)) / 2.5
    hits = 0
    for _ in range(repeats):
        balls = rng.geometric(0.4, count)
        missed = rng.binomial(balls, np.where(balls == 1, 0.4, 0.1))
        hits += covers(ratio(alone(table_of(balls=balls, missed=missed)), "missed", "balls"), truth)
    assert hits / repeats >= least(repeats) - (0.01 if count < 100 else 0.0)


@pytest.mark.parametrize("count", [20, 300, 2000])
@pytest.mark.parametrize("level", [LEVEL, 0.995])
def test_paired_shares_cover_the_truth(count: int, level: float) -> None:
    """Two policies meet balls of the same difficulty; the balls that one alone misses are few."""
    repeats = 300
    for seed, (mine, other) in enumerate(
        [(0.0, 0.001), (0.002, 0.002), (0.0, 0.01), (0.01, 0.03), (0.3, 0.34)]
    ):
        rng, hits = np.random.default_rng([seed, count]), 0
        for _ in range(repeats):
            chance = rng.random(count)
            tables = [
                table_of(
                    balls=np.ones(count), missed=(s < chance) & (chance < s + p), run_m=s + chance
                )
                for s, p in ((0.0, mine), (0.5, other))
            ]
            hits += covers(paired(Tally.of(*tables), "missed", "balls", level), mine - other)
        assert hits / repeats >= least(repeats, level), (mine, other)


@pytest.mark.parametrize("gain", [0.0, 0.04])
@pytest.mark.parametrize("count", [15, 300])
def test_paired_ratios_of_rallies_cover_the_truth(gain: float, count: int) -> None:
    """Rallies of the same difficulty and lengths of their own; one misses `gain` fewer of them."""
    rng, repeats = np.random.default_rng(8), 1000
    hits = 0
    for _ in range(repeats):
        p = 0.1 + 0.2 * rng.random(count)
        tables = []
        for q in (p - gain, p):
            balls = rng.geometric(0.4, count)
            tables.append(table_of(balls=balls, missed=rng.binomial(balls, q)))
        hits += covers(paired(Tally.of(*tables), "missed", "balls").scaled(-1.0), gain)
    assert hits / repeats >= least(repeats)


def test_means_over_places_cover_the_truth() -> None:
    rng, repeats, shares = np.random.default_rng(9), 1000, (0.001, 0.01, 0.3)
    hits, paired_hits = 0, 0
    for _ in range(repeats):
        tables = [(alike(rng, 200, p), alike(rng, 200, p)) for p in shares]
        parts = [share(alone(t), "missed", "balls") for t, _ in tables]
        hits += covers(mean_of(parts, True), float(np.mean(shares)))
        differences = [paired(Tally.of(*pair), "missed", "balls") for pair in tables]
        paired_hits += covers(mean_difference(differences), 0.0)
    assert min(hits, paired_hits) / repeats >= least(repeats)


@pytest.mark.parametrize("name", ["missed", "spare_s"])
def test_intervals_agree_with_the_bootstrap(name: str) -> None:
    """Outside check: scipy.stats.bootstrap (BCa) resamples the replicates of both policies.

    Both ends within a tenth of the width; the bootstrap's own noise is about a fortieth of it.
    """
    rng = np.random.default_rng(10)
    p = rng.beta(2, 6, 400)
    tables = []
    for shift in (0.0, 0.05):
        balls = rng.geometric(0.4, 400)
        missed = rng.binomial(balls, np.clip(p + shift, 0, 1))
        tables.append(table_of(balls=balls, missed=missed, spare_s=0.5 * balls - missed))
    columns = [t[:, INDEX[c]] for t in tables for c in (name, "balls")]

    def difference(a: np.ndarray, b: np.ndarray, c: np.ndarray, d: np.ndarray, axis: int) -> object:
        return a.sum(axis) / b.sum(axis) - c.sum(axis) / d.sum(axis)

    def one_ratio(a: np.ndarray, b: np.ndarray, axis: int) -> object:
        return a.sum(axis) / b.sum(axis)

    cases = (
        (paired(Tally.of(*tables), name, "balls"), columns, difference),
        (ratio(alone(tables[0]), name, "balls"), columns[:2], one_ratio),
    )
    for found, data, statistic in cases:
        theirs = stats.bootstrap(data, statistic, paired=True, n_resamples=4000, rng=rng)
        ends = theirs.confidence_interval
        near = 0.1 * (found.high - found.low)
        assert (found.low, found.high) == pytest.approx((ends.low, ends.high), abs=near)
        assert math.isclose(found.se, float(theirs.standard_error), rel_tol=0.1)


@pytest.mark.parametrize("alike", [0.0, 0.9])
def test_intervals_of_many_policies_hold_together(alike: float) -> None:
    """Eight policies that differ by nothing from the reference, more or less like each other."""
    rng, repeats, count = np.random.default_rng(11), 1000, 100
    level, alone_hits, hits = level_together(8), 0, 0
    for _ in range(repeats):
        common = rng.normal(size=count)
        other = table_of(spare_s=rng.normal(size=count), balls=np.ones(count))
        held = []
        for _ in range(8):
            own = math.sqrt(alike) * common + math.sqrt(1 - alike) * rng.normal(size=count)
            mine = other.copy()
            mine[:, INDEX["spare_s"]] += own
            found = paired(Tally.of(mine, other), "spare_s", "balls")
            held.append((covers(found, 0.0), covers(found.at(level), 0.0)))
        alone_hits += all(one for one, _ in held)
        hits += all(together for _, together in held)
    assert hits / repeats >= least(repeats)
    assert alone_hits < hits  # so the correction is needed
    if alike == 0.0:  # Sidak's level is exact for independent differences
        assert hits / repeats <= float(stats.binom.isf(FALSE_ALARM, repeats, LEVEL)) / repeats
        assert alone_hits / repeats < 0.75  # 0.95^8 = 0.66


@pytest.mark.parametrize("p", [0.01, 0.1])
def test_a_policy_against_itself_on_other_balls_covers_zero(p: float) -> None:
    """Independent streams: the interval must know that nothing is shared."""
    rng, repeats = np.random.default_rng(12), 1000
    tallies = [Tally.of(ended(rng, 200, p), ended(rng, 200, p)) for _ in range(repeats)]
    found = [paired(t, "missed", "balls") for t in tallies]
    assert sum(covers(f, 0.0) for f in found) / repeats >= least(repeats)
    assert np.mean([f.pairing_gain for f in found]) == pytest.approx(1.0, abs=0.05)


@pytest.mark.parametrize("rule", ["width", "malice"])
def test_intervals_stay_valid_under_repeated_looks(rule: str) -> None:
    """Looks at 50, 100, ... 800 balls; stopped by the width, or as soon as zero is outside.

    Two policies that differ by nothing. The second rule is the worst that a looker can do; plain
    intervals of 95 % then miss the truth far more often.
    """
    rng, repeats, looks = np.random.default_rng(13), 1000, 5
    level, hits, plain_hits = level_each_look(looks, LEVEL), 0, 0
    for _ in range(repeats):
        tally, held, plain_held = None, True, True
        for look in range(looks):
            count = 50 if look == 0 else 50 * 2 ** (look - 1)
            p = rng.beta(2, 6, count)
            tables = []
            for _ in range(2):
                balls = rng.geometric(0.4, count)
                tables.append(table_of(balls=balls, missed=rng.binomial(balls, p)))
            more = Tally.of(*tables)
            tally = more if tally is None else tally + more
            found = paired(tally, "missed", "balls", level)
            held = covers(found, 0.0)
            plain_held = plain_held and covers(found.at(LEVEL), 0.0)
            narrow = found.high - found.low < 0.09
            if narrow if rule == "width" else not held:
                break
        hits += held
        plain_hits += plain_held
    assert hits / repeats >= least(repeats)
    if rule == "malice":
        assert plain_hits / repeats < 0.90
