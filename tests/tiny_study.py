"""A study small enough for tests, and runs of it without pictures and report page."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from experiments.report import run as shown_run
from experiments.study.design import Study
from experiments.study.file import parse_study

TINY = """
title = "A tiny study"
levels = ["club-adult"]
opponents = ["habit", "open-court"]
own_strokes = ["crosscourt", "middle"]
policies = ["middle", "stay", "bisector", "linear-shade,shade_m_per_m=0.2"]
placed_balls = 40
recovery_balls = 40
rallies = 12
stroke_rows_per_cell = 5

[[places]]
name = "middle"
x_m = 0.0
y_m = 11.885

[[places]]
name = "corner"
x_m = 3.115
y_m = 11.885
"""

OWN_POLICY = '''
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Slow:
    """Stands a step to the left."""

    shift_m: float = -0.7

    @property
    def name(self) -> str:
        return f"a step over {self.shift_m:g}"

    def spots(self, seen):
        return np.stack([np.full(len(seen), self.shift_m), np.full(len(seen), -13.0)], axis=1)
'''


def tiny_study(**changes: Any) -> Study:
    """The tiny study with other values, checked anew."""
    values = parse_study(TINY, "the tiny study").model_dump(exclude_none=True)
    return Study.model_validate({**values, **changes})


def only(setting: str, **changes: Any) -> Study:
    """The tiny study in one setting, from the corner, against the habit."""
    corner = [{"name": "corner", "x_m": 3.115, "y_m": 11.885}]
    values = {"settings": [setting], "opponents": ["habit"], "places": corner}
    return tiny_study(**{**values, **changes})


def without_pages(patch: pytest.MonkeyPatch) -> None:
    """Leave out pictures and report page, which have tests of their own and take seconds."""
    patch.setattr(shown_run, "write_pictures", lambda folder: None)
    patch.setattr(shown_run, "write_report_page", lambda folder: None)


def run_tiny(study: Study, out: Path, **options: Any) -> Path:
    """Run a study in this process, silently, unless `options` say else."""
    return shown_run.run_study(
        study, out, **{"workers": 1, "progress": False, "seed": 3, **options}
    )
