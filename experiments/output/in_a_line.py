"""What a result shows of itself where nothing is asked: one line, whatever it holds."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np

LONGEST = 95  # characters of one field


class InALine:
    """For frozen dataclasses with `repr=False`: the fields in a line, arrays by their shape."""

    def __repr__(self) -> str:
        fields = dataclasses.fields(self)  # type: ignore[arg-type]
        shown = (f"{f.name}={_short(getattr(self, f.name))}" for f in fields if f.repr)
        return f"{type(self).__name__}({', '.join(shown)})"


def _short(value: Any) -> str:
    if isinstance(value, np.ndarray):
        return f"array{value.shape}"
    text = repr(value)
    if len(text) <= LONGEST and "\n" not in text:
        return text
    return f"{len(value)} of them" if isinstance(value, list | tuple) else type(value).__name__
