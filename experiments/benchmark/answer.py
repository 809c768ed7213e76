"""All rates of one run, what they rest on and their ratios; as numbers and as a table."""

from __future__ import annotations

import platform
import sys
import textwrap
from collections import Counter
from collections.abc import Callable
from dataclasses import asdict
from typing import Any

from tqdm import tqdm

from experiments import own_version
from experiments.benchmark.engines import (
    BATCH,
    FLIGHT,
    LEVEL,
    OPPONENT,
    PLACE,
    POLICY,
    as_events,
    by_script,
    events_a_stroke,
    in_arrays,
    operations,
    rate_together,
)
from experiments.benchmark.limits import (
    arithmetic_rates,
    bare_events,
    by_kind_s,
    strictest_s,
)
from experiments.benchmark.measure import Rate, derived, rate_of
from experiments.benchmark.operations import (
    ADD,
    ARITHMETIC,
    DIVIDE,
    FUNCTION,
    KINDS,
    MULTIPLY,
    READ,
    ROOT,
    by_module,
    total,
)
from experiments.benchmark.parts import parts_us
from experiments.study.provenance import processor_name, versions
from experiments.study.runner import default_workers
from sim.world import INTEGRATED

TOGETHER, WIDTH = 2, 100
WORDS = {
    ADD: "sums",
    MULTIPLY: "products",
    DIVIDE: "quotients",
    ROOT: "square roots",
    FUNCTION: "functions",
}
COUNTED_A_SECOND, MOST_COUNTED = 3, 30
STROKES, EVENTS = "strokes/s", "events/s"

ROWS = {
    "array_engine": "array engine, one process",
    "array_engine_together": "array engine, two processes",
    "array_engine_bisector": "array engine, recovering to the bisector",
    "array_engine_integrated": "array engine, integrated flight",
    "event_engine": "event engine",
    "event_engine_traced": "event engine with trace",
    "first_script": "first script (SimPy, SciPy)",
    "simpy_events": "SimPy alone, events that only wait",
    "event_limit": "strokes of so many events",
    "arithmetic_limit_by_kind": "counted operations, each kind at its own rate",
    "arithmetic_limit": "counted operations, all as fast as sums",
}
LIMITS = ("simpy_events", "event_limit", "arithmetic_limit_by_kind", "arithmetic_limit")
# Name: (rate above the line, rate below it, in words, with the figure to reach if there is one).
RATIOS = {
    "array_over_event": ("array_engine", "event_engine", "array engine over event engine"),
    "array_over_script": ("array_engine", "first_script", "array engine over first script"),
    "event_over_script": ("event_engine", "first_script", "event engine over first script"),
    "together_over_one": (
        "array_engine_together",
        "array_engine",
        "two processes over one",
    ),
    "simpy_over_event": ("event_limit", "event_engine", "SimPy's limit over event engine"),
    "arithmetic_over_array": (
        "arithmetic_limit",
        "array_engine",
        "arithmetic limit over array engine (to reach: at most 10)",
    ),
    "arithmetic_by_kind_over_array": (
        "arithmetic_limit_by_kind",
        "array_engine",
        "the same, each kind of operation at its own rate",
    ),
}


def rate_jobs(seconds: float) -> dict[str, Callable[[], Rate]]:
    """How each rate is measured, in the order of the table."""
    return {
        "array_engine": lambda: rate_of(in_arrays(), STROKES, seconds),
        "array_engine_together": lambda: rate_together(TOGETHER, seconds),
        "array_engine_bisector": lambda: rate_of(in_arrays("bisector"), STROKES, seconds),
        "array_engine_integrated": lambda: rate_of(in_arrays(flight=INTEGRATED), STROKES, seconds),
        "event_engine": lambda: rate_of(as_events(traced=False), STROKES, seconds),
        "event_engine_traced": lambda: rate_of(as_events(traced=True), STROKES, seconds),
        "first_script": lambda: rate_of(by_script, STROKES, seconds),
        "simpy_events": lambda: rate_of(bare_events, EVENTS, seconds),
    }


