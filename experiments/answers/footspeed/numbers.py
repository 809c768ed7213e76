"""The numbers of a footspeed answer as JSON takes them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from experiments.answers.footspeed.places import MEASURES
from experiments.answers.footspeed.question import HALF_M_S, STANDS, AtLegs, Footspeed, difference
from experiments.answers.footspeed.varied import TOP_SPEED
from experiments.scene.people import opponent_json
from experiments.statistics.comparison import verdict
from experiments.statistics.estimates import Estimate


def footspeed_json(found: Sequence[Footspeed]) -> dict[str, Any]:
    """All numbers of the answers, by what is varied; infinite ones as null."""
    scene, first = found[0].question.scene, found[0].question
    return {
        "opponent_contact_m": [scene.place.x_m, scene.place.y_m, scene.place.z_m],
        "player": scene.player.name,
        "hand": scene.player.hand,
        **opponent_json(scene.opponent, scene.world.ball),
        "hitter": scene.hitter.name,
        "surface": scene.world.surface.name,
        "depth_m": scene.depth_m,
        "seed": scene.seed,
        "balls": first.balls,
        "varied": {one.question.what.name: _varied_json(one) for one in found},
    }


def _varied_json(found: Footspeed) -> dict[str, Any]:
    what = found.question.what
    out: dict[str, Any] = {
        "unit": what.unit,
        "own_value": _short(found.today.value),
        "rows": [_row_json(row) for row in found.rows],
    }
    faster = found.shifted(HALF_M_S) if what is TOP_SPEED else None
    if faster is not None:
        for measure in MEASURES:
            saved = difference(found.today, "middle", faster, "middle", measure)
            out[f"half_a_metre_a_second_saves_{measure}_per_100"] = _estimate(saved)
            out[f"best_place_is_worth_m_s_{measure}"] = [_short(v) for v in found.worth(measure)]
    return out


def _row_json(row: AtLegs) -> dict[str, Any]:
    out: dict[str, Any] = {"value": _short(row.value)}
    for measure in MEASURES:
        best = row.best[measure]
        out[measure] = {
            "best_x_m": _short(best.x_m),
            "top_x_m": _short(best.top_x_m),
            "best_x_interval_m": [_short(v) for v in best.x_interval_m],
            "plateau_m": [_short(best.low_m), _short(best.high_m)],
            "one_ball_left_m": _short(best.left_m),
            "one_ball_left_interval_m": [_short(v) for v in best.left_interval_m],
            "one_ball_right_m": _short(best.right_m),
            "one_ball_right_interval_m": [_short(v) for v in best.right_interval_m],
            "lost_per_100": {s: _estimate(row.lost(s, measure)) for s in STANDS},
            "middle_less_best_per_100": _estimate(row.loss("middle", measure)),
            "bisector_less_best_per_100": _estimate(row.loss("bisector", measure)),
            "middle_against_best": verdict(*_ends(row.loss("middle", measure))),
        }
    named = {stand: (stand, "missed") for stand in STANDS} | {
        "best_returned": ("best", MEASURES[1])
    }
    out["spots_x_m"] = {name: _short(row.places_x_m[row.place(*of)]) for name, of in named.items()}
    return out


def _ends(e: Estimate) -> tuple[float, float]:
    """The interval of what the middle wins, which is the loss with the other sign."""
    return -e.high, -e.low


def _estimate(e: Estimate) -> dict[str, float | None]:
    return {"estimate": _short(e.value), "low": _short(e.low), "high": _short(e.high)}


def _short(value: float) -> float | None:
    return round(float(value), 6) + 0.0 if math.isfinite(value) else None
