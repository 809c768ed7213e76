"""The fuzzed inputs by number: which command, with which words, beside which files."""

from __future__ import annotations

import dataclasses
import itertools
import shlex
import sys
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import click
import numpy as np
from fuzz_bad_values import EITHER, FINE, WRONG, Value, Values
from fuzz_folder import ANNA, CHART, made_folder
from fuzz_values import values_of
from tiny_study import TINY

from experiments.command.main import main

SEED, CASES = 13, 351
# How many inputs each command gets: more where more can go wrong, few where one takes long.
SHARES = {
    "study": 58, "spot": 32, "player": 22, "replay": 24, "handout": 16, "shot": 14, "stroke": 12,
    "side": 12, "angle": 12, "chart spot": 13, "chart check": 20, "map standing": 11,
    "footspeed": 8, "map policies": 9, "chart new": 6, "chart demo": 5, "chart stood": 6,
    "opponents": 6, "game": 5, "validate": 6, "list": 3, "benchmark": 3,
    "depth": 6, "net": 4, "calibrate": 4, "trial": 8, "misread": 5,
    "page": 6, "learn": 6, "rule": 2, "headroom": 4, "duel": 3,
}  # fmt: skip
ALWAYS_GIVEN = set(
    [
        "balls",
        "rallies",
        "resamples",
        "strokes",
        "seconds",
        "step",
        "seed",
        "quiet",
        "workers",
        "out",
    ]
)
SELDOM = {
    "figure": 0.12, "animation": 0.0, "csv": 0.3, "cluster": 0.03, "schema": 0.05, "resume": 0.1,
    "check": 0.2, "texts_template": 0.05, "record": 0.6, "parameters": 0.5, "parts": 0.3,
}  # fmt: skip
# Without these a command takes an hour.
QUICK = {
    *(("calibrate", name) for name in ("sets", "population", "moves", "points")),
    *(("learn", name) for name in ("rounds", "candidates", "points", "held_out", "worlds")),
    *(("rule", name) for name in ("rounds", "points", "held_out")),
    *(("headroom", name) for name in ("points", "states", "shots", "others")),
    *(("duel", name) for name in ("points", "tried", "rounds", "answers", "hitters", "policies")),
}
# What else is asked for may then be left aside, wrong or not.
OVERRIDING = {"schema", "texts_template", "check", "resume", "overwrite", "filled"}
# Refused or ignored together; one that stands twice is so whenever it is given.
AT_ODDS = [
    ("levels", "opponent_player"), ("air_density", "altitude"), ("air_density", "temperature"),
    ("target", "angle"), ("target", "heading"), ("workers", "cluster"), ("slowed", "slowed"),
    ("study", "study"), ("most_replicates", "most_replicates"), ("least_in", "nearest_landing"),
    ("faster", "slower"), ("faster", "vary"), ("slower", "vary"), ("faster", "figure"),
    ("slower", "figure"), ("faster", "levels"), ("slower", "levels"), ("faster", "surfaces"),
    ("slower", "surfaces"),
    ("language", "wordless"), ("beside", "number"), ("beside", "figure"),
    ("precision", "race"), ("record", "rallies"), ("points", "rallies"), ("points", "points"),
]  # fmt: skip
IN_PLACE_OF = {
    "stand": "policy", "levels": "player", "surfaces": "surface", "hitters": "hitter",
}  # fmt: skip
# Most commands run in this process; what could end or block it does not.
CAN_KILL = (
    ":exits", ":quits", ":beyond", ":mute", ":huge", ":scribbles", ":stops", "exits.py",
    "shots_exit", "exit-study", "quit-study", "import-study", "huge.toml", "/dev/zero", "9**9",
    "nested",
)  # fmt: skip
BAD_SHARE, BAD_SHARES = (
    0.65,
    {"opponents": 0.9, "net": 1.0},
)  # slow ones
DULL = set(
    ["seed", "balls", "rallies", "resamples", "workers", "strokes", "seconds", "step", "number"]
)
BAD_TOML = [
    "nan", "inf", "-1", "1.5", "1e400", '""', "[]", "{}", "true", '"x"', "9" * 400, "1979-05-27",
    '["\\u202e"]', "[" * 300 + "]" * 300, "-9223372036854775809", '"=1+1"', "[[1]]",
]  # fmt: skip
BAD_CELLS = ["nan", "inf", "", "x", "1e9", "=1+1", "\u202e3", "-3", "3;5", '"', "0", "in", "1e400"]


@dataclass(frozen=True)
class Case:
    """One input. `comes`: answered, refused, or whichever is right; `apart`: in its own process."""

    number: int
    arguments: tuple[str, ...]
    files: dict[str, bytes]
    promised: tuple[str, ...]
    comes: str
    apart: bool
    given: frozenset[str]

    @property
    def as_json(self) -> bool:
        return bool({"as_json", "schema"} & self.given)

    @property
    def line(self) -> str:
        shown = " ".join(shlex.quote(a) for a in self.arguments)
        return f"rally-recovery {shown}".encode("unicode_escape").decode()


def commands() -> dict[str, click.Command]:
    """Every command by the words that call it."""
    return dict(_leaves(main, ()))


def _leaves(command: click.Command, words: tuple[str, ...]) -> Iterator[tuple[str, click.Command]]:
    if isinstance(command, click.Group):
        for name, below in command.commands.items():
            yield from _leaves(below, (*words, name))
    else:
        yield " ".join(words), command


