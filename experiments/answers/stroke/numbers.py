"""The numbers of a stroke answer as JSON takes them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from experiments.answers.stroke.recovery import AfterStroke, Recovered
from experiments.answers.stroke.strokes import StrokeQuestion, Struck
from experiments.scene.people import opponent_json
from experiments.statistics.estimates import Estimate


def stroke_json(question: StrokeQuestion, found: Sequence[AfterStroke]) -> dict[str, Any]:
    """All numbers of an answer, rounded to micrometres and the like."""
    q = question
    return {
        "own_contact_m": [_short(v) for v in q.contact_m],
        "own_contact_quality": q.quality,
        "player": q.player.name,
        "hand": q.player.hand,
        **opponent_json(q.opponent, q.world.ball),
        "opponent_policy": q.opponent_policy.name,
        "opponent_takes": q.opponent_takes,
        "hitter": q.hitter.name,
        "surface": q.world.surface.name,
        "depth_m": q.depth_m,
        "high_over_m": q.high_gap_m,
        "high_to": q.high_to,
        "seed": q.seed,
        "balls": q.balls,
        "strokes": {one.stroke.name: _after(one) for one in found},
    }


def _after(one: AfterStroke) -> dict[str, Any]:
    best = one.best
    out = _struck(one.stroke)
    if best is not None:
        lost = zip(one.aims_x_m, one.aims_lost, strict=True)
        out |= {
            "start_m": [_short(v) for v in one.start_m],
            "opponent_in_per_100": _short(one.in_per_100),
            "policies": {p.name: _policy(p) for p in one.policies},
            "best_aim_m": _short(best.top_x_m),
            "plateau_m": [_short(best.low_m), _short(best.high_m)],
            "not_returned_per_100_by_aim": [[_short(x), _short(100 * v)] for x, v in lost],
        }
    return out


def _struck(s: Struck) -> dict[str, Any]:
    return {
        "speed_m_s": _short(s.speed_m_s),
        "over_net_m": _short(s.net_gap_m),
        "bounce_m": [_short(v) for v in s.bounce_m],
        "path_m": [[_short(v) for v in point] for point in s.path_m],
        "opponent_waits_m": [_short(v) for v in s.waits_m],
        "opponent_reaches_it": s.meets is not None,
        "opponent_contact_m": None if s.meets is None else [_short(v) for v in s.meets_m],
        "opponent_quality": None if s.meets is None else _short(s.meets["quality"][0]),
        "time_s": _short(s.time_s),
    }


def _policy(p: Recovered) -> dict[str, Any]:
    return {
        "spot_m": [_short(v) for v in p.spot_m],
        "reached_m": [_short(v) for v in p.reached_m],
        "share_of_way": _short(p.share_of_way),
        "short_m": _short(p.short_m),
        "speed_left_m_s": _short(p.speed_m_s),
        "needs_s": _short(p.needs_s),
        "missed_per_100": _estimate(p.lost()),
        "not_returned_per_100": _estimate(p.lost("not_returned")),
        "time_to_spare_s": _short(p.time_to_spare_s),
    }


def _estimate(e: Estimate) -> dict[str, float | None]:
    return {"estimate": _short(e.value), "low": _short(e.low), "high": _short(e.high)}


def _short(value: float) -> float | None:
    return round(float(value), 6) + 0.0 if math.isfinite(value) else None
