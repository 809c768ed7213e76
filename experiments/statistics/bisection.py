"""Where a function passes zero."""

from __future__ import annotations

from collections.abc import Callable


def root_of(function: Callable[[float], float], low: float, high: float) -> float:
    """Where a function passes zero between `low` and `high`, at whose ends its signs differ.

    Halved until no number is left between: the same digits wherever the function has the same.

    Raises:
        ArithmeticError: the function has one sign at both ends.
    """
    start = function(low)
    if start * function(high) > 0.0:
        raise ArithmeticError(f"no change of sign between {low} and {high}")
    while low < (middle := low + 0.5 * (high - low)) < high:
        low, high = (low, middle) if start * function(middle) <= 0.0 else (middle, high)
    return high
