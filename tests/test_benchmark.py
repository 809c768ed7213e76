"""The benchmark counts what kernels do, plays honest rallies, and its numbers fit each other."""

from __future__ import annotations

import dataclasses
import json
import math
import os
import sys
from collections import Counter
from contextlib import nullcontext
from pathlib import Path

import numba
import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner

import sim.array_engine
import sim.flight
from experiments.benchmark import answer, engines, handing_out, measure, page, scaling, start_up
from experiments.benchmark.first_flight import Flight, bounce, fly, launch
from experiments.benchmark.first_script import Rally
from experiments.benchmark.handing_out import reckoned
from experiments.benchmark.limits import (
    TABLE_SIZE,
    WEIGHED_OPERATIONS,
    bare_events,
    divide,
    root,
    weigh,
)
from experiments.benchmark.measure import ROWS
from experiments.benchmark.operations import (
    ADD,
    ARITHMETIC,
    COMPARE,
    DIVIDE,
    FUNCTION,
    MULTIPLY,
    READ,
    ROOT,
    Tally,
    counting,
    total,
    twin,
)
from experiments.command.main import main
from experiments.study.settings import BLOCK_SIZE
from sim.array_engine import play
from sim.bounce import bounce as sim_bounce
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M, net_height_m
from sim.exchange import Game, Place
from sim.launch import launch_state
from sim.players import player
from sim.world import INTEGRATED, TABULATED, World

CACHE = "RALLY_RECOVERY_CACHE"
CORNER = Place("corner", 3.115, HALF_LENGTH_M)


# Counting.


@numba.njit(error_model="numpy")
def busy(x, row, n):  # type: ignore[no-untyped-def]
    """A kernel with known counts, all branches and the odd values that kernels meet."""
    sums = 0.0
    for i in range(n):
        sums += x[i] * x[i + 1]
    row[0] += 2.0 * sums
    square = (sums - 1.0) ** 2
    if 0.0 < square < 1e9 and n < 100:
        square = math.sqrt(square) / (x[0] - x[0])
    return min(square, 5.0), math.exp(-sums), math.sqrt(-1.0 - square)


def test_counts_of_a_known_kernel() -> None:
    counts: Counter[str] = Counter()
    x, row = np.array([1.0, 2.0, 3.0, 4.0]), np.array([1.0])
    with np.errstate(all="ignore"):
        found = twin(busy, Tally(counts))(x, row, 3)
    assert counts == {
        READ: 3 * 2 + 1 + 2,
        MULTIPLY: 3 + 1 + 1,  # the square is a product
        ADD: 3 + 1 + 1 + 1 + 1,
        COMPARE: 2 + 1,  # n < 100 compares integers
        ROOT: 2,
        DIVIDE: 1,
        FUNCTION: 1,
    }
    again = np.array([1.0])
    assert row[0] == 41.0
    assert str(found) == str(busy(x, again, 3))  # nan and inf, as compiled
    assert again[0] == 41.0


@pytest.fixture
def short(monkeypatch: pytest.MonkeyPatch) -> None:
    """Rallies of two strokes: counting is slow."""
    whole = engines.game_of

    def game_of(*names: str) -> tuple[Game, Place]:
        game, place = whole(*names)
        return dataclasses.replace(game, stroke_limit=2), place

    monkeypatch.setattr(engines, "game_of", game_of)


def test_counted_kernels_play_the_strokes_of_the_compiled_ones(short: None) -> None:
    game, place = engines.game_of("bisector", TABULATED)
    compiled = play(game, place, np.arange(2))
    with counting() as counts:
        counted = play(game, place, np.arange(2))
    assert compiled.tobytes() == counted.tobytes()
    assert min(total(counts)[kind] for kind in (*ARITHMETIC, READ, COMPARE)) > 0
    before = Counter(total(counts))
    play(game, place, np.arange(1))
    assert total(counts) == before, "compiled kernels are back"


def test_kernels_come_back_after_an_error() -> None:
    kept = sim.flight.fly
    with pytest.raises(KeyboardInterrupt), counting():
        assert sim.flight.fly is not kept
        raise KeyboardInterrupt
    assert sim.flight.fly is kept


