"""Rates from many short rounds of the same work, and the words that results are put into."""

from __future__ import annotations

import statistics
import time
import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from typing import Any

import click
from jinja2 import Environment, StrictUndefined

from experiments.output.files import not_written
from sim.errors import InputError

LEAST_ROUNDS = 3
STROKES = "strokes/s"
WORDS = tomllib.loads(
    resources.files("experiments.data").joinpath("benchmark.toml").read_text("utf-8")
)
ROWS: dict[str, str] = WORDS["rates"] | WORDS["limits"]


@dataclass(frozen=True)
class Rate:
    """How often something is done a second: the best round and the median of `rounds`.

    `clock` is "processor" (the time that this process had a processor for) or "wall"; by the wall
    clock, `processor_share` says how much of the time the processes had their processors. A rate
    that follows from others has no rounds.
    """

    per_s: float
    median_per_s: float
    unit: str
    rounds: int
    clock: str = "processor"
    processor_share: float = 1.0


def rate_of(work: Callable[[], int], unit: str, seconds: float) -> Rate:
    """Rate of what `work` does and counts, after one round to compile and to warm up.

    By processor time, and the best round: other work on the machine only ever slows a round.
    """
    work()
    rates: list[float] = []
    end = time.perf_counter() + seconds
    while time.perf_counter() < end or len(rates) < LEAST_ROUNDS:
        start = time.process_time()
        done = work()
        rates.append(done / (time.process_time() - start))
    return Rate(max(rates), statistics.median(rates), unit, len(rates))


def whole_numbers(option: str, text: str, fewest: int = 1, least: int = 1) -> list[int]:
    """The numbers of a comma-separated list.

    Raises:
        InputError: too few, or one that is below `least` or no number.
    """
    parts = [part.strip().replace("_", "") for part in text.split(",")]
    if len(parts) < fewest or not all(p.isdecimal() and int(p) >= least for p in parts):
        many = ("one", "two")[fewest - 1]
        raise InputError(
            f"{option} is {text!r}; give {many} or more whole numbers of at least {least},"
            " by commas"
        )
    return [int(part) for part in parts]


def ready_folder(out: Path) -> None:
    """Make a folder to write into, if it is not there.

    Raises:
        InputError: it cannot be made.
    """
    try:
        out.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise not_written(out, "folder", error) from None


class Measuring(click.Command):
    """A command that measures; what a user can mend is said in a line."""

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except InputError as error:
            raise click.UsageError(str(error), ctx) from None


def text_of(name: str, **found: Any) -> str:
    """A text of the file with the numbers found."""
    template = Environment(undefined=StrictUndefined).from_string(WORDS["texts"][name])
    return template.render(found, words=WORDS, rows=ROWS).strip("\n")
