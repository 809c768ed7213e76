"""What an answer rests on: a tornado of single parameters, and a chart of Sobol's indices.

Axes and a table of experiments.evidence.sensitivity in, artists out.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from textwrap import fill
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.legend import Legend
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from experiments.drawing import style
from experiments.drawing.study_marks import WORDS
from experiments.evidence.labelled_rows import name_rows
from experiments.evidence.sensitivity.naming import with_unit
from experiments.study.result_folder import HALF_BALL

TOP = 15
ROW_IN, HEADS_IN = 0.4, 1.85
NAME_CHARACTERS = 33
BAR = 0.36
MORE_WORDS = {
    "returned_more_than_middle_per_100": "balls returned per 100 more than by the {reference}",
    "time_to_spare_more_than_middle_s": "mean time to spare more than by the {reference} (s)",
}
ORDERS = (
    ("first", -0.17, "o", style.ORANGE, "white", "alone (first order)"),
    ("total", 0.17, "D", style.BLUE, style.BLUE, "with interplay (total order)"),
)
HATCH = "/////"
PALE = "#CFE4F3"


def draw_tornado(ax: Axes, table: pd.DataFrame, top: int = TOP) -> list[Artist]:
    """The outcome at both ends of each parameter's range, the widest spread on top.

    `table` holds rows of one outcome of `one_by_one`. A hatched bar leads from the outcome as it
    stands to the low end, a plain one to the high end, each with its 95 % interval. The band around
    zero is the margin inside which both count as equally good.
    """
    rows = widest(table, top)
    base = float(rows["base"].iloc[0])
    artists: list[Artist] = []
    if in_100(rows["outcome"].iloc[0]):
        artists.append(
            ax.axvspan(
                -HALF_BALL, HALF_BALL, color=style.FAINT, alpha=0.7, linewidth=0, gid="as good"
            )
        )
    artists += [ax.axvline(0, color=style.SOFT, linewidth=0.9, gid="zero")]
    artists += [ax.axvline(base, color=style.INK, linewidth=1.0, linestyle=(0, (4, 2)), gid="base")]
    at = np.arange(len(rows))
    for end, shift in (("low", -0.5 * BAR), ("high", 0.5 * BAR)):
        artists += _ends(ax, rows, at + shift, end, base)
    _names(ax, rows)
    ends = rows[["at_low_low", "at_low_high", "at_high_low", "at_high_high"]].to_numpy()
    low, high = min(0.0, float(ends.min())), max(0.0, float(ends.max()))
    pad = 0.04 * (high - low)
    ax.set_xlim(low - pad, high + pad)
    return artists


def _ends(ax: Axes, rows: pd.DataFrame, at: np.ndarray, end: str, base: float) -> list[Artist]:
    """The bars and whiskers of the low or the high ends."""
    value = rows[f"at_{end}_estimate"].to_numpy(float)
    bars = ax.barh(
        at,
        value - base,
        BAR,
        left=base,
        facecolor=PALE if end == "low" else style.BLUE,
        edgecolor=style.BLUE,
        hatch=HATCH if end == "low" else None,
        linewidth=0.6,
        zorder=2,
        gid=end,
    )
    ends = (rows[f"at_{end}_low"], rows[f"at_{end}_high"])
    marks = _intervals(
        ax,
        at,
        value,
        ends,
        fmt="o",
        markersize=2.6,
        markerfacecolor="white" if end == "low" else style.INK,
        markeredgecolor=style.INK,
        markeredgewidth=0.6,
        color=style.INK,
        elinewidth=0.8,
    )
    return [*bars, *marks]


def _intervals(
    ax: Axes, at: np.ndarray, value: np.ndarray, ends: Sequence[pd.Series], **look: Any
) -> list[Artist]:
    """Values with their intervals, a row each."""
    low, high = (end.to_numpy(float) for end in ends)
    reach = np.maximum([value - low, high - value], 0.0)
    return list(ax.errorbar(value, at, xerr=reach, zorder=3, **look).get_children())


def draw_indices(ax: Axes, table: pd.DataFrame, top: int = TOP) -> list[Artist]:
    """First and total order of each parameter with their intervals, the largest total on top.

    `table` holds rows of one outcome of `together`. The grey band ends at the share of the variance
    that chance alone makes: a total order inside it says little.
    """
    rows = table.head(top)
    at = np.arange(len(rows))
    chance = float(rows["chance_share"].iloc[0])
    artists: list[Artist] = [
        ax.axvspan(0, chance, color=style.FAINT, alpha=0.7, linewidth=0, gid="chance"),
        ax.axvline(0, color=style.SOFT, linewidth=0.9),
    ]
    for order, shift, marker, colour, face, _ in ORDERS:
        artists += _intervals(
            ax,
            at + shift,
            rows[order].to_numpy(float),
            (rows[f"{order}_low"], rows[f"{order}_high"]),
            fmt=marker,
            color=colour,
            markerfacecolor=face,
            markersize=4.5,
            elinewidth=1.0,
        )
    _names(ax, rows)
    low = min(0.0, float(rows[["first_low", "total_low"]].to_numpy().min()))
    high = max(1e-6, chance, float(rows[["first_high", "total_high"]].to_numpy().max()))
    ax.set_xlim(max(low, -0.25) - 0.02, high + 0.03)
    return artists


def widest(table: pd.DataFrame, top: int = TOP) -> pd.DataFrame:
    """The rows with the widest spread, the widest first."""
    return table.sort_values("spread", ascending=False, kind="stable").head(top)


def named_range(row: pd.Series) -> str:
    """A parameter in words, and on the next line its range with the unit."""
    words, low, high = str(row["words"]), row["low_value"], row["high_value"]
    if isinstance(low, str) or low is None:
        return f"{fill(words, NAME_CHARACTERS)}\n{low} to {high}"
    unit = str(row["unit"]).replace("m/s2", "m/s²")
    text = with_unit(f"{low:.4g} to {high:.4g}", unit).replace("-", "\u2212")
    name = fill(words[0].upper() + words[1:], NAME_CHARACTERS, max_lines=2, placeholder=" ...")
    return f"{name}\n{text}"


def _names(ax: Axes, rows: pd.DataFrame) -> None:
    name_rows(ax, [named_range(row) for _, row in rows.iterrows()], style.SMALL_PT - 1.5, 0.5)
    for label in ax.get_yticklabels():
        label.set_linespacing(1.1)
    for edge in np.arange(len(rows) - 1) + 0.5:
        ax.axhline(edge, color=style.FAINT, linewidth=0.6, zorder=0.5)


def tornado_figure(table: pd.DataFrame, reference: str) -> Figure:
    """The tornado of one outcome; `table` as for `draw_tornado`."""
    first = table.iloc[0]
    words = outcome_words(str(first["outcome"]), reference)
    band = "\n(shaded: as good, inside half in 100)" if in_100(first["outcome"]) else ""
    handles = [
        Patch(facecolor=PALE, edgecolor=style.BLUE, hatch=HATCH, label="low end of the range"),
        Patch(facecolor=style.BLUE, edgecolor=style.BLUE, label="high end"),
        Line2D([], [], color=style.INK, linestyle=(0, (4, 2)), linewidth=1.0, label="as it stands"),
    ]
    title = f"What matters, one number at a time: {first['policy']} against {reference}"
    return _chart(draw_tornado, table, words + band, title, handles)


def indices_figure(table: pd.DataFrame, reference: str) -> Figure:
    """The chart of indices of one outcome; `table` as for `draw_indices`."""
    first = table.iloc[0]
    across = (
        "share of the variance of the difference\n"
        f"(shaded: what chance alone makes, at most {100 * first['chance_share']:.0f} %)"
    )
    handles = [
        Line2D([], [], marker=marker, color=colour, markerfacecolor=face, label=words)
        for _, _, marker, colour, face, words in ORDERS
    ]
    title = f"What matters, all together\n{outcome_words(str(first['outcome']), reference)}"
    return _chart(draw_indices, table, across, title, handles)


def _chart(
    draw: Callable[[Axes, pd.DataFrame], object],
    table: pd.DataFrame,
    across: str,
    title: str,
    handles: Sequence[Artist],
) -> Figure:
    """The rows of one scenario on a sheet of their own."""
    tall = ROW_IN * min(len(table), TOP) + HEADS_IN
    figure = Figure(figsize=(style.WIDTH_IN, tall), layout="constrained")
    ax = figure.subplots()
    draw(ax, table)
    ax.set_xlabel(across)
    head = f"{title}\n{_scene(table.iloc[0])}"
    legend_head(figure, head, handles, ncols=3, handletextpad=0.4, columnspacing=1.2)
    return figure


def in_100(outcome: str) -> bool:
    """Whether an outcome is in the unit of the margin, balls or points in 100."""
    return outcome.endswith("_per_100")


def outcome_words(outcome: str, reference: str) -> str:
    """An outcome in the sport's words."""
    plain = outcome.replace(f"_than_{reference}_", "_than_middle_")
    known = WORDS.get(plain) or MORE_WORDS.get(plain)
    return known.format(reference=reference) if known else outcome.replace("_", " ")


def _scene(row: pd.Series) -> str:
    setting = "" if row["setting"] == "rally" else f", {row['setting']}"
    return f"{row['level']}, {row['opponent']} opponent, {row['place']}{setting}"


def legend_head(figure: Figure, title: str, handles: Sequence[Artist], **look: Any) -> Legend:
    """A title above the axes, and under it what the marks mean."""
    return figure.legend(
        handles=list(handles),
        loc="outside upper left",
        title=style.wrapped(title, 60),
        alignment="left",
        title_fontproperties={"size": style.TEXT_PT, "weight": "bold"},
        **look,
    )
