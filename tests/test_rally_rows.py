"""One row a rally of the headline cells: what it holds, and that a headline is redone from it."""

from __future__ import annotations

import re
from contextlib import redirect_stdout
from io import StringIO
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from pydantic import ValidationError
from scipy.stats import ttest_rel
from tiny_study import only, run_tiny, tiny_study, without_pages

from experiments.statistics.tally import replicate_table
from experiments.study import runner
from experiments.study.bundled import bundled
from experiments.study.file import load_study, parse_study
from experiments.study.folder_files import listed, sha256
from experiments.study.plan import plan_text
from experiments.study.rally_rows import MET, NONE, SPARE, ZONES, rally_rows, zones_at
from experiments.study.settings import Block, evaluate, scenarios
from sim.errors import InputError
from sim.kinds import KINDS
from sim.records import (
    GOING,
    IN,
    MISSED,
    OPPONENT,
    SET,
    STROKE,
    STUDIED,
    UNFORCED_ERROR,
    UNRETURNED,
    WINNER,
)

PAGE = Path(__file__).resolve().parent.parent / "results" / "README.md"
CODE = re.compile(r"^```python\n(.*?)^```", re.MULTILINE | re.DOTALL)
HEADLINE = {"settings": ["returning", "recovery", "rally"], "policies": ["bisector"]}
SETTINGS = ["rally", "recovery", "returning", "serving"]
STUDY = {
    "settings": SETTINGS,
    "levels": ["college-man", "under-12"],
    "policies": ["middle", "bisector", "linear-shade,shade_m_per_m=0.2"],
    "hand": "left",
    "own_strokes": ["crosscourt"],
    "rallies": 300,
    "headline": HEADLINE,
}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    with pytest.MonkeyPatch.context() as patch:
        without_pages(patch)
        return run_tiny(only("rally", **STUDY), tmp_path_factory.mktemp("rallies") / "out")


@pytest.fixture(scope="module")
def rallies(folder: Path) -> pd.DataFrame:
    return pd.read_parquet(folder / "rallies.parquet")


@pytest.fixture(scope="module")
def cells(folder: Path) -> pd.DataFrame:
    return pd.read_csv(folder / "cells.csv", keep_default_na=False, na_values=[""])


# --- redone by hand ---------------------------------------------------------------------------


@pytest.mark.parametrize("setting", ["returning", "rally"])
@pytest.mark.parametrize("level", ["college-man", "under-12"])
def test_the_lines_of_the_page_give_the_headline_and_its_interval(
    folder: Path, cells: pd.DataFrame, setting: str, level: str
) -> None:
    """The page's own text, run on a study played just now: to the last digit of cells.csv."""
    ten, *more = CODE.findall(PAGE.read_text("utf-8"))
    assert len(list(filter(None, ten.splitlines()))) == 10
    text = "\n".join([ten, *more]).replace("results/whole-points/rallies.parquet", "{file}")
    for page, here in (("'returning'", repr(setting)), ("'college-man'", repr(level))):
        assert text.count(page) == 1
        text = text.replace(page, here)
    said = StringIO()
    with redirect_stdout(said):
        exec(text.replace("{file}", str(folder / "rallies.parquet")), {})
    points, missed, *table = said.getvalue().splitlines()
    own = cells.query("setting == @setting and level == @level and policy == 'bisector'")
    for line, outcome in ((points, "points_more"), (missed, "missed_fewer")):
        cell = own[own["outcome"] == f"{outcome}_than_middle_per_100"].iloc[0]
        wanted = f"{cell['estimate']:.6g} ({cell['low']:.6g} to {cell['high']:.6g})"
        assert line.startswith(wanted)
    assert cell["estimate"] != 0.0
    lost = [float(row.split()[-1]) for row in table if row.split()[-1][-1].isdigit()]
    won = own[own["outcome"] == "points_won_per_100"]["estimate"].iloc[0]
    assert sum(lost) == pytest.approx(100 - won, abs=1e-4)


def test_the_interval_is_that_of_a_paired_t_test_and_a_little_more(
    rallies: pd.DataFrame, cells: pd.DataFrame
) -> None:
    """Outside value: `scipy.stats.ttest_rel`, whose interval has no room for what was not seen."""
    own = rallies.query("setting == 'returning' and level == 'college-man'")
    won = own.pivot(index="replicate", columns="policy", values="points")
    plain = ttest_rel(won["bisector"], won["middle"]).confidence_interval()
    cell = cells.query(
        "setting == 'returning' and level == 'college-man' and policy == 'bisector'"
        " and outcome == 'points_more_than_middle_per_100'"
    ).iloc[0]
    assert cell["low"] < 100 * plain.low and cell["high"] > 100 * plain.high
    assert cell["high"] - 100 * plain.high < 0.15  # a tenth of a point with so few rallies


