"""Small files of worlds for tests: drawn from the stated ranges, or all like the default one."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

import numpy as np

from experiments.study.worlds import usual

NAMES = ("legs.recovery_effort", "legs.tau_s", "hitter.depth_sd_m", "shots.speed_share")


def written(path: Path, names: Sequence[str], rows: Iterable[Sequence[float]]) -> Path:
    """Write worlds with these values."""
    lines = [",".join(["world", *names])]
    lines += [",".join([str(k), *(f"{v:.6g}" for v in row)]) for k, row in enumerate(rows)]
    path.write_text("\n".join(lines) + "\n", "utf-8")
    return path


def drawn(path: Path, count: int, names: Sequence[str] = NAMES) -> Path:
    """Worlds drawn from the stated ranges of professional men."""
    rng = np.random.default_rng(7)
    stated = [usual()[name] for name in names]
    ends = [(s.low or 0.0, s.high or 0.0) for s in stated]
    rows = [[low + (high - low) * rng.random() for low, high in ends] for _ in range(count)]
    return written(path, names, rows)


def alike(path: Path, count: int) -> Path:
    """Worlds that are all the default one."""
    return written(path, NAMES, [[usual()[name].value for name in NAMES]] * count)
