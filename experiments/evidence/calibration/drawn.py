"""What is drawn in a calibration: parameters, their ranges, and the games that they make."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

import numpy as np

from experiments.evidence.record.play import record_game
from experiments.study.factor_names import changed_game, stated_of
from sim.errors import InputError
from sim.exchange import Game, Place

FILE = "calibration.toml"
NOWHERE = Place("anywhere", 0.0, 12.0)  # no place is drawn


@dataclass(frozen=True)
class Drawn:
    """One parameter that is drawn: its usual value, the range, and why that is not the stated one
    ("" where it is)."""

    name: str
    usual: float
    low: float
    high: float
    unit: str
    why: str

    @property
    def width(self) -> float:
        """How wide the range is."""
        return self.high - self.low


@cache
def unfitted() -> tuple[str, ...]:
    """Keys of the rows of the validation by which no parameter may be chosen."""
    return tuple(_file()["unfitted"])


@cache
def drawn() -> tuple[Drawn, ...]:
    """The parameters in the order of the file.

    Raises:
        ValueError: a mistake of the file: no such parameter, no range, or a range without a reason.
    """
    stated = stated_of(record_game(0), NOWHERE, "opponent")
    out = []
    for entry in _file()["vary"]:
        name, own = entry["name"], stated[entry["name"]]
        low, high = entry.get("low", own.low), entry.get("high", own.high)
        why = entry.get("why", "")
        if low is None or high is None or not low < high:
            raise ValueError(f"{FILE}: {name} has no range")
        if ((low, high) != (own.low, own.high)) != bool(why):
            raise ValueError(f"{FILE}: {name} has another range or a reason alone")
        out.append(Drawn(name, own.value, low, high, own.unit, why))
    return tuple(out)


def usual_point() -> np.ndarray:
    """The model as it is, as a point (d,); outside the cube where a usual value is not in range."""
    return np.array([(p.usual - p.low) / p.width for p in drawn()])


def values_at(point: np.ndarray) -> dict[str, float]:
    """Values by name at a point (d,) of the unit cube."""
    return {p.name: p.low + float(share) * p.width for p, share in zip(drawn(), point, strict=True)}


def game_with(values: Mapping[str, float], seed: int) -> Game | None:
    """The game with these values on both sides; None where they contradict each other."""
    try:
        return changed_game(record_game(seed), values)
    except InputError:
        return None


def _file() -> dict[str, Any]:
    return tomllib.loads(resources.files("experiments.data").joinpath(FILE).read_text("utf-8"))
