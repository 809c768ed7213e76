"""The pictures of a study with factors, by what its tables hold: what draws each, and its words."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import product
from typing import Any

import numpy as np
import pandas as pd
from matplotlib import colormaps
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.colors import BoundaryNorm
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from experiments.drawing.style import INK, SMALL_PT, WIDTH_IN, wrapped
from experiments.evidence.sensitivity.folder import groups, is_difference, reference_of
from experiments.evidence.sensitivity.naming import Named, named_factors, with_unit
from experiments.evidence.sensitivity.picture import (
    in_100,
    indices_figure,
    legend_head,
    outcome_words,
    tornado_figure,
    widest,
)
from experiments.evidence.sensitivity.turning import axes_of, factor_labels, sentences
from experiments.statistics.comparison import AS_GOOD, LOSES, NOT_DECIDED, WINS
from experiments.study.design import Study
from experiments.study.result_folder import HALF_BALL

NAMED = 5
SCENE = ("policy", "place", "level", "opponent", "setting", "own_stroke")


@dataclass(frozen=True)
class Picture:
    """A picture: what draws it, its caption, and what it shows for those who cannot see it."""

    draw: Callable[[], Figure]
    caption: str
    alt: str


Pictures = dict[str, Picture]  # by file name without suffix


def tornados(table: pd.DataFrame, study: Study) -> Pictures:
    """One parameter at a time: `table` is that of `one_by_one`."""
    out, reference = Pictures(), reference_of(study)
    for outcome, rows in outcomes(table, reference):
        words = outcome_words(outcome, reference)
        form = "+.1f" if in_100(outcome) else "+.2f"
        said = [
            f"{r['words']} from {r['at_low_estimate']:{form}} to {r['at_high_estimate']:{form}}"
            for _, r in widest(rows, NAMED).iterrows()
        ]
        out[f"tornado-{short(outcome)}"] = Picture(
            partial(tornado_figure, rows, reference),
            f"One number at a time: {words} at the low (hatched) and the high end of its range,"
            " with 95 % intervals; the widest spread on top.",
            f"Chart. {words}: {'; '.join(said)}.",
        )
    return out


def index_charts(table: pd.DataFrame, study: Study) -> Pictures:
    """All parameters together: `table` is that of `together`."""
    out, reference = Pictures(), reference_of(study)
    for outcome, rows in outcomes(table, reference):
        words = outcome_words(outcome, reference)
        said = [f"{r['words']} {r['total']:.2f}" for _, r in rows.head(NAMED).iterrows()]
        out[f"indices-{short(outcome)}"] = Picture(
            partial(indices_figure, rows, reference),
            f"All numbers together: the share of the variance of {words} that each makes alone and"
            " with its interplay, with 95 % intervals; grey: what chance makes.",
            f"Chart. Share with interplay of {words}: {'; '.join(said)}.",
        )
    return out


def maps(table: pd.DataFrame, study: Study) -> Pictures:
    """Where it turns: one for each setting, own stroke and outcome, of the first place and level.

    `table` is that of `turning`.
    """
    out, reference, labels = Pictures(), reference_of(study), factor_labels(table)
    first = table.iloc[0]
    named = named_factors(study, str(first["level"]))
    caption = (
        f"Where it turns: the {first['policy']} against the {reference}. Steps of colour:"
        f" the difference; + it wins, = as good, ? not decided, \u2212 the {reference} wins; lines:"
        " the border of where it wins (thick) and loses (thin)."
    )
    for scene, rows in groups(table, ("setting", "own_stroke", "outcome")):
        place = rows["place"].iloc[0]  # points that open with a serve have one of their own
        drawn = rows[(rows["level"] == first["level"]) & (rows["place"] == place)]
        parts = ("turning", scene["setting"], scene["own_stroke"], short(scene["outcome"]))
        out["-".join(part for part in parts if part)] = Picture(
            partial(turning_figure, drawn, labels, named, reference),
            caption,
            " ".join(["Maps.", *sentences(study, rows)]),
        )
    return out


def outcomes(table: pd.DataFrame, reference: str) -> Iterator[tuple[str, pd.DataFrame]]:
    """The differences, each in its first scenario, of the first policy but the reference."""
    for outcome in dict.fromkeys(table["outcome"]):
        if is_difference(outcome, reference):
            rows = table[(table["outcome"] == outcome) & (table["policy"] != reference)]
            first = rows[list(SCENE)].iloc[0]
            yield outcome, rows[(rows[list(SCENE)] == first).all(axis=1)]


def short(outcome: str) -> str:
    """An outcome in file names: its first word."""
    return outcome.partition("_")[0]


# Brown to blue-green through white: told apart with any colour vision, even in lightness to both
# sides; the white step is the margin.
COLOURS = "BrBG"
STEPS = (-20.0, -10.0, -5.0, -2.0, -HALF_BALL, HALF_BALL, 2.0, 5.0, 10.0, 20.0)
SIGNS = {WINS: "+", AS_GOOD: "=", NOT_DECIDED: "?", LOSES: "\u2212"}
DARK_FROM = 10.0
PANEL_IN, HEAD_IN = 1.12, 1.5


def draw_map(ax: Axes, table: pd.DataFrame, x: str, y: str) -> list[Artist]:
    """A map of one difference in 100 over the factors `x` and `y`, a cell each.

    `table` holds one row a cell, with columns `x`, `y`, estimate and verdict. Lines run along the
    edges of the cells: thick where the policy begins to win, thin where the reference does.
    """
    grid = table.pivot(index=y, columns=x, values="estimate")
    said = table.pivot(index=y, columns=x, values="verdict").to_numpy()
    value = np.ma.masked_invalid(grid.to_numpy(float))
    norm = BoundaryNorm(STEPS, 256, extend="both")
    mesh = ax.pcolormesh(
        np.arange(value.shape[1] + 1) - 0.5,
        np.arange(value.shape[0] + 1) - 0.5,
        value,
        cmap=colormaps[COLOURS],
        norm=norm,
        rasterized=False,
        gid="difference",
    )
    artists: list[Artist] = [mesh]
    for (i, j), verdict in np.ndenumerate(said):
        if verdict in SIGNS:
            dark = abs(value[i, j]) > DARK_FROM
            artists.append(
                ax.text(
                    j,
                    i,
                    SIGNS[verdict],
                    ha="center",
                    va="center_baseline",
                    fontsize=SMALL_PT - 1.0,
                    color="white" if dark else INK,
                    fontweight="bold",
                )
            )
    artists += edges(ax, said == WINS, 1.6) + edges(ax, said == LOSES, 0.8)
    for axis, names in ((ax.xaxis, grid.columns), (ax.yaxis, grid.index)):
        axis.set_ticks(range(len(names)), [f"{v:g}" for v in names])
        axis.set_tick_params(length=0, labelsize=SMALL_PT - 1.5)
    for spine in ax.spines.values():
        spine.set_visible(False)
    return artists


def edges(ax: Axes, inside: np.ndarray, width: float) -> list[Artist]:
    """The border of a set of cells, without the border of the whole map."""
    lines: list[Line2D] = []
    for i, j in np.argwhere(inside[:, :-1] != inside[:, 1:]):
        lines += ax.plot((j + 0.5, j + 0.5), (i - 0.5, i + 0.5), color=INK, linewidth=width)
    for i, j in np.argwhere(inside[:-1] != inside[1:]):
        lines += ax.plot((j - 0.5, j + 0.5), (i + 0.5, i + 0.5), color=INK, linewidth=width)
    return list(lines)


def turning_figure(
    table: pd.DataFrame, labels: Sequence[str], named: Mapping[str, Named], reference: str
) -> Figure:
    """Maps of one setting and outcome: a row an opponent, a column each value of the other factors.

    `table` holds rows of `turning` of one setting, own stroke, place, level and outcome; `labels`
    are its factors.
    """
    x, y = axes_of(labels)
    others = [label for label in labels if label not in (x, y)]
    opponents = list(table["opponent"].unique())
    columns = list(table[others].drop_duplicates().itertuples(index=False)) if others else [()]
    tall = PANEL_IN * len(opponents) + HEAD_IN
    figure = Figure(figsize=(WIDTH_IN, tall), layout="constrained")
    axes = figure.subplots(len(opponents), len(columns), squeeze=False, sharex=True, sharey=True)
    mesh: Any = None
    for (i, opponent), (j, values) in product(enumerate(opponents), enumerate(columns)):
        own = table[table["opponent"] == opponent]
        for label, v in zip(others, values, strict=True):
            own = own[own[label] == v]
        mesh = draw_map(axes[i, j], own, x, y)[0]
        if i == 0:
            said = [_value(named[k], v) for k, v in zip(others, values, strict=True)]
            axes[i, j].set_title("\n".join(said), fontsize=SMALL_PT, fontweight="normal")
    for ax, opponent in zip(axes[:, 0], opponents, strict=True):
        ax.set_ylabel(wrapped(opponent.replace(" policy=", " to "), 14), fontsize=SMALL_PT)
    figure.supxlabel(named[x].axis_text, fontsize=SMALL_PT)
    figure.supylabel(named[y].axis_text, fontsize=SMALL_PT)
    bar = figure.colorbar(mesh, ax=list(axes.flat), aspect=40, shrink=0.85, extend="both")
    bar.set_ticks(list(STEPS), labels=[f"{v:g}".replace("-", "\u2212") for v in STEPS])
    bar.ax.tick_params(labelsize=SMALL_PT - 1.5, length=0)
    first = table.iloc[0]
    bar.set_label(outcome_words(str(first["outcome"]), reference), fontsize=SMALL_PT)
    _head(figure, first, reference)
    return figure


def _head(figure: Figure, first: pd.Series, reference: str) -> None:
    """Title and the meaning of the signs."""
    policy = first["policy"]
    after = f" after {first['own_stroke']}" if first["own_stroke"] else ""
    words = {
        WINS: f"{policy} wins",
        AS_GOOD: "as good",
        NOT_DECIDED: "not decided",
        LOSES: f"{reference} wins",
    }
    signs = "    ".join(f"{SIGNS[k]}  {words[k]}" for k in SIGNS)
    scene = f"{first['level']}, {first['setting']}{after}"
    title = f"Where it turns: {policy} against {reference}\n{scene}"
    meaning = Line2D([], [], linestyle="", label=signs)
    legend = legend_head(figure, title, [meaning], handlelength=0.0, handletextpad=0.0)
    legend.set_gid("signs")


def _value(name: Named, value: float) -> str:
    """A value of a factor as a panel's title."""
    return wrapped(f"{name.words}: {with_unit(f'{value:g}', name.unit)}", 20)
