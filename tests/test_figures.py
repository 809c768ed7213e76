"""Pictures: what is drawn, that it can be read, and that a re-run gives the same bytes."""

from __future__ import annotations

import io
import itertools
import struct
from pathlib import Path

import matplotlib as mpl
import numpy as np
import pytest
from fixture_folder import write_folder
from matplotlib.axes import Axes
from matplotlib.colors import to_hex
from matplotlib.figure import Figure
from matplotlib.text import Text
from matplotlib.transforms import Bbox
from PIL import Image, ImageColor

from experiments.answers.spot.answer import SpotResult, find_spot
from experiments.answers.spot.picture import spot_figure
from experiments.drawing.court import draw_court, side_words
from experiments.drawing.style import (
    BLUE,
    DPI,
    FAMILY_LOOK,
    GREEN,
    LOOKS,
    ORANGE,
    PURPLE,
    SKY,
    SOFT,
    VERMILLION,
    house_style,
    looks_of,
    save,
)
from experiments.output.files import NAME, require_picture_suffix
from experiments.report.figures import plan, study_figures, yardstick_figure
from experiments.scene.scene import scene_of
from experiments.scene.sides import STEP_M
from experiments.study.policy_family import family_name, family_of
from experiments.study.result_folder import ResultFolder
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M
from sim.errors import InputError
from strategies.catalogue import make_policy

POLICIES = ("middle", "bisector", "time-balanced", "biased")
SHADES = tuple(f"linear-shade,shade_m_per_m={s / 10}" for s in range(1, 7))


def spot_at(x_m: float, y_m: float, policies: tuple[str, ...] = POLICIES) -> SpotResult:
    scene = scene_of(
        *((x_m, y_m), 1.0), player="college-man", hitter="any-allowed", depth=1.3, balls=200, seed=1
    )
    return find_spot(scene, [make_policy(p) for p in policies])


@pytest.fixture(scope="module")
def corner() -> SpotResult:
    return spot_at(3.115, HALF_LENGTH_M, POLICIES + SHADES)


@pytest.fixture(scope="module")
def corner_figure(corner: SpotResult) -> Figure:
    return spot_figure(corner)


def lines(ax: Axes, gid: str) -> list[np.ndarray]:
    """The points of the lines with that mark, each (k, 2)."""
    return [line.get_xydata() for line in ax.lines if line.get_gid() == gid]


def boxes(figure: Figure) -> list[tuple[str, Axes, Bbox]]:
    """Each text of the axes and where it stands, without the line that ties it to its mark."""
    figure.draw_without_rendering()
    return [
        (text.get_text(), ax, Text.get_window_extent(text))
        for ax in figure.axes
        for text in ax.texts
    ]


# --- the spot ---------------------------------------------------------------------------------


def test_the_extreme_paths_run_from_the_contact_to_bounces_inside_the_court(
    corner_figure: Figure,
) -> None:
    court = corner_figure.axes[0]
    flights, bounces = lines(court, "flight"), lines(court, "bounce")
    assert len(flights) == len(bounces) == 2
    for flight, bounce, side in zip(flights, bounces, (-1, 1), strict=True):
        assert flight[0] == pytest.approx((3.115, HALF_LENGTH_M))
        assert flight[1] == pytest.approx(bounce[0])
        assert 0.5 * HALF_WIDTH_M < side * bounce[0, 0] < HALF_WIDTH_M
        assert -HALF_LENGTH_M < bounce[0, 1] < -3.0


def test_paths_go_on_past_the_bounce_in_another_line_style(corner_figure: Figure) -> None:
    court = corner_figure.axes[0]
    styles = {line.get_gid(): line.get_linestyle() for line in court.lines}
    assert styles["flight"] == "-"
    assert styles["after"] == "--"
    for after, bounce in zip(lines(court, "after"), lines(court, "bounce"), strict=True):
        assert after[0] == pytest.approx(bounce[0], abs=0.02)
        assert after[-1, 1] < bounce[0, 1] - 3.0


def test_the_bisector_ends_at_the_bisectors_spot(corner: SpotResult, corner_figure: Figure) -> None:
    spot = next(p for p in corner.policies if p.name == "bisector")
    ends = [line.get_xydata()[-1] for line in corner_figure.axes[0].lines]
    at_spot = [end for end in ends if end == pytest.approx((spot.x_m, spot.y_m), abs=1e-6)]
    assert len(at_spot) >= 2  # the bisector and the policy's mark