def test_operations_change_with_the_flight(short: None) -> None:
    (tabulated, n), (integrated, m) = (
        engines.operations(1, flight=flight) for flight in (TABULATED, INTEGRATED)
    )
    assert total(tabulated)[READ] / n > 1.2 * total(integrated)[READ] / m
    assert total(integrated)[MULTIPLY] / m > 1.2 * total(tabulated)[MULTIPLY] / n
    assert tabulated["sim.flight_table"][READ] > 0
    assert integrated["sim.flight_table"][READ] == 0


def test_the_limits_loops_do_the_operations_that_they_are_charged_for() -> None:
    counts: Counter[str] = Counter()
    twin(weigh, Tally(counts))(np.ones(TABLE_SIZE), np.array([5, 99]), 0.1, 0.4, 0.3, 0.2)
    assert counts[READ] == 2 * 64
    assert counts[ADD] + counts[MULTIPLY] == 2 * WEIGHED_OPERATIONS
    for loop, kind in ((divide, DIVIDE), (root, ROOT)):
        counts = Counter()
        twin(loop, Tally(counts))(10, 1.1, 1.3)
        assert counts[kind] == 4 * 10


def test_bare_events_are_as_many_as_said() -> None:
    assert bare_events(50) == 50


# The first script.


@pytest.mark.parametrize(
    ("ball", "speed", "degrees", "heading", "rpm"),
    [
        ((3.0, -12.0, 1.0), 30.0, 6.0, 1.7, 2500.0),
        ((-2.0, -11.0, 0.4), 24.0, 14.0, 1.4, -800.0),
        ((0.0, -13.0, 2.2), 36.0, -1.0, 1.57, 0.0),
        ((1.0, 12.0, 0.9), 27.0, 9.0, -1.5, 1800.0),
    ],
)
def test_the_script_flies_and_bounces_as_the_world_does(
    ball: tuple[float, float, float], speed: float, degrees: float, heading: float, rpm: float
) -> None:
    # Verification: two formulations and two integrators; 1 mm, 0.1 ms, 0.01 m/s.
    elevation, topspin = math.radians(degrees), rpm * 2 * math.pi / 60
    state, spin = launch(np.array(ball), speed, elevation, heading, topspin)
    w = World().numbers[0]
    *moves, sx, sy, sz = launch_state(elevation, heading, speed, topspin, 0.0)
    t, x, y, vx, vy, vz, net_x, net_z = sim.flight.fly(*ball, *moves, sx, sy, sz, w)
    flight = fly(state, spin)
    assert flight.time_s == pytest.approx(t, abs=1e-4)
    assert flight.landing[:2] == pytest.approx([x, y], abs=1e-3)
    assert flight.landing[3:] == pytest.approx([vx, vy, vz], abs=0.01)
    gap = net_z - World().ball.radius_m - net_height_m(net_x)
    assert flight.net_gap_m == pytest.approx(gap, abs=1e-3)
    up, spinning = bounce(flight.landing, spin)
    assert (*up[3:], *spinning) == pytest.approx(
        sim_bounce(vx, vy, vz, sx, sy, sz, w), abs=0.02, rel=1e-3
    )


@pytest.fixture(scope="module")
def scripted() -> list[Rally]:
    rallies = [Rally(player("college-man"), seed) for seed in range(4)]
    for rally in rallies:
        rally.play(CORNER)
    return rallies


def test_the_script_plays_legal_rallies(scripted: list[Rally]) -> None:
    assert len({rally.ending for rally in scripted}) > 1
    for rally in scripted:
        strokes = rally.strokes
        assert [s.side for s in strokes] == [(-1) ** k for k in range(len(strokes))]
        assert all(s.ball[1] * s.side > 0 for s in strokes), "struck on the own half"
        assert all(s.outcome == "in" and s.met for s in strokes[:-1])
        assert not strokes[-1].met
        assert (rally.ending == "winner") == (strokes[-1].outcome == "in")
        for stroke in strokes:
            check_outcome(stroke.flight, stroke.side, stroke.outcome)


def check_outcome(flight: Flight, side: int, outcome: str) -> None:
    x, y = flight.landing[:2]
    inside = abs(x) <= HALF_WIDTH_M and 0 <= -side * y <= HALF_LENGTH_M
    assert (outcome == "in") == (inside and flight.net_gap_m is not None and flight.net_gap_m >= 0)