# --- what is kept -----------------------------------------------------------------------------


def test_the_cells_named_are_kept_and_no_others(rallies: pd.DataFrame) -> None:
    assert set(rallies["setting"]) == set(HEADLINE["settings"])
    assert set(rallies["policy"]) == {"middle", "bisector"}
    sizes = rallies.groupby(["setting", "level", "policy"], observed=True)["replicate"]
    wanted = {"returning": 300, "rally": 300, "recovery": 40}
    for (setting, _, _), numbers in sizes:
        assert sorted(numbers) == list(range(wanted[setting]))


def test_rows_add_up_to_the_cells(rallies: pd.DataFrame, cells: pd.DataFrame) -> None:
    labels = ["setting", "level", "policy"]
    found = cells.set_index([*labels, "outcome"])["estimate"]
    for key, own in rallies.groupby(labels, observed=True):
        missed = 100 * own["missed"].sum() / own["balls"].sum()
        assert missed == pytest.approx(found[(*key, "missed_per_100")], rel=1e-5)
        if key[0] == "recovery":
            assert own["points"].isna().all()
        else:
            won, strokes = 100 * own["points"].mean(), own["strokes"].mean()
            assert won == pytest.approx(found[(*key, "points_won_per_100")], rel=1e-5)
            assert strokes == pytest.approx(found[(*key, "strokes_per_rally")], rel=1e-5)


def test_rows_agree_with_each_other(rallies: pd.DataFrame) -> None:
    zones = [name for name in rallies if name.startswith("balls_")]
    assert (rallies[zones].sum(axis=1) == rallies["balls"]).all()
    assert ((rallies["last_met"] == "not reached") == (rallies["missed"] == 1)).all()
    assert (rallies["last_spare"].str.startswith("late") == (rallies["missed"] == 1)).all()
    for name in ("last_from", "last_met", "last_spare"):
        assert (rallies[name].isna() == (rallies["balls"] == 0)).all()
    lost = rallies[rallies["points"] == 0]
    assert set(lost["last_met"].dropna()) == set(MET) and (rallies["points"] == 0.5).sum() == 0


