"""The look of all pictures: colours, markers, sizes, and files that are the same on every run.

The hues are Okabe and Ito's (2008, Color Universal Design), which readers with any colour vision
tell apart; every policy also has a marker of its own, so that the pictures read in grey.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import chain, cycle
from pathlib import Path
from textwrap import fill
from typing import Any

import matplotlib as mpl
from matplotlib.artist import Artist
from matplotlib.figure import Figure
from matplotlib.legend import Legend

from experiments.drawing.palette import with_palette
from experiments.output.files import NAME, require_picture_suffix, write_output
from experiments.study.policy_family import family_of
from sim.errors import InputError

BLACK, ORANGE, SKY, GREEN = "#000000", "#E69F00", "#56B4E9", "#009E73"
YELLOW, BLUE, VERMILLION, PURPLE = "#F0E442", "#0072B2", "#D55E00", "#CC79A7"
INK, SOFT, FAINT, GROUND = "#222222", "#6B7278", "#D5D9DC", "#F5F7F6"
WIDTH_IN = 5.0
DPI = 256  # 1280 pixels wide; at a phone's 400 pixels small print is still 9 pixels high
SMALL_PT, TEXT_PT = 8.0, 9.0
TITLE_CHARACTERS = 58
GIVEN_NAME = re.compile(rb"\b([a-zA-Z])[0-9a-f]{10}\b")
METADATA = {
    ".png": {"Software": NAME},
    ".svg": {"Date": None, "Creator": NAME},
    ".pdf": {"CreationDate": None, "Creator": NAME, "Producer": None},
}
SETTINGS: Any = {
    "font.family": "DejaVu Sans",  # comes with Matplotlib: the same letters on every machine
    "font.size": TEXT_PT,
    "axes.titlesize": TEXT_PT,
    "axes.titleweight": "bold",
    "axes.titlelocation": "left",
    "axes.labelsize": SMALL_PT,
    "xtick.labelsize": SMALL_PT,
    "ytick.labelsize": SMALL_PT,
    "legend.fontsize": SMALL_PT,
    "axes.edgecolor": SOFT,
    "axes.labelcolor": INK,
    "xtick.color": SOFT,
    "ytick.color": SOFT,
    "xtick.labelcolor": INK,
    "ytick.labelcolor": INK,
    "text.color": INK,
    "text.parse_math": False,  # names come from users: a dollar sign is a dollar sign
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.linewidth": 0.7,
    "lines.linewidth": 1.4,
    "legend.frameon": False,
    "figure.dpi": 100,
    "savefig.dpi": DPI,
    "svg.hashsalt": "rally-recovery",
    "svg.fonttype": "path",
    "pdf.compression": 6,
}
HEAD_CHARACTERS = 52


@dataclass(frozen=True)
class Look:
    """Colour and marker of one policy."""

    colour: str
    marker: str


LOOKS = (
    Look(BLACK, "s"),
    Look(VERMILLION, "o"),
    Look(BLUE, "^"),
    Look(PURPLE, "D"),
    Look(GREEN, "v"),
    Look(ORANGE, "P"),
    Look(SOFT, "X"),
    Look(YELLOW, "p"),
    Look(BLUE, "*"),
    Look(VERMILLION, "<"),
    Look(PURPLE, ">"),
    Look(GREEN, "h"),
)
FAMILY_LOOK = Look(SKY, "|")


@contextmanager
def house_style() -> Iterator[None]:
    """Matplotlib's settings for our pictures, put back on leaving."""
    with mpl.rc_context():
        mpl.rcParams.update(mpl.rcParamsDefault)
        mpl.rcParams.update(SETTINGS)
        yield


def looks_of(policies: Iterable[str]) -> dict[str, Look]:
    """A look for each policy in the given order; members of the yardstick family share one.

    More than there are looks for share one with an earlier policy, but never with the first.
    """
    names = list(dict.fromkeys(policies))
    family = family_of(names)
    alone = [name for name in names if name not in family]
    looks = dict(zip(alone, chain(LOOKS, cycle(LOOKS[1:])), strict=False))
    return {name: looks.get(name, FAMILY_LOOK) for name in names}


def wrapped(text: str, characters: int = TITLE_CHARACTERS) -> str:
    """The lines of a title wrapped to our width, or another one: names may be people's own."""
    return "\n".join(fill(line, characters, break_on_hyphens=False) for line in text.splitlines())


def title(figure: Figure, text: str) -> None:
    """A title on the left, its lines wrapped to our width."""
    words = wrapped(text).replace(" -", " \u2212")
    figure.suptitle(words, x=0.02, ha="left", fontsize=TEXT_PT, fontweight="bold")


def save(figure: Figure, path: Path, dpi: int = DPI) -> Path:
    """Write a figure as PNG, SVG or PDF by the suffix of `path`; the same bytes on every run.

    `dpi` is of a PNG. The file appears whole or not at all, over nothing but a picture of ours.

    Raises:
        InputError: an unknown suffix, something else is there, or the file cannot be written.
    """
    suffix = require_picture_suffix(path)
    buffer = io.BytesIO()
    with house_style():
        figure.savefig(
            buffer, format=suffix[1:], dpi=dpi, metadata=METADATA[suffix], facecolor="white"
        )
    finish = {".png": with_palette, ".svg": with_plain_names}.get(suffix, bytes)
    return write_output(path, finish(buffer.getvalue()), "picture")


def require_pages(path: Path, count: int) -> None:
    """Refuse a kind of picture that cannot hold so many pages.

    Raises:
        InputError: more than one, and no PDF.
    """
    if count > 1 and path.suffix.lower() != ".pdf":
        raise InputError(
            f"cannot draw {count} pages to {str(path)!r}: give a name that ends in .pdf"
        )


def save_pages(pages: Sequence[Figure], path: Path, dpi: int = DPI) -> Path:
    """Write figures as the pages of one PDF; a single one as `save` does.

    Raises:
        InputError: as `require_pages` and `save`.
    """
    require_pages(path, len(pages))
    if len(pages) == 1:
        return save(pages[0], path, dpi)
    from matplotlib.backends.backend_pdf import PdfPages

    buffer = io.BytesIO()
    with house_style(), PdfPages(buffer, metadata=METADATA[".pdf"]) as file:
        for page in pages:
            file.savefig(page, facecolor="white")
    return write_output(path, buffer.getvalue(), "picture")


def with_plain_names(content: bytes) -> bytes:
    """An SVG whose parts are numbered as they come.

    Matplotlib names them by a digest of their coordinates, in whose last digit two layouts of one
    figure may differ.
    """
    number: dict[bytes, int] = {}
    return GIVEN_NAME.sub(
        lambda m: m[1] + b"%d" % number.setdefault(m[0], len(number)) + b"-part", content
    )


def titled_key(figure: Figure, text: str, marks: Sequence[Artist]) -> Legend:
    """A title on the left, wrapped, over a key of two columns, above all axes."""
    return figure.legend(
        handles=marks,
        loc="outside upper left",
        ncols=2,
        title=wrapped(text, HEAD_CHARACTERS),
        alignment="left",
        title_fontproperties={"size": TEXT_PT + 1, "weight": "bold"},
    )
