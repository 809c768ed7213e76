"""What the cells of a filled sheet may hold, and how they are read."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from experiments.answers.trial.answer import LEAST_ALARM, MOST_ALARM, PLACES
from experiments.answers.trial.foretold import LOST
from experiments.answers.trial.practice import MOST_BALLS
from experiments.answers.trial.sheet import CONE, MIDDLE
from sim.chance import LARGEST_SEED
from sim.people_files import decimal

Reader = tuple[Callable[[str], Any], str]  # what a cell says, None for nothing; what is allowed
DIGITS = re.compile(r"[0-9]{1,20}")
ANSWERS = {"1": True, "0": False, "yes": True, "no": False, "y": True, "n": False}
ANSWERS |= {"true": True, "false": False}
MOST_PAIRS = MOST_BALLS // 2


def _whole(low: int, high: int) -> Reader:
    def read(text: str) -> Any:
        if DIGITS.fullmatch(text):
            value: float | None = int(text)
        else:  # a spreadsheet may have written a decimal point
            value = decimal(text, lambda v: low <= v <= high)
        return None if value is None or not low <= value <= high or value % 1 else int(value)

    return read, f"allowed: a whole number from {low} to {high}"


def _number(low: float, high: float) -> Reader:
    def read(text: str) -> Any:
        value = decimal(text, lambda v: low <= v <= high)
        return value if value is not None and low <= value <= high else None

    return read, f"allowed: {low:g} to {high:g}"


def _word(*words: str) -> Reader:
    def read(text: str) -> Any:
        return text.lower() if text.lower() in words else None

    return read, f"allowed: {', '.join(words)}"


def _answer(text: str) -> Any:
    return ANSWERS.get(text.lower())


OPEN = ("reached", "returned_in")  # may be empty: not played
TYPED = (_answer, "allowed: 1 or 0, yes or no; empty for a ball that was not played")
# How each needed column is read (None for what it may not hold), and what it may hold.
READERS: dict[str, Reader] = {
    "ball": _whole(1, MOST_BALLS),
    "pair": _whole(1, MOST_PAIRS),
    "place": _whole(1, PLACES),
    "stand": _word(CONE, MIDDLE),
    "reached": TYPED,
    "returned_in": TYPED,
    "counts": _word(*LOST),
    "false_alarm": _number(LEAST_ALARM, MOST_ALARM),
    "foretold_per_100": _number(-100.0, 100.0),
    "planned_pairs": _whole(1, MOST_PAIRS),
    "seed": _whole(0, LARGEST_SEED),
}
