"""What a filled sheet says, what it does not, and the same as numbers."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from experiments.answers.trial.foretold import LOST, REACHED, RETURNED
from experiments.answers.trial.result import PER_100, Found
from experiments.scene.page import filled
from experiments.statistics.comparison import level_together
from experiments.statistics.matched_pairs import Pairs
from experiments.statistics.signed_words import amount
from experiments.statistics.words import Signed, estimate_json, printed, said

KEPT = {REACHED: "reached", RETURNED: "returned in"}
OTHERS = "It is about this player, this feeder and these days; others need trials of their own."
NO_MATCH = (
    "Balls were fed to a player at rest. It is no match: no way back from an own stroke, no"
    " opponent who chooses, no score."
)
LIMITS = (
    OTHERS,
    "Player and feeder knew where the player stood, and a wish can help one of the two: the side of"
    " the feed was drawn, its pace and depth were not.",
    NO_MATCH,
)
SHOWN = 8  # numbers of pairs that are named


def result_text(found: Found) -> str:
    """The page for a coach."""
    sheet = found.sheet
    lines = [
        *_counts(found),
        "",
        filled(_difference(found)),
        "",
        *(_places(found) if len(found.by_place) > 1 else ()),
        "What it shows",
        *(filled(f"- {text}") for text in _shows(found)),
        "",
        "What it does not show",
        *(filled(f"- {text}") for text in _shows_not(found)),
    ]
    return "\n".join([*lines, "", f"Seed of the lot {sheet.seed}."])


def _counts(found: Found) -> Iterator[str]:
    sheet, pairs = found.sheet, found.pairs
    kept = KEPT[sheet.counts]
    yield (
        f"{sheet.name}: {pairs.count} of {sheet.planned_pairs} planned pairs have both results."
        f" What counts is a ball {kept}."
    )
    yield (
        f"Pairs with both balls {kept} {pairs.both}, the one from the cone alone {pairs.first},"
        f" from the middle alone {pairs.second}, neither {pairs.neither}."
    )


def _difference(found: Found) -> str:
    pairs, sheet = found.pairs, found.sheet
    kept, n = KEPT[sheet.counts], pairs.count
    cone, middle = pairs.both + pairs.first, pairs.both + pairs.second
    level = f"{100 * (1 - sheet.false_alarm):g} %"
    return (
        f"From the cone {cone} of {n} were {kept}, from the middle {middle} of {n}:"
        f" {amount(found.more, f'in 100 from the cone ({level} interval)')};"
        f" p = {p_words(pairs.p_value)} (McNemar's exact test, two-sided)."
    )


def p_words(p: float) -> str:
    """A p value to two digits."""
    return "1" if p >= 0.995 else f"{p:.2g}" if p >= 0.0001 else "below 0.0001"


def by_chance(p: float) -> str:
    """A p value as trials in 100, such as `2.1 of 100`."""
    return f"{f'{100 * p:.2g}' if p >= 0.0001 else 'fewer than 0.01'} of 100"


def both_ways(more: Signed) -> str:
    """All that an interval holds, such as `anything from 7.1 fewer to 26.7 more in 100 from the
    cone`; both ends may lie on one side."""
    _, *ends = printed(more)
    low, high = (f"{abs(v):.1f} {'fewer' if v < 0 else 'more'}" for v in ends)
    return f"anything from {low} to {high} in 100 from the cone"


def _places(found: Found) -> Iterator[str]:
    """Place by place, with intervals that hold together."""
    level = level_together(len(found.by_place))
    yield "By place, more in 100 from the cone (95 % intervals that hold together; just to look):"
    for place, pairs in found.by_place.items():
        apart = pairs.difference(level).scaled(PER_100)
        yield (
            f"  place {place}: {_pairs(pairs.count)}, cone alone {pairs.first}, middle alone"
            f" {pairs.second}; {said(apart)}"
        )
    yield ""


def _shows(found: Found) -> Iterator[str]:
    pairs, more, sheet = found.pairs, found.more, found.sheet
    if found.is_seen:
        better, other = ("cone", "middle") if more.value > 0 else ("middle", "cone")
        yield (
            f"In this trial the {better} was better than the {other}. If the place made no"
            f" difference, the lot alone would bring one as large in {by_chance(pairs.p_value)}"
            " trials at most."
        )
    else:
        yield (
            "This trial cannot tell the cone from the middle. That does not make them equal:"
            f" {both_ways(more)} goes with it."
        )
    held = "inside that interval"
    if not found.holds_foretold:
        held = "outside that interval: wrong about this player, this feeder or these balls"
    yield f"The model foretold {sheet.foretold_per_100:.1f} more, {held}.".replace("-", "\u2212")
    for counts in LOST:
        beside = found.by_outcome[counts]
        if counts != sheet.counts and beside.count > 0:
            apart = beside.difference(1.0 - sheet.false_alarm).scaled(PER_100)
            yield (
                f"Beside it, not what the trial was planned for: balls {KEPT[counts]},"
                f" {amount(apart, 'in 100 from the cone')}, p = {p_words(beside.p_value)},"
                f" in {_pairs(beside.count)}."
            )


def _shows_not(found: Found) -> Iterator[str]:
    sheet, pairs = found.sheet, found.pairs
    missing = sheet.planned_pairs - pairs.count
    if missing:
        yield (
            f"{missing} of the {sheet.planned_pairs} planned pairs are not there"
            + (f", {found.halves} of them with one result alone" if found.halves else "")
            + ". The p value holds only if the end did not depend on how it looked; and fewer pairs"
            " see less than was planned."
        )
    if found.turned:
        named = ", ".join(map(str, found.turned[:SHOWN]))
        more = " and others" if len(found.turned) > SHOWN else ""
        yield (
            f"Not in the order of the lot: {_pairs(len(found.turned))} ({named}{more}). The test"
            " rests on that order, so its p value is no longer sure."
        )
    yield from LIMITS
    if sheet.unread:
        yield f"Columns that are not read: {', '.join(sheet.unread)}."


def _pairs(count: int) -> str:
    return f"{count} pair{'' if count == 1 else 's'}"


def result_json(found: Found) -> dict[str, Any]:
    """All numbers of a result."""
    sheet = found.sheet
    level = level_together(len(found.by_place))
    return {
        "sheet": sheet.name,
        "counts": sheet.counts,
        "false_alarm": sheet.false_alarm,
        "planned_pairs": sheet.planned_pairs,
        "seed": sheet.seed,
        **{
            counts: _pairs_json(pairs, 1.0 - sheet.false_alarm) if pairs.count else None
            for counts, pairs in found.by_outcome.items()
        },
        "is_seen": found.is_seen,
        "foretold_per_100": sheet.foretold_per_100,
        "foretold_is_inside": found.holds_foretold,
        "by_place": {place: _pairs_json(pairs, level) for place, pairs in found.by_place.items()},
        "pairs_not_in_order": list(found.turned),
        "pairs_with_one_result": found.halves,
        "columns_not_read": list(sheet.unread),
    }


def _pairs_json(pairs: Pairs, level: float) -> dict[str, Any]:
    more = pairs.difference(level).scaled(PER_100)
    return {
        "pairs": pairs.count,
        "both": pairs.both,
        "cone_alone": pairs.first,
        "middle_alone": pairs.second,
        "neither": pairs.neither,
        "more_per_100": estimate_json(more),
        "p_value": pairs.p_value,
    }
