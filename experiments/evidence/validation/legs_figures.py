"""What the legs alone give: sprints, and the gain of the split step."""

from __future__ import annotations

from experiments.statistics.bisection import root_of
from sim.legs import Legs

GATE_OFFSET_S = 0.3  # from the push-off to the start of the timing; 0.2 to 0.3 s in use
TEST_BOY = Legs(top_speed_m_s=8.0, tau_s=0.92)  # the player of the sprint test
NEAR_RUN_M = 1.1  # before the reach: what makes our college player need the study's 764 ms


def running_time_s(legs: Legs, distance_m: float) -> float:
    """Time from rest at full effort."""
    return root_of(lambda t: float(legs.distance_run_m(t)) - distance_m, 1e-6, 60.0)


def timed_sprint_s(distance_m: float) -> float:
    """The test player's time between the gates."""
    return running_time_s(TEST_BOY, distance_m) - GATE_OFFSET_S


def split_step_gain_pct() -> float:
    """Share of the time to a near target that the split step saves."""
    legs = Legs()
    with_split = legs.reaction_s + running_time_s(legs, NEAR_RUN_M)
    return 100 * legs.split_gain_s / (with_split + legs.split_gain_s)
