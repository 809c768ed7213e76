"""How much more any policy could win: held to a small game whose best policy is known exactly."""

from __future__ import annotations

import json
from itertools import product

import numpy as np
import pytest
from click.testing import CliRunner

from experiments.command.main import main
from experiments.evidence.headroom.answer import Effort, headroom_of
from experiments.evidence.headroom.gain import Gain, Headroom, gain_of
from experiments.evidence.headroom.states import seen_in, some
from experiments.evidence.headroom.worth import aims_of_actions, fitted, own_action
from experiments.learning.training.goal import Goal, game_of
from experiments.statistics.tally import replicate_table
from experiments.study.served import whole_points
from sim.errors import InputError
from sim.exchange import with_policy
from strategies.recovery.linear_shade import LinearShade

# A game of points on a court of three places. The opponent strikes from place i; one waits at j;
# the ball goes to k with the chance SHOT[i, k], or out with the chance ERROR, and is reached with
# the chance REACHED[|j - k|]; what comes back wins with the chance WINS, else the opponent strikes
# next from place m with the chance NEXT[j, m]. Solved exactly below, no simulator asked.
SHOT = np.array([[0.1, 0.3, 0.6], [0.33, 0.34, 0.33], [0.7, 0.2, 0.1]])
NEXT = np.array([[0.6, 0.2, 0.2], [0.4, 0.2, 0.4], [0.2, 0.2, 0.6]])
REACHED, ERROR, WINS = np.array([0.95, 0.7, 0.2]), 0.15, 0.1
PLACES, START = range(3), 1


def worth_of(i: int, j: int, value: np.ndarray) -> float:
    """What waiting at j is worth when the opponent strikes from i, `value` (3,) from there on."""
    back = sum(SHOT[i, k] * REACHED[abs(j - k)] for k in PLACES)
    return float(ERROR + (1 - ERROR) * back * (WINS + (1 - WINS) * (NEXT[j] @ value)))


def value_of(policy: np.ndarray) -> np.ndarray:
    """The value of a policy, chances (3, 3) of j at i, by iteration."""
    value = np.zeros(3)
    for _ in range(100):  # each goes on with less than 0.8: 1e-10 is left
        value = np.array(
            [sum(policy[i, j] * worth_of(i, j, value) for j in PLACES) for i in PLACES]
        )
    return value


def best_policy() -> np.ndarray:
    """The best of all 27 policies that wait at one place for each place of the opponent."""
    tried = (np.eye(3)[list(where)] for where in product(PLACES, repeat=3))
    return max(tried, key=lambda policy: value_of(policy)[START])


def states_of(
    policy: np.ndarray, points: int, rng: np.random.Generator
) -> tuple[np.ndarray, float]:
    """The places from which the opponent strikes in sampled points, and how many a point."""
    seen = []
    for _ in range(points):
        i = START
        while True:
            seen.append(i)
            j = rng.choice(3, p=policy[i])
            if rng.random() < ERROR:
                break
            k = rng.choice(3, p=SHOT[i])
            if rng.random() > REACHED[abs(j - k)] or rng.random() < WINS:
                break
            i = rng.choice(3, p=NEXT[j])
    return np.array(seen), len(seen) / points


def sampled_worth(
    states: np.ndarray, policy: np.ndarray, value: np.ndarray, shots: int, rng: np.random.Generator
) -> np.ndarray:
    """(states, actions, shots) as the simulator's: shots drawn, the chance of return counted; the
    last action is the policy's own, whichever it takes."""
    out = np.empty((len(states), 4, shots))
    for s, i in enumerate(states):
        error = rng.random(shots) < ERROR
        k = rng.choice(3, p=SHOT[i], size=shots)
        for j in PLACES:
            goes_on = WINS + (1 - WINS) * (NEXT[j] @ value)
            out[s, j] = np.where(error, 1.0, REACHED[np.abs(j - k)] * goes_on)
        out[s, 3] = np.einsum("j,jm->m", policy[i], out[s, :3])
    return out


def bound(
    policy: np.ndarray, others: dict[str, np.ndarray], seed: int, shots: int = 400
) -> Headroom:
    """The bound as the command makes it, on the small game."""
    rng, value = np.random.default_rng(seed), value_of(policy)
    gains, decisions = {}, {}
    for name, other in {"own": policy, **others}.items():
        states, decisions[name] = states_of(other, 400, rng)
        worth = sampled_worth(states[:300], policy, value, shots, rng)
        gains[name] = gain_of(worth, 3)
    return Headroom(100.0 * value[START], 0.0, gains, decisions)


BEST = best_policy()
MIDDLE = np.eye(3)[[1, 1, 1]]


def test_the_small_game_has_something_to_gain() -> None:
    assert value_of(BEST)[START] - value_of(MIDDLE)[START] > 0.01


