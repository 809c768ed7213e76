"""Modelling choices: each changes the game, and a study lists what each does."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest
from fixture_folder import pages_of
from pydantic import ValidationError
from tiny_study import tiny_study

from experiments.report.page import write_report
from experiments.report.run import run_study
from experiments.study.choices import AS_IT_IS, CHOICES, choice_row
from experiments.study.design import StudyChoices
from experiments.study.settings import blocks, evaluate, scenarios

AT = StudyChoices(level="club-adult", opponent="attentive", place="corner", rallies=10)


@pytest.mark.parametrize("name", CHOICES)
def test_each_choice_changes_the_game_for_both_sides(name: str) -> None:
    game = tiny_study().game("club-adult", "habit", "middle", 3)
    changed = CHOICES[name](game)
    assert (changed == game) is (name == AS_IT_IS)
    if changed.rule == game.rule:
        assert changed.studied.player == changed.opponent.player
    assert changed.studied.policy == game.studied.policy and changed.world == game.world


def test_choices_are_scenarios_of_their_own_and_keep_no_stroke_rows() -> None:
    study = tiny_study(choices=AT, settings=("rally",), rallies=10)
    tried = [s for s in scenarios(study) if s.choice is not None]
    assert [s.choice for s in tried] == list(CHOICES)
    block = next(b for b in blocks(study) if b.scenario == tried[0])
    assert block.count == AT.rallies
    result = evaluate(study, 3, block)
    assert result.rows == [] and len(result.tallies) == len(study.policies)


def test_as_it_is_gives_the_cell_of_the_study_itself() -> None:
    at = AT.model_copy(update={"opponent": "habit"})
    study = tiny_study(choices=at, settings=("rally",), rallies=10)
    same = [b for b in blocks(study) if b.scenario.place == "corner" and b.scenario.choice is None]
    plain = next(b for b in same if b.scenario.opponent == "habit")
    tried = next(b for b in blocks(study) if b.scenario.choice == AS_IT_IS)
    rows = [choice_row("", evaluate(study, 3, b).tallies, "middle") for b in (plain, tried)]
    assert rows[0] == rows[1]


def test_a_study_writes_and_shows_its_choices(tmp_path: Path) -> None:
    study = tiny_study(choices=AT, settings=("rally",), rallies=10)
    folder = run_study(study, tmp_path / "out", seed=3, workers=1, progress=False)
    table = pd.read_csv(folder / "choices.csv")
    assert table["choice"].tolist() == list(CHOICES)
    assert (table["reference_missed_per_100_low"] <= table["reference_missed_per_100"]).all()
    write_report(folder)
    page = pages_of(folder)
    assert "What each modelling choice does" in page
    assert all(name in page for name in CHOICES)


def test_a_place_that_the_study_has_not_is_refused() -> None:
    with pytest.raises(ValidationError, match="place of the choices"):
        tiny_study(choices=AT.model_copy(update={"place": "cornr"}))
