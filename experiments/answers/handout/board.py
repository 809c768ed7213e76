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
    axis_words,
    cone_words,
    drill_fields,
    least_words,
    one_line,
    who_words,
    with_note,
)
from experiments.answers.handout.worth import Followed, worth_words
from experiments.drawing.one_court import draw_key_mark, draw_one_court, has_fan
from experiments.drawing.sheet import (
    BETWEEN,
    BODY_SIZES,
    GUTTER,
    MARGIN,
    PAPERS,
    Part,
    axes_in,
    common_size,
    largest_size,
    require_paper,
    set_at,
    set_parts,
)
from experiments.drawing.style import BLUE, INK, SOFT, house_style
from experiments.drawing.text_boxes import (
    POINTS_AN_INCH,
    Box,
    Words,
    height_of,
    lines_of,
    require_letters,
    set_words,
)

HEADER, RULE, WHO, MADE = 0.78, 1.3, 0.6, 0.55  # the last three at most; inches
RULE_SIZES = tuple(0.5 * n for n in range(52, 27, -1))  # 26 to 14 points
TITLE_SIZES = tuple(0.5 * n for n in range(40, 11, -1))
COLUMN_SIZES = tuple(0.25 * n for n in range(64, 29, -1))  # 16 to 7.5
TICKS, AXIS = 0.24, 0.36
TITLE_SHARE = 0.55
# The court is as wide as it may be beside texts of the wished size, and has the key below it.
COURT_SHARES, WISHED_PT = (0.5, 0.47, 0.44, 0.41, 0.38, 0.35), 12.0
KEY, MARK = 2.5, 0.45  # the key at most
KEY_GAP, MARK_TALL = 0.35, 0.9  # lines between its texts; height of an area, in sizes
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
    worth_head: str
    worth: tuple[str, ...]
    drill_head: str
    drill: tuple[str, ...]
    cautions: Paragraph
    axis: str
    who: str
    made: str


