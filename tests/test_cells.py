"""Cells of a small study: which there are, and how they hang together."""

from __future__ import annotations

import json
import math
from typing import Any

import numpy as np
import pytest
from scipy import stats
from tiny_study import tiny_study

from experiments.statistics.comparison import COLUMNS as COMPARED
from experiments.statistics.comparison import verdict, verdict_of
from experiments.statistics.estimates import Estimate, mean_of
from experiments.statistics.tally import COLUMNS, Tally
from experiments.study.cells import Tallies, cell, cells, estimates
from experiments.study.design import Study
from experiments.study.settings import Scenario, blocks, evaluate

Cell = dict[str, Any]
PAIRS = {
    "missed_fewer_than_middle_per_100": ("missed_per_100", -1.0),
    "time_to_spare_more_than_middle_s": ("time_to_spare_s", 1.0),
    "points_more_than_middle_per_100": ("points_won_per_100", 1.0),
    "returned_more_than_middle_per_100": ("not_returned_per_100", -1.0),
}
LABELS = ("policy", "place", "level", "opponent", "setting", "own_stroke", "outcome")
BY_PLACE_ONLY = {"spot_x_m", "reached_x_m", "shade_m_per_m"}


@pytest.fixture(scope="module")
def study() -> Study:
    return tiny_study()


@pytest.fixture(scope="module")
def tallies(study: Study) -> Tallies:
    out: Tallies = {}
    for block in blocks(study):
        out[block.scenario] = evaluate(study, 5, block).tallies  # one block a scenario
    return out


@pytest.fixture(scope="module")
def found(study: Study, tallies: Tallies) -> list[Cell]:
    return list(cells(study, tallies))


def key(c: Cell) -> tuple[Any, ...]:
    return tuple(c[k] for k in LABELS)


def where(found: list[Cell], **labels: Any) -> list[Cell]:
    wanted = labels.items()
    return [c for c in found if wanted <= c.items()]


def test_a_cell_has_the_keys_that_were_promised(found: list[Cell]) -> None:
    assert all(list(c) == [*LABELS, "estimate", "low", "high", "n", *COMPARED] for c in found)
    assert len({key(c) for c in found}) == len(found)


def test_every_scenario_has_every_outcome_of_every_policy(found: list[Cell]) -> None:
    common = {"missed_per_100", "not_returned_per_100", "set_per_100", "share_in_time"}
    common |= {"time_to_spare_s", "run_m"}
    for c in where(found, place="corner", outcome="run_m"):
        rally, middle = c["setting"] == "rally", c["policy"] == "middle"
        own = {name: c[name] for name in ("policy", "opponent", "setting", "own_stroke")}
        outcomes = {d["outcome"] for d in where(found, place="corner", **own)}
        want = common | BY_PLACE_ONLY
        want |= {"points_won_per_100", "strokes_per_rally"} if rally else set()
        want |= set() if middle else set(PAIRS) - (set() if rally else {list(PAIRS)[2]})
        assert outcomes == want
        everywhere = {d["outcome"] for d in where(found, place="all places", **own)}
        assert everywhere == want - BY_PLACE_ONLY


def test_staying_has_no_place_where_nothing_came_before(found: list[Cell]) -> None:
    assert not where(found, policy="stay", setting="placed")
    assert where(found, policy="stay", setting="rally")
    assert {c["own_stroke"] for c in where(found, setting="recovery")} == {"crosscourt", "middle"}
    assert {c["own_stroke"] for c in found if c["setting"] != "recovery"} == {None}


def test_there_is_no_shade_with_the_opponent_in_the_middle(found: list[Cell]) -> None:
    assert not where(found, outcome="shade_m_per_m", place="middle")
    for c in where(found, outcome="shade_m_per_m", policy="linear-shade 0.20"):
        assert c["estimate"] == pytest.approx(0.2, abs=1e-9)
    for c in where(found, outcome="shade_m_per_m", policy="middle"):
        assert c["estimate"] == pytest.approx(0.0, abs=1e-9)
    for c in where(found, outcome="spot_x_m", place="corner", policy="linear-shade 0.20"):
        assert c["estimate"] == pytest.approx(-0.2 * 3.115)


def test_numbers_stand_in_their_intervals_and_units(found: list[Cell]) -> None:
    for c in found:
        assert "-0.0" not in [str(c[k]) for k in ("estimate", "low", "high")]
        assert c["low"] <= c["estimate"] <= c["high"]
        if c["outcome"].endswith("per_100") and "than" not in c["outcome"]:
            assert c["low"] >= 0 and c["high"] <= 100
        if c["outcome"] == "share_in_time":
            assert c["low"] >= 0 and c["high"] <= 1


def test_replicates_and_balls_are_counted(found: list[Cell]) -> None:
    for c in where(found, outcome="spot_x_m", setting="placed"):
        assert c["n"] == 40
    for c in where(found, outcome="points_won_per_100", place="corner"):
        assert c["n"] == 12
    for c in where(found, outcome="missed_per_100", setting="placed", place="corner"):
        assert 20 <= c["n"] <= 40  # of the balls, those that landed in


def test_share_in_time_is_the_rest_of_the_missed(found: list[Cell]) -> None:
    for c in where(found, outcome="share_in_time"):
        labels = {**{k: c[k] for k in list(c)[:6]}, "outcome": "missed_per_100"}
        (missed,) = where(found, **labels)
        assert c["estimate"] == pytest.approx(1 - missed["estimate"] / 100)
        assert c["low"] == pytest.approx(1 - missed["high"] / 100)
        assert c["high"] == pytest.approx(1 - missed["low"] / 100)


