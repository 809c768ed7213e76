"""What `rally-recovery player` says: the estimate with its range, and what it leaves open."""

from __future__ import annotations

import shlex
import textwrap
from collections.abc import Iterator
from typing import Any

from experiments.answers.player.answer import Estimate, level_shares, untold_speed
from experiments.answers.player.timed_runs import mean_of, range_of, running_time_s
from experiments.scene.player_schema import ROWS
from experiments.scene.told_units import ball_speed, leg_speed, length, ranged
from sim.levels import LEVELS
from sim.parameter import ParameterRow
from sim.players import PLAYERS, player_parameters

WIDTH, RANGE = 100, 24
RUN_M = 4.0  # of the comparison with the levels: a wide ball
HARDLY, BETTER = 0.8, 10.0
WORDS = {
    "top_speed_m_s": "top sprint speed",
    "tau_s": "time constant (short: quick off the mark)",
    "braking_m_s2": "braking",
    "comfortable_reach_m": "comfortable reach",
    "full_reach_m": "full reach, forehand",
    "best_low_m": "best contact from",
    "best_high_m": "best contact to",
    "forehand_speed_m_s": "usual forehand",
    "backhand_speed_m_s": "usual backhand",
    "waits_behind_m": "waits behind the baseline",
}
CAUTIONS = (
    "Sprints strain muscles and tendons that are cold or unused to them. Warm up well, build up"
    " over several easier runs, rest between hard ones, and stop on any pain. Run and brake on a"
    " dry, clean court in court shoes, with room to slow down; a shuttle's turn asks most of ankles"
    " and knees. Children, and whoever is injured, unwell or new to hard exercise, ask a coach or a"
    " physician first, who also judge what a test is good for."
)
MODEL = (
    "These are estimates of a simple model of a sprint, not of a match: rested, straight ahead, no"
    " ball. The same test on another day differs; measure again before you trust a small change."
)


def player_json(found: Estimate) -> dict[str, Any]:
    """All numbers of an estimate."""
    shares = level_shares(found.measures)
    levels: dict[str, dict[str, float]] = {}
    for name in PLAYERS:
        share = {"share_of_evidence": shares[name]} if shares else {}
        levels[name] = {"run_time_s": _level_time_s(name), **share}
    out = found.file.model_dump(mode="json", exclude_none=True)
    out |= {"braking_range_left": found.braking_left, "levels": levels}
    if found.measures.timed:
        value, low, high = _run_time_s(found)
        out |= {"run_m": RUN_M, "run_time_s": {"value": value, "low": low, "high": high}}
    return out


def _run_time_s(found: Estimate) -> tuple[float, float, float]:
    """The time of the run that is compared with the levels: mean and range."""
    time, weight = found.legs.running_time_s(RUN_M), found.legs.weight
    return mean_of(time, weight), *range_of(time, weight)


def player_text(found: Estimate, written: str | None) -> str:
    """The page for a player or coach; `written` is the file's path where one was written."""
    parts = ["\n".join(_head(found)), "\n".join(_values(found)), _left_open(found)]
    parts += ["\n".join(_compared(found)), _fill(MODEL), _fill(CAUTIONS), _next(written)]
    return "\n\n".join(p for p in parts if p)


def _head(found: Estimate) -> Iterator[str]:
    file, m = found.file, found.measures
    yield f"{file.name}, {file.hand}-handed, {file.backhand} backhand; level {file.level}"
    for what, timed in (("sprint", file.measured.sprints), ("shuttle", file.measured.shuttles)):
        for one in timed:
            times = " ".join(f"{t:.2f}" for t in one.times_s)
            yield f"measured: {what} {length(one.distance_m, None)} in {times} s"
    if m.timed:
        low, high = m.clock.offset_s
        yield (
            f"timed by {m.timing}: error {m.clock.error_s:g} s, clock starts {low:g} to {high:g} s"
            " after the push-off"
        )
    if m.height_m is not None:
        usual_m = LEVELS[m.level].height_m.value
        yield f"measured: height {length(m.height_m, 2)} (the level's is {length(usual_m, 2)})"


