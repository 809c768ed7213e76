"""Pictures of made-up numbers, drawn small, and the versions that they were stored with.

No simulation feeds them: a stored picture changes with the drawing code and with Matplotlib alone.
Which Matplotlib they belong to is what the test extra pins; its bundled FreeType draws the letters.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory

import matplotlib as mpl
import numpy as np
from fixture_folder import write_folder
from matplotlib import ft2font
from matplotlib.figure import Figure

from experiments.answers.handout.cone_plan import Cone, draw_all, draw_one, draw_rows
from experiments.answers.replay.picture import time_line_figure
from experiments.answers.replay.track import Phase, PlayerTrack, RallyTrack, StrokeTrack
from experiments.answers.spot.answer import MissedBalls, PolicySpot, SpotResult
from experiments.answers.spot.picture import draw_curve
from experiments.balls.angle import Angle
from experiments.balls.best import Best
from experiments.drawing.court import draw_court_spots
from experiments.drawing.style import METADATA, WIDTH_IN, house_style
from experiments.report.figures import difference_figure, missed_figure, yardstick_figure
from experiments.scene.scene import scene_of
from experiments.statistics.estimates import Estimate
from experiments.study.result_folder import ResultFolder
from sim.court import HALF_LENGTH_M
from sim.records import OPPONENT, STUDIED

IMAGES = Path(__file__).with_name("images")
PROJECT = Path(__file__).parents[2] / "pyproject.toml"
FREETYPE_FILE = IMAGES / "freetype.txt"
WIDTH_PX = 400
LINE_M, BISECTOR_M, BEST_M = 13.0, -0.9, (-1.3, -0.4)
FLIGHT_S = 1.4
LEVELS = ("club-adult", "college-man")
SPOTS_M = {"middle": 0.0, "bisector": BISECTOR_M, "time-balanced": -0.55, "mine": 1.6}


def pinned_matplotlib() -> str:
    """The version that the test extra asks for."""
    extras = tomllib.loads(PROJECT.read_text("utf-8"))["project"]["optional-dependencies"]
    (pin,) = [line for line in extras["test"] if line.startswith("matplotlib==")]
    return str(pin).removeprefix("matplotlib==")


def other_letters() -> str:
    """Why pictures drawn here cannot be compared with the stored ones; "" if they can."""
    found = {"Matplotlib": mpl.__version__, "FreeType": ft2font.__freetype_version__}
    wanted = {"Matplotlib": pinned_matplotlib(), "FreeType": FREETYPE_FILE.read_text().strip()}
    differ = [f"{k} {found[k]} (stored: {wanted[k]})" for k in found if found[k] != wanted[k]]
    return f"drawn by {' and '.join(differ)}: letters differ" if differ else ""


def write_picture(figure: Figure, path: Path) -> None:
    """Write a figure as a PNG, WIDTH_PX wide."""
    dpi = WIDTH_PX / figure.get_size_inches()[0]
    with house_style():
        figure.savefig(
            path,
            dpi=dpi,
            metadata=METADATA[".png"],
            facecolor="white",
            pil_kwargs={"optimize": True},
        )


def court() -> Figure:
    """The court with the angle from a corner, the best range and four spots."""
    contact, bounces = (3.115, HALF_LENGTH_M), np.array([[-3.6, -6.2], [3.6, -8.0]])
    ends = np.array([[-6.2, -13.4], [3.8, -17.0]])
    after = [np.stack([b, e]) for b, e in zip(bounces, ends, strict=True)]
    angle = Angle(contact, bounces, (after[0], after[1]), BISECTOR_M, LINE_M)
    with house_style():
        figure = Figure(figsize=(WIDTH_IN, 7.4), layout="constrained")
        draw_court_spots(figure.add_subplot(), angle, SPOTS_M, BEST_M)
    return figure


def curve() -> Figure:
    """Balls reached over the lateral place: a parabola with its top at the best range."""
    with house_style():
        figure = Figure(figsize=(WIDTH_IN, 3.4), layout="constrained")
        draw_curve(figure.add_subplot(), made_up_spot())
    return figure


def made_up_spot() -> SpotResult:
    """A spot's answer that no ball was played for."""
    x = np.linspace(-5.0, 5.0, 41)
    share = 0.98 - 0.02 * (x + 0.85) ** 2

    def spot(name: str, x_m: float) -> PolicySpot:
        value = 0.98 - 0.02 * (x_m + 0.85) ** 2
        return PolicySpot(name, x_m, -LINE_M, value, value, value, 0.5, 0.3, 900, None)

    best = Best(-0.85, *BEST_M, -0.85, 0.98)
    spots = tuple(spot(name, x_m) for name, x_m in SPOTS_M.items())
    line = ((3.115, HALF_LENGTH_M), (BISECTOR_M, -LINE_M))
    return SpotResult(
        scene_of(player="college-man", hitter="any-allowed", balls=1000, seed=1),
        (None, None),
        line,
        spots,
        x,
        share,
        share,
        1000,
        best,
        900,
        None,  # type: ignore[arg-type]
    )


