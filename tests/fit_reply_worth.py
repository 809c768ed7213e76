"""Fit what a returned ball costs to rallies: `python tests/fit_reply_worth.py` prints the table.

The studied player, on the bisector, waits at a depth that is as good as drawn for each ball. Of
every ball of the opponent's that comes back, points lost less points won from there on are
regressed, by least squares, on the entries of `strategies.recovery.reply_worth.COST`, an effect of
the pairing (these add up to 0), and the opponent's contact and ball: a policy compares depths
against one contact. A minute or two; the table stands rounded to a hundredth.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product
from pathlib import Path
from typing import ClassVar

import numpy as np

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parents[1]))

from experiments.scene.defaults import OPPONENT_POLICY
from sim.array_engine import play
from sim.contracts import Situation
from sim.court import HALF_LENGTH_M
from sim.exchange import Game, Place, Side
from sim.players import player
from sim.records import GOING, OPPONENT, STROKE_LIMIT, STUDIED, WON_BY_HITTER
from sim.surface import SURFACES
from sim.world import World
from strategies.catalogue import make_policy, make_shot_model
from strategies.recovery.reply_worth import COST, hats, shares_of

LEVELS = ("club-woman", "club-adult", "college-man", "professional-man", "senior-65")
HITTERS, DROPS = ("attentive", "pressing", "habit"), (0.0, 0.4)
PAIRINGS = tuple(product(LEVELS, HITTERS, DROPS))
PLACES = tuple(Place("first", x, 11.9) for x in (3.1, 0.0, -3.1))
RALLIES, SEED = 15_000, 102  # from each place in each pairing


@dataclass(frozen=True)
class AnyDepth:
    """On the bisector at a depth that the last digits of what is seen decide."""

    low_m: float = -2.0
    high_m: float = 6.0
    name: ClassVar[str] = "any depth"

    def spots(self, seen: Situation) -> np.ndarray:
        c = seen.contact
        drawn = (seen.body["x_m"] * 7919.13 + c["x_m"] * 104729.7 + c["z_m"] * 1299.1) % 1.0
        line_m = HALF_LENGTH_M + self.low_m + (self.high_m - self.low_m) * drawn
        x_m = seen.halfway_x_m(seen.extremes, line_m)
        return np.stack([np.clip(x_m, -7.5, 7.5), -line_m], axis=1)


def pairing_game(k: int, seed: int) -> Game:
    level, hitter, drops = PAIRINGS[k]
    someone, world = player(level), World(SURFACES[("clay", "hard")[k % 2]], flight="tabulated")
    shots = make_shot_model(f"{hitter},drop_when_far={drops}")
    studied = Side(someone, AnyDepth(), make_shot_model("attentive"))
    opponent = Side(someone, make_policy(OPPONENT_POLICY), shots)
    return Game(studied, opponent, world, seed)


def played(rallies: int = RALLIES, seed: int = SEED) -> Iterator[tuple[np.ndarray, np.ndarray]]:
    """Pairing by pairing the returned balls, STROKE records, and points lost less points won."""
    for k in range(len(PAIRINGS)):
        game = pairing_game(k, seed)
        starts = np.arange(len(PLACES)) * rallies
        parts = [
            play(game, place, first + np.arange(rallies))
            for place, first in zip(PLACES, starts, strict=True)
        ]
        rows = np.concatenate(parts)
        lost = lost_less_won(rows)
        back = (rows["side"] == OPPONENT) & (rows["ending"] == GOING)
        yield rows[back], lost[back]


def lost_less_won(rows: np.ndarray) -> np.ndarray:
    """Of the rally of each row: 1 lost by the studied player, -1 won, 0 stopped."""
    last = np.append(np.diff(rows["replicate"]) != 0, True)
    ends = rows[last]
    won = np.isin(ends["ending"], WON_BY_HITTER) == (ends["side"] == STUDIED)
    of_rally = np.where(ends["ending"] == STROKE_LIMIT, 0.0, np.where(won, -1.0, 1.0))
    return of_rally[np.cumsum(last) - last]


def regressors(rows: np.ndarray, pairing: int) -> np.ndarray:
    """Entries of COST, effects of pairings, then what is held equal: (rows, columns)."""
    effects = np.zeros((len(rows), len(PAIRINGS) - 1))
    if pairing:
        effects[:, pairing - 1] = 1.0
    else:
        effects[:] = -1.0
    return np.column_stack(
        [
            shares_of(rows["time_to_spare_s"], -rows["meeting_y_m"] - HALF_LENGTH_M),
            effects,
            hats(rows["hitter_quality"], np.array([0.0, 0.3, 0.6, 1.0]))[:, 1:],
            np.abs(rows["hitter_x_m"]),
            hats(rows["hitter_y_m"], np.array([4.0, 8.0, 11.0, 13.0, 15.0]))[:, 1:],
            hats(-rows["landing_y_m"], np.array([2.0, 5.0, 8.0, 10.0, 11.9]))[:, 1:],
            rows["speed_m_s"],
        ]
    )


def fitted(balls: Iterator[tuple[np.ndarray, np.ndarray]]) -> tuple[np.ndarray, np.ndarray]:
    """COST as fitted, for the mean of what is held equal, and its standard errors (without the
    likeness of the balls of one rally): two arrays of its shape."""
    normal, right, squares, count, total = 0.0, 0.0, 0.0, 0, 0.0
    for k, (rows, lost) in enumerate(balls):
        a = regressors(rows, k)
        normal, right = normal + a.T @ a, right + a.T @ lost
        squares, count, total = squares + lost @ lost, count + len(lost), total + a.sum(axis=0)
    inverse = np.linalg.inv(normal)
    found = inverse @ right
    held = np.array(total) / count
    held[: COST.size + len(PAIRINGS) - 1] = 0.0
    shift = np.tile(held, (COST.size, 1))
    shift[:, : COST.size] += np.eye(COST.size)
    variance = (squares - found @ right) / count
    error = np.sqrt(np.diag(shift @ inverse @ shift.T) * variance)
    return (shift @ found).reshape(COST.shape), error.reshape(COST.shape)


if __name__ == "__main__":
    cost, error = fitted(played())
    print(np.array2string(cost, precision=3, separator=", "))
    print("standard errors", np.array2string(error, precision=3, separator=", "), sep="\n")
