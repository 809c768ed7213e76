"""The answer at the net in words and numbers."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

from experiments.answers.net.answer import (
    ANGLE,
    CENTRE,
    FROM_NET_M,
    LINE,
    MEASURES,
    NAMED,
    OTHER,
    AtTheNet,
    NetAnswer,
)
from experiments.answers.net.tables import BY_KIND, places_rows, turning_rows
from experiments.answers.net.turning import Turning
from experiments.balls.best import Best
from experiments.scene.page import caution, filled
from experiments.statistics.signed_words import claim, turned, verdict_on_loss
from experiments.statistics.words import estimate_json, said

SAID = {
    LINE: "The line (in front of a ball straight down it)",
    ANGLE: "The middle of the angle",
    CENTRE: "The centre of the court",
    OTHER: "The other side, as at the baseline",
}
BY = {"missed": "balls reached", "not_returned": "balls returned", "points": "points won"}
CENTRAL_M = 0.05
SMALL_PRINT = (
    "The range is what lies within half a ball or point in 100 of the best place tried; the aims"
    " are half a metre apart, and small gaps in the ranges may be chance. The best place is"
    " shown by the very balls it was picked on, which flatter it, and so does its range. How often"
    " a player passes"
    " or lobs, and to which side, is assumed. A passing player has one way of choosing in each part"
    " of the answer; a real one changes it when you do."
)


def net_text(answer: NetAnswer) -> str:
    """Who approaches, how it is met, where to stand against each way of passing."""
    parts = [filled(_approach(answer))]
    for passes, found in answer.passes.items():
        parts.append("\n".join([f"If the opponent passes {_passes(passes)}:", *_lines(found)]))
    return "\n\n".join([*parts, filled(SMALL_PRINT), caution("you practise at the net")])


def _passes(passes: str) -> str:
    return passes.removeprefix("as the hitter passes") or "as this hitter does"


def _approach(answer: NetAnswer) -> str:
    question, stroke = answer.question, answer.stroke
    scene, (x, y, z) = question.scene, stroke.meets_m
    own = question.contact_m
    assert stroke.meets is not None
    hurry = float(stroke.meets["quality"][0])
    return (
        f"You ({scene.player.name}, {scene.player.hand}-handed) approach on a"
        f" {scene.world.surface.name} court, the ball {side_m(own[0])}, {-own[1]:.1f} m from the"
        f" net; it lands {side_m(question.lands_m[0])}, {question.lands_m[1]:.1f} m deep, at"
        f" {3.6 * stroke.speed_m_s:.0f} km/h. Your opponent ({scene.against()}) meets it"
        f" {stroke.time_s:.2f} s later, {side_m(x)}, {y:.1f} m from the net, ball {z:.1f} m high,"
        f" {_hurry(hurry)} (quality {hurry:.2f} of 1)."
    )


def _hurry(quality: float) -> str:
    if quality >= 0.8:
        return "hardly hurried"
    return "hurried" if quality >= 0.4 else "at full stretch"


def side_m(x_m: float) -> str:
    """Such as `2.0 m to your right`."""
    if abs(x_m) < CENTRAL_M:
        return "on the centre line"
    return f"{abs(x_m):.1f} m to your {'right' if x_m > 0 else 'left'}"


def _lines(found: AtTheNet) -> Iterator[str]:
    for measure in MEASURES:
        across, close = found.across(measure), found.close(measure)
        top = found.met.judged(measure).best
        yield filled(
            f"By {BY[measure]}: run to the place {side_m(across.top_x_m)} ({_range(across)}),"
            f" {close.top_x_m:.2g} m from the net ({close.low_m:.1f} to {close.high_m:.1f} m"
            f"{_edge(close)});"
            f" {100.0 - found.met.lost_per_100(measure, top).value:.1f} of 100 there."
        )
    x, y = found.reached_m[found.met.judged("points").best]
    yield filled(
        f"On the way to the best place by points you are {side_m(x)}, {-y:.1f} m from the net"
        " when the opponent strikes."
    )
    yield filled(_agree(found))
    for name in NAMED:
        yield from _named(found, name)
    yield from _distances(found)
    yield from map(_turn, found.turning)


def _edge(close: Best) -> str:
    if close.top_x_m == FROM_NET_M[-1]:
        return ", the farthest tried"
    return ", the nearest tried" if close.top_x_m == FROM_NET_M[0] else ""


def _range(best: Best) -> str:
    return f"{_signed(best.low_m)} to {_signed(best.high_m)}"


def _signed(x_m: float) -> str:
    if abs(x_m) < CENTRAL_M:
        return "centre"
    return f"{abs(x_m):.1f} m {'right' if x_m > 0 else 'left'}"


def _agree(found: AtTheNet) -> str:
    k = found.met.judged("missed").best
    if k == found.met.judged("points").best:
        return "Balls reached beside points: both have the same best place."
    loss = found.met.judged("points").loss(k)
    outcome = verdict_on_loss(loss)
    said_so = claim(outcome, turned(loss), "the best one by points", "points in 100")
    return f"Balls reached beside points: the best place by balls reached {said_so}."


def _named(found: AtTheNet, name: str) -> Iterator[str]:
    k = found.named(name)
    x, y = found.met.aims[k]
    reached, points = (found.met.judged(m).loss(k) for m in ("missed", "points"))
    outcome = verdict_on_loss(points)
    wins = claim(outcome, turned(points), "the best aim tried by points", "points in 100")
    yield filled(
        f"{SAID[name]}, {side_m(x)} and {-y:.1f} m from the net: reaches {said(reached)} fewer"
        f" balls in 100 than the best aim tried; in points it {wins}."
    )


def _distances(found: AtTheNet) -> Iterator[str]:
    yield "By distance from the net, at the best side for points, run to it / already there:"
    for distance, k in zip(FROM_NET_M, found.by_distance, strict=True):
        passes, lobs = (
            " / ".join(
                _share(100.0 - met.lost_per_100(kind, k, of).value)
                for met in (found.met, found.stood)
            )
            for kind, of in BY_KIND
        )
        yield f"  {distance:4.2f} m: reaches {passes} of 100 passing shots, {lobs} of 100 lobs"


def _share(value: float) -> str:
    return "none seen" if math.isnan(value) else f"{value:.0f}"


def _turn(turning: Turning) -> str:
    if not turning.side:
        return filled(f"Ball near the centre ({turning.name}): neither side is the ball's.")
    at = turning.bisector_turns_m
    middle = "does not change sides" if math.isnan(at) else f"crosses the centre {at:.1f} m"
    tail = "" if math.isnan(at) else " from the net"
    return filled(
        f"The side turns round ({turning.name}): the middle of the angle {middle}{tail};"
        f" {_measured(*turning.best_turns_m)}."
    )


def _measured(same: float, other: float) -> str:
    near = "measured, no distance asks surely for the ball's side"
    if not math.isnan(same):
        near = f"measured, up to {same:g} m from the net stand on the ball's side"
    far = "none surely for the other"
    if not math.isnan(other):
        far = f"from {other:g} m on the other"
    return f"{near}, {far}"


def net_json(answers: Sequence[NetAnswer]) -> list[dict[str, Any]]:
    """Per cell: the scene, the approach, the best places, the named places and the turning."""
    return [_json(answer) for answer in answers]


def _json(answer: NetAnswer) -> dict[str, Any]:
    stroke, question = answer.stroke, answer.question
    assert stroke.meets is not None
    return {
        **question.scene.who,
        "hitter": question.scene.hitter.name,
        "surface": question.scene.world.surface.name,
        "seed": question.scene.seed,
        "balls": question.scene.balls,
        "own_contact_m": list(question.contact_m),
        "lands_m": list(question.lands_m),
        "met_m": list(stroke.meets_m),
        "met_after_s": stroke.time_s,
        "quality": float(stroke.meets["quality"][0]),
        "passes": {name: _found_json(found) for name, found in answer.passes.items()},
        "places": places_rows([answer]),
        "turning": turning_rows([answer]),
    }


def _found_json(found: AtTheNet) -> dict[str, Any]:
    return {
        **{measure: _best_json(found, measure) for measure in MEASURES},
        "turns_m": {
            t.name: [_number(v) for v in (t.bisector_turns_m, *t.best_turns_m)]
            for t in found.turning
        },
    }


def _best_json(found: AtTheNet, measure: str) -> dict[str, Any]:
    across, close = found.across(measure), found.close(measure)
    return {
        "x_m": across.top_x_m,
        "x_range_m": [across.low_m, across.high_m],
        "from_net_m": close.top_x_m,
        "from_net_range_m": [close.low_m, close.high_m],
        "lost_per_100": estimate_json(
            found.met.lost_per_100(measure, found.met.judged(measure).best)
        ),
    }


def _number(value: float) -> float | None:
    return None if math.isnan(value) else value