def test_a_study_without_a_headline_keeps_none(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    without_pages(monkeypatch)
    out = run_tiny(only("rally"), tmp_path / "out")
    assert not (out / "rallies.parquet").exists() and not (out / "where.csv").exists()


def test_the_bytes_do_not_depend_on_workers_or_interruptions(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    without_pages(monkeypatch)
    study = only("rally", **STUDY)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(runner, "write_columns", lambda folder: (_ for _ in ()).throw(SystemExit))
        with pytest.raises(SystemExit):
            run_tiny(study, tmp_path / "out", workers=2)
    partial = tmp_path / "out.partial"
    (partial / "blocks" / "0000001.block").unlink()
    assert (partial / "rallies.parquet").exists()
    out = run_tiny(None, tmp_path / "out", resume=True)  # type: ignore[arg-type]
    for name in ("rallies.parquet", "where.csv", "cells.csv"):
        assert (out / name).read_bytes() == (folder / name).read_bytes()
        assert listed(out)[name] == sha256(out / name)


def test_a_rally_of_a_headline_takes_few_bytes(folder: Path, rallies: pd.DataFrame) -> None:
    """Most of a small file is its schema: more rallies cost about 3 bytes each."""
    assert (folder / "rallies.parquet").stat().st_size < 9000 + 8 * len(rallies)


# --- names in the study file ------------------------------------------------------------------


def test_check_says_how_many_cells_are_kept() -> None:
    assert "6 cells, of which a row is kept" in plan_text(only("rally", **STUDY), 1)


def test_a_headline_reads_back_and_names_results_as_they_are_shown() -> None:
    study = tiny_study(headline={"places": ["corner"], "policies": ["linear-shade 0.20"]})
    assert parse_study(study.toml(), "copy") == study
    kept = evaluate(study, 3, Block(scenarios(study)[1], 0, 4)).rallies
    assert list(kept) == ["middle", "linear-shade 0.20"]
    assert evaluate(study, 3, Block(scenarios(study)[0], 0, 4)).rallies == {}


@pytest.mark.parametrize(
    ("headline", "said"),
    [
        ({"levels": ["colege-man"]}, "name in the headline's levels 'colege-man'"),
        ({"policies": ["linear-shade,shade_m_per_m=0.2"]}, "Did you mean 'linear-shade 0.20'"),
        ({"settings": ["serving"]}, "Valid: placed, rally, recovery"),
        ({"places": ["short wide"]}, "headline's places"),
        ({"own_strokes": ["down-the-line"]}, "Valid: crosscourt, middle"),
        ({"level": ["club-adult"]}, "level"),
        ({"levels": "club-adult"}, "levels"),
    ],
)
def test_a_headline_of_what_is_not_there_is_refused(headline: object, said: str) -> None:
    with pytest.raises((InputError, ValidationError), match=re.escape(said)):
        tiny_study(headline=headline)


def test_a_wrong_key_is_told_with_those_that_are_allowed() -> None:
    text = tiny_study(headline={}).toml().replace("[headline]", '[headline]\nlevel = ["one"]')
    with pytest.raises(InputError, match=r"(?s)headline.*levels"):
        parse_study(text, "study")


@pytest.mark.parametrize("name", bundled())
def test_every_bundled_study_keeps_its_headline(name: str) -> None:
    study = load_study(Path(name))
    assert study.headline is not None
    held = [s for s in scenarios(study) if study.headline.holds(s)]
    assert (held and len(held) < len(scenarios(study))) or len(scenarios(study)) == 1


# --- a record worked by hand ------------------------------------------------------------------


def test_places_of_the_main_study_lie_in_the_zones_of_their_names() -> None:
    places = load_study(Path("main")).places
    zones = zones_at(np.array([p.x_m for p in places]), np.array([p.y_m for p in places]))
    assert [ZONES[z] for z in zones] == [p.name for p in places]
    mirrored = zones_at(np.array([-p.x_m for p in places]), np.array([p.y_m for p in places]))
    assert np.array_equal(mirrored, zones)
    assert [ZONES[z] for z in zones_at(np.array([1.5, 0.2]), np.array([12.0, 3.0]))] == [
        "off centre",
        "short",
    ]


def test_rows_of_three_rallies_worked_by_hand() -> None:
    """Lost to a winner at the second ball; lost by an own error; won at once, the opponent out."""
    drive, none = KINDS.index("drive"), np.nan
    rows = [
        # replicate, stroke, side, hitter x, y, outcome, grade, time to spare, ending
        (4, 0, OPPONENT, 3.1, 11.9, IN, SET, 0.7, GOING),
        (4, 1, STUDIED, -3.0, -12.5, IN, SET, 0.7, GOING),
        (4, 2, OPPONENT, -4.9, 12.2, IN, MISSED, -0.1, WINNER),
        (5, 0, OPPONENT, 0.4, 12.0, IN, SET, 0.3, GOING),
        (5, 1, STUDIED, -3.0, -12.5, IN + 1, SET, none, UNFORCED_ERROR),
        (6, 0, OPPONENT, 0.4, 12.0, IN + 1, SET, none, UNFORCED_ERROR),
        (7, 0, OPPONENT, 4.8, 6.9, IN, SET, 0.1, UNRETURNED),
    ]
    strokes = np.zeros(len(rows), STROKE)
    names = ("replicate", "stroke", "side", "hitter_x_m", "hitter_y_m", "outcome", "grade")
    for name, column in zip(
        (*names, "time_to_spare_s", "ending"), zip(*rows, strict=True), strict=True
    ):
        strokes[name] = column
    strokes["kind"] = drive
    numbers = np.arange(4, 8)
    made = rally_rows(strokes, numbers, replicate_table(strokes, numbers, True))
    assert list(made["points"]) == [0.0, 0.0, 1.0, 0.0]
    assert list(made["balls"]) == [2, 1, 0, 1] and list(made["missed"]) == [1, 0, 0, 0]
    assert list(made["strokes"]) == [3, 2, 1, 1]
    zones = [ZONES[z] if z != NONE else None for z in made["last_from"]]
    assert zones == ["wide", "middle", None, "short wide"]
    met = [MET[m] if m != NONE else None for m in made["last_met"]]
    assert met == ["not reached", "returned", None, "not returned"]
    spare = [SPARE[s][:8] if s != NONE else None for s in made["last_spare"]]
    assert spare == ["late by ", "0.2 to 0", None, "less tha"]
    assert made["balls_from"][0].tolist() == [0, 0, 1, 1, 0, 0]
