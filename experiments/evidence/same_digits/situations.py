"""Random situations over all kinds of stroke, players, courts and decisions.

A situation is one contact of a random hitter with a random receiver, and what comes of it: what is
meant, struck, met, replied to and recovered from, for a few strokes.

As a program, `python -m experiments.evidence.same_digits.situations FOLDER COUNT SEED` plays
so many with the shipped kernels, records their calls in the folder, and says how many strokes of
each kind were struck.
"""

from __future__ import annotations

import importlib
import json
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from experiments.evidence.same_digits.recording import recorded
from experiments.output.terminal import told
from sim.array_engine import play, play_from
from sim.ball import BALLS
from sim.chance import EXECUTION, uniforms
from sim.contracts import bodies_at, contacts_at, intents_of
from sim.envelope import DriveLimits
from sim.exchange import Game, Recovery, Side, body_beside, situation
from sim.flight_table import new_table
from sim.kinds import KINDS, SERVES
from sim.meeting import BALANCED, EARLIEST, MOST_TIME, NEAREST, appraisals, meetings
from sim.native.load import listed
from sim.players import PLAYERS, player
from sim.records import OPPONENT, STUDIED
from sim.stroke import ERROR_DRAWS, reasons_not_to_hit, strike
from sim.surface import SURFACES
from sim.world import INTEGRATED, TABULATED, World
from strategies.catalogue import POLICIES, SHOT_MODELS
from strategies.shots.serve import serve_places

FEWEST_GAMES, AT_MOST = 6, 100  # situations of a game at most; six games have all policies
STROKES = 4
PLACES = 9
# Mostly what answers and studies use; without the table all balls are flown step by step.
FLIGHTS = (TABULATED, TABULATED, TABULATED, INTEGRATED)
WINDS = (*[(0.0, 0.0, 0.0)] * 3, (2.0, -3.0, 0.0))
MATHEMATICS = ("sim.arithmetic", "sim.over_arrays", "sim.distributions", "sim.court")
NUMBERS = 200
RULES = (BALANCED, EARLIEST, MOST_TIME, NEAREST)
HANDS = ("right", "left")


