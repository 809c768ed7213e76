"""Contents of arrays, each kept once, for a reader that knows their layouts."""

from __future__ import annotations

import base64
import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np


@dataclass
class Pool:
    """Contents one after another, found again by number."""

    numbers: dict[bytes, int] = field(default_factory=dict)

    def number(self, values: np.ndarray) -> int:
        """The number under which the content of an array is kept."""
        return self.numbers.setdefault(np.ascontiguousarray(values).tobytes(), len(self.numbers))

    def as_json(self) -> dict[str, Any]:
        """The lengths in bytes of the contents by number, and all of them in Base64."""
        whole = b"".join(self.numbers)
        lengths = [len(content) for content in self.numbers]
        return {"lengths": lengths, "content": base64.b64encode(whole).decode("ascii")}


def layout(dtype: np.dtype) -> dict[str, Any]:
    """A record type: its size in bytes, and by field the offset, the kind and how many values."""
    parts: Mapping[str, Any] = dtype.fields or {}
    fields = {
        name: [offset, part.base.str[1:], math.prod(part.shape)]
        for name, (part, offset) in parts.items()
    }
    return {"size": dtype.itemsize, "fields": fields}
