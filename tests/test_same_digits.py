"""All forms of the kernels give the same bits, and what is shipped is what the source makes.

Situations are played once with the object that is shipped for this machine; every call of a kernel
is written down and made again: compiled just in time for this processor, in WebAssembly by Node.js,
and by objects built for other processors. `python -m experiments.evidence.same_digits` does it for
2,000 situations and more processors.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import sys
from dataclasses import dataclass
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

import numpy as np
import pytest

from experiments.evidence.same_digits.forms import Form, build_for, built, just_in_time, web
from experiments.evidence.same_digits.recording import NATIVE, calls_in
from experiments.evidence.same_digits.table import Recorded, differing, recorded, row_of
from sim.native.build import TARGETS, TOOLS, WEB, for_processor
from sim.native.load import FOLDER, library, listed, platform_name

SITUATIONS, SEED = 300, 8
REQUIRED = "RALLY_RECOVERY_FORMS"
# Kernels that an answer, a chart or a replay calls by itself; the strokes of situations hold them
# or their like.
ASKED_ELSEWHERE = {
    "sim.belief:fill_counts",
    "sim.belief:fill_habitual",
    "sim.belief:fill_pace",
    "sim.bounce:bounce",
    "sim.flight:advance",
    "sim.flight:fly",
    "sim.flight:trace",
    "sim.handover:fill_returns",
    "sim.hitter:fill_usable",
    "sim.launch:shoot",
    "sim.launch:solve_launch",
    "sim.movement:follow_through",
    "sim.movement:run_after",
    "sim.net_place:halfway_x_m",
    "sim.stroke:fill_ball",
    "sim.stroke:fly_exactly",
    "sim.stroke:net_margin_m",
    "strategies.recovery.reply_worth:fill_hats",
    "strategies.shots.choosing:fill_directions",
    "strategies.shots.choosing:fill_gaps",
    "strategies.shots.choosing:fill_shares",
    "strategies.shots.choosing:set_paces",
}


def not_here(reason: str) -> None:
    """Skip what cannot be compared here; fail where that is required."""
    if os.environ.get(REQUIRED):
        pytest.fail(f"{REQUIRED} is set, and a comparison would be skipped: {reason}")
    pytest.skip(reason)


@dataclass(frozen=True)
class Played:
    """A recording: its folder and what is in it."""

    folder: Path
    found: Recorded


@pytest.fixture(scope="module")
def played(tmp_path_factory: pytest.TempPathFactory) -> Played:
    if library() is None:
        not_here("no kernels came with the package for this machine")
    folder = tmp_path_factory.mktemp("recording")
    return Played(folder, recorded(folder, SITUATIONS, SEED))


def differing_of(form: Form, played: Played) -> dict[str, int]:
    """Numbers that differ, by kernel, when a recording is made again."""
    row = row_of(form, played.folder, played.found)
    assert row.numbers > 1000 * SITUATIONS
    return row.where


def test_every_kind_of_stroke_and_every_shipped_kernel_is_played(played: Played) -> None:
    assert [kind for kind, count in played.found.strokes.items() if count < 8] == []
    unplayed = set(listed()["entries"]) - {path for path, _ in played.found.kernels}
    assert unplayed <= ASKED_ELSEWHERE, "play them in same_digits.situations, or name them here"


def test_just_in_time_gives_the_same_digits(played: Played) -> None:
    assert differing_of(just_in_time(), played) == {}


def test_webassembly_gives_the_same_digits(played: Played) -> None:
    if shutil.which("node") is None:
        not_here("Node.js (node) is not on the PATH")
    assert differing_of(web(), played) == {}


def test_a_bit_that_differs_is_seen(played: Played, tmp_path: Path) -> None:
    given = np.fromfile(played.folder / NATIVE, np.int64)
    last = list(calls_in(played.folder))[-1]
    given[-1] ^= 1
    given.tofile(tmp_path / "other")
    assert differing(played.folder, tmp_path / "other") == {last.kernel: 1}
    given[:-1].tofile(tmp_path / "other")
    with pytest.raises(ValueError, match="shorter"):
        differing(played.folder, tmp_path / "other")


OTHER, OTHER_NEEDS = (
    "haswell",
    " fma ",
)  # has fused operations and wide vectors, which the shipped object must not use


@pytest.fixture(scope="module")
def rebuilt(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of all objects, built anew, and one for another processor."""
    try:
        here = {tool: version(tool) for tool in TOOLS}
    except PackageNotFoundError as error:
        not_here(f"{error}; install the extra kernels")
    made_with = listed()["made_with"]
    if here != made_with:
        not_here(f"the shipped kernels were made with {made_with}, here are {here}")
    folder = tmp_path_factory.mktemp("objects")
    build_for([OTHER], folder)
    return folder


def test_what_is_shipped_is_what_the_source_makes(rebuilt: Path) -> None:
    """To the byte; else `python -m sim.native.build` makes it anew."""
    again = json.loads((rebuilt / "kernels.json").read_text(encoding="utf-8"))
    advice = "the kernels' source has changed: run python -m sim.native.build"
    assert again == listed(), advice
    for target in (*TARGETS, WEB):
        contents = (rebuilt / target.file).read_bytes(), (FOLDER / target.file).read_bytes()
        digests = [hashlib.sha256(content).hexdigest() for content in contents]
        assert digests == [listed()["objects"][target.name]["sha256"]] * 2, (
            f"{target.file}: {advice}"
        )


@pytest.mark.skipif(
    sys.platform != "linux" or TARGETS[0].name != platform_name(), reason="it is for x86-64 Linux"
)
def test_an_object_for_another_processor_gives_the_same_digits(
    rebuilt: Path, played: Played
) -> None:
    if OTHER_NEEDS not in Path("/proc/cpuinfo").read_text(encoding="ascii"):
        not_here(f"this processor has no {OTHER_NEEDS}")
    assert (rebuilt / for_processor(OTHER).file).read_bytes() != (
        FOLDER / TARGETS[0].file
    ).read_bytes()
    assert differing_of(built(rebuilt, OTHER), played) == {}
