"""Reading a filled sheet: every row is checked, and every problem told."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from experiments.answers.handout.answer import FEEDS_A_SET
from experiments.answers.trial.cells import OPEN, READERS
from experiments.answers.trial.foretold import REACHED
from experiments.answers.trial.sheet import COLUMNS
from sim.errors import InputError
from sim.people_files import read_text
from sim.plain_text import checked_line
from strategies.charts.typed_rows import Problem, header_and_rows, require_none

MOST_BYTES = 2_000_000
OF_A_BALL = ("ball", "pair", "place", "stand", "reached", "returned_in")
# The same in every row.
OF_THE_SHEET = ("counts", "false_alarm", "foretold_per_100", "planned_pairs", "seed")


@dataclass(frozen=True)
class Played:
    """One ball of a filled sheet; `reached` and `returned_in` are None where nothing is typed."""

    line: int
    ball: int
    pair: int
    place: int
    stand: str
    reached: bool | None
    returned_in: bool | None

    @property
    def set(self) -> int:
        return (self.ball - 1) // FEEDS_A_SET

    def kept(self, counts: str) -> bool | None:
        """Whether the ball counts; None where that is not known."""
        return self.reached if counts == REACHED else self.returned_in


@dataclass(frozen=True)
class Filled:
    """A filled sheet: what it says of the trial, and its balls in the file's order.

    unread: columns that are none of ours.
    """

    name: str
    counts: str
    false_alarm: float
    foretold_per_100: float
    planned_pairs: int
    seed: int
    balls: tuple[Played, ...]
    unread: tuple[str, ...]


def read_sheet(path: Path) -> Filled:
    """The sheet in a file.

    Raises:
        InputError: no readable file, or a list of all problems in it.
    """
    where = f"the sheet {path}"
    try:
        text = read_text(path, where, MOST_BYTES)
    except OSError as error:
        raise InputError(f"{where} cannot be read: {error.strerror}; give a filled CSV") from None
    name = checked_line("the name of the sheet", path.stem)
    header, rows = header_and_rows(text, where)
    rows = [(line, cells) for line, cells in rows if any(cells)]
    problems = list(_header_problems(header))
    if not problems:
        sheet, problems = _sheet(name, header, rows)
    require_none(problems, where)
    return sheet


def _header_problems(header: Sequence[str]) -> Iterator[Problem]:
    missing = [name for name in READERS if name not in header]
    if missing:
        shown = ", ".join(header)[:200]
        yield Problem(
            1,
            "the header",
            shown,
            f"it lacks {', '.join(missing)}; begin with a sheet of `trial --csv`",
        )
    for name, count in Counter(header).items():
        if count > 1 and name in COLUMNS:
            yield Problem(1, "the header", name, "give each column once")


def _sheet(
    name: str, header: Sequence[str], rows: Sequence[tuple[int, list[str]]]
) -> tuple[Filled, list[Problem]]:
    """The sheet, and all problems of its rows; where there are any the sheet is not to be used."""
    problems: list[Problem] = []
    balls: list[Played] = []
    said: dict[str, tuple[int, str]] = {}
    for line, cells in rows:
        if len(cells) != len(header):
            allowed = f"{len(header)} cells, as in the header"
            problems.append(Problem(line, "the row", ",".join(cells)[:200], allowed))
            continue
        row = dict(zip(header, cells, strict=True))
        values = {}
        for column, (read, allowed) in READERS.items():
            values[column] = read(row[column])
            if values[column] is None and not (row[column] == "" and column in OPEN):
                problems.append(Problem(line, column, row[column], allowed))
        for column in OF_THE_SHEET:
            first, value = said.setdefault(column, (line, row[column]))
            if row[column] != value:
                allowed = f"the same in every row ({value!r} in line {first}): one trial a file"
                problems.append(Problem(line, column, row[column], allowed))
        balls.append(Played(line=line, **{c: values[c] for c in OF_A_BALL}))
    if not rows:
        problems.append(Problem(2, "the sheet", "", "rows, one a ball"))
    if problems:
        return Filled(name, REACHED, 0.0, 0.0, 0, 0, (), ()), problems
    about = {column: READERS[column][0](said[column][1]) for column in OF_THE_SHEET}
    unread = tuple(dict.fromkeys(c for c in header if c not in COLUMNS))
    sheet = Filled(name=name, balls=tuple(balls), unread=unread, **about)
    problems = list(_ball_problems(sheet))
    return replace(sheet, balls=tuple(_settled(balls))), problems


def _settled(balls: Sequence[Played]) -> Iterator[Played]:
    """The balls; one that was not reached did not come back, whether or not that is typed.

    That tells something only where the column for returned balls is kept: a set in which balls
    were reached, and for none of them is typed whether it came back, says nothing of it. Else the
    missed balls alone would stand for all.
    """
    reached = [b for b in balls if b.reached]
    told = {b.set for b in reached if b.returned_in is not None}
    untold = {b.set for b in reached} - told
    is_kept = bool(told) or (not reached and any(b.returned_in is not None for b in balls))
    for b in balls:
        if b.reached is False:
            b = replace(b, returned_in=False if is_kept and b.set not in untold else None)
        yield b


def _ball_problems(sheet: Filled) -> Iterator[Problem]:
    """What does not fit between the rows."""
    ball_at: dict[int, int] = {}
    pairs: dict[int, dict[str, Played]] = defaultdict(dict)
    for b in sheet.balls:
        if (line := ball_at.setdefault(b.ball, b.line)) != b.line:
            yield Problem(b.line, "ball", str(b.ball), f"each ball once; it is in line {line} too")
        if b.pair > sheet.planned_pairs:
            yield Problem(b.line, "pair", str(b.pair), f"the trial has {sheet.planned_pairs} pairs")
        if (b.ball + 1) // 2 != b.pair:
            allowed = f"ball {b.ball} belongs to pair {(b.ball + 1) // 2}"
            yield Problem(b.line, "pair", str(b.pair), allowed)
        if b.returned_in and b.reached is not True:
            yield Problem(b.line, "returned_in", "1", "a ball that came back was reached")
        pair = pairs[b.pair]
        if (other := pair.setdefault(b.stand, b)) is not b:
            allowed = f"a pair has one ball a stand; line {other.line} has this one already"
            yield Problem(b.line, "stand", b.stand, allowed)
        if (other := next(iter(pair.values()))).place != b.place:
            allowed = f"both balls of a pair from one place ({other.place} in line {other.line})"
            yield Problem(b.line, "place", str(b.place), allowed)
