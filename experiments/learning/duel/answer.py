"""Recovery against shots over whole points, as a game of two sides: what each can be sure of.

Double oracle (McMahan, Gordon and Blum 2003, Proc. ICML, 536): the game of the policies and hitters
so far is solved in mixes; a learner on each side then looks for the best answer to the other's mix,
which joins, until neither gains more than `STILL` points in 100. Recovery learns the weights of
`strategies.learned`, the hitter how sharply it looks for the open court, its pace, its margin to
the lines, and how often it drops or comes in against who is far back.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from experiments.answers.game.zero_sum import Solution, solve_hidden
from experiments.learning.training.goal import Goal, both_openings, game_of
from experiments.learning.training.search import START, USUAL, Knob, evolution, knob, numbers_at
from sim.contracts import RecoveryPolicy, ShotModel
from sim.errors import InputError
from sim.exchange import Game, with_policy
from sim.over_arrays import product
from strategies.recovery.learned import Learned, Weighted
from strategies.shots.open_court import OpenCourt

ANSWER = "answer"  # what a learner's policies and hitters are called, with a number
STILL = 0.5  # points in 100 by which a learner has to gain, or the search is over
HELD = 2 * 10**9  # first replicate of the points that fill the table
LEARNS = 3 * 10**9
USED = 0.005  # a smaller share of a mix is not answered
# What a hitter learns: how it looks for the open court, how hard and how near to the lines, and how
# it answers who is far back. Ranges are the parameters' own, but for a floor where 0 is no hitter.
HITTER_STEPS = {
    "sharpness_per_m": 0.5,
    "look_ahead_s": 0.15,
    "short_angle_weight": 0.04,
    "middle_weight": 0.1,
    "margin_share": 0.15,
    "speed_share": 0.05,
    "attack_share": 0.08,
    "drop_when_far": 0.08,
    "approach_when_far": 0.08,
}


def hitter_knobs() -> tuple[Knob, ...]:
    """What a hitter learns, with the parameters' own ranges."""
    usual, fields = OpenCourt(), {field.name: field for field in dataclasses.fields(OpenCourt)}
    return tuple(
        Knob(
            name,
            float(getattr(usual, name)),
            step,
            float(fields[name].metadata["low"]),
            float(fields[name].metadata["high"]),
        )
        for name, step in HITTER_STEPS.items()
    )


@dataclass(frozen=True)
class Plan:
    """A duel: whose, from which policies and hitters it starts, and how much is played."""

    goal: Goal  # its hitters are those that it starts with
    policies: Mapping[str, RecoveryPolicy]
    points: int = 20_000  # in each cell of the table
    tried: int = 1200  # by each candidate, against each of the mix
    rounds: int = 25
    candidates: int = 12
    most: int = 4  # answers of each side
    seed: int = 1

    def __post_init__(self) -> None:
        for name, least in (("points", 40), ("tried", 40), ("rounds", 1), ("most", 1)):
            if getattr(self, name) < least:
                raise InputError(f"{getattr(self, name)} {name}; give {least} or more")


@dataclass(frozen=True)
class Step:
    """The game after an answer of both sides: its value to the player who recovers, points won in
    100, and by how much each learner's answer did better than that against the other's mix."""

    value: float
    recovery_gain: float
    shots_gain: float


@dataclass(frozen=True)
class Duel:
    """The end: policies (rows), hitters (columns), points won in 100 of each pair, the mixes.

    known: what the player could win who knew which hitter of the mix is met.
    """

    plan: Plan
    policies: dict[str, RecoveryPolicy]
    hitters: dict[str, ShotModel]
    won: np.ndarray
    recovery_mix: np.ndarray
    shots_mix: np.ndarray
    value: float
    steps: tuple[Step, ...]
    known: float

    @property
    def worst(self) -> dict[str, tuple[float, str]]:
        """Each policy's worst case: points won in 100 and against whom."""
        names = list(self.hitters)
        return {
            name: (float(row.min()), names[int(row.argmin())])
            for name, row in zip(self.policies, self.won, strict=True)
        }

    @property
    def is_still(self) -> bool:
        """Whether neither learner found an answer that gains more than STILL."""
        last = self.steps[-1]
        return max(last.recovery_gain, last.shots_gain) <= STILL


