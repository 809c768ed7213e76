"""The picture of best places: a row a point, where the place is and how far it moves."""

from __future__ import annotations

from functools import partial

import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from experiments.drawing import style
from experiments.drawing.study_marks import draw_rows, legend_marks, level_looks
from experiments.evidence.best_place.table import MOVED
from experiments.evidence.best_place.words import (
    CURVE,
    OUTCOME_WORDS,
    WAYS,
    WHERE,
    best_words,
    moved_words,
    scene_words,
    shown_rows,
)
from experiments.evidence.sensitivity.folder import groups
from experiments.evidence.sensitivity.pictures import Picture, Pictures
from experiments.study.design import Study
from experiments.study.setting_table import SETTINGS

MOST_POINTS = 24
ROW_IN, MARK_IN, HEADS_IN = 0.12, 0.09, 1.6
NAME_CHARACTERS = 18


def best_place_pictures(table: pd.DataFrame, study: Study) -> Pictures:
    """A picture for each setting, own stroke and axis, of the first place; none of many points."""
    out = Pictures()
    for labels, rows in groups(shown_rows(table), [k for k in CURVE if k != "place"]):
        own = rows[rows["place"] == rows["place"].iloc[0]]
        if own["point"].nunique() > MOST_POINTS:
            continue
        by = OUTCOME_WORDS[own["outcome"].iloc[0]]
        parts = ("best", labels["axis"], labels["setting"], labels["own_stroke"])
        out["-".join(filter(None, parts))] = Picture(
            partial(best_place_figure, own),
            f"The best {labels['axis']} by {by} at each point of the design, and how far it is from"
            " that of the study as it stands, on the same chance; 95 % intervals that count the"
            " choice.",
            f"Dot chart. {'. '.join(_said(part) for _, part in groups(own, ['level']))}.",
        )
    return out


def _said(rows: pd.DataFrame) -> str:
    """The numbers of a level in words."""
    usual, others = rows.iloc[0], rows.iloc[1:]
    return "; ".join(
        [f"{usual['level']}: {best_words(usual)}", *(moved_words(r) for _, r in others.iterrows())]
    )


def draw_best(
    ax: Axes, rows: pd.DataFrame, columns: tuple[str, str, str], points: list[str]
) -> None:
    """A row for each point in words, a mark for each level: value and interval in `columns`."""
    cells = rows.assign(
        **dict(zip(("estimate", "low", "high"), (rows[c] for c in columns), strict=True))
    )
    cells = cells.dropna(subset=["estimate", "low", "high"])
    draw_rows(ax, cells, ("words", points), ("level", level_looks(rows["level"].unique())))


def best_place_figure(rows: pd.DataFrame) -> Figure:
    """Two panels, rows of one scene of `best_places` in each: where the place is, and its move."""
    first, points = rows.iloc[0], list(dict.fromkeys(rows["words"]))
    looks = level_looks(rows["level"].unique())
    tall = (ROW_IN + MARK_IN * len(looks)) * len(points) + HEADS_IN
    figure = Figure(figsize=(style.WIDTH_IN, tall), layout="constrained")
    place, move = figure.subplots(1, 2)
    draw_best(place, rows, ("best_m", "low_m", "high_m"), points)
    draw_best(move, rows, MOVED, points)
    move.axvline(0.0, color=style.SOFT, linewidth=0.9)
    move.tick_params(labelleft=False)
    place.set_yticks(range(len(points)), [style.wrapped(p, NAME_CHARACTERS) for p in points])
    axis = str(first["axis"])
    more, less = WAYS[axis]
    place.set_xlabel(f"best place (m {WHERE[axis]})")
    move.set_xlabel(f"\u2190 {less}   {more} \u2192\nmoved (m)")
    figure.legend(
        handles=legend_marks(looks),
        loc="outside upper left",
        ncols=3,
        handletextpad=0.2,
        title=f"Best {axis} by {OUTCOME_WORDS[first['outcome']]},"
        f" {SETTINGS[first['setting']].title}\n{scene_words(first)}, {first['opponent']}",
        alignment="left",
        title_fontproperties={"size": style.TEXT_PT + 1, "weight": "bold"},
    )
    return figure
