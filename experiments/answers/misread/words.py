"""What `rally-recovery misread` says: sentences and tables, the numbers as JSON, a row each."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

import numpy as np

from experiments.answers.misread.answer import BEST, Bound, Misread, Series
from experiments.answers.misread.beliefs import OFF_IN_DEPTH, OFF_SIDEWAYS, Misjudged
from experiments.balls.places import LOOK_BALLS
from experiments.scene.page import filled
from experiments.scene.sides import side
from experiments.statistics.comparison import AS_GOOD, NOT_DECIDED
from experiments.statistics.estimates import Estimate
from experiments.statistics.signed_words import amount, verdict_on_loss
from experiments.statistics.words import estimate_json, said

MISSED = "balls missed in 100"
PLACE_WIDE, SAID_WIDE = 14, 22


def misread_text(found: Misread) -> str:
    """The scene, the answer in sentences, then a table for each thing misjudged."""
    parts = [found.question.scene.text, "\n".join(f"- {_hung(s)}" for s in sentences(found))]
    parts += ["\n".join(_table(found, series)) for series in found.series.values()]
    parts += ["\n".join(_hitter_table(found)), "\n".join(_spread_table(found)), _small_print(found)]
    return "\n\n".join(parts)


def _hung(sentence: str) -> str:
    return filled(sentence).replace("\n", "\n  ")


def sentences(found: Misread) -> Iterator[str]:
    """The answer in words."""
    yield _knowing(found)
    for kind in found.question.kinds:
        yield _of_an_error(found, kind)
    yield _against_the_middle(found)
    if len(found.question.hitters) > 1:
        yield _taken_for(found)
    yield from (_sizes_allowed(found, off) for off in (OFF_SIDEWAYS, OFF_IN_DEPTH))
    yield _straying(found)


def _knowing(found: Misread) -> str:
    best, policy = found.right(BEST), found.question.policy.name
    own = found.right(policy)
    return (
        f"Judged rightly, the best place is {side(found.spot_m(best)[0])}, the spot of {policy}"
        f" {side(found.spot_m(own)[0])}. Beside the best place {policy} {_lost(found, own)}; the"
        f" middle {_lost(found, found.middle)}."
    )


def _lost(found: Misread, column: int) -> str:
    loss = found.loses(column)
    outcome = verdict_on_loss(loss)
    if outcome == AS_GOOD:
        return f"is as good: it loses {said(loss)} {MISSED}"
    if outcome == NOT_DECIDED:
        return f"cannot be told from it: it loses {said(loss)} {MISSED}"
    return f"loses {said(loss)} {MISSED}"


def _of_an_error(found: Misread, kind: Misjudged) -> str:
    policy = found.question.policy.name
    is_moved = len(np.unique(found.series[kind.name].spots[policy])) > 1
    unmoved = "" if is_moved else f" The spot of {policy} does not ask for it."
    return f"{_sizes_allowed(found, kind)}{unmoved}"


def _sizes_allowed(found: Misread, kind: Misjudged) -> str:
    """How large an error either way may be."""
    ends = found.series[kind.name].sizes[[0, -1]]
    parts, free = [], []
    for bound, way, end in zip(found.bears(kind.name), (kind.less, kind.more), ends, strict=True):
        if math.isfinite(bound.size):
            parts.append(f"half a ball in 100 is lost at {_at(kind, bound)} {way}")
        else:
            free.append(f"{_size(kind, end)} {way}{_perhaps(kind, bound)}")
    if free:
        parts.append(f"less than half a ball in 100 is lost up to {' or '.join(free)}")
    return f"{kind.words}: {'; '.join(parts)}."


def _at(kind: Misjudged, bound: Bound) -> str:
    latest = _bare(kind, bound.latest) if math.isfinite(bound.latest) else "beyond those tried"
    return f"{_size(kind, bound.size)} ({_bare(kind, bound.soonest)} to {latest})"


def _perhaps(kind: Misjudged, bound: Bound) -> str:
    """Where the interval allows half a ball after all."""
    if not math.isfinite(bound.soonest):
        return ""
    return f" (half a ball is within the interval from {_size(kind, bound.soonest)} on)"


def _size(kind: Misjudged, size: float) -> str:
    return f"{_bare(kind, size)} {'times' if kind.right else kind.unit}"


def _bare(kind: Misjudged, size: float) -> str:
    if kind.right:
        return f"{size:.2g}"
    return f"{abs(size):.{0 if kind.unit == '%' else 1}f}"


def _against_the_middle(found: Misread) -> str:
    """Which errors make the spot worse than the middle, where knowing is worth something at all."""
    start = "The middle asks for no idea of anything"
    gain = found.more(found.middle, found.right(BEST))
    if not gain.low > 0.0:
        return f"{start}, and loses {said(gain)} {MISSED} to the right best place: not for sure."
    worse = {k.name: found.worse_than_middle(k.name) for k in found.question.kinds}
    named = [f"{name} ({_listed(sizes)})" for name, sizes in worse.items() if len(sizes)]
    if not named:
        return f"{start}: no error tried makes the best place worse than it for sure."
    return f"{start}; worse than it for sure become errors of {', '.join(named)}."


def _listed(sizes: Iterable[float]) -> str:
    return ", ".join(_number(size) for size in sizes)


def _number(size: float) -> str:
    return f"{size:+g}".replace("-", "\u2212") if size else "0"


def _taken_for(found: Misread) -> str:
    true, *others = found.question.hitters
    right = found.right(BEST)
    parts = [
        f"for {hitter.name} {amount(found.more(int(column), right), MISSED)}"
        for hitter, column in zip(others, found.hitters[BEST][1:], strict=True)
    ]
    return f"If {true.name} is taken {'; '.join(parts)}."


def _straying(found: Misread) -> str:
    parts = [
        f"{row.spread_m:g} m costs {said(row.costs)}" for row in found.spreads if row.spread_m > 0.0
    ]
    return (
        "In whole rallies, recoveries that stray about the spot meant, sideways and in depth, by"
        f" one standard deviation: of 100 points {', '.join(parts)}."
    )


def _table(found: Misread, series: Series) -> Iterator[str]:
    """What each size costs, for the ways of choosing that it moves."""
    ways = [way for way, columns in series.spots.items() if len(np.unique(columns)) > 1]
    kind = series.kind
    yield f"{kind.name}, {kind.unit}: where one then stands, and {MISSED} more than knowing"
    sizes = [f"{size:g}" if kind.right else _number(size) for size in kind.sizes]
    yield from _costs(found, sizes, {way: series.spots[way] for way in ways})


def _hitter_table(found: Misread) -> Iterator[str]:
    yield f"opponent taken for: where one then stands, and {MISSED} more than knowing"
    yield from _costs(found, [h.name for h in found.question.hitters], found.hitters)


def _costs(found: Misread, names: Sequence[str], spots: Mapping[str, np.ndarray]) -> Iterator[str]:
    """Rows by name: for each way of choosing the place and what it costs."""
    width = max(8, *map(len, names))
    yield " " * width + "".join(
        f"{_short(way):>{PLACE_WIDE}}{'(95 %)':>{SAID_WIDE}}" for way in spots
    )
    for i, name in enumerate(names):
        cells = (
            f"{_place(found, int(columns[i])):>{PLACE_WIDE}}"
            f"{said(found.more(int(columns[i]), found.right(way))):>{SAID_WIDE}}"
            for way, columns in spots.items()
        )
        yield f"{name:>{width}}{''.join(cells)}"


def _short(way: str) -> str:
    return way if len(way) < PLACE_WIDE else f"{way[: PLACE_WIDE - 3]}\u2026"


def _place(found: Misread, column: int) -> str:
    return f"{found.spot_m(column)[0]:+z.2f} m".replace("-", "\u2212")


def _spread_table(found: Misread) -> Iterator[str]:
    yield f"whole rallies by {found.question.policy.name}, recoveries straying by"
    heads = ("points won of 100", "lost by it", "balls reached of 100")
    yield f"{'metres':>8}" + "".join(f"  {head:>22}" for head in heads)
    for row in found.spreads:
        cells = (row.points, row.costs, row.reached)
        yield f"{row.spread_m:>8g}" + "".join(f"  {said(e):>22}" for e in cells)


def _small_print(found: Misread) -> str:
    q = found.question
    balls = q.batch * len(found.judged.lost)
    looks = (
        "This hitter looks at where you stand: each place was played to anew, on the same chance,"
        f" and best places were sought with {LOOK_BALLS} balls each: their luck is in the costs."
        if q.scene.looks
        else "All places met the same balls."
    )
    return filled(
        "Model results. Metres from the centre mark, minus to your left; contact errors are plus"
        " outward and away from the net, errors of the own place plus toward the opponent's side"
        " and back. Each spot was chosen with the wrong idea, then judged in the true scene on"
        f" {balls} balls that chose no spot, against the spot of the right idea; of 100 that land"
        f" in, with 95 % intervals. {looks} Of an error that costs half a ball the brackets hold"
        " where the ends of what it costs do. Losses to the best place count that it was picked."
        f" {q.each * 3} rallies each, from the contact, its mirror image and the middle; seed"
        f" {q.scene.seed}."
    )


def rows_of(found: Misread) -> Iterator[dict[str, Any]]:
    """A row for each error and way of choosing, what it costs, and for each spread."""
    who = {"player": found.question.scene.player.name, "hitter": found.question.scene.hitter.name}
    for series in found.series.values():
        for way, columns in series.spots.items():
            costs = found.costs(series.kind.name, way)
            for size, column, e in zip(series.sizes, columns, costs, strict=True):
                kind = series.kind
                label = {"misjudged": kind.name, "size": float(size), "unit": kind.unit}
                yield who | label | {"chosen_by": way} | _row(found, int(column), e)
    for way, columns in found.hitters.items():
        for hitter, column in zip(found.question.hitters, columns, strict=True):
            label = {"misjudged": f"taken for {hitter.name}", "size": None, "unit": ""}
            e = found.more(int(column), found.right(way))
            yield who | label | {"chosen_by": way} | _row(found, int(column), e)
    for row in found.spreads:
        label = {"misjudged": "recovery strays", "size": row.spread_m, "unit": "m"}
        ends = {"points_lost_per_100": row.costs.value, **_ends_of("points_lost", row.costs)}
        yield who | label | {"chosen_by": found.question.policy.name} | ends


def _row(found: Misread, column: int, e: Estimate) -> dict[str, Any]:
    x, y = found.spot_m(column)
    ends = _ends_of("missed_more", e)
    return {"x_m": x, "y_m": y, "missed_more_per_100": e.value, **ends}


def _ends_of(name: str, e: Estimate) -> dict[str, float]:
    return {f"{name}_low": e.low, f"{name}_high": e.high}


def misread_json(found: Misread) -> dict[str, Any]:
    """The scene, the right spots and what they lose, every error, and how large each may be."""
    q = found.question
    columns = {way: found.right(way) for way in found.hitters} | {"middle": found.middle}
    return {
        **q.scene.numbers,
        "policy": q.policy.name,
        "right": {
            way: {"place_m": found.spot_m(k), "loses_per_100": estimate_json(found.loses(k))}
            for way, k in columns.items()
        },
        "half_a_ball_at": {
            name: {
                way: [_bound_json(bound) for bound in found.bears(name, way)]
                for way in series.spots
            }
            for name, series in found.series.items()
        },
        "rows": list(rows_of(found)),
    }


def _bound_json(bound: Bound) -> dict[str, float | None]:
    """Sizes; none where no size tried costs so much."""
    return {k: v if math.isfinite(v) else None for k, v in vars(bound).items()}
