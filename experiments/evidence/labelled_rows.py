"""One way of rows with a name each, from the top down."""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.axes import Axes

from experiments.drawing.style import FAINT


def name_rows(
    ax: Axes, names: Sequence[str], size_pt: float, space: float, grid_pt: float = 0.5
) -> None:
    """Name the rows 0, 1, ... and lay faint lines across them; `space` is left at both ends."""
    ax.set_yticks(range(len(names)), names)
    ax.set_ylim(len(names) - 1 + space, -space)
    ax.tick_params(axis="y", length=0, labelsize=size_pt)
    ax.grid(axis="x", color=FAINT, linewidth=grid_pt)
    ax.set_axisbelow(True)