def test_the_script_plays_the_same_rally_for_the_same_seed(scripted: list[Rally]) -> None:
    again = Rally(player("college-man"), 1)
    again.play(CORNER)
    assert again.ending == scripted[1].ending
    assert [s.ball.tolist() for s in again.strokes] == [
        s.ball.tolist() for s in scripted[1].strokes
    ]


# The command.


@pytest.fixture
def small(monkeypatch: pytest.MonkeyPatch) -> None:
    """Little work in each round, and no worker processes."""
    monkeypatch.setattr(engines, "BATCH", 20)
    monkeypatch.setattr(engines, "EVENT_RALLIES", 2)
    monkeypatch.setattr(engines, "SCRIPT_RALLIES", 1)
    monkeypatch.setattr(measure, "LEAST_ROUNDS", 1)
    monkeypatch.setattr(answer, "rate_together", rate_of_one_worker)
    monkeypatch.setattr(start_up, "PROCESSES", dict.fromkeys(start_up.PROCESSES, ("-c", "pass")))
    monkeypatch.setattr(start_up, "package_files", lambda: iter([Path(__file__)]))


def rate_of_one_worker(workers: int, seconds: float) -> measure.Rate:
    """In place of the workers: their part of the work, in this process."""
    engines._together = Alone()
    strokes, passed, _ = engines._play_along(seconds)
    return measure.Rate(strokes / passed, strokes / passed, "strokes/s", 1, "wall")


class Alone:
    def wait(self, _seconds: float) -> None:
        pass


def test_json_holds_rates_and_their_ratios(small: None, short: None) -> None:
    done = CliRunner().invoke(main, ["benchmark", "--seconds", "0.02", "--parts", "--json"])
    assert done.exit_code == 0, done.output
    found = json.loads(done.stdout)
    assert set(found) == {
        "setting",
        "start_up",
        "rates",
        "arithmetic_rates",
        "operations_a_stroke",
        "strokes_counted",
        "events_a_stroke",
        "ratios",
        "parts_us",
        "operations_by_module",
    }
    rates = found["rates"]
    assert set(rates) == set(ROWS)
    assert all(rate["per_s"] >= rate["median_per_s"] > 0 for rate in rates.values())
    for ratio in found["ratios"].values():
        above, below = rates[ratio["of"]], rates[ratio["to"]]
        assert above["unit"] == below["unit"]
        assert ratio["ratio"] == pytest.approx(above["per_s"] / below["per_s"])
    check_limits(found)
    assert set(found["parts_us"]) == set(engines.PARTS) and min(found["parts_us"].values()) > 0
    by_module = found["operations_by_module"].values()
    for key, kinds in (("arithmetic", ARITHMETIC), (READ, (READ,))):
        whole = sum(found["operations_a_stroke"][kind] for kind in kinds)
        assert sum(module[key] for module in by_module) == pytest.approx(whole)
    assert found["setting"]["packages"]["simpy"] and found["setting"]["processors_usable"] >= 1
    text = answer.benchmark_text(found)
    assert all(words in text for words in (*ROWS.values(), *engines.PARTS, "sim.flight_table"))
    started = found["start_up"]["times"]
    assert {row["process"] for row in started} == set(measure.WORDS["start_up"])
    assert {row["state"] for row in started} <= set(measure.WORDS["states"])
    for row in started:
        assert 0 < row["least_s"] <= row["median_s"]
        said = measure.WORDS["start_up"][row["process"]]
        (line,) = (line for line in text.splitlines() if line.strip().startswith(f"{said}  "))
        assert f" {row['least_s']:.2f}" in line


def check_limits(found: dict) -> None:  # type: ignore[type-arg]
    """The limits follow from what was counted and from the rates beside them."""
    rates, counted = found["rates"], found["operations_a_stroke"]
    of = {kind: rate["per_s"] for kind, rate in found["arithmetic_rates"].items()}
    per_event = rates["simpy_events"]["per_s"] / found["events_a_stroke"]
    assert rates["event_limit"]["per_s"] == pytest.approx(per_event)
    strict = of["weighed"] / sum(counted[kind] for kind in ARITHMETIC)
    assert rates["arithmetic_limit"]["per_s"] == pytest.approx(strict)
    slow = sum(counted[kind] / of[kind] for kind in (DIVIDE, ROOT, FUNCTION))
    by_kind = 1 / ((counted[ADD] + counted[MULTIPLY]) / of["weighed"] + slow)
    assert rates["arithmetic_limit_by_kind"]["per_s"] == pytest.approx(by_kind)


