"""What a kernel is called with, as types: a key for looking up, and a text for writing down.

The text of a number is f8, i8 or b1; of an array its type and dimensions, as in f8[2]; of a record
`r` and a digest of its fields, since types have no names; of nothing `none`; of several values in
one argument their texts in parentheses.
"""

from __future__ import annotations

import functools
import hashlib
import json
import re
from collections.abc import Hashable
from typing import Any

import numpy as np

NONE = "none"
NUMBERS: dict[Any, str] = {
    float: "f8",
    np.float64: "f8",
    int: "i8",
    np.int64: "i8",
    bool: "b1",
    np.bool_: "b1",
    type(None): NONE,
}


def key_of(value: Any) -> Hashable:
    """The type of one argument: equal for two that the same compiled code serves."""
    kind: Any = type(value)
    if isinstance(value, np.ndarray):
        return value.dtype, value.ndim, value.flags.c_contiguous
    if kind is tuple:
        return kind, tuple([key_of(each) for each in value])
    if isinstance(value, np.void):
        return value.dtype, None
    return kind


def text_of(key: Any) -> str | None:
    """The notation of a key; None where no shipped kernel takes such a value.

    Where the numbers of an array lie in memory is left out: see `sim.native.load`.
    """
    if isinstance(key, type):
        return NUMBERS.get(key)
    if key[0] is tuple:
        texts = [text_of(each) for each in key[1]]
        return None if None in texts else f"({','.join(str(text) for text in texts)})"
    if len(key) == 2:
        return element(key[0])
    return f"{element(key[0])}[{key[1]}]"


@functools.cache
def element(dtype: np.dtype) -> str:
    """The notation of an array's element."""
    if dtype.names is None:
        return dtype.str[1:]
    fields = json.dumps(described(dtype), separators=(",", ":"))
    return "r" + hashlib.sha256(fields.encode()).hexdigest()[:8]


def described(dtype: np.dtype) -> list[Any]:
    """The fields of a record, as JSON holds them: name, type and perhaps shape."""
    return json.loads(json.dumps(dtype.descr))


def from_described(fields: list[Any]) -> np.dtype:
    """The record type of such fields."""
    return np.dtype([(f[0], f[1], *(tuple(shape) for shape in f[2:])) for f in fields])


def split(texts: str) -> list[str]:
    """The notations in a list, those in parentheses kept together."""
    return re.findall(r"\([^()]*\)|[^,()]+", texts)