def test_differences_are_those_of_the_two_cells(found: list[Cell]) -> None:
    for c in found:
        if c["outcome"] in PAIRS:
            name, sign = PAIRS[c["outcome"]]
            labels = {**{k: c[k] for k in list(c)[:6]}, "outcome": name}
            (mine,) = where(found, **labels)
            (other,) = where(found, **{**labels, "policy": "middle"})
            difference = sign * (mine["estimate"] - other["estimate"])
            assert c["estimate"] == pytest.approx(difference, abs=2e-4)


def test_differences_have_a_verdict_of_the_intervals_that_hold_together(found: list[Cell]) -> None:
    """Three policies are compared, two where staying has no place; differences only, in 100."""
    judged = [c for c in found if c["outcome"] in PAIRS]
    assert all(c[k] is None for c in found if c not in judged for k in COMPARED)
    wider = 0
    for c in judged:
        assert c["low_together"] <= c["low"] <= c["high"] <= c["high_together"]
        wider += c["high_together"] > c["high"]
        if c["outcome"].endswith("_per_100"):
            assert c["verdict"] == verdict(c["low_together"], c["high_together"]) == verdict_of(c)
        else:
            assert c["verdict"] is None
    assert wider > 50


def test_the_intervals_that_hold_together_are_sidaks(found: list[Cell]) -> None:
    """Outside value: Student's quantiles at 0.95^(1/m), for m = 2 and 3 policies compared."""
    for setting, compared in (("placed", 2), ("recovery", 3)):
        labels = {"setting": setting, "place": "corner", "opponent": "habit"}
        outcome = "time_to_spare_more_than_middle_s"
        c = where(found, policy="bisector", outcome=outcome, **labels)[0]
        one, all_of_them = (stats.t.ppf((1 + 0.95 ** (1 / m)) / 2, 39) for m in (1, compared))
        widths = [c["high"] - c["low"], c["high_together"] - c["low_together"]]
        assert widths[1] / widths[0] == pytest.approx(all_of_them / one, rel=1e-4)


def test_the_same_chance_for_both_is_worth_more_rallies(found: list[Cell]) -> None:
    gains = [
        c["pairing_gain"]
        for c in where(found, outcome="time_to_spare_more_than_middle_s", policy="bisector")
        if c["setting"] != "rally" and c["place"] != "middle"
    ]
    assert len(gains) == 12 and min(gains) > 1.0


def test_all_places_weigh_the_same(found: list[Cell]) -> None:
    seen = 0
    for c in where(found, place="all places"):
        labels = {k: c[k] for k in list(c)[:7] if k != "place"}
        parts = [where(found, **labels, place=p)[0] for p in ("middle", "corner")]
        rounded = 1e-5 * max(1.0, *(abs(p["estimate"]) for p in parts))  # to six digits each
        mean = np.mean([p["estimate"] for p in parts])
        assert c["estimate"] == pytest.approx(mean, rel=1e-5, abs=rounded)
        assert c["n"] == sum(p["n"] for p in parts)
        seen += 1
    assert seen > 50


def test_one_place_has_no_mean_over_places(study: Study, tallies: Tallies) -> None:
    one = tiny_study(places=[{"name": "corner", "x_m": 3.115, "y_m": 11.885}])
    held = {s: t for s, t in tallies.items() if s.place == "corner"}
    assert {c["place"] for c in cells(one, held)} == {"corner"}


def test_the_interval_over_places_follows_from_those_of_the_places(tallies: Tallies) -> None:
    named = {s.place: t["bisector"] for s, t in tallies.items() if s.setting == "rally"}
    parts = [estimates(t, 0.0, True, "middle") for t in named.values()]
    outcome = "points_more_than_middle_per_100"
    mean = mean_of([p[outcome] for p in parts], False)
    assert mean.se == pytest.approx(math.hypot(*(p[outcome].se for p in parts)) / 2)
    assert mean.high - mean.value == pytest.approx(stats.t.ppf(0.975, 2 * 12 - 1) * mean.se)


def test_another_reference_names_the_differences(tallies: Tallies) -> None:
    study = tiny_study(reference="bisector", settings=["placed"])
    block = blocks(study)[0]
    held = {block.scenario: evaluate(study, 5, block).tallies}
    outcomes = {(c["policy"], c["outcome"]) for c in cells(study, held)}
    assert ("middle", "missed_fewer_than_bisector_per_100") in outcomes
    assert ("bisector", "missed_fewer_than_bisector_per_100") not in outcomes


def test_a_number_that_does_not_exist_is_null() -> None:
    empty = np.zeros((30, len(COLUMNS)))
    empty[:, 0] = 1.0  # thirty balls, none in
    parts = estimates(Tally.of(empty, empty), 3.0, False, "middle")
    scenario = Scenario("placed", "corner", "club-adult", "habit")
    rows = [cell("bisector", scenario, name, e, 0.95) for name, e in parts.items()]
    text = json.dumps(rows, allow_nan=False)
    missed = json.loads(text)[0]
    assert missed["outcome"] == "missed_per_100" and missed["n"] == 0
    assert missed["estimate"] is None and missed["low"] is None and missed["high"] is None
    assert isinstance(parts["missed_per_100"], Estimate)
