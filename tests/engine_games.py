"""Games that both engines play in tests: levels, surfaces, decisions that reach every branch."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from sim.contracts import PerRally, ShotSituation, Situation, intents_of
from sim.exchange import Game, Place, Side
from sim.hitter import RPM
from sim.meeting import EARLIEST, MOST_TIME, NEAREST
from sim.players import Player, player
from sim.surface import SURFACES
from sim.world import World
from strategies.catalogue import POLICIES, SHOT_MODELS, make_policy, make_shot_model
from strategies.shots.serve import serve_places

MIDDLE = Place("middle", 0.0, 11.885)
CORNER = Place("corner", 3.115, 11.885)
CLOSE = Place("close", -4.8, 6.9, 0.8)
SEED = 20260


@dataclass(frozen=True)
class Wild:
    """Hits anywhere, past the lines and into the net included, harder at a receiver who moves."""

    name: str = "wild"
    draws: ClassVar[int] = 4
    sees_receiver: ClassVar[bool] = True

    def intents(self, seen: ShotSituation, chance: np.ndarray) -> np.ndarray:
        x = 9.0 * chance[:, 0] - 4.5
        y = 1.0 + 11.5 * chance[:, 1]
        speed = seen.speed_m_s * (0.5 + chance[:, 2]) + 0.5 * np.abs(seen.receiver["vx_m_s"])
        return intents_of(x, y, speed, 250.0 * chance[:, 3] - 50.0, 20.0 * chance[:, 0])


@dataclass(frozen=True)
class Straight:
    """Always the same ball, to `x_m` and 9 m deep, without a random number."""

    x_m: float = 0.0
    name: str = "straight"
    draws: ClassVar[int] = 0
    sees_receiver: ClassVar[bool] = False

    def intents(self, seen: ShotSituation, chance: np.ndarray) -> np.ndarray:
        n = len(seen)
        return intents_of(
            np.full(n, self.x_m), np.full(n, 9.0), np.full(n, 28.0), np.full(n, 2000.0 * RPM)
        )


def drawn_to_the_ball(seen: Situation) -> tuple[float, float]:
    """A plain function of one rally: stand between the middle and the own last place."""
    return 0.3 * float(seen.body["x_m"][0]), -seen.line_m


def runs_in(seen: Situation) -> tuple[float, float, float]:
    """A plain function of one rally that says how hard to run: the harder, the farther away."""
    away_m = abs(float(seen.body["x_m"][0]))
    return 0.2 * away_m, -seen.line_m + 0.5 * away_m, min(0.1 * away_m, 1.0)


def exact(someone: Player) -> Player:
    """The player with no execution error."""
    hitter = dataclasses.replace(someone.hitter, direction_sd_deg=0.0, depth_sd_m=0.0)
    return dataclasses.replace(someone, hitter=hitter)


def side(level: str, policy: str, shots: str, hand: str = "right") -> Side:
    return Side(player(level, hand), POLICIES[policy](), SHOT_MODELS[shots]())


HABIT = side("college-man", "middle", "habit")
PLAIN = Side(player("college-man"), PerRally("drawn", drawn_to_the_ball), Wild())
CLUB = side("club-adult", "linear-shade", "pressing")
WINDY = World(SURFACES["hard"], wind_m_s=(2.0, -3.0, 0.0))

GAMES: dict[str, tuple[Game, Place]] = {
    "habits on hard": (Game(HABIT, HABIT, World(), SEED), MIDDLE),
    "club against club on clay": (Game(CLUB, CLUB, World(SURFACES["clay"]), SEED), CORNER),
    "professionals on grass": (
        Game(
            side("professional-man", "bisector", "open-court"),
            side("professional-woman", "biased", "any-allowed", "left"),
            World(SURFACES["grass"]),
            SEED,
            rule=EARLIEST,
        ),
        CORNER,
    ),
    "club against professional in wind": (
        Game(
            side("club-adult", "stay", "open-court", "left"),
            side("professional-man", "middle", "pressing"),
            WINDY,
            SEED,
            rule=NEAREST,
        ),
        CLOSE,
    ),
    "time-balanced on carpet": (
        Game(
            side("elite-junior", "time-balanced", "habit"),
            side("college-man", "linear-shade", "open-court"),
            World(SURFACES["carpet"]),
            SEED,
            rule=MOST_TIME,
        ),
        CLOSE,
    ),
    "a serve to attentive hitters": (
        Game(
            side("professional-man", "bisector", "attentive", "left"),
            side("professional-woman", "middle", "attentive"),
            World(flight="tabulated"),
            SEED,
        ),
        serve_places()[1],
    ),
    "depth and effort": (
        Game(
            Side(
                player("professional-man"),
                make_policy("in-and-out,in_m=5,back_m_per_s=15,effort=0.9"),
                make_shot_model("attentive,drop_when_far=0.4"),
            ),
            Side(
                player("senior-65", "left"),
                PerRally("runs", runs_in),
                make_shot_model("pressing,drop_when_far=0.8,approach_when_far=0.5"),
            ),
            World(SURFACES["clay"]),
            SEED,
        ),
        CORNER,
    ),
    "wild balls": (Game(PLAIN, PLAIN, WINDY, SEED), MIDDLE),
    "stopped early": (Game(HABIT, PLAIN, World(), SEED, stroke_limit=3), CORNER),
    "scripted": (
        Game(
            Side(player("club-adult"), POLICIES["middle"](), SHOT_MODELS["script"]()),
            Side(exact(player("college-man")), POLICIES["stay"](), Straight(2.0)),
            World(SURFACES["clay"]),
            SEED,
            stroke_limit=25,
        ),
        MIDDLE,
    ),
}


def differing_fields(a: np.ndarray, b: np.ndarray) -> list[str]:
    """The fields in which two record arrays differ to the bit of a value, NaN equal to NaN."""
    names = a.dtype.names or ()
    if len(a) != len(b):
        return [f"{len(a)} against {len(b)} records"]
    return [name for name in names if not np.array_equal(a[name], b[name], equal_nan=True)]
