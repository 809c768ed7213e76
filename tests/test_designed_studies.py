"""Studies with factors: what they play, what they write, and what `study --check` says of them."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pandas as pd
import pytest
from click.testing import CliRunner
from tiny_study import only, run_tiny, without_pages

from experiments.command.main import main
from experiments.study.bundled import bundled
from experiments.study.design import Study
from experiments.study.factors import Factors
from experiments.study.file import load_study, study_schema
from experiments.study.plan import plan_text
from experiments.study.settings import blocks, scenarios
from sim.errors import InputError

SPEEDS = Factors.model_validate(
    {
        "outcomes": ["missed_per_100", "missed_fewer_than_middle_per_100"],
        "vary": [{"name": "legs.top_speed_m_s", "of": "studied", "plus": [0.0, -1.5, 2.0]}],
    }
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    with pytest.MonkeyPatch.context() as patch:
        without_pages(patch)
        study = only("placed", factors=SPEEDS, placed_balls=300, opponents=["pressing"])
        return run_tiny(study, tmp_path_factory.mktemp("designed") / "out")


def test_the_study_as_it_stands_is_played_beside_its_points(folder: Path) -> None:
    cells, points = pd.read_csv(folder / "cells.csv"), pd.read_csv(folder / "points.csv")
    designed = pd.read_csv(folder / "designed.csv")
    assert list(points["studied legs.top_speed_m_s"]) == pytest.approx([6.2, 4.7, 8.2])
    missed = cells[cells.outcome == "missed_per_100"].set_index("policy").estimate
    same = designed[(designed.outcome == "missed_per_100") & (designed.point == 0)]
    # A point that changes nothing gives the study's own numbers: the chance is the same.
    assert same.set_index("policy").estimate.to_dict() == missed.to_dict()


def test_only_the_outcomes_asked_for_are_kept_of_points(folder: Path) -> None:
    designed = pd.read_csv(folder / "designed.csv")
    assert set(designed.outcome) == {"missed_per_100", "missed_fewer_than_middle_per_100"}
    assert len(pd.read_csv(folder / "cells.csv").outcome.unique()) > 5


def test_faster_legs_miss_fewer_of_the_same_balls(folder: Path) -> None:
    designed = pd.read_csv(folder / "designed.csv")
    missed = designed[(designed.outcome == "missed_per_100") & (designed.policy == "middle")]
    usual, slow, fast = missed.sort_values("point").estimate
    assert slow > usual > fast


def test_a_run_from_the_folder_gives_the_same_bytes(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    without_pages(monkeypatch)
    again = run_tiny(load_study(folder / "study.toml"), tmp_path / "again", workers=2)
    for name in ("points.csv", "designed.csv", "cells.csv", "strokes.parquet", "study.toml"):
        assert (again / name).read_bytes() == (folder / name).read_bytes(), name


def test_points_are_scenarios_beside_the_plain_ones() -> None:
    study = only("placed", factors=SPEEDS)
    assert [s.point for s in scenarios(study)] == [None, 0, 1, 2]
    assert len(blocks(study)) == 4


def test_the_plan_names_factors_and_sizes() -> None:
    said = plan_text(only("placed", factors=SPEEDS), 2)
    assert "grid: 3 points of 1 factors" in said
    assert "studied legs.top_speed_m_s: 6.2, 4.7, 8.2" in said
    assert "placed, at the points: 3 scenarios x 4 policies x 40 balls" in said
    assert "on 2 processes" in said


@pytest.mark.parametrize("name", bundled())
def test_bundled_studies_are_sound_and_fit_the_schema(name: str) -> None:
    study = load_study(Path(name))
    assert study.question
    jsonschema.validate(study.model_dump(mode="json", exclude_none=True), study_schema())


def test_the_schema_is_one_and_refuses_what_the_study_refuses() -> None:
    """The schema against the meta-schema of JSON Schema 2020-12, through the jsonschema package."""
    schema = study_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    wrong = only("placed", factors=SPEEDS).model_dump(mode="json", exclude_none=True)
    wrong["factors"]["vary"][0]["name"] = "legs.speed"
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(wrong, schema)
    assert set(schema["properties"]) == set(Study.model_fields)
    assert all(p.get("description") for p in schema["properties"].values())


def test_the_command_prints_plan_and_schema_and_runs_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "mine.toml").write_text(only("placed", factors=SPEEDS).toml(), "utf-8")
    said = CliRunner().invoke(main, ["study", "mine.toml", "--check"])
    assert said.exit_code == 0, said.output
    assert "3 points" in said.output
    schema = CliRunner().invoke(main, ["study", "--schema"])
    assert json.loads(schema.output) == study_schema()
    assert [p.name for p in tmp_path.iterdir()] == ["mine.toml"]


def test_an_unknown_study_names_the_bundled_ones() -> None:
    with pytest.raises(InputError, match="main"):
        load_study(Path("no-such-study"))
