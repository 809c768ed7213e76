"""What `rally-recovery spot` says: a page for a coach, or the same numbers as JSON."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from experiments.answers.spot.answer import PolicySpot, SpotResult
from experiments.balls.angle import Extreme, limits_text, shortfall_text
from experiments.balls.best import Best
from experiments.balls.places import COARSE_STEP_X_M
from experiments.balls.spots import off_the_line_text
from experiments.scene.page import filled
from experiments.scene.sides import NEAR_MIDDLE_M, side, steps, wing
from experiments.scene.told_units import length
from experiments.statistics.words import estimate_json, said
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M
from sim.envelope import LINE_MARGIN_M

MARGIN = 0.5
FEWEST = "fewest missed"
FEW = ("middle", "bisector", "best-for-belief", "safest")  # with the best place the ways told first


def spot_json(result: SpotResult) -> dict[str, Any]:
    """All numbers of a result."""
    return {
        **result.scene.numbers,
        "balls": result.scene.balls,
        "balls_landed_in": result.landed_in,
        "drive_limits": result.scene.limits,
        "extremes": [_extreme(e) for e in result.extremes],
        "bisector_x_m": result.bisector[1][0],
        "policies": {p.name: _policy(p) for p in result.policies},
        "best": best_json(result.best),
        "curve": _pairs(result.curve_x_m, result.curve_share_in_time),
        "curve_share_set": _pairs(result.curve_x_m, result.curve_share_set),
        "curve_balls_a_place": result.curve_balls,
        "crosscourt_leaves_court_below_m": result.leaves_court_m,
    }


def _extreme(e: Extreme) -> dict[str, Any]:
    return {
        "target_m": e.target_m,
        "speed_m_s": e.speed_m_s,
        "topspin_rpm": e.topspin_rpm,
        "speed_over_usual": e.over_usual,
        "chance_in": e.chance_in,
    }


def _policy(p: PolicySpot) -> dict[str, Any]:
    names = ("x_m", "y_m", "share_in_time", "share_set", "time_to_spare_s", "shade_m_per_m")
    return {name: getattr(p, name) for name in names} | {
        "missed_per_100": estimate_json(p.missed_per_100)
    }


def best_json(best: Best) -> dict[str, float]:
    """The best place: the centre and the ends of its range, and the place and share of its top."""
    values = dict(vars(best))
    values["share_in_time"] = values.pop("share")
    return values


def _pairs(x: Any, y: Any) -> list[tuple[float, float]]:
    return list(zip(x.tolist(), y.tolist(), strict=True))


def spot_text(result: SpotResult, every: bool = False, own: Sequence[str] = ()) -> str:
    """The page for a coach: where, at what price, for whom; then a few ways, or `every` one.

    `own` are names of policies that are told in any case.
    """
    told = [p for p in result.policies if every or p.name in (*FEW, *own)]
    parts = [_advice(result), result.scene.text, "\n".join(_table(result, told))]
    off_the_line = off_the_line_text(
        [(p.name, [(p.x_m, p.y_m)]) for p in told], result.scene.line_m
    )
    parts += [filled(off_the_line), _edges(result), _small_print(result, len(told))]
    return "\n\n".join(p for p in parts if p)


def _advice(r: SpotResult) -> str:
    """One sentence: where, in metres and steps, what is missed from there and from the middle."""
    b = r.best
    toward = f" toward your {'left' if b.x_m < 0 else 'right'}"
    toward = f"{toward} (the {wing(b.x_m, r.scene.player.hand)} side)"
    around = tolerance_words(b)
    if side(b.low_m) != side(b.high_m):
        around = (
            f"Anywhere from {side(b.low_m)} to {side(b.high_m)} is within half a ball in 100 of the"
            " best; this is the middle of it."
        )
    return filled(
        f"Stand {stand_words(b, toward)}: from there you miss {100 * (1 - b.share):.1f} of 100"
        f" balls that land in{_cost(r)} (model result). {around}"
    )


def stand_words(best: Best, toward: str = "") -> str:
    """The best place in metres and steps, such as `1.1 m left of the centre mark, 1.5 steps`."""
    if abs(best.x_m) < NEAR_MIDDLE_M:
        return "at the centre mark"
    return f"{side(best.x_m)} of the centre mark, {steps(best.x_m)}{toward}"


def tolerance_words(best: Best) -> str:
    """How far off the best place costs half a ball in 100; it is the centre of its range."""
    off = 0.5 * (best.high_m - best.low_m)
    if off < NEAR_MIDDLE_M:
        return "Every place tried beside it costs more than half a ball in 100."
    return f"Up to {length(off)} ({steps(off)}) off costs at most half a ball in 100."


def _table(r: SpotResult, told: Sequence[PolicySpot]) -> Iterator[str]:
    width = max([len(FEWEST), *(len(p.name) for p in told)])
    yield (
        f"{'policy':<{width}}  {'stand':>18}  {'steps':>9}  {'in time':>7}"
        f"  {'missed per 100 (95 %)':>21}  {'set per 100':>11}  {'time to spare':>13}"
    )
    for p in told:
        yield (
            f"{p.name:<{width}}  {_where(p.x_m, p.share_in_time)}"
            f"  {said(p.missed_per_100):>21}  {100 * p.share_set:11.1f}"
            f"  {p.time_to_spare_s:11.2f} s"
        )
    best = r.best
    most = f"{100 * (1 - best.share):.1f}"
    yield f"{FEWEST:<{width}}  {_where(best.top_x_m, best.share)}  {most:>21}"


def _where(x_m: float, share_in_time: float) -> str:
    return f"{side(x_m):>18}  {steps(x_m):>9}  {100 * share_in_time:6.1f}%"


def middle_of(r: SpotResult) -> PolicySpot | None:
    """The middle among the policies, if it is one of them."""
    return next((p for p in r.policies if p.name == "middle"), None)


def _cost(r: SpotResult) -> str:
    """What the middle costs against the best place, in words that go on a sentence."""
    middle = middle_of(r)
    if middle is None:
        return ""
    if middle_is_as_good(r):
        return "; the middle is as good, within half a ball"
    return f", from the middle {said(middle.missed_per_100)}"


def middle_is_as_good(r: SpotResult) -> bool:
    """Whether the middle is within half a ball in 100 of the best place."""
    middle = middle_of(r)
    return middle is not None and 100 * (r.best.share - middle.share_in_time) <= MARGIN


def _edges(r: SpotResult) -> str:
    """Where crosscourt balls leave the singles court, and that straight ones do not."""
    if abs(r.scene.place.x_m) < NEAR_MIDDLE_M or r.leaves_court_m is None:
        return ""
    deep = r.leaves_court_m
    where = f"that bounces nearer to the net than {length(deep)}"
    if deep >= HALF_LENGTH_M:
        where = "wherever it bounces"
    text = (
        f"A crosscourt ball {length(LINE_MARGIN_M)} inside the sideline {where} leaves the singles"
        " court before it reaches you"
    )
    inside = abs(r.scene.place.x_m) < HALF_WIDTH_M
    return text + ("; a straight one stays inside." if inside else ".")


def _small_print(r: SpotResult, told: int) -> str:
    text = (
        f"Model results from {r.scene.balls} balls, of which {r.landed_in} landed in;"
        f" seed {r.scene.seed}.\n"
        f"{limits_text(r.scene.limits)}"
    )
    if told < len(r.policies):
        text += f"\nOf {len(r.policies)} ways of recovering {told} are shown; --all shows all."
    shortfall = shortfall_text(r.extremes, r.scene.limits)
    if shortfall:
        text += f"\n{shortfall}"
    if r.scene.looks:
        text += (
            f"\nThis hitter looks at where you stand, so each place was played to anew, with"
            f" {r.curve_balls} balls at every {length(COARSE_STEP_X_M, None)}, finer near the"
            " best\nplace; the best place itself was judged among its neighbours and the"
            " policies on all balls."
        )
    return text
