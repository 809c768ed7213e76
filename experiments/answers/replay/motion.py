"""How a body moves in a rally: recoveries, chases, and what is left of a velocity."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from experiments.statistics.bisection import root_of
from sim.arithmetic import exp
from sim.legs import Legs
from sim.movement import recovered, run_after


@dataclass(frozen=True)
class Recovering:
    """The recovery of a BODY record toward a spot (1, 2), planned for `time_s`: the engines' own.

    All in the own frame. `effort` as the policy asked for it, 0 for the legs' own.
    """

    body: np.ndarray
    spot: np.ndarray
    time_s: float
    legs: Legs
    effort: float = 0.0

    def bodies(self, after_s: np.ndarray) -> np.ndarray:
        """BODY records (n,) at times (n,) after the own contact."""
        n = len(after_s)
        in_all, aims = np.full(n, self.time_s), np.repeat(self.spot, n, axis=0)
        bodies, efforts = np.repeat(self.body, n), np.full(n, self.effort)
        return recovered(bodies, aims, in_all, self.legs.numbers, after_s, efforts)[0]


@dataclass(frozen=True)
class Chasing:
    """A body that runs to a ball: its velocity fades while it reacts and runs (own frame).

    The engines fix where the body is when it meets the ball. Between, this takes a run at full
    effort along that straight line that brakes so as to end there: a player who is early stands at
    the ball and waits, one who is not plays it on the run. After a missed ball the run brakes.

    (ux, uy) is the direction of the run, which begins after `wait_s` and brakes from `turn_s` on.
    Without `turn_s` (0) there is no run.
    """

    body: np.ndarray
    legs: Legs
    wait_s: float = 0.0
    ux: float = 0.0
    uy: float = 0.0
    turn_s: float = 0.0

    @classmethod
    def to_meet(cls, body: np.ndarray, meeting: np.ndarray, wait_s: float, legs: Legs) -> Chasing:
        """The chase of a BODY record that ends as its MEETING record says."""
        b, m = body[0], meeting[0]
        x, y = drifted(b, float(m["time_s"]), legs)
        dx, dy = float(m["body_x_m"]) - x, float(m["body_y_m"]) - y
        run, left = math.sqrt(dx * dx + dy * dy), float(m["time_s"]) - wait_s
        if left <= 0.0 or run < 1e-9:
            return cls(body, legs, wait_s)
        return cls(body, legs, wait_s, dx / run, dy / run, braking_moment_s(run, left, legs))

    @property
    def stops_s(self) -> float:
        """When the run is over, after the strike."""
        speed = self.legs.top_speed_m_s * (1.0 - exp(-self.turn_s / self.legs.tau_s))
        return self.wait_s + self.turn_s + speed / self.legs.braking_m_s2

    def bodies(self, after_s: np.ndarray) -> np.ndarray:
        """BODY records (n,) at times (n,) after the opponent's strike."""
        out = np.repeat(self.body, len(after_s))
        b, legs = self.body[0], self.legs
        top, numbers = legs.top_speed_m_s, legs.numbers[0]
        for i, t in enumerate(after_s.tolist()):
            x, y = drifted(b, t, legs)
            fade = exp(-t / legs.tau_s)
            run, speed = run_after(t - self.wait_s, top, self.turn_s, numbers)
            out[i] = (
                x + self.ux * run,
                y + self.uy * run,
                b["vx_m_s"] * fade + self.ux * speed,
                b["vy_m_s"] * fade + self.uy * speed,
            )
        return out


def drifted(body: np.void, time_s: float, legs: Legs) -> tuple[float, float]:
    """Where its fading velocity has carried a body after `time_s`."""
    drift = legs.tau_s * (1.0 - exp(-time_s / legs.tau_s))
    return float(body["x_m"] + body["vx_m_s"] * drift), float(body["y_m"] + body["vy_m_s"] * drift)


def braking_moment_s(run_m: float, time_s: float, legs: Legs) -> float:
    """When a run at full effort has to brake so as to be `run_m` long after `time_s`."""

    def over(turn: float) -> float:
        run, _ = run_after(time_s, legs.top_speed_m_s, turn, legs.numbers[0])
        return float(run - run_m)

    return time_s if over(time_s) <= 0.0 else root_of(over, 0.0, time_s)


Motion = Recovering | Chasing
