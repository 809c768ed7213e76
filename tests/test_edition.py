"""Editions of the model: the list, what changed since, how to cite, what a report says."""

from __future__ import annotations

import json
import tomllib
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from fixture_folder import write_folder

from experiments.command.main import main
from experiments.edition import changed_since, citation, edition_of, editions, this_edition
from experiments.report.page import write_report
from experiments.study.provenance import made_with

ROOT = Path(__file__).resolve().parent.parent


def test_editions_are_in_order_and_the_last_has_the_packages_version() -> None:
    assert [e.number for e in editions()] == list(range(1, len(editions()) + 1))
    assert all(a.date <= b.date for a, b in pairwise(editions()))
    with (ROOT / "pyproject.toml").open("rb") as file:
        assert this_edition().version == tomllib.load(file)["project"]["version"]


def test_a_manifest_names_the_edition_that_ran() -> None:
    assert edition_of(made_with()) == this_edition()
    assert changed_since(this_edition()) == ()
    assert changed_since(editions()[1]) == editions()[2:]


@pytest.mark.parametrize("manifest", [{}, {"edition": 10_000}, {"edition": 0}, {"edition": "x"}])
def test_an_edition_that_is_not_known_is_none(manifest: dict[str, Any]) -> None:
    assert edition_of(manifest) is None
    assert "(edition not recorded" in citation(manifest).words


def test_a_citation_names_authors_year_version_and_source() -> None:
    """Outside check: the parts of a software reference in APA 7 (section 10.10), from memory:
    author, year, title, version, and what it is, in that order."""
    cited = citation({"edition": 2, "source_hash": "0123456789abcdef", "seed": 7})
    edition = editions()[1]
    parts = ("authors (", str(edition.date.year), "rally-recovery:", edition.version, "[Computer")
    at = [cited.words.index(part) for part in parts]
    assert at == sorted(at)
    assert "source 0123456789ab, seed 7" in cited.words and "0123456789abc" not in cited.words
    assert cited.bibtex.startswith("@software{") and cited.bibtex.count("{") == cited.bibtex.count(
        "}"
    )


def report_of(folder: Path, **manifest: Any) -> str:
    made = json.loads((folder / "manifest.json").read_text("utf-8")) | manifest
    (folder / "manifest.json").write_text(json.dumps(made), "utf-8")
    return write_report(folder).read_text("utf-8")


def test_a_report_says_what_changed_since_its_numbers_were_made(tmp_path: Path) -> None:
    folder = write_folder(tmp_path / "a", levels=["club-adult"], settings=["placed"])
    (folder / "manifest.json").write_text("{}", "utf-8")
    assert "is not recorded" in report_of(folder)
    old = report_of(folder, edition=len(editions()) - 1)
    assert this_edition().what in old and editions()[0].what not in old
    assert f"made with edition {len(editions()) - 1} of the model" in old
    now = report_of(folder, edition=len(editions()))
    assert "Nothing: these numbers" in now and "@software{" in now


def test_the_changes_are_listed() -> None:
    told = CliRunner().invoke(main, ["list", "changes"])
    assert told.exit_code == 0
    assert len(told.output.splitlines()) == len(editions())
