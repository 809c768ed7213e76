"""What is played in each setting: one block of replicates of one scenario."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import combinations

import numpy as np

from experiments.balls.own_drive import INSIDE_X_M, own_contact, own_drive
from experiments.scene.own_code import policy_of, shot_model_of
from experiments.scene.player_file import name_of
from experiments.statistics.over_worlds import halves_of, sums_of_halves
from experiments.statistics.tally import Tally, replicate_table
from experiments.study.batches import in_batches, sums_in_batches
from experiments.study.choices import CHOICES
from experiments.study.design import Study, placeable
from experiments.study.design_points import game_at
from experiments.study.looks import ranges
from experiments.study.rally_rows import rally_rows
from experiments.study.served import whole_points
from experiments.study.setting_table import SETTINGS, Setting
from sim.array_engine import play
from sim.contracts import bodies_at
from sim.court import HALF_LENGTH_M
from sim.exchange import (
    Game,
    Place,
    Recovery,
    at_rest,
    body_beside,
    meet_balls,
    opening_contact,
    placed_spots,
    recover_bodies,
    strike_balls,
    stroke_records,
    with_policy,
)
from sim.over_arrays import interpolated
from sim.records import OPPONENT, STUDIED, T, Y

OWN_CONTACT_X_M = 3.0
OWN_CONTACT_BEHIND_M = 0.5
OWN_CONTACT_HEIGHT_M = 1.0
LANDS_BEFORE_CONTACT_M = 2.9
DEEPEST_OWN_LANDING_M, NEAREST_OWN_LANDING_M = 9.0, 4.0
REPLICATES_A_PLACE = 10**9


@dataclass(frozen=True)
class Scenario:
    """What a cell is about, all but the policy; the opponent by its display name.

    Where points open with a serve, the place is SERVE.
    """

    setting: str
    place: str
    level: str
    opponent: str
    own_stroke: str | None = None
    choice: str | None = None  # a modelling choice of experiments.study.choices; rallies only
    point: int | None = None  # a point of the study's factors, or a world


@dataclass(frozen=True)
class Block:
    """A fixed range of replicates of one scenario, the unit of work; of a race, also who plays them
    (display names; if none is named, all)."""

    scenario: Scenario
    first: int
    count: int
    policies: tuple[str, ...] = ()


@dataclass(frozen=True)
class BlockResult:
    """Tallies by policy display name, in the study's order, and the stroke rows to keep.

    Of a study over worlds also, by policy, the sums over the halves of slices (h, 1 + 2 k): the
    half's number, the policy's own sums, the reference's. A block of a world has these alone. Of a
    study with factors, for the policies of a curve, the sums over batches (`sums_in_batches`).
    Of headline cells also the RALLY records of the policies that are kept. Of a race also, for two
    policies none of which is the reference, the tally of one with the other in the reference's
    place.
    """

    tallies: dict[str, Tally]
    rows: list[tuple[str, np.ndarray]]
    halves: dict[str, np.ndarray] = field(default_factory=dict)
    rallies: dict[str, np.ndarray] = field(default_factory=dict)
    rivals: dict[tuple[str, str], Tally] = field(default_factory=dict)


def evaluate(study: Study, seed: int, block: Block) -> BlockResult:
    """Play one block for every policy of the study, or of the block, on the same chance."""
    scenario, setting = block.scenario, SETTINGS[block.scenario.setting]
    index = place_index(study, scenario)
    place = study.places[index].place
    numbers = np.arange(block.first, block.first + block.count)
    replicates = index * REPLICATES_A_PLACE + numbers
    known = _StudyKey(study.model_dump_json(), study)
    level, opponent = scenario.level, scenario.opponent
    game = _game(known, level, opponent, scenario.choice, seed)
    if scenario.point is not None:
        game, place = _game_at(known, level, opponent, scenario.point, place, seed)
    tables, rows, rallies, shared = {}, [], {}, None
    headline = study.headline if study.headline and study.headline.holds(scenario) else None
    if not setting.is_rally and not game.opponent.shots.sees_receiver:
        shared = opening_balls(game, place, replicates)
    for text in study.policies:
        policy = policy_of(text)
        if setting.name == "placed" and not placeable(policy):
            continue
        if block.policies and policy.name not in block.policies:
            continue
        own = with_policy(game, policy)
        strokes = strokes_of(own, setting, place, replicates, scenario.own_stroke, shared)
        table = replicate_table(strokes, replicates, setting.is_rally)
        tables[text] = (policy.name, table)
        as_it_is = scenario.choice is None and scenario.point is None
        strokes["replicate"] -= index * REPLICATES_A_PLACE
        wanted = strokes["replicate"] < (study.stroke_rows_per_cell if as_it_is else 0)
        if wanted.any():
            rows.append((policy.name, strokes[wanted]))
        if headline and (text == study.reference or headline.keeps(policy.name)):
            rallies[policy.name] = rally_rows(strokes, numbers, table)
    reference = tables[study.reference][1]
    halves = {}
    in_design = scenario.choice is None
    if study.worlds is not None and in_design:
        at = halves_of(numbers, study.world_replicates(setting.name))
        for name, table in tables.values():
            halves[name] = sums_of_halves(np.hstack([table, reference]), at)
    elif in_design:
        kept = in_batches(study)
        halves = {n: sums_in_batches(t, numbers) for n, t in tables.values() if n in kept}
    if is_in_world(study, scenario):
        return BlockResult({}, rows, halves)
    tallies = {name: Tally.of(table, reference) for name, table in tables.values()}
    rivals = {}
    if is_raced(study, scenario):
        others = [named for text, named in tables.items() if text != study.reference]
        for (name, table), (other, theirs) in combinations(others, 2):
            rivals[name, other] = Tally.of(table, theirs)
    return BlockResult(tallies, rows, halves, rallies, rivals)


def strokes_of(
    game: Game,
    setting: Setting,
    place: Place,
    replicates: np.ndarray,
    own_stroke: str | None = None,
    shared: tuple[np.ndarray, np.ndarray] | None = None,
) -> np.ndarray:
    """The STROKE records of these replicates in a setting; `own_stroke` and `shared` as of
    `exchange_once`."""
    if setting.is_served:
        return whole_points(game, replicates, setting.name == "serving")
    if setting.is_rally:
        return play(game, place, replicates)
    return exchange_once(game, place, replicates, own_stroke, shared)


def place_index(study: Study, scenario: Scenario) -> int:
    """Which of the study's places a scenario is played from, and so which replicates of the game;
    those of the first one where points open with a serve."""
    if SETTINGS[scenario.setting].is_served:
        return 0
    return [p.name for p in study.places].index(scenario.place)


@dataclass(frozen=True)
class _StudyKey:
    """A study that can be looked up: equal to others by its text."""

    text: str
    study: Study = field(compare=False)


@lru_cache(maxsize=64)
def _game(known: _StudyKey, level: str, opponent: str, choice: str | None, seed: int) -> Game:
    """The game of a scenario, kept: new players work their tables out anew, 30 ms for each."""
    study = known.study
    game = study.game(study.level_text(level), study.opponent_text(opponent), study.reference, seed)
    return game if choice is None else CHOICES[choice](game)


@lru_cache(maxsize=64)
def _game_at(
    known: _StudyKey, level: str, opponent: str, point: int, place: Place, seed: int
) -> tuple[Game, Place]:
    """Game and place at a point of the factors, kept for the blocks of its replicates."""
    factors = known.study.varied
    if factors is None:
        raise TypeError("a point without factors")
    return game_at(factors, point, _game(known, level, opponent, None, seed), place)


def opening_balls(
    game: Game, place: Place, replicates: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """The balls of a hitter who does not look at the receiver: the same for every policy."""
    contact = opening_contact(place, game.opponent, len(replicates))
    nobody = bodies_at(np.zeros(len(replicates)), np.full(len(replicates), -HALF_LENGTH_M))
    return strike_balls(game, OPPONENT, contact, nobody, replicates, 0)


def exchange_once(
    game: Game,
    place: Place,
    replicates: np.ndarray,
    own_stroke: str | None,
    shared: tuple[np.ndarray, np.ndarray] | None,
) -> np.ndarray:
    """One opponent stroke faced from where the policy has the player: STROKE records (n,)."""
    n = len(replicates)
    contact = opening_contact(place, game.opponent, n)
    receiver = (
        placed(game, contact)
        if own_stroke is None
        else recovering(game, place, own_stroke, replicates)
    )
    return faced(game, contact, receiver, replicates, shared)


def faced(
    game: Game,
    contact: np.ndarray,
    receiver: Recovery,
    replicates: np.ndarray,
    shared: tuple[np.ndarray, np.ndarray] | None,
) -> np.ndarray:
    """The opponent's strokes from `contact`, met by a receiver: STROKE records (n,).

    `shared` are balls and paths that were struck already.
    """
    balls, paths = shared or strike_balls(game, OPPONENT, contact, receiver.body, replicates, 0)
    met = meet_balls(game, STUDIED, balls, paths, receiver, replicates, 0)
    start = np.zeros(len(replicates))
    return stroke_records(replicates, 0, OPPONENT, start, contact, receiver, balls, met)


def placed(game: Game, contact: np.ndarray) -> Recovery:
    """At rest at the policy's spot when the opponent strikes."""
    return at_rest(placed_spots(game, contact))


