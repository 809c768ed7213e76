"""From what each action is worth at sampled states to how much more any policy could win.

The best policy wins more than another one by the sum, over the states that the best one comes to,
of what its action there is worth more than the other's, each followed by the other policy (the
performance difference lemma, Kakade and Langford 2002, Proc. ICML, 267). No action is worth more
than the best one there, so

    best value <= value + decisions * mean over states of (best action - own action).

The states and their number are those of the best policy, which is not known: they are taken from
several policies, and the largest bound counts. A sampled best action looks better than it is, which
errs to the safe side (`most`); chosen on one half of the shots and judged on the other it errs to
the other (`least`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from experiments.statistics.comparison import LEVEL
from experiments.statistics.estimates import quantile

Z = quantile(LEVEL, math.inf)  # standard errors in half an interval


@dataclass(frozen=True)
class Gain:
    """What the best action is worth more than the own one, a mean over states, in points.

    least, most: estimates that err to either side; se: the standard error of `most` by states.
    """

    least: float
    most: float
    se: float
    states: int

    @property
    def high(self) -> float:
        """The upper end of a one-sided 97.5 % interval of `most`."""
        return self.most + Z * self.se


def gain_of(worth: np.ndarray, own: int) -> Gain:
    """The gain at sampled states.

    worth: (states, actions, shots), what each action came to under each of the same shots; `own` is
    the number of the policy's own action.

    Raises:
        ValueError: fewer than two states or shots.
    """
    states, _, shots = worth.shape
    if states < 2 or shots < 2:
        raise ValueError(f"{states} states and {shots} shots; give two or more of each")
    more = worth - worth[:, [own]]
    halves = more[:, :, 0::2].mean(axis=2), more[:, :, 1::2].mean(axis=2)
    each = np.arange(states)
    chosen = [half.argmax(axis=1) for half in halves]
    crossed = (halves[1][each, chosen[0]] + halves[0][each, chosen[1]]) / 2.0
    best = more.mean(axis=2).max(axis=1)
    se = float(best.std(ddof=1)) / math.sqrt(states)
    return Gain(float(crossed.mean()), float(best.mean()), se, states)


@dataclass(frozen=True)
class Headroom:
    """What a policy gets, what none can exceed: points in 100, by the gains at the states of
    several policies and the decisions in a point under each."""

    value: float
    value_se: float
    gains: dict[str, Gain]
    decisions: dict[str, float]
    opening: Gain | None = None

    @property
    def low(self) -> float:
        """The lower end of a 95 % interval of what the policy gets."""
        return self.value - Z * self.value_se

    def room(self, which: str) -> float:
        """How much more could be won at the states of one policy: the safe estimate, with its
        error."""
        most = 100.0 * self.decisions[which] * self.gains[which].high
        return most + (100.0 * self.opening.high if self.opening else 0.0)

    def least_room(self, which: str) -> float:
        """The other estimate, which rather errs downward."""
        least = 100.0 * self.decisions[which] * self.gains[which].least
        return least + (100.0 * self.opening.least if self.opening else 0.0)

    @property
    def widest(self) -> str:
        """The policy at whose states there is the most room."""
        return max(self.gains, key=self.room)

    @property
    def upper(self) -> float:
        """What no policy can exceed, as far as its states are like these."""
        return min(100.0, self.value + self.room(self.widest) + Z * self.value_se)