def test_every_policy_is_marked_and_the_family_has_one_label(
    corner: SpotResult, corner_figure: Figure
) -> None:
    for ax in corner_figure.axes:
        marked = sorted(
            line.get_xdata()[0]
            for line in ax.lines
            if (line.get_gid() or "").startswith("spot") and "label" not in line.get_gid()
        )
        assert marked == pytest.approx(sorted(p.x_m for p in corner.policies))
        words = [t.get_text() for t in ax.texts if getattr(t, "arrow_patch", None)]
        for name in (*POLICIES, "linear-shade 0.1 to 0.6"):
            assert words.count(name) == 1


def test_the_curve_shows_the_shares_and_both_axes_the_best_range(
    corner: SpotResult, corner_figure: Figure
) -> None:
    court, curve = corner_figure.axes
    drawn = lines(curve, "curve")[0]
    assert drawn[:, 1] == pytest.approx(100 * corner.curve_share_in_time)
    for ax in (court, curve):
        band = next(p for p in ax.patches if p.get_gid() == "best range")
        box = band.get_extents().transformed(ax.transData.inverted())
        assert (box.x0, box.x1) == pytest.approx((corner.best.low_m, corner.best.high_m), abs=1e-6)


def test_axes_carry_units_and_steps(corner_figure: Figure) -> None:
    corner_figure.draw_without_rendering()
    court, curve = corner_figure.axes
    for ax in (court, curve):
        assert ax.get_xlabel() == "lateral place (m from the centre mark)"
        steps = ax.child_axes[0]
        assert steps.get_xlabel() == "steps from the centre mark (1 step = 0.75 m)"
        assert steps.get_xlim() == pytest.approx(np.array(ax.get_xlim()) / STEP_M)
    assert curve.get_ylabel() == "reached in time (balls per 100)"


def test_the_court_is_to_scale(corner_figure: Figure) -> None:
    corner_figure.draw_without_rendering()
    court = corner_figure.axes[0]
    a, b, c = court.transData.transform([(0, 0), (1, 0), (0, 1)])
    assert b[0] - a[0] == pytest.approx(c[1] - a[1], rel=1e-6)
    outline = [
        line.get_xydata() for line in court.lines if to_hex(line.get_color()) == SOFT.lower()
    ]
    xs = np.concatenate([o[:, 0] for o in outline])
    assert np.isclose(np.abs(xs), 4.115).any()  # ITF Rules of Tennis, rule 1


@pytest.mark.parametrize(
    "place", [(3.115, 11.885), (0.0, 11.885), (-4.8, 6.9), (0.3, 17.0), (9.0, 12.0)]
)
def test_labels_overlap_neither_each_other_nor_the_edge(place: tuple[float, float]) -> None:
    figure = spot_figure(spot_at(*place))
    found = boxes(figure)
    for (a, ax_a, box_a), (b, ax_b, box_b) in itertools.combinations(found, 2):
        if ax_a is ax_b:
            assert not box_a.padded(-0.5).overlaps(box_b.padded(-0.5)), (a, b)
    width, height = figure.bbox.width, figure.bbox.height
    for name, _, box in found:
        assert box.x0 >= -1 and box.x1 <= width + 1, name
        assert box.y0 >= -1 and box.y1 <= height + 1, name


def test_a_dollar_sign_or_a_very_long_name_does_no_harm(tmp_path: Path) -> None:
    long = "mine $x_{" + "very " * 20
    figure = Figure()
    with house_style():
        from experiments.drawing.spot_marks import Spot, draw_spots

        ax = figure.subplots()
        draw_spots(ax, [Spot(long, 0.0, 0.5, LOOKS[0])])
    save(figure, tmp_path / "long.png")
    assert len(ax.texts[0].get_text()) == 34


def test_words_of_the_sport_for_the_two_extremes() -> None:
    assert side_words(3.0) == ("sharpest\ncrosscourt", "down\nthe line")
    assert side_words(-3.0) == ("down\nthe line", "sharpest\ncrosscourt")
    assert "left" in side_words(0.0)[0]


