"""What a result depends on beside study and seed: own files, code, packages and the machine.

A run states its terms; every worker process compares them with its own before its first block, and
refuses with the difference. The comparison is done where the work is done, so it holds for local
processes and for a cluster's, and for a worker that joins in the middle.
"""

from __future__ import annotations

import functools
import hashlib
import json
import os
import platform
import socket
import subprocess
import tempfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from importlib import metadata
from pathlib import Path
from typing import Any

from experiments.edition import this_edition
from experiments.output.files import portable_stem
from experiments.own_packages import own_version
from experiments.scene.own_code import map_file
from experiments.study.block_store import encode
from experiments.study.design import OWN_CODE_MANY, OWN_CODE_ONE, OWN_IN_CHOICES, Study
from experiments.study.settings import Block, blocks, evaluate
from experiments.study.worlds import worlds_path
from sim.errors import InputError
from sim.plain_text import checked_line


def own_policy_files(study: Study, folder: Path) -> tuple[Study, dict[str, str]]:
    """Copy the files of the user's own policies, shot models, charts and players, and the file of
    worlds that the study is played in, to `folder`/own.

    Returns the study with its names turned to the copies (relative to the folder) and the SHA-256
    of each copy, so that a re-run from the folder plays the same code.

    Raises:
        InputError: a file cannot be read any more, or its name cannot be shown as it is.
    """
    copies: dict[Path, str] = {}
    hashes: dict[str, str] = {}

    def kept(source: Path) -> str:
        if source not in copies:
            stem = portable_stem(checked_line("the name of a file", source.stem))
            taken = {name.casefold() for name in hashes}  # one name where case makes no difference
            while f"own/{stem}{source.suffix}".casefold() in taken:
                stem = f"{source.stem}-{len(hashes) + 1}"
            copies[source] = f"own/{stem}{source.suffix}"
            hashes[copies[source]] = _copy(source, folder / copies[source])
        return copies[source]

    return map_files(study, kept), hashes


def _copy(source: Path, target: Path) -> str:
    """Copy a file and return its SHA-256."""
    try:
        content = source.read_bytes()
    except OSError as error:
        raise InputError(f"{source} cannot be read: {error.strerror}") from None
    target.parent.mkdir(exist_ok=True)
    target.write_bytes(content)
    return hashlib.sha256(content).hexdigest()


def map_files(study: Study, change: Callable[[Path], str]) -> Study:
    """The study with `change` applied to each file of its own: those that names of policies, shot
    models and levels lead to, and that of its worlds."""
    many = {f: tuple(map_file(t, change) for t in getattr(study, f)) for f in OWN_CODE_MANY}
    one: dict[str, Any] = {f: map_file(getattr(study, f), change) for f in OWN_CODE_ONE}
    if study.choices is not None:
        changed = {k: map_file(getattr(study.choices, k), change) for k in OWN_IN_CHOICES}
        one["choices"] = study.choices.model_copy(update=changed)
    if study.worlds is not None:
        one["worlds_file"] = change(worlds_path(study.worlds_file))
    return study.model_copy(update={**many, **one})


PACKAGES = ("numpy", "scipy", "numba", "simpy", "pandas", "pyarrow", "matplotlib", "pydantic")
ROOT = Path(__file__).resolve().parents[2]


def source_hash() -> str:
    """SHA-256 over the source of the three packages."""
    digest = hashlib.sha256()
    for package in ("sim", "strategies", "experiments"):
        for path in sorted((ROOT / package).rglob("*")):
            if path.suffix in (".py", ".toml", ".html"):
                digest.update(path.relative_to(ROOT).as_posix().encode())
                digest.update(path.read_bytes().replace(b"\r\n", b"\n"))
    return digest.hexdigest()


def commit() -> str | None:
    """The commit of the checkout that the code runs from, None outside a checkout."""
    if not (ROOT / ".git").exists():
        return None
    try:
        done = subprocess.run(
            ["git", "rev-parse", "HEAD"], cwd=ROOT, capture_output=True, text=True, timeout=10
        )
    except (OSError, subprocess.TimeoutExpired):
        return None
    return done.stdout.strip() or None


def versions() -> dict[str, str]:
    """Versions of the packages that results depend on."""
    return {name: metadata.version(name) for name in PACKAGES}


def made_with() -> dict[str, Any]:
    """What numbers are made with here, for a manifest: this package, its packages, the machine."""
    return {
        "version": own_version(),
        "edition": this_edition().number,
        "source_hash": source_hash(),
        "commit": commit(),
        "packages": versions(),
        "python": platform.python_version(),
        "system": system(),
    }


def system() -> dict[str, str]:
    """The operating system and the processor that this process runs on."""
    return {
        "operating system": platform.platform(),
        "machine": platform.machine(),
        "processor": processor_name(),
        "processors": str(os.cpu_count()),
    }


