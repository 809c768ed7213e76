"""Finished blocks of a study, one small file each, that say whose they are and that they are whole.

A file holds NumPy's own archive, sealed (sim.whole_file): the sums of each policy as the float64
values that they are, those over halves, those of rivals in a race, the rows of strokes and rallies
that are kept, and the key of the run (`provenance`) and the number of the block that they belong
to. A worker makes these bytes and the run reads them back at the end, so one checksum covers the
way and the disk.
"""

from __future__ import annotations

import io
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path

import numpy as np

from experiments.statistics.tally import COLUMNS, Tally
from experiments.study.folder_files import BLOCK, BLOCK_SUFFIX, BLOCKS
from experiments.study.rally_rows import RALLY
from experiments.study.settings import BlockResult
from sim.records import STROKE
from sim.whole_file import UNFINISHED, sealed, unsealed, write_whole


class DamagedBlockError(Exception):
    """The bytes of a block are not what a worker made, or belong to another run or number."""


def encode(result: BlockResult, key: str, number: int) -> bytes:
    """A block's result as bytes with their checksum."""
    kept = [rows for _, rows in result.rows]
    body = io.BytesIO()
    np.savez_compressed(
        body,
        key=np.array(key),
        number=np.array(number),
        policies=np.array(list(result.tallies), str),
        sums=_sums(result.tallies.values()),
        row_policies=np.array([name for name, _ in result.rows], str),
        row_counts=np.array([len(rows) for rows in kept], np.int64),
        rows=np.concatenate([np.zeros(0, STROKE), *kept]),
        half_policies=np.array(list(result.halves), str),
        halves=np.array(list(result.halves.values()), float),
        rivals=np.array(list(result.rivals), str).reshape(-1, 2),
        rival_sums=_sums(result.rivals.values()),
        rally_policies=np.array(list(result.rallies), str),
        rallies=np.array(list(result.rallies.values()), RALLY),
    )
    return sealed(body.getvalue())


def decode(content: bytes, key: str, number: int) -> BlockResult:
    """The result that `encode` made into these bytes, bit by bit.

    Raises:
        DamagedBlockError: the checksum is wrong, or they belong to another run or block.
    """
    body = unsealed(content)
    if body is None:
        raise DamagedBlockError(f"block {number}: the checksum is wrong")
    with np.load(io.BytesIO(body), allow_pickle=False) as held:
        if (str(held["key"]), int(held["number"])) != (key, number):
            raise DamagedBlockError(f"block {number}: it belongs to another run or block")
        tallies = {
            str(name): Tally(*sums)
            for name, sums in zip(held["policies"], held["sums"], strict=True)
        }
        parts = np.split(held["rows"], np.cumsum(held["row_counts"])[:-1])
        names = [str(name) for name in held["row_policies"]]
        halves = dict(zip(map(str, held["half_policies"]), held["halves"], strict=True))
        rallies = dict(zip(map(str, held["rally_policies"]), held["rallies"], strict=True))
        rivals = {
            (str(one), str(other)): Tally(*sums)
            for (one, other), sums in zip(held["rivals"], held["rival_sums"], strict=True)
        }
    rows = list(zip(names, parts, strict=True)) if names else []
    return BlockResult(tallies, rows, halves, rallies, rivals)


def _sums(tallies: Iterable[Tally]) -> np.ndarray:
    """The sums of tallies, (n, 3, k, k)."""
    sums = [(t.own, t.cross, t.reference) for t in tallies]
    return np.array(sums, float).reshape(-1, 3, len(COLUMNS), len(COLUMNS))


class BlockStore:
    """The folder of one run's finished blocks."""

    def __init__(self, folder: Path, key: str) -> None:
        self.folder, self.key = folder / BLOCKS, key
        self.folder.mkdir(parents=True, exist_ok=True)

    def path(self, number: int) -> Path:
        """The file of a block."""
        return self.folder / f"{number:07d}{BLOCK_SUFFIX}"

    def write(self, number: int, content: bytes) -> None:
        """Keep a block: its file appears by one rename, so it is whole or absent.

        Nothing waits for the disk itself; what a power cut spoils, its checksum betrays.
        """
        write_whole(self.path(number), content)

    def read(self, number: int) -> BlockResult:
        """The result of a block.

        Raises:
            DamagedBlockError: it is not there, damaged, or another run's.
        """
        try:
            content = self.path(number).read_bytes()
        except FileNotFoundError:
            raise DamagedBlockError(f"block {number}: there is no such file") from None
        return decode(content, self.key, number)

    def sound(self) -> set[int]:
        """The numbers of the blocks that are there and whole; the other ones are removed."""
        return {int(path.stem) for path in self._own_files() if self._is_sound(path)}

    def remove(self) -> None:
        """Remove all blocks, and the folder if nothing else is in it."""
        for path in self._own_files():
            path.unlink(missing_ok=True)
        with suppress(OSError):
            self.folder.rmdir()

    def _own_files(self) -> list[Path]:
        names = (BLOCK, UNFINISHED)
        return [p for p in self.folder.iterdir() if any(n.fullmatch(p.name) for n in names)]

    def _is_sound(self, path: Path) -> bool:
        with suppress(ValueError, DamagedBlockError):
            if path == self.path(int(path.stem)):
                self.read(int(path.stem))
                return True
        path.unlink()
        return False
