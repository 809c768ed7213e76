"""Differences in words: the sign picks the word, the verdict the claim."""

from __future__ import annotations

from typing import Any

import pytest
from nonsense import NONSENSE
from test_findings import pair

from experiments.answers.map.answer import Contrast
from experiments.answers.map.words import _said
from experiments.answers.stroke.words import _more
from experiments.report.findings import findings
from experiments.statistics.comparison import AS_GOOD, LOSES, NOT_DECIDED, WINS, verdict
from experiments.statistics.estimates import Estimate
from experiments.statistics.signed_words import Ends, amount, claim, ends_of

DIFFERENCES = {
    "wins": Ends(7.5, 7.1, 7.9),
    "loses": Ends(-3.3, -4.5, -2.1),
    "as good": Ends(-0.04, -0.2, 0.1),
    "not decided": Ends(0.0, -1.0, 1.0),
    "not decided, below": Ends(-0.6, -1.6, 0.4),
}


def test_the_nonsense_of_before_is_known_as_such() -> None:
    for text in (
        "the bisector wins -3.3 points in 100 more",
        "the bisector wins +1.2 (+0.8 to +1.6) points in 100 more",
        "the cones win \u22120.4 (\u22121.0 to 0.2) points more in 100",
        "Not decided: the cones win 0.0 (\u22120.9 to 0.9) points more",
        "-0.5 (-0.9 to -0.1) fewer missed of 100",
        "wins the point: unreturned",
    ):
        assert NONSENSE.search(text), text
    assert not NONSENSE.search("wins 3.3 (2.1 to 4.5) fewer points in 100 at x -3.5 m")


@pytest.mark.parametrize("name", DIFFERENCES)
def test_a_claim_agrees_with_sign_and_verdict(name: str) -> None:
    e = DIFFERENCES[name]
    said = verdict(e.low, e.high)
    assert said == name.partition(",")[0]
    text = claim(said, e, "the middle", "points in 100")
    starts = {WINS: "wins ", LOSES: "wins ", AS_GOOD: "is as good as the middle: "}
    assert text.startswith(starts.get(said, "cannot be told from the middle: "))
    assert ("fewer" in text) == (round(e.value, 1) < 0)
    assert not NONSENSE.search(text), text


def test_an_amount_turns_its_interval_with_its_sign() -> None:
    assert amount(DIFFERENCES["loses"], "points in 100") == "3.3 (2.1 to 4.5) fewer points in 100"
    assert amount(DIFFERENCES["as good"], "") == "0.0 (\u22120.2 to 0.1) more"
    nothing: dict[str, Any] = {"estimate": None, "low": None, "high": None}
    assert ends_of(nothing) is None and ends_of({**nothing, "estimate": float("nan")}) is None


@pytest.mark.parametrize("name", DIFFERENCES)
def test_findings_say_no_nonsense(name: str) -> None:
    cells = pair(10.0, 9.0, DIFFERENCES[name].value)
    for cell in cells:
        if cell["outcome"].startswith("points_more"):
            _, cell["low"], cell["high"] = DIFFERENCES[name]
    said = " ".join(findings(cells))
    assert "the bisector" in said and not NONSENSE.search(said), said
    expected = {NOT_DECIDED: "cannot be told from the middle", AS_GOOD: "is as good as the middle"}
    assert expected.get(name.partition(",")[0], "wins") in said


@pytest.mark.parametrize("name", DIFFERENCES)
def test_maps_and_strokes_say_no_nonsense(name: str) -> None:
    e = Estimate(*DIFFERENCES[name], se=0.2, n=100)
    contrast = Contrast(3.0, 11.9, (-1.0, -13.0), (0.0, -13.0), 5.0, 5.0, e)
    for text in (_said(contrast), _more(e)):
        assert not NONSENSE.search(text), text
    assert ("(not decided)" in _more(e)) == (verdict(e.low, e.high) == NOT_DECIDED)
