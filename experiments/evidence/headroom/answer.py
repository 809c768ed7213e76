"""How far a policy is from the best that any could do, in whole points against one hitter."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from experiments.evidence.headroom.gain import Gain, Headroom, gain_of
from experiments.evidence.headroom.states import as_played, seen_in, some
from experiments.evidence.headroom.worth import (
    Worth,
    fitted,
    opening_worth,
    own_action,
    own_depth,
    places_worth,
)
from experiments.statistics.estimates import square
from experiments.study.served import served_from
from sim.contracts import RecoveryPolicy
from sim.errors import InputError
from sim.exchange import Game, with_policy

FIT, VALUE, STATES, SHOTS = (k * 10**8 for k in range(1, 5))  # first replicates of each part
FEWEST_POINTS, FEWEST_STATES, FEWEST_SHOTS = 400, 4, 20


@dataclass(frozen=True)
class Effort:
    """How much is played: points for the value and the fit, states of decision, shots at each."""

    points: int = 40_000
    states: int = 120
    shots: int = 400

    def __post_init__(self) -> None:
        for name, least in (
            ("points", FEWEST_POINTS),
            ("states", FEWEST_STATES),
            ("shots", FEWEST_SHOTS),
        ):
            if getattr(self, name) < least:
                raise InputError(f"{getattr(self, name)} {name}; give {least} or more")


def headroom_of(
    game: Game,
    policy: RecoveryPolicy,
    others: Sequence[RecoveryPolicy],
    effort: Effort,
    done: Callable[[], object] = lambda: None,
) -> Headroom:
    """What the policy gets in whole points, half of them with its own serve, and what no policy can
    exceed by the states that it and `others` come to."""
    own = with_policy(game, policy)
    n = np.arange(effort.points // 2)
    seen = [seen_in(own, FIT + n, serving) for serving in (True, False)]
    worth = fitted(seen)
    done()
    points = [seen_in(own, VALUE + n, serving).points for serving in (True, False)]
    value = 100.0 * float(np.mean([p.mean() for p in points]))
    value_se = 100.0 * math.sqrt(sum(p.var(ddof=1) / len(p) for p in points)) / 2.0
    done()
    gains, decisions = {}, {}
    for number, one in enumerate((policy, *others)):
        found = [_gain_at(own, with_policy(game, one), worth, effort, number, k) for k in (0, 1)]
        total = sum(count for _, count in found)
        gains[one.name] = _mean([g for g, _ in found], [count / total for _, count in found])
        decisions[one.name] = total / 2.0
        done()
    opening = [
        gain_of(np.repeat(opening_worth(own, served_from(k), worth, _shots(effort, k)), 2, 0),
                own_depth())
        for k in (0, 1)
    ]  # fmt: skip
    served = _mean(opening, [0.25, 0.25])  # half of the points are returned, from either court
    return Headroom(value, value_se, gains, decisions, served)


def _shots(effort: Effort, part: int) -> np.ndarray:
    return SHOTS + part * 10**6 + np.arange(10 * effort.shots)


def _gain_at(
    own: Game, other: Game, worth: Worth, effort: Effort, number: int, k: int
) -> tuple[Gain, float]:
    """The gain at states that another policy comes to, and its decisions in a point."""
    serving = k == 0
    played = STATES + number * 10**6 + np.arange(10 * effort.states)
    theirs = seen_in(other, played, serving)
    states = some(theirs.states, effort.states // 2, number)
    shots = SHOTS + (2 + k) * 10**6 + np.arange(effort.shots)
    gain = gain_of(places_worth(as_played(own, serving)[0], states, worth, shots), own_action())
    return gain, len(theirs.states) / len(played)


def _mean(gains: Sequence[Gain], weights: Sequence[float]) -> Gain:
    """The weighted sum of gains at different states."""
    least = sum(w * g.least for g, w in zip(gains, weights, strict=True))
    most = sum(w * g.most for g, w in zip(gains, weights, strict=True))
    se = math.sqrt(sum(square(w * g.se) for g, w in zip(gains, weights, strict=True)))
    return Gain(least, most, se, sum(g.states for g in gains))
