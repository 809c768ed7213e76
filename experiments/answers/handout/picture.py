"""The handout's page: boxes, pictures and texts on a sheet of the paper's exact size."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from experiments.answers.handout.answer import Handout
from experiments.answers.handout.cone_plan import (
    cones_of,
    draw_all,
    draw_number,
    draw_one,
    draw_rows,
)
from experiments.answers.handout.words import Page, Paragraph
from experiments.drawing.style import BLUE, INK, SOFT, house_style
from experiments.drawing.text_boxes import (
    Box,
    Words,
    fits,
    fitted,
    require_letters,
    set_fitted,
    set_words,
)
from sim.errors import InputError, named

MM = 1 / 25.4
PAPERS = {"a4": (210 * MM, 297 * MM), "letter": (8.5, 11.0)}  # ISO 216; ANSI/ASME Y14.1, inches
MARGIN, GUTTER, BETWEEN = 0.5, 0.28, 0.14
HEADER, QUESTION, FOOT, PRINT, HEAD = 0.6, 1.42, 1.08, 0.16, 0.26
SHORT_QUESTION = 0.4
PICTURE_SHARE = 0.54  # of what the rows of the picture and of the plan have together
PICTURE_WIDTH, PLAN_WIDTH, ROWS_WIDTH = 2.35, 1.6, 1.5
CAPTION, TICKS, AXIS = 0.7, 0.18, 0.16
ROW, HEAD_ROW = 0.215, 0.36
TITLE_SIZES, NAME_SIZES = (18.0, 16.0, 14.0, 12.0), (13.0, 11.5, 10.0, 9.0)
SUB_SIZES, TITLE_SHARE = (9.0, 8.0), 0.6
HEAD_SIZES = (11.0, 10.0, 9.0)
CELL_SIZES = (9.0, 8.5, 8.0, 7.5, 7.0, 6.5, 6.0)
LARGE_SIZES = tuple(0.25 * n for n in range(48, 25, -1))  # 12 to 6.5 points
BODY_SIZES = tuple(0.25 * n for n in range(38, 25, -1))  # from 9.5
CAPTION_SIZES = (7.5, 7.0, 6.5, 6.0)
COLUMN_SHARES = (0.14, 0.15, 0.19, 0.31, 0.21)
Part = tuple[str, list[Words], Box]  # keys of the texts, their words, where they stand


@dataclass(frozen=True)
class Frames:
    """Where everything stands on the page."""

    header: Box
    question: Box
    picture: Box
    findings: Box
    plan_head: Box
    plan: Box
    table: Box
    drill: Box
    cautions: Box
    not_modelled: Box
    small_print: Box


def require_paper(paper: str) -> str:
    """The paper's own name, however it was written.

    Raises:
        InputError: it is none of PAPERS; says which there are.
    """
    return named("paper", paper, PAPERS)


def frames(paper: str, question_in: float, foot: float) -> Frames:
    """The boxes of the page on that paper; what question and foot leave goes to the others.

    Raises:
        InputError: an unknown paper.
    """
    paper = require_paper(paper)
    width, height = PAPERS[paper]
    inner, left = width - 2 * MARGIN, MARGIN
    header = Box(left, height - MARGIN, inner, HEADER)
    small_print = Box(left, MARGIN + PRINT, inner, PRINT)
    half = (inner - GUTTER) / 2
    cautions = Box(left, small_print.top + BETWEEN / 2 + foot, half, foot)
    not_modelled = dataclasses.replace(cautions, left=left + half + GUTTER)
    top, bottom = header.bottom - BETWEEN, cautions.top + BETWEEN
    rows = top - bottom - BETWEEN
    picture = Box(left, top, PICTURE_WIDTH, PICTURE_SHARE * rows)
    beside = picture.right + GUTTER
    question = Box(beside, top, left + inner - beside, question_in)
    rest = picture.height - question_in - BETWEEN
    findings = Box(beside, question.bottom - BETWEEN, question.width, rest)
    plan_head = Box(left, picture.bottom - BETWEEN, inner, HEAD)
    tall = plan_head.bottom - bottom
    plan = Box(left, plan_head.bottom, PLAN_WIDTH, tall)
    beside = plan.right + GUTTER
    table = Box(beside, plan.top, left + inner - beside, HEAD_ROW + 5 * ROW + TICKS + AXIS)
    drill = Box(beside, table.bottom - BETWEEN, table.width, tall - table.height - BETWEEN)
    above = (header, question, picture, findings)
    return Frames(*above, plan_head, plan, table, drill, cautions, not_modelled, small_print)


def handout_figure(found: Handout, page: Page, paper: str = "a4") -> Figure:
    """The whole page.

    Raises:
        InputError: an unknown paper, a letter that the font lacks, or texts that are too long.
    """
    for text in strings_of(page):
        require_letters(text)
    at = frames(
        paper,
        QUESTION if page.question.head or page.who else SHORT_QUESTION,
        FOOT if page.cautions.text or page.not_modelled.text else 0.0,
    )
    with house_style():
        figure = Figure(figsize=PAPERS[paper])
        _header(figure, page, at.header)
        _set(figure, large(page, at), LARGE_SIZES)
        _set(figure, bodies(page, at), BODY_SIZES)
        _picture(figure, found, page, at.picture)
        _line(figure, Words(page.plan.head, True), at.plan_head, HEAD_SIZES)
        _plan(figure, found, page, at.plan)
        _table(figure, found, page, at.table)
        _line(figure, Words(page.small_print, colour=SOFT), at.small_print, CAPTION_SIZES)
    return figure


def strings_of(thing: object) -> Iterator[str]:
    """All texts in a page."""
    if isinstance(thing, str):
        yield thing
    elif isinstance(thing, tuple):
        for part in thing:
            yield from strings_of(part)
    else:
        for field in dataclasses.fields(thing):  # type: ignore[arg-type]
            yield from strings_of(getattr(thing, field.name))


def _header(figure: Figure, page: Page, box: Box) -> None:
    """Title and what it is at the left, name and club at the right, a rule below.

    The title may take TITLE_SHARE of the width if there is a name, the name what the title leaves.
    """
    first, second = box.top - 0.26, box.top - 0.46
    left = box.width * (TITLE_SHARE if page.name or page.club else 1.0)
    heads = (
        (Words(page.title, True), first, TITLE_SIZES),
        (Words(page.under_title, colour=SOFT), second, SUB_SIZES),
    )
    used = max(set_fitted(figure, words, (box.left, y), left, sizes) for words, y, sizes in heads)
    rest = box.width - used - GUTTER
    set_fitted(figure, Words(page.name, True), (box.right, first), rest, NAME_SIZES, "right")
    club = Words(page.club, colour=SOFT)
    set_fitted(figure, club, (box.right, second), rest, SUB_SIZES, "right")
    width, height = figure.get_size_inches()
    ends, y = (box.left / width, box.right / width), box.bottom / height
    figure.add_artist(Line2D(ends, (y, y), color=INK, linewidth=1.0))


def _line(figure: Figure, words: Words, box: Box, sizes: Sequence[float]) -> None:
    """One line at the top of a box."""
    set_fitted(figure, words, (box.left, box.top - 0.12), box.width, sizes)


def large(page: Page, at: Frames) -> list[Part]:
    """Question and findings, which share one size."""
    findings = [Words(page.findings_head, True)]
    for part in page.findings:
        findings += [Words(part.head, True, BLUE, 0.5), Words(part.text)]
    findings.append(Words(page.measured, colour=SOFT, gap=0.5))
    question = [*_headed(page.question), Words(page.who, colour=SOFT)]
    return [
        ("question", question, at.question),
        ("findings, where, balls, points and measured", findings, at.findings),
    ]


def bodies(page: Page, at: Frames) -> list[Part]:
    """Drill, cautions and what was not modelled, which share another."""
    return [
        ("drill", [Words(text, gap=0.3) for text in page.drill], at.drill),
        ("cautions", _headed(page.cautions), at.cautions),
        ("not_modelled", _headed(page.not_modelled), at.not_modelled),
    ]


def _headed(part: Paragraph) -> list[Words]:
    return [Words(part.head, True), Words(part.text)]


def common_size(parts: Sequence[Part], sizes: Sequence[float]) -> float:
    """The largest size at which each of the texts fits into its box, if may be without a broken
    word.

    Raises:
        InputError: one does not fit at the smallest.
    """
    for whole in (True, False):
        for size in sizes:
            if all(fits(words, box, size, whole) for _, words, box in parts):
                return size
    long = [name for name, words, box in parts if not fits(words, box, sizes[-1])]
    raise InputError(
        f"the texts of {', '.join(long)} need more room than the page has, even in"
        f" {sizes[-1]:g} points; shorten them"
    )


def _set(figure: Figure, parts: Sequence[Part], sizes: Sequence[float]) -> None:
    """The texts of some boxes in one size."""
    size = common_size(parts, sizes)
    for _, words, box in parts:
        set_words(figure, words, box, size)


def _caption(figure: Figure, key: str, text: str, box: Box, height: float) -> None:
    """A text at the bottom of a box."""
    below = Box(box.left, box.bottom + height, box.width, height)
    _set(figure, [(key, [Words(text, colour=SOFT)], below)], CAPTION_SIZES)


def _axes(figure: Figure, box: Box) -> Axes:
    width, height = figure.get_size_inches()
    return figure.add_axes(
        (box.left / width, box.bottom / height, box.width / width, box.height / height)
    )


def _picture(figure: Figure, found: Handout, page: Page, box: Box) -> None:
    """Heading, the court with the asked place, what the ticks count, caption."""
    head = HEAD if page.picture.head else 0.0
    caption = CAPTION if page.picture.text else 0.0
    _line(figure, Words(page.picture.head, True), box, HEAD_SIZES)
    tall = box.height - head - caption - TICKS - AXIS
    ax = _axes(figure, Box(box.left, box.top - head, box.width, tall))
    draw_one(ax, found.station.spot.angle, cones_of(found)[found.asked], found.missed)
    below = Box(box.left, box.bottom + caption + AXIS, box.width, AXIS)
    _line(figure, Words(page.axis, colour=SOFT), below, CAPTION_SIZES)
    _caption(figure, "picture.caption", page.picture.text, box, caption)


def _plan(figure: Figure, found: Handout, page: Page, box: Box) -> None:
    """The court with all cones, and its caption."""
    caption = 0.3 if page.plan.text else 0.0
    ax = _axes(figure, Box(box.left, box.top, box.width, box.height - caption))
    draw_all(ax, cones_of(found), found.question.scene.line_m)
    _caption(figure, "plan.caption", page.plan.text, box, caption)


def _table(figure: Figure, found: Handout, page: Page, box: Box) -> None:
    """A row for each place: number, the rows' picture, then steps, metres, missed and verdict."""
    number = 0.3
    rows_top = box.top - HEAD_ROW
    strip = Box(box.left + number, rows_top, ROWS_WIDTH, 5 * ROW)
    ax = _axes(figure, strip)
    draw_rows(ax, cones_of(found))
    for i, row in enumerate(page.rows):
        draw_number(ax, ax.get_xlim()[0], -i, row.number)
    below = Box(strip.left, strip.bottom - TICKS, strip.width, AXIS)
    _line(figure, Words(page.strip, colour=SOFT), below, CAPTION_SIZES)
    left = strip.right + 0.12
    wide = [share * (box.right - left) for share in COLUMN_SHARES]
    columns = [Box(left + sum(wide[:i]), box.top, w - 0.06, HEAD_ROW) for i, w in enumerate(wide)]
    heads = enumerate(zip(page.heads.cells, columns, strict=True))
    _set(
        figure, [(f"plan, head {i + 1}", [Words(t, True)], at) for i, (t, at) in heads], CELL_SIZES
    )
    cells = [
        (text, at, rows_top - (i + 0.5) * ROW - 0.045)
        for i, row in enumerate(page.rows)
        for text, at in zip(row.cells, columns, strict=True)
    ]
    common = min(fitted(text, at.width, CELL_SIZES)[1] for text, at, _ in cells)
    for text, at, baseline in cells:
        set_fitted(figure, Words(text), (at.left, baseline), at.width, (common,))
