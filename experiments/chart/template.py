"""An empty chart to fill in."""

from __future__ import annotations

import os
from pathlib import Path

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


def write_new(path: Path, text: str) -> None:
    """Write a file that is not there yet, whole or not at all.

    Raises:
        InputError: there is a file of that name, or it cannot be written.
    """
    part = path.with_name(f".{path.name}.partial")
    try:
        part.write_text(text, "utf-8", newline="")
        os.link(part, path)
    except FileExistsError:
        raise InputError(f"{path} is there already; choose another name or remove it") from None
    except OSError as error:
        raise InputError(f"cannot write {path}: {error.strerror}; choose another place") from None
    finally:
        part.unlink(missing_ok=True)
