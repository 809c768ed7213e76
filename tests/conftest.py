"""Settings that must hold before a test module is imported, and what must hold of all tests."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

# Files that take minutes are begun first, so that no process waits for another in the end.
SLOWEST = (
    "test_same_digits",
    "test_racing",
    "test_page",
    "test_page_screen",
    "test_other_processors",
)

# Pictures are drawn to files; the processes that tests start need no display either.
os.environ["MPLBACKEND"] = "Agg"

# Where calls of kernels that none was shipped for are written down, by the tests of this process
# and by the processes that they start; a file that somebody named for that is left to them.
MET, OWN = "RALLY_RECOVERY_KERNELS_MET", "rally-recovery-tests-"
OURS = OWN in os.environ.get(MET, OWN)
if OURS:
    os.environ[MET] = str(Path(tempfile.mkdtemp(prefix=OWN)) / "met.jsonl")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Sort the tests: the slowest files first, the others as they come."""
    place = {name: k for k, name in enumerate(SLOWEST)}
    items.sort(key=lambda item: place.get(item.path.stem, len(place)))


@pytest.fixture(scope="session", autouse=True)
def every_kernel_was_shipped() -> Iterator[None]:
    """Whatever tests ask for, nobody's first start waits for a compiler."""
    yield
    from sim.native.load import SHIPPED_LAYERS, is_fresh

    met = Path(os.environ[MET])
    found = met.read_text() if met.exists() else ""
    if OURS:
        shutil.rmtree(met.parent)
    if OURS and all(map(is_fresh, SHIPPED_LAYERS)):
        assert found == "", f"not shipped, so compiled at first use:\n{found}"
