"""What it costs to hand a study out: measured on this machine, reckoned for many cores.

    python -m experiments.benchmark.handing_out [--cluster ADDRESS] [--rallies 1e9] [--cores 10]

The blocks are those of the main study's rallies, one for each level and opponent (from the
corner), each the second of its cell: the first alone carries stroke rows. Times of playing are
processor times, the best of the rounds. What the one process that hands out spends on each block
(sending, keeping, and adding up at the end) is measured with blocks that are already played, so
that the wait for a worker does not count: on two local processes, with --cluster on its workers.
What is then said for more cores is reckoned from these, not measured.
"""

from __future__ import annotations

import pickle
import tempfile
import time
from collections.abc import Sequence
from contextlib import ExitStack
from functools import partial
from itertools import product
from pathlib import Path
from typing import Any

import click
import numpy as np

from experiments.benchmark.engines import main_study
from experiments.benchmark.measure import Measuring, text_of, whole_numbers
from experiments.study.block_store import BlockStore
from experiments.study.executors import Cluster, LocalProcesses, Pool, Task, finished
from experiments.study.provenance import Parcel, parcel_of, play_block
from experiments.study.runner import write_tables
from experiments.study.settings import BLOCK_SIZE, Block, blocks

PLACE, SEED, ROUNDS, HANDED = "corner", 1, 2, 1500
RALLIES, CORES = 1e9, (10, 1000)


def rally_parcel() -> tuple[Parcel, list[Block]]:
    """The main study's rallies in whole blocks, and the second block of each cell at PLACE."""
    rallies = 2 * BLOCK_SIZE["rally"]
    study = main_study(settings=("rally",), rallies=rallies, seed=SEED, choices=None)
    work = [b for b in blocks(study) if b.scenario.place == PLACE and b.first > 0]
    return parcel_of(study, Path("."), {}), work


def played(parcel: Parcel, work: list[Block]) -> tuple[float, list[bytes]]:
    """Mean processor seconds of a block (best of the rounds for each), and the results."""
    best, results = [], []
    for number, block in enumerate(work):
        times = []
        for _ in range(ROUNDS):
            start = time.process_time()
            content = play_block(parcel, number, block)
            times.append(time.process_time() - start)
        best.append(min(times))
        results.append(content)
    return float(np.mean(best)), results


def given_back(content: bytes, number: int, block: Block) -> bytes:
    """A job that costs nothing but its way there and back."""
    return content


def handing_s(pool: Pool, parcel: Parcel, content: bytes, block: Block) -> float:
    """Seconds by the wall clock for a block's way to a worker and back and onto the disk."""
    with tempfile.TemporaryDirectory() as name:
        store = BlockStore(Path(name), parcel.key)
        work: list[Task] = [(number, block) for number in range(HANDED)]
        list(finished(pool, partial(given_back, content), work[:10]))  # starts the workers
        start = time.perf_counter()
        for number, answer in finished(pool, partial(given_back, content), work):
            store.write(number, answer)
        return (time.perf_counter() - start) / HANDED


def adding_s(parcel: Parcel, block: Block) -> float:
    """Seconds for reading a block back, checking it, and adding it to the tables, each."""
    count = 200
    content = [play_block(parcel, n, Block(block.scenario, block.first, 10)) for n in range(count)]
    with tempfile.TemporaryDirectory() as name:
        store = BlockStore(Path(name), parcel.key)
        for number, answer in enumerate(content):
            store.write(number, answer)
        times = []
        for some in (count // 2, count):  # the tables at the end cost the same for both
            start = time.perf_counter()
            write_tables(parcel.study, [block] * some, Path(name), store)
            times.append(time.perf_counter() - start)
    return (times[1] - times[0]) / (count - count // 2)


def measured(pools: dict[str, Pool]) -> dict[str, Any]:
    """A block, and what each pool of workers needs to hand it out; times in seconds, sizes in kB.

    The pools are closed.

    Raises:
        InputError: a pool has no workers, or loses them.
    """
    parcel, work = rally_parcel()
    with ExitStack() as closed:
        for pool in pools.values():
            closed.callback(pool.close, True)
        block_s, results = played(parcel, work)
        content = max(results, key=len)
        hand_s = {n: handing_s(pool, parcel, content, work[0]) for n, pool in pools.items()}
    return {
        "rallies_a_block": work[0].count,
        "policies": len(parcel.study.policies),
        "cells": len(work),
        "block_s": block_s,
        "task_kb": len(pickle.dumps((partial(play_block, parcel), (0, work[0])))) / 1e3,
        "result_kb": float(np.mean([len(r) for r in results])) / 1e3,
        "hand_s": hand_s,
        "add_s": adding_s(parcel, work[0]),
    }


def reckoned(found: dict[str, Any], rallies: float, cores: Sequence[int]) -> dict[str, Any]:
    """What a study of that many rallies would take on so many cores, for each pool measured."""
    blocks = rallies / (found["policies"] * found["rallies_a_block"])
    block_s, hand_s = found["block_s"], found["hand_s"]
    return {
        "rallies": rallies,
        "blocks": blocks,
        "results_gb": blocks * found["result_kb"] / 1e6,
        "adding_min": blocks * found["add_s"] / 60,
        "cores_kept_busy": {pool: block_s / each_s for pool, each_s in hand_s.items()},
        "on": [
            {
                "cores": n,
                "pool": pool,
                "playing_h": blocks * max(block_s / n, each_s) / 3600,
                "handing_share": each_s / (block_s / n),
            }
            for n, (pool, each_s) in product(cores, hand_s.items())
        ],
    }


@click.command(cls=Measuring)
@click.option("--cluster", help="The Dask scheduler that hands out.  [default: two processes here]")
@click.option("--rallies", type=float, default=RALLIES, show_default=True)
@click.option("--cores", default=",".join(map(str, CORES)), show_default=True)
def main(cluster: str | None, rallies: float, cores: str) -> None:
    """Measure blocks and their handing out; reckon a study of many rallies on many cores."""
    on = whole_numbers("--cores", cores)
    found = measured({"": Cluster(cluster) if cluster else LocalProcesses(2)})
    many = reckoned(found, rallies, on)
    click.echo(text_of("handing_out", **found, **many))


if __name__ == "__main__":
    # By its real name, so that workers find the job.
    from experiments.benchmark.handing_out import main as run

    run()
