"""A sheet for a notice board: one rule, one big court, one drill. No name on it is cut."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from matplotlib.figure import Figure

from experiments.answers.handout.answer import Handout
from experiments.answers.handout.picture import strings_of
from experiments.answers.handout.rule import both_sides, rule_text, rule_x_m
from experiments.answers.handout.texts import Texts
from experiments.answers.handout.words import (
    Paragraph,
    cone_words,
    drill_fields,
    least_words,
    next_ball,
    one_line,
    who_words,
    whole_rally,
    with_note,
)
from experiments.drawing.one_court import draw_key_marks, draw_one_court, has_fan
from experiments.drawing.sheet import (
    BETWEEN,
    BODY_SIZES,
    GUTTER,
    MARGIN,
    PAPERS,
    Part,
    axes_in,
    require_paper,
    set_line,
    set_parts,
)
from experiments.drawing.style import BLUE, INK, SOFT, house_style
from experiments.drawing.text_boxes import Box, Words, require_letters
from experiments.scene.sides import STEP_M

HEADER, RULE, WHO, MADE = 0.8, 1.3, 0.55, 0.4
RULE_SIZES = tuple(0.5 * n for n in range(52, 27, -1))  # 26 to 14 points
TITLE_SIZES = tuple(0.5 * n for n in range(40, 11, -1))
COLUMN_SIZES = tuple(0.25 * n for n in range(56, 29, -1))  # 14 to 7.5
TICKS, AXIS = 0.22, 0.2
TITLE_SHARE, COURT_SHARE = 0.55, 0.47
MARK = 0.45
ROWS = 4  # of marks
KEY_SHARE, LAST_ROW = 0.2, 1.6  # of the column; of a row
MARKS = 1.6  # times the size of those on a page


@dataclass(frozen=True)
class Board:
    """The texts of the sheet, by where they stand; "" is not printed."""

    title: str
    under_title: str
    name: str
    club: str
    rule: str
    key: tuple[str, ...]
    worth: Paragraph
    drill_head: str
    drill: tuple[str, ...]
    cautions: Paragraph
    axis: str
    who: str
    made: str


def board_of(
    found: Handout,
    texts: Texts,
    files: Sequence[str] = (),
    title: str | None = None,
    name: str = "",
    club: str = "",
) -> Board:
    """The sheet of a measured handout that was made from these files, else from a level.

    Raises:
        InputError: a title, name or club with letters that cannot be printed.
    """
    say, scene = texts.say, found.question.scene
    left, right = (cone_words(rule_x_m(s), texts) for s in both_sides(found))
    cones = left if left == right else say("board.cones", left=right, right=left)
    marks = ("cone", "band", "middle", *(["fan"] if has_fan(found.station.spot.angle) else []))
    worth = next_ball(found, texts), whole_rally(found, texts)
    fields = drill_fields(found, texts) | {"cones": cones}
    made = [say("board.file", name=file) for file in files]
    made = made or [say("board.level", name=texts.name(scene.player.name))]
    return Board(
        title=say("board.title") if title is None else one_line("title", title),
        under_title=say("board.under_title"),
        name=one_line("name", name),
        club=one_line("club", club),
        rule=rule_text(found, texts),
        key=tuple(say(f"board.{mark}", least=least_words(found)) for mark in marks),
        worth=Paragraph(say("board.worth"), " ".join(part.text for part in worth)),
        drill_head=say("board.drill"),
        drill=tuple(say(f"board_drill.{key}", **fields) for key in ("one", "two", "three")),
        cautions=Paragraph(say("cautions.head"), say("cautions.text")),
        axis=say("plan.axis", metres=texts.number(STEP_M, 2)),
        who=who_words(found, texts, longest=None),
        made=with_note(
            say("board.made", files=", ".join(made), seed=str(scene.seed), balls=str(scene.balls)),
            texts,
        ),
    )


def board_text(board: Board, with_cautions: bool) -> str:
    """What the sheet says in words for the terminal; the cautions too where the sheet has none."""
    parts = [board.rule, board.worth.text, board.who]
    if with_cautions:
        parts += ["The sheet has no words, so tell the players:", board.cautions.text]
    return "\n".join([*parts, board.made]).replace("\u00a0", " ")


def board_figure(found: Handout, board: Board, paper: str = "a4") -> Figure:
    """The whole sheet.

    Raises:
        InputError: an unknown paper, a letter that the font lacks, or texts that are too long.
    """
    for text in strings_of(board):
        require_letters(text)
    width, height = PAPERS[require_paper(paper)]
    inner = width - 2 * MARGIN
    head = Box(MARGIN, height - MARGIN, inner, HEADER)
    rule = Box(MARGIN, head.bottom, inner, RULE)
    made = Box(MARGIN, MARGIN + MADE, inner, MADE)
    who = Box(MARGIN, made.top + WHO, inner, WHO)
    tall = rule.bottom - who.top - 2 * BETWEEN
    court = Box(MARGIN, rule.bottom - BETWEEN, COURT_SHARE * inner, tall)
    left = court.right + GUTTER
    column = Box(left, court.top, MARGIN + inner - left, tall)
    with house_style():
        figure = Figure(figsize=(width, height))
        _header(figure, board, head)
        set_parts(figure, [("rule", [Words(board.rule, True)], rule)], RULE_SIZES)
        _court(figure, found, board, court)
        _column(figure, board, column)
        foot: list[Part] = [
            ("question.who", [Words(board.who, colour=INK)], who),
            ("board.made", [Words(board.made, colour=SOFT)], made),
        ]
        set_parts(figure, foot, BODY_SIZES)
    return figure


def _header(figure: Figure, board: Board, box: Box) -> None:
    """Title at the left, whom the sheet is for at the right; each as large as it may be."""
    named = [Words(board.name, True), Words(board.club)]
    share = TITLE_SHARE if board.name or board.club else 1.0
    left = Box(box.left, box.top, share * box.width - GUTTER, box.height)
    right = Box(left.right + GUTTER, box.top, box.right - left.right - GUTTER, box.height)
    title = [Words(board.title, True, BLUE)]
    under = Box(left.left, left.bottom + 0.22, left.width, 0.2)
    above = Box(left.left, left.top, left.width, left.height - 0.24)
    set_parts(figure, [("title", title, above)], TITLE_SIZES)
    set_parts(figure, [("under_title", [Words(board.under_title, colour=SOFT)], under)], BODY_SIZES)
    if board.name or board.club:
        set_parts(figure, [("name and club", named, right)], TITLE_SIZES)


def _court(figure: Figure, found: Handout, board: Board, box: Box) -> None:
    """The court with the rule's cone, and what its ticks count."""
    spot = found.station.spot
    ax = axes_in(figure, Box(box.left, box.top, box.width, box.height - TICKS - AXIS))
    best = (spot.best.low_m, spot.best.high_m)
    draw_one_court(ax, spot.angle, best, rule_x_m(found.station), MARKS)
    below = Box(box.left, box.bottom + AXIS, box.width, AXIS)
    set_line(figure, Words(board.axis, colour=SOFT), below, BODY_SIZES)


def _column(figure: Figure, board: Board, box: Box) -> None:
    """What the marks are, what the rule is worth, the drill, the cautions: in one size."""
    row = KEY_SHARE * box.height / ROWS
    marks = axes_in(figure, Box(box.left, box.top, MARK, KEY_SHARE * box.height))
    draw_key_marks(marks, MARKS, fan=len(board.key) == ROWS)
    tall = [*(1.0 for _ in board.key[1:]), LAST_ROW]  # the last text is the longest
    parts: list[Part] = [
        ("board", [Words(text)], Box(box.left + MARK, box.top - i * row, box.width - MARK, t * row))
        for i, (text, t) in enumerate(zip(board.key, tall, strict=True))
    ]
    words = [Words(board.worth.head, True, BLUE), Words(board.worth.text)]
    words += [Words(board.drill_head, True, BLUE, 0.6)]
    words += [Words(text, gap=0.2) for text in board.drill]
    words += [Words(board.cautions.head, True, BLUE, 0.6), Words(board.cautions.text)]
    below = parts[-1][2].bottom - BETWEEN / 2
    rest = Box(box.left, below, box.width, below - box.bottom)
    parts.append(("worth, drill and cautions", words, rest))
    set_parts(figure, parts, COLUMN_SIZES)
