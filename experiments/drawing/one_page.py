"""One page for a coach: a question, a picture, what was found, and what it rests on."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from experiments.drawing.sheet import (
    BETWEEN,
    BODY_SIZES,
    CAPTION_SIZES,
    GUTTER,
    HEAD_SIZES,
    LARGE_SIZES,
    MARGIN,
    PAPERS,
    axes_in,
    require_paper,
    set_header,
    set_line,
    set_parts,
)
from experiments.drawing.style import BLUE, SOFT, house_style
from experiments.drawing.text_boxes import Box, Words, require_letters

HEADER, QUESTION, HEAD, FOOT, PRINT = 0.6, 0.95, 0.26, 1.1, 0.16
AXIS_LEFT, AXIS_BELOW, CAPTION = 0.5, 0.42, 0.3
CAUTIONS = (
    "Warm up first. Begin with little and add to it over weeks. Stop on pain or dizziness. After"
    " injury or illness, and with children, ask a physician or coach first; what they say goes"
    " before this page."
)


@dataclass(frozen=True)
class Panel:
    """A picture of the page: its heading, what draws it into axes, and its caption.

    width: its share of the row; axes: whether it has labelled axes, which need room.
    """

    head: str
    draw: Callable[[Axes], object]
    caption: str
    width: float = 1.0
    axes: bool = True


@dataclass(frozen=True)
class CoachPage:
    """What stands on the page.

    findings: pairs of a heading and a text. rests_on: what was not modelled, or what the answer
    hangs on. small_print: one line, with the seed.
    """

    title: str
    question: str
    who: str
    panels: Sequence[Panel]
    findings: Sequence[tuple[str, str]]
    rests_on: str
    small_print: str
    under_title: str = "For coach and player. Results of a model, not of matches."


def page_figure(page: CoachPage, paper: str = "a4", picture_share: float = 0.56) -> Figure:
    """The page on paper of that size; the pictures take `picture_share` of what is free.

    Raises:
        InputError: an unknown paper, a letter that the font lacks, or texts that are too long.
    """
    width, height = size = PAPERS[require_paper(paper)]
    for text in _texts(page):
        require_letters(text)
    inner, left = width - 2 * MARGIN, MARGIN
    header = Box(left, height - MARGIN, inner, HEADER)
    question = Box(left, header.bottom - BETWEEN, inner, QUESTION)
    small_print = Box(left, MARGIN + PRINT, inner, PRINT)
    foot = Box(left, small_print.top + BETWEEN / 2 + FOOT, (inner - GUTTER) / 2, FOOT)
    beside = Box(foot.right + GUTTER, foot.top, foot.width, FOOT)
    free = question.bottom - foot.top - 3 * BETWEEN
    pictures = Box(left, question.bottom - BETWEEN, inner, picture_share * free)
    findings = Box(left, pictures.bottom - BETWEEN, inner, free - pictures.height)
    with house_style():
        figure = Figure(figsize=size)
        set_header(figure, header, page.title, page.under_title)
        found = [
            w for head, text in page.findings for w in (Words(head, True, BLUE, 0.5), Words(text))
        ]
        asked = [Words(page.question, True), Words(page.who, colour=SOFT)]
        set_parts(
            figure,
            [("question and who", asked, question), ("findings", found, findings)],
            LARGE_SIZES,
        )
        rests = [Words("What it rests on", True), Words(page.rests_on)]
        cautions = [Words("Take care", True), Words(CAUTIONS)]
        set_parts(figure, [("rests on", rests, foot), ("cautions", cautions, beside)], BODY_SIZES)
        _panels(figure, page.panels, pictures)
        set_line(figure, Words(page.small_print, colour=SOFT), small_print, CAPTION_SIZES)
    return figure


def _texts(page: CoachPage) -> list[str]:
    said = [page.title, page.under_title, page.question, page.who, page.rests_on, page.small_print]
    said += [text for finding in page.findings for text in finding]
    return said + [text for panel in page.panels for text in (panel.head, panel.caption)]


def _panels(figure: Figure, panels: Sequence[Panel], row: Box) -> None:
    """The pictures side by side: heading above, caption below."""
    whole = sum(panel.width for panel in panels)
    free, left = row.width - GUTTER * (len(panels) - 1), row.left
    for panel in panels:
        box = Box(left, row.top, free * panel.width / whole, row.height)
        left = box.right + GUTTER
        caption = CAPTION if panel.caption else 0.0
        set_line(figure, Words(panel.head, True), box, HEAD_SIZES)
        room_left, room_below = (AXIS_LEFT, AXIS_BELOW) if panel.axes else (0.0, 0.0)
        tall = box.height - HEAD - caption - room_below
        panel.draw(
            axes_in(figure, Box(box.left + room_left, box.top - HEAD, box.width - room_left, tall))
        )
        below = Box(box.left, box.bottom + caption, box.width, caption)
        if panel.caption:
            words = [Words(panel.caption, colour=SOFT)]
            set_parts(figure, [(f"caption of {panel.head!r}", words, below)], CAPTION_SIZES)
