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
from functools import partial
from pathlib import Path

import click
import numpy as np

from experiments.study.block_store import BlockStore
from experiments.study.executors import Cluster, LocalProcesses, Pool, Task, finished
from experiments.study.file import load_study
from experiments.study.runner import write_tables
from experiments.study.settings import BLOCK_SIZE, Block, blocks
from experiments.study.worker_check import Parcel, parcel_of, play_block

PLACE, SEED, ROUNDS, HANDED = "corner", 1, 2, 1500


def rally_parcel() -> tuple[Parcel, list[Block]]:
    """The main study's rallies in whole blocks, and the second block of each cell at PLACE."""
    main = load_study()
    values = main.model_dump() | {
        "settings": ("rally",),
        "rallies": 2 * BLOCK_SIZE["rally"],
        "seed": SEED,
    }
    study = type(main).model_validate(values | {"choices": None})
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


@click.command()
@click.option("--cluster", help="The Dask scheduler that hands out.  [default: two processes here]")
@click.option("--rallies", type=float, default=1e9, show_default=True)
@click.option("--cores", default="10,1000", show_default=True)
def main(cluster: str | None, rallies: float, cores: str) -> None:
    """Measure blocks and their handing out; reckon a study of many rallies on many cores."""
    parcel, work = rally_parcel()
    policies = len(parcel.study.policies)
    block_s, results = played(parcel, work)
    content = max(results, key=len)
    pool: Pool = Cluster(cluster) if cluster else LocalProcesses(2)
    try:
        hand_s = handing_s(pool, parcel, content, work[0])
    finally:
        pool.close(True)
    add_s = adding_s(parcel, work[0])
    task = len(pickle.dumps((partial(play_block, parcel), (0, work[0]))))
    count = rallies / (policies * work[0].count)
    size = float(np.mean([len(r) for r in results]))
    click.echo(f"a block: {work[0].count} rallies of each of {policies} policies")
    click.echo(f"  played in {block_s:.2f} s of one core (mean of {len(work)} cells)")
    click.echo(f"  task {task / 1e3:.1f} kB there, result {size / 1e3:.1f} kB back")
    click.echo(
        f"  handed out, taken back and kept: {1e3 * hand_s:.2f} ms; added: {1e3 * add_s:.2f} ms"
    )
    click.echo(f"{rallies:.3g} rallies: {count:.3g} blocks, {count * size / 1e9:.2f} GB of results")
    for each in (int(c) for c in cores.split(",")):
        play_h = count * max(block_s / each, hand_s) / 3600
        busy = hand_s / (block_s / each)
        click.echo(
            f"  {each} cores: {play_h:.2f} h of playing and {count * add_s / 60:.1f} min of adding;"
            f" handing out would need {busy:.0%} of its process's time"
        )
    click.echo(f"  cores that one handing process keeps busy: {block_s / hand_s:.0f}")


if __name__ == "__main__":
    # By its real name, so that workers find the job.
    from experiments.benchmark.handing_out import main as run

    run()
