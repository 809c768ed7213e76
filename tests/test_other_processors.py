"""The bytes of tables and answers in the environment of another processor and matrix library.

NumPy, the matrix library and the C library choose by processor how they round; told to do as an
old one would, their own numbers change, and none of ours may.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest

TESTS = Path(__file__).parent
WHEN_RUN = "manifest.json"  # holds dates and seconds


def older() -> dict[str, str]:
    """What makes the libraries do as an old processor would."""
    umath = np._core._multiarray_umath  # type: ignore[attr-defined]
    chosen = [name for name in umath.__cpu_dispatch__ if umath.__cpu_features__.get(name)]
    return {
        "OPENBLAS_CORETYPE": "Prescott",
        "NPY_DISABLE_CPU_FEATURES": ",".join(chosen),
        "GLIBC_TUNABLES": "glibc.cpu.hwcaps=-AVX2,-FMA,-AVX512F",
    }


def played(folder: Path, changed: dict[str, str]) -> Path:
    folder.mkdir()
    paths = os.pathsep.join([str(TESTS), str(TESTS.parent)])
    command = [sys.executable, str(TESTS / "a_little_of_all.py"), str(folder)]
    environment = {**os.environ, "PYTHONPATH": paths, **changed}
    done = subprocess.run(command, env=environment, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return folder


@pytest.fixture(scope="module")
def both(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """What is played here, and what where the libraries do as an old processor would."""
    above = tmp_path_factory.mktemp("digits")
    with ThreadPoolExecutor() as pool:
        here, there = pool.map(played, (above / "here", above / "there"), ({}, older()))
    return here, there


def test_tables_and_answers_have_the_same_bytes(both: tuple[Path, Path]) -> None:
    here, there = (
        {f.relative_to(folder): f.read_bytes() for f in folder.rglob("*") if f.is_file()}
        for folder in both
    )
    assert set(here) == set(there) and len(here) >= 20
    unlike = {f.as_posix() for f in here if here[f] != there[f] and f.name != WHEN_RUN}
    assert unlike <= {"others.json"}


@pytest.mark.skipif(
    not older()["NPY_DISABLE_CPU_FEATURES"] or not sys.platform.startswith("linux"),
    reason="nothing here chooses by processor, or it cannot be told to do otherwise",
)
def test_the_libraries_own_numbers_change(both: tuple[Path, Path]) -> None:
    """Else the comparison above would show nothing."""
    here, there = (json.loads((folder / "others.json").read_text()) for folder in both)
    assert [name for name in here if here[name] != there[name]]
