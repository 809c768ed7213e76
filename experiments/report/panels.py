"""Panels of a figure: laid out in rows, with one scale, under a title with its legend."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from experiments.drawing import style
from experiments.drawing.study_marks import legend_marks

IN_A_ROW = 60  # characters of names beside three marks


@dataclass(frozen=True)
class Panel:
    """One pair of axes: its title, its cells and the outcome that it shows."""

    title: str
    cells: pd.DataFrame
    outcome: str


def laid_out(
    panels: Sequence[Panel], columns: int, row_in: float, head_in: float
) -> tuple[Figure, list[Axes]]:
    """A figure of our width with one pair of axes a panel, in rows; spare ones are not drawn."""
    rows = -(-len(panels) // columns)
    figure = Figure(figsize=(style.WIDTH_IN, rows * row_in + head_in), layout="constrained")
    axes = list(figure.subplots(rows, columns, squeeze=False).flat)
    for ax in axes[len(panels) :]:
        ax.remove()
    for panel, ax in zip(panels, axes, strict=False):
        ax.set_title(panel.title)
    return figure, axes[: len(panels)]


def share_rows_and_scale(axes: Sequence[Axes], columns: int) -> None:
    """One scale along x for all panels; names of rows at the left of each row only."""
    low = min(ax.get_xlim()[0] for ax in axes)
    high = max(ax.get_xlim()[1] for ax in axes)
    for i, ax in enumerate(axes):
        ax.set_xlim(low, high)
        if i % columns:
            ax.tick_params(labelleft=False)


def head(figure: Figure, title: str, looks: dict[str, style.Look]) -> None:
    """Title and legend above the panels: the title is the legend's, so that they cannot meet."""
    figure.legend(
        handles=legend_marks(looks),
        loc="outside upper left",
        ncols=3 if sum(map(len, looks)) <= IN_A_ROW else 2,
        handletextpad=0.2,
        title=title,
        alignment="left",
        title_fontproperties={"size": style.TEXT_PT + 1, "weight": "bold"},
    )
