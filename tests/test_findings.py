"""Sentences of a study say what its cells say."""

from __future__ import annotations

import re
from typing import Any

from experiments.report.findings import Cells, findings, interval, shade_curve


def row(policy: str, outcome: str, estimate: float | None, **labels: Any) -> dict[str, Any]:
    half = 0.4
    return {
        "policy": policy,
        "place": "corner",
        "level": "club-adult",
        "opponent": "habit",
        "setting": "rally",
        "own_stroke": None,
        "outcome": outcome,
        "estimate": estimate,
        "low": None if estimate is None else estimate - half,
        "high": None if estimate is None else estimate + half,
        "n": 100,
        **labels,
    }


def pair(missed: float, other: float, points: float | None = None, **labels: Any) -> list[dict]:
    """The middle and the bisector in one place."""
    out = [
        row("middle", "missed_per_100", missed, **labels),
        row("bisector", "missed_per_100", other, **labels),
        row("bisector", "missed_fewer_than_middle_per_100", missed - other, **labels),
    ]
    if points is not None:
        out.append(row("bisector", "points_more_than_middle_per_100", points, **labels))
    return out


def test_the_cost_of_the_middle_is_told_with_its_numbers() -> None:
    said = findings(pair(12.34, 9.87, 1.23) + pair(10.0, 10.1, -0.05, place="all places"))
    assert said[0] == (
        "club-adult, habit opponent, with the opponent in the corner (rally): recovering to the"
        " middle misses 12.3 (11.9 to 12.7) of 100 balls, to the bisector 9.9 (9.5 to 10.3); the"
        " bisector wins 1.2 (0.8 to 1.6) more points in 100."
    )
    assert "over all places (rally)" in said[1] and "is as good as the middle: " in said[1]


def test_every_place_gets_one_verdict() -> None:
    cells = (
        pair(12, 10)
        + pair(10, 12, place="middle")
        + pair(11, 10.9, place="wide")
        + pair(11, 10.4, place="short wide", opponent="pressing")
        + pair(11, 10.7, place="wide", opponent="pressing")
        + pair(30, 10, place="all places")
    )
    said = [s for s in findings(cells) if "by balls missed (rally)" in s]
    assert [s.split(", by balls")[0] for s in said] == [
        "The middle misses fewer balls than the bisector",
        "The middle is as good as the bisector (inside half a ball in 100)",
        "The bisector misses fewer balls than the middle",
        "Not decided between the middle and the bisector",
    ]
    assert said[0].endswith("in 1 of 5 cells: middle (club-adult, habit).")
    assert said[1].endswith("in 1 of 5 cells: wide (club-adult, habit).")
    assert said[2].endswith(
        "in 2 of 5 cells: corner (club-adult, habit); short wide (club-adult, pressing)."
    )
    assert said[3].endswith("in 1 of 5 cells: wide (club-adult, pressing).")


def curve(values: dict[float, float], outcome: str, **labels: Any) -> list[dict[str, Any]]:
    return [
        row("middle" if s == 0 else f"linear-shade {s:.2f}", outcome, v, **labels)
        for s, v in values.items()
    ]


def test_the_best_shade_is_the_centre_of_its_plateau() -> None:
    won = {0.0: 48.0, 0.1: 50.2, 0.2: 50.4, 0.3: 50.0, 0.4: 47.0}
    (said,) = findings(curve(won, "points_won_per_100", place="all places"))
    assert "best shade by points won over all places is about 0.20 m per metre" in said
    assert "(anything from 0.1 to 0.3 is within half in 100" in said


def test_fewer_missed_is_better_where_no_points_are_played() -> None:
    missed = {0.0: 9.0, 0.15: 8.9, 0.3: 12.0}
    labels = {"place": "all places", "setting": "placed"}
    (said,) = findings(curve(missed, "missed_per_100", **labels))
    assert "(placed): the best shade by balls missed over all places is about 0.07" in said
    assert "anything from 0 to 0.15 is" in said


def test_a_shade_needs_a_curve() -> None:
    assert findings(curve({0.0: 9.0, 0.1: 8.9}, "points_won_per_100", place="all places")) == []


def test_recovery_tells_the_own_strokes_apart() -> None:
    cells = []
    for own, missed in (("crosscourt", 8.0), ("middle", 4.0)):
        labels = {"setting": "recovery", "own_stroke": own}
        cells += pair(missed + 2, missed, **labels)
        values = {0.0: missed, 0.1: missed - 1, 0.2: missed + 2}
        cells += curve(values, "missed_per_100", place="all places", **labels)
    said = findings(cells)
    assert sum("(recovery after crosscourt): recovering to" in s for s in said) == 1
    assert sum("(recovery after middle): recovering to" in s for s in said) == 1
    assert "corner (club-adult, habit, after crosscourt); corner (club-adult" in " ".join(said)
    assert sum("the best shade by balls missed" in s for s in said) == 2


def test_the_yardstick_family_starts_at_the_middle() -> None:
    found = Cells(curve({0.0: 9.0, 0.1: 8.0, 0.25: 7.0}, "missed_per_100", place="all places"))
    assert {
        s: c["estimate"]
        for s, c in shade_curve(found, "rally", "club-adult", "habit", "missed_per_100").items()
    } == {0.0: 9.0, 0.1: 8.0, 0.25: 7.0}


def test_a_cell_without_a_number_says_so() -> None:
    assert interval(row("middle", "missed_per_100", None)) == "no data"
    said = findings([*pair(12, 10), row("stay", "missed_per_100", None)])
    assert all("nan" not in s.lower() and "None" not in s for s in said)


def test_sentences_are_plain_and_whole() -> None:
    for said in findings(pair(12, 10, 1.0) + pair(10, 12, place="middle")):
        assert said.endswith(".") and re.match(r"[A-Za-z]", said) and "\n" not in said
