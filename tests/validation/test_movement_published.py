"""Outside values of movement: rows R4 and R6 of `rally-recovery validate`.

Both rows are *inputs*: the model was given numbers that fit them, so the tests show that what was
put in comes out. They are no evidence that the model is right.
"""

from __future__ import annotations

import numpy as np
import pytest
from ordinary_drives import hanging
from pinned_rows import LEGS
from scipy.optimize import brentq

from experiments.evidence.validation.published import Sample, rows_of
from sim.legs import Legs
from sim.meeting import appraisals


@pytest.mark.parametrize("key", LEGS)
def test_row(key: str) -> None:
    (row,), pin = rows_of(Sample(0, 0), (key,)), LEGS[key]
    assert row.published == pin.published
    assert row.accepted == pytest.approx(pin.accepted)
    assert (row.kind, row.verdict()) == (pin.kind, pin.verdict), f"ours: {row.ours.value}"


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