def recovering(game: Game, place: Place, own_stroke: str, replicates: np.ndarray) -> Recovery:
    """Where the player gets to between the own stroke and the opponent's from `place`.

    The own stroke is the same in every replicate, so for who never strays from the spot meant one
    recovery is worked out and repeated.
    """
    contact, ball, time_s = own_stroke_to(game, place, own_stroke)
    body = body_beside(contact, game.studied.player)
    own = body, opening_contact(place, game.opponent, 1), time_s, ball
    count = len(replicates)
    if game.studied.player.legs.spot_spread_m == 0.0:
        return repeated(recover_bodies(game, STUDIED, *own), count)
    bodies, contacts, times, balls = (np.repeat(part, count) for part in own)
    return recover_bodies(game, STUDIED, bodies, contacts, times, balls, replicates)


def repeated(one: Recovery, count: int) -> Recovery:
    """A recovery of length one, `count` times."""
    return Recovery(
        np.repeat(one.body, count),
        np.repeat(one.spots, count, axis=0),
        np.repeat(one.run_m, count),
        np.repeat(one.effort, count),
    )


def own_stroke_to(
    game: Game, place: Place, own_stroke: str
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """The own stroke that reaches the opponent at `place`: (contact, ball, flight time), length 1.

    Crosscourt comes from the corner across from the place, down the line from the corner in line
    with it, middle from the middle of the baseline (to the middle place: from the left corner, the
    right corner and the middle). It is an `own_drive` that clears the net by a quarter of a metre.
    It lands on the line to the place, before it; where that line misses the court, half a metre
    inside the sideline, and the opponent meets the ball at the place when it comes to that depth.
    """
    side = 1.0 if place.x_m >= 0 else -1.0
    x = {"crosscourt": -side, "down-the-line": side, "middle": 0.0}[own_stroke] * OWN_CONTACT_X_M
    y = -(HALF_LENGTH_M + OWN_CONTACT_BEHIND_M)
    own = own_contact(game, x, y, OWN_CONTACT_HEIGHT_M)
    landing_y = min(
        max(place.y_m - LANDS_BEFORE_CONTACT_M, NEAREST_OWN_LANDING_M), DEEPEST_OWN_LANDING_M
    )
    landing_x = x + (place.x_m - x) * (landing_y - y) / (place.y_m - y)
    landing_x = min(max(landing_x, -INSIDE_X_M), INSIDE_X_M)
    balls, paths = own_drive(game, own, landing_x, landing_y)
    path = paths[0, : balls["points"][0]]
    time = interpolated(place.y_m, -path[:, Y], path[:, T])
    return own, balls, np.array([time])


def scenarios(study: Study) -> list[Scenario]:
    """All scenarios of a study, in a fixed order: as it is, under each choice, at each point."""
    out = [Scenario(*cell) for cell in study.cells()]
    points = range(0 if study.varied is None else len(study.varied.coordinates))
    at_points = [dataclasses.replace(s, point=n) for s in out for n in points]
    if study.worlds is not None:  # world by world: its players are then made once
        at_points = [dataclasses.replace(s, point=n) for n in points for s in out]
    if study.choices is not None:
        at = study.choices
        scene = (at.place, name_of(at.level), shot_model_of(at.opponent).name, None)
        out += [Scenario("rally", *scene, choice) for choice in CHOICES]
    return out + at_points


def replicates_of(study: Study, scenario: Scenario) -> int:
    """How many replicates a cell of that scenario gets; with looks, so far as is known."""
    looks = looks_of(study, scenario, study.looks_made(), raced_by(study))
    return int(replicates_at_first(study, scenario) * 2 ** (looks - 1))


BLOCK_SIZE = {s.name: s.block_size for s in SETTINGS.values()}


Looks = Mapping[Scenario, Mapping[str, int]]  # of the cells of a race: those of each policy


def raced_by(study: Study) -> Looks:
    """The looks that a run wrote down of a race; nothing where there is none yet."""
    return {Scenario(*found.cell): found.looks for found in study.raced or ()}


def looks_of(study: Study, scenario: Scenario, made: Mapping[str, int], raced: Looks) -> int:
    """The looks at a scenario, given those `made` by setting and those of a race."""
    if scenario.choice is not None or is_in_world(study, scenario):
        return 1
    return max(raced[scenario].values()) if scenario in raced else made[scenario.setting]


def blocks(
    study: Study, looks: Mapping[str, int] | None = None, raced: Looks | None = None
) -> list[Block]:
    """The work of a study: fixed ranges of replicates, look by look, in it by scenario.

    `looks` are those made, by setting, and `raced` those of the cells and policies of a race, if
    not those of the study. Further looks only add blocks at the end, so a block's number stays.
    Modelling choices and worlds are played at the first look only.
    """
    made = study.looks_made() if looks is None else looks
    raced = raced_by(study) if raced is None else raced
    ends, out = {s: looks_of(study, s, made, raced) for s in scenarios(study)}, []
    for look in range(max(ends.values())):
        for scenario in (s for s, end in ends.items() if look < end):
            first, size = replicates_at_first(study, scenario), BLOCK_SIZE[scenario.setting]
            begin, playing = slice_of(study, scenario) * first, raced.get(scenario, {})
            left = tuple(policy for policy, end in playing.items() if look < end)
            left = () if len(left) == len(playing) else left
            parts = ranges(first, look, size)
            out += [Block(scenario, begin + at, count, left) for at, count in parts]
    return out


def is_raced(study: Study, scenario: Scenario) -> bool:
    """Whether the policies race in a scenario: in those of the study as it stands."""
    return study.race is not None and scenario.choice is None and scenario.point is None


def is_in_world(study: Study, scenario: Scenario) -> bool:
    """Whether a scenario is played in a world that is not the default one."""
    return study.worlds is not None and scenario.point is not None


def slice_of(study: Study, scenario: Scenario) -> int:
    """Which slice of the study's replicates a world plays: in turn, those that there are."""
    if scenario.point is None or not is_in_world(study, scenario):
        return 0
    return scenario.point % slices(study, scenario.setting)


def slices(study: Study, setting: str) -> int:
    """How many whole slices the study's own replicates make."""
    return study.first_replicates(setting) // study.world_replicates(setting)


def replicates_at_first(study: Study, scenario: Scenario) -> int:
    """Replicates of a cell of that scenario at the first look."""
    if is_in_world(study, scenario):
        return study.world_replicates(scenario.setting)
    if scenario.choice is not None and study.choices is not None:
        return study.choices.rallies
    return study.first_replicates(scenario.setting)
