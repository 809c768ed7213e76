"""A difference in 100 in words: its sign picks the word, its verdict what is claimed of it.

Every sentence that compares two places, policies or strokes takes its words from here, so that none
says that somebody wins minus three points more, or wins what is not decided.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple

from experiments.statistics.comparison import AS_GOOD, NOT_DECIDED, NOT_IN_ALL, verdict
from experiments.statistics.words import DIGITS, Signed, printed, said


class Ends(NamedTuple):
    """A difference of a stored cell, or one that was turned round."""

    value: float
    low: float
    high: float


def ends_of(cell: Mapping[Any, Any]) -> Ends | None:
    """The difference in a cell, with its interval; None where it holds none.

    Where that interval alone would decide what the one of all policies together leaves open, it is
    the latter.
    """
    ends = _read(cell, "estimate", "low", "high")
    if ends is None or cell.get("verdict") != NOT_DECIDED or ends.low <= 0.0 <= ends.high:
        return ends
    return _read(cell, "estimate", "low_together", "high_together") or ends


def _read(cell: Mapping[Any, Any], *names: str) -> Ends | None:
    values = [cell.get(name) for name in names]
    return None if any(v is None or v != v for v in values) else Ends(*map(float, values))  # type: ignore[arg-type]


def world_words(cell: Mapping[Any, Any]) -> str:
    """The interval of worlds of a stored cell, such as `over the worlds 1.2 to 9.0, 100 in 100 of
    them on this side`, or `but not in all worlds: over them ...` where they do not bear the verdict
    out; with "(extrapolated)" where they are; empty where there is none."""
    low, high = cell.get("world_low"), cell.get("world_high")
    if low is None or high is None or low != low:
        return ""
    _, *ends = printed(Ends(0.0, float(low), float(high)))
    is_borne_out = not str(cell.get("world_verdict")).endswith(NOT_IN_ALL)
    start = "over the worlds" if is_borne_out else "but not in all worlds: over them"
    text = start + " {:.1f} to {:.1f}".format(*ends).replace("-", "\u2212")
    share, basis = cell.get("world_share"), cell.get("world_basis")
    if share is not None and share == share:
        text += f", {100 * share:.0f} in 100 of them on this side"
    return text if basis == "fits the record" else f"{text} ({basis})"


def turned(e: Signed) -> Ends:
    """The same difference, the other way round."""
    return Ends(-e.value, -e.high, -e.low)


def verdict_on_loss(more: Signed) -> str:
    """The verdict on whoever loses so many balls in 100 more."""
    gain = turned(more)
    return verdict(gain.low, gain.high)


def amount(e: Signed, noun: str, more: str = "more", fewer: str = "fewer") -> str:
    """Such as `3.3 (2.1 to 4.5) fewer points in 100` for a difference of -3.3: never a minus before
    the word. `noun` may be empty."""
    below = round(e.value, DIGITS) < 0
    words = [said(turned(e) if below else e), fewer if below else more, noun]
    return " ".join(filter(None, words))


def claim(
    outcome: str,
    e: Signed,
    other: str,
    noun: str,
    verb: str = "wins",
    more: str = "more",
    fewer: str = "fewer",
) -> str:
    """What may be said of somebody against `other`, by the verdict `outcome`: the predicate.

    `e` is somebody's `noun` less the other's. Such as `wins 7.5 (7.1 to 7.9) more points in 100`,
    `is as good as the middle: 0.1 (0.0 to 0.3) more points in 100`.
    """
    much = amount(e, noun, more, fewer)
    if outcome == AS_GOOD:
        return f"is as good as {other}: {much}"
    if outcome == NOT_DECIDED:
        return f"cannot be told from {other}: {much}"
    return f"{verb} {much}"