@cache
def cases() -> tuple[Case, ...]:
    """All inputs. Bad values are dealt in turn, so that as many as possible of them come."""
    turns = [(name, turn) for name, share in SHARES.items() for turn in range(share)]
    dealt: Counter[Values] = Counter()
    return tuple(_case(number, *turns[number], dealt) for number in range(CASES))


def _case(number: int, name: str, turn: int, dealt: Counter[Values]) -> Case:
    rng = np.random.default_rng([SEED, number])
    parameters = commands()[name].params
    spoilt = _spoilt(name, parameters, rng)
    chosen = [
        p
        for index, p in enumerate(parameters)
        if _is_given(name, p, rng) or p is spoilt or index % SHARES[name] == turn  # each one once
    ]
    words, values = [], {}
    for p in chosen:
        good, bad = values_of(name, p)
        value = Value("") if _is_flag(p) else good(rng)
        if p is spoilt:
            value = bad[dealt[bad] % len(bad)]
            dealt[bad] += 1
        values[str(p.name)] = value
        words.append(_words(p, value, rng))
    arguments = (*name.split(), *itertools.chain.from_iterable(words))
    return Case(
        number,
        arguments,
        made_files(name, rng) if any("made." in a for a in arguments) else {},
        _promised(name, values),
        _comes(name, values),
        name == "benchmark" or any(word in a for word in CAN_KILL for a in arguments),
        frozenset(values),
    )


def _is_flag(p: click.Parameter) -> bool:
    return bool(getattr(p, "is_flag", False))


def _spoilt(
    name: str, parameters: list[click.Parameter], rng: np.random.Generator
) -> click.Parameter | None:
    """What gets a bad value, if anything: more often what may be bad in many ways."""
    if rng.random() >= BAD_SHARES.get(name, BAD_SHARE):
        return None
    valued = [p for p in parameters if not _is_flag(p)]
    ways = np.array([1 if p.name in DULL else len(values_of(name, p)[1]) for p in valued])
    return valued[rng.choice(len(valued), p=ways / ways.sum())]


def _is_given(command: str, p: click.Parameter, rng: np.random.Generator) -> bool:
    """Whether an option is given; chance is asked each time, so that the rest stays as it is."""
    chance = float(rng.random())
    if (command, p.name) == ("validate", "rallies"):
        return False  # but in its turn: not for --record
    if (command, p.name) in QUICK:
        return True
    if p.required or p.name in ALWAYS_GIVEN or (command, p.name) == ("study", "file"):
        return True
    return chance < SELDOM.get(str(p.name), 0.7 if isinstance(p, click.Argument) else 0.25)


def _words(p: click.Parameter, value: Value, rng: np.random.Generator) -> tuple[str, ...]:
    if isinstance(p, click.Argument):
        return ("--", value.text) if value.text.startswith("-") else (value.text,)
    option = max(p.opts, key=len)
    if _is_flag(p):
        return (option,)
    return (f"{option}={value.text}",) if rng.random() < 0.3 else (option, value.text)


def _promised(name: str, values: dict[str, Value]) -> tuple[str, ...]:
    """The files that an answer leaves."""
    if {"check", "schema", "texts_template", "filled"} & set(values):
        return ()
    names = [v.file for v in values.values() if v.file]
    if name in ("study", "opponents", "depth"):
        names.append(values["out"].text)
    return tuple(f"work/{name}" for name in names)


def _comes(name: str, values: dict[str, Value]) -> str:
    """What the values together lead to."""
    unasked = {other for key, other in IN_PLACE_OF.items() if key in values}
    values = {key: value for key, value in values.items() if key not in unasked}
    other = values.get("opponent_policy")
    if name == "replay" and other and "wild.py" in other.text:  # a rally may end before it is asked
        values["opponent_policy"] = dataclasses.replace(other, comes=EITHER)
    found = {v.comes for v in values.values()}
    if WRONG in found and not OVERRIDING & set(values):
        return WRONG
    both = any(a in values and b in values for a, b in AT_ODDS)
    texts = " ".join(v.text for v in values.values())
    files_hand = ".toml" in texts and ("hand" in values or name.startswith("chart"))
    if found - {FINE} or both or files_hand or OVERRIDING & set(values):
        return EITHER
    if name == "shot" and not {"target", "angle"} & set(values):
        return WRONG
    if name in ("shot", "player", "net", "trial"):
        return EITHER  # times may contradict each other, not every shot can be hit, or be compared
    return FINE


def made_files(name: str, rng: np.random.Generator) -> dict[str, bytes]:
    """Good files with one place of each made bad."""
    toml = TINY if name in ("study", "replay") else ANNA
    return {"made.toml": _spoilt_toml(toml, rng).encode(), "made.csv": _spoilt_chart(rng).encode()}


def _spoilt_toml(text: str, rng: np.random.Generator) -> str:
    lines = text.strip().splitlines()
    at = int(rng.choice([i for i, line in enumerate(lines) if "=" in line]))
    lines[at] = f"{lines[at].partition('=')[0]}= {rng.choice(BAD_TOML)}"
    return "\n".join(lines)


def _spoilt_chart(rng: np.random.Generator) -> str:
    rows = [line.split(",") for line in CHART.splitlines()]
    rows[rng.integers(len(rows))][rng.integers(len(rows[0]))] = str(rng.choice(BAD_CELLS))
    return "\n".join(",".join(row) for row in rows)


if __name__ == "__main__":  # number and folder: lays the case out to be tried by hand
    chosen = cases()[int(sys.argv[1])]
    print(made_folder(Path(sys.argv[2]), chosen.arguments, chosen.files))
    print(dataclasses.replace(chosen, files={}))
    print(chosen.line)
