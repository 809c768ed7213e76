"""Reading a chart: every row is checked, and every problem is told."""

from __future__ import annotations

import difflib
from collections.abc import Iterator
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

from sim.court import HALF_LENGTH_M, HALF_WIDTH_M, SERVICE_LINE_M
from sim.errors import InputError
from sim.kinds import KINDS, SERVES
from sim.people_files import read_text
from sim.plain_text import checked_line
from strategies.charts.columns import (
    BY_HEADER,
    FROM_THE_GROUND,
    IN,
    NET,
    OUT,
    QUANTITIES,
    WORDS,
    Quantity,
)
from strategies.charts.typed_rows import Problem, header_and_rows, require_none

DEMO = "demo"
BY_EYE_M = 0.5  # how far a bounce may be charted on the wrong side of a line
MOST_STROKES = 10_000
MOST_BYTES = 5_000_000
SERVE_NAMES = tuple(KINDS[k] for k in SERVES)


@dataclass(frozen=True)
class Stroke:
    """One row of a chart, in the studied player's frame; None or "" where a cell was empty.

    A ball in the net has no bounce; every other stroke has one, and every stroke an outcome.
    """

    line: int
    contact_x_m: float
    contact_y_m: float
    bounce_x_m: float | None = None
    bounce_y_m: float | None = None
    wing: str = ""
    speed_m_s: float | None = None
    topspin_rpm: float | None = None
    outcome: str = ""
    receiver_x_m: float | None = None
    receiver_y_m: float | None = None
    kind: str = ""

    @property
    def tells_direction(self) -> bool:
        """Whether it says whereto the hitter plays from the ground to a player at the baseline."""
        return self.outcome != NET and self.kind in ("", *FROM_THE_GROUND)


@dataclass(frozen=True)
class Chart:
    """The strokes of one opponent; `empty_rows` had nothing in any column."""

    name: str
    hand: str
    strokes: tuple[Stroke, ...]
    empty_rows: int = 0

    @property
    def directed(self) -> tuple[Stroke, ...]:
        """The strokes that tell of the directions."""
        return tuple(s for s in self.strokes if s.tells_direction)

    @property
    def kinds(self) -> dict[str, int]:
        """How many strokes there are of each kind that occurs, in the order of sim.kinds."""
        counts = {kind: sum(s.kind == kind for s in self.strokes) for kind in KINDS}
        return {kind: count for kind, count in counts.items() if count}


def read_chart(where: str) -> Chart:
    """The chart in a file, or the demo chart for the word `demo`.

    Raises:
        InputError: no readable file, or a list of all problems in it.
    """
    name, text = _text(where)
    chart, problems = parse_chart(text, name)
    require_none(problems, f"the chart {where}")
    return chart


def _text(where: str) -> tuple[str, str]:
    """The name and the text of a chart."""
    if where.lower() == DEMO:
        file = resources.files("strategies.charts").joinpath("demo.csv")
        return DEMO, file.read_text("utf-8")
    try:
        return chart_name(where), read_text(Path(where), f"the chart {where}", MOST_BYTES)
    except OSError as error:
        raise InputError(
            f"the chart {where} cannot be read: {error.strerror}; give a CSV file, or {DEMO!r}"
        ) from None


def chart_name(where: str) -> str:
    """What results call a chart: its file's name without the suffix.

    Raises:
        InputError: a name that cannot be shown as it is.
    """
    return checked_line("the name of the chart", Path(where).stem)


def parse_chart(text: str, name: str) -> tuple[Chart, list[Problem]]:
    """The chart in a CSV text and all problems in it; the chart lacks the rows with problems."""
    header, rows = header_and_rows(text, f"the chart {name}")
    problems = list(header_problems(header))
    if problems:
        return Chart(name, "right", ()), problems
    strokes: list[Stroke] = []
    hands: dict[str, int] = {}
    empty = 0
    for line, cells in rows:
        if not any(cells):
            empty += 1
            continue
        stroke, hand, found = read_row(line, header, cells)
        hands.setdefault(hand, line)
        problems += found
        strokes += [] if stroke is None else [stroke]
    problems += _whole_problems(len(rows) - empty, hands)
    return Chart(name, next(iter(hands), "right"), tuple(strokes), empty), problems


