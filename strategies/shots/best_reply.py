"""A hitter who plays the best reply to where the receiver will stand."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from functools import cached_property
from itertools import product
from typing import ClassVar

import numpy as np

from sim.belief import DIRECTIONS
from sim.contracts import RecoveryPolicy, ShotSituation, Situation, turned
from sim.court import HALF_LENGTH_M
from sim.parameter import parameter, require_finite_parameters
from strategies.aim import AimedShots
from strategies.naming import described
from strategies.policies import make_policy
from strategies.recovery.place_losses import earned_at

# How far inside the lines, in the hitter's own errors, and how hard: every pair in every direction.
MARGIN_SHARES, SPEED_SHARES = (0.5, 1.0, 1.5), (0.85, 1.0, 1.15)
STYLES = tuple(
    AimedShots(speed, 0.0, 0.0, margin, 0.0, 0.0)
    for margin, speed in product(MARGIN_SHARES, SPEED_SHARES)
)


@dataclass(frozen=True)
class BestReply:
    """Plays the shot that pays best against where a known policy has the receiver stand.

    A shot's worth is what it costs the receiver (`place_losses`): most for a ball that lands in and
    is not returned, minus one for a ball that is out or in the net, each with the hitter's own
    error. Tried are four directions, three margins and three speeds. The receiver counts as
    standing where the present velocity leads within `look_ahead_s`, but a run toward the policy's
    spot ends there; where the policy chooses a depth, as standing so deep. The target is exact;
    only the hitter's error scatters it.

    Source: the best reply of game theory; candidates and look-ahead are this project's, assumed.
    Parameters: `policy`, the receiver's, in words (a plus sign in place of each comma, as in
    guard+worst_share=0.5) or as an object; `look_ahead_s`.
    It should lose to the safest place, and to a receiver who only pretends to follow the policy.

    Raises:
        InputError: a look-ahead out of range, or a policy that is not known.
    """

    policy: str | RecoveryPolicy = dataclasses.field(
        default="middle", metadata={"allowed": "a recovery policy, with + in place of each comma"}
    )
    look_ahead_s: float = parameter(
        0.4, "s", "time for which the receiver's velocity is counted on", low=0.0, high=0.8
    )
    draws: ClassVar[int] = 0
    sees_receiver: ClassVar[bool] = True

    def __post_init__(self) -> None:
        require_finite_parameters(self)
        _ = self.studied  # an unknown policy is told now

    @property
    def name(self) -> str:
        if isinstance(self.policy, str):
            return described("best-reply", self)
        at_defaults = dataclasses.replace(self, policy="middle")
        return f"{described('best-reply', at_defaults)} to {self.policy.name}"

    @cached_property
    def studied(self) -> RecoveryPolicy:
        """The receiver's policy as an object."""
        if not isinstance(self.policy, str):
            return self.policy
        return make_policy(self.policy.replace("+", ","))

    def standing_x_m(self, seen: ShotSituation) -> np.ndarray:
        """Where each receiver will be across the court, (n,), in the hitter's frame."""
        if not len(seen):
            return np.zeros(0)
        here = seen.receiver["x_m"]
        left_m = -self._spots(seen)[:, 0] - here
        step_m = self.look_ahead_s * seen.receiver["vx_m_s"]
        arrives = (step_m * left_m > 0.0) & (np.abs(step_m) > np.abs(left_m))
        return np.asarray(here + np.where(arrives, left_m, step_m))

    def chosen_depth_m(self, seen: ShotSituation) -> np.ndarray | None:
        """Depths behind the baseline (n,) of a policy that chooses them, None for the others."""
        if not len(seen) or not getattr(self.studied, "chooses_depth", False):
            return None
        return -self._spots(seen)[:, 1] - HALF_LENGTH_M

    def _spots(self, seen: ShotSituation) -> np.ndarray:
        """The policy's spots in the receiver's frame, (n, 2) or (n, 3)."""
        asked = Situation(
            me=seen.opponent,
            opponent=seen.me,
            world=seen.world,
            depth_m=seen.receiver_depth_m,
            body=turned(seen.receiver),
            contact=turned(seen.contact),
            time_s=np.full(len(seen), np.inf),
        )
        return self.studied.spots(asked)

    def intents(self, seen: ShotSituation, chance: np.ndarray) -> np.ndarray:
        behind_m = self.chosen_depth_m(seen)
        choice = earned_at(seen, STYLES, self.standing_x_m(seen), behind_m).argmax(axis=1)
        style, direction = np.divmod(choice, len(DIRECTIONS))
        still = np.zeros((len(seen), 4))
        out = STYLES[0].aimed(seen, direction, still)
        for k in range(1, len(STYLES)):
            out = np.where(style == k, STYLES[k].aimed(seen, direction, still), out)
        return out
