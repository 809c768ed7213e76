"""The figures of a study, drawn from the files of its folder."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path

from matplotlib.figure import Figure

from experiments.drawing.style import house_style, save
from experiments.evidence.sensitivity.analysis import factor_figures, write_captions
from experiments.report.panels import (
    court_figure,
    difference_figure,
    missed_figure,
    yardstick_figure,
)
from experiments.study.result_folder import DIFFERENCE, ResultFolder


def study_figures(folder: Path) -> list[Path]:
    """Draw a study's figures into `folder`/figures, each as PNG and SVG; returns the files.

    Reads the study, the summary and the tables of its factors. Which figures there are depends on
    what the cells hold: no rallies, no points won; no place off centre, no court and no yardstick.

    Raises:
        InputError: the folder is not one that a study wrote, or a file cannot be written.
    """
    results = ResultFolder.read(folder)
    target = folder / "figures"
    target.mkdir(exist_ok=True)
    paths = []
    with house_style():
        for name, draw in plan(results).items():
            figure = draw()
            for suffix in (".png", ".svg"):
                paths.append(save(figure, target / f"{name}{suffix}"))
                figure.set_layout_engine("none")  # the layout stands; do not work it out twice
    return [*paths, *write_captions(folder)]


def plan(results: ResultFolder) -> dict[str, Callable[[], Figure]]:
    """The figures that the cells allow: file name without suffix, and what draws it."""
    settings, held = results.names("setting"), set(results.cells["outcome"])
    out: dict[str, Callable[[], Figure]] = {}
    if results.corner is not None:
        out["court"] = partial(court_figure, results)
    for setting in settings:
        out[f"missed-{setting}"] = partial(missed_figure, results, setting)
    points = "points_more_than_middle_per_100"
    if points in held:
        out["points-rally"] = partial(difference_figure, results, points, "rally")
    elif DIFFERENCE in held:
        first = settings[0]
        out[f"fewer-missed-{first}"] = partial(difference_figure, results, DIFFERENCE, first)
    if results.corner is not None and results.family:
        # The first setting is the cleanest and rallies are the whole; more would say the same.
        for setting in dict.fromkeys([settings[0], *(s for s in settings if s == "rally")]):
            out[f"yardstick-{setting}"] = partial(yardstick_figure, results, setting)
    return out | factor_figures(results.path)