def played(count: int, seed: int) -> Iterator[np.ndarray]:
    """Play that many situations, game by game; how many balls of each kind were struck."""
    new_table(World(flight=TABULATED).numbers)
    mathematics(np.random.default_rng(seed))
    number_of_games = max(FEWEST_GAMES, -(-count // AT_MOST))
    shares = np.array_split(np.arange(count), number_of_games)
    for number, (game, rows) in enumerate(zip(games(number_of_games, seed), shares, strict=True)):
        rng = np.random.default_rng((seed, number))
        struck = rallies(game, rows, rng), serves(game, rows), strokes(game, rows, rng)
        angles(game, len(rows), rng)
        yield np.bincount(np.concatenate(struck), minlength=len(KINDS))


def mathematics(rng: np.random.Generator) -> None:
    """Call the kernels of numbers that are shipped: those whose arguments may be any in (0, 1)."""
    for path, forms in listed()["entries"].items():
        home, name = path.split(":")
        for takes in forms if home in MATHEMATICS else ():
            kinds = takes.split(",")
            run = getattr(importlib.import_module(home), name)
            if set(kinds) <= {"f8", "f8[1]"}:
                numbers = [np.sort(rng.random(NUMBERS)) for _ in kinds]
                for row in [numbers] if "f8[1]" in kinds else np.transpose(numbers).tolist():
                    run(*row)


def games(count: int, seed: int) -> Iterator[Game]:
    """Games in which every value of everything that can be chosen comes equally often."""
    rng = np.random.default_rng(seed)

    def dealt(seats: int, *columns: Sequence[Any]) -> list[tuple[Any, ...]]:
        """So many rows; each column's values in turn, shuffled anew each time they are used up."""
        full = [
            [values[i] for _ in range(0, seats, len(values)) for i in rng.permutation(len(values))]
            for values in columns
        ]
        return list(zip(*(values[:seats] for values in full), strict=True))

    people = dealt(2 * count, list(PLAYERS), HANDS, list(POLICIES), list(SHOT_MODELS))
    worlds = dealt(count, list(SURFACES), list(BALLS), FLIGHTS, WINDS, RULES)
    for own, other, world in zip(people[:count], people[count:], worlds, strict=True):
        surface, ball, flight, wind, rule = world
        there = World(SURFACES[surface], ball=BALLS[ball], flight=flight, wind_m_s=wind)
        chance = int(rng.integers(2**31))
        yield Game(_side(*own), _side(*other), there, chance, rule, stroke_limit=STROKES)


def _side(level: str, hand: str, policy: str, shots: str) -> Side:
    return Side(player(level, hand), POLICIES[policy](), SHOT_MODELS[shots]())


def contacts(rng: np.random.Generator, count: int) -> np.ndarray:
    """CONTACT records of a hitter (own frame, y < 0): near the net or far back, low or overhead."""
    x, y = rng.uniform(-6.0, 6.0, count), -rng.uniform(0.5, 16.0, count)
    low, high = rng.uniform(0.1, 1.8, count), rng.uniform(1.8, 3.1, count)
    z = np.where(rng.random(count) < 0.2, high, low)
    out = contacts_at(x, y, z, np.where(rng.random(count) < 0.5, 1, -1))
    out["quality"], out["stretch"] = rng.random(count), rng.random(count)
    out["rise_m_s"] = rng.uniform(-8.0, 6.0, count)
    out["volley"] = (rng.random(count) < 0.5) & (y > -6.0)
    return out


def receivers(rng: np.random.Generator, count: int) -> np.ndarray:
    """BODY records of receivers (own frame, y < 0), some of them at the net."""
    near, far = rng.uniform(1.0, 6.0, count), rng.uniform(8.0, 17.0, count)
    y = np.where(rng.random(count) < 0.2, near, far)
    out = bodies_at(rng.uniform(-6.0, 6.0, count), -y)
    out["vx_m_s"], out["vy_m_s"] = rng.uniform(-5, 5, count), rng.uniform(-2, 2, count)
    return out


def rallies(game: Game, rows: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """The kinds of the strokes of rallies from random contacts on."""
    contact, body = contacts(rng, len(rows)), receivers(rng, len(rows))
    spots = np.stack([body["x_m"] + rng.normal(size=len(rows)), body["y_m"]], axis=1)
    there = Recovery(body, spots, np.zeros(len(rows)), np.zeros(len(rows)))
    hitters = body_beside(contact, game.opponent.player)
    return play_from(game, rows, contact, hitters, there)["kind"]


def serves(game: Game, rows: np.ndarray) -> np.ndarray:
    """The kinds of the strokes of rallies that begin with a serve."""
    places = serve_places()
    return play(game, places[game.seed % len(places)], rows)["kind"]


def strokes(game: Game, rows: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """The kinds of single strokes, as many of each: judged, struck, met, looked at from places."""
    n, own = len(rows), game.opponent.player.hitter
    contact = contacts(rng, n)
    kind = (rows + rng.integers(len(KINDS))) % len(KINDS)
    x, y = rng.uniform(-4.0, 4.0, n), rng.uniform(2.0, 11.5, n)
    speed = own.speed_m_s(contact["wing"]) * rng.uniform(0.4, 1.3, n)
    spin, side = rng.uniform(-200.0, 350.0, n), rng.uniform(-60.0, 60.0, n) * (rng.random(n) < 0.3)
    wish, world = intents_of(x, y, speed, spin, side, kind), game.world_of(STUDIED)
    reasons_not_to_hit(contact, wish, own.numbers, world)
    errors = uniforms(game.seed, rows, EXECUTION, STROKES, ERROR_DRAWS)
    serving = np.isin(kind, SERVES)
    for some, ability in ((serving, own.exact_numbers), (~serving, own.numbers)):
        if not some.any():
            continue
        struck = strike(contact[some], wish[some], errors[some], ability, world)
        legs, body = game.studied.player.legs, receivers(rng, int(some.sum()))
        there = np.linspace(-5.0, 5.0, PLACES), -rng.uniform(9.0, 16.0, PLACES)
        appraisals(*struck, *there, legs.numbers, legs.times)
        meetings(*struck, body, legs.numbers, legs.times, game.rule)
    return kind


def angles(game: Game, count: int, rng: np.random.Generator) -> None:
    """What both players see before a stroke: the angle by either rule, and where to recover to."""
    for side in (STUDIED, OPPONENT):
        body, contact = receivers(rng, count), contacts(rng, count)
        seen = situation(game, side, body, contact, rng.uniform(0.5, 2.5, count))
        for limits in (DriveLimits(), DriveLimits(nearest_landing_m=6.0)):
            for fastest in (False, True):
                found = seen.extremes_by(limits, fastest)
                seen.halfway_x_m(found)
        game.sides(1 - side)[1].policy.spots(seen)


def main(arguments: Sequence[str]) -> str:
    folder, count, seed = arguments
    kinds = np.zeros(len(KINDS), np.int64)
    with recorded(Path(folder)) as recording:
        for struck in played(int(count), int(seed)):
            kinds += struck
            recording.anew()
    return json.dumps(kinds.tolist())


if __name__ == "__main__":
    sys.exit(told(lambda: main(sys.argv[1:])))
