"""Blocks on disk: the same bits come back, and whatever is not whole and ours is told apart."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from experiments.statistics.tally import COLUMNS, Tally
from experiments.study.block_store import BlockStore, DamagedBlockError, decode, encode
from experiments.study.rally_rows import RALLY
from experiments.study.settings import BlockResult
from sim.records import STROKE

KEY = "a run"


@pytest.fixture(scope="module")
def result() -> BlockResult:
    rng = np.random.default_rng(4)
    sums = [[rng.normal(size=(len(COLUMNS), len(COLUMNS))) for _ in range(3)] for _ in range(2)]
    sums[0][0][0, :3] = [np.nan, -0.0, 5e-324]
    rows = np.zeros(5, STROKE)
    for name in STROKE.names or ():
        rows[name] = rng.integers(-9, 9, 5) / (1 if STROKE[name].kind == "i" else 7)
    tallies = {"middle": Tally(*sums[0]), "ünnamed, 0.2": Tally(*sums[1])}
    kept = [("middle", rows[:2]), ("ünnamed, 0.2", rows[2:])]
    rallies = np.zeros((2, 6), RALLY)
    for name in ("points", "balls_from", "last_met"):
        rallies[name] = rng.integers(-1, 3, rallies[name].shape)
    return BlockResult(tallies, kept, {}, dict(zip(tallies, rallies, strict=True)))


def bits(result: BlockResult) -> list[object]:
    sums = [
        (n, t.own.tobytes(), t.cross.tobytes(), t.reference.tobytes())
        for n, t in result.tallies.items()
    ]
    rows = [*result.rows, *result.rallies.items()]
    return [sums, [(n, r.dtype, r.tobytes()) for n, r in rows]]


def test_the_same_bits_come_back(result: BlockResult) -> None:
    content = encode(result, KEY, 7)
    assert bits(decode(content, KEY, 7)) == bits(result)
    assert encode(result, KEY, 7) == content


def test_a_block_without_rows(result: BlockResult) -> None:
    bare = BlockResult(result.tallies, [])
    assert bits(decode(encode(bare, KEY, 0), KEY, 0)) == bits(bare)


def test_any_damage_is_seen(result: BlockResult) -> None:
    """Every byte matters: one changed, cut off or added."""
    content = encode(result, KEY, 7)
    wrong = [content[:cut] for cut in (0, 10, 64, 65, len(content) - 1)] + [content + b"x"]
    for at in np.random.default_rng(1).integers(0, len(content), 200):
        changed = bytearray(content)
        changed[at] ^= 1
        wrong.append(bytes(changed))
    for damaged in wrong:
        with pytest.raises(DamagedBlockError):
            decode(damaged, KEY, 7)


def test_another_runs_or_numbers_block_is_refused(result: BlockResult) -> None:
    content = encode(result, KEY, 7)
    for key, number in (("another", 7), (KEY, 8)):
        with pytest.raises(DamagedBlockError, match="another run or block"):
            decode(content, key, number)


def test_the_store_keeps_what_is_sound_alone(result: BlockResult, tmp_path: Path) -> None:
    store = BlockStore(tmp_path, KEY)
    for number in range(5):
        store.write(number, encode(result, KEY, number))
    store.path(1).write_bytes(b"")
    store.path(3).write_bytes(encode(result, "another", 3))
    left = store.folder / f".{'a' * 16}.partial"  # by a run that was killed
    left.write_bytes(b"half a block")
    foreign = {"5.block", "letter.txt", ".partial"}
    for name in foreign:
        (store.folder / name).write_bytes(encode(result, KEY, 5))
    assert store.sound() == {0, 2, 4}
    assert {p.name for p in store.folder.iterdir()} == foreign | {
        store.path(number).name for number in (0, 2, 4)
    }
    assert BlockStore(tmp_path, "another").sound() == set()
    store.remove()
    assert {p.name for p in store.folder.iterdir()} == foreign


def test_a_block_that_cannot_be_written_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = BlockStore(tmp_path, KEY)

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.replace", full)
    with pytest.raises(OSError, match="No space"):
        store.write(0, b"content")
    assert list(store.folder.iterdir()) == []
