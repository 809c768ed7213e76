"""A page for a coach: what stands on it, on which paper, and what is refused."""

from __future__ import annotations

import dataclasses

import pytest
from matplotlib.axes import Axes

from experiments.drawing.one_page import CAUTIONS, CoachPage, Panel, page_figure
from experiments.drawing.sheet import PAPERS
from sim.errors import InputError


def line(ax: Axes) -> object:
    return ax.plot([0.0, 1.0], [0.0, 1.0], gid="line")


PAGE = CoachPage(
    title="How far back?",
    question="Where do I wait?",
    who="A player of the club.",
    panels=[Panel("Left", line, "A caption.", 1.0, False), Panel("Right", line, "Another.", 2.0)],
    findings=[("Where", "Here. " * 20), ("Why", "Therefore. " * 20)],
    rests_on="Much.",
    small_print="seed 1",
)


@pytest.mark.parametrize("paper", list(PAPERS))
def test_all_that_is_said_stands_on_the_page(paper: str) -> None:
    figure = page_figure(PAGE, paper)
    assert figure.get_size_inches() == pytest.approx(PAPERS[paper])
    said = " ".join(text.get_text() for text in figure.texts)
    for words in (PAGE.title, PAGE.question, "Where", "Why", "Left", "Right", PAGE.small_print):
        assert words in said
    assert all(word in said for word in CAUTIONS.split())
    left, right = figure.axes
    assert left.lines[0].get_gid() == right.lines[0].get_gid() == "line"
    assert right.get_position().width > 1.5 * left.get_position().width
    assert left.get_position().x1 < right.get_position().x0


def test_nothing_lies_over_the_texts() -> None:
    """Pictures end above the findings, which end above what the answer rests on."""
    figure = page_figure(PAGE)
    bottom = min(ax.get_position().y0 for ax in figure.axes)
    where = {text.get_text(): text.get_position()[1] for text in figure.texts}
    assert bottom > where["Where"] > where["Why"] > where["What it rests on"]


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"title": "\u4f60"}, "has no letter"),
        ({"findings": [("Long", "word " * 5000)]}, "need more room"),
    ],
)
def test_what_cannot_be_printed_is_refused(changed: dict[str, object], words: str) -> None:
    with pytest.raises(InputError, match=words):
        page_figure(dataclasses.replace(PAGE, **changed))  # type: ignore[arg-type]


def test_an_unknown_paper_is_refused() -> None:
    with pytest.raises(InputError, match="a4"):
        page_figure(PAGE, "a7")
