"""An empty chart to fill in."""

from __future__ import annotations

from sim.errors import InputError
from strategies.charts.columns import LENGTHS, QUANTITIES, SPEEDS, WORDS


def header(length: str = "m", speed: str = "m_s") -> list[str]:
    """The header of a chart in those units.

    Raises:
        InputError: a unit that charts do not know.
    """
    if length not in LENGTHS or speed not in SPEEDS:
        raise InputError(
            f"units are {length!r} and {speed!r}; allowed: {', '.join(LENGTHS)} for places,"
            f" {', '.join(SPEEDS)} for speed"
        )
    wanted = {length, speed, "rpm"}
    numbers = [next(h for h in q.headers if h[len(q.name) + 1 :] in wanted) for q in QUANTITIES]
    return [*numbers, *(w.name for w in WORDS)]
