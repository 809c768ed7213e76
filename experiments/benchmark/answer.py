"""All rates of one run, what they rest on and their ratios; as numbers and as a table."""

from __future__ import annotations

import platform
import sys
import textwrap
from collections.abc import Callable
from dataclasses import asdict
from typing import Any

from tqdm import tqdm

from experiments.benchmark import engines
from experiments.benchmark.engines import as_events, in_arrays, parts_us, rate_together
from experiments.benchmark.limits import arithmetic_rates, bare_events, limits
from experiments.benchmark.measure import ROWS, STROKES, WORDS, Rate, rate_of, text_of
from experiments.benchmark.operations import ARITHMETIC, KINDS, by_module, total
from experiments.benchmark.start_up import start_up
from experiments.own_packages import own_version
from experiments.study.provenance import processor_name, versions
from experiments.study.runner import default_workers
from sim.world import INTEGRATED

TOGETHER, WIDTH = 2, 100
COUNTED_A_SECOND, MOST_COUNTED = 3, 30


def rate_jobs(seconds: float) -> dict[str, Callable[[], Rate]]:
    """How each rate is measured, in the order of the table."""

    def strokes(made: Callable[..., Callable[[], int]], *values: Any) -> Callable[[], Rate]:
        return lambda: rate_of(made(*values), STROKES, seconds)

    return {
        "array_engine": strokes(in_arrays),
        "array_engine_together": lambda: rate_together(TOGETHER, seconds),
        "array_engine_bisector": strokes(in_arrays, "bisector"),
        "array_engine_integrated": strokes(in_arrays, engines.POLICY, INTEGRATED),
        "event_engine": strokes(as_events, False),
        "event_engine_traced": strokes(as_events, True),
        "first_script": strokes(lambda: engines.by_script),
        "simpy_events": lambda: rate_of(bare_events, "events/s", seconds),
    }


def run_benchmark(
    seconds: float,
    parts: bool = False,
    quiet: bool = False,
    started: dict[str, Any] | None = None,
) -> dict[str, Any]:
    """Measure every rate for some seconds and put all results together, ready for JSON.

    `started` is what `start_up` measured while little was imported; None: it is measured now.

    Raises:
        InputError: a worker process is lost.
    """
    jobs: dict[str, Callable[[], Any]] = {
        "starting": lambda: started or start_up(seconds),
        **rate_jobs(seconds),
        "rates of arithmetic": lambda: arithmetic_rates(seconds),
        "counting operations": lambda: engines.operations(rallies_to_count(seconds)),
        "counting events": engines.events_a_stroke,
    }
    if parts:
        jobs["parts of a stroke"] = lambda: parts_us(seconds)
    done = {}
    with tqdm(jobs, unit="rate", disable=quiet or None) as bar:  # None: shown on terminals alone
        for name in bar:
            bar.set_description(ROWS.get(name, name))
            done[name] = jobs[name]()
    rates = {name: rate for name, rate in done.items() if name in ROWS}
    arithmetic, events = done["rates of arithmetic"], done["counting events"]
    counts, strokes = done["counting operations"]
    per_event = rates["simpy_events"].per_s
    rates |= limits(per_event, events, arithmetic, total(counts), strokes)
    found = {
        "setting": setting(seconds),
        "start_up": done["starting"],
        "rates": {name: asdict(rate) for name, rate in rates.items()},
        "arithmetic_rates": {name: asdict(rate) for name, rate in arithmetic.items()},
        "operations_a_stroke": {kind: total(counts)[kind] / strokes for kind in KINDS},
        "strokes_counted": strokes,
        "events_a_stroke": events,
    }
    if parts:
        found["parts_us"] = done["parts of a stroke"]
        found["operations_by_module"] = by_module(counts, strokes)
    return found | {"ratios": ratios(rates)}


def rallies_to_count(seconds: float) -> int:
    """How many rallies to count operations in: enough for a mean, in about the same time."""
    return min(max(1, int(COUNTED_A_SECOND * seconds)), MOST_COUNTED)


def ratios(rates: dict[str, Rate]) -> dict[str, dict[str, Any]]:
    """The rates that are compared, by the name of each comparison."""
    return {
        name: {k: two[k] for k in ("of", "to")}
        | {"ratio": rates[two["of"]].per_s / rates[two["to"]].per_s}
        for name, two in WORDS["ratios"].items()
    }


def setting(seconds: float) -> dict[str, Any]:
    """What was measured, on what machine, with what packages."""
    return {
        "version": own_version(),
        "python": sys.version.split()[0],
        "packages": versions(),
        "processor": processor_name(),
        "processors_usable": default_workers(),
        "system": platform.system(),
        "level": engines.LEVEL,
        "opponent": engines.OPPONENT,
        "place": engines.PLACE,
        "policy": engines.POLICY,
        "flight": engines.FLIGHT,
        "rallies_a_block": engines.BATCH,
        "seconds_a_rate": seconds,
    }


def benchmark_text(found: dict[str, Any]) -> str:
    """The results as a table for people."""
    arithmetic = sum(found["operations_a_stroke"][kind] for kind in ARITHMETIC)
    text = text_of("rates", **found, arithmetic_a_stroke=arithmetic)
    lines = text.splitlines()
    return "\n".join(textwrap.fill(line, WIDTH, replace_whitespace=False) for line in lines)
