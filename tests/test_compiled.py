"""Compiled kernels: strict arithmetic, and a cache that never answers with old code.

The cache is tested on a small package `sim` of its own in a temporary folder: the modules under
test, and two kernels of which `outer` calls `inner` in another file.
"""

from __future__ import annotations

import os
import pickle
import shutil
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

import sim.compiled
from sim.cache_folder import VERSIONS_KEPT
from sim.compiled import kernel

INNER = """
from sim.compiled import kernel

@kernel
def inner(x):
    return x + {added}
"""
OUTER = """
from sim.compiled import kernel
from sim.inner import inner

@kernel
def outer(x):
    return inner(x)
"""
ASK = """
from sim.outer import outer
answer = outer({argument})
print(answer, sum(outer.just_in_time.stats.cache_hits.values()))
"""


MODULES = (
    "__init__.py",
    "public.py",
    "cache_folder.py",
    "compiled.py",
    "just_in_time.py",
    "kernel_cache.py",
    "source.py",
    "whole_file.py",
)
SAID = (
    "Compiling kernels, once for this version and machine (up to a minute): none came with this"
    " version.\n"
)


class Package:
    """A copy of the modules under test with two kernels, a cache folder, and runs of its own."""

    def __init__(self, folder: Path) -> None:
        self.source = folder / "source" / "sim"
        self.cache = folder / "cache"
        self.source.mkdir(parents=True)
        real = Path(sim.compiled.__file__).parent
        for name in MODULES:
            shutil.copy(real / name, self.source)
        (self.source / "native").mkdir()
        for name in ("__init__.py", "load.py", "met.py", "notation.py"):
            shutil.copy(real / "native" / name, self.source / "native")
        (self.source / "outer.py").write_text(OUTER)
        self.write_inner(added=1)

    def write_inner(self, added: int) -> None:
        (self.source / "inner.py").write_text(INNER.format(added=added))

    def start(self, script: str, cache: str = "") -> subprocess.Popen[str]:
        # Bytecode is switched off: Python trusts it for an edit that keeps the size within 1 s.
        own = {
            "PYTHONPATH": str(self.source.parent),
            "PYTHONDONTWRITEBYTECODE": "1",
            "RALLY_RECOVERY_KERNELS_MET": os.devnull,
            "RALLY_RECOVERY_CACHE": cache or str(self.cache),
        }
        return subprocess.Popen(
            [sys.executable, "-c", script],
            env=os.environ | own,
            cwd=self.source.parent,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )

    def run(self, script: str, cache: str = "") -> str:
        output, errors = self.start(script, cache).communicate(timeout=120)
        assert errors in ("", SAID)
        return output.strip()

    def ask(self, argument: str = "10", cache: str = "") -> str:
        """The answer of `outer`, and how many kernels came out of the cache."""
        return self.run(ASK.format(argument=argument), cache)

    def files(self, pattern: str) -> list[Path]:
        return sorted(self.cache.rglob(pattern))


@pytest.fixture
def package(tmp_path: Path) -> Package:
    return Package(tmp_path)


def test_second_run_takes_the_code_from_the_cache(package: Package) -> None:
    assert package.ask() == "11 0"
    assert package.ask() == "11 1"


def test_no_stale_kernel_when_only_a_called_file_changed(package: Package) -> None:
    assert package.ask() == "11 0"
    package.write_inner(added=2)
    assert package.ask() == "12 0"
    package.write_inner(added=1)
    assert package.ask() == "11 1"


def test_code_compiled_after_an_edit_is_not_kept(package: Package) -> None:
    """A process that loaded the old source must not leave its code to those that load the new."""
    edit = f"open({str(package.source / 'inner.py')!r}, 'a').write('# edited')\n"
    assert package.run("import sim.outer\n" + edit + ASK.format(argument="10")) == "11 0"
    assert package.files("*.nbc") == []


@pytest.mark.parametrize("where", ["under a file", "/proc/rally-recovery"])
def test_without_a_writable_folder_it_compiles_without_a_cache(
    package: Package, tmp_path: Path, where: str
) -> None:
    if where == "under a file":
        (tmp_path / "file").write_text("")
        where = str(tmp_path / "file" / "cache")
    assert package.ask(cache=where) == "11 0"
    assert package.ask(cache=where) == "11 0"
    assert not list(tmp_path.rglob("*.nb[ci]"))


def test_cache_folder_that_goes_away_in_mid_run_does_not_stop_it(package: Package) -> None:
    lose = f"shutil.rmtree({str(package.cache)!r}); open({str(package.cache)!r}, 'w').close()\n"
    script = "import shutil, sim.inner\nsim.inner.inner(1)\n" + lose + ASK.format(argument="10")
    assert package.run(script) == "11 0"


def flipped(content: bytes) -> bytes:
    """The content with every bit of its second half turned over."""
    half = len(content) // 2
    return content[:half] + bytes(255 - byte for byte in content[half:])


def wrong_code(content: bytes) -> bytes:
    """The content with a spoilt head of the object file in it, if there is one, else of its own."""
    at = max(content.find(b"\x7fELF"), 0) + 40
    return content[:at] + b"\xff" * 16 + content[at + 16 :]


