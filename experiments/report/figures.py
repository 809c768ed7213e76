"""The figures of a study, drawn from the files of its folder: which cells go into which panel."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path

import numpy as np
import pandas as pd
from matplotlib.figure import Figure

from experiments.balls.angle import Angle
from experiments.drawing import style
from experiments.drawing.court import court_height_in, draw_court_spots
from experiments.drawing.study_marks import (
    WORDS,
    draw_difference,
    draw_missed,
    draw_yardstick,
    level_looks,
)
from experiments.evidence.sensitivity.analysis import factor_figures, write_captions
from experiments.report.panels import Panel, head, laid_out, share_rows_and_scale
from experiments.report.where import compared_policy
from experiments.report.where_picture import where_figure
from experiments.report.worlds import in_worlds, shown_level
from experiments.scene.people import world_of
from experiments.study.result_folder import (
    ALL_PLACES,
    DIFFERENCE,
    ResultFolder,
    plateau,
    shade_curve,
)
from experiments.study.setting_table import SETTINGS, is_rally, is_served
from sim.contracts import Situation, bodies_at, contacts_at
from sim.court import HALF_LENGTH_M
from sim.envelope import DriveLimits
from sim.exchange import wing_at


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
    with style.house_style():
        for name, draw in plan(results).items():
            figure = draw()
            for suffix in (".png", ".svg"):
                paths.append(style.save(figure, target / f"{name}{suffix}"))
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
        for setting in filter(is_rally, settings):
            out[f"points-{setting}"] = partial(difference_figure, results, points, setting)
    elif DIFFERENCE in held:
        first = settings[0]
        out[f"fewer-missed-{first}"] = partial(difference_figure, results, DIFFERENCE, first)
    if compared_policy(results) is not None:
        for setting in results.where["setting"].unique():
            out[f"where-{setting}"] = partial(where_figure, results, str(setting))
    if results.corner is not None and results.family:
        # The first setting is the cleanest and rallies are the whole; more would say the same.
        crossed = [s for s in settings if not is_served(s)]
        for setting in dict.fromkeys([crossed[0], *filter(is_rally, crossed)]):
            out[f"yardstick-{setting}"] = partial(yardstick_figure, results, setting)
    return out | factor_figures(results.path)


LEVEL_COLOURS = (style.BLUE, style.ORANGE, style.PURPLE, style.GREEN)
SETTING_WORDS = {s.name: s.title for s in SETTINGS.values()}
OUTCOMES_OVER_SHADE = ("missed_per_100", "points_won_per_100")
SLACK = 0.02


def scenario_panels(cells: pd.DataFrame, outcomes: Sequence[str]) -> tuple[list[Panel], int]:
    """A panel for each opponent, own stroke and outcome of these cells, and how many columns.

    Own strokes stand side by side, else outcomes, else two opponents.
    """
    opponents, own = list(cells["opponent"].unique()), list(cells["own_stroke"].unique())
    out = []
    for opponent in opponents:
        for stroke in own:
            chosen = cells[(cells["opponent"] == opponent) & (cells["own_stroke"] == stroke)]
            title = f"{opponent}\nafter {stroke}" if stroke else f"{opponent} opponent"
            out += [Panel(title, chosen, outcome) for outcome in outcomes]
    beside = len(own) * len(outcomes)
    return out, beside if beside > 1 else min(2, len(opponents))


def missed_figure(results: ResultFolder, setting: str) -> Figure:
    """Balls missed per 100 by place and policy, a panel an opponent (and an own stroke)."""
    cells = results.pick(setting=setting, level=results.middle_level, outcome="missed_per_100")
    places = list(cells["place"].unique())
    looks = style.looks_of(p for p in results.named if p in set(cells["policy"]))
    panels, columns = scenario_panels(cells, ["missed_per_100"])
    row_in = 0.09 * len(places) * (len(looks) + 1) + 0.45
    figure, axes = laid_out(panels, columns, row_in, 0.9 + _lines_in(results))
    for panel, ax in zip(panels, axes, strict=True):
        draw_missed(ax, panel.cells, places, looks)
    share_rows_and_scale(axes, columns)
    figure.supxlabel(f"{WORDS['missed_per_100']}{_lines_words(results)}", fontsize=style.SMALL_PT)
    head(figure, f"Missed, {_scene(results, setting)}", looks)
    return figure


def difference_figure(results: ResultFolder, outcome: str, setting: str) -> Figure:
    """Each policy less the reference: a row of panels an opponent; all places and the corner."""
    cells = results.pick(setting=setting, outcome=outcome)
    policies = [p for p in results.named if p in set(cells["policy"])]
    levels = level_looks(results.names("level"), LEVEL_COLOURS)
    held = list(cells["place"].unique())
    places = [p for p in (ALL_PLACES, results.corner) if p in held] or held[:1]
    first = cells["own_stroke"].iloc[0]
    panels = [
        Panel(f"{opponent}, {place}", own[(own["place"] == place)], outcome)
        for opponent, own in cells[cells["own_stroke"] == first].groupby("opponent", sort=False)
        for place in places
    ]
    row_in = 0.09 * len(policies) * (len(levels) + 1) + 0.45
    figure, axes = laid_out(panels, len(places), row_in, 0.9 + _lines_in(results))
    for panel, ax in zip(panels, axes, strict=True):
        draw_difference(ax, panel.cells, outcome, policies, levels)
    share_rows_and_scale(axes, len(places))
    words = WORDS[outcome].format(reference=results.reference)
    figure.supxlabel(
        f"worse \u2190 {words} \u2192 better\n(shaded: as good, inside half in 100)"
        f"{_lines_words(results)}",
        fontsize=style.SMALL_PT,
    )
    after = f", after {first}" if first else ""
    what = "Points won" if outcome.startswith("points") else "Missed"
    scene = SETTING_WORDS.get(setting, setting)
    head(
        figure,
        f"{what}, compared with the {results.reference}\n{scene}{after}",
        {shown_level(results, name): look for name, look in levels.items()},
    )
    return figure


def _lines_in(results: ResultFolder) -> float:
    """Room for these words, in inches."""
    return 0.2 if in_worlds(results) else 0.0


def _lines_words(results: ResultFolder) -> str:
    """What thick and thin lines are, where there are both."""
    if not in_worlds(results):
        return ""
    return "\n(thick: interval of chance, thin: of the worlds that fit the professional record)"


def yardstick_figure(results: ResultFolder, setting: str) -> Figure:
    """Missed (and points won) over the shade, opponent in the corner; a panel an opponent."""
    cells = results.pick(setting=setting, level=results.middle_level, place=results.corner or "")
    outcomes = [o for o in OUTCOMES_OVER_SHADE if o in set(cells["outcome"])]
    panels, columns = scenario_panels(cells, outcomes)
    looks = style.looks_of(p for p in results.named if p in set(cells["policy"]))
    figure, axes = laid_out(panels, columns, 1.5, 1.1)
    drawn: set[str] = set()
    for panel, ax in zip(panels, axes, strict=True):
        family = shade_curve(panel.cells, panel.outcome, [results.reference, *results.family])
        named = shade_curve(panel.cells, panel.outcome, results.named)
        marked = beside_curve(named, family, results.reference)
        drawn |= set(marked["policy"])
        draw_yardstick(ax, family, marked, looks, panel.outcome == "points_won_per_100")
        ax.set_ylabel(WORDS[panel.outcome])
    figure.supxlabel(
        "shade: metres away from the opponent per metre off centre (m/m)"
        "\n(shaded: within half in 100 of the best shade tried)",
        fontsize=style.SMALL_PT,
    )
    title = f"How far to shade, {_scene(results, setting)}, opponent's place: {results.corner}"
    head(figure, title, {name: look for name, look in looks.items() if name in drawn})
    return figure


def beside_curve(named: pd.DataFrame, curve: pd.DataFrame, reference: str) -> pd.DataFrame:
    """The named policies that have a place beside the curve.

    Left out are those that shade farther than the family, and those that stand where the reference
    stands without being it: a policy that stays put comes to no shade of its own.
    """
    shade = named["shade"]
    inside = shade.between(curve["shade"].min() - SLACK, curve["shade"].max() + SLACK)
    is_reference = named["policy"] == reference
    at_reference = np.isclose(shade, shade[is_reference].min(), atol=1e-6)
    return named[inside & (is_reference | ~at_reference)]


def _scene(results: ResultFolder, setting: str) -> str:
    return f"{SETTING_WORDS.get(setting, setting)}\n{shown_level(results, results.middle_level)}"


def court_figure(results: ResultFolder) -> Figure:
    """The court from above with the opponent in the main corner: angle, spots and best range."""
    corner = results.corner or ""
    seen = corner_situation(results)
    cells = results.pick(level=results.middle_level, place=corner)
    setting, opponent = cells["setting"].iloc[0], cells["opponent"].iloc[0]
    cells = cells[(cells["setting"] == setting) & (cells["opponent"] == opponent)]
    cells = cells[cells["own_stroke"] == cells["own_stroke"].iloc[0]]
    spots = cells[cells["outcome"] == "spot_x_m"].set_index("policy")["estimate"]
    best = None
    curve = shade_curve(cells, "missed_per_100", [results.reference, *results.family])
    if results.family and len(curve):
        ends = [-shade * float(seen.contact["x_m"][0]) for shade in plateau(curve, False)]
        best = (min(ends), max(ends))
    figure = Figure(layout="constrained")
    ax = figure.subplots()
    depths = cells[cells["outcome"] == "spot_y_m"].set_index("policy")["estimate"]
    draw_court_spots(ax, Angle.of(seen), dict(spots), best, depths_m=dict(depths))
    figure.set_size_inches(style.WIDTH_IN, court_height_in(ax) + 1.4)
    figure.suptitle(
        f"Where each policy waits, opponent's place: {corner}\n"
        f"{results.middle_level}, {opponent} opponent",
        x=0.02,
        ha="left",
        fontsize=style.TEXT_PT + 1,
        fontweight="bold",
    )
    return figure


def corner_situation(results: ResultFolder) -> Situation:
    """What the studied player of the middle level sees with the opponent in the main corner."""
    study = results.study
    me, other = results.sides(results.middle_level)
    at_x, at_y, at_z = (np.array([value]) for value in results.places[results.corner or ""])
    contact = contacts_at(at_x, at_y, at_z, wing_at(-at_x, other))
    line = HALF_LENGTH_M + results.depth_m
    return Situation(
        me=me,
        opponent=other,
        world=world_of(study.get("surface", "hard"), me).numbers,
        depth_m=results.depth_m,
        body=bodies_at(np.zeros(1), np.array([-line])),
        contact=contact,
        time_s=np.array([np.inf]),
        limits=DriveLimits(**study.get("limits", {})),
    )
