"""One rally at a time, for Gymnasium."""

from __future__ import annotations

from typing import Any

import gymnasium
import numpy as np
from gymnasium.spaces import Box

from experiments.learning.environment.contest import settings_of
from experiments.learning.environment.done import DONE
from experiments.learning.environment.fields import Field, ends, in_words
from experiments.learning.environment.rallies import Rallies
from experiments.learning.environment.seen import BISECTOR, SEEN, fields
from experiments.learning.environment.worth import Reward
from sim.contracts import RecoveryPolicy
from sim.errors import InputError

RULES = f"""
Each decision is where to recover to, and how hard, while the opponent gets to the ball. An episode
is one rally, a step goes from one decision of the player to the next.

Observation, in the own frame (x to the right and y forward from under the net's centre, the own
side at y below 0), float64:
{in_words((*SEEN, BISECTOR))}
The last one stands there with `bisector=True` alone.

Action, float64:
{in_words(DONE)}
Places beyond the run-off are moved to its edge. Before a return only the depth counts.

Reward: 1 for a point won, else 0; with `shaped`, a discount, the change of the state's worth on
top (Ng, Harada and Russell 1999), which leaves the best policy as it is.

A rally that is stopped after the most strokes is truncated. `info` holds what replays the rally:
`seed`, `replicate`, and `world` (-1: the default values); and the `point`, 1 won, 0 lost or under
way, 0.5 where stopped. What is seen at a rally's end is what was seen at its last decision. Points
that the player serves and that are over before the first decision are left out.

`reset(seed=...)` takes another root seed and begins at its first rally again; `reset()` goes on to
the next rally. Settings: experiments.learning.environment.contest.Settings.
"""


def box(columns: tuple[Field, ...]) -> Box:
    """The space of these numbers."""
    low, high = ends(columns)
    return Box(low, high, dtype=np.float64)


class RallyRecovery(gymnasium.Env[np.ndarray, np.ndarray]):
    __doc__ = f"""A player's recovery in rallies against a policy of the catalogue.
{RULES}
    Raises:
        InputError: a setting, an action or a seed that cannot be.
    """

    metadata: dict[str, Any] = {"render_modes": []}  # noqa: RUF012

    def __init__(self, keeps_strokes: bool = False, **settings: Any) -> None:
        self.rallies = Rallies(settings_of(**settings), 1, keeps_strokes)
        self.reward = Reward(self.rallies)
        self.observation_space = box(fields(self.rallies.settings.bisector))
        self.action_space = box(DONE)

    def reset(
        self, *, seed: int | None = None, options: dict[str, Any] | None = None
    ) -> tuple[np.ndarray, dict[str, Any]]:
        super().reset(seed=seed)
        if seed is not None:
            self.rallies.begin(seed)
        self.rallies.deal(np.array([True]))
        return self.rallies.observations[0].copy(), self._info(0.0)

    def step(self, action: np.ndarray) -> tuple[np.ndarray, float, bool, bool, dict[str, Any]]:
        if not self.rallies.under_way()[0]:
            raise InputError("no rally is under way; call reset")
        step, reward = self.reward.step(np.asarray(action, float)[None])
        over, stopped = bool(step.over[0]), bool(step.stopped[0])
        info = self._info(float(step.points[0]))
        seen = self.rallies.observations[0].copy()
        return seen, float(reward[0]), over and not stopped, stopped, info

    def _info(self, point: float) -> dict[str, Any]:
        info = {key: int(values[0]) for key, values in self.rallies.address().items()}
        return {**info, "point": point}

    def policy_action(self, policy: RecoveryPolicy) -> np.ndarray:
        """The action by which a recovery policy plays on."""
        return self.rallies.actions_of(policy)[0]

    def strokes(self) -> np.ndarray:
        """STROKE records of the rallies so far, with `keeps_strokes=True`."""
        return self.rallies.kept_strokes()
