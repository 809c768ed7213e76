"""What `rally-recovery game` says: the solved game in words, or the numbers as JSON."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from experiments.answers.game.answer import GameAnswer
from experiments.scene.sides import side

LEAST_SHOWN = 0.02


def used(shares: np.ndarray) -> list[int]:
    """The choices with a share worth showing, the largest first."""
    order = np.argsort(-shares, kind="stable")
    return [int(k) for k in order if shares[k] >= LEAST_SHOWN]


def game_text(answer: GameAnswer, what: str) -> str:
    """The answer in words; `what` says what a ball is worth."""
    return "\n".join(_lines(answer, what))


def _lines(a: GameAnswer, what: str) -> Iterator[str]:
    q, scene = a.question, a.question.scene
    place, court = scene.place, scene.world.surface.name
    yield (
        f"{scene.against('best replies')}:\nstrikes at x {place.x_m:g} m,"
        f" y {place.y_m:g} m; {scene.player.name} waits {scene.depth_m:g} m behind the baseline"
        f" ({court}; model result)."
    )
    yield f"Worth of 100 balls to the hitter: {what}, less those out or in the net."
    yield ""
    reply = _shot(a, a.seen.column)
    yield (
        f"Place seen before the stroke: stand {side(a.safest_x_m)}; the best reply, {reply}, is"
        f" worth {100 * a.seen.value:.1f} (struck anew, the best reply {100 * a.fresh_seen:.1f})."
    )
    yield (
        f"Place hidden until the stroke: {100 * a.hidden.value:.1f} (struck anew, between"
        f" {100 * a.fresh_low:.1f} and {100 * a.fresh_high:.1f}). Disguise is worth"
        f" {100 * a.disguise:.1f}."
    )
    for j in used(a.hidden.rows):
        yield f"  stand {side(float(q.grid.place_x_m[j]))}: {100 * a.hidden.rows[j]:.0f} in 100"
    for k in used(a.hidden.columns):
        lands = 100 * a.payoffs.lands[k]
        yield f"  hit {_shot(a, k)}: {100 * a.hidden.columns[k]:.0f} in 100, {lands:.0f} land in"
    yield ""
    yield (
        f"{q.grid.places} places and {len(q.grid.shots)} shots, {q.errors} strokes each; on a grid"
        f" half as fine the hidden value is {100 * a.coarse_value:.1f}. Equal values of the used"
        f" choices hold to {100 * a.breach:.1g}. Seed {scene.seed}."
    )


def _shot(a: GameAnswer, k: int) -> str:
    x, y, share = a.question.grid.shots[k]
    return f"aimed {side(-x)}, {y:.1f} m deep, {100 * share:.0f} % speed"


def game_json(a: GameAnswer) -> dict[str, Any]:
    """All numbers of an answer; shots by their target in your frame."""
    grid, scene, hidden = a.question.grid, a.question.scene, a.hidden
    names = ("fresh_low", "fresh_high", "fresh_seen", "coarse_value", "breach", "disguise")
    return {
        **scene.who,
        "hidden_value": hidden.value,
        "seen_value": a.seen.value,
        "seen_place_x_m": a.safest_x_m,
        **{name: getattr(a, name) for name in names},
        "places": [{"x_m": grid.place_x_m[j], "share": hidden.rows[j]} for j in used(hidden.rows)],
        "shots": [
            {
                "target_m": -grid.shots[k, :2],
                "speed_share": grid.shots[k, 2],
                "share": hidden.columns[k],
                "lands": a.payoffs.lands[k],
            }
            for k in used(hidden.columns)
        ],
        "places_count": grid.places,
        "shots_count": len(grid.shots),
        "strokes_a_target": a.question.errors,
        "seed": scene.seed,
    }
