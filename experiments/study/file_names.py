"""Names of the files in a result folder."""

from __future__ import annotations

STUDY, MANIFEST, SUMMARY = "study.toml", "manifest.json", "summary.json"
REPORT, COLUMNS, RUN_FILE = "report.html", "columns.csv", "run.json"
CELLS, CHOICES_FILE, STROKES = "cells.csv", "choices.csv", "strokes.parquet"
POINTS_FILE, DESIGNED_FILE, PRECISION_FILE = "points.csv", "designed.csv", "precision.csv"
TABLES = {
    "cells": CELLS,
    "choices": CHOICES_FILE,
    "points": POINTS_FILE,
    "designed": DESIGNED_FILE,
    "precision": PRECISION_FILE,
    "strokes": STROKES,
}
# What a study with factors gets besides (experiments.evidence.sensitivity); labelled as cells are.
ANALYSES = {
    "one_at_a_time": "one_at_a_time.csv",
    "sensitivity": "sensitivity.csv",
    "draws": "draws.csv",
    "assumptions": "assumptions.csv",
    "turning": "turning.csv",
}
