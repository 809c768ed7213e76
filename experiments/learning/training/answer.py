"""Learn and judge: the search, then its result beside the middle, the bisector and the best shade
on points that the search never saw."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import tomli_w

from experiments.learning.training.goal import Goal
from experiments.learning.training.search import Plan, Round, bench, search
from experiments.own_packages import own_version
from experiments.statistics.comparison import LEVEL, shared
from experiments.statistics.estimates import Difference, paired
from experiments.statistics.tally import Tally
from experiments.study.provenance import source_hash
from sim.contracts import RecoveryPolicy
from sim.errors import InputError
from strategies.learned.reading import MEANING
from strategies.recovery.bisector import Bisector
from strategies.recovery.learned import Weighted
from strategies.recovery.linear_shade import LinearShade
from strategies.recovery.middle import Middle

HELD_OUT = 10**9  # the first replicate of the points that judge; a search takes those below
SHADES = (0.1, 0.2, 0.3, 0.4, 0.5, 0.6)
DIGITS = 4
HEAD = """\
# A recovery policy by weights, learned in a model. What each weight means is said in
# strategies/learned/reading.py; use the file as learned,weights=FILE.
"""


@dataclass(frozen=True)
class Judged:
    """One hitter, held out: points won in 100 from the middle, and how many more by each policy."""

    hitter: str
    middle: float
    more: dict[str, Difference]
    over_shade: Difference


@dataclass(frozen=True)
class Outcome:
    """What was learned, and what it is worth: weights, the best shade beside, a row a hitter."""

    plan: Plan
    weights: dict[str, float]
    shade: LinearShade
    rows: tuple[Judged, ...]
    points: int
    source: str

    @property
    def title(self) -> str:
        goal = self.plan.goal
        kind = "safest against several hitters" if goal.worst else "best"
        return f"{kind}, {goal.level}, against {', '.join(goal.hitters)}"


class Diary:
    """The values of the rounds so far, a line each, so that a search can go on where it stopped."""

    def __init__(self, path: Path, plan: Plan) -> None:
        self.path, self._head = path, json.dumps(asdict(plan) | {"source": source_hash()})

    def read(self) -> list[tuple[float, ...]]:
        """The rounds that are there already.

        Raises:
            InputError: what is there is of another search or another version, or no diary.
        """
        try:
            lines = self.path.read_text(encoding="utf-8").splitlines()
        except FileNotFoundError:
            return []
        except (OSError, UnicodeDecodeError) as error:
            raise InputError(f"{self.path} cannot be read: {error}") from None
        if not lines or lines[0] != self._head:
            raise InputError(
                f"{self.path} holds the beginning of another search, or of one by another version;"
                " remove it, or write to another --out"
            )
        rounds = []
        for line in lines[1:]:
            try:
                rounds.append(tuple(float(v) for v in json.loads(line)))
            except (ValueError, TypeError):
                break  # the line that was being written when it stopped
        return rounds

    def write(self, rounds: list[tuple[float, ...]]) -> None:
        """Keep all rounds."""
        lines = [self._head, *(json.dumps(values) for values in rounds)]
        text = "\n".join(lines) + "\n"
        self.path.write_text(text, encoding="utf-8", newline="\n")


def rounds_of(plan: Plan, diary: Diary, workers: int) -> Iterator[Round]:
    """The rounds of a search, kept in the diary as they come."""
    kept = diary.read()
    rounds: list[tuple[float, ...]] = []
    with bench(plan, workers) as judged:
        for one in search(plan, kept, judged):
            rounds.append(one.values)
            if len(rounds) > len(kept):
                diary.write(rounds)
            yield one


def learned(
    plan: Plan, diary: Diary, workers: int, points: int, done: Callable[[], object]
) -> Outcome:
    """Search, then judge on `points` held out points a hitter; `done` is called each round and once
    for each judged hitter."""
    weights: dict[str, float] = {}
    for one in rounds_of(plan, diary, workers):
        weights = one.weights
        done()
    weights = {name: round(value, DIGITS) + 0.0 for name, value in weights.items()}
    return judged(plan, weights, points, done)


def judged(
    plan: Plan, weights: dict[str, float], points: int, done: Callable[[], object] = lambda: None
) -> Outcome:
    """What weights are worth on points that no search saw."""
    goal, policy = plan.goal, Weighted("learned", weights)
    shade = best_shade(goal, plan.seed)
    rows = []
    for hitter in goal.hitters:
        rows.append(judged_against(goal, hitter, plan.seed, policy, shade, points))
        done()
    return Outcome(plan, weights, shade, tuple(rows), points, source_hash())


def judged_against(
    goal: Goal,
    hitter: str,
    seed: int,
    policy: RecoveryPolicy,
    shade: LinearShade,
    points: int,
) -> Judged:
    """One hitter's row, intervals that hold for all hitters of the goal together."""
    level = shared(LEVEL, len(goal.hitters))
    tried: dict[str, RecoveryPolicy] = {
        "middle": Middle(),
        "bisector": Bisector(),
        "shade": shade,
        "learned": policy,
    }
    tables = {name: goal.table(one, hitter, seed, HELD_OUT, points) for name, one in tried.items()}
    more = {
        name: paired(Tally.of(table, tables["middle"]), "points", "one", level)
        for name, table in tables.items()
        if name != "middle"
    }
    over = paired(Tally.of(tables["learned"], tables["shade"]), "points", "one", level)
    return Judged(hitter, 100.0 * float(tables["middle"][:, 6].mean()), more, over)


def best_shade(goal: Goal, seed: int) -> LinearShade:
    """The shade in proportion that does best by the goal, on points that the search also saw."""
    tried = [LinearShade(shade_m_per_m=shade) for shade in SHADES]
    return max(tried, key=lambda shade: goal.of(goal.values(shade, seed)))


def file_text(outcome: Outcome) -> str:
    """The file of weights of what was learned, with how it was found."""
    plan, goal = outcome.plan, outcome.plan.goal
    found: dict[str, Any] = {
        "level": goal.level,
        "hitters": list(goal.hitters),
        "maximised": "the least points won" if goal.worst else "points won",
        "surface": goal.surface,
        "hand": goal.hand,
        "opponent_hand": goal.opponent_hand,
        "worlds": goal.worlds,
        "points": goal.points,
        "rounds": plan.rounds,
        "candidates": plan.candidates,
        "seed": plan.seed,
        "version": own_version(),
        "source": outcome.source,
        "held_out": {
            row.hitter: {
                "more_than_middle_in_100": numbers(row.more["learned"]),
                "more_than_best_shade_in_100": numbers(row.over_shade),
            }
            for row in outcome.rows
        },
    }
    what = {
        "title": outcome.title,
        "weights": {name: outcome.weights[name] for name in MEANING if name in outcome.weights},
        "found": found,
    }
    head = (
        "# A recovery policy by weights, learned in a model; strategies/learned/reading.py says\n"
    )
    return head + "# what each weight means.\n" + tomli_w.dumps(what)


def numbers(more: Difference) -> list[float]:
    """Value and ends of a difference in 100."""
    return [round(100.0 * v, 2) + 0.0 for v in (more.value, more.low, more.high)]
