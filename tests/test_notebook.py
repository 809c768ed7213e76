"""The names for notebooks: a folder in one line, a run, a spot, pictures."""

from __future__ import annotations

from pathlib import Path

import pytest
from fixture_folder import write_folder
from matplotlib.figure import Figure
from tiny_study import only, without_pages

from experiments import notebook
from experiments.notebook import Results, draw_spot, load, run, spot, study
from experiments.study.file import load_study
from sim.errors import InputError
from strategies.catalogue import make_policy


@pytest.fixture(scope="module")
def results(tmp_path_factory: pytest.TempPathFactory) -> Results:
    small = only("placed", policies=["middle", "bisector"], stroke_rows_per_cell=7)
    with pytest.MonkeyPatch.context() as patch:
        without_pages(patch)
        out = tmp_path_factory.mktemp("notebook") / "out"
        return run(small, out, seed=3, workers=1, progress=False)


def test_every_name_offered_is_there_and_documented() -> None:
    for name in notebook.__all__:
        assert getattr(notebook, name).__doc__, name


def test_a_folder_comes_as_tables(results: Results) -> None:
    assert results.study["seed"] == 3 and results.manifest["seed"] == 3
    assert set(results.cells["policy"]) == {"middle", "bisector"}
    assert len(results.strokes) == 2 * 7 and len(results.rallies) == 2 * 7
    assert (results.strokes["own_stroke"] == "").all() and (results.cells["own_stroke"] == "").all()
    assert results.choices.empty and results.points.empty
    units = results.columns.set_index(["table", "column"])["unit"]
    assert units["strokes", "landing_x_m"] == "m"
    assert set(results.columns[results.columns["table"] == "rallies"]["column"]) == set(
        results.rallies.columns
    )


def test_a_run_can_be_loaded_again_and_is_not_overwritten(results: Results) -> None:
    assert load(str(results.path)).cells.equals(results.cells)
    with pytest.raises(InputError, match="exists"):
        run(results.path / "study.toml", results.path, workers=1, progress=False)


@pytest.mark.parametrize("name", ["spot", "depth", "misread", "fan", "side", "trial", "standing"])
def test_options_beside_a_scene_are_refused(name: str) -> None:
    """They were ignored once: the answer was another opponent's."""
    where = notebook.scene(balls=100, seed=1)
    with pytest.raises(InputError, match=r"hitter, foo: .* give it to scene"):
        getattr(notebook, name)(where, hitter="attentive", foo=1)


def test_a_study_is_the_main_one_with_changes() -> None:
    changed = study(levels=["club-adult"], choices=None, rallies=70)
    assert changed.levels == ("club-adult",) and changed.rallies == 70
    assert changed.choices is None and changed.policies == load_study().policies
    assert study("footspeed").factors is not None
    with pytest.raises(InputError, match="Did you mean 'levels'"):
        study(level="club-adult")


def test_a_folder_without_strokes_says_so(tmp_path: Path) -> None:
    found = load(write_folder(tmp_path / "a", levels=["club-adult"], settings=["placed"]))
    with pytest.raises(InputError, match=r"strokes\.parquet' is missing"):
        _ = found.strokes
    with pytest.raises(InputError, match="not a whole result folder"):
        load(tmp_path)


def test_a_spot_with_an_own_policy_is_drawn(results: Results) -> None:
    own = make_policy("linear-shade,shade_m_per_m=0.3")
    found = spot((3.1, 11.9), policies=[own, "linear-shade,shade_m_per_m=0.6"], balls=200, seed=1)
    at = {p.name: p.x_m for p in found.policies}
    assert at["linear-shade 0.30"] == pytest.approx(-0.93)
    assert at["linear-shade 0.60"] == pytest.approx(-1.86)
    court, curve = Figure().subplots(2)
    assert draw_spot(court, curve, found)
    with pytest.raises(InputError, match="unknown"):
        spot((3.1, 11.9), player="nobody")


def test_every_picture_takes_what_an_answer_gives(results: Results) -> None:
    """Each draw_ function on axes of its own, with the answer that is made for it."""
    at = notebook.scene((3.0, 12.0), balls=100, seed=1)
    found = notebook.spot(at)
    cells = results.cells
    given = {
        "draw_above": notebook.above(found),
        "draw_contact_map": notebook.contacts(step_m=2.0, balls=100, seed=1),
        "draw_curve": found,
        "draw_difference": cells,
        "draw_fan": notebook.fan(at),
        "draw_missed": cells,
        "draw_side": notebook.side(at, stand_m=(0.0, -12.5)),
        "draw_standing_map": notebook.standing(at, policies=["middle"]),
        "draw_time_line": notebook.rally(seed=1),
        "draw_trial": notebook.trial(at),
        "draw_yardstick": results.shades(place="corner"),
    }
    drawn = {n for n in notebook.__all__ if n.startswith("draw_")}
    assert set(given) == drawn - {"draw_court", "draw_depth", "draw_spot"}
    for name, answer in given.items():
        assert getattr(notebook, name)(Figure().subplots(), answer), name
    assert notebook.draw_court(Figure().subplots())
    deep = notebook.depth(at, depths_m=(0.0, 4.0, 2.0), rallies=300)
    assert notebook.draw_depth(*Figure().subplots(2), deep)
    assert "\n" not in repr(deep) and len(repr(deep)) < 600


def test_answers_show_themselves_in_a_line(results: Results) -> None:
    at = notebook.scene((3.0, 12.0), balls=100, seed=1)
    found = notebook.spot(at)
    many = notebook.fan(at), notebook.above(found), notebook.standing(at), notebook.rally(seed=1)
    pair = notebook.contacts(step_m=2.0, balls=100, seed=1), notebook.side(at)
    alone = at.player, at.world, notebook.study("first")
    for thing in (results, at, found, *many, *pair, *alone):
        assert "\n" not in repr(thing) and len(repr(thing)) < 600, repr(thing)
    frame = found.frame
    assert list(frame["name"]) == [p.name for p in found.policies]
    assert (frame["missed_low"] <= frame["missed_per_100"]).all()