def duel(plan: Plan, done: Callable[[str], object] = lambda text: None) -> Duel:
    """Answer each other until the value stands, or `plan.most` times; `done` is told each step."""
    goal = plan.goal
    policies = dict(plan.policies)
    base = {name: game_of(goal, name, None, plan.seed) for name in goal.hitters}
    hitters: dict[str, ShotModel] = {n: game.opponent.shots for n, game in base.items()}
    game = base[goal.hitters[0]]
    won = np.array(
        [[_won(game, p, h, plan, HELD) for h in hitters.values()] for p in policies.values()]
    )
    steps = []
    for number in range(1, plan.most + 1):
        now = solve_hidden(-won)
        value = -now.value
        mine = _recovery_answer(game, hitters, policies, now, plan, number)
        theirs = _shots_answer(game, policies, now, plan, number)
        column = np.array([[_won(game, p, theirs, plan, HELD)] for p in policies.values()])
        row = np.array([_won(game, mine, h, plan, HELD) for h in hitters.values()])
        gains = (
            float(product(row, now.columns)) - value,
            value - float(product(now.rows, column[:, 0])),
        )
        corner = _won(game, mine, theirs, plan, HELD)
        won = np.block([[won, column], [row[None], np.array([[corner]])]])
        policies[f"{ANSWER} {number}"], hitters[f"{ANSWER} {number}"] = mine, theirs
        steps.append(Step(value, *gains))
        done(f"value {value:.1f}; recovery gains {gains[0]:.1f}, shots gain {gains[1]:.1f}")
        if max(gains) <= STILL:
            break
    end = solve_hidden(-won)
    known = float(product(won.max(axis=0), end.columns))
    return Duel(
        plan, policies, hitters, won, end.rows, end.columns, -end.value, tuple(steps), known
    )


def _won(game: Game, policy: RecoveryPolicy, shots: ShotModel, plan: Plan, first: int) -> float:
    """Points in 100 that a policy wins against a hitter, half of them with the own serve."""
    return _played(game, policy, shots, first, plan.points)


def _played(game: Game, policy: RecoveryPolicy, shots: ShotModel, first: int, points: int) -> float:
    against = dataclasses.replace(game.opponent, shots=shots)
    both = with_policy(dataclasses.replace(game, opponent=against), policy)
    tables = both_openings(both, first, points // 2)
    return 100.0 * float(np.mean([table[:, 6].mean() for table in tables]))


def _recovery_answer(
    game: Game,
    hitters: Mapping[str, ShotModel],
    policies: Mapping[str, RecoveryPolicy],
    now: Solution,
    plan: Plan,
    number: int,
) -> Weighted:
    """The best weights that a learner finds against a mix of hitters, from the best known on."""
    start = START | dict(_best_weights(policies, now))
    mix = [(h, s) for h, s in zip(hitters.values(), now.columns, strict=True) if s > USED]
    knobs = [knob(name, start.get(name, 0.0)) for name in USUAL]

    def worth(numbers: dict[str, float], first: int) -> float:
        one = Weighted("candidate", numbers)
        return sum(s * _played(game, one, h, first, plan.tried) for h, s in mix)

    return Weighted(f"{ANSWER} {number}", _best(knobs, worth, plan, 2 * number))


def _best_weights(policies: Mapping[str, RecoveryPolicy], now: Solution) -> Mapping[str, float]:
    """The weights of the policy with the largest share of the mix that has any."""
    for k in np.argsort(-now.rows, kind="stable"):
        policy = list(policies.values())[k]
        if isinstance(policy, Learned):
            return policy.learning.weights
        if isinstance(policy, Weighted):
            return policy.weights
    return {}


def _shots_answer(
    game: Game, policies: Mapping[str, RecoveryPolicy], now: Solution, plan: Plan, number: int
) -> OpenCourt:
    """The hitter that a learner finds against a mix of policies."""
    mix = [(p, s) for p, s in zip(policies.values(), now.rows, strict=True) if s > USED]

    def worth(numbers: dict[str, float], first: int) -> float:
        one = OpenCourt(**numbers)
        return -sum(s * _played(game, p, one, first, plan.tried) for p, s in mix)

    return OpenCourt(**_best(hitter_knobs(), worth, plan, 2 * number + 1))


def _best(
    knobs: tuple[Knob, ...] | list[Knob],
    worth: Callable[[dict[str, float], int], float],
    plan: Plan,
    part: int,
) -> dict[str, float]:
    """The numbers that a search finds, all candidates of a round on the same points."""
    strategy = evolution(knobs, plan.candidates, plan.seed + part)
    for number in range(plan.rounds):
        first = LEARNS + (part * plan.rounds + number) * plan.tried
        points = strategy.ask()
        strategy.tell(points, [-worth(numbers_at(knobs, p), first) for p in points])
    found = numbers_at(knobs, strategy.result.xfavorite)
    return {name: round(value, 4) for name, value in found.items()}