def test_worker_processes_play_together() -> None:
    rate = engines.rate_together(2, 0.02)
    assert rate.clock == "wall" and rate.per_s > 0
    assert 0 < rate.processor_share < 1.2  # clocks of two kinds


def test_event_engine_needs_several_events_a_stroke() -> None:
    assert 3 < engines.events_a_stroke() < 12


@pytest.mark.parametrize("seconds", ["0", "-1", "nan", "5 m", "1e9", "soon"])
def test_seconds_that_cannot_be_are_refused(seconds: str) -> None:
    done = CliRunner().invoke(main, ["benchmark", "--seconds", seconds])
    assert done.exit_code == 2 and done.stdout == ""
    assert "--seconds" in done.stderr and "Traceback" not in done.stderr


# Start-up.


def test_a_process_is_timed_until_it_has_ended() -> None:
    waits = ("-c", "import time; time.sleep(0.3)")
    found = start_up.rounds(lambda: start_up.seconds_of(waits), 0.5)
    assert 0.3 < found["least_s"] <= found["median_s"] and 1 <= found["rounds"] <= 2
    busy = ("-c", "import time\nwhile time.process_time() < 0.3: pass")
    took = start_up.seconds_of(busy)
    assert took.wall_s >= 0.3 and (took.processor_s >= 0.29 or sys.platform == "win32")


def test_without_our_cache_there_is_an_empty_folder_for_it(tmp_path: Path) -> None:
    kept = tmp_path / "cache"
    tell = f"import os; open({str(kept)!r}, 'w').write(os.environ['RALLY_RECOVERY_CACHE'])"
    start_up.first_seconds_of(("-c", f"{tell}; assert not os.listdir(os.environ['{CACHE}'])"))
    assert not Path(kept.read_text()).exists() and kept.read_text() != os.environ.get(CACHE)


def test_a_process_that_fails_is_an_error() -> None:
    with pytest.raises(RuntimeError, match="no such thing"):
        start_up.seconds_of(("-c", "raise SystemExit('no such thing')"))


@pytest.mark.skipif(bool(start_up.why_not_cold()), reason=start_up.why_not_cold())
def test_files_are_forgotten_and_counted(tmp_path: Path) -> None:
    path, missing = tmp_path / "large", tmp_path / "missing"
    path.write_bytes(bytes(10 * 4096 + 1))
    with open(path, "rb") as file:
        assert start_up.pages_in_memory(file.fileno(), 10 * 4096 + 1) == 11
        kept = start_up.forget(iter([path, missing]))
        assert kept == start_up.pages_in_memory(file.fileno(), 10 * 4096 + 1) / 11
        if kept:
            pytest.skip("this file system keeps its files in memory")
        file.read(1)
        assert start_up.pages_in_memory(file.fileno(), 10 * 4096 + 1) > 0


# The page.

HANDING = {
    "rallies_a_block": 4000,
    "policies": 10,
    "cells": 12,
    "block_s": 2.0,
    "task_kb": 2.25,
    "result_kb": 12.5,
    "hand_s": {"local processes": 0.001, "Dask": 0.01},
    "add_s": 0.003,
}


def test_handing_out_is_reckoned_from_what_was_measured() -> None:
    found = reckoned(HANDING, 1e9, (10, 1000))
    assert found["blocks"] == 25_000
    assert found["results_gb"] == pytest.approx(0.3125)
    assert found["adding_min"] == pytest.approx(1.25)
    assert found["cores_kept_busy"] == {"local processes": 2000.0, "Dask": 200.0}
    hours = {(row["cores"], row["pool"]): row["playing_h"] for row in found["on"]}
    assert hours[10, "Dask"] == pytest.approx(25_000 * 0.2 / 3600)
    assert hours[1000, "local processes"] == pytest.approx(25_000 * 0.002 / 3600)
    assert hours[1000, "Dask"] == pytest.approx(25_000 * 0.01 / 3600)


