"""The handout's page: boxes, pictures and texts on a sheet of the paper's exact size."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from dataclasses import dataclass

from matplotlib.figure import Figure

from experiments.answers.handout.answer import Handout
from experiments.answers.handout.cone_plan import (
    cones_of,
    draw_all,
    draw_number,
    draw_one,
    draw_rows,
)
from experiments.answers.handout.words import Page, Paragraph
from experiments.drawing.sheet import (
    BETWEEN,
    BODY_SIZES,
    CAPTION_SIZES,
    GUTTER,
    HEAD_SIZES,
    LARGE_SIZES,
    MARGIN,
    PAPERS,
    Part,
    axes_in,
    common_size,
    largest_size,
    require_paper,
    set_at,
    set_header,
    set_line,
    set_parts,
)
from experiments.drawing.style import BLUE, SOFT, house_style
from experiments.drawing.text_boxes import (
    Box,
    Words,
    fitted,
    height_of,
    require_letters,
    set_fitted,
)

HEADER, PRINT, HEAD = 0.6, 0.16, 0.26
FOOT, RULE = 1.3, 0.8  # at most
PICTURE_SHARE = 0.56  # of what the rows of the picture and of the plan have together
PICTURE_WIDTH, PLAN_WIDTH, ROWS_WIDTH = 2.6, 1.6, 1.4
CAPTION, TICKS, AXIS = 0.95, 0.18, 0.16
ROW, HEAD_ROW = 0.215, 0.36
LEGEND_SIZES = (*BODY_SIZES, 6.25, 6.0)
CELL_SIZES = (9.0, 8.5, 8.0, 7.5, 7.0, 6.5, 6.0)
COLUMN_SHARES = (0.13, 0.18, 0.18, 0.31, 0.20)


@dataclass(frozen=True)
class Frames:
    """Where everything stands on the page."""

    header: Box
    picture: Box
    told: Box
    plan_head: Box
    plan: Box
    table: Box
    drill: Box
    rule: Box
    cautions: Box
    not_modelled: Box
    small_print: Box


def frames(paper: str, foot: float, rule_in: float = 0.0) -> Frames:
    """The boxes of the page on that paper; what foot and rule leave goes to the others.

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
    rule = Box(left, cautions.top + BETWEEN / 2 + rule_in, inner, rule_in)
    top, bottom = header.bottom - BETWEEN, rule.top + BETWEEN / 2
    rows = top - bottom - BETWEEN
    picture = Box(left, top, PICTURE_WIDTH, PICTURE_SHARE * rows)
    beside = picture.right + GUTTER
    told = Box(beside, top, left + inner - beside, picture.height)
    plan_head = Box(left, picture.bottom - BETWEEN, inner, HEAD)
    tall = plan_head.bottom - bottom
    plan = Box(left, plan_head.bottom, PLAN_WIDTH, tall)
    beside = plan.right + GUTTER
    table = Box(beside, plan.top, left + inner - beside, HEAD_ROW + 5 * ROW + TICKS + AXIS)
    drill = Box(beside, table.bottom - BETWEEN, table.width, tall - table.height - BETWEEN)
    above = (header, picture, told, plan_head, plan, table, drill)
    return Frames(*above, rule, cautions, not_modelled, small_print)


def fitted_frames(paper: str, page: Page) -> tuple[Frames, float]:
    """The boxes of the page with a foot as tall as its texts need, and the size of these: no larger
    than the drill may be.

    Raises:
        InputError: an unknown paper, or texts of the foot or the drill that are too long.
    """
    parts = foot_parts(page, frames(paper, FOOT, RULE))
    most = common_size(parts, BODY_SIZES)
    for size in (s for s in BODY_SIZES if s <= most):
        rule, *columns = (height_of(words, box.width, size) for _, words, box in parts)
        at = frames(paper, max(columns), rule)
        if largest_size([drill_part(page, at)], [size]):
            break
    return at, common_size([drill_part(page, at)], [size])


