"""Many rallies at once, for Gymnasium: arrays of all rallies, no loop over environments."""

from __future__ import annotations

from typing import Any

import numpy as np
from gymnasium.vector import AutoresetMode, VectorEnv
from gymnasium.vector.utils import batch_space

from experiments.learning.environment.contest import settings_of, whole_number
from experiments.learning.environment.done import DONE
from experiments.learning.environment.rallies import Rallies
from experiments.learning.environment.seen import fields
from experiments.learning.environment.single import RULES, box
from experiments.learning.environment.worth import Reward
from sim.contracts import RecoveryPolicy
from sim.errors import InputError, unknown_name

MASK = "reset_mask"
Stepped = tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray, dict[str, Any]]


class RallyRecoveryBatch(VectorEnv[np.ndarray, np.ndarray, np.ndarray]):
    __doc__ = f"""Many rallies at once; row i of n plays the replicates i, i + n, i + 2 n, ...
{RULES}
    A rally that is over stands still for one step, whose action is not used, and the next one is
    there after it (`autoreset_mode` NextStep); or the next one is there at once, and `final_obs`
    and `final_info` of `info` hold how the last one ended (SameStep); or it waits for
    `reset(options={{"{MASK}": mask}})` (Disabled).

    Raises:
        InputError: a setting, actions, a seed or a mask that cannot be.
    """

    def __init__(
        self,
        num_envs: int = 1,
        autoreset_mode: AutoresetMode | str = AutoresetMode.NEXT_STEP,
        keeps_strokes: bool = False,
        **settings: Any,
    ) -> None:
        self.rallies = Rallies(settings_of(**settings), num_envs, keeps_strokes)
        self.reward = Reward(self.rallies)
        self.num_envs, self.autoreset_mode = num_envs, mode_of(autoreset_mode)
        self.metadata = {"render_modes": [], "autoreset_mode": self.autoreset_mode}
        self.single_observation_space = box(fields(self.rallies.settings.bisector))
        self.single_action_space = box(DONE)
        self.observation_space = batch_space(self.single_observation_space, num_envs)
        self.action_space = batch_space(self.single_action_space, num_envs)
        self.over = np.ones(num_envs, bool)

    def reset(
        self, *, seed: int | None = None, options: dict[str, Any] | None = None
    ) -> tuple[np.ndarray, dict[str, Any]]:
        which = self._mask(options)
        if seed is not None:
            self._require_one(seed, which)
            super().reset(seed=seed)
            self.rallies.begin(int(seed))
        self.rallies.deal(which)
        self.over &= ~which
        return self.rallies.observations.copy(), self._info(np.zeros(self.num_envs), which)

    def _mask(self, options: dict[str, Any] | None) -> np.ndarray:
        """The rows to begin anew, (n,)."""
        if not options or MASK not in options:
            return np.ones(self.num_envs, bool)
        mask = np.asarray(options[MASK])
        if mask.shape != (self.num_envs,) or mask.dtype != bool or not mask.any():
            raise InputError(
                f"{MASK} is {mask.dtype} of the shape {mask.shape}; give {self.num_envs} booleans,"
                " one of them true at least"
            )
        return mask

    def _require_one(self, seed: Any, which: np.ndarray) -> None:
        whole_number("seed, which all rows share (each plays replicates of its own),", seed)
        if not which.all():
            raise InputError(
                f"a seed begins all rows anew; leave out {MASK}, or reset those rows without a seed"
            )

    def step(self, actions: np.ndarray) -> Stepped:
        still = self.over
        if self.autoreset_mode != AutoresetMode.NEXT_STEP and still.any():
            raise InputError(
                f"no rally is under way in row {np.flatnonzero(still)[0]}; call reset, with"
                f" options={{'{MASK}': mask}} for such rows alone"
            )
        step, reward = self.reward.step(actions)
        everywhere, info = np.ones(self.num_envs, bool), {}
        seen, points = self.rallies.observations, step.points
        if self.autoreset_mode == AutoresetMode.SAME_STEP:
            if step.over.any():
                info = self._final(step.over, points)
                self.rallies.deal(step.over)
                points = np.zeros(self.num_envs)
        else:
            self.rallies.deal(still)
            self.over = step.over
        info |= self._info(points, everywhere)
        return seen.copy(), reward, step.over & ~step.stopped, step.stopped, info

    def _final(self, over: np.ndarray, points: np.ndarray) -> dict[str, Any]:
        """How the rallies of these rows ended."""
        seen = np.full(self.num_envs, None, object)
        for row in np.flatnonzero(over):
            seen[row] = self.rallies.observations[row].copy()
        final = {"final_obs": seen, "final_info": self._info(points, over)}
        return {**final, **{f"_{key}": over.copy() for key in final}}

    def _info(self, points: np.ndarray, known: np.ndarray) -> dict[str, Any]:
        info = {**self.rallies.address(), "point": points.copy()}
        return {**info, **{f"_{key}": known.copy() for key in info}}

    def policy_actions(self, policy: RecoveryPolicy) -> np.ndarray:
        """The actions (n, 3) by which a recovery policy plays on; 0 where a rally is over."""
        return self.rallies.actions_of(policy)

    def strokes(self) -> np.ndarray:
        """STROKE records of the rallies so far, with `keeps_strokes=True`."""
        return self.rallies.kept_strokes()


def mode_of(mode: AutoresetMode | str) -> AutoresetMode:
    """The mode that is meant.

    Raises:
        InputError: no such mode.
    """
    try:
        return AutoresetMode(mode)
    except ValueError:
        raise unknown_name("autoreset mode", str(mode), [m.value for m in AutoresetMode]) from None
