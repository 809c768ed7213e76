"""What `rally-recovery list` says: names with one line each, and the table of parameters."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator, Mapping
from typing import Any

from experiments.edition import editions
from experiments.scene.parameters import KINDS, kinds, parameters
from experiments.study.bundled import bundled_questions
from sim.additions import ADDITIONS
from sim.ball import BALLS, USUAL_BALL, Ball
from sim.parameter import ParameterRow
from sim.players import PLAYERS, Player, ball_of
from sim.surface import SURFACES, Surface
from strategies.catalogue import POLICIES, SHOT_MODELS, summary


def lines(what: str | None) -> Iterator[str]:
    """One line for each thing of a kind (a key of KINDS), or of all kinds under headings.

    Raises:
        InputError: no such kind.
    """
    for i, kind in enumerate(kinds(what)):
        if what is None:
            yield from ("", KINDS[kind]) if i else (KINDS[kind],)
        things, words = LISTED[kind]
        found = things()
        width = max(map(len, found))
        for name, thing in found.items():
            yield f"{name:<{width}}  {words(thing)}"


def _decision(kind: Any) -> str:
    """What a policy or shot model is, and its parameters, with what they may be if no number; many
    that a simpler one in the catalogue has, too, by its name."""
    takes = _takes(kind)
    for name, other in (POLICIES | SHOT_MODELS).items():
        if other is kind:
            break
        shared = _takes(other)
        if len(shared) > MANY and shared.items() <= takes.items():
            own = [words for key, words in takes.items() if key not in shared]
            return f"{summary(kind)} Takes {', '.join([f'all that {name} takes', *own])}."
    return summary(kind) + (f" Takes {', '.join(takes.values())}." if takes else "")


def _takes(kind: Any) -> dict[str, str]:
    """The parameters by name, with what they may be if no number."""
    fields = [f for f in dataclasses.fields(kind) if f.init]
    allowed = {f.name: f.metadata.get("allowed") for f in fields}
    return {n: f"{n} ({words})" if words else n for n, words in allowed.items()}


def _player(p: Player) -> str:
    h, legs = p.hitter, p.legs
    return (
        f"forehand {3.6 * h.forehand_speed_m_s:.0f} km/h, backhand {3.6 * h.backhand_speed_m_s:.0f}"
        f" km/h, runs up to {legs.top_speed_m_s:g} m/s, reaction {legs.reaction_s:g} s, waits"
        f" {p.waits_behind_m:g} m behind the baseline{_with_ball(ball_of(p))}"
    )


def _with_ball(ball: Ball) -> str:
    return "" if ball.name == USUAL_BALL else f", plays with the {ball.name} ball"


def _ball(b: Ball) -> str:
    return (
        f"{1000 * b.mass_kg:.1f} g, {100 * b.diameter_m:.2f} cm, rebounds at"
        f" {b.restitution_factor:.3g} of the {USUAL_BALL} ball's speed"
    )


def _surface(s: Surface) -> str:
    return (
        f"{s.pace_category} (pace rating {s.pace_rating:.0f}), restitution {s.restitution:g},"
        f" friction {s.friction:g}"
    )


STROKES = {
    "drive": "the usual stroke, after the bounce, with topspin",
    "slice": "with backspin: a backhand by choice, either wing when late",
    "high ball": "sent up to gain time, when late and not stretched",
    "block": "the racket held in the way, when late and stretched",
    "scoop": "a low ball that falls, lifted with an open racket",
    "half volley": "a low ball that rises, met right after its bounce",
    "drop shot": "short behind the net, by choice, from inside the court",
    "approach": "a drive from a short ball, behind which the hitter comes to the net",
    "passing shot": "a drive past a player at the net",
    "lob": "over a player at the net",
    "volley": "a ball met before its bounce",
    "overhead": "a ball met above the head, smashed",
    "first serve": "opens a point",
    "second serve": "after a first serve that is not in",
}


def _undone(values: Mapping[str, Mapping[str, Any]]) -> str:
    """The values of players that undo an addition."""
    parts = (f"{part}.{name} = {v}" for part, own in values.items() for name, v in own.items())
    return f"left out by {', '.join(parts)}"


def _changes() -> dict[str, str]:
    return {f"edition {e.number}, {e.date}": f"{e.what}." for e in editions()}


LISTED: dict[str, tuple[Callable[[], dict[str, Any]], Callable[[Any], str]]] = {
    "policies": (lambda: POLICIES, _decision),
    "shots": (lambda: SHOT_MODELS, _decision),
    "players": (lambda: PLAYERS, _player),
    "surfaces": (lambda: SURFACES, _surface),
    "balls": (lambda: BALLS, _ball),
    "studies": (bundled_questions, str),
    "strokes": (lambda: STROKES, str),
    "changes": (_changes, str),
    "additions": (lambda: ADDITIONS, _undone),
}
MANY = 6  # parameters that are not told again
HEADS = ("of", "parameter", "value", "unit", "sensible", "status", "source, meaning")


def parameter_lines(what: str | None) -> Iterator[str]:
    """The table of parameters: value, unit, sensible range, status, source and meaning."""
    rows = [HEADS, *map(_cells, parameters(what))]
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    for row in rows:
        yield "  ".join(f"{c:<{width}}" for c, width in zip(row, widths, strict=True)).rstrip()


def _cells(r: ParameterRow) -> tuple[str, ...]:
    parts = [r.source, r.about, f"fitted to {r.fitted_to}" if r.fitted_to else ""]
    about = "; ".join(part for part in parts if part)
    return r.owner, r.name, f"{r.value:g}", r.unit, f"{r.low:g} to {r.high:g}", r.status, about
