"""Outside values of movement: rows 4 and 6 of the list of checks for player and rally.

Both rows are *inputs*: the model was given numbers that fit them, so the tests show that what was
put in comes out. They are no evidence that the model is right.
"""

from __future__ import annotations

import numpy as np
import pytest
from ordinary_drives import hanging
from scipy.optimize import brentq

from sim.legs import Legs
from sim.meeting import appraisals

GATE_OFFSET_S = 0.3  # from the push-off to the start of the timing; 0.2 to 0.3 s in use


@pytest.mark.parametrize(("distance_m", "time_s", "sd_s"), [(10.0, 1.77, 0.11), (20.0, 3.09, 0.12)])
def test_row_4_sprints_of_boys_under_18(distance_m: float, time_s: float, sd_s: float) -> None:
    """Input. 1.77 +- 0.11 s and 3.09 +- 0.12 s, within one standard deviation.

    Test battery of the German federation, British Journal of Sports Medicine 2014 (published).
    The player of the test: top speed 8.0 m/s, tau 0.92 s.
    """
    legs = Legs(top_speed_m_s=8.0, tau_s=0.92)
    model_s = brentq(lambda t: float(legs.distance_run_m(t)) - distance_m, 0.1, 10.0)
    assert model_s - GATE_OFFSET_S == pytest.approx(time_s, abs=sd_s)


def total_s(legs: Legs, distance_m: float) -> float:
    """From the signal to full reach of a ball that hangs to the side."""
    balls, paths = hanging(distance_m, -12.0, 5.0)
    spare, _ = appraisals(
        balls, paths, np.array([0.0]), np.array([-12.0]), legs.numbers, legs.times
    )
    return 5.0 - float(spare[0, 0])


def test_row_6_gain_of_the_split_step_to_a_near_target() -> None:
    """Input. 764 against 868 ms, 12 % less, accepted 8 to 17 %: Uzu, Shinya and Oda 2009,
    Journal of Sports Sciences 27, 1233 (abstract).

    Their step and reach is read as a target so near that our college player, split step
    included, needs their 764 ms: about 1.1 m of running, then full reach (assumed). Without the
    split step the whole of its gain is added to the reaction.
    """
    ready = Legs()
    late = Legs(reaction_s=ready.reaction_s + ready.split_gain_s)
    near_m = brentq(lambda d: total_s(ready, d) - 0.764, 1.7, 6.0)
    assert near_m - ready.full_reach_m == pytest.approx(1.1, abs=0.1)
    gain = 1 - total_s(ready, near_m) / total_s(late, near_m)
    assert 0.08 < gain < 0.17
