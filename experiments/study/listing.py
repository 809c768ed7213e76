"""What `rally-recovery list` says: names with one line each, and the table of parameters."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator
from typing import Any

from experiments.study.bundled import bundled_questions
from sim.ball import BALLS, USUAL_BALL, Ball, ball_parameters
from sim.envelope import DriveLimits
from sim.errors import named
from sim.parameter import ParameterRow, parameter_rows
from sim.players import PLAYERS, Player, ball_of, player_parameters
from sim.surface import SURFACES, Surface, surface_parameters
from sim.world import World
from strategies.catalogue import POLICIES, SHOT_MODELS, summary

HEADS = {
    "policies": "Recovery policies",
    "shots": "Shot models",
    "players": "Players",
    "surfaces": "Surfaces",
    "balls": "Balls",
    "studies": "Bundled studies",
}


def lines(what: str | None) -> Iterator[str]:
    """One line for each thing of a kind (a key of HEADS), or of all kinds under headings.

    Raises:
        InputError: no such kind.
    """
    for i, kind in enumerate(kinds(what)):
        if what is None:
            yield from ("", HEADS[kind]) if i else (HEADS[kind],)
        rows = NAMED[kind]()
        width = max(len(name) for name, _ in rows)
        for name, about in rows:
            yield f"{name:<{width}}  {about}"


def kinds(what: str | None) -> list[str]:
    """The kinds asked for.

    Raises:
        InputError: no such kind.
    """
    return list(HEADS) if what is None else [named("kind of thing to list", what, HEADS)]


def _decisions(catalogue: dict[str, Any]) -> list[tuple[str, str]]:
    out = []
    for name, kind in catalogue.items():
        takes = [_taken(f) for f in dataclasses.fields(kind) if f.init]
        out.append((name, summary(kind) + (f" Takes {', '.join(takes)}." if takes else "")))
    return out


def _taken(field: dataclasses.Field[Any]) -> str:
    """A parameter's name, with what it may be where that is no number."""
    allowed = field.metadata.get("allowed")
    return f"{field.name} ({allowed})" if allowed else field.name


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


def _studies() -> list[tuple[str, str]]:
    return list(bundled_questions().items())


NAMED: dict[str, Callable[[], list[tuple[str, str]]]] = {
    "policies": lambda: _decisions(POLICIES),
    "shots": lambda: _decisions(SHOT_MODELS),
    "players": lambda: [(name, _player(p)) for name, p in PLAYERS.items()],
    "surfaces": lambda: [(name, _surface(s)) for name, s in SURFACES.items()],
    "balls": lambda: [(name, _ball(b)) for name, b in BALLS.items()],
    "studies": _studies,
}


def parameters(what: str | None) -> Iterator[ParameterRow]:
    """Parameters of the things of a kind, or of everything, the world and the angle included.

    Raises:
        InputError: no such kind.
    """
    for kind in kinds(what):
        yield from PARAMETERS[kind]()
    if what is None:
        yield from parameter_rows("world", World())
        yield from parameter_rows("extreme drives", DriveLimits())


def _of_decisions(catalogue: dict[str, Any]) -> Iterator[ParameterRow]:
    for name, kind in catalogue.items():
        yield from parameter_rows(name, kind())


def _of_players() -> Iterator[ParameterRow]:
    for someone in PLAYERS.values():
        yield from player_parameters(someone)


def _of_surfaces() -> Iterator[ParameterRow]:
    for one in SURFACES.values():
        yield from surface_parameters(one)


def _of_balls() -> Iterator[ParameterRow]:
    for one in BALLS.values():
        for row in ball_parameters(one):
            yield dataclasses.replace(row, owner=f"{one.name} ball")


PARAMETERS: dict[str, Callable[[], Iterator[ParameterRow]]] = {
    "policies": lambda: _of_decisions(POLICIES),
    "shots": lambda: _of_decisions(SHOT_MODELS),
    "players": _of_players,
    "surfaces": _of_surfaces,
    "balls": _of_balls,
    "studies": lambda: iter(()),
}


def parameter_lines(what: str | None) -> Iterator[str]:
    """The table of parameters: value, unit, sensible range, status, source and meaning."""
    rows = [
        (r.owner, r.name, f"{r.value:g}", r.unit, f"{r.low:g} to {r.high:g}", r.status)
        for r in parameters(what)
    ]
    heads = ("of", "parameter", "value", "unit", "sensible", "status")
    widths = [max(len(row[i]) for row in [heads, *rows]) for i in range(len(heads))]
    for row, last in zip(
        [heads, *rows],
        ["source, meaning", *(_about(r) for r in parameters(what))],
        strict=True,
    ):
        cells = [f"{cell:<{width}}" for cell, width in zip(row, widths, strict=True)]
        yield "  ".join([*cells, last]).rstrip()


def _about(r: ParameterRow) -> str:
    parts = [r.source, r.about, f"fitted to {r.fitted_to}" if r.fitted_to else ""]
    return "; ".join(part for part in parts if part)
