"""What stands in the columns of an observation or an action: name, unit, range, meaning."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from textwrap import TextWrapper

import numpy as np


@dataclass(frozen=True)
class Field:
    """One number of an observation or of an action."""

    name: str
    unit: str
    low: float
    high: float
    about: str


def ends(fields: Sequence[Field]) -> tuple[np.ndarray, np.ndarray]:
    """The lowest and the highest values, each (fields,)."""
    return np.array([f.low for f in fields]), np.array([f.high for f in fields])


def in_words(fields: Sequence[Field]) -> str:
    """The fields as indented lines of a docstring."""
    wrap = TextWrapper(90, initial_indent=" " * 4, subsequent_indent=" " * 8)
    texts = (f"{f.name} ({f.unit}, {f.low:g} to {f.high:g}): {f.about}." for f in fields)
    return "\n".join(wrap.fill(text) for text in texts)