def rally() -> Figure:
    """The time line of two strokes: one comes back, one is missed."""
    t = np.linspace(0.0, FLIGHT_S, 29)

    def stroke(hitter: int, start: float, met: bool, spare: float, grade: str) -> StrokeTrack:
        turn = 1.0 if hitter == OPPONENT else -1.0
        y = turn * np.interp(t, [0.0, FLIGHT_S], [11.9, -13.0])
        way = np.stack([start + t, 0.0 * t, y, 0.0 * t], axis=1)
        landing = start + 1.1
        return StrokeTrack(
            hitter,
            "drive",
            start,
            start + FLIGHT_S,
            way,
            True,
            landing,
            (0.0, float(np.interp(1.1, t, y))),
            (0.0, -turn * 13.0),
            (0.0, -turn * 13.0),
            met,
            start + FLIGHT_S,
            spare,
            grade,
            "going" if met else "winner",
        )

    strokes = (
        stroke(OPPONENT, 0.0, True, 0.34, "set"),
        stroke(STUDIED, FLIGHT_S, False, -0.12, "missed"),
    )
    you = [
        Phase(*p)
        for p in (("waiting", 0.0, 0.2), ("reacting", 0.2, 0.4), ("running", 0.4, FLIGHT_S))
    ]
    you += [Phase("striking", FLIGHT_S, 1.7), Phase("recovering", 1.7, 2.8)]
    other = [Phase(*p) for p in (("striking", 0.0, 0.3), ("recovering", 0.3, 1.3))]
    other += [Phase("waiting", 1.3, 1.6), Phase("reacting", 1.6, 1.8), Phase("running", 1.8, 2.8)]
    sides = (
        PlayerTrack(STUDIED, "you", (0.8, 1.2), tuple(you), (), ()),
        PlayerTrack(OPPONENT, "opponent", (0.8, 1.2), tuple(other), (), ()),
    )
    return time_line_figure(RallyTrack("A made-up rally", strokes, sides, 2 * FLIGHT_S, "Winner."))


def cones() -> Figure:
    """The three pictures of the handout side by side."""
    places = (-5.115, -3.115, 0.0, 3.115, 5.115)
    feet = (1.5, 1.125, 0.0, -1.125, -1.875)
    all_ = [
        Cone(str(i + 1), (x, HALF_LENGTH_M), at, (at - 0.5, at + 0.4))
        for i, (x, at) in enumerate(zip(places, feet, strict=True))
    ]
    bounces = np.array([[-3.6, -6.2], [3.6, -8.0]])
    ends = np.array([[-6.2, -13.4], [3.8, -17.0]])
    after = [np.stack([b, e]) for b, e in zip(bounces, ends, strict=True)]
    angle = Angle(all_[3].contact_m, bounces, (after[0], after[1]), BISECTOR_M, LINE_M)
    at = np.array([[3.4, -9.0], [3.0, -10.0], [-3.9, -7.0]])
    missed = MissedBalls(at, at, Estimate(0.3, 0.1, 0.9, 0.1, 1000), 3)
    with house_style():
        figure = Figure(figsize=(WIDTH_IN, 4.2), layout="constrained")
        one, plan, rows = figure.subplots(1, 3)
        draw_one(one, angle, all_[3], missed)
        draw_all(plan, all_, LINE_M)
        draw_rows(rows, all_)
    return figure


def of_a_folder(draw: Callable[[ResultFolder], Figure]) -> Callable[[], Figure]:
    """A figure of the made-up result folder."""

    def drawn() -> Figure:
        with TemporaryDirectory() as temporary, house_style():
            return draw(
                ResultFolder.read(
                    write_folder(Path(temporary) / "made-up", levels=LEVELS, opponents=["habit"])
                )
            )

    return drawn


POINTS = "points_more_than_middle_per_100"
PICTURES: dict[str, Callable[[], Figure]] = {
    "court": court,
    "curve": curve,
    "yardstick": of_a_folder(lambda folder: yardstick_figure(folder, "rally")),
    "missed": of_a_folder(lambda folder: missed_figure(folder, "rally")),
    "points": of_a_folder(lambda folder: difference_figure(folder, POINTS, "rally")),
    "time-line": rally,
    "cones": cones,
}