@pytest.fixture
def handed(monkeypatch: pytest.MonkeyPatch) -> None:
    """No handing out: its numbers are given."""
    monkeypatch.setattr(page, "pools", lambda address: nullcontext({}))
    monkeypatch.setattr(page, "measured", lambda ways: HANDING)


def test_the_page_holds_what_was_measured(
    small: None, short: None, handed: None, tmp_path: Path
) -> None:
    row = dict(zip(scaling.COLUMNS, (12_345, 5.5, 2, 6.78, 910.0), strict=True))
    pd.DataFrame([row]).to_csv(tmp_path / "scaling.csv", index=False)
    arguments = ["--out", str(tmp_path), "--seconds", "0.02", "--note", "Something else ran."]
    for _ in range(2):  # the second time over its own files
        done = CliRunner().invoke(page.main, arguments)
        assert done.exit_code == 0, done.output
    text = (tmp_path / page.PAGE).read_text("utf-8")
    found = json.loads((tmp_path / page.NUMBERS).read_text("utf-8"))
    assert found["handing"] == HANDING and found["note"] in text
    for name, words in ROWS.items():
        assert f"| {words} | {found['rates'][name]['per_s']:,.0f} " in text
    for ratio in found["ratios"].values():
        assert f" | {ratio['ratio']:,.1f} |" in text
    for us in found["parts_us"].values():
        assert f" | {us:.2f} |" in text
    for said in (
        "| 12,345 | 6.8 | 910 | 2 |",
        "Dask | 10.00 ms",
        "2.2 kB, 12.5 kB",
        "25,000 blocks",
    ):
        assert said in text


def test_the_page_leaves_what_is_not_its_own(handed: None, tmp_path: Path) -> None:
    (tmp_path / page.PAGE).write_text("mine")
    done = CliRunner().invoke(page.main, ["--out", str(tmp_path), "--seconds", "0.02"])
    assert done.exit_code == 2 and "stays" in done.stderr and "Traceback" not in done.stderr
    assert (tmp_path / page.PAGE).read_text() == "mine"
    assert not (tmp_path / page.NUMBERS).exists()


@pytest.mark.parametrize("cores", ["", "10,x", "0"])
def test_cores_that_cannot_be_are_refused(cores: str) -> None:
    done = CliRunner().invoke(handing_out.main, ["--cores", cores])
    assert done.exit_code == 2 and "--cores" in done.stderr and done.stdout == ""


# Scaling.


def test_scaling_plays_the_rallies_of_one_cell() -> None:
    if not Path(scaling.STATUS.format("self")).exists():
        pytest.skip("memory is read from /proc")
    row = scaling.measure_here(20, workers=1)
    assert tuple(row) == scaling.COLUMNS
    assert row["rallies"] == 20 and row["wall_s"] > 0 and row["peak_memory_mb"] > 50
    game, place = engines.game_of("middle", TABULATED)
    first = 10**9 * [p.name for p in scaling.study_of(20).places].index("corner")
    assert row["strokes_a_rally"] == len(play(game, place, first + np.arange(20))) / 20


def test_scaling_draws_a_line_and_says_it(tmp_path: Path) -> None:
    sizes = np.array([BLOCK_SIZE["rally"], 10_000, 1_000_000])
    table = pd.DataFrame(
        {
            "rallies": sizes,
            "workers": 2,
            "wall_s": 3 + 2e-5 * sizes,
            "peak_memory_mb": [500, 700, 710],
        }
    )
    assert scaling.time_line(table) == pytest.approx((3.0, 2e-5))
    above, below = scaling.scaling_figure(table).axes
    assert "3.0 s + 20 s a million" in [t.get_text() for t in above.get_legend().get_texts()]
    assert "700 to 710 MB" in below.get_title(loc="left")
    assert (above.get_xscale(), above.get_yscale(), below.get_yscale()) == ("log",) * 3


@pytest.mark.parametrize("sizes", ["", "1000", "1000,x", "1000,5", "1e3,1e4"])
def test_scaling_refuses_sizes_that_cannot_be(sizes: str, tmp_path: Path) -> None:
    arguments = ["--out", str(tmp_path / "out"), "--sizes", sizes]
    done = CliRunner().invoke(scaling.main, arguments)
    assert done.exit_code == 2 and "--sizes" in done.stderr
    assert not (tmp_path / "out").exists()
