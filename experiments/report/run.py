"""Runs a study and makes of its tables all that is shown: further tables, figures, the report."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from experiments.study import runner
from experiments.study.design import Study
from experiments.study.folder_files import (
    ANALYSES,
    DESIGNED_FILE,
    MANIFEST,
    REPORT,
    SUMMARY,
    file_hashes,
    held,
    table_of,
)
from sim.whole_file import write_whole


def run_study(study: Study | None, out: Path, **options: Any) -> Path:
    """Run a study into the folder `out` and return it: `study.runner.run_study`, all shown.

    Raises:
        InputError: as that function.
    """
    shown = runner.Shown(write_analysis, write_pictures, write_report_page)
    return runner.run_study(study, out, shown, **options)


def show_again(folder: Path) -> Path:
    """Make all that is shown of a result folder again, from its tables, and write the hashes of the
    new files into its manifest; returns the report's path.

    Where the cells of the points are left out, the tables that were made of them stay.

    Raises:
        InputError: the folder is not one that a study wrote, or a file cannot be written.
    """
    from experiments.report.summary import write_summary

    made = [SUMMARY]
    if held(folder, DESIGNED_FILE).exists():
        write_analysis(folder)
        made += [name for name in ANALYSES.values() if held(folder, name).exists()]
    else:
        write_summary(folder)
    write_pictures(folder)
    made += [f"figures/{path.name}" for path in sorted((folder / "figures").iterdir())]
    manifest = table_of(folder / MANIFEST)
    manifest["files"] = manifest.get("files", {}) | file_hashes(folder, made)
    write_whole(folder / MANIFEST, (json.dumps(manifest, indent=1) + "\n").encode())
    write_report_page(folder)
    return folder / REPORT


def write_analysis(folder: Path) -> None:
    """Write what the points of the factors say together, and the summary, from the tables."""
    from experiments.evidence.sensitivity.analysis import write_analysis
    from experiments.report.summary import write_summary

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
