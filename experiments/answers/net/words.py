"""The answer at the net in words and numbers."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

from experiments.answers.net.answer import (
    ANGLE,
    CENTRE,
    LINE,
    MEASURES,
    NAMED,
    OTHER,
    AtTheNet,
    Chosen,
    NetAnswer,
)
from experiments.answers.net.tables import BY_KIND, places_rows, turning_rows
from experiments.answers.net.turning import Turning
from experiments.scene.page import caution, filled
from experiments.statistics.signed_words import amount, claim, turned, verdict_on_loss
from experiments.statistics.words import estimate_json, said

SAID = {
    LINE: "The line (in front of a ball straight down it)",
    ANGLE: "The middle of the angle",
    CENTRE: "The centre of the court",
    OTHER: "The other side, as at the baseline",
}
CENTRAL_M = 0.05
SMALL_PRINT = (
    "Aims are half a metre apart. A place may be as good if it cannot be shown, the choice of the"
    " best counted, to lose more than half a ball or point in 100; in brackets 95 % intervals. How"
    " often a player passes or lobs, and to which side, is assumed, and lobs are high and slow, so"
    " that hardly one is missed: that favours standing close. A passing player has one way of"
    " choosing in each part of the answer; a real one changes it when you do. Where the side turns"
    " round is measured at rest, by balls reached; there ranges are within half a ball in 100 of"
    " the best on the same balls, which flatters them."
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
    yield filled(f"Which side, {found.own_m:.1f} m from the net: {_across(found)}")
    yield filled(_agree(found))
    for name in NAMED:
        yield from _named(found, name)
    yield filled(f"How close: {close_words(found)}")
    yield from _distances(found)
    yield from map(_turn, found.turning)


def _across(found: AtTheNet) -> str:
    points, reached = found.across("points"), found.across("missed")
    x, y = found.reached_m[points.column]
    best, most = (side_m(found.met.aims[c.column][0]) for c in (points, reached))
    won, met = _kept(found, "points", points.column), _kept(found, "missed", reached.column)
    return (
        f"most points are won by running to the place {best} ({won} of 100);"
        f" {places_words(found, points)}. Most balls are reached {most} ({met} of 100;"
        f" {places_words(found, reached)}). On the way there you are {side_m(x)}, {-y:.1f} m from"
        " the net when the opponent strikes."
    )


def _kept(found: AtTheNet, measure: str, column: int) -> str:
    return said(found.met.kept_per_100(measure, column))


def places_words(found: AtTheNet, choice: Chosen) -> str:
    """The places across that may be as good as the best."""
    x = found.met.aims[choice.as_good, 0]
    return _as_good(_signed(float(x.min())), _signed(float(x.max())))


def _as_good(first: str, last: str) -> str:
    if first == last:
        return "no other place tried is as good"
    return f"from {first} to {last} it may be as good"


def close_words(found: AtTheNet) -> str:
    """How near to the net, as far across as is best."""
    points, reached = found.close("points"), found.close("missed")
    best, most = (-found.met.aims[c.column][1] for c in (points, reached))
    won = _kept(found, "points", points.column)
    return (
        f"most points are won {best:.1f} m from the net ({won} of 100);"
        f" {_distance_words(found, points)}. Most balls are reached {most:.1f} m from it (all as"
        " far across as is best for points)."
    )


def _distance_words(found: AtTheNet, choice: Chosen) -> str:
    d = -found.met.aims[choice.as_good, 1]
    low, high = float(d.min()), float(d.max())
    ends = ((low, found.distances_m[0], "nearest"), (high, found.distances_m[-1], "farthest"))
    tried = [f"the {word} tried" for value, end, word in ends if value == end]
    tail = f" ({' and '.join(tried)})" if tried else ""
    return f"{_as_good(f'{low:.1f}', f'{high:.1f} m' if low < high else f'{low:.1f}')}{tail}"


def _signed(x_m: float) -> str:
    if abs(x_m) < CENTRAL_M:
        return "the centre"
    return f"{abs(x_m):.1f} m {'right' if x_m > 0 else 'left'}"


def _agree(found: AtTheNet) -> str:
    points = found.across("points")
    k = found.across("missed").column
    if k == points.column:
        return "By balls reached and by points the same place is best."
    loss = points.judged.loss(k)
    said_so = claim(verdict_on_loss(loss), turned(loss), "the best by points", "points in 100")
    return f"The best place by balls reached {said_so}."


def _named(found: AtTheNet, name: str) -> Iterator[str]:
    x = found.met.aims[found.named(name)][0]
    reached, points = (found.loss(m, name) for m in ("missed", "points"))
    wins = claim(verdict_on_loss(points), turned(points), "the best place across", "points in 100")
    fewer = amount(turned(reached), "balls in 100")
    yield filled(
        f"{SAID[name]}, {side_m(x)}: reaches {fewer} than the best place across; in points it"
        f" {wins}."
    )


def _distances(found: AtTheNet) -> Iterator[str]:
    yield "By distance from the net, of 100 reached, run to it / already there:"
    for distance, k in zip(found.distances_m, found.by_distance.tolist(), strict=True):
        passes, lobs = (
            " / ".join(
                _share(100.0 - met.lost_per_100(kind, k, of).value)
                for met in (found.met, found.stood)
            )
            for kind, of in BY_KIND
        )
        points = 100.0 - found.met.lost_per_100("points", k).value
        yield (
            f"  {distance:4.1f} m: {passes} passing shots, {lobs} lobs; {points:.0f} points won on"
            " the run"
        )


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
    x, y = found.met.aims[across.as_good, 0], -found.met.aims[close.as_good, 1]
    return {
        "x_m": found.met.aims[across.column, 0],
        "x_range_m": [x.min(), x.max()],
        "from_net_m": -found.met.aims[close.column, 1],
        "from_net_range_m": [y.min(), y.max()],
        "lost_per_100": estimate_json(found.met.lost_per_100(measure, across.column)),
    }


def _number(value: float) -> float | None:
    return None if math.isnan(value) else value
