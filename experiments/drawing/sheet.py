"""A sheet of paper: its exact size, a header, and texts that share one size."""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from experiments.drawing.style import INK, SOFT
from experiments.drawing.text_boxes import Box, Words, fits, set_fitted, set_words
from sim.errors import InputError, named

MM = 1 / 25.4
DPI = 155  # 1280 pixels across A4, as wide as all pictures are
PAPERS = {"a4": (210 * MM, 297 * MM), "letter": (8.5, 11.0)}  # ISO 216; ANSI/ASME Y14.1, inches
MARGIN, GUTTER, BETWEEN = 0.5, 0.28, 0.14
TITLE_SIZES, NAME_SIZES = (18.0, 16.0, 14.0, 12.0), (13.0, 11.5, 10.0, 9.0)
SUB_SIZES, TITLE_SHARE = (9.0, 8.0), 0.6
HEAD_SIZES = (11.0, 10.0, 9.0)
LARGE_SIZES = tuple(0.25 * n for n in range(48, 25, -1))  # 12 to 6.5 points
BODY_SIZES = tuple(0.25 * n for n in range(38, 25, -1))  # from 9.5
CAPTION_SIZES = (7.5, 7.0, 6.5, 6.0)
Part = tuple[str, list[Words], Box]  # keys of the texts, their words, where they stand


def require_paper(paper: str) -> str:
    """The paper's own name, however it was written.

    Raises:
        InputError: it is none of PAPERS; says which there are.
    """
    return named("paper", paper, PAPERS)


def set_header(
    figure: Figure, box: Box, title: str, under: str, name: str = "", club: str = ""
) -> None:
    """Title and what it is at the left, name and club at the right, a rule below.

    The title may take TITLE_SHARE of the width if there is a name, the name what the title leaves.
    """
    first, second = box.top - 0.26, box.top - 0.46
    left = box.width * (TITLE_SHARE if name or club else 1.0)
    heads = (
        (Words(title, True), first, TITLE_SIZES),
        (Words(under, colour=SOFT), second, SUB_SIZES),
    )
    used = max(set_fitted(figure, words, (box.left, y), left, sizes) for words, y, sizes in heads)
    rest = box.width - used - GUTTER
    set_fitted(figure, Words(name, True), (box.right, first), rest, NAME_SIZES, "right")
    set_fitted(figure, Words(club, colour=SOFT), (box.right, second), rest, SUB_SIZES, "right")
    width, height = figure.get_size_inches()
    ends, y = (box.left / width, box.right / width), box.bottom / height
    figure.add_artist(Line2D(ends, (y, y), color=INK, linewidth=1.0))


def set_line(figure: Figure, words: Words, box: Box, sizes: Sequence[float]) -> None:
    """One line at the top of a box."""
    set_fitted(figure, words, (box.left, box.top - 0.12), box.width, sizes)


def largest_size(parts: Sequence[Part], sizes: Sequence[float]) -> float | None:
    """The largest size at which each of the texts fits into its box, if may be without a broken
    word; None if one does not fit at the smallest."""
    for whole in (True, False):
        for size in sizes:
            if all(fits(words, box, size, whole) for _, words, box in parts):
                return size
    return None


def common_size(parts: Sequence[Part], sizes: Sequence[float]) -> float:
    """The size of `largest_size`.

    Raises:
        InputError: a text does not fit at the smallest.
    """
    if (size := largest_size(parts, sizes)) is not None:
        return size
    long = [name for name, words, box in parts if not fits(words, box, sizes[-1])]
    raise InputError(
        f"the texts of {', '.join(long)} need more room than the page has, even in"
        f" {sizes[-1]:g} points; shorten them"
    )


def set_parts(figure: Figure, parts: Sequence[Part], sizes: Sequence[float]) -> None:
    """The texts of some boxes in one size."""
    set_at(figure, parts, common_size(parts, sizes))


def set_at(figure: Figure, parts: Sequence[Part], size: float) -> None:
    """The texts of some boxes in that size."""
    for _, words, box in parts:
        set_words(figure, words, box, size)


def axes_in(figure: Figure, box: Box) -> Axes:
    """Axes that fill a box."""
    width, height = figure.get_size_inches()
    return figure.add_axes(
        (box.left / width, box.bottom / height, box.width / width, box.height / height)
    )