def _whole_problems(count: int, hands: dict[str, int]) -> Iterator[Problem]:
    """What is wrong with the chart as a whole."""
    if count == 0:
        yield Problem(2, "the chart", "", "fill in at least one row, one a stroke")
    if count > MOST_STROKES:
        yield Problem(MOST_STROKES + 2, "the chart", f"{count} rows", f"at most {MOST_STROKES}")
    if len(hands) > 1:
        other, line = list(hands.items())[1]
        yield Problem(line, "hand", other, "one opponent a chart: the same hand in every row")


def header_problems(header: list[str]) -> Iterator[Problem]:
    """What is wrong with the header."""
    for name in header:
        if name not in BY_HEADER:
            near = difflib.get_close_matches(name, BY_HEADER, n=1, cutoff=0.5)
            hint = f"did you mean {near[0]!r}? " if near else ""
            yield Problem(1, "the header", name, f"{hint}columns: {', '.join(BY_HEADER)}")
    for quantity in QUANTITIES:
        given = [name for name in header if name in quantity.headers]
        if len(given) > 1:
            yield Problem(1, "the header", ", ".join(given), "give this column once, in one unit")
        if quantity.needed and not given:
            yield Problem(1, "the header", "", f"add {' or '.join(quantity.headers)}")
    for words in WORDS:
        if header.count(words.name) > 1:
            yield Problem(1, "the header", words.name, "give each column once")


def read_row(
    line: int, header: list[str], cells: list[str]
) -> tuple[Stroke | None, str, list[Problem]]:
    """The stroke in a row (None if it has problems), the hitter's hand, and the problems."""
    if len(cells) != len(header):
        allowed = f"{len(header)} cells, as in the header (a decimal comma counts as two)"
        return None, "right", [Problem(line, "the row", ",".join(cells), allowed)]
    values: dict[str, float | str] = {}
    problems = []
    for name, text in zip(header, cells, strict=True):
        column, unit = BY_HEADER[name]
        if text == "":
            continue
        if isinstance(column, Quantity):
            number = column.value(text, unit)
            if number is None:
                problems.append(Problem(line, name, text, column.refusal(text, unit)))
            else:
                values[_field(column)] = number
        elif (word := column.word(text)) is not None:
            values[column.name] = word
        else:
            problems.append(Problem(line, name, text, f"allowed: {', '.join(column.words)}"))
    hand = str(values.pop("hand", "right"))
    problems += _missing(line, header, cells)
    if problems:
        return None, hand, problems
    stroke = Stroke(line, **values)  # type: ignore[arg-type]
    return _settled(stroke, hand)


def _field(column: Quantity) -> str:
    """The field of Stroke that a column fills."""
    return f"{column.name}_{next(iter(column.units))}"


def _missing(line: int, header: list[str], cells: list[str]) -> Iterator[Problem]:
    """Needed cells that are empty; a ball in the net has no bounce."""
    by_name = dict(zip(header, cells, strict=True))
    in_net = by_name.get("outcome", "").lower() == NET
    for name, text in by_name.items():
        column, unit = BY_HEADER[name]
        if not isinstance(column, Quantity) or not column.needed:
            continue
        bounce = column.name.startswith("bounce")
        if bounce and in_net and text:
            yield Problem(
                line, name, text, "leave it empty: a ball in the net does not bounce here"
            )
        if not text and not (bounce and in_net):
            also = " (or empty where outcome is net)" if bounce else ""
            yield Problem(line, name, text, f"needed: {column.allowed(unit)}{also}")


def _settled(stroke: Stroke, hand: str) -> tuple[Stroke | None, str, list[Problem]]:
    """The stroke with its outcome, given or by its bounce; a problem if the two disagree."""
    x, y = stroke.bounce_x_m, stroke.bounce_y_m
    if x is None or y is None:
        return stroke, hand, []
    length_m = SERVICE_LINE_M if stroke.kind in SERVE_NAMES else HALF_LENGTH_M
    over_m = max(abs(x) - HALF_WIDTH_M, abs(y) - length_m)
    at = f"({x:g}, {y:g}) m"
    by_bounce = OUT if over_m > 0 else IN
    if stroke.outcome not in ("", by_bounce) and abs(over_m) > BY_EYE_M:
        allowed = f"a bounce at {at} is {by_bounce}; correct one of the two"
        return None, hand, [Problem(stroke.line, "outcome", stroke.outcome, allowed)]
    settled = stroke.outcome or by_bounce
    return Stroke(**{**vars(stroke), "outcome": settled}), hand, []
