"""Numbers as JSON: six decimals, no -0.0, and nothing that JSON cannot hold."""

from __future__ import annotations

import dataclasses
import json
import math
from collections.abc import Mapping
from typing import Any

import numpy as np

DIGITS = 6  # a micrometre and its like


def plain(value: Any, digits: int | None = DIGITS) -> Any:
    """The value as JSON takes it: arrays as lists, dataclasses as tables; not finite as None."""
    if isinstance(value, np.ndarray | np.generic):
        value = value.tolist()
    if isinstance(value, float):
        if not math.isfinite(value):
            return None
        return (value if digits is None else round(value, digits)) + 0.0
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        value = {f.name: getattr(value, f.name) for f in dataclasses.fields(value)}
    if isinstance(value, Mapping):
        return {str(key): plain(item, digits) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [plain(item, digits) for item in value]
    return value


def json_text(values: Any, digits: int | None = DIGITS) -> str:
    """The values as a JSON text, as `plain`; digits None leaves numbers as long as they are."""
    return json.dumps(plain(values, digits), indent=1, allow_nan=False)
