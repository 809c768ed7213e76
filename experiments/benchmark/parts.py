"""Where the array engine spends its time: the parts of a stroke, timed while a block is played."""

from __future__ import annotations

import dataclasses
import itertools
import time
from collections.abc import Callable
from contextlib import ExitStack
from typing import Any
from unittest.mock import patch

import numpy as np

import sim.array_engine
import sim.exchange
from experiments.benchmark.engines import BATCH, game_of
from experiments.benchmark.measure import LEAST_ROUNDS
from sim.exchange import Game, Place, Side

# What does the work of a batch, by part; under these names in the modules HOMES.
CALLS = {
    "chance": ("uniforms",),
    "strike": ("strike_balls", "strike", "strike_into"),
    "meeting": ("meet_balls", "meetings", "meet_into"),
    "recovery": ("opening", "recover_bodies"),
    "records": ("stroke_records",),
}
HOMES = (sim.array_engine, sim.exchange)
REST = "bookkeeping"
PARTS = ("shot model", "policy", *CALLS, REST)


class Clock:
    """Processor seconds by part; only one part is running at any moment."""

    def __init__(self) -> None:
        self.spent = dict.fromkeys(PARTS, 0.0)
        self.part, self.since_s, self.strokes = REST, time.process_time(), 0

    def enter(self, part: str) -> str:
        """Let a part run from now on; returns the one that ran."""
        now, before = time.process_time(), self.part
        self.spent[before] += now - self.since_s
        self.part, self.since_s = part, now
        return before

    def timed(self, function: Callable[..., Any], part: str) -> Callable[..., Any]:
        """The function, its time given to the part."""

        def call(*values: Any, **named: Any) -> Any:
            before = self.enter(part)
            try:
                return function(*values, **named)
            finally:
                self.enter(before)

        return call

    def side(self, side: Side) -> Side:
        """The side with both its decisions timed."""
        policy = Timed(side.policy, {"spots": self.timed(side.policy.spots, "policy")})
        shots = Timed(side.shots, {"intents": self.timed(side.shots.intents, "shot model")})
        return dataclasses.replace(side, policy=policy, shots=shots)


class Timed:
    """A policy or shot model with some of its methods replaced."""

    def __init__(self, decider: Any, methods: dict[str, Callable[..., Any]]) -> None:
        self._decider, self._methods = decider, methods

    def __getattr__(self, name: str) -> Any:
        return self._methods[name] if name in self._methods else getattr(self._decider, name)


def time_parts(game: Game, place: Place) -> Clock:
    """Play one block of rallies and time its parts; `spent` is for all its strokes together."""
    clock = Clock()
    game = dataclasses.replace(
        game, studied=clock.side(game.studied), opponent=clock.side(game.opponent)
    )
    with ExitStack() as replaced:
        for home, (part, names) in itertools.product(HOMES, CALLS.items()):
            for name in set(names) & set(vars(home)):
                call = clock.timed(getattr(home, name), part)
                replaced.enter_context(patch.object(home, name, call))
        clock.since_s = time.process_time()
        clock.strokes = len(sim.array_engine.play(game, place, np.arange(BATCH)))
        clock.enter(REST)
    return clock


def parts_us(seconds: float) -> dict[str, float]:
    """Microseconds of a stroke by PARTS, of the fastest block in that many seconds."""
    cell = game_of()
    time_parts(*cell)  # compiles, and works out the tables of the players' legs
    end, clocks = time.perf_counter() + seconds, [time_parts(*cell)]
    while time.perf_counter() < end or len(clocks) < LEAST_ROUNDS:
        clocks.append(time_parts(*cell))
    best = min(clocks, key=lambda clock: sum(clock.spent.values()))
    return {part: 1e6 * spent / best.strokes for part, spent in best.spent.items()}