@functools.cache
def processor_name() -> str:
    """The processor's name as the system gives it."""
    try:
        lines = Path("/proc/cpuinfo").read_text("utf-8", "replace").splitlines()
    except OSError:
        lines = []
    names = [line.partition(":")[2].strip() for line in lines if line.startswith("model name")]
    return names[0] if names else platform.processor() or platform.machine()


SAMPLE = 2


@functools.cache
def terms_here() -> dict[str, str]:
    """What results depend on in this process, by a name that a message can use."""
    return {
        "source of rally-recovery": source_hash(),
        "Python": platform.python_version(),
        "kind of processor": platform.machine(),
        **versions(),
    }


def differences(wanted: Mapping[str, str], found: Mapping[str, str], there: str) -> list[str]:
    """What differs between a run's terms and those of `there`, one text each."""
    return [
        f"{name} is {_short(wanted.get(name))} in the run and {_short(found.get(name))} {there}"
        for name in sorted({*wanted, *found}, key=str.lower)
        if wanted.get(name) != found.get(name)
    ]


def _short(value: str | None) -> str:
    return "absent" if value is None else value if len(value) < 30 else f"{value[:12]}..."


@dataclass(frozen=True)
class Parcel:
    """All that a worker needs for any block of a run; two are equal if their keys, folders and
    samples are.

    `own` holds the user's own files by their path relative to `folder`, where they also lie: a
    worker that does not see the same files there makes a folder of its own from the bytes.
    """

    study: Study = field(compare=False)
    folder: str
    own: dict[str, bytes] = field(compare=False)
    terms: dict[str, str] = field(compare=False)
    sample: str = ""
    key: str = field(init=False)

    def __post_init__(self) -> None:
        own = {name: hashlib.sha256(content).hexdigest() for name, content in self.own.items()}
        # What the looks reached is no part of it: blocks stay good when a run writes it down.
        study = self.study.model_copy(update={"reached": None, "raced": None})
        what = json.dumps([study.toml(), own, self.terms], sort_keys=True)
        object.__setattr__(self, "key", hashlib.sha256(what.encode()).hexdigest())


def parcel_of(study: Study, folder: Path, own: Mapping[str, str]) -> Parcel:
    """The parcel of a study whose own files `own` (relative paths) lie in `folder`."""
    files = {name: (folder / name).read_bytes() for name in own}
    return Parcel(study, str(folder), files, terms_here())


def play_block(parcel: Parcel, number: int, block: Block) -> bytes:
    """Play one block and give its bytes (experiments.study.block_store): the work of a worker."""
    study = prepared(parcel)
    return encode(evaluate(study, study.seed or 0, block), parcel.key, number)


@functools.lru_cache(maxsize=4)
def prepared(parcel: Parcel) -> Study:
    """The study as this process plays it, once its terms are seen to be those of the run.

    Raises:
        InputError: versions, source, processor or the numbers of the first replicates differ.
    """
    there = f"in worker {socket.gethostname()}"
    if other := differences(parcel.terms, terms_here(), there):
        raise InputError(
            "a worker is not like the process that started the run, so its numbers could differ: "
            f"{'; '.join(other)}. Install the same versions for all workers"
        )
    study = with_own_files(parcel)
    if parcel.sample and parcel.sample != sample_of(study):
        raise InputError(
            f"the first replicates of the study come out otherwise {there}, though the versions"
            " agree: its processor or system library counts differently. Leave that worker out"
        )
    return study


def with_own_files(parcel: Parcel) -> Study:
    """The study with the names of the user's own files turned to where they are here."""
    folder = Path(parcel.folder)
    if not all(_holds(folder / name, content) for name, content in parcel.own.items()):
        folder = Path(_own_folder().name) / parcel.key
        for name, content in parcel.own.items():
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            (folder / name).write_bytes(content)
    return map_files(parcel.study, lambda file: str(folder / file))


def _holds(path: Path, content: bytes) -> bool:
    try:
        return path.read_bytes() == content
    except OSError:
        return False


@functools.cache
def _own_folder() -> tempfile.TemporaryDirectory[str]:
    """A folder that lives as long as this process."""
    return tempfile.TemporaryDirectory(prefix="rally-recovery-")


def sample_of(study: Study) -> str:
    """A hash of the first replicates in each setting; playing them also compiles what they need."""
    digest, seen = hashlib.sha256(), set()
    for block in blocks(study):
        if block.scenario.setting not in seen:
            seen.add(block.scenario.setting)
            result = evaluate(study, study.seed or 0, Block(block.scenario, 0, SAMPLE))
            for tally in result.tallies.values():
                digest.update(tally.own.tobytes() + tally.cross.tobytes())
            for _, rows in result.rows:
                digest.update(rows.tobytes())
    return digest.hexdigest()
