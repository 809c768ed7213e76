"""Calls that met no shipped kernel, written down for `sim.native.build`."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import numpy as np

from sim.native.load import SHIPPED_LAYERS
from sim.native.notation import described, element, text_of


def note(file: str, kernel: str, key: tuple[Any, ...]) -> None:
    """Add a call to a file of those met; one that no shipped kernel could serve is left out."""
    texts = [text_of(each) for each in key]
    if None in texts or kernel.partition(".")[0] not in SHIPPED_LAYERS:
        return
    types = {element(d): described(d) for d in _records(key)}
    line = json.dumps({"kernel": kernel, "takes": ",".join(map(str, texts)), "types": types})
    with open(file, "a", encoding="utf-8") as out:
        out.write(line + "\n")


def _records(key: Any) -> Iterator[np.dtype]:
    """The record types in a key."""
    if isinstance(key, np.dtype):
        if key.names is not None:
            yield key
    elif isinstance(key, tuple):
        for each in key:
            yield from _records(each)