@pytest.mark.parametrize("seed", range(5))
def test_no_policy_of_the_small_game_exceeds_the_bound(seed: int) -> None:
    rng = np.random.default_rng(seed)
    best = 100.0 * value_of(BEST)[START]
    tried = rng.dirichlet([0.5] * 3, size=3)
    for policy in (MIDDLE, tried, BEST):
        found = bound(policy, {"best": BEST, "middle": MIDDLE}, seed)
        assert found.value <= best + 1e-9 <= found.upper + 1e-9


def test_the_bound_is_close_where_the_policy_is_the_best() -> None:
    found = bound(BEST, {"middle": MIDDLE}, 1, shots=4000)
    assert found.upper - 100.0 * value_of(BEST)[START] < 1.0
    assert abs(found.least_room(found.widest)) < 0.3


def test_a_planted_improvement_of_one_point_is_seen() -> None:
    """The best policy, but with a share of bad places that costs just one point in 100."""
    best, low, high = 100.0 * value_of(BEST)[START], 0.0, 1.0
    bad = np.roll(BEST, 1, axis=1)
    for _ in range(60):
        share = (low + high) / 2.0
        lost = best - 100.0 * value_of((1 - share) * BEST + share * bad)[START]
        low, high = (share, high) if lost < 1.0 else (low, share)
    worse = (1 - low) * BEST + low * bad
    assert best - 100.0 * value_of(worse)[START] == pytest.approx(1.0, abs=1e-6)
    planted = bound(worse, {"best": BEST}, 2, shots=4000)
    without = bound(BEST, {"worse": worse}, 2, shots=4000)
    assert planted.least_room("best") > 0.7
    assert without.least_room("worse") < 0.3
    assert planted.upper > best


def test_a_gain_needs_more_than_one_state_and_shot() -> None:
    with pytest.raises(ValueError, match="two or more"):
        gain_of(np.zeros((1, 2, 5)), 0)


def test_chance_alone_lifts_the_upper_estimate_and_not_the_lower() -> None:
    noise = np.random.default_rng(3).normal(size=(400, 9, 40))
    gain = gain_of(noise, 4)
    assert gain.most > 0.2 and abs(gain.least) < 0.05
    assert Gain(0.0, 0.1, 0.01, 5).high == pytest.approx(0.1196, abs=1e-4)


def test_points_and_states_are_those_of_the_engine() -> None:
    game = with_policy(game_of(Goal("club-adult", points=40), "habit", None, 3), LinearShade())
    numbers = np.arange(60)
    for serving in (True, False):
        seen = seen_in(game, numbers, serving)
        rows = whole_points(game, numbers, serving)
        own = rows[rows["side"] == 0]
        decided = own[~np.isin(own["ending"], np.unique(rows["ending"][rows["ending"] > 0]))]
        assert len(seen.states) == len(decided)
        assert np.array_equal(seen.points, replicate_table(rows, numbers, True)[:, 6])
        assert len(seen.won) == len(seen.met) == len(seen.from_x_m)
        assert len(some(seen.states, 7, 1)) == 7


def test_points_that_nobody_decides_in_give_no_states() -> None:
    game = game_of(Goal("club-adult", points=40), "habit", None, 3)
    few = [seen_in(game, np.array([k]), serving) for k in range(12) for serving in (True, False)]
    assert any(len(seen.states) == 0 for seen in few)
    assert all(seen.states.ball.dtype == few[0].states.ball.dtype for seen in few)


def test_the_own_place_is_among_those_tried() -> None:
    spots = np.array([[1.0, -13.0], [-2.0, -14.5]])
    assert np.array_equal(aims_of_actions(spots)[:, own_action()], spots)


def test_what_a_ball_is_worth_adds_up_to_what_was_won() -> None:
    """Least squares with a constant: the mean of the fit is the mean of the points."""
    game = game_of(Goal("club-adult", points=40), "habit", None, 3)
    seen = seen_in(game, np.arange(400), False)
    worth = fitted([seen]).of(seen.met, seen.from_x_m)
    assert worth.mean() == pytest.approx(seen.won.mean(), abs=0.01)


def test_the_middle_has_more_room_than_a_shade() -> None:
    game = game_of(Goal("college-man", points=40), "habit", None, 5)
    effort = Effort(points=4000, states=30, shots=80)
    middle, shade = (
        headroom_of(game, LinearShade(shade_m_per_m=s), [], effort) for s in (0.0, 0.3)
    )
    assert middle.least_room(middle.widest) > shade.least_room(shade.widest) + 1.0


def test_the_command_says_both_values() -> None:
    words = "headroom --points 400 --states 4 --shots 20 --seed 2 --quiet --others middle"
    told = CliRunner().invoke(main, words.split())
    assert told.exit_code == 0 and "No way of recovering wins more" in told.output, told.output
    numbers = json.loads(CliRunner().invoke(main, [*words.split(), "--json"]).output)
    assert numbers["low"] < numbers["points_per_100"] < numbers["upper"] <= 100.0
    assert set(numbers["at_states_of"]) == {"bisector", "middle"}


def test_too_little_is_refused() -> None:
    with pytest.raises(InputError, match="400 or more"):
        Effort(points=10)
