"""What `rally-recovery footspeed` says: tables and plain sentences, or the numbers as JSON."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

from experiments.answers.footspeed.answer import (
    HALF_M_S,
    MEASURES,
    STANDS,
    AtLegs,
    BestPlace,
    Footspeed,
    difference,
)
from experiments.answers.footspeed.varied import FAST, SLOW, TOP_SPEED
from experiments.balls.places import FARTHEST_X_M
from experiments.scene.page import caution, filled
from experiments.scene.sides import side
from experiments.statistics.comparison import AS_GOOD
from experiments.statistics.estimates import Estimate
from experiments.statistics.signed_words import amount, verdict_on_loss
from experiments.statistics.words import estimate_json, said

MEASURE_WORDS = {
    "missed": "balls missed (not reached in time), per 100",
    "not_returned": "balls that do not come back (missed, or met with too little time), per 100",
}
CAUTION = caution("you train your speed or sprint for a test")


def footspeed_text(found: Sequence[Footspeed]) -> str:
    """The page for a player: the scene, a table and sentences for each thing varied."""
    first = found[0].question
    parts = [first.scene.text]
    for one in found:
        what = one.question.what
        unit = "" if what.is_bundle else f", {what.unit}"
        parts.append(f"{what.name}: {what.words}{unit}; yours {_value(one.today.value)}")
        parts.append("\n".join(_places_table(one)))
        parts += ["\n".join(_lost_table(one, measure)) for measure in MEASURES]
        parts.append("\n".join(filled(s) for s in sentences(one)))
    parts.append(small_print(found[0]))
    return "\n\n".join(parts)


def small_print(found: Footspeed) -> str:
    """What the numbers are, and the usual cautions."""
    q = found.question
    return (
        "Metres from the centre mark, minus to your left. Half a ball: within half a ball in 100 of"
        " the best; stand in\nthe middle of that range. One ball: how far left and right of there a"
        f" ball in 100 more is lost than at the best\n(none: nowhere that was looked at, up to"
        f" {FARTHEST_X_M:g} m). Of 100 balls that land in, with 95 % intervals. Best places\nwere"
        f" looked for on {q.balls} balls struck and judged among their neighbours and the named"
        f" places on {q.balls}\nothers; seed {q.scene.seed}. {_same_balls(found)}\n{CAUTION}"
    )


def _same_balls(found: Footspeed) -> str:
    if found.question.scene.looks:
        return "This hitter looks at where you stand: each place was played to anew."
    return "All legs and places meet the same balls."


def _value(value: float) -> str:
    return f"{value:.2f}".replace("-", "\u2212") if value else "0"


def _places_table(found: Footspeed) -> Iterator[str]:
    yield (
        f"{'':>6}  {'stand by balls missed':<47}  stand by balls that do not come back\n{'':>6}"
        + f"  {'stand (95 %)':>21}  {'half a ball':>12}  {'one ball':>10}" * len(MEASURES)
    )
    for row in found.rows:
        bests = (row.best[measure] for measure in MEASURES)
        cells = (
            f"{_stand(b):>21}  {f'{_m(b.low_m)} to {_m(b.high_m)}':>12}  {_off(b):>10}"
            for b in bests
        )
        yield "  ".join([f"{_value(row.value):>6}", *cells])


def _lost_table(found: Footspeed, measure: str) -> Iterator[str]:
    heads = (*(f"from {stand}" for stand in STANDS), "middle less best")
    yield f"{'':>6}  {MEASURE_WORDS[measure]}\n{'':>6}" + "".join(f"  {h:>20}" for h in heads)
    for row in found.rows:
        lost = [*(row.lost(stand, measure) for stand in STANDS), row.loss("middle", measure)]
        yield f"{_value(row.value):>6}" + "".join(f"  {said(e):>20}" for e in lost)


def _m(x_m: float) -> str:
    return f"{x_m:+z.1f}".replace("-", "\u2212")


def _stand(best: BestPlace) -> str:
    low, high = best.x_interval_m
    return f"{_m(best.x_m)} ({_m(low)} to {_m(high)})"


def _off(best: BestPlace) -> str:
    return f"{_length(best.left_m)}, {_length(best.right_m)}"


def _length(metres: float) -> str:
    return f"{metres:.1f}" if math.isfinite(metres) else "none"


def sentences(found: Footspeed) -> Iterator[str]:
    """The answer in words."""
    for row, words in _named_legs(found):
        yield _where_to_stand(row, words)
    if found.question.what is TOP_SPEED:
        yield from _half_a_metre_a_second(found)
    yield from _ties(found)


def _named_legs(found: Footspeed) -> Iterator[tuple[AtLegs, str]]:
    """The legs that the sentences are about, and what they are called."""
    what, today = found.question.what, found.today
    if what is TOP_SPEED:
        for by, words in ((-HALF_M_S, "Half a metre a second slower"), (0.0, "With your legs")):
            if (row := found.shifted(by)) is not None:
                yield row, f"{words} ({row.value:.2f} m/s)"
        if (row := found.shifted(HALF_M_S)) is not None:
            yield row, f"With half a metre a second more ({row.value:.2f} m/s)"
        return
    if what.is_bundle:
        named = ((SLOW, "slow legs"), (today.value, "your legs"), (FAST, "fast legs"))
        for value, words in named:
            if (row := found.near(value)) is not None:
                legs = row.legs
                yield (
                    row,
                    f"With {words} ({legs.top_speed_m_s:.2f} m/s, tau {legs.tau_s:.2f} s, reaction"
                    f" {legs.reaction_s:.2f} s, reach {legs.full_reach_m:.2f} m)",
                )
        return
    for k in sorted({0, found.rows.index(today), len(found.rows) - 1}):
        yours = " (yours)" if found.rows[k] is today else ""
        yield found.rows[k], f"At {found.rows[k].value:.2f} {what.unit}{yours}"


def _where_to_stand(row: AtLegs, words: str) -> str:
    best = row.best["missed"]
    low, high = best.x_interval_m
    return (
        f"{words} stand {side(best.x_m)} (95 %: {_m(low)} to {_m(high)} m): {tolerance_words(best)}"
        f" You miss {said(row.lost('middle'))} from the middle, {said(row.lost('best'))} from"
        " the best place."
    )


def tolerance_words(best: BestPlace) -> str:
    """How far off costs a ball in a hundred, in words."""
    parts = [
        f"{metres:.1f} m to the {way}"
        for metres, way in ((best.left_m, "left"), (best.right_m, "right"))
        if math.isfinite(metres)
    ]
    if not parts:
        return "no place looked at costs a ball in a hundred more."
    return f"{' or '.join(parts)} of it costs one more ball in a hundred."


def _half_a_metre_a_second(found: Footspeed) -> Iterator[str]:
    """What more speed buys from the middle, against standing better today."""
    faster = found.shifted(HALF_M_S)
    if faster is None:
        return
    today = found.today
    speed = difference(today, "middle", faster, "middle")
    place = today.loss("middle")
    yield (
        f"Beside the middle with today's legs, half a metre a second more misses {_fewer(speed)};"
        f" standing at the best place with today's legs misses {_fewer(place)}."
    )
    yield f"Both together miss {_fewer(difference(today, 'middle', faster, 'best'))}."
    if place.low > 0:
        yield _worth_words(found)


def _fewer(saved: Estimate) -> str:
    """So many balls missed fewer, or more."""
    return amount(saved, "balls in 100", "fewer", "more")


def _worth_words(found: Footspeed) -> str:
    """How much top speed the better place is worth."""
    estimate, low, high = found.worth()
    most = found.rows[-1].value - found.today.value
    start = "To a player in the middle, standing better is worth"
    if not math.isfinite(low):
        return f"{start} more than {most:.1f} m/s of top speed, the most that was tried."
    end = f"more than {most:.1f}" if not math.isfinite(high) else f"{high:.1f}"
    about = f"more than {most:.1f}" if not math.isfinite(estimate) else f"{estimate:.1f}"
    return f"{start} {about} m/s (95 %: {low:.1f} to {end}) of top speed."


def _ties(found: Footspeed) -> Iterator[str]:
    """For which legs the middle is as good as the best place."""
    tied = [row for row in found.rows if is_as_good(row.loss("middle"))]
    if not tied:
        yield "For none of these legs is the middle as good as the best place."
        return
    of = ", ".join(_value(row.value) for row in tied)
    unit = "" if found.question.what.is_bundle else f" {found.question.what.unit}"
    yield f"The middle is as good (inside half a ball in 100) at {of}{unit}."


def is_as_good(loss: Estimate) -> bool:
    """Whether the interval lies inside half a ball in 100."""
    return verdict_on_loss(loss) == AS_GOOD


def footspeed_json(found: Sequence[Footspeed]) -> dict[str, Any]:
    """All numbers of the answers, by what is varied."""
    first = found[0].question
    varied = {one.question.what.name: _varied_json(one) for one in found}
    return {**first.scene.numbers, "balls": first.balls, "varied": varied}


def _varied_json(found: Footspeed) -> dict[str, Any]:
    what = found.question.what
    out: dict[str, Any] = {
        "unit": what.unit,
        "own_value": found.today.value,
        "rows": [_row_json(row) for row in found.rows],
    }
    faster = found.shifted(HALF_M_S) if what is TOP_SPEED else None
    if faster is not None:
        for measure in MEASURES:
            saved = difference(found.today, "middle", faster, "middle", measure)
            out[f"half_a_metre_a_second_saves_{measure}_per_100"] = estimate_json(saved)
            out[f"best_place_is_worth_m_s_{measure}"] = found.worth(measure)
    return out


def _row_json(row: AtLegs) -> dict[str, Any]:
    named = {stand: row.place(stand, "missed") for stand in STANDS}
    named["best_returned"] = row.place("best", "not_returned")
    spots = {name: row.places[k, 0] for name, k in named.items()}
    return {
        "value": row.value,
        **{measure: _measure_json(row, measure) for measure in MEASURES},
        "spots_x_m": spots,
    }


def _measure_json(row: AtLegs, measure: str) -> dict[str, Any]:
    best, middle = row.best[measure], row.loss("middle", measure)
    return {
        "best_x_m": best.x_m,
        "top_x_m": best.top_x_m,
        "best_x_interval_m": best.x_interval_m,
        "plateau_m": (best.low_m, best.high_m),
        "one_ball_left_m": best.left_m,
        "one_ball_left_interval_m": best.left_interval_m,
        "one_ball_right_m": best.right_m,
        "one_ball_right_interval_m": best.right_interval_m,
        "lost_per_100": {stand: estimate_json(row.lost(stand, measure)) for stand in STANDS},
        "middle_less_best_per_100": estimate_json(middle),
        "bisector_less_best_per_100": estimate_json(row.loss("bisector", measure)),
        "middle_against_best": verdict_on_loss(middle),
    }
