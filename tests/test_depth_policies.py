"""Policies that choose their depth, and the effort of the way there."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import numpy as np
import pytest
from engine_games import CORNER, HABIT, SEED
from fit_reply_worth import fitted, played
from random_situations import WORLD, picked, recovery_situation, shot_situation

import strategies.recovery.weighed as weighed
from sim.array_engine import play
from sim.belief import DIRECTIONS, Belief
from sim.contracts import PerRally, Situation, aims_of, bodies_at, contacts_at
from sim.court import HALF_LENGTH_M
from sim.errors import InputError
from sim.event_engine import play_rally
from sim.exchange import Game, with_policy
from sim.players import Player, player
from sim.records import GOING, OPPONENT
from sim.world import World
from strategies.catalogue import make_policy
from strategies.recovery.in_and_out import InAndOut, bent
from strategies.recovery.place_losses import DEPTHS_M, earned_at
from strategies.recovery.reply_worth import BEHIND_M, COST, SPARE_S, reply_cost
from strategies.recovery.standing import BACK_LIMIT_M, FRONT_LIMIT_M
from strategies.recovery.weighed import Weighed
from strategies.shots.best_reply import STYLES, BestReply

COLLEGE, CLUB = player("college-man"), player("club-woman")


def seen_from(
    x_m: float = 0.0,
    y_m: float = 12.0,
    quality: float | list[float] = 1.0,
    opponent: Player = COLLEGE,
    depth_m: float = 1.2,
    belief: Belief | None = None,
) -> Situation:
    q = np.atleast_1d(quality)
    n = len(q)
    contact = contacts_at(np.full(n, x_m), np.full(n, y_m), np.ones(n), np.ones(n, int))
    contact["quality"] = q
    body = bodies_at(np.zeros(n), np.full(n, -13.1))
    known = belief or Belief()
    return Situation(
        COLLEGE, opponent, WORLD.numbers, depth_m, body, contact, np.ones(n), None, known
    )


def behind_m(policy: InAndOut | Weighed, seen: Situation) -> np.ndarray:
    return -aims_of(policy, seen)[0][:, 1] - HALF_LENGTH_M


def test_in_and_out_goes_in_to_a_stretched_opponent_and_back_from_a_hard_or_near_one() -> None:
    policy = InAndOut()
    by_quality = behind_m(policy, seen_from(quality=[0.0, 0.5, 1.0]))
    assert (np.diff(by_quality) > 0.5).all() and by_quality[0] < 0.0
    near, far = (behind_m(policy, seen_from(y_m=y))[0] for y in (8.0, 15.0))
    assert near > far + 0.5
    soft = behind_m(policy, seen_from(opponent=CLUB))[0]
    assert soft < behind_m(policy, seen_from())[0] - 1.0


def test_in_and_out_starts_from_the_waiting_depth_and_stands_on_the_bisector() -> None:
    still = InAndOut(in_m=0.0, back_m_per_s=0.0)
    seen = seen_from(3.0, depth_m=2.5)
    spots = aims_of(still, seen)[0]
    assert spots == pytest.approx(make_policy("bisector").spots(seen), abs=1e-9)
    spots = aims_of(InAndOut(), seen)[0]
    assert spots[0, 0] == pytest.approx(seen.halfway_x_m(seen.extremes, -spots[:, 1])[0])


def test_a_bent_depth_is_smooth_and_never_passes_its_limits() -> None:
    move = np.linspace(-20.0, 20.0, 4001)
    for start in (-5.0, FRONT_LIMIT_M, 0.0, 1.3, BACK_LIMIT_M, 9.0):
        depth = np.array([bent(start, m) for m in move.tolist()])
        assert depth.min() >= FRONT_LIMIT_M - 1e-8 and depth.max() <= BACK_LIMIT_M + 1e-8
        assert (np.diff(depth) >= 0.0).all() and np.diff(depth).max() <= 0.01 + 1e-9
    for small in (-0.01, 0.01):
        assert bent(1.0, small) == pytest.approx(1.0 + small, abs=1e-5)


@pytest.mark.parametrize("policy", [InAndOut, Weighed])
def test_parameters_out_of_range_are_told(policy: type) -> None:
    with pytest.raises(InputError, match=r"effort is 1\.5; allowed: 0 to 1"):
        policy(effort=1.5)
    for value in (-0.1, float("nan")):
        with pytest.raises(InputError, match="effort"):
            policy(effort=value)


def test_drop_shares_out_of_range_are_told() -> None:
    for value in (-0.1, float("nan"), 1.5):
        with pytest.raises(InputError, match="drop_share"):
            Weighed(drop_share=value)


def test_weighed_goes_back_from_hard_balls_and_in_to_a_stretched_opponent() -> None:
    policy = Weighed()
    hard = behind_m(policy, seen_from(quality=[0.2, 1.0]))
    soft = behind_m(policy, seen_from(opponent=CLUB))
    assert hard[0] < 0.0 < hard[1] and soft[0] < hard[1] - 0.5


def test_weighed_comes_in_where_it_believes_in_drop_shots() -> None:
    """From well inside the court, where they are played; from behind the baseline none is."""
    few, many = Weighed(drop_share=0.0), Weighed(drop_share=0.8)
    inside, deep = seen_from(y_m=8.5), seen_from(y_m=15.5)
    assert behind_m(many, inside)[0] < behind_m(few, inside)[0] - 1.0
    assert behind_m(many, deep) == pytest.approx(behind_m(few, deep))


def test_weighed_follows_the_belief() -> None:
    cross, straight = (
        Belief(shares, shares) for shares in ((0.9, 0.1, 0.0, 0.0), (0.0, 0.1, 0.9, 0.0))
    )
    left, right = (aims_of(Weighed(), seen_from(3.0, belief=b))[0][0, 0] for b in (cross, straight))
    assert left < -1.5 and right > 0.5


def test_weighed_costs_little_more_than_any_place_of_its_grid() -> None:
    """At a node, by the very costs that it weighs: within the plateau of depth and of width."""
    table = weighed.spots_of(COLLEGE, COLLEGE, WORLD.numbers.tobytes(), Belief(), 0.2)
    node = 18
    x, depth = table.best(node, 1.0)
    rows = table.costs(node, 1.0)
    here = np.interp(x, weighed.ACROSS_M, [np.interp(depth, weighed.BEHIND_M, c) for c in rows.T])
    assert here < rows.min() + 0.03


def test_the_worth_of_replies_is_that_of_rallies() -> None:
    """Fewer rallies than it was fitted to, on other seeds: within five standard errors."""
    cost, error = fitted(played(rallies=1200, seed=311))
    off = np.abs(cost - COST) / np.hypot(error, 0.02)
    assert (off < 5.0).all()
    assert error.max() < 0.5


def test_the_worth_of_replies_between_its_nodes() -> None:
    here = [reply_cost(*ball) for ball in ((0.35, 1.0), (-1.0, -9.0), (9.0, 99.0))]
    between = COST[1:3, 2:4].mean()
    assert here == pytest.approx([between, COST[0, 0], COST[-1, -1]])
    assert COST.shape == (len(SPARE_S), len(BEHIND_M))


def test_the_best_reply_counts_with_the_depth_that_a_policy_chooses() -> None:
    """Against who stands far back short angles earn more; to a fixed depth nothing changes."""
    seen = shot_situation(40, me=COLLEGE, opponent=COLLEGE)
    middle = np.zeros(len(seen))
    near, far = (
        earned_at(seen, STYLES, middle, np.full(len(seen), depth)) for depth in (-0.6, 6.4)
    )
    short = np.array([DIRECTIONS[shot % 4] == "short-angle" for shot in range(near.shape[1])])
    more = (far - near).mean(axis=0)
    assert more[short].mean() > 0.02 > more[~short].mean()
    exact_depth = dataclasses.replace(seen, receiver_depth_m=float(DEPTHS_M[2]))
    plain = earned_at(exact_depth, STYLES, middle)
    assert earned_at(seen, STYLES, middle, np.full(len(seen), DEPTHS_M[2])) == pytest.approx(plain)
    assert BestReply("middle").chosen_depth_m(seen) is None
    depths = BestReply("in-and-out").chosen_depth_m(seen)
    assert depths is not None and len(np.unique(depths)) > 20
    intents = BestReply("in-and-out").intents(seen, np.empty((len(seen), 0)))
    for i in (0, 7, 39):
        alone = BestReply("in-and-out").intents(picked(seen, np.array([i])), np.empty((1, 0)))
        assert alone.tobytes() == intents[i : i + 1].tobytes()


@dataclasses.dataclass(frozen=True)
class AtEffort:
    """The middle, at a stated effort."""

    effort: float
    name: str = "at effort"

    def spots(self, seen: Situation) -> np.ndarray:
        spots = seen.spots_at(np.zeros(len(seen)))
        return np.column_stack([spots, np.full(len(seen), self.effort)])


GAME = Game(HABIT, HABIT, World(flight="tabulated"), SEED)


def recoveries(effort: float | None) -> np.ndarray:
    """The opponent's second strokes, at a receiver who ran to the middle."""
    policy = make_policy("middle") if effort is None else AtEffort(effort)
    rows = play(with_policy(GAME, policy), CORNER, np.arange(200))
    return rows[(rows["stroke"] == 2) & (rows["side"] == OPPONENT)]


