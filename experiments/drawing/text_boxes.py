"""Setting text into boxes of a page: wrapped by measured width, shrunk to fit, else cut.

Lengths are inches from the page's bottom left corner, sizes points. Widths come from the font's
outlines, so that they are the same for every kind of file.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties, findfont, get_font
from matplotlib.text import Text
from matplotlib.textpath import text_to_path

from experiments.drawing.style import INK, SETTINGS
from sim.errors import InputError

LINE = 1.28  # baseline to baseline, in sizes
ASCENT = 0.95  # top of the box to the first baseline, in sizes
GAP = 0.45  # between paragraphs, in lines
POINTS_AN_INCH = 72.0
MEASURED_AT = 100.0
ELLIPSIS = "\u2026"
SLACK = 0.985  # a drawn line may come out a little wider than its outlines


@dataclass(frozen=True)
class Box:
    """A rectangle of the page: left and top edge, width and height."""

    left: float
    top: float
    width: float
    height: float

    @property
    def bottom(self) -> float:
        return self.top - self.height

    @property
    def right(self) -> float:
        return self.left + self.width


@dataclass(frozen=True)
class Words:
    """A piece of text in one weight and colour; `gap` lines stand before it."""

    text: str
    bold: bool = False
    colour: str = INK
    gap: float = 0.0


@lru_cache(maxsize=20_000)
def width_at_100(text: str, bold: bool) -> float:
    """Width in points of a text set in 100 points."""
    width: float = text_to_path.get_text_width_height_descent(text, _font(bold), ismath=False)[0]
    return width


def width_in(text: str, size: float, bold: bool = False) -> float:
    """Width in inches."""
    return width_at_100(text, bold) * size / MEASURED_AT / POINTS_AN_INCH


@lru_cache(maxsize=2)
def _font(bold: bool) -> FontProperties:
    family, weight = SETTINGS["font.family"], "bold" if bold else "normal"
    return FontProperties(family=family, weight=weight, size=MEASURED_AT)


def require_letters(text: str) -> None:
    """Refuse what the font cannot print.

    Raises:
        InputError: a letter that the bundled font lacks; says which.
    """
    held = get_font(findfont(_font(False))).get_charmap()
    missing = sorted({c for c in text if ord(c) not in held})
    if missing:
        shown = ", ".join(f"{c} (U+{ord(c):04X})" for c in missing[:5])
        raise InputError(
            f"the bundled font {SETTINGS['font.family']} has no letter for {shown} in"
            f" {text[:40]!r}; write it in letters that it has, such as Latin, Greek or Cyrillic"
        )


def wrapped(text: str, width: float, size: float, bold: bool = False) -> list[str]:
    """The lines of a text in that width; a word that is too long is broken."""
    lines: list[str] = []
    line = ""
    for word in _pieces(text, width, size, bold):
        longer = f"{line} {word}" if line else word
        if line and width_in(longer, size, bold) > SLACK * width:
            lines.append(line)
            line = word
        else:
            line = longer
    return [*lines, line] if line else lines


def _pieces(text: str, width: float, size: float, bold: bool) -> Iterator[str]:
    """Words, those that are wider than a line in parts. Runs of spaces inside words are kept."""
    for word in text.split(" "):
        while len(word) > 1 and width_in(word, size, bold) > SLACK * width:
            fits = _most_letters(word, width, size, bold)
            yield word[:fits]
            word = word[fits:]
        yield word


def _most_letters(text: str, width: float, size: float, bold: bool, after: str = "") -> int:
    """How many letters fit into the width with `after` behind them; at least one."""

    def width_of(letters: int) -> float:
        return width_in(text[:letters] + after, size, bold)

    return max(bisect_right(range(len(text) + 1), SLACK * width, key=width_of) - 1, 1)


def fitted(
    text: str, width: float, sizes: Sequence[float], bold: bool = False
) -> tuple[str, float]:
    """One line of text and its size: the largest that fits, else the smallest and cut."""
    for size in sizes:
        if width_in(text, size, bold) <= SLACK * width:
            return text, size
    fits = _most_letters(text, width, sizes[-1], bold, ELLIPSIS)
    return text[:fits].rstrip() + ELLIPSIS, sizes[-1]


def lines_of(words: Sequence[Words], width: float, size: float) -> list[tuple[str, Words, float]]:
    """The lines of a box, each with its Words and the distance of its baseline from the top."""
    out: list[tuple[str, Words, float]] = []
    at = ASCENT * size / POINTS_AN_INCH
    step = LINE * size / POINTS_AN_INCH
    for part in words:
        lines = wrapped(part.text, width, size, part.bold)
        at += part.gap * step if out and lines else 0.0
        for line in lines:
            out.append((line, part, at))
            at += step
    return out


def height_of(words: Sequence[Words], width: float, size: float) -> float:
    """How much of a box of that width the texts take at that size; 0 where there are none."""
    lines = lines_of(words, width, size)
    return lines[-1][2] + (LINE - ASCENT) * size / POINTS_AN_INCH if lines else 0.0


def fits(words: Sequence[Words], box: Box, size: float, whole: bool = False) -> bool:
    """Whether the box holds the texts at that size; with `whole`, without breaking a word."""
    if whole and any(
        width_in(word, size, part.bold) > SLACK * box.width
        for part in words
        for word in part.text.split(" ")
    ):
        return False
    return height_of(words, box.width, size) <= box.height + 1e-9


def set_words(figure: Figure, words: Sequence[Words], box: Box, size: float) -> list[Text]:
    """Set words into a box from its top; returns one artist a line."""
    return [
        _set_line(figure, line, part, (box.left, box.top - down), size)
        for line, part, down in lines_of(words, box.width, size)
        if line.strip()
    ]


def set_fitted(
    figure: Figure,
    words: Words,
    at: tuple[float, float],
    width: float,
    sizes: Sequence[float],
    align: str = "left",
) -> float:
    """One line at (left or right end, baseline), as `fitted`; returns its width in inches."""
    line, size = fitted(words.text, width, sizes, words.bold)
    _set_line(figure, line, words, at, size, align)
    return width_in(line, size, words.bold)


def _set_line(
    figure: Figure, line: str, of: Words, at: tuple[float, float], size: float, align: str = "left"
) -> Text:
    """One line on the page, in the weight and colour of the words that it is of."""
    width, height = figure.get_size_inches()
    text = figure.text(at[0] / width, at[1] / height, line, fontsize=size, parse_math=False)
    text.set(fontweight="bold" if of.bold else "normal", color=of.colour, ha=align, va="baseline")
    return text
