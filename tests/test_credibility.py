"""The self-assessment: every factor, honest numbers, evidence that is there."""

from __future__ import annotations

import importlib.util
import shlex
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest
from pinned_rows import LEGS, PHYSICS, SIMULATED

from experiments.evidence.validation.rows import FILE, stored_record
from experiments.report.credibility import LEVELS, Evidence, Factor, factors, facts, page

ROOT = Path(__file__).resolve().parent.parent
EVIDENCE = [(f.name, e) for f in factors() for e in f.evidence]


def test_the_factors_are_those_of_the_standard() -> None:
    """The eight of NASA-STD-7009A (2016), as its users cite them, and one of the first edition."""
    assert [f.name for f in factors()] == [
        "Data pedigree",
        "Verification",
        "Validation",
        "Input pedigree",
        "Uncertainty characterization",
        "Results robustness",
        "Use history",
        "Model management",
        "People qualifications",
    ]


@pytest.mark.parametrize("factor", factors(), ids=lambda f: f.name)
def test_each_factor_claims_a_level_and_says_why(factor: Factor) -> None:
    assert len(factor.steps) == LEVELS and len(set(factor.steps)) == LEVELS
    assert 0 <= factor.level < LEVELS and factor.reached == factor.steps[factor.level]
    assert len(factor.why.split()) > 8 and factor.missing.endswith(".")
    assert factor.evidence or factor.level == 0
    assert "{" not in factor.why


@pytest.mark.parametrize(("factor", "evidence"), EVIDENCE, ids=lambda x: getattr(x, "at", x))
def test_evidence_is_there(factor: str, evidence: Evidence) -> None:
    assert evidence.says and evidence.kind in ("test", "command", "file")
    if evidence.kind != "command":
        assert (ROOT / evidence.at).is_file()
        assert (evidence.kind == "test") == Path(evidence.at).name.startswith("test_")
        return
    program, *words = shlex.split(evidence.at)
    if program == "python":
        assert (ROOT / words[0]).is_file() or importlib.util.find_spec(words[1]) is not None
    else:
        assert program == "rally-recovery"
        assert_parses(words)


def assert_parses(words: list[str]) -> None:
    """The command exists and takes these options."""
    from experiments.command.main import main

    command = main.commands[words[0]]
    command.make_context(words[0], words[1:])


def test_numbers_are_those_of_the_stored_validation_and_the_parameters() -> None:
    known = facts()
    assert known["agree"] + known["disagree"] + known["unclear"] == known["checks"]
    said = next(f.why for f in factors() if f.name == "Validation")
    for name in ("checks", "agree", "disagree", "unclear"):
        assert f" {known[name]} " in said
    parts = ("assumed", "memory", "fitted", "published")
    assert sum(known[name] for name in parts) == known["parameters"]


def test_levels_do_not_flatter() -> None:
    """More disagreements than agreements is no agreement; unused is unused."""
    level = {f.name: f.level for f in factors()}
    known = facts()
    if known["agree"] <= known["disagree"]:
        assert level["Validation"] <= 1
    if known["assumed"] > known["parameters"] / 2:
        assert level["Input pedigree"] <= 1
    assert level["Use history"] == 0


def test_the_stored_validation_is_that_of_the_model() -> None:
    """Figures, kinds and verdicts as pinned; `record.py` says how it is made anew."""
    pins = PHYSICS | LEGS | SIMULATED
    rows = {row["row"]: row for row in stored_record().rows}
    assert set(rows) == set(pins)
    for key, pin in pins.items():
        row = rows[key]
        assert (row["kind"], row["verdict"]) == (pin.kind, pin.verdict), f"{FILE}: {key}"
        published = row["published"] if isinstance(row["published"], list) else [row["published"]]
        assert published == pytest.approx(list(pin.published), rel=1e-5)


def test_verdicts_of_the_stored_validation_are_counted() -> None:
    record = stored_record()
    count = Counter(r["verdict"] for r in record.rows if r["kind"] == "check")
    assert record.verdicts == dict(count)
    assert sum(len(keys) for _, _, keys, _ in record.sources) == len(record.rows)


def test_the_page_holds_every_factor_and_its_evidence() -> None:
    text = "\n".join(page())
    for factor in factors():
        assert f"## {factor.name}: {factor.level} of 4" in text and factor.why in text
        assert all(f"`{e.at}`" in text for e in factor.evidence)


def test_the_command_prints_the_page() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "experiments.report.credibility"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout == "\n".join(page()) + "\n"


def test_a_reader_that_goes_is_no_mistake() -> None:
    script = f"{sys.executable} -m experiments.report.credibility | head -1"
    done = subprocess.run(["bash", "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout == "# How far the model can be trusted\n" and done.stderr == ""