def test_more_effort_gets_nearer_and_none_is_the_legs_own_to_the_bit() -> None:
    own = recoveries(None)
    assert recoveries(0.0).tobytes() == own.tobytes()
    slow, fast = recoveries(0.3), recoveries(1.0)
    assert (slow["recovery_effort"] == 0.3).all() and (fast["recovery_effort"] == 1.0).all()
    slow_m, own_m, fast_m = (
        np.hypot(r["receiver_x_m"] - r["spot_x_m"], r["receiver_y_m"] - r["spot_y_m"])
        for r in (slow, own, fast)
    )
    n = min(map(len, (slow, own, fast)))
    assert n > 50 and (slow["replicate"] == fast["replicate"]).all()
    assert (fast_m <= slow_m + 1e-9).all() and fast_m.mean() < slow_m.mean() - 0.3
    assert fast_m.mean() <= own_m.mean()


@pytest.mark.parametrize("effort", [0.0, 0.3, 1.0])
def test_both_engines_run_at_the_effort(effort: float) -> None:
    game = with_policy(GAME, AtEffort(effort))
    for number in range(6):
        alone, _ = play_rally(game, CORNER, number)
        assert alone.tobytes() == play(game, CORNER, [number]).tobytes()


def test_a_function_of_one_rally_may_say_an_effort() -> None:
    policy = PerRally("runs", lambda seen: (0.0, -13.0, 0.7))
    seen = recovery_situation(4)
    spots, effort = aims_of(policy, seen)
    assert spots.shape == (4, 2) and (effort == 0.7).all()
    mixed = with_policy(GAME, policy)
    rows = play(mixed, CORNER, np.arange(20))
    later = rows[(rows["side"] == OPPONENT) & (rows["stroke"] > 0)]
    assert len(later) and (later["recovery_effort"] == 0.7).all()
    assert GOING in rows["ending"]


OWN = """
import numpy as np
class Runs:
    name = "runs"
    def spots(self, seen):
        n = len(seen)
        return np.column_stack([np.zeros(n), np.full(n, -12.0), np.full(n, EFFORT)])
"""


def test_an_own_policy_with_an_effort_is_played(tmp_path: Path) -> None:
    path = tmp_path / "runs.py"
    path.write_text(OWN.replace("EFFORT", "0.8"))
    rows = play(with_policy(GAME, make_policy(f"{path}:Runs")), CORNER, np.arange(20))
    later = rows[(rows["side"] == OPPONENT) & (rows["stroke"] > 0)]
    assert len(later) and (later["recovery_effort"] == 0.8).all()


@pytest.mark.parametrize("effort", ["-0.1", "1.1", "np.nan", "np.inf"])
def test_an_effort_that_is_none_is_told(tmp_path: Path, effort: str) -> None:
    path = tmp_path / "runs.py"
    path.write_text(OWN.replace("EFFORT", effort))
    policy = make_policy(f"{path}:Runs")
    with pytest.raises(InputError, match=r"an effort is .*; allowed: 0 .* to 1 \(a full sprint\)"):
        policy.spots(recovery_situation(3))
