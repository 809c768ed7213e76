"""Policies that weigh shots against each other: the best, the safest and the guarded place."""

from __future__ import annotations

import numpy as np
import pytest

import strategies.recovery.place_losses as tables
from sim.belief import Belief
from sim.chance import normals
from sim.contracts import ShotSituation, Situation, bodies_at, contacts_at, turned
from sim.errors import InputError
from sim.players import player
from sim.stroke import ERROR_DRAWS, strike
from sim.world import TABULATED, World
from strategies.catalogue import make_policy
from strategies.even_draws import even_uniforms
from strategies.recovery.best_for_belief import BestForBelief
from strategies.recovery.guard import Guard
from strategies.recovery.safest import Safest
from strategies.recovery.weighing import best_place, cost_of, weigh

COLLEGE = player("college-man")
WORLD = World(flight=TABULATED).numbers
CROSS = Belief((0.9, 0.1, 0.0, 0.0), (0.9, 0.1, 0.0, 0.0))
STRAIGHT = Belief((0.0, 0.1, 0.9, 0.0), (0.0, 0.1, 0.9, 0.0))


def seen_from(*x_m: float, y_m: float = 12.0, belief: Belief = CROSS) -> Situation:
    x = np.array(x_m)
    contact = contacts_at(x, np.full(len(x), y_m), np.ones(len(x)), np.where(x > 0, -1, 1))
    body = bodies_at(np.zeros(len(x)), np.full(len(x), -13.1))
    depth = COLLEGE.waits_behind_m
    return Situation(COLLEGE, COLLEGE, WORLD, depth, body, contact, np.ones(len(x)), None, belief)


