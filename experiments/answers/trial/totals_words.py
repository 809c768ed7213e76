"""What two totals say, what they do not, and the same as numbers."""

from __future__ import annotations

from typing import Any

from experiments.answers.trial.result_words import (
    KEPT,
    NO_MATCH,
    OTHERS,
    both_ways,
    by_chance,
    p_words,
)
from experiments.answers.trial.sheet import CONE, MIDDLE
from experiments.answers.trial.totals import Totals
from experiments.output.numbers import plain
from experiments.scene.page import filled
from experiments.statistics.estimates import LEVEL
from experiments.statistics.signed_words import amount
from experiments.statistics.two_counts import Count
from experiments.statistics.words import estimate_json

LIMITS = (
    "No lot drew the order. If one place came first, or on another day, then warm or tired legs,"
    " wind and a feeder who finds the range are part of the difference; neither p nor interval"
    " knows of it.",
    "The two places did not get the same balls, and no lot drew their side: a few more balls far"
    " out to one of the two look like a better place.",
    "Who counted, fed and ran knew which place it was, and a wish can help one of the two.",
    "The number of balls has to be fixed beforehand: who stops when it looks good sees differences"
    " that are not there.",
)
PREFER = (
    "So prefer the sheet: `rally-recovery trial --csv sheet.csv --page sheet.pdf` says how many"
    " balls it takes, draws order and sides by lot and pairs the balls; `--read sheet.csv` judges"
    " it, which shows more with as many balls."
)


def totals_text(found: Totals) -> str:
    """The page for a coach."""
    lines = [
        filled(_difference(found)),
        "",
        "What it shows",
        filled(f"- {_shows(found)}"),
        "",
        "What it does not show",
        *(filled(f"- {text}") for text in (*LIMITS, OTHERS, NO_MATCH)),
        "",
        filled(PREFER),
    ]
    return "\n".join(lines)


def _difference(found: Totals) -> str:
    kept = KEPT[found.counts]
    level = f"{100 * LEVEL:g} %"
    return (
        f"From the {MIDDLE} {_of(found.middle)} were {kept}, from the {CONE} {_of(found.cone)}:"
        f" {amount(found.more, f'in 100 from the cone ({level} interval)')};"
        f" p = {p_words(found.p_value)} (Boschloo's exact test, two-sided; the interval is"
        " Newcombe's)."
    )


def _of(count: Count) -> str:
    return f"{count.kept} of {count.balls}"


def _shows(found: Totals) -> str:
    if found.is_seen:
        better, other = (CONE, MIDDLE) if found.more.value > 0 else (MIDDLE, CONE)
        return (
            f"In these counts the {better} was better than the {other}. If neither the place nor"
            " anything else made a difference, chance alone would bring one as large in"
            f" {by_chance(found.p_value)} such counts at most."
        )
    if found.is_below_alarm != found.is_outside_zero:
        return (
            "These counts are at the edge and leave it open: one of test and interval tells cone"
            " and middle apart, the other does not."
        )
    return (
        "These counts cannot tell the cone from the middle. That does not make them equal:"
        f" {both_ways(found.more)} goes with them."
    )


def totals_json(found: Totals) -> dict[str, Any]:
    """All numbers of it."""
    return {
        "counts": found.counts,
        "middle": plain(found.middle),
        "cone": plain(found.cone),
        "more_per_100": estimate_json(found.more),
        "level": LEVEL,
        "p_value": found.p_value,
        "is_seen": found.is_seen,
        "order_by_lot": False,
    }
