"""The script that a student would write first: SimPy processes, SciPy for every flight and launch.

    python -m experiments.benchmark.first_script

It is what the engines are measured against, so it is written to be read, neither slowed nor tuned:
each flight is one call of `solve_ivp` with events for the net and the ground, each launch a call
of `brentq` over such flights. It plays the rally of the engines (habits, execution error, bounce,
running after the ball; who misses loses) with the constants of `sim`, but has formulas of its own.
It simplifies the legs: no braking, and the ball is met at one of the path's samples.

One frame for both sides: the studied player (side -1) is at y < 0, the opponent (side 1) at y > 0.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Generator
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import simpy
from scipy.optimize import brentq

from experiments.benchmark.first_flight import Flight, bounce, carry, fly, launch, outcome_of
from sim.belief import DIRECTIONS, Belief
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M, SERVICE_LINE_M
from sim.exchange import Place
from sim.hitter import RPM, SHOT_LENGTH_M
from sim.players import Player, player
from sim.stroke_rows import FORCED_BELOW_QUALITY

DEPTH_BEHIND_M = 1.3
LOWEST_RAD, HIGHEST_RAD, CLOSE_RAD = -0.5, 0.65, 1e-5
SLOWER, TRIES = 0.92, 12
GAP_PER_DEPTH = 0.27  # of the hitter's net margin, as in sim.stroke

Process = Generator[simpy.Event, Any, None]


@dataclass
class Stroke:
    """A struck ball: its flight, where it landed, its path after the bounce, how it ended."""

    side: int
    ball: np.ndarray
    quality: float
    flight: Flight
    after: Flight
    outcome: str
    met: bool = False


class Hitter:
    """What a side does at the ball: a target by habit, a launch, execution error."""

    def __init__(self, who: Player, side: int, rng: np.random.Generator) -> None:
        self.side, self.rng, self.can = side, rng, who.hitter

    def target(self, ball: np.ndarray, quality: float) -> tuple[np.ndarray, bool]:
        """Where to, and whether it is a short angle: by habit, inside the own error."""
        own_x = -self.side * ball[0]
        direction = self.rng.choice(DIRECTIONS, p=Belief().shares(np.array([own_x]))[0])
        across, along = self.rng.normal(size=2)
        crosscourt = -1.0 if own_x > 0 else 1.0
        x_side = -crosscourt if direction == "down-the-line" else crosscourt
        short = bool(direction == "short-angle")
        to_line = math.hypot(x_side * HALF_WIDTH_M - own_x, HALF_LENGTH_M + abs(ball[1]))
        gain = 1 + self.can.stretched_error_gain * (1 - quality)
        wide_sd = math.tan(math.radians(self.can.direction_sd_deg)) * to_line * gain
        deep_sd = self.can.depth_sd_m / SHOT_LENGTH_M * to_line
        margin_x = min(self.can.aim_margin_sds * wide_sd, 0.6 * HALF_WIDTH_M)
        margin_y = min(self.can.aim_margin_sds * deep_sd, HALF_LENGTH_M - SERVICE_LINE_M)
        x = x_side * max(HALF_WIDTH_M - margin_x - 0.4 * abs(across), 0.0)
        if direction == "middle":
            x = 0.4 * across
        y = 6.2 + 0.4 * along if short else HALF_LENGTH_M - margin_y - 0.8 * abs(along)
        y -= self.can.stretched_depth_loss_m * (1 - quality)
        return np.array([-self.side * x, -self.side * max(y, 3.0)]), short

    def find_launch(
        self, ball: np.ndarray, target: np.ndarray, speed: float, topspin: float
    ) -> tuple[float, float, float]:
        """Speed, elevation, heading to the target, slower until it clears the net by a margin."""
        away = target - ball[:2]
        heading, distance = math.atan2(away[1], away[0]), math.hypot(*away)
        depth_sd = self.can.depth_sd_m * math.sqrt(self.can.elevation_share)
        margin = self.can.aim_margin_sds * GAP_PER_DEPTH * depth_sd
        found = speed, HIGHEST_RAD, heading

        def too_far(angle: float) -> float:
            return carry(ball, speed, angle, heading, topspin) - distance

        for _ in range(TRIES):
            try:
                elevation = brentq(too_far, LOWEST_RAD, HIGHEST_RAD, xtol=CLOSE_RAD)
            except ValueError:  # out of range at this speed
                break
            found = speed, elevation, heading
            gap = fly(*launch(ball, speed, elevation, heading, topspin)).net_gap_m
            if gap is not None and gap >= margin:
                break
            speed *= SLOWER
        return found

    def strike(self, ball: np.ndarray, quality: float) -> Stroke:
        """Strike the ball: aim, err, fly, bounce, fly on."""
        target, short = self.target(ball, quality)
        forehand = -self.side * ball[0] >= 0
        speed = self.can.forehand_speed_m_s if forehand else self.can.backhand_speed_m_s
        topspin = self.can.forehand_topspin_rpm if forehand else self.can.backhand_topspin_rpm
        speed *= (1 + 0.06 * self.rng.normal()) * (0.8 if short else 1.0)
        speed *= 1 - self.can.stretched_speed_loss * (1 - quality)
        topspin *= RPM * (1 + 0.10 * self.rng.normal())
        aimed = self.find_launch(ball, target, speed, topspin)
        state, spin = launch(ball, *self.spoilt(ball, aimed, topspin, quality))
        flight = fly(state, spin)
        after = fly(*bounce(flight.landing, spin), samples=True)
        return Stroke(self.side, ball, quality, flight, after, outcome_of(flight, self.side))

    def spoilt(
        self, ball: np.ndarray, aimed: tuple[float, float, float], topspin: float, quality: float
    ) -> tuple[float, float, float, float]:
        """The launch with execution error: of direction, and of depth by elevation and speed."""
        speed, elevation, heading = aimed
        gain = 1 + self.can.stretched_error_gain * (1 - quality)
        meant = carry(ball, speed, elevation, heading, topspin)
        tilted = carry(ball, speed, elevation + 0.003, heading, topspin) - meant
        faster = carry(ball, 1.01 * speed, elevation, heading, topspin) - meant
        depth_sd = gain * self.can.depth_sd_m / SHOT_LENGTH_M * meant
        turn, by_tilt, by_speed = self.rng.normal(size=3)
        share = self.can.elevation_share
        tilt = depth_sd * math.sqrt(share) * by_tilt * 0.003 / max(tilted, 0.003)
        quicker = depth_sd * math.sqrt(1 - share) * by_speed * 0.01 / max(faster, 0.001)
        heading += gain * math.radians(self.can.direction_sd_deg) * turn
        quicker, tilt = float(np.clip(quicker, -0.2, 0.2)), float(np.clip(tilt, -0.12, 0.12))
        return speed * (1 + quicker), elevation + tilt, heading, topspin


@dataclass
class Meeting:
    """Where and when a receiver meets a ball, after the strike, and how well."""

    time_s: float
    ball: np.ndarray
    place: np.ndarray
    velocity: np.ndarray
    quality: float


class Runner:
    """The legs of a side: recovering toward its spot, then running after the ball."""

    def __init__(self, who: Player, side: int) -> None:
        self.legs = who.legs
        self.spot = np.array([0.0, side * (HALF_LENGTH_M + DEPTH_BEHIND_M)])
        self.place, self.velocity, self.since_s = self.spot, np.zeros(2), -math.inf

    def run_m(self, time_s: Any) -> Any:
        """Metres run from rest at full effort."""
        t = np.maximum(time_s, 0.0)
        legs = self.legs
        return legs.top_speed_m_s * (t - legs.tau_s * (1 - np.exp(-t / legs.tau_s)))

    def recover(self, now_s: float) -> tuple[np.ndarray, np.ndarray]:
        """Place and velocity at a time after the own contact, on the way to the spot."""
        if self.since_s == -math.inf:
            return self.spot, np.zeros(2)
        legs, passed = self.legs, now_s - self.since_s
        faded = math.exp(-passed / legs.tau_s)
        start = self.place + self.velocity * legs.tau_s * (1 - faded)
        away = self.spot - start
        left = math.hypot(*away)
        runs = max(passed - legs.follow_through_s, 0.0)
        run = legs.recovery_effort * self.run_m(runs)
        if run >= left:
            return self.spot, np.zeros(2)
        speed = legs.recovery_effort * legs.top_speed_m_s * (1 - math.exp(-runs / legs.tau_s))
        return start + away / left * run, self.velocity * faded + away / left * speed

    def reaction_s(self, velocity: np.ndarray) -> float:
        """Reaction time, longer for who is still moving at the strike."""
        v2 = float(velocity @ velocity)
        lost = v2 / (v2 + self.legs.split_half_speed_m_s**2)
        return self.legs.reaction_s + self.legs.split_gain_s * lost

    def meet(self, stroke: Stroke, place: np.ndarray, velocity: np.ndarray) -> Meeting | None:
        """The best of the path's samples that the player can reach, or None."""
        legs = self.legs
        times = stroke.flight.time_s + stroke.after.times_s
        x, y, z = stroke.after.path[:3]
        left = np.maximum(times - self.reaction_s(velocity), 0.0)
        drift = legs.tau_s * (1 - np.exp(-left / legs.tau_s))
        away_x, away_y = x - place[0] - velocity[0] * drift, y - place[1] - velocity[1] * drift
        away, runs = np.hypot(away_x, away_y), self.run_m(left)
        own_x = away_x * -np.sign(self.spot[1]) * (1 if legs.hand == "right" else -1)
        reach = np.where(own_x < 0, legs.backhand_reach_m, legs.full_reach_m)
        playable = (z >= legs.playable_low_m) & (z <= legs.playable_high_m)
        reached = playable & (away <= runs + reach)
        if not reached.any():
            return None
        low = np.maximum(legs.best_low_m - z, 0.0) / legs.fade_low_m
        high = np.maximum(z - legs.best_high_m, 0.0) / legs.fade_high_m
        to_spare = (runs + legs.comfortable_reach_m - away) / legs.top_speed_m_s
        quality = 0.5 ** (low**2 + high**2)
        quality /= 1 + np.exp(-(to_spare - legs.ease_centre_s) / legs.ease_width_s)
        k = int(np.argmax(np.where(reached, quality - 0.25 * times, -np.inf)))
        step = np.clip(away[k] - legs.comfortable_reach_m, 0.0, runs[k])
        towards = np.array([away_x[k], away_y[k]]) / max(away[k], 1e-9)
        stands = place + velocity * drift[k] + towards * step
        hurry = 1 / (1 + math.exp((to_spare[k] - legs.ease_centre_s) / legs.ease_width_s))
        speed = min(legs.top_speed_m_s, math.sqrt(2 * legs.braking_m_s2 * step)) * hurry
        where = np.array([x[k], y[k], z[k]])
        return Meeting(float(times[k]), where, stands, towards * speed, float(quality[k]))


