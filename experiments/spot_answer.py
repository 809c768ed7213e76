"""What `rally-recovery spot` says: a page for a coach, or the same numbers as JSON."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from typing import Any

from experiments.angle import Extreme, limits_text, shortfall_text
from experiments.balls.best import Best
from experiments.balls.places import COARSE_STEP_X_M
from experiments.balls.words import said
from experiments.scene import opponent_json, opponent_words
from experiments.spot import PolicySpot, SpotQuestion, SpotResult
from experiments.statistics import Estimate
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M
from sim.envelope import LINE_MARGIN_M

STEP_M = 0.75
NEAR_MIDDLE_M = 0.05
MARGIN = 0.5


def spot_json(result: SpotResult) -> dict[str, Any]:
    """All numbers of a result, rounded to micrometres and the like."""
    q, best = result.question, result.best
    return {
        "opponent_contact_m": [q.place.x_m, q.place.y_m, q.place.z_m],
        "player": result.player,
        "hand": q.player.hand,
        **opponent_json(q.opponent, q.world.ball),
        "hitter": result.hitter,
        "surface": result.surface,
        "depth_m": result.depth_m,
        "seed": result.seed,
        "balls": result.balls,
        "balls_landed_in": result.landed_in,
        "drive_limits": dataclasses.asdict(result.limits),
        "extremes": [_extreme(e) for e in result.extremes],
        "bisector_x_m": _short(result.bisector[1][0]),
        "policies": {p.name: _policy(p) for p in result.policies},
        "best": best_json(best),
        "curve": _pairs(result.curve_x_m, result.curve_share_in_time),
        "curve_share_set": _pairs(result.curve_x_m, result.curve_share_set),
        "curve_balls_a_place": result.curve_balls,
        "crosscourt_leaves_court_below_m": _short(result.leaves_court_m),
    }


def _extreme(e: Extreme) -> dict[str, Any]:
    return {
        "target_m": [_short(v) for v in e.target_m],
        "speed_m_s": _short(e.speed_m_s),
        "topspin_rpm": _short(e.topspin_rpm),
        "speed_over_usual": _short(e.over_usual),
        "chance_in": _short(e.chance_in),
    }


def _policy(p: PolicySpot) -> dict[str, Any]:
    missed = {"estimate": 1 - p.share_in_time, "low": 1 - p.high, "high": 1 - p.low}
    return {
        "x_m": _short(p.x_m),
        "y_m": _short(p.y_m),
        "share_in_time": _short(p.share_in_time),
        "share_set": _short(p.share_set),
        "time_to_spare_s": _short(p.time_to_spare_s),
        "missed_per_100": {key: _short(100 * value) for key, value in missed.items()},
        "shade_m_per_m": _short(p.shade_m_per_m),
    }


def best_json(best: Best) -> dict[str, float | None]:
    """The best place: the centre and the ends of its range, and the place and share of its top."""
    values = {
        "x_m": best.x_m,
        "low_m": best.low_m,
        "high_m": best.high_m,
        "share_in_time": best.share,
        "top_x_m": best.top_x_m,
    }
    return {name: _short(value) for name, value in values.items()}


def _pairs(x: Any, y: Any) -> list[list[float | None]]:
    return [[_short(float(a)), _short(float(b))] for a, b in zip(x, y, strict=True)]


def _short(value: float | None) -> float | None:
    return None if value is None else round(value, 6) + 0.0


def spot_text(result: SpotResult) -> str:
    """The page for a coach."""
    parts = [scene_text(result.question), _advice(result), "\n".join(_table(result)), _cost(result)]
    parts += [_edges(result), _small_print(result)]
    return "\n\n".join(p for p in parts if p)


def side(x_m: float) -> str:
    """A lateral place in words, from the centre mark, as the player faces the net."""
    if abs(x_m) < NEAR_MIDDLE_M:
        return "at the centre mark"
    return f"{abs(x_m):.1f} m {'left' if x_m < 0 else 'right'}"


def steps(x_m: float) -> str:
    """A lateral place in steps from the centre mark."""
    if abs(x_m) < NEAR_MIDDLE_M:
        return "no step"
    count = abs(x_m) / STEP_M
    return f"{count:.1f} step{'' if f'{count:.1f}' == '1.0' else 's'}"


def scene_text(q: SpotQuestion) -> str:
    """Who strikes from where, and who waits how deep on which court."""
    place = q.place
    behind = place.y_m - HALF_LENGTH_M
    depth = f"{abs(behind):.1f} m {'behind' if behind > 0 else 'inside'} the far baseline"
    depth = "at the far baseline" if abs(behind) < NEAR_MIDDLE_M else depth
    across = "on the centre line"
    if abs(place.x_m) >= NEAR_MIDDLE_M:
        across = f"{abs(place.x_m):.1f} m to your {'left' if place.x_m < 0 else 'right'}"
    opponent = opponent_words(q.opponent, q.hitter.name, q.world.ball)
    return (
        f"Your opponent ({opponent}) strikes\n{across}, {depth},"
        f" ball {place.z_m:.1f} m high.\n"
        f"You ({q.player.name}, {q.player.hand}-handed) wait {q.depth_m:.1f} m behind the"
        f" baseline on a {q.world.surface.name} court."
    )


def _advice(r: SpotResult) -> str:
    b = r.best
    where = f"{side(b.x_m)} of the centre mark, {steps(b.x_m)} toward your"
    where = f"{where} {'left' if b.x_m < 0 else 'right'}"
    if abs(b.x_m) < NEAR_MIDDLE_M:
        where = "at the centre mark"
    return (
        f"Stand {where} (model result).\n"
        f"Anywhere from {side(b.low_m)} to {side(b.high_m)} is within half a ball in 100 of the"
        " best."
    )


def _table(r: SpotResult) -> Iterator[str]:
    width = max([6, *(len(p.name) for p in r.policies)])
    yield (
        f"{'policy':<{width}}  {'stand':>18}  {'steps':>9}  {'in time':>7}"
        f"  {'missed per 100 (95 %)':>21}  {'set per 100':>11}  {'time to spare':>13}"
    )
    for p in r.policies:
        missed = Estimate(1 - p.share_in_time, 1 - p.high, 1 - p.low, 0.0, p.landed_in).scaled(100)
        yield (
            f"{p.name:<{width}}  {_where(p.x_m, p.share_in_time)}"
            f"  {said(missed):>21}  {100 * p.share_set:11.1f}"
            f"  {p.time_to_spare_s:11.2f} s"
        )
    best = r.best
    most = f"{100 * (1 - best.share):.1f}"
    yield f"{'best':<{width}}  {_where(best.top_x_m, best.share)}  {most:>21}"


def _where(x_m: float, share_in_time: float) -> str:
    return f"{side(x_m):>18}  {steps(x_m):>9}  {100 * share_in_time:6.1f}%"


def _cost(r: SpotResult) -> str:
    """One plain sentence: what the middle costs against the best place."""
    middle = next((p for p in r.policies if p.name == "middle"), None)
    if middle is None:
        return ""
    more = 100 * (r.best.share - middle.share_in_time)
    if more <= MARGIN:
        return "The middle is as good as the best place, within half a ball in 100."
    return (
        f"Waiting at the middle you reach {more:.1f} balls fewer in 100 than from the best place,"
        " of the balls that land in."
    )


def _edges(r: SpotResult) -> str:
    """Where crosscourt balls leave the singles court, and that straight ones do not."""
    if abs(r.place.x_m) < NEAR_MIDDLE_M or r.leaves_court_m is None:
        return ""
    deep = r.leaves_court_m
    where = f"that bounces nearer to the net than {deep:.1f} m"
    if deep >= HALF_LENGTH_M:
        where = "wherever it bounces"
    text = (
        f"A crosscourt ball {LINE_MARGIN_M:.1f} m inside the sideline {where} leaves the singles"
        " court before it reaches you"
    )
    inside = abs(r.place.x_m) < HALF_WIDTH_M
    return text + ("; a straight one stays inside." if inside else ".")


def _small_print(r: SpotResult) -> str:
    text = (
        f"Model results from {r.balls} balls, of which {r.landed_in} landed in; seed {r.seed}.\n"
        f"{limits_text(r.limits)}"
    )
    shortfall = shortfall_text(r.extremes, r.limits)
    if shortfall:
        text += f"\n{shortfall}"
    if r.question.hitter.sees_receiver:
        text += (
            f"\nThis hitter looks at where you stand, so each place was played to anew, with"
            f" {r.curve_balls} balls at every {COARSE_STEP_X_M:g} m, finer near the best\nplace;"
            " the best place itself was judged among its neighbours and the policies on all balls."
        )
    return text
