"""The work that is measured, the same rallies in each engine, and the parts of a stroke."""

from __future__ import annotations

import dataclasses
import itertools
import multiprocessing
import threading
import time
from collections import Counter
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import ExitStack
from typing import Any
from unittest.mock import patch

import numpy as np
import simpy

import sim.exchange
import sim.turns
from experiments.benchmark.first_script import Rally
from experiments.benchmark.measure import LEAST_ROUNDS, STROKES, Rate
from experiments.benchmark.operations import counting
from experiments.study.design import Study
from experiments.study.executors import interrupts_left_to_this_process
from experiments.study.file import load_study
from experiments.study.settings import BLOCK_SIZE
from sim.array_engine import play
from sim.errors import InputError
from sim.event_engine import play_rally
from sim.exchange import Game, Place, Side
from sim.players import player
from sim.world import TABULATED

LEVEL, OPPONENT, PLACE, SEED = "college-man", "habit", "corner", 7
POLICY, FLIGHT = "middle", TABULATED
BATCH = BLOCK_SIZE["rally"]
EVENT_RALLIES, SCRIPT_RALLIES = 30, 3
START_S = 120.0
_together: Any = None
# What does the work of a batch, by part; under these names in the modules HOMES.
CALLS = {
    "chance": ("uniforms",),
    "strike": ("strike_balls", "strike", "strike_into"),
    "meeting": ("meet_balls", "meetings", "meet_into"),
    "recovery": ("opening", "recover_bodies"),
    "records": ("stroke_records",),
}
HOMES = (sim.exchange, sim.turns)
REST = "bookkeeping"
PARTS = ("shot model", "policy", *CALLS, REST)


def main_study(**changes: Any) -> Study:
    """The main study with other values, and without rows of its headline, to measure play alone."""
    return Study.model_validate(load_study().model_dump() | {"headline": None} | changes)


def game_of(policy: str = POLICY, flight: str = FLIGHT) -> tuple[Game, Place]:
    """A cell of the main study: its game and the place of the first ball."""
    study = load_study().model_copy(update={"flight": flight})
    place = next(p.place for p in study.places if p.name == PLACE)
    return study.game(LEVEL, OPPONENT, policy, SEED), place


def in_arrays(policy: str = POLICY, flight: str = FLIGHT) -> Callable[[], int]:
    """Work for the array engine: a block of rallies, as studies play them; counts strokes."""
    game, place = game_of(policy, flight)
    return lambda: len(play(game, place, np.arange(BATCH)))


def as_events(traced: bool, policy: str = POLICY, flight: str = FLIGHT) -> Callable[[], int]:
    """Work for the event engine: the first of those rallies one by one; counts strokes."""
    game, place = game_of(policy, flight)
    return lambda: sum(
        len(play_rally(game, place, replicate, traced)[0]) for replicate in range(EVENT_RALLIES)
    )


def by_script() -> int:
    """Work for the first script: rallies of the same players from the same place."""
    place = game_of()[1]
    rallies = [Rally(player(LEVEL), SEED + number) for number in range(SCRIPT_RALLIES)]
    return sum(len(rally.play(place)) for rally in rallies)


def operations(
    rallies: int, policy: str = POLICY, flight: str = FLIGHT
) -> tuple[dict[str, Counter[str]], int]:
    """Counted operations by module (see `counting`) of the first rallies of a block; strokes."""
    game, place = game_of(policy, flight)
    play(game, place, np.arange(rallies))  # makes the table of flights before it is read
    with counting() as counts:
        strokes = play(game, place, np.arange(rallies))
    return counts, len(strokes)


def events_a_stroke() -> float:
    """SimPy events that the event engine schedules for a stroke, without a trace."""
    counted = 0

    class Counting(simpy.Environment):
        def schedule(self, *arguments: Any, **options: Any) -> None:
            nonlocal counted
            counted += 1
            super().schedule(*arguments, **options)

    with patch.object(simpy, "Environment", Counting):
        strokes = as_events(traced=False)()
    return counted / strokes


def _meet_others(barrier: Any) -> None:
    global _together
    _together = barrier


def _play_along(seconds: float) -> tuple[int, float, float]:
    """Play blocks beside other workers: (strokes, seconds by the wall clock, of the processor)."""
    work = in_arrays()
    work()
    _together.wait(START_S)
    start, busy, strokes = time.perf_counter(), time.process_time(), 0
    while not strokes or time.perf_counter() - start < seconds:
        strokes += work()
    return strokes, time.perf_counter() - start, time.process_time() - busy


def rate_together(workers: int, seconds: float) -> Rate:
    """Rate of the array engine in several processes at once, by the wall clock.

    Raises:
        InputError: a worker process is lost.
    """
    in_arrays()()  # compiles; the workers load it
    context = multiprocessing.get_context("spawn")
    before = multiprocessing.active_children()
    pool = ProcessPoolExecutor(
        workers, context, initializer=_meet_others, initargs=(context.Barrier(workers),)
    )
    try:
        with interrupts_left_to_this_process():
            jobs = [pool.submit(_play_along, seconds) for _ in range(workers)]
        played = [job.result() for job in jobs]
    except BaseException as error:
        for process in multiprocessing.active_children():
            if process not in before:
                process.terminate()
        pool.shutdown(cancel_futures=True)
        if isinstance(error, BrokenProcessPool | threading.BrokenBarrierError):
            raise InputError(
                "a worker process of the benchmark ended or did not start, perhaps for want of"
                " memory; close other programs and try again"
            ) from None
        raise
    pool.shutdown()
    per_s = sum(strokes / passed for strokes, passed, _ in played)
    share = sum(busy for _, _, busy in played) / sum(passed for _, passed, _ in played)
    return Rate(per_s, per_s, STROKES, 1, "wall", share)


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
        clock.strokes = len(play(game, place, np.arange(BATCH)))
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
