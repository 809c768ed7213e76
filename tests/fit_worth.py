"""Fit what a state is worth to rallies: `python tests/fit_worth.py` prints the table.

In rallies of several levels, hitters and openings the player, recovering somewhere around a linear
shade, meets states of all kinds. The point, 1 or 0, is regressed by least squares on the features
of `experiments.learning.environment.worth`, with an effect of each pairing (these add up to 0).
Half a minute; the table stands rounded to a hundredth.
"""

from __future__ import annotations

import sys
from itertools import product
from pathlib import Path

import numpy as np

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parents[1]))

from experiments.learning.environment.contest import settings_of
from experiments.learning.environment.rallies import Rallies
from experiments.learning.environment.worth import features
from experiments.scene.defaults import CORNER_M, OPPONENT_POLICY
from strategies.catalogue import make_policy

LEVELS = ("club-woman", "club-adult", "college-man", "professional-man", "senior-65")
HITTERS, OPENINGS = ("attentive", "habit"), ("returning", "serving", CORNER_M)
PAIRINGS = tuple(product(LEVELS, HITTERS, OPENINGS))
RALLIES, STEPS, SEED, AROUND_M = 2000, 12, 103, 1.0


def played(k: int) -> tuple[np.ndarray, np.ndarray]:
    """Observations (n, columns) of a pairing and the points (n,) of their rallies."""
    level, hitter, opening = PAIRINGS[k]
    made = settings_of(
        player=level, hitter=hitter, own_shots=hitter, opening=opening, seed=SEED + k
    )
    rallies, policy = Rallies(made, RALLIES), make_policy(OPPONENT_POLICY)
    rng, seen, rows, point = np.random.default_rng(SEED + k), [], [], np.full(RALLIES, np.nan)
    rallies.deal(np.ones(RALLIES, bool))
    for _ in range(STEPS):
        at = np.flatnonzero(rallies.under_way())
        seen.append(rallies.observations[at].copy())
        rows.append(at)
        actions = rallies.actions_of(policy)
        actions[:, :2] += rng.normal(0.0, AROUND_M / 8.0, (RALLIES, 2))
        step = rallies.step(actions)
        point[step.over] = step.points[step.over]
    points = point[np.concatenate(rows)]
    known = ~np.isnan(points)
    return np.concatenate(seen)[known], points[known]


def fitted() -> tuple[dict[str, float], float]:
    """The table, and the share of the variance within pairings that it explains."""
    left, right = [], []
    for k in range(len(PAIRINGS)):
        seen, points = played(k)
        effect = np.zeros((len(seen), len(PAIRINGS)))
        effect[:, k] = 1.0
        found = features(seen)
        left.append(np.column_stack([*found.values(), effect[:, :-1] - effect[:, -1:]]))
        right.append(points)
    x, y = np.concatenate(left), np.concatenate(right)
    names, pairs = list(found), slice(len(found), None)
    table = np.linalg.lstsq(x, y, rcond=None)[0]
    alone = np.linalg.lstsq(np.column_stack([x[:, :1], x[:, pairs]]), y, rcond=None)[0]
    rest, usual = y - x @ table, y - np.column_stack([x[:, :1], x[:, pairs]]) @ alone
    return dict(zip(names, table.tolist(), strict=False)), 1.0 - rest.var() / usual.var()


if __name__ == "__main__":
    table, explained = fitted()
    print({name: round(value, 2) for name, value in table.items()})
    print(f"explains {100 * explained:.1f} % of the variance within pairings")
