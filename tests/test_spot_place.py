"""The picture of a spot for a player: one court, one cone, one band, and words that fit."""

from __future__ import annotations

import dataclasses
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from matplotlib.figure import Figure
from PIL import Image

from experiments.answers.spot.answer import SpotResult, find_spot
from experiments.answers.spot.place import place_figure
from experiments.answers.spot.words import tolerance_words
from experiments.balls.best import Best
from experiments.command.main import main
from experiments.drawing.one_court import BELOW_M
from experiments.scene.scene import scene_of
from strategies.recovery.middle import Middle

SHOWN_AS = (1000, 900)  # pixels: what a screen holds without scrolling


@cache
def found(level: str = "club-adult", x_m: float = 3.115, hand: str = "right") -> SpotResult:
    scene = scene_of((x_m, 11.885), player=level, hand=hand, balls=300, seed=2)
    return find_spot(scene, [Middle()])


def of_gid(figure: Figure, name: str) -> list:  # type: ignore[type-arg]
    return [a for a in figure.axes[0].get_children() if a.get_gid() == name]


def test_it_shows_one_cone_in_one_band_the_middle_and_the_fan() -> None:
    result = found()
    figure = place_figure(result)
    best, line = result.best, -result.scene.line_m
    (cone,), (middle,), (band,) = (of_gid(figure, n) for n in ("cone", "middle", "best range"))
    assert np.allclose(cone.get_xydata(), [[best.x_m, line]])
    assert np.allclose(middle.get_xydata(), [[0.0, line]])
    assert band.get_x() == pytest.approx(best.low_m)
    assert band.get_x() + band.get_width() == pytest.approx(best.high_m)
    (fan,) = of_gid(figure, "fan")
    corners = fan.get_xy()
    assert tuple(corners[0]) == pytest.approx((3.115, 11.885))
    assert corners[:, 1].min() == pytest.approx(line)  # it ends where the player waits
    for bounce in result.angle.bounces_m:
        assert np.isclose(corners, bounce).all(axis=1).any()
    assert not [a for a in figure.axes[0].get_children() if str(a.get_gid()).startswith("spot ")]
    assert figure.axes[0].get_ylim()[0] == pytest.approx(line - BELOW_M)


def test_it_says_place_tolerance_and_who() -> None:
    result = found()
    said = " ".join(t.get_text() for t in place_figure(result).texts)
    assert f"Wait {abs(result.best.x_m):.1f} m left" in said and "steps" in said
    assert tolerance_words(result.best) in said and "Model result" in said
    assert "club-adult" in said and "hard court" in said and "Seed 2" in said


def test_where_there_is_no_drive_there_is_no_fan_and_that_is_said() -> None:
    result = find_spot(scene_of((0.5, 1.0), 0.2, balls=300, seed=1), [Middle()])
    figure = place_figure(result)
    assert not of_gid(figure, "fan") and not of_gid(figure, "flight")
    key = [t.get_text() for t in figure.axes[1].get_legend().get_texts()]
    assert len(key) == 3 and "extreme" not in " ".join(key)
    said = " ".join(t.get_text() for t in figure.texts)
    assert "there is no angle" in " ".join(said.split())


def test_the_tolerance_is_half_the_band() -> None:
    assert "Up to 0.8 m (1.0 step) off" in tolerance_words(Best(-1.0, -1.75, -0.25, -1.1, 0.9))
    assert "Every place tried" in tolerance_words(Best(-1.0, -1.0, -1.0, -1.0, 0.9))


@pytest.mark.parametrize(
    ("level", "x_m", "hand"),
    [("senior-65", -5.2, "left"), ("under-12", 0.0, "right"), ("professional-man", 5.2, "right")],
)
def test_all_stands_inside_the_picture_and_nothing_overlaps(
    level: str, x_m: float, hand: str
) -> None:
    result = found(level, x_m, hand)
    me = dataclasses.replace(result.scene.player, name="W" * 60)
    other = dataclasses.replace(me, name="like " + "W" * 60)
    scene = dataclasses.replace(result.scene, player=me, opponent=other)
    figure = place_figure(dataclasses.replace(result, scene=scene))
    figure.draw_without_rendering()
    key = figure.axes[1].get_legend().get_window_extent()
    boxes = [t.get_window_extent() for t in figure.texts] + [key]
    assert all(b.x0 >= 0 and b.y0 >= 0 and b.x1 <= figure.bbox.width for b in boxes)
    assert all(b.y1 <= figure.bbox.height for b in boxes)
    assert not [b for b in boxes[:-1] if b.overlaps(key)]
    court = figure.axes[0].get_tightbbox()
    assert court.x1 <= min(b.x0 for b in boxes) and court.y0 >= 0


def test_the_command_draws_it_on_a_screen_and_all_ways_on_request(tmp_path: Path) -> None:
    sizes = {}
    for name, more in {"one": [], "every": ["--all"], "own": ["--policy", "guard"]}.items():
        path = tmp_path / f"{name}.png"
        asked = ["spot", "--balls", "200", "--seed", "1", *more, "--figure", str(path)]
        told = CliRunner().invoke(main, asked)
        assert told.exit_code == 0, told.output
        sizes[name] = Image.open(path).size
    assert all(side <= most for side, most in zip(sizes["one"], SHOWN_AS, strict=True))
    assert sizes["every"][1] > 3000 < sizes["own"][1]
