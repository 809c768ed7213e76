"""What a state is worth, a potential: its change may be added to the reward of the point.

Reward + discount * worth of the next state - worth of this one, the worth at a rally's end being 0,
adds up to the point less the worth of the first state, which no decision changes: whatever policy
is best stays the best (Ng, Harada and Russell 1999, Policy invariance under reward
transformations, Proc. 16th Int. Conf. on Machine Learning).

The worth is about the share of points won from there on: linear in what is seen, fitted by least
squares to rallies of this model (tests/fit_worth.py). It explains 0.4 % of the variance: most of a
point is chance, or lies in the stroke that comes. Any other numbers would leave the best policy as
it is, too.
"""

from __future__ import annotations

import numpy as np

from experiments.learning.environment.rallies import Rallies, Step
from experiments.learning.environment.seen import COLUMN
from sim.court import HALF_LENGTH_M

NEAR_M = 5.0
WORTH = {"always": 0.47, "weak": 0.10, "near": -0.07}


def features(observations: np.ndarray) -> dict[str, np.ndarray]:
    """What the worth is linear in, (n,) each, of observations (n, columns): how weak the opponent's
    stroke will be, from 0 to 1, and how near to the net, in 5 m inside the baseline."""
    return {
        "always": np.ones(len(observations)),
        "weak": 1.0 - observations[:, COLUMN["quality"]],
        "near": (HALF_LENGTH_M - observations[:, COLUMN["opponent_y_m"]]) / NEAR_M,
    }


def worth(observations: np.ndarray) -> np.ndarray:
    """About the share of points won from these observations (n, columns) on, (n,)."""
    found = features(observations)
    return sum((WORTH[name] * found[name] for name in WORTH), np.zeros(len(observations)))


class Reward:
    """The reward of each step of rallies: the point, perhaps with the change of the worth."""

    def __init__(self, rallies: Rallies) -> None:
        self.rallies, self.discount = rallies, rallies.settings.shaped

    def step(self, actions: np.ndarray) -> tuple[Step, np.ndarray]:
        """Take a step; what it brought and the rewards (n,), 0 for rows that were over."""
        under_way = self.rallies.under_way()
        before = 0.0 if self.discount is None else worth(self.rallies.observations)
        step = self.rallies.step(actions)
        reward = np.where(step.stopped, 0.0, step.points)
        if self.discount is not None:
            after = np.where(step.over, 0.0, worth(self.rallies.observations))
            reward += np.where(under_way, self.discount * after - before, 0.0)
        return step, reward
