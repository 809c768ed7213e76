"""The picture of where points and balls come from: bars, split by split."""

from __future__ import annotations

from matplotlib.figure import Figure

from experiments.drawing import style
from experiments.drawing.study_marks import draw_parts, level_looks
from experiments.report.panels import head, share_rows_and_scale
from experiments.report.where import compared_policy, where_level
from experiments.report.worlds import shown_level
from experiments.study.outcome_names import fewer_missed, more_points
from experiments.study.result_folder import ResultFolder
from experiments.study.setting_table import SETTINGS, is_served
from experiments.study.where import AT_SERVE

COLOURS = (style.BLUE, style.ORANGE, style.SKY)


def where_figure(results: ResultFolder, setting: str) -> Figure:
    """Where points and balls come from in a setting, split by split; one level, all opponents."""
    policy, level, reference = compared_policy(results), where_level(results), results.reference
    held = results.where[results.where["part"] != AT_SERVE]  # there policies do not differ
    held = held[(held["setting"] == setting) & (held["level"] == level)]
    places = list(held["place"].unique())
    place = results.corner if results.corner in places else places[0]
    cells = held[(held["policy"] == policy) & (held["place"] == place)]
    looks = level_looks(cells["opponent"].unique(), COLOURS)
    outcomes = {more_points(reference): "points in 100 more"}
    outcomes[fewer_missed(reference)] = "missed in 100 fewer"
    rows = [
        (split, list(part["part"].unique())) for split, part in cells.groupby("split", sort=False)
    ]
    counts = [len(parts) for _, parts in rows]
    figure = Figure(
        figsize=(style.WIDTH_IN, (0.1 * len(looks) + 0.12) * sum(counts) + 0.3 * len(rows) + 1.2),
        layout="constrained",
    )
    axes = figure.subplots(len(rows), 2, squeeze=False, height_ratios=counts)
    for (split, parts), pair in zip(rows, axes, strict=True):
        pair[0].set_title(f"By {split}")
        for ax, outcome in zip(pair, outcomes, strict=True):
            own = cells[(cells["split"] == split) & (cells["outcome"] == outcome)]
            draw_parts(ax, own, parts, looks)
    for column, words in zip(axes.T, outcomes.values(), strict=True):
        share_rows_and_scale(column, 1)
        column[-1].set_xlabel(words)
    for ax in axes[:, 1]:
        ax.tick_params(labelleft=False)
    first = "" if is_served(setting) else f", first ball: {place}"
    scene = f"{SETTINGS[setting].title}{first}\n{shown_level(results, level)}"
    head(figure, f"Where the {policy} gains or loses against the {reference}\n{scene}", looks)
    return figure
