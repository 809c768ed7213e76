"""Names of policies that belong together."""

from __future__ import annotations

import re
from collections.abc import Iterable

FAMILY = re.compile(r"^(?P<word>.*\S)\s+(?P<number>\d+(?:\.\d+)?)$")
FAMILY_SIZE = 3


def family_of(policies: Iterable[str]) -> dict[str, float]:
    """The members of a one-parameter family and their numbers, such as the yardstick's.

    A family is three names or more that differ only in the number at their end; the largest one
    counts, and there may be none.
    """
    groups: dict[str, dict[str, float]] = {}
    for name in policies:
        if found := FAMILY.match(name):
            groups.setdefault(found["word"], {})[name] = float(found["number"])
    largest = max(groups.values(), key=len, default={})
    return largest if len(largest) >= FAMILY_SIZE else {}


def family_name(family: dict[str, float]) -> str:
    """One label for the whole family: its word and the range of its number."""
    word = next(iter(family)).rpartition(" ")[0]
    return f"{word} {min(family.values()):g} to {max(family.values()):g}"