def handout_figure(found: Handout, page: Page, paper: str = "a4") -> Figure:
    """The whole page.

    Raises:
        InputError: an unknown paper, a letter that the font lacks, or texts that are too long.
    """
    for text in strings_of(page):
        require_letters(text)
    at, foot_size = fitted_frames(paper, page)
    told = told_part(page, at)
    size = common_size([told], LARGE_SIZES)
    with house_style():
        figure = Figure(figsize=PAPERS[paper])
        set_header(figure, at.header, page.title, page.under_title, page.name, page.club)
        set_at(figure, [told], size)
        set_parts(figure, [drill_part(page, at)], [s for s in LARGE_SIZES if s <= size])
        set_at(figure, foot_parts(page, at), foot_size)
        _picture(figure, found, page, at.picture)
        set_line(figure, Words(page.plan.head, True), at.plan_head, HEAD_SIZES)
        _plan(figure, found, page, at.plan)
        _table(figure, found, page, at.table)
        set_line(figure, Words(page.small_print, colour=SOFT), at.small_print, CAPTION_SIZES)
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


def told_part(page: Page, at: Frames) -> Part:
    """Question and findings, one below the other in one size."""
    words = [*_headed(page.question), Words(page.who, colour=SOFT)]
    words.append(Words(page.findings_head, True, gap=1.0))
    for part in page.findings:
        words += [Words(part.head, True, BLUE, 0.5), Words(part.text)]
    words.append(Words(page.measured, colour=SOFT, gap=0.5))
    return "question, findings, where, balls, points and measured", words, at.told


def drill_part(page: Page, at: Frames) -> Part:
    """The drill, a paragraph for each step."""
    return "drill", [Words(text, gap=0.3) for text in page.drill], at.drill


def foot_parts(page: Page, at: Frames) -> list[Part]:
    """Learned rule, cautions and what was not modelled, which share a size."""
    return [
        ("learned", _headed(page.rule), at.rule),
        ("cautions", _headed(page.cautions), at.cautions),
        ("not_modelled", _headed(page.not_modelled), at.not_modelled),
    ]


def _headed(part: Paragraph) -> list[Words]:
    return [Words(part.head, True), Words(part.text)]


def _caption(figure: Figure, key: str, text: str, box: Box, height: float) -> None:
    """A text at the bottom of a box."""
    below = Box(box.left, box.bottom + height, box.width, height)
    set_parts(figure, [(key, [Words(text, colour=SOFT)], below)], LEGEND_SIZES)


def _picture(figure: Figure, found: Handout, page: Page, box: Box) -> None:
    """Heading, the court with the asked place, what the ticks count, caption."""
    head = HEAD if page.picture.head else 0.0
    caption = CAPTION if page.picture.text else 0.0
    set_line(figure, Words(page.picture.head, True), box, HEAD_SIZES)
    tall = box.height - head - caption - TICKS - AXIS
    ax = axes_in(figure, Box(box.left, box.top - head, box.width, tall))
    draw_one(ax, found.station.spot.angle, cones_of(found)[found.asked], found.missed)
    below = Box(box.left, box.bottom + caption + AXIS, box.width, AXIS)
    set_line(figure, Words(page.axis, colour=SOFT), below, CAPTION_SIZES)
    _caption(figure, "picture.caption", page.picture.text, box, caption)


def _plan(figure: Figure, found: Handout, page: Page, box: Box) -> None:
    """The court with all cones, and its caption."""
    caption = 0.3 if page.plan.text else 0.0
    ax = axes_in(figure, Box(box.left, box.top, box.width, box.height - caption))
    draw_all(ax, cones_of(found), found.question.scene.line_m)
    _caption(figure, "plan.caption", page.plan.text, box, caption)


def _table(figure: Figure, found: Handout, page: Page, box: Box) -> None:
    """A row for each place: number, the rows' picture, then steps, metres, missed and verdict."""
    number = 0.3
    rows_top = box.top - HEAD_ROW
    strip = Box(box.left + number, rows_top, ROWS_WIDTH, 5 * ROW)
    ax = axes_in(figure, strip)
    draw_rows(ax, cones_of(found))
    for i, row in enumerate(page.rows):
        draw_number(ax, ax.get_xlim()[0], -i, row.number)
    below = Box(strip.left, strip.bottom - TICKS, strip.width, AXIS)
    set_line(figure, Words(page.strip, colour=SOFT), below, CAPTION_SIZES)
    left = strip.right + 0.12
    wide = [share * (box.right - left) for share in COLUMN_SHARES]
    columns = [Box(left + sum(wide[:i]), box.top, w - 0.06, HEAD_ROW) for i, w in enumerate(wide)]
    heads = enumerate(zip(page.heads.cells, columns, strict=True))
    set_parts(
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
