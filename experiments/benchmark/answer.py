"""All rates of one run, what they rest on and their ratios; as numbers and as a table."""

from __future__ import annotations

import platform
import sys
import textwrap
import tomllib
from collections import Counter
from collections.abc import Callable
from dataclasses import asdict
from importlib import resources
from typing import Any

from tqdm import tqdm

from experiments import own_version
from experiments.benchmark import engines
from experiments.benchmark.engines import as_events, in_arrays, rate_together
from experiments.benchmark.limits import arithmetic_rates, bare_events, by_kind_s, strictest_s
from experiments.benchmark.measure import Rate, derived, rate_of
from experiments.benchmark.operations import ARITHMETIC, KINDS, READ, by_module, total
from experiments.benchmark.parts import parts_us
from experiments.study.runner import default_workers
from experiments.study.store import processor_name, versions
from sim.world import INTEGRATED

TOGETHER, WIDTH = 2, 100
TEXTS = tomllib.loads(
    resources.files("experiments.data").joinpath("benchmark.toml").read_text("utf-8")
)
ROWS: dict[str, str] = TEXTS["rates"] | TEXTS["limits"]
COUNTED_A_SECOND, MOST_COUNTED = 3, 30
STROKES = "strokes/s"


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


def run_benchmark(seconds: float, parts: bool = False, quiet: bool = False) -> dict[str, Any]:
    """Measure every rate for some seconds and put all results together, ready for JSON.

    Raises:
        InputError: a worker process is lost.
    """
    jobs: dict[str, Callable[[], Any]] = {
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
    rates |= limits(rates, arithmetic, total(counts), strokes, events)
    found = {
        "setting": setting(seconds),
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


def limits(
    rates: dict[str, Rate],
    arithmetic: dict[str, Rate],
    counted: Counter[str],
    strokes: int,
    events: float,
) -> dict[str, Rate]:
    """What the processor and SimPy would allow, in strokes a second."""
    per_s = {
        "event_limit": rates["simpy_events"].per_s / events,
        "arithmetic_limit_by_kind": strokes / by_kind_s(counted, arithmetic),
        "arithmetic_limit": strokes / strictest_s(counted, arithmetic),
    }
    return {name: derived(rate, STROKES) for name, rate in per_s.items()}


def ratios(rates: dict[str, Rate]) -> dict[str, dict[str, Any]]:
    """The rates that are compared, by the name of each comparison."""
    return {
        name: {k: two[k] for k in ("of", "to")}
        | {"ratio": rates[two["of"]].per_s / rates[two["to"]].per_s}
        for name, two in TEXTS["ratios"].items()
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
    s, rates, counted = found["setting"], found["rates"], found["operations_a_stroke"]
    packages = ", ".join(f"{name} {version}" for name, version in s["packages"].items())
    operations = ", ".join(f"{counted[k]:,.0f} {words}" for k, words in TEXTS["operations"].items())
    limited = ("simpy_events", *TEXTS["limits"])
    lines = [
        f"{s['processor']}, {s['processors_usable']} processors; Python {s['python']}, {packages}",
        f"{s['level']} against a {s['opponent']} hitter, first ball from the {s['place']},"
        f" recovering to the {s['policy']}, {s['flight']} flight",
        "",
        *(_row(name, rates[name]) for name in rates if name not in limited),
        "",
        "Limits",
        *(_row(name, rates[name]) for name in limited),
        f"A stroke of the array engine takes {sum(counted[kind] for kind in ARITHMETIC):,.0f}"
        f" operations ({operations}) and {counted[READ]:,.0f} table reads, counted in"
        f" {found['strokes_counted']} strokes. A stroke of the event engine takes"
        f" {found['events_a_stroke']:.1f} events.",
        "",
        "Ratios",
        *(
            f"  {TEXTS['ratios'][name]['words']:<58}{r['ratio']:>12,.1f}"
            for name, r in found["ratios"].items()
        ),
        *(_parts_text(found) if "parts_us" in found else []),
    ]
    return "\n".join(textwrap.fill(line, WIDTH, replace_whitespace=False) for line in lines)


def _row(name: str, rate: dict[str, Any]) -> str:
    clock = ""
    if rate["clock"] == "wall":
        clock = f", wall clock, {rate['processor_share']:.0%} running"
    return f"  {ROWS[name]:<46}{rate['per_s']:>12,.0f} {rate['unit']}{clock}"


def _parts_text(found: dict[str, Any]) -> list[str]:
    parts, whole = found["parts_us"], sum(found["parts_us"].values())
    modules = found["operations_by_module"]
    return [
        "",
        f"Parts of a stroke in the array engine{'us':>19}{'share':>9}",
        *(f"  {part:<46}{us:>8.2f}{us / whole:>9.1%}" for part, us in parts.items()),
        "",
        f"Operations of a stroke by module{'arithmetic':>24}{'table reads':>14}",
        *(
            f"  {name:<42}{counts['arithmetic']:>12,.0f}{counts[READ]:>14,.0f}"
            for name, counts in modules.items()
        ),
    ]
