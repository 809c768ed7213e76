"""Plays the blocks of a study that are not there yet, and decides how many looks there are."""

from __future__ import annotations

import os
import time
from collections.abc import Generator, Iterable, Iterator
from contextlib import closing
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from experiments.output.progress import progress_of
from experiments.output.terminal import say
from experiments.study.block_store import BlockStore, DamagedBlockError
from experiments.study.cells import Tallies
from experiments.study.design import Study
from experiments.study.executors import (
    Cluster,
    Job,
    LocalProcesses,
    Pool,
    Task,
    ThisProcess,
    finished,
)
from experiments.study.precision import looks_at, reached_by, sentence
from experiments.study.provenance import Parcel, play_block, sample_of
from experiments.study.race import RaceSums, begun, gone_on, progress_words, written_down
from experiments.study.settings import Block, BlockResult, Looks, blocks, raced_by
from sim.errors import InputError

WORKER_READY_S = 0.8  # of processor time until a new process can play; measured, 0.8


@dataclass(frozen=True)
class WorkersAsked:
    """Who plays the blocks: `workers` processes here, or the Dask scheduler at `cluster`.

    With neither, as many processes as there are processors, once the work is worth their start.
    """

    workers: int | None = None
    cluster: str | None = None
    progress: bool = True

    def pool(self) -> Pool:
        """The workers, at the ready."""
        if self.cluster is not None:
            return Cluster(self.cluster)
        workers = self.workers or default_workers()
        return ThisProcess() if workers == 1 else LocalProcesses(workers)

    @property
    def is_chosen(self) -> bool:
        """Whether somebody said who plays."""
        return self.workers is not None or self.cluster is not None


def default_workers() -> int:
    """Processors that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def workers_for(seconds: float) -> int:
    """How many processes are over soonest with work of so many seconds of one processor."""
    many = default_workers()
    return many if seconds > WORKER_READY_S + seconds / many else 1


class BlockPlayer:
    """The workers of a run, called together when there is a first block to play.

    Where nobody said how many, this process plays alone for as long as it would be over sooner.
    """

    def __init__(self, parcel: Parcel, here: Study, store: BlockStore, asked: WorkersAsked) -> None:
        self.store, self.lanes = store, 0
        self._parcel, self._here, self._asked = parcel, here, asked
        self._pool: Pool | None = None

    def play(self, work: list[Block], kept: set[int]) -> None:
        """Play and keep the blocks that are not in `kept` yet."""
        missing = [task for task in enumerate(work) if task[0] not in kept]
        done = len(work) - len(missing)
        with closing(progress_of(len(work), done, self._asked.progress)) as bar:
            if not missing:
                return
            for number, content in self._played(missing):
                self.store.write(number, content)
                kept.add(number)
                bar.update()

    def _played(self, missing: list[Task]) -> Iterator[tuple[int, bytes]]:
        """Numbers and results of the blocks."""
        if not self._parcel.sample:
            # The first replicates in this process first: that compiles what workers then load and
            # finds the mistakes of the user's own code; and the workers compare what they get.
            self._parcel = replace(self._parcel, sample=sample_of(self._here))
        job = partial(play_block, self._parcel)
        if self._pool is None and not self._asked.is_chosen:
            self.lanes = 1
            missing = yield from self._played_alone(job, missing)
        if missing and self._pool is None:
            self._pool = self._asked.pool()
            self.lanes = max(1, self._pool.lanes())
        if missing and self._pool is not None:
            yield from finished(self._pool, job, missing)

    def _played_alone(
        self, job: Job, missing: list[Task]
    ) -> Generator[tuple[int, bytes], None, list[Task]]:
        """Plays here while that is over sooner than more processes would be; gives what is left."""
        sizes, spent_s, done = [block.count for _, block in missing], 0.0, 0
        for k, task in enumerate(missing):
            if done and workers_for(spent_s / done * (sum(sizes) - done)) > 1:
                return missing[k:]
            start = time.process_time()
            result = job(*task)
            spent_s, done = spent_s + time.process_time() - start, done + sizes[k]
            yield task[0], result
        return []

    def say(self, seen: Iterable[str]) -> None:
        """Tell what a look shows, where progress is shown."""
        if self._asked.progress:
            for sentence in seen:
                say(sentence, error=True)

    def __enter__(self) -> BlockPlayer:
        return self

    def __exit__(self, error: type[BaseException] | None, *_: object) -> None:
        """Let the workers go; on an error without waiting for what they are doing."""
        if self._pool is not None:
            self._pool.close(error is not None)


def play_looks(here: Study, player: BlockPlayer, kept: set[int]) -> dict[str, Any]:
    """Play what is missing, and go on from look to look; returns what a re-run is to be told, as
    keys of the study.

    A look's blocks are played to the end before anybody looks, so what is seen depends on the
    study and the seed alone.
    """
    if here.race is not None:
        return {"raced": written_down(play_race(here, player, kept))}
    looks = here.looks_made()
    while True:
        work = blocks(here, looks)
        player.play(work, kept)
        if here.precision is None:
            return {}
        if here.reached is not None:
            break
        seen = looks_at(here, looks, added_up(work, player.store))
        player.say(map(sentence, seen))
        on = {look.setting for look in seen if look.goes_on}
        if not on:
            break
        looks = {setting: made + (setting in on) for setting, made in looks.items()}
    return {"reached": reached_by(here, looks)}


def play_race(here: Study, player: BlockPlayer, kept: set[int]) -> Looks:
    """Play the race of a study from look to look, or as it was written down; returns its looks."""
    looks = raced_by(here) or begun(here)
    while True:
        work = blocks(here, raced=looks)
        player.play(work, kept)
        if here.raced is not None:
            return looks
        sums = RaceSums(here)
        for number, block in enumerate(work):
            sums.add(block, result_of(player.store, number))
        following = gone_on(sums, looks)
        player.say(progress_words(here, looks, following))
        if following == looks:
            return looks
        looks = following


def added_up(work: list[Block], store: BlockStore) -> Tallies:
    """The tallies of these blocks, added in their order."""
    tallies: Tallies = {}
    for number, block in enumerate(work):
        add_block(tallies, block, result_of(store, number))
    return tallies


def add_block(tallies: Tallies, block: Block, result: BlockResult) -> None:
    """Add a block's tallies to those of its scenario; one of a world has none."""
    if not result.tallies:
        return
    so_far = tallies.setdefault(block.scenario, {})
    for policy, tally in result.tallies.items():
        so_far[policy] = so_far[policy] + tally if policy in so_far else tally


def result_of(store: BlockStore, number: int) -> BlockResult:
    """A block's result.

    Raises:
        InputError: it is damaged.
    """
    try:
        return store.read(number)
    except DamagedBlockError as error:
        raise InputError(f"{error}; `study --resume` plays it again") from None
