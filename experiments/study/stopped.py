"""States of many rallies that were stopped, such as `sim.turns.Pause`: some of them, or several as
one. A state is a dataclass whose arrays have an entry for each rally."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import Any, TypeVar

import numpy as np

from sim.records import taken

State = TypeVar("State")


def some_of(state: State, rows: np.ndarray) -> State:
    """The rallies of these rows, each as often as its row is named."""
    kept = {name: taken(v, rows) if len(v) else v[rows] for name, v in _arrays(state).items()}
    return dataclasses.replace(state, **kept)  # type: ignore[type-var]


def end_to_end(states: Sequence[State]) -> State:
    """The rallies of several states, one after the other; what they share is the first one's."""
    held = [_arrays(state) for state in states]
    together = {name: joined([each[name] for each in held]) for name in held[0]}
    return dataclasses.replace(states[0], **together)  # type: ignore[type-var]


def joined(parts: Sequence[np.ndarray]) -> np.ndarray:
    """`np.concatenate(parts)`, whole records at a time (see `sim.records.taken`)."""
    held = [part for part in parts if len(part)]
    if not held:
        return parts[0]
    words = [np.ascontiguousarray(p).view(np.int64).reshape(len(p), -1) for p in held]
    return np.concatenate(words).view(parts[0].dtype)[:, 0]


def _arrays(state: Any) -> dict[str, np.ndarray]:
    return {name: value for name, value in vars(state).items() if isinstance(value, np.ndarray)}