def run_benchmark(seconds: float, parts: bool = False, quiet: bool = False) -> dict[str, Any]:
    """Measure every rate for some seconds and put all results together, ready for JSON.

    Raises:
        InputError: a worker process is lost.
    """
    jobs = rate_jobs(seconds)
    rallies = rallies_to_count(seconds)
    with tqdm(
        total=len(jobs) + 3 + parts,
        unit="rate",
        disable=quiet or None,  # None: shown on terminals alone
    ) as bar:

        def step(what: str, job: Callable[[], Any]) -> Any:
            bar.set_description(what)
            done = job()
            bar.update()
            return done

        rates = {name: step(ROWS[name], job) for name, job in jobs.items()}
        arithmetic = step("rates of arithmetic", lambda: arithmetic_rates(seconds))
        counts, strokes = step("counting operations", lambda: operations(rallies))
        events = step("counting events", events_a_stroke)
        found = {
            "setting": setting(seconds),
            "rates": rates | limits(rates, arithmetic, total(counts), strokes, events),
            "arithmetic_rates": arithmetic,
            "operations_a_stroke": {kind: total(counts)[kind] / strokes for kind in KINDS},
            "strokes_counted": strokes,
            "events_a_stroke": events,
        }
        if parts:
            found["parts_us"] = step("parts of a stroke", lambda: parts_us(seconds))
            found["operations_by_module"] = by_module(counts, strokes)
    return with_ratios(found)


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


def with_ratios(found: dict[str, Any]) -> dict[str, Any]:
    """The results with the ratios of their rates, and all rates as tables."""
    rates = found["rates"]
    ratios = {
        name: {"of": above, "to": below, "ratio": rates[above].per_s / rates[below].per_s}
        for name, (above, below, _) in RATIOS.items()
    }
    tables = {
        key: {name: asdict(rate) for name, rate in found[key].items()}
        for key in ("rates", "arithmetic_rates")
    }
    return found | tables | {"ratios": ratios}


def setting(seconds: float) -> dict[str, Any]:
    """What was measured, on what machine, with what packages."""
    return {
        "version": own_version(),
        "python": sys.version.split()[0],
        "packages": versions(),
        "processor": processor_name(),
        "processors_usable": default_workers(),
        "system": platform.system(),
        "level": LEVEL,
        "opponent": OPPONENT,
        "place": PLACE,
        "policy": POLICY,
        "flight": FLIGHT,
        "rallies_a_block": BATCH,
        "seconds_a_rate": seconds,
    }


def benchmark_text(found: dict[str, Any]) -> str:
    """The results as a table for people."""
    s, rates = found["setting"], found["rates"]
    packages = ", ".join(f"{name} {version}" for name, version in s["packages"].items())
    counted = found["operations_a_stroke"]
    operations = ", ".join(f"{counted[kind]:,.0f} {word}" for kind, word in WORDS.items())
    lines = [
        f"{s['processor']}, {s['processors_usable']} processors; Python {s['python']}, {packages}",
        f"{s['level']} against a {s['opponent']} hitter, first ball from the {s['place']},"
        f" recovering to the {s['policy']}, {s['flight']} flight",
        "",
        *(_row(name, rates[name]) for name in rates if name not in LIMITS),
        "",
        "Limits",
        *(_row(name, rates[name]) for name in rates if name in LIMITS),
        f"A stroke of the array engine takes {sum(counted[kind] for kind in ARITHMETIC):,.0f}"
        f" operations ({operations}) and {counted[READ]:,.0f} table reads, counted in"
        f" {found['strokes_counted']} strokes. A stroke of the event engine takes"
        f" {found['events_a_stroke']:.1f} events.",
        "",
        "Ratios",
        *(f"  {RATIOS[name][2]:<58}{r['ratio']:>12,.1f}" for name, r in found["ratios"].items()),
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