def struck(seen: Situation, shot: int, count: int) -> np.ndarray:
    """Losses from one shot at PLACE_X_M by random strokes from the very contact (length one)."""
    drawn = np.random.default_rng(3).uniform(size=(count, tables.DEVIATE_DRAWS + ERROR_DRAWS))
    own = np.repeat(turned(seen.contact), count)
    receiver = bodies_at(np.zeros(count), np.full(count, 13.0))
    hit = ShotSituation(COLLEGE, COLLEGE, WORLD, own, receiver)
    style, direction = tables.STYLES[shot // 4], shot % 4
    intents = style.aimed(hit, np.full(count, direction), normals(drawn[:, :4]))
    errors = np.ascontiguousarray(drawn[:, 4:])
    balls = strike(own, intents, errors, COLLEGE.hitter.numbers, WORLD)
    return tables._loss(COLLEGE, seen.depth_m, *balls)


def weighed(loss: np.ndarray, shares: list[float] | np.ndarray, worst_share: float) -> np.ndarray:
    out = np.empty(len(loss))
    weigh(loss, np.asarray(shares), worst_share, out)
    return out


def test_losses_are_those_of_many_random_strokes() -> None:
    """At a contact that is a node.

    Measured: a standard error of up to 0.008 for 12000 random strokes, and up to 0.036 off by the
    even draws of the table.
    """
    seen, nodes = seen_from(3.0), tables.nodes()
    at = (nodes["x_m"] == -3.0) & (nodes["y_m"] == -12.0) & (nodes["wing"] == -1)
    node = int(np.flatnonzero(at)[0])
    table = tables.losses(COLLEGE, COLLEGE, WORLD.tobytes(), seen.depth_m, node)
    places = slice(10, 20)  # from -2 m to 0.25 m, where it matters
    for shot in (0, 2, 6):
        there = np.interp(tables.PLACE_X_M[places], tables.FINE_X_M, table[:, shot])
        assert there == pytest.approx(struck(seen, shot, 12_000)[places], abs=0.05)


@pytest.mark.parametrize("y_m", [10.3, 11.885])
def test_spots_cost_little_more_than_the_best_place(y_m: float) -> None:
    """Between the nodes, by random strokes from the very contact, in points of 100 balls.

    The loss of the safest place rises on both sides like a roof turned over, so it feels the grid
    most. The best place is that of the same strokes, which flatters it.
    """
    seen = seen_from(2.3, y_m=y_m, belief=Belief())
    loss = np.stack([struck(seen, shot, 2000) for shot in range(8)], axis=1)
    shares = Belief().shares_at(turned(seen.contact), 1.0)[0]
    for policy, worst_share, most in (
        (BestForBelief(), 0.0, 0.5),
        (Guard(), 0.3, 1.0),
        (Safest(), 1.0, 2.0),
    ):
        curve = 100 * weighed(loss, shares, worst_share)
        x_m = policy.spots(seen)[0, 0]
        assert np.interp(x_m, tables.PLACE_X_M, curve) - curve.min() < most


def test_best_for_belief_follows_the_belief() -> None:
    """From the right corner crosscourt comes to the left and straight balls to the right."""
    policy = BestForBelief()
    cross = policy.spots(seen_from(3.0))[0, 0]
    straight = policy.spots(seen_from(3.0, belief=STRAIGHT))[0, 0]
    assert cross < -2.0 and straight > 0.5


def test_guard_lies_between_and_ends_in_both() -> None:
    seen = seen_from(3.0, 1.0, -3.0)
    ends = {p.name: p.spots(seen)[:, 0] for p in (BestForBelief(), Safest())}
    between = Guard().spots(seen)[:, 0]
    low = np.minimum(*ends.values()) - 1e-9
    assert ((between >= low) & (between <= np.maximum(*ends.values()) + 1e-9)).all()
    assert (Guard(worst_share=0.0).spots(seen)[:, 0] == ends["best-for-belief"]).all()
    assert (Guard(worst_share=1.0).spots(seen)[:, 0] == ends["safest"]).all()


def test_safest_does_not_look_at_the_belief() -> None:
    spots = [Safest().spots(seen_from(3.0, belief=b)) for b in (CROSS, STRAIGHT)]
    assert (spots[0] == spots[1]).all()


def test_a_chart_takes_the_place_of_the_belief() -> None:
    with_chart = make_policy("best-for-belief,chart=demo")
    spots = [with_chart.spots(seen_from(3.0, belief=b)) for b in (CROSS, STRAIGHT)]
    assert (spots[0] == spots[1]).all()
    assert spots[0][0, 0] < BestForBelief().spots(seen_from(3.0, belief=Belief()))[0, 0]
    assert make_policy("guard,chart=demo,worst_share=0").spots(seen_from(3.0)) == pytest.approx(
        spots[0]
    )
    with pytest.raises(InputError, match=r"no\.csv cannot be read"):
        make_policy("best-for-belief,chart=no.csv")
    with pytest.raises(InputError, match="worst_share is 2"):
        Guard(worst_share=2.0)


def test_cost_falls_from_a_miss_to_less_than_nothing_without_a_step() -> None:
    spare = np.linspace(-0.5, 2.0, 2501)
    cost = np.array([cost_of(each, 0.06) for each in spare.tolist()])
    assert (cost[spare < 0] == 1.0).all() and cost[-1] < 0.0
    assert (np.diff(cost) <= 1e-12).all() and np.diff(cost).min() > -0.02
    assert [cost_of(each, 0.0) for each in (-0.01, 0.01)] == pytest.approx([1.0, 0.3])


def test_weighings_by_hand() -> None:
    loss = np.array([[0.0, 1.0, 0.0, 0.0, 0.5, 0, 0, 0], [0.2, 0.2, 0.2, 0.2, 0, 0, 0, 0]])
    shares = [0.5, 0.25, 0.25, 0.0]
    assert weighed(loss, shares, 0.0) == pytest.approx([0.25, 0.2])
    assert weighed(loss, shares, 1.0) == pytest.approx([1.0, 0.2])
    assert weighed(loss, shares, 0.2) == pytest.approx([0.4, 0.2])


def test_best_place_is_the_middle_of_the_plateau() -> None:
    off = np.abs(tables.FINE_X_M + 1.0)
    assert best_place(off, tables.FINE_X_M) == pytest.approx(-1.0)
    assert best_place(np.maximum(off - 0.6, 0.0), tables.FINE_X_M) == pytest.approx(-1.0)


def test_even_draws_give_means_with_less_noise() -> None:
    """Root mean square error of means over 512 draws, against that of independent numbers."""
    rng, independent_se = np.random.default_rng(1), np.sqrt(1 / 12 / 512)
    for dimensions in (3, 7):
        shifts = rng.uniform(size=(40, dimensions))
        drawn = np.array([even_uniforms(shift, 512) for shift in shifts])
        assert drawn.shape == (40, 512, dimensions)
        assert (drawn > 0).all() and (drawn < 1).all()
        off = drawn.mean(axis=1) - 0.5
        assert np.sqrt((off**2).mean()) < 0.25 * independent_se