DAMAGE = {
    "wrong code": wrong_code,
    "flipped": flipped,
    "one bit": lambda content: content[:-900] + bytes([content[-900] ^ 1]) + content[-899:],
    "truncated": lambda content: content[: len(content) * 2 // 3],
    "short": lambda content: content[:40],
    "empty": lambda content: b"",
    "foreign": lambda content: b"dear diary",
    "foreign pickle": lambda content: pickle.dumps(("0.1", {})),
}


@pytest.mark.parametrize("pattern", ["*.nbi", "*.nbc"])
@pytest.mark.parametrize("damage", DAMAGE)
def test_damaged_file_is_compiled_again(package: Package, pattern: str, damage: str) -> None:
    """Machine code that is damaged ends the process where it is loaded."""
    package.ask()
    for path in package.files(pattern):
        path.write_bytes(DAMAGE[damage](path.read_bytes()))
    assert package.ask() == "11 0"
    assert package.ask() == "11 1"


READ_ONLY = """
import os, sys

def deny(event, arguments):
    writes = event == "open" and arguments[2] & (os.O_WRONLY | os.O_RDWR | os.O_CREAT)
    if writes or event in ("os.mkdir", "os.rename", "os.remove", "os.utime", "os.link"):
        if str(arguments[0]).startswith({cache!r}):
            raise PermissionError(13, "Permission denied", str(arguments[0]))

sys.addaudithook(deny)
"""


def test_a_full_cache_that_cannot_be_written_is_used(package: Package) -> None:
    """Nothing below the folder can be made, changed or removed, whoever runs the test."""
    package.ask()
    before = {path: path.read_bytes() for path in package.files("*.nb[ic]")}
    denied = READ_ONLY.format(cache=str(package.cache))
    assert package.run(denied + ASK.format(argument="10")) == "11 1"
    assert package.run(denied + ASK.format(argument="10.0")) == "11.0 0"
    assert {path: path.read_bytes() for path in package.files("*.nb[ic]")} == before


def test_two_first_starts_at_once(package: Package) -> None:
    runs = [package.start(ASK.format(argument="10")) for _ in range(2)]
    told = [run.communicate(timeout=120) for run in runs]
    assert [output.split()[0] for output, _ in told] == ["11", "11"]
    # A start that comes a moment later may find the other's code; then it has nothing to say.
    assert {errors for _, errors in told} in ({SAID}, {SAID, ""})
    assert package.ask() == "11 1"
    assert package.files("*.partial") == []


def test_what_is_not_ours_in_the_cache_folder_stays(package: Package) -> None:
    """It may be a folder of the user's that holds other things too."""
    names = ["sim-cards", "sim-2024", "sim-" + "g" * 24]
    for day in range(VERSIONS_KEPT + 3):
        names.append(f"sim-{day:024x}")
    for day, name in enumerate(names):
        (package.cache / name).mkdir(parents=True)
        (package.cache / name / "letter.txt").write_text("dear")
        (package.cache / name / "outer.nbc").write_text("code")
        os.utime(package.cache / name, (day, day))
    package.ask()
    letters = {path.parent.name for path in package.files("letter.txt")}
    assert letters == set(names)
    assert len(package.files("outer.nbc")) == 3 + VERSIONS_KEPT - 1


def test_only_the_last_used_versions_are_kept(package: Package) -> None:
    package.ask()
    (current,) = package.cache.iterdir()
    for day in range(VERSIONS_KEPT + 2):
        folder = package.cache / f"sim-{day:024x}"
        folder.mkdir()
        os.utime(folder, (day, day))
    os.utime(current, (0, 0))
    package.ask()  # from now on the oldest one is the last used
    package.write_inner(added=2)
    package.ask()
    assert len(list(package.cache.iterdir())) == VERSIONS_KEPT
    assert (package.cache / f"sim-{VERSIONS_KEPT + 1:024x}").is_dir()
    assert current.is_dir()


def test_processes_that_do_not_see_each_other_never_share_a_file(package: Package) -> None:
    """The second one saves as if it had read the index before the first one wrote it."""
    package.ask("10")
    for index in package.files("*.nbi"):
        index.unlink()
    before = len(package.files("outer*.nbc"))
    package.ask("10.0")
    assert len(package.files("outer*.nbc")) == before + 1


def test_many_processes_at_once(package: Package) -> None:
    arguments = {"10": "11", "10.0": "11.0", "10 + 0j": "(11+0j)", "True": "2"}
    for _ in range(2):
        runs = [package.start(ASK.format(argument=argument)) for argument in arguments]
        results = [run.communicate(timeout=120) for run in runs]
        assert {errors for _, errors in results} <= {"", SAID}
        assert [output.split()[0] for output, _ in results] == list(arguments.values())


def test_function_from_outside_the_project_is_not_cached() -> None:
    @kernel
    def double(x: float) -> float:
        return 2 * x

    assert double(2.0) == 4.0
    assert double.just_in_time.stats.cache_path is None


def test_arithmetic_is_strict() -> None:
    @kernel
    def reassociable(x: float, y: float) -> float:
        return (x + y) - y

    @kernel
    def quotient(x: float, y: float) -> float:
        return x / y

    assert reassociable(1.0, 1e17) == 0.0  # fast-math would make it x
    assert quotient(1.0, 0.0) == np.inf


def test_row_has_the_same_bits_in_a_batch_and_alone() -> None:
    @kernel
    def waves(x: np.ndarray) -> np.ndarray:
        result = np.empty_like(x)
        for i in range(len(x)):
            result[i] = np.exp(-x[i]) * np.sin(x[i])
        return result

    x = np.linspace(0.1, 9.0, 103)
    batch = waves(x)
    assert all(batch[i] == waves(x[i : i + 1])[0] for i in range(len(x)))


def test_vector_maths_library_already_in_use_is_refused() -> None:
    script = "import numba; numba.config.USING_SVML = True; import sim.just_in_time"
    run = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True)
    assert run.returncode != 0
    assert "NUMBA_DISABLE_INTEL_SVML=1" in run.stderr