# --- style ------------------------------------------------------------------------------------


def test_policies_differ_in_marker_as_well_as_colour() -> None:
    looks = looks_of([f"policy {c}" for c in "abcdefgh"])
    assert len({look.marker for look in looks.values()}) == 8
    assert len({look.colour for look in looks.values()}) == 8
    many = [*looks_of([f"policy {c}" for c in "abcdefghijkl"]).values()]
    assert len({look.marker for look in many}) == len(many)
    first, *others = looks_of([f"policy {c}" for c in "abcdefghijklmnopqrstuvwxyz"]).values()
    assert first not in others  # an own policy never looks like the middle


def test_a_family_is_three_names_that_differ_in_their_number() -> None:
    names = ["middle", "shade 0.10", "shade 0.20", "shade 0.30", "other 1", "other 2"]
    family = family_of(names)
    assert family == {"shade 0.10": 0.1, "shade 0.20": 0.2, "shade 0.30": 0.3}
    assert family_name(family) == "shade 0.1 to 0.3"
    assert family_of(names[:3]) == {}
    assert looks_of(names)["shade 0.20"] == FAMILY_LOOK


def test_the_house_style_is_put_back() -> None:
    before = dict(mpl.rcParams)
    with house_style():
        assert mpl.rcParams["svg.hashsalt"] == "rally-recovery"
    assert dict(mpl.rcParams) == before


# --- files ------------------------------------------------------------------------------------


@pytest.mark.parametrize("suffix", [".png", ".svg", ".pdf"])
def test_saving_twice_gives_the_same_bytes(corner: SpotResult, tmp_path: Path, suffix: str) -> None:
    first = save(spot_figure(corner), tmp_path / f"a{suffix}").read_bytes()
    second = save(spot_figure(corner), tmp_path / f"b{suffix}").read_bytes()
    assert first == second
    if suffix == ".png":
        assert struct.unpack(">I", first[16:20])[0] == 1280  # pixels wide, from the header
    assert (
        b"atplotlib v" not in first and b"<dc:date>" not in first and b"CreationDate" not in first
    )


@pytest.mark.parametrize("name", ["picture.jpeg", "picture"])
def test_an_unknown_suffix_is_refused_with_the_known_ones(name: str, tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"\.png, \.svg, \.pdf"):
        save(Figure(), tmp_path / name)
    assert not list(tmp_path.iterdir())
    assert require_picture_suffix(Path("a.PNG")) == ".png"


def test_a_file_that_cannot_be_written_is_one_message_and_leaves_nothing(tmp_path: Path) -> None:
    (tmp_path / "taken.png").mkdir()
    with pytest.raises(InputError, match="cannot write the picture"):
        save(Figure(figsize=(1, 1)), tmp_path / "taken.png")
    with pytest.raises(InputError, match="cannot write the picture"):
        save(Figure(figsize=(1, 1)), tmp_path / "missing" / "a.png")
    assert [p.name for p in tmp_path.iterdir()] == ["taken.png"]


# --- the study --------------------------------------------------------------------------------


def names_drawn(folder: Path) -> list[str]:
    return list(plan(ResultFolder.read(folder)))


def test_a_whole_study_gets_all_figures(tmp_path: Path) -> None:
    assert names_drawn(write_folder(tmp_path / "a")) == [
        "court",
        "missed-placed",
        "missed-recovery",
        "missed-rally",
        "points-rally",
        "yardstick-placed",
        "yardstick-rally",
    ]


def test_drawing_a_study_again_gives_the_same_bytes(tmp_path: Path) -> None:
    few = {"levels": ["college-man"], "opponents": ["habit"], "settings": ["rally"]}
    files = study_figures(write_folder(tmp_path / "one", **few))
    again = study_figures(write_folder(tmp_path / "two", **few))
    stems = ("court", "missed-rally", "points-rally", "yardstick-rally")
    assert [f.name for f in files] == [f"{s}{e}" for s in stems for e in (".png", ".svg")]
    assert all(a.read_bytes() == b.read_bytes() for a, b in zip(files, again, strict=True))


