"""Where each recovery policy stands, as small tables."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from random_situations import crossings_m

from sim.belief import Belief
from sim.contracts import Situation, bodies_at, contacts_at
from sim.envelope import DriveLimits
from sim.errors import InputError
from sim.players import PLAYERS, Player, player
from sim.world import World
from strategies.recovery.biased import Biased
from strategies.recovery.bisector import Bisector
from strategies.recovery.linear_shade import LinearShade
from strategies.recovery.middle import Middle
from strategies.recovery.stay import Stay
from strategies.recovery.time_balanced import TimeBalanced, change_of_sign

# The opponent's ball at contact: x, y, z in m in the own frame.
MIDDLE = (0.0, 11.885, 1.0)
INSIDE = (3.115, 11.885, 1.0)  # corner, 1 m inside the singles sideline
OUTSIDE = (5.115, 11.885, 1.0)  # 1 m outside it
CLOSE = (4.8, 6.9, 1.0)  # near the service line, on the same down-the-line path
PLACES = (MIDDLE, INSIDE, OUTSIDE, CLOSE)
EVEN = player("college-man").with_equal_wings()


def seen_from(
    *places: tuple[float, float, float],
    me: Player = EVEN,
    wing: int = 1,
    belief: Belief | None = None,
    world: World | None = None,
) -> Situation:
    """Standing at (1, -12.5) while the opponent strikes at each of the places."""
    x, y, z = np.array(places).T
    n = len(places)
    return Situation(
        me=me,
        opponent=EVEN,
        world=(world or World()).numbers,
        depth_m=1.3,
        body=bodies_at(np.full(n, 1.0), np.full(n, -12.5)),
        contact=contacts_at(x, y, z, np.full(n, wing)),
        time_s=np.full(n, 1.5),
        belief=belief or Belief(),
    )


def test_stay_middle_and_linear_shade() -> None:
    seen = seen_from(MIDDLE, INSIDE, (-4.0, 9.0, 1.0))
    assert Stay().spots(seen).tolist() == [[1.0, -12.5]] * 3
    assert not Stay.placeable and Middle.placeable
    waiting = -(11.885 + 1.3)
    assert Middle().spots(seen).tolist() == [[0.0, waiting]] * 3
    shaded = LinearShade(0.5).spots(seen)
    assert shaded[:, 0] == pytest.approx([0.0, -1.5575, 2.0])
    assert (shaded[:, 1] == waiting).all()
    assert LinearShade(0.3).name == "linear-shade 0.30"


def test_spots_stay_inside_the_run_off() -> None:
    spots = LinearShade(0.6).spots(seen_from((30.0, 11.0, 1.0), (-30.0, 11.0, 1.0)))
    assert spots[:, 0] == pytest.approx([-7.775, 7.775])  # 4.115 m and a run-off of 3.66 m


def test_depth_is_that_of_the_situation() -> None:
    for policy in (Middle(), Bisector(), Biased(), TimeBalanced(), LinearShade()):
        for depth in (0.0, 2.5):
            seen = dataclasses.replace(seen_from(INSIDE), depth_m=depth)
            assert policy.spots(seen)[0, 1] == -(11.885 + depth)


# Common practice, no source: what a coach would expect of a player with equal wings.


@pytest.mark.parametrize("policy", [Bisector(), TimeBalanced()])
@pytest.mark.parametrize("level", PLAYERS)
def test_opponent_in_the_middle_keeps_one_in_the_middle(policy: Bisector, level: str) -> None:
    seen = seen_from(MIDDLE, me=player(level).with_equal_wings())
    assert policy.spots(seen)[0, 0] == pytest.approx(0.0, abs=0.1)


def test_bisector_goes_further_over_as_the_angle_opens() -> None:
    _, inside, outside, close = Bisector().spots(seen_from(*PLACES))[:, 0]
    assert 0.4 <= -inside <= 1.6
    assert close < outside < inside


@pytest.mark.parametrize("level", PLAYERS)
def test_time_balanced_moves_over_like_the_bisector(level: str) -> None:
    """Common practice, no source; the same places as for the bisector, a little more room."""
    even = player(level).with_equal_wings()
    seen = dataclasses.replace(seen_from(*PLACES, me=even), opponent=even)
    _, inside, outside, close = TimeBalanced().spots(seen)[:, 0]
    assert 0.4 <= -inside <= 1.7
    assert close < outside < inside


def test_fast_drives_turn_the_order_of_time_balanced_round() -> None:
    """Here the rule without error disagrees with common practice, by speed, not angle.

    The extreme straight drive from inside the sideline has to land short and therefore slowly
    enough to clear the net; from outside it comes back in, deep and at full speed. The faster
    straight ball pulls the spot toward the line although the crosscourt angle has opened.
    """
    seen = dataclasses.replace(seen_from(*PLACES), limits=DriveLimits(nearest_landing_m=6.0))
    straight = seen.fastest_extremes[:, 1]
    assert straight["target_y_m"][1] > -8 and straight["target_y_m"][2] < -11
    assert straight["speed_m_s"][2] > 1.15 * straight["speed_m_s"][1]
    _, inside, outside, _ = TimeBalanced(drives="fastest").spots(seen)[:, 0]
    assert inside < outside < -0.4


def surpluses(seen: Situation, x_m: np.ndarray) -> np.ndarray:
    """Time to spare against the right extreme less that against the left, from places (n, k)."""
    left, right = (seen.drive_paths(seen.extremes[:, side]) for side in (0, 1))
    return np.asarray(seen.time_to_spare_s(right, x_m) - seen.time_to_spare_s(left, x_m))


def test_time_balanced_spot_is_in_balance() -> None:
    for level, place in ((level, place) for level in PLAYERS for place in PLACES):
        seen = seen_from(place, me=player(level, "left"))
        spot = TimeBalanced().spots(seen)[:, :1]
        assert surpluses(seen, spot) == pytest.approx(0.0, abs=0.005)


def test_time_balanced_falls_back_to_the_bisector() -> None:
    """Arms that reach every ball from everywhere leave nothing to balance."""
    endless = dataclasses.replace(EVEN.legs, full_reach_m=40.0)
    seen = seen_from(*PLACES[1:], me=dataclasses.replace(EVEN, legs=endless))
    surplus = surpluses(seen, np.tile([-4.0, 0.0, 4.0], (3, 1)))
    assert (np.abs(surplus) > 0.005).all() and np.ptp(surplus, axis=1).max() < 1e-9
    assert TimeBalanced().spots(seen).tolist() == Bisector().spots(seen).tolist()


def test_change_of_sign_takes_the_nearest() -> None:
    x = np.array([[0.0, 1.0, 2.0, 3.0, 4.0]] * 4)
    surplus = np.array(
        [[-2, -1, 1, 2, 3], [-1, 1, 1, -1, 1], [1, 2, 3, 4, 5], [-1, np.nan, 1, np.nan, 2]], float
    )
    near = np.array([4.0, 3.0, 1.0, 1.0])
    found = [change_of_sign(*row) for row in zip(x, surplus, near.tolist(), strict=True)]
    assert found == [1, 3, -1, -1]


@pytest.mark.parametrize("policy", [Bisector(), Biased(), TimeBalanced()])
def test_right_and_left_handers_mirror(policy: Bisector) -> None:
    right, left = player("professional-man"), player("professional-man", "left")
    mirrored_places = [(-x, y, z) for x, y, z in PLACES]
    there = policy.spots(seen_from(*PLACES[1:], me=right))[:, 0]
    back = policy.spots(seen_from(*mirrored_places[1:], me=left))[:, 0]
    assert back == pytest.approx(-there, abs=1e-5)


def test_shorter_backhand_reach_shifts_time_balanced_to_the_backhand_side() -> None:
    right, left = player("college-man"), player("college-man", "left")
    assert TimeBalanced().spots(seen_from(MIDDLE, me=right))[0, 0] < -0.05
    assert TimeBalanced().spots(seen_from(MIDDLE, me=left))[0, 0] > 0.05


def test_bisector_halves_the_angle_of_the_extremes() -> None:
    """The directions to the two crossings, as angles at the contact, are equally far from it."""
    seen = seen_from(*PLACES)
    x, y = seen.contact["x_m"], seen.contact["y_m"]
    spot = Bisector().spots(seen)[:, 0]
    crossings = crossings_m(x, y, seen.extremes, seen.line_m)
    angle = np.arctan(
        (np.column_stack([crossings, spot]) - x[:, None]) / (y + seen.line_m)[:, None]
    )
    assert angle[:, 2] - angle[:, 0] == pytest.approx(angle[:, 1] - angle[:, 2])


NO_FAVOURITE = (0.36, 0.26, 0.36, 0.02)
CROSS = Belief(from_middle=NO_FAVOURITE, from_corner=(0.7, 0.1, 0.2, 0.0))
STRAIGHT = Belief(from_corner=(0.2, 0.1, 0.7, 0.0))
TIED = Belief(from_middle=(0.4, 0.2, 0.4, 0.0), from_corner=(0.4, 0.0, 0.5, 0.1))


@pytest.mark.parametrize(
    ("x_m", "belief", "shift_m"),
    [
        (3.115, CROSS, -0.3),  # the opponent is on our right: crosscourt comes to our left
        (-3.115, CROSS, 0.3),
        (3.115, STRAIGHT, 0.3),
        (-3.115, STRAIGHT, -0.3),
        (3.115, TIED, 0.0),
        (0.0, TIED, 0.0),
        (0.0, CROSS, 0.0),  # 2 in 100 more from the middle are no favourite
    ],
)
def test_biased_goes_toward_the_favourite(x_m: float, belief: Belief, shift_m: float) -> None:
    seen = seen_from((x_m, 11.885, 1.0), belief=belief)
    shift = Biased().spots(seen)[:, 0] - Bisector().spots(seen)[:, 0]
    assert shift == pytest.approx(shift_m)


@pytest.mark.parametrize(("wing", "shift_m"), [(1, 0.3), (-1, -0.3)])
def test_favourite_from_the_middle_follows_the_swing(wing: int, shift_m: float) -> None:
    """A right-hander's forehand pulls to the own left, which is the receiver's right."""
    belief = Belief(from_middle=(0.7, 0.1, 0.2, 0.0))
    seen = seen_from(MIDDLE, belief=belief, wing=wing)
    assert Biased().spots(seen)[0, 0] == pytest.approx(shift_m, abs=1e-6)


@pytest.mark.parametrize(
    ("toward", "hand", "shift_m"),
    [
        ("left", "right", -0.5),
        ("right", "right", 0.5),
        ("backhand", "right", -0.5),
        ("backhand", "left", 0.5),
    ],
)
def test_biased_goes_toward_a_named_side(toward: str, hand: str, shift_m: float) -> None:
    seen = seen_from(*PLACES, me=player("college-man", hand))
    shift = Biased(0.5, toward=toward).spots(seen)[:, 0] - Bisector().spots(seen)[:, 0]
    assert shift == pytest.approx(shift_m)


def test_the_whole_half_angle_ends_at_the_crossing() -> None:
    seen = seen_from(*PLACES)
    x, y = seen.contact["x_m"], seen.contact["y_m"]
    crossings = crossings_m(x, y, seen.extremes, seen.line_m)
    for side, column in (("left", 0), ("right", 1)):
        spots = Biased(0.0, 1.0, side).spots(seen)[:, 0]
        assert spots == pytest.approx(np.clip(crossings[:, column], -7.775, 7.775))


@pytest.mark.parametrize(
    ("kind", "parameters", "message"),
    [
        (Biased, {"toward": "favorite"}, "Did you mean 'favourite'"),
        (Biased, {"shift_share": 1.5}, "0 to 1"),
        (Biased, {"shift_m": -0.1}, "not negative"),
        (Biased, {"shift_m": float("nan")}, "finite"),
        (LinearShade, {"shade_m_per_m": float("inf")}, "finite"),
        (TimeBalanced, {"drives": "fast"}, "Did you mean 'fastest'"),
    ],
)
def test_bad_parameters_are_refused(kind: type, parameters: dict, message: str) -> None:
    with pytest.raises(InputError, match=message):
        kind(**parameters)