@dataclass
class Rally:
    """One rally in SimPy: a process for each side, and one for each ball in the air."""

    who: Player
    seed: int
    env: simpy.Environment = field(default_factory=simpy.Environment)
    strokes: list[Stroke] = field(default_factory=list)
    ending: str = ""

    def __post_init__(self) -> None:
        rng = np.random.default_rng(self.seed)
        self.over = self.env.event()
        self.hitters = {side: Hitter(self.who, side, rng) for side in (-1, 1)}
        self.runners = {side: Runner(self.who, side) for side in (-1, 1)}
        self.incoming = {side: simpy.Store(self.env) for side in (-1, 1)}

    def play(self, place: Place) -> list[Stroke]:
        """Play the point that begins with the opponent striking from the place."""
        for side in (-1, 1):
            self.env.process(self.side_plays(side))
        ball = np.array([place.x_m, place.y_m, place.z_m])
        reach = np.array([math.copysign(self.who.legs.comfortable_reach_m, -place.x_m), 0.0])
        opponent = self.runners[1]
        opponent.place, opponent.velocity, opponent.since_s = ball[:2] + reach, np.zeros(2), 0.0
        self.strike(1, ball, 1.0)
        self.env.run(until=self.over)
        return self.strokes

    def strike(self, side: int, ball: np.ndarray, quality: float) -> None:
        stroke = self.hitters[side].strike(ball, quality)
        self.strokes.append(stroke)
        self.env.process(self.ball_flies(stroke))
        self.incoming[-side].put(stroke)

    def ball_flies(self, stroke: Stroke) -> Process:
        """To the ground; there the point may end; else to the second bounce, if nobody meets it."""
        yield self.env.timeout(stroke.flight.time_s)
        if stroke.outcome != "in":
            self.end("forced error" if stroke.quality < FORCED_BELOW_QUALITY else "unforced error")
            return
        yield self.env.timeout(stroke.after.time_s)
        if not stroke.met:
            self.end("winner")

    def side_plays(self, side: int) -> Process:
        """Wait for the ball, react, run to it, strike, recover, and wait again."""
        runner = self.runners[side]
        while True:
            stroke = yield self.incoming[side].get()
            if stroke.outcome != "in":
                return
            place, velocity = runner.recover(self.env.now)
            reaction = runner.reaction_s(velocity)
            meeting = runner.meet(stroke, place, velocity)
            yield self.env.timeout(reaction)
            if meeting is None:
                return
            yield self.env.timeout(max(meeting.time_s - reaction, 0.0))
            stroke.met = True
            runner.place, runner.velocity = meeting.place, meeting.velocity
            runner.since_s = self.env.now
            self.strike(side, meeting.ball, meeting.quality)

    def end(self, how: str) -> None:
        if not self.over.triggered:
            self.ending = how
            self.over.succeed()


def main(rallies: int = 5) -> int:
    """Play some rallies and print how they ended."""
    for seed in range(rallies):
        rally = Rally(player("college-man"), seed)
        played = rally.play(Place("corner", 3.115, HALF_LENGTH_M))
        last = "studied player" if played[-1].side < 0 else "opponent"
        print(f"rally {seed}: {len(played)} strokes, {rally.ending} of the {last}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
