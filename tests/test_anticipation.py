"""Guesses: none at the own spot, more the farther away, right as often as stated."""

from __future__ import annotations

import numpy as np
import pytest
from ordinary_drives import hanging
from scipy import stats

from sim.anticipation import guesses
from sim.contracts import bodies_at
from sim.legs import Legs
from sim.meeting import meetings

LEGS = Legs()
COUNT = 20_000
FALSE_ALARM = 1e-5


def guessed(off_m: float) -> np.ndarray:
    """What guesses add to the reaction of players that far from their spot."""
    bodies = bodies_at(np.full(COUNT, off_m), np.full(COUNT, -13.0))
    spots = np.tile([0.0, -13.0], (COUNT, 1))
    return guesses(bodies, spots, np.random.default_rng(3).random((COUNT, 2)), LEGS.numbers)


def test_nobody_guesses_on_the_own_spot() -> None:
    assert (guessed(0.0) == 0.0).all()


@pytest.mark.parametrize("off_m", [0.5, 1.5, 6.0])
def test_guesses_are_as_frequent_and_as_right_as_stated(off_m: float) -> None:
    added = guessed(off_m)
    share = LEGS.guess_share * off_m / (off_m + LEGS.guess_half_m)
    made = added != 0.0
    assert stats.binomtest(int(made.sum()), COUNT, share).pvalue > FALSE_ALARM
    right = int((added < 0.0).sum())
    assert stats.binomtest(right, int(made.sum()), LEGS.guess_right_share).pvalue > FALSE_ALARM
    assert set(np.unique(added)) == {-LEGS.guess_gain_s, 0.0, LEGS.guess_loss_s}


def test_a_guess_is_time_won_or_lost_and_never_starts_before_the_strike() -> None:
    balls = hanging(np.full(4, 5.0), np.full(4, -13.0), 2.0)
    bodies = bodies_at(np.zeros(4), np.full(4, -13.0))
    added = np.array([0.0, -0.1, 0.15, -9.0])
    met = meetings(*balls, bodies, LEGS.numbers, LEGS.times, guess_s=added)
    won = met["time_to_spare_s"] - met["time_to_spare_s"][0]
    np.testing.assert_allclose(won, [0.0, 0.1, -0.15, LEGS.reaction_s], atol=1e-9)