def _values(found: Estimate) -> Iterator[str]:
    """A line a parameter: value, 90 % range and the level's own."""
    file = found.file
    usual = {row.name: float(row.value) for row in player_parameters(PLAYERS[file.level])}
    wide = max(len(WORDS[name]) for group in ROWS for name in getattr(file, group))
    yield f"{'estimate':<{wide}}  {'value':>12}  {'90 % range':>{RANGE}}  {'the level':>12}"
    for group, rows in ROWS.items():
        for name, r in getattr(file, group).items():
            value, low, high, base = (
                _shown(rows[name], v) for v in (r.value, r.low, r.high, usual[name])
            )
            between = ranged(low, high)
            yield f"{WORDS[name]:<{wide}}  {value:>12}  {between:>{RANGE}}  {base:>12}"


def _shown(row: ParameterRow, value: float) -> str:
    if row.unit == "m/s":
        return ball_speed(value) if row.owner == "hitter" else leg_speed(value)
    if row.unit == "m":
        return length(value, 2)
    return f"{value:.2f} {row.unit}"


def _left_open(found: Estimate) -> str:
    """What the measurements hardly say, and what stays assumed."""
    texts = list(_hardly(found))
    if name := untold_speed(found.measures):
        texts.append(
            f"The {WORDS[name]} was not told: it keeps the level's ratio to the other wing's speed."
        )
    measured = {name for group in ROWS for name in getattr(found.file, group)}
    open_ = [words for name, words in WORDS.items() if name not in measured]
    texts.append(
        "Not measured, so as the level has it: reaction time, exactness of the strokes"
        + "".join(f", {words.split(' (')[0]}" for words in open_)
        + "."
    )
    return _fill(" ".join(texts))


def _hardly(found: Estimate) -> Iterator[str]:
    m, file = found.measures, found.file
    distances = len(m.sprints)
    if m.timed and distances < 2:
        yield (
            f"{'One distance' if distances else 'A shuttle alone'} cannot tell top speed from"
            " quickness off the mark: how the two are shared out is mostly the level's. Sprints"
            " over two or three distances (5, 10 and 20 m) say more."
        )
    if found.braking_left is not None and found.braking_left > HARDLY:
        yield (
            "The shuttle hardly says how well you brake: it leaves"
            f" {100 * found.braking_left:.0f} % of the range that was believed before."
        )
    elif found.braking_left is not None:
        yield f"The shuttle leaves {100 * found.braking_left:.0f} % of the range of braking."
    shares = level_shares(m)
    best = max(shares, key=lambda name: shares[name], default=file.level)
    if shares and shares[best] > BETTER * shares[file.level]:
        yield f"The sprint times are more like those of {best}; is {file.level} the right level?"


def _compared(found: Estimate) -> Iterator[str]:
    if not found.measures.timed:
        return
    mine, low, high = _run_time_s(found)
    yield f"A run of {length(RUN_M, None)} from rest, from the push-off, and the levels beside it:"
    width = max(len(n) for n in (found.file.name, *PLAYERS))
    yield f"  {found.file.name:<{width}}  {mine:.2f} s ({low:.2f} to {high:.2f})"
    for name in PLAYERS:
        own = _level_time_s(name)
        yield f"  {name:<{width}}  {own:.2f} s, {_against(own, low, high)}"


def _against(time_s: float, low: float, high: float) -> str:
    if low <= time_s <= high:
        return "not told apart"
    return "slower than you" if time_s > high else "faster than you"


def _level_time_s(name: str) -> float:
    legs = PLAYERS[name].legs
    return float(running_time_s(RUN_M, legs.top_speed_m_s, legs.tau_s))


def _next(written: str | None) -> str:
    if written is None:
        return "Nothing was written; give a file name, such as me.toml, to keep the player."
    return f"Now try: rally-recovery spot --player {shlex.quote(written)}"


def _fill(text: str) -> str:
    return textwrap.fill(text, WIDTH)
