"""The typical game that stands for matches in the table: what it is, and all fits."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator

import numpy as np

from experiments.scene.defaults import OPPONENT_POLICY
from experiments.scene.parameters import parameters
from experiments.scene.people import waiting_depth_m
from sim.array_engine import play
from sim.exchange import Game, Side
from sim.parameter import parameter_rows
from sim.players import ball_of, player
from sim.surface import surface as surface_named
from sim.world import TABULATED, World
from strategies.catalogue import make_policy
from strategies.shots.attentive import Attentive
from strategies.shots.serve import Serve, serve_places

SHOTS, SERVE = Attentive(), Serve()
# Each cell has rallies of its own, so that differences of cells are between independent samples.
CELLS = (
    ("professional-man", "hard"),
    ("professional-man", "clay"),
    ("professional-man", "grass"),
    ("professional-woman", "hard"),
)
RALLIES_APART = 10**9


def typical(level: str, surface: str, seed: int) -> Game:
    """Two players of that level on that surface.

    Both wait at the level's own depth, recover by a shade of 0.15 m per metre and hit by habit,
    rather where the other is not.
    """
    who = player(level)
    side = Side(who, make_policy(OPPONENT_POLICY), SHOTS, waiting_depth_m(who, surface))
    world = World(surface_named(surface), ball=ball_of(who), flight=TABULATED)
    return Game(side, side, world, seed)


def typical_rallies(level: str, surface: str, seed: int, count: int) -> np.ndarray:
    """STROKE records of `count` typical rallies, sorted by rally and stroke.

    Each begins with a serve that landed in, by turns to the right and to the left court.
    """
    game = typical(level, surface, seed)
    numbers = RALLIES_APART * CELLS.index((level, surface)) + np.arange(count)
    right, left = serve_places(SERVE)
    strokes = np.concatenate([play(game, right, numbers[::2]), play(game, left, numbers[1::2])])
    return strokes[np.argsort(strokes["replicate"], kind="stable")]


@dataclasses.dataclass(frozen=True)
class Fit:
    """A fitted parameter and one figure that it was fitted to (a row's key, or words)."""

    owner: str
    name: str
    figure: str


def fits() -> Iterator[Fit]:
    """Every fit that the parameters record, those of the typical game's strokes included."""
    typical = (r for part in (SHOTS, SERVE) for r in parameter_rows("typical strokes", part))
    rows = [*parameters(None), *typical]
    for row in rows:
        for figure in filter(None, (part.strip() for part in row.fitted_to.split(";"))):
            yield Fit(row.owner, row.name, figure)


def fitted_figures() -> set[str]:
    """The figures that set something in the model, and so cannot check it."""
    return {fit.figure for fit in fits()}
