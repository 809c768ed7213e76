"""Contents of arrays, each kept once, for a reader that knows their layouts."""

from __future__ import annotations

import base64
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
    fields = {}
    for name in dtype.names or ():
        part, offset = (dtype.fields or {})[name][:2]
        fields[name] = [offset, part.base.str[1:], int(np.prod(part.shape, dtype=int))]
    return {"size": dtype.itemsize, "fields": fields}
