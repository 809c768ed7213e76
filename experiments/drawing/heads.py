"""The head of a figure that needs a key: its title, and below it what is what."""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.artist import Artist
from matplotlib.figure import Figure
from matplotlib.legend import Legend

from experiments.drawing.style import TEXT_PT, wrapped

HEAD_CHARACTERS = 52


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
