"""Maps of places to stand and of the opponent's contacts, and the answer from above."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Callable
from functools import cache
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner
from matplotlib.contour import ContourSet
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from experiments.answers.map.answer import (
    WORDS,
    ContactMap,
    contact_grid,
    contact_map,
    contrast,
)
from experiments.answers.map.picture import (
    FEWER_LEVELS,
    HATCHES,
    contact_figure,
    draw_contact_map,
    draw_standing_map,
    fewer_colours,
    fewer_levels,
    standing_figure,
)
from experiments.answers.map.words import (
    contact_table,
    contact_text,
    standing_table,
    standing_text,
)
from experiments.answers.spot.answer import SHOWN, Above, SpotResult, above_of, find_spot
from experiments.answers.spot.picture import above_figure, draw_above, draw_above_key
from experiments.balls.standing import (
    ALLOWED,
    BAND_M,
    StandingMap,
    band_grid,
    standing_map,
    steps_of,
    whole_grid,
)
from experiments.command.main import main
from experiments.drawing.court import draw_area
from experiments.drawing.style import house_style, save
from experiments.scene.scene import Scene, scene_of
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M
from sim.errors import InputError
from sim.exchange import Place
from sim.legs import Legs
from sim.players import player
from strategies.catalogue import make_policy

NAMES = ("middle", "bisector", "biased")
POLICIES = [make_policy(name) for name in NAMES]
STEP_M = 2.0


def asked(hitter: str = "habit", **changes: object) -> Scene:
    scene = scene_of(player="college-man", hitter=hitter, depth=1.2, balls=400, seed=1)
    return dataclasses.replace(scene, **changes)


@cache
def spot() -> SpotResult:
    return find_spot(asked(), POLICIES)


@cache
def above() -> Above:
    return above_of(spot())


@cache
def standing() -> StandingMap:
    return standing_map(asked(), POLICIES, whole_grid(asked()))


@cache
def contacts() -> ContactMap:
    return contact_map(asked(), make_policy("bisector"), make_policy("middle"), STEP_M)


def of_gid(ax: object, gid: str) -> list[object]:
    return [a for a in ax.get_children() if a.get_gid() == gid]  # type: ignore[attr-defined]


# --- places to stand ----------------------------------------------------------------------------


def test_the_row_of_the_waiting_depth_is_the_curve_of_the_spot() -> None:
    found, result = standing(), spot()
    assert found.grid.depth_m[found.waiting_row] == pytest.approx(1.2)
    curve = 100 * (1 - np.interp(found.grid.x_m, result.curve_x_m, result.curve_share_in_time))
    np.testing.assert_allclose(found.missed_per_100[found.waiting_row], curve, atol=1e-9)
    for stand, policy in zip(found.policies, result.policies, strict=True):
        assert stand.missed_per_100 == pytest.approx(100 * (1 - policy.share_in_time))
        assert (stand.x_m, stand.depth_m) == pytest.approx((policy.x_m, 1.2))


def test_the_best_area_is_open_to_both_sides_of_the_waiting_depth_alone() -> None:
    found = standing()
    band = found.band
    assert np.abs(band.grid.depth_m - 1.2).max() == pytest.approx(BAND_M)
    assert band.edge_per_100 == found.edge_per_100 == found.best_per_100 + ALLOWED
    whole = standing_map(asked(), POLICIES, band_grid(asked()))
    np.testing.assert_array_equal(whole.missed_per_100, band.missed_per_100)
    # The best of the row of the waiting depth is inside, whatever deeper places would reach.
    assert band.missed_per_100[band.waiting_row].min() < band.edge_per_100


def test_a_depth_at_an_end_of_the_run_off_has_a_map() -> None:
    for depth in (0.0, 6.4):
        scene = asked(depth_m=depth, balls=100)
        found = standing_map(scene, POLICIES, band_grid(scene))
        assert found.grid.depth_m[found.waiting_row] == pytest.approx(depth)
        assert found.grid.depth_m.max() <= 6.4 + 1e-9


def test_a_hitter_who_sees_the_place_is_asked_at_each_place() -> None:
    scene = asked("open-court", balls=100)
    grid = band_grid(scene)
    calls: list[int] = []
    found = standing_map(scene, POLICIES, grid, lambda: calls.append(1))
    assert len(calls) == steps_of(scene, POLICIES, grid) == len(grid.places) + len(POLICIES)
    assert found.missed_per_100.shape == (len(grid.depth_m), len(grid.x_m))


def test_the_table_and_the_text_of_a_map() -> None:
    found = standing()
    table = standing_table(found)
    assert len(table) == found.missed_per_100.size
    assert (
        (table["low"] <= table["missed_per_100"]) & (table["missed_per_100"] <= table["high"])
    ).all()
    assert (0.5 * (table["high"] - table["low"])).max() == pytest.approx(
        found.widest_per_100, abs=1e-5
    )
    text = standing_text(found)
    assert text.count("where this level waits") == 1 and "depth is a choice of its own" in text


def test_the_map_of_places_shows_spots_and_the_edge_on_the_waiting_depth() -> None:
    ax = standing_figure(standing()).axes[0]
    for stand in standing().policies:
        (mark,) = of_gid(ax, f"spot {stand.name}")
        assert mark.get_xydata()[0] == pytest.approx((stand.x_m, -HALF_LENGTH_M - 1.2))
    assert len(of_gid(ax, "missed")) == len(of_gid(ax, "best area edge")) == 1
    labels = {t.get_text() for t in ax.texts}
    assert labels & {"1", "2", "5", "10", "20", "40"}
    low, high = ax.get_ylim()
    assert low < -HALF_LENGTH_M - 5.0 and high < 0.0  # the near side alone


def test_the_colour_bar_of_missed_balls_carries_its_unit() -> None:
    label = standing_figure(standing()).axes[1].get_xlabel()
    assert "balls missed per 100" in label and "95 %" in label


# --- the opponent's places ----------------------------------------------------------------------


def test_a_contrast_is_the_difference_of_two_spots_on_the_same_balls() -> None:
    found = contrast(asked(), make_policy("bisector"), make_policy("middle"))
    assert found is not None
    share = {p.name: 100 * p.share_in_time for p in spot().policies}
    assert found.fewer.value == pytest.approx(share["bisector"] - share["middle"])
    assert found.fewer.low < found.fewer.value < found.fewer.high
    assert found.verdict == "wins"


def test_policies_that_change_places_change_the_sign() -> None:
    one = contrast(asked(), make_policy("bisector"), make_policy("middle"))
    other = contrast(asked(), make_policy("middle"), make_policy("bisector"))
    assert one is not None and other is not None
    assert other.fewer.value == pytest.approx(-one.fewer.value)
    assert (other.fewer.low, other.fewer.high) == pytest.approx((-one.fewer.high, -one.fewer.low))
    assert other.verdict == "loses"


def test_only_a_place_and_itself_differ_by_exactly_nothing() -> None:
    """In the middle both stand at one place; two others may yet differ where no ball did."""
    scene = asked("any-allowed", place=Place("middle", 0.0, HALF_LENGTH_M))
    still = make_policy("linear-shade,shade_m_per_m=0.3")
    found = contrast(scene, still, make_policy("middle"))
    assert found is not None
    assert (found.fewer.value, found.fewer.low, found.fewer.high) == (0.0, 0.0, 0.0)
    legs = Legs(top_speed_m_s=500.0, tau_s=0.01, reaction_s=0.0)
    boundless = dataclasses.replace(scene.player, legs=legs)
    scene = asked("any-allowed", player=boundless)
    found = contrast(scene, still, make_policy("middle"))
    assert found is not None and found.missed_per_100 == found.other_missed_per_100 == 0.0
    assert found.fewer.low < 0.0 < found.fewer.high
    # About q^2 / sqrt(2) balls may yet differ of those that landed in.
    assert 0.7 * scene.balls < 271.6 / found.fewer.high <= scene.balls


def test_the_interval_of_a_hitter_who_sees_covers_the_value() -> None:
    found = contrast(asked("open-court"), make_policy("bisector"), make_policy("middle"))
    assert found is not None
    assert found.fewer.low <= found.fewer.value <= found.fewer.high
    assert found.fewer.value == pytest.approx(found.other_missed_per_100 - found.missed_per_100)


def test_one_policy_twice_and_a_step_out_of_range_are_refused() -> None:
    with pytest.raises(InputError, match="two different"):
        contact_map(asked(), make_policy("middle"), make_policy("middle"), STEP_M)
    with pytest.raises(InputError, match="allowed: 0"):
        contact_grid(0.01)


def test_the_grid_holds_the_middle_and_both_sides() -> None:
    x, y = contact_grid(0.5)
    assert len(x) == 21 and x[10] == 0.0 and (x[0], x[-1]) == (-5.0, 5.0)
    assert len(y) == 23 and (y[0], y[-1]) == (4.0, 15.0)


def test_every_place_has_one_verdict_and_its_hatch() -> None:
    found = contacts()
    assert sum(int(found.are(word).sum()) for word in WORDS) == len(found.found)
    ax = contact_figure(found).axes[0]
    for word in HATCHES:
        (cells,) = of_gid(ax, word)
        assert len(cells.get_paths()) == found.are(word).sum()
        assert cells.get_hatch() == HATCHES[word]
    (mesh,) = of_gid(ax, "fewer")
    np.testing.assert_array_equal(
        np.ma.filled(mesh.get_array(), np.nan).ravel(),
        found.values(lambda c: c.fewer.value).ravel(),
    )


def test_colours_are_lightest_at_no_difference_and_differ_by_sign() -> None:
    levels = fewer_levels(np.array([[-3.0, 0.5, 9.0]]))
    assert levels == [-4.0, -2.0, -1.0, 0.0, 1.0, 2.0, 4.0, 8.0, 16.0]
    light = fewer_colours(levels)(np.arange(len(levels) - 1))[:, :3] @ (0.299, 0.587, 0.114)
    assert (np.diff(light[:3]) > 0).all() and (np.diff(light[3:]) < 0).all()
    red, _, blue, _ = fewer_colours(levels)(0)
    assert red > blue
    red, _, blue, _ = fewer_colours(levels)(len(levels) - 2)
    assert blue > red
    assert fewer_levels(np.array([[1000.0]]))[-1] == FEWER_LEVELS[-1]


def test_the_table_and_the_text_of_contacts() -> None:
    table = contact_table(contacts())
    assert len(table) == len(contacts().found)
    assert set(table["verdict"]) <= set(WORDS.values())
    text = contact_text(contacts())
    assert "bisector beside middle" in text and "95 % interval" in text


# --- from above ---------------------------------------------------------------------------------


def test_the_balls_missed_from_the_middle_are_those_of_the_table() -> None:
    missed = above().missed
    middle = next(p for p in spot().policies if p.name == "middle")
    assert missed.per_100.value == pytest.approx(100 * (1 - middle.share_in_time))
    assert len(missed.bounce_m) == round(missed.per_100.value / 100 * middle.landed_in)
    assert missed.shown == len(missed.bounce_m) and middle.landed_in < SHOWN
    assert (np.abs(missed.bounce_m[:, 0]) <= HALF_WIDTH_M + 0.05).all()
    assert (missed.end_m[:, 1] <= missed.bounce_m[:, 1] + 1e-9).all()
    assert (missed.end_m[:, 1] >= -HALF_LENGTH_M - 1.2 - 1e-9).all()


def test_the_picture_from_above_holds_the_whole_answer() -> None:
    figure = above_figure(above())
    court, key, curve = figure.axes
    (fan,) = of_gid(court, "fan")
    assert above().fan is not None and len(fan.get_paths()) == len(above().fan.time_s)
    assert len(of_gid(court, "flight")) == len(of_gid(court, "after")) == 2
    (crosses,) = of_gid(court, "missed")
    assert len(crosses.get_xdata()) == above().missed.shown
    for name in NAMES:
        assert of_gid(court, f"spot {name}")
    assert len(of_gid(court, "best area")) == len(of_gid(court, "contact")) == 1
    words = " ".join(t.get_text() for t in key.get_legend().get_texts())
    assert f"{above().missed.per_100.value:.1f}" in words and "how deep to wait" in words
    assert curve.get_ylabel() == "reached in time (balls per 100)"


def test_the_edge_of_the_area_lies_where_one_ball_more_is_missed() -> None:
    area = above().area
    ax = Figure().subplots()
    _, edge = draw_area(ax, area)
    assert isinstance(edge, ContourSet)
    points = np.concatenate([p.vertices for p in edge.get_paths()])
    depths = -HALF_LENGTH_M - points[:, 1]
    assert np.abs(depths - 1.2).max() <= BAND_M + 1e-9
    for (x, _), depth in zip(points, depths, strict=True):
        row = int(np.abs(area.grid.depth_m - depth).argmin())
        if abs(area.grid.depth_m[row] - depth) < 1e-9:  # on a row: linear between its places
            at = np.interp(x, area.grid.x_m, area.missed_per_100[row])
            assert at == pytest.approx(area.edge_per_100, abs=1e-6)


def test_no_sure_shot_is_a_picture_without_a_fan() -> None:
    bare = dataclasses.replace(above(), fan=None)
    court, key, _ = above_figure(bare).axes
    assert not of_gid(court, "fan")
    assert (
        len(key.get_legend().get_texts())
        == len(above_figure(above()).axes[1].get_legend().get_texts()) - 2
    )


def test_a_student_can_compose_two_pictures_in_one_figure() -> None:
    with house_style():
        figure = Figure(layout="constrained")
        left, right, key = figure.subplots(1, 3)
        first = draw_above(left, above())
        second = draw_standing_map(right, standing())
        third = draw_contact_map(key, contacts())
        draw_above_key(figure.add_subplot(), above())
    for ax, artists in ((left, first), (right, second), (key, third)):
        assert all(a.axes is ax for a in artists if not isinstance(a, ContourSet | Rectangle))
        assert {a.get_gid() for a in ax.get_children() if a.get_gid()} <= {
            a.get_gid() for a in artists
        }
    figure.draw_without_rendering()


@pytest.mark.parametrize(
    ("draw", "suffix"),
    [
        (lambda: above_figure(above()), ".svg"),
        (lambda: standing_figure(standing()), ".pdf"),
        (lambda: contact_figure(contacts()), ".png"),
    ],
    ids=["above", "standing", "contacts"],
)
def test_saving_twice_gives_the_same_bytes(
    draw: Callable[[], Figure], suffix: str, tmp_path: Path
) -> None:
    first = save(draw(), tmp_path / f"a{suffix}").read_bytes()
    assert save(draw(), tmp_path / f"b{suffix}").read_bytes() == first


@pytest.mark.parametrize(
    ("draw", "key"),
    [
        (lambda: above_figure(above()), 1),
        (lambda: standing_figure(standing()), 2),
        (lambda: contact_figure(contacts()), 2),
    ],
    ids=["above", "standing", "contacts"],
)
def test_keys_and_line_names_fit_into_the_figure(draw: Callable[[], Figure], key: int) -> None:
    figure = draw()
    figure.draw_without_rendering()
    box = figure.axes[key].get_legend().get_window_extent()
    assert box.x0 >= 0 and box.y0 >= 0 and box.x1 <= figure.bbox.width
    assert box.y1 <= figure.axes[key - 1].get_tightbbox().y0 + 1
    court = figure.axes[0].get_tightbbox()
    assert court.x0 >= 0 and court.x1 <= figure.bbox.width


def test_a_long_name_of_a_person_stays_inside_the_picture() -> None:
    """Names come from player files."""
    me = dataclasses.replace(player("college-man"), name="M\u00fcller <script> " + "very " * 20)
    scene = dataclasses.replace(standing().scene, player=me, opponent=me)
    figure = standing_figure(dataclasses.replace(standing(), scene=scene))
    figure.draw_without_rendering()
    (box,) = (t.get_window_extent() for t in figure.texts)
    assert box.x1 <= figure.bbox.width and box.y1 <= figure.bbox.height
    assert "<script>" in figure.get_suptitle()


# --- the commands -------------------------------------------------------------------------------


def test_the_commands_draw_write_and_say(tmp_path: Path) -> None:
    picture, table = tmp_path / "map.png", tmp_path / "map.csv"
    common = [
        "--balls",
        "200",
        "--seed",
        "1",
        "--quiet",
        "--figure",
        str(picture),
        "--csv",
        str(table),
    ]
    told = CliRunner().invoke(main, ["map", "standing", *common])
    assert told.exit_code == 0, told.output
    assert picture.exists() and "Deeper places reach more" in told.output
    assert list(pd.read_csv(table))[:3] == ["x_m", "depth_m", "missed_per_100"]
    first = table.read_bytes()
    told = CliRunner().invoke(main, ["map", "standing", *common])
    assert table.read_bytes() == first
    told = CliRunner().invoke(main, ["map", "policies", "--step", "2", *common])
    assert told.exit_code == 2 and "so it stays" in told.stderr  # a table of another kind
    assert table.read_bytes() == first
    table.unlink()
    told = CliRunner().invoke(main, ["map", "policies", "--step", "2", *common])
    assert told.exit_code == 0, told.output
    assert len(pd.read_csv(table)) == len(contact_grid(2.0)[0]) * len(contact_grid(2.0)[1])


@pytest.mark.parametrize("words", [["standing"], ["policies", "--step", "2"]])
def test_the_numbers_of_a_map_are_the_rows_of_its_table(words: list[str], tmp_path: Path) -> None:
    table = tmp_path / "map.csv"
    common = ["--balls", "100", "--seed", "1", "--quiet", "--json", "--csv", str(table)]
    told = CliRunner().invoke(main, ["map", *words, *common])
    assert told.exit_code == 0, told.output
    found = json.loads(told.stdout)
    assert found["seed"] == 1 and found["hitter"] == "habit" and found["balls"] == 100
    assert found["places"] == pd.read_csv(table).to_dict("records")


def test_bad_input_to_the_commands_writes_nothing(tmp_path: Path) -> None:
    for words in (
        ["map", "standing", "--figure", str(tmp_path / "a.gif")],
        [
            "map",
            "policies",
            "--policy",
            "middle",
            "--than",
            "middle",
            "--csv",
            str(tmp_path / "a.csv"),
        ],
        ["map", "policies", "--policy", "nobody"],
        ["map", "standing", "--csv", str(tmp_path / "no" / "a.csv"), "--balls", "100"],
    ):
        told = CliRunner().invoke(main, words)
        assert told.exit_code == 2 and "Traceback" not in told.output, told.output
    assert not list(tmp_path.iterdir())