def board_of(
    followed: Followed,
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
    found, say = followed.found, texts.say
    scene = found.question.scene
    places = [rule_x_m(s) for s in both_sides(found)]
    left, right = (cone_words(x, texts) for x in places)
    cones = left if left == right else say("board.cones", left=right, right=left)
    fields = drill_fields(found, texts) | {"cones": cones}
    steps = ("one" if any(places) else "one_mark", "two", "three")
    made = [say("board.file", name=file) for file in files]
    made = made or [say("board.level", name=texts.name(scene.player.name))]
    return Board(
        title=say("board.title") if title is None else one_line("title", title),
        under_title=say("board.under_title"),
        name=one_line("name", name),
        club=one_line("club", club),
        rule=rule_text(found, texts),
        key=tuple(say(f"board.{mark}", least=least_words(found)) for mark in marks_of(found)),
        worth_head=say("board.worth"),
        worth=tuple(worth_words(followed, texts)),
        drill_head=say("board.drill"),
        drill=tuple(say(f"board_drill.{key}", **fields) for key in steps),
        cautions=Paragraph(say("cautions.head"), say("cautions.text")),
        axis=_bracket_whole(axis_words(texts)),
        who=who_words(found, texts, longest=None),
        made=with_note(
            say("board.made", files=", ".join(made), seed=str(scene.seed), balls=str(scene.balls)),
            texts,
        ),
    )


def _bracket_whole(text: str) -> str:
    """A text that breaks its lines nowhere behind its first bracket."""
    before, bracket, inside = text.partition("(")
    return before + bracket + inside.replace(" ", "\u00a0")


def marks_of(found: Handout) -> tuple[str, ...]:
    """What the picture shows, from what the rule says: a cone, or the mark where it is the rule."""
    shown = ["cone", "band", "middle"] if rule_x_m(found.station) else ["mark", "band"]
    return (*shown, *(["fan"] if has_fan(found.station.spot.angle) else []))


def board_text(board: Board, with_cautions: bool) -> str:
    """What the sheet says in words for the terminal; the cautions too where the sheet has none."""
    parts = [board.rule, *board.worth, board.who]
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
    head = Box(MARGIN, height - MARGIN, width - 2 * MARGIN, HEADER)
    with house_style():
        figure = Figure(figsize=(width, height))
        _header(figure, board, head)
        top = _rule(figure, board, Box(MARGIN, head.bottom, head.width, RULE)) - BETWEEN
        bottom = _foot(figure, board, head.width) + BETWEEN
        _middle(figure, found, board, Box(MARGIN, top, head.width, top - bottom))
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


def _rule(figure: Figure, board: Board, box: Box) -> float:
    """The rule in large letters; where it ends."""
    words = [Words(board.rule, True)]
    size = common_size([("rule", words, box)], RULE_SIZES)
    set_words(figure, words, box, size)
    return box.top - height_of(words, box.width, size)


def _foot(figure: Figure, board: Board, width: float) -> float:
    """Who plays and of what the sheet was made; where they begin."""
    who, made = [Words(board.who, colour=INK)], [Words(board.made, colour=SOFT)]
    most = Box(MARGIN, MARGIN + WHO, width, WHO), Box(MARGIN, MARGIN + MADE, width, MADE)
    parts: list[Part] = [("question.who", who, most[0]), ("board.made", made, most[1])]
    size = common_size(parts, BODY_SIZES)
    below = MARGIN + height_of(made, width, size)
    above = below + BETWEEN / 2 + height_of(who, width, size)
    set_words(figure, made, Box(MARGIN, below, width, MADE), size)
    set_words(figure, who, Box(MARGIN, above, width, WHO), size)
    return above


def _middle(figure: Figure, found: Handout, board: Board, box: Box) -> None:
    """The court with its key at the left, what the rule is worth, drill and cautions beside it."""
    parts = max((_key_and_column(board, box, share) for share in COURT_SHARES), key=_wished)
    size = common_size(parts, COLUMN_SIZES)
    (_, key, at), column = parts
    wide = column[2].left - GUTTER - box.left
    tall = height_of(key, at.width, size) + BETWEEN / 2
    at = Box(at.left, box.bottom + tall - BETWEEN / 2, at.width, tall - BETWEEN / 2)
    _key(figure, marks_of(found), key, at, size)
    set_at(figure, [column], size)
    _court(figure, found, board, Box(box.left, box.top, wide, box.height - tall))


def _wished(parts: list[Part]) -> float:
    """The size at which these fit, but no more than is wished."""
    return min(largest_size(parts, COLUMN_SIZES) or 0.0, WISHED_PT)


def _key_and_column(board: Board, box: Box, share: float) -> list[Part]:
    """The texts below a court of that share of the width and beside it, each with its room."""
    wide = share * box.width
    key = [Words(text, gap=KEY_GAP) for text in board.key]
    words = [Words(board.worth_head, True, BLUE)]
    words += [Words(text, gap=0.2 * (i > 0)) for i, text in enumerate(board.worth)]
    words += [Words(board.drill_head, True, BLUE, 0.6)]
    words += [Words(text, gap=0.2 * (i > 0)) for i, text in enumerate(board.drill)]
    words += [Words(board.cautions.head, True, BLUE, 0.6), Words(board.cautions.text)]
    beside = Box(box.left + wide + GUTTER, box.top, box.width - wide - GUTTER, box.height)
    below = Box(box.left + MARK, box.bottom + KEY, wide - MARK, KEY)
    return [("board", key, below), ("worth, drill and cautions", words, beside)]


def _key(figure: Figure, marks: Sequence[str], words: list[Words], box: Box, size: float) -> None:
    """What the marks of the picture are, each mark at the first line of its text."""
    set_words(figure, words, box, size)
    ax = axes_in(figure, Box(box.left - MARK, box.top, MARK, box.height))
    ax.set_axis_off()
    ax.set(xlim=(-1.0, 1.0), ylim=(-box.height, 0.0))
    em = size / POINTS_AN_INCH
    for mark, part in zip(marks, words, strict=True):
        down = next((d for _, of, d in lines_of(words, box.width, size) if of is part), None)
        if down is not None:
            draw_key_mark(ax, mark, 0.35 * em - down, MARK_TALL * em, MARKS)


def _court(figure: Figure, found: Handout, board: Board, box: Box) -> None:
    """The court with the rule's place, and what its ticks count."""
    spot, rule_m = found.station.spot, rule_x_m(found.station)
    ax = axes_in(figure, Box(box.left, box.top, box.width, box.height - TICKS - AXIS))
    best = (spot.best.low_m, spot.best.high_m)
    draw_one_court(ax, spot.angle, best, rule_m or None, MARKS)
    below = Box(box.left, box.bottom + AXIS, box.width, AXIS)
    set_parts(figure, [("plan.axis", [Words(board.axis, colour=SOFT)], below)], BODY_SIZES)
