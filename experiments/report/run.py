"""Runs a study and makes of its tables all that is shown: further tables, figures, the report."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from experiments.study import runner
from experiments.study.design import Study


def run_study(study: Study | None, out: Path, **options: Any) -> Path:
    """Run a study into the folder `out` and return it: `study.runner.run_study`, all shown.

    Raises:
        InputError: as that function.
    """
    shown = runner.Shown(write_analysis, write_pictures, write_report_page)
    return runner.run_study(study, out, shown, **options)


def write_analysis(folder: Path) -> None:
    """Write what the points of the factors say together, and the summary, from the tables."""
    from experiments.evidence.sensitivity.analysis import write_analysis
    from experiments.report.headline import write_summary

    write_analysis(folder)
    write_summary(folder)


def write_pictures(folder: Path) -> None:
    """Draw the study's figures from the files of the folder."""
    from experiments.report.figures import study_figures

    study_figures(folder)


def write_report_page(folder: Path) -> None:
    """Write report.html from the files of the folder."""
    from experiments.report.page import write_report

    write_report(folder)