def test_subsets_get_what_their_cells_allow(tmp_path: Path) -> None:
    few = {"levels": ["college-man"], "opponents": ["habit"], "settings": ["placed"]}
    corner = write_folder(tmp_path / "a", policies=["middle", "bisector"], places=["corner"], **few)
    assert names_drawn(corner) == ["court", "missed-placed", "fewer-missed-placed"]
    middle = write_folder(tmp_path / "b", places=["middle"], **few)
    assert names_drawn(middle) == ["missed-placed", "fewer-missed-placed"]
    alone = write_folder(tmp_path / "c", policies=["middle"], places=["middle"], **few)
    assert names_drawn(alone) == ["missed-placed"]
    after = few | {"settings": ["recovery"]}
    recovery = write_folder(tmp_path / "d", **after)
    assert "yardstick-recovery" in names_drawn(recovery)
    for folder in (corner, alone):
        assert all(f.stat().st_size > 1000 for f in study_figures(folder))


def test_missed_draws_each_estimate_with_its_interval(tmp_path: Path) -> None:
    folder = write_folder(tmp_path / "a", levels=["college-man"], opponents=["habit"])
    figure = plan(ResultFolder.read(folder))["missed-placed"]()
    (ax,) = figure.axes
    assert [t.get_text() for t in ax.get_yticklabels()] == [
        "middle",
        "corner",
        "short wide",
        "all places",
    ]
    bars = [c.get_segments() for c in ax.collections]
    spans = {tuple(np.round(s[:, 0], 6)) for segments in bars for s in segments}
    assert spans == {(8.85, 9.65), (3.6, 4.4)}  # the middle and the bisector of the fixture
    assert figure.get_supxlabel() == "balls missed per 100"


def test_the_plateau_is_the_range_within_half_a_ball_of_the_best(tmp_path: Path) -> None:
    folder = write_folder(tmp_path / "a", levels=["college-man"], opponents=["habit"])
    figure = yardstick_figure(ResultFolder.read(folder), "rally")
    assert [ax.get_ylabel() for ax in figure.axes] == ["balls missed per 100", "points won per 100"]
    for ax in figure.axes:
        band = next(p for p in ax.patches if p.get_gid() == "plateau")
        # Of 0 to 0.4, 0.2 and 0.3 miss 3.25 and 0.1 misses 5.25: only the two are within half.
        assert (band.get_x(), band.get_x() + band.get_width()) == pytest.approx((0.19, 0.31))
        assert lines(ax, "yardstick")[0][:, 0] == pytest.approx([0, 0.1, 0.2, 0.3, 0.4])


def test_a_folder_that_no_study_wrote_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="not a whole result folder"):
        study_figures(tmp_path)
    folder = write_folder(tmp_path / "a")
    (folder / "cells.csv").write_text("policy\nmiddle\n", "utf-8")
    with pytest.raises(InputError, match="no cells with place"):
        study_figures(folder)
    (folder / "cells.csv").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(InputError, match="not a whole result folder"):
        study_figures(folder)


def test_the_court_alone_can_be_drawn_on_any_axes() -> None:
    ax = Figure().subplots()
    artists = draw_court(ax)
    assert lines(ax, "net")[0][:, 0] == pytest.approx([-5.029, 5.029])  # ITF rule 1: net posts
    assert set(artists) >= set(ax.lines)


def test_a_png_has_a_palette_that_keeps_our_colours(tmp_path: Path) -> None:
    figure = Figure(figsize=(3, 2))
    ax = figure.subplots()
    hues = (BLUE, ORANGE, GREEN, VERMILLION, PURPLE, SKY)
    for k, hue in enumerate(hues):
        ax.bar(k, k + 1, color=hue)
        ax.plot([0, k], [k, 0], color=hue, alpha=0.37)
    picture = Image.open(save(figure, tmp_path / "a.png"))
    assert picture.mode == "P" and picture.info["Software"] == NAME
    assert picture.info["dpi"] == pytest.approx((DPI, DPI), abs=0.1)
    held = {colour for _, colour in picture.convert("RGB").getcolors(256)}
    assert {(255, 255, 255), *(ImageColor.getrgb(hue) for hue in hues)} <= held
    whole = io.BytesIO()
    with house_style():
        figure.savefig(whole, format="png", facecolor="white")
    true = np.asarray(Image.open(whole).convert("RGB")).astype(int)
    assert np.abs(np.asarray(picture.convert("RGB")) - true).mean() < 0.5
