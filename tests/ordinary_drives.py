"""Balls for tests of movement and meeting: drives, strokes of every kind, and hanging ones."""

from __future__ import annotations

import numpy as np

from sim.additions import ADDITIONS, player_without
from sim.chance import EXECUTION, SHOT, uniforms
from sim.contracts import ShotSituation, bodies_at, contacts_at
from sim.players import Player, player
from sim.records import BALL, IN, PATH_POINTS, PATH_STEP_S, VZ, T, X, Y, Z
from sim.stroke import ERROR_DRAWS, strike
from sim.surface import SURFACES
from sim.world import World
from strategies.shots.habit import Habit

BASELINE_M = 11.885
CORNER_X_M = 3.115  # 1 m inside the singles sideline

Flown = tuple[np.ndarray, np.ndarray]


def drives(
    count: int, level: str = "professional-man", surface: str = "hard", seed: int = 1
) -> Flown:
    """BALL records and paths of drives from places about the baseline, errors included."""
    return about_the_baseline(count, player_without(player(level), ADDITIONS), surface, seed)


def every_kind(
    count: int, level: str = "professional-man", surface: str = "hard", seed: int = 1
) -> Flown:
    """The same of a hitter who slices, drops and comes in as well."""
    return about_the_baseline(count, player(level), surface, seed)


def about_the_baseline(count: int, hitter: Player, surface: str, seed: int) -> Flown:
    rng = np.random.default_rng(seed)
    x, y = rng.uniform(-4.5, 4.5, count), -BASELINE_M + rng.uniform(-1.5, 1.5, count)
    return struck(x, y, rng.uniform(0.7, 1.3, count), hitter, surface, seed)


def drives_from_corner(count: int, level: str = "professional-man", seed: int = 1) -> Flown:
    """The same from one place, the corner of the hitter's forehand, at a height of 1 m."""
    ones = np.ones(count)
    hitter = player_without(player(level), ADDITIONS)
    return struck(CORNER_X_M * ones, -BASELINE_M * ones, ones, hitter, "hard", seed)


def struck(
    x_m: np.ndarray, y_m: np.ndarray, z_m: np.ndarray, hitter: Player, surface: str, seed: int
) -> Flown:
    """Strokes of habit from contacts in the hitter's own frame (y < 0)."""
    count, habit = len(x_m), Habit()
    seen = ShotSituation(
        me=hitter,
        opponent=hitter,
        world=World(SURFACES[surface]).numbers,
        contact=contacts_at(x_m, y_m, z_m, np.where(x_m >= 0, 1, -1)),
        receiver=bodies_at(np.zeros(count), np.full(count, BASELINE_M + 1.3)),
    )
    replicates = np.arange(count)
    intents = habit.intents(seen, uniforms(seed, replicates, SHOT, 0, habit.draws))
    errors = uniforms(seed, replicates, EXECUTION, 0, ERROR_DRAWS)
    return strike(seen.contact, intents, errors, hitter.hitter.numbers, seen.world)


def landed_in(flown: Flown, count: int | None = None) -> Flown:
    """Only the balls that landed in, the first `count` of them."""
    balls, paths = flown
    rows = np.flatnonzero(balls["outcome"] == IN)[:count]
    assert count is None or len(rows) == count, "too few balls landed in: draw more"
    return balls[rows], paths[rows]


def hanging(
    x_m: np.ndarray | float,
    y_m: np.ndarray | float,
    until_s: np.ndarray | float,
    z_m: np.ndarray | float = 1.2,
    vz_m_s: np.ndarray | float = 0.0,
) -> Flown:
    """Balls that hang still from just before `until_s` to `until_s`: they ask for one place only.

    Their time to spare is `until_s` less reaction and arrival. The vertical speed is only written
    down, for what a rising ball costs.
    """
    x, y, until, z, vz = (
        np.atleast_1d(a)
        for a in np.broadcast_arrays(
            *(np.asarray(a, float) for a in (x_m, y_m, until_s, z_m, vz_m_s))
        )
    )
    balls, paths = np.zeros(len(x), BALL), np.zeros((len(x), PATH_POINTS, 5))
    samples = 6
    balls["outcome"], balls["points"] = IN, samples
    for column, values in ((X, x), (Y, y), (Z, z), (VZ, vz)):
        paths[:, :, column] = values[:, None]
    paths[:, :samples, T] = until[:, None] - PATH_STEP_S * np.arange(samples)[::-1]
    return balls, paths
