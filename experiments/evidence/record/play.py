"""Points played for the record: two professional men on a hard court, who serve by turns."""

from __future__ import annotations

import numpy as np

from experiments.evidence.validation.typical import served_rallies, typical
from sim.exchange import Game

PLAYED = ("professional-man", "hard")


def record_game(seed: int, world: int | None = None) -> Game:
    """The typical game of the record's players and court; in a world that fits, by its number."""
    return typical(*PLAYED, seed, world)


def record_strokes(game: Game, count: int) -> np.ndarray:
    """STROKE records of `count` points of any game, sorted by rally and stroke.

    Each begins with a serve, by turns to the right and to the left court; the studied player
    receives.
    """
    return served_rallies(game, np.arange(count))
