"""One rally in which both sides are agents, for PettingZoo."""

from __future__ import annotations

from typing import Any

import numpy as np
from gymnasium.spaces import Box
from pettingzoo import ParallelEnv

from experiments.learning.environment.contest import contests_of, settings_of
from experiments.learning.environment.done import DONE, aims_of_actions
from experiments.learning.environment.fields import Field, ends, in_words
from experiments.learning.environment.seen import fields, observed
from experiments.learning.environment.single import box
from experiments.learning.environment.turn import dealt, turned
from sim.chance import checked_seed, fresh_seed
from sim.errors import InputError
from sim.records import SIDES

TURN = Field("turn", "1", 0.0, 1.0, "1 if this side decides now, else 0")
Each = dict[str, Any]


class TwoSides(ParallelEnv[str, np.ndarray, np.ndarray]):
    __doc__ = f"""Both sides of a rally are agents, "studied" and "opponent", and decide by turns.

    Observation and action are those of `RallyRecovery`, each in the side's own frame, with one more
    column in front:
{in_words((TURN,))}
    The action of the side whose turn it is not is not used, and that side sees what it saw last
    (before the first time: what is nearest to 0). Reward: 1 for the side that wins the point, else
    0; a rally stopped after the most strokes is truncated. A server decides nothing before the
    serve. Settings as of `RallyRecovery`, but for opponent_policy, shaped and several worlds.

    Raises:
        InputError: a setting, an action or a seed that cannot be.
    """

    metadata: dict[str, Any] = {"name": "rally_recovery_two_sides_v0", "render_modes": []}  # noqa: RUF012
    render_mode = None

    def __init__(self, **settings: Any) -> None:
        for name in ("opponent_policy", "shaped"):
            if name in settings:
                raise InputError(f"{name} has no use where both sides are agents; leave it out")
        self.settings = settings_of(**settings)
        if len(self.settings.worlds) != 1:
            raise InputError("world names several; give one number, or None")
        (self.contest,) = contests_of(self.settings)
        self.possible_agents = list(SIDES)
        self.agents: list[str] = []
        columns = (TURN, *fields(self.settings.bisector))
        self.low, self.high = ends(columns)
        self.observation_spaces = {name: box(columns) for name in SIDES}
        self.action_spaces = {name: box(DONE) for name in SIDES}
        self._begin(fresh_seed() if self.settings.seed is None else self.settings.seed)

    def observation_space(self, agent: str) -> Box:
        return self.observation_spaces[agent]

    def action_space(self, agent: str) -> Box:
        return self.action_spaces[agent]

    def _begin(self, seed: int) -> None:
        self.contest = self.contest.with_seed(checked_seed(seed))
        self.replicate = -1

    def reset(
        self, seed: int | None = None, options: dict[str, Any] | None = None
    ) -> tuple[Each, Each]:
        """Begin the next rally, or the first one of another root seed."""
        if seed is not None:
            self._begin(seed)
        self.replicate += 1
        (self.waiting,) = dealt(self.contest, np.array([0]), np.array([self.replicate]))
        self.agents = list(self.possible_agents)
        self.seen = {name: np.clip(np.zeros(len(self.low)), self.low, self.high) for name in SIDES}
        self._look()
        return self._observations(), self._infos()

    def _name(self, side: int) -> str:
        """Whose side that is of the game as engines play it."""
        return SIDES[side if self.contest.side == 0 else 1 - side]

    def step(self, actions: Each) -> tuple[Each, Each, Each, Each, Each]:
        """The side whose turn it is recovers as its action says, and the other one strikes.

        Raises:
            InputError: no rally is under way, or the action of that side is missing or wrong.
        """
        if not self.agents:
            raise InputError("no rally is under way; call reset")
        if self.turn not in actions:
            raise InputError(f"it is the turn of {self.turn!r}; give its action")
        aims = aims_of_actions(np.asarray(actions[self.turn], float)[None])
        turn = turned(self.contest, self.waiting, aims)
        over, stopped = len(turn.rows) > 0, bool(turn.stopped.any())
        rewards = dict.fromkeys(SIDES, 0.0)
        if over and not stopped:
            won = float(turn.points[0])  # by the player that the settings name
            rewards = {SIDES[0]: won, SIDES[1]: 1.0 - won}
        self.seen[self.turn][0] = 0.0
        if not over:
            self.waiting = turn.waiting
            self._look()
        ended = dict.fromkeys(SIDES, over and not stopped), dict.fromkeys(SIDES, stopped)
        self.agents = [] if over else self.agents
        return self._observations(), rewards, *ended, self._infos()

    def _look(self) -> None:
        """The side that decides next looks."""
        state = self.waiting.state
        self.turn = self._name(state.side)
        now = observed(state.seen(self.contest.game), self.settings.bisector)[0]
        self.seen[self.turn] = np.concatenate([[1.0], now])

    def _observations(self) -> Each:
        return {name: seen.copy() for name, seen in self.seen.items()}

    def _infos(self) -> Each:
        world = -1 if self.contest.world is None else self.contest.world
        address = {"seed": self.contest.game.seed, "replicate": self.replicate, "world": world}
        return {name: dict(address) for name in SIDES}
