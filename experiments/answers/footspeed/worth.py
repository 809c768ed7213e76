"""What being so much faster is worth to a player, beside what the better place is worth.

Three players meet the same chance: the one who asks, recovering to the middle; the same with faster
or slower legs, in the middle, too; and the same with today's legs, recovering to the bisector.
Balls are met at rest at the spot; rallies begin with the opponent's stroke from the same place and
have numbers of their own. Each difference has the interval of chance and that of the worlds that
come with the program (experiments.statistics.over_worlds): each world plays a slice of the same
replicates, the legs being so much faster than they are in that world.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from experiments.balls.struck import NOTHING_TO_REACH, chunks
from experiments.scene.defaults import FASTER
from experiments.scene.scene import Scene, require_count
from experiments.statistics.comparison import compared, level_together, written
from experiments.statistics.estimates import Difference, Estimate, paired, share
from experiments.statistics.over_worlds import HALVES, halves_of, sums_of_halves
from experiments.statistics.tally import Tally, replicate_table
from experiments.study.design_points import game_at, usual_of
from experiments.study.outcome_names import fewer_missed, more_points
from experiments.study.setting_table import SETTINGS
from experiments.study.settings import opening_balls, strokes_of
from experiments.study.world_cells import CellSums, Seen, world_columns
from experiments.study.worlds import (
    design_of,
    packaged,
    read_worlds,
    replicates_in_world,
    stopped_at,
)
from sim.contracts import RecoveryPolicy
from sim.errors import InputError
from sim.exchange import Game, with_policy
from sim.legs import Legs
from strategies.recovery.bisector import Bisector
from strategies.recovery.middle import Middle

FEWEST_RALLIES, MOST_RALLIES = 1000, 200_000
SETTING_OF = {"balls": SETTINGS["placed"], "points": SETTINGS["rally"]}
TODAY, LEGS, PLACE = "middle", "legs", "place"
COMPARED = ((LEGS, TODAY), (PLACE, TODAY), (PLACE, LEGS))
CHUNK = 2000
Tables = dict[str, np.ndarray]  # by who plays: rows of replicates in the columns of a tally


@dataclass(frozen=True)
class WorthQuestion:
    """A scene, by which share the legs are faster (slower below 0), how many balls and rallies.

    Raises:
        InputError: a share or a number out of range.
    """

    scene: Scene
    more: float
    rallies: int
    worlds: int | None = None  # the first so many; all that come with the program, if none is given

    def __post_init__(self) -> None:
        require_count("rallies", self.rallies, FEWEST_RALLIES, MOST_RALLIES)
        least, most = FASTER
        if not least <= abs(self.more) <= most:
            raise InputError(
                f"so much faster is {100 * self.more:g} %; allowed: {100 * least:g} to"
                f" {100 * most:g} % faster or slower"
            )

    @property
    def count(self) -> int:
        """How many worlds are played."""
        return len(read_worlds(packaged()).rows) if self.worlds is None else self.worlds

    @property
    def slice_size(self) -> int:
        """Balls, and rallies, in each world."""
        return replicates_in_world(self.rallies, self.count, None)

    @property
    def pairs(self) -> tuple[tuple[str, str], ...]:
        """Who is compared with whom; slower legs not with the better place, which only adds up."""
        return COMPARED if self.more > 0 else COMPARED[:-1]

    @property
    def comparisons(self) -> int:
        """How many intervals hold together."""
        return len(self.pairs) * len(SETTING_OF)

    @property
    def legs(self) -> Legs:
        """The faster or slower legs."""
        return legs_times(self.scene.player.legs, 1.0 + self.more)


def legs_times(legs: Legs, times: float) -> Legs:
    """Legs that cover `times` the ground of these in any time from standing.

    Distance after t seconds is v (t - tau (1 - exp(-t / tau))): so top speed v and the first
    acceleration v / tau both grow, the time constant stays; reaction and reach stay, too.
    """
    return dataclasses.replace(legs, top_speed_m_s=times * legs.top_speed_m_s)


@dataclass(frozen=True)
class Compared:
    """One difference in 100 of one outcome: balls reached or points, of `who` than of `than`.

    cell: its estimate, interval and verdict by chance and, where worlds were played, by these, in
    the columns of a study's cells.
    """

    who: str
    than: str
    outcome: str
    difference: Difference
    cell: dict[str, Any]


@dataclass(frozen=True)
class Worth:
    """The answer: all comparisons, and balls reached and points in 100 of each of the three.

    stopped: of `values` values that worlds give a player, so many stopped at the end of a range.
    """

    question: WorthQuestion
    compared: tuple[Compared, ...]
    shares: dict[tuple[str, str], Estimate]
    stopped: int
    values: int

    def of(self, who: str, than: str, outcome: str) -> Compared:
        """One comparison."""
        key = (who, than, outcome)
        return next(c for c in self.compared if (c.who, c.than, c.outcome) == key)


def worth_of(question: WorthQuestion, done: Callable[[], object] = lambda: None) -> Worth:
    """Answer a question; `done` is called `steps_of` times.

    Raises:
        InputError: not one ball landed in.
    """
    scene, size = question.scene, question.slice_size
    game, place = scene.rallies(), scene.place
    design = design_of(None, question.count, scene.without)
    usual = usual_of(game, place)
    own: dict[str, list[Tables]] = {name: [] for name in SETTING_OF}
    for name, replicates in _parts(question):
        own[name].append(_tables(game, question, name, replicates))
        done()
    tables = {name: _joined(parts) for name, parts in own.items()}
    slices = question.rallies // size
    in_worlds: dict[str, list[Tables]] = {name: [] for name in SETTING_OF}
    for k in range(question.count):
        changed, _ = game_at(design, k, game, place, usual)
        numbers = (k % slices) * size + np.arange(size)
        for name in SETTING_OF:
            played = _tables(changed, question, name, _first(question, name) + numbers)
            in_worlds[name].append(played)
        done()
    found = tuple(
        _compared(question, who, than, name, tables[name], in_worlds[name])
        for name in SETTING_OF
        for who, than in question.pairs
    )
    stated = usual["studied"]
    stopped = sum(stopped_at(design, k, stated) for k in range(question.count))
    shares = {(who, n): _share(n, tables[n][who]) for n in SETTING_OF for who in tables[n]}
    return Worth(question, found, shares, stopped, question.count * len(design.vary))


def steps_of(question: WorthQuestion) -> int:
    """How often `done` is called."""
    return sum(1 for _ in _parts(question)) + question.count


def _first(question: WorthQuestion, name: str) -> int:
    """The number of the first ball, or the first rally: they share no chance."""
    return 0 if name == "balls" else question.rallies


def _parts(question: WorthQuestion) -> Iterator[tuple[str, np.ndarray]]:
    for name in SETTING_OF:
        for replicates in chunks(_first(question, name), question.rallies, CHUNK):
            yield name, replicates


def _tables(game: Game, question: WorthQuestion, name: str, replicates: np.ndarray) -> Tables:
    """What the three do of these replicates of one kind."""
    setting, place = SETTING_OF[name], question.scene.place
    me = game.studied.player
    other = dataclasses.replace(me, legs=legs_times(me.legs, 1.0 + question.more))
    faster = dataclasses.replace(game, studied=dataclasses.replace(game.studied, player=other))
    shared = None
    if not setting.is_rally and not game.opponent.shots.sees_receiver:
        shared = opening_balls(game, place, replicates)
    players: dict[str, tuple[Game, RecoveryPolicy]] = {
        TODAY: (game, Middle()),
        LEGS: (faster, Middle()),
        PLACE: (game, Bisector()),
    }
    out = {}
    for who, (played, policy) in players.items():
        strokes = strokes_of(with_policy(played, policy), setting, place, replicates, None, shared)
        out[who] = replicate_table(strokes, replicates, setting.is_rally)
    return out


def _joined(parts: list[Tables]) -> Tables:
    return {who: np.concatenate([part[who] for part in parts]) for who in parts[0]}


def _share(name: str, table: np.ndarray) -> Estimate:
    """Balls reached in time, or points won, of 100."""
    tally = Tally.of(table, table)
    if name == "points":
        return share(tally, "points", "one").scaled(100.0)
    found = share(tally, "missed", "balls")
    if found.n == 0:
        raise InputError(NOTHING_TO_REACH)
    return found.complement.scaled(100.0)


def _compared(
    question: WorthQuestion, who: str, than: str, name: str, own: Tables, worlds: list[Tables]
) -> Compared:
    """One difference with both intervals; the one of chance holds together with the others."""
    outcome = fewer_missed(than) if name == "balls" else more_points(than)
    terms = ("missed", "balls", -100.0) if name == "balls" else ("points", "one", 100.0)
    level = level_together(question.comparisons)
    found = paired(Tally.of(own[who], own[than]), *terms[:2], level).scaled(terms[2])
    cell = {
        "estimate": written(found.value),
        "low": written(found.low),
        "high": written(found.high),
    }
    cell |= compared(found, level, in_100=True) | {"level": question.scene.player.name}
    size, slices = question.slice_size, question.rallies // question.slice_size
    beside = np.stack([_sums(own, who, than, k, size) for k in range(slices)])
    sums = np.stack([_sums(table, who, than, 0, size) for table in worlds])
    cells = CellSums(sums, beside[np.arange(question.count) % slices])
    spread = Seen.of(cells, outcome, than, question.scene.place.x_m).spread(found.value)
    return Compared(who, than, name, found, cell | world_columns(cell, spread))


def _sums(tables: Tables, who: str, than: str, slice_: int, size: int) -> np.ndarray:
    """The sums of a slice and of its halves, of somebody and of the other, (1 + HALVES, 2 k)."""
    rows = slice(slice_ * size, (slice_ + 1) * size)
    both = np.hstack([tables[who][rows], tables[than][rows]])
    halves = sums_of_halves(both, halves_of(np.arange(size), size))[:, 1:]
    assert len(halves) == HALVES
    return np.vstack([halves.sum(axis=0), halves])
