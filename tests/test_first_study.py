"""The study of the bare command: cells of the main one, few enough and with rallies enough."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
from click.testing import CliRunner

from experiments.command.main import main
from experiments.statistics.comparison import level_together
from experiments.statistics.estimates import LEVEL, quantile
from experiments.study.file import first_study, load_study
from experiments.study.folder_files import held

MAIN = Path(__file__).parents[1] / "results" / "main"


def test_the_bare_command_names_the_first_study() -> None:
    said = CliRunner().invoke(main, ["study", "--check"])
    assert said.exit_code == 0, said.output
    assert said.output.splitlines()[0] == first_study().title
    assert "`study main`" in first_study().question  # where the rest is


def test_it_is_a_part_of_the_main_study() -> None:
    first, whole = first_study(), load_study()
    for of in ("settings", "levels", "opponents", "policies", "places"):
        assert set(getattr(first, of)) < set(getattr(whole, of)), of
    for of in ("reference", "own_shots", "opponent_policy", "surface", "depth_m", "limits"):
        assert getattr(first, of) == getattr(whole, of), of


def test_it_plays_fewer_rallies_and_balls_than_the_main_one() -> None:
    first, whole = first_study(), load_study()

    def cells(study: object) -> int:
        parts = ("levels", "opponents", "places", "policies")
        counts = [len(getattr(study, part)) for part in parts]
        return counts[0] * counts[1] * counts[2] * counts[3]

    assert whole.choices is not None
    choices = 16 * len(whole.policies) * whole.choices.rallies
    rallies = cells(whole) * whole.rallies + choices
    assert cells(first) * first.rallies <= rallies
    assert first.recovery_balls and "recovery" not in first.settings


def test_its_rallies_decide_what_the_stored_main_study_found() -> None:
    """From the spread of the stored rallies: the intervals of as many rallies as it may play."""
    first, cells = first_study(), pd.read_csv(held(MAIN, "cells.csv"))
    stored = cells[
        (cells["setting"] == "rally")
        & (cells["policy"] == "bisector")
        & (cells["outcome"] == "points_more_than_middle_per_100")
        & cells["level"].isin(first.levels)
        & cells["opponent"].isin(first.opponents)
        & cells["place"].isin([p.name for p in first.places])
    ]
    assert len(stored) == 8
    looks = first.looks_allowed("rally")
    together, most = (
        level_together(len(first.policies) - 1, looks),
        first.rallies * 2 ** (looks - 1),
    )
    assert first.race is not None and first.race_verdicts and most == first.most_replicates
    wider = quantile(together, most) / quantile(LEVEL, load_study(MAIN / "study.toml").rallies)
    half = (stored["high"] - stored["low"]) / 2 * wider * (stored["n"] / most) ** 0.5
    undecided = (stored["estimate"].abs() <= half) & (stored["estimate"].abs() + half > 0.5)
    assert undecided.sum() <= 2
