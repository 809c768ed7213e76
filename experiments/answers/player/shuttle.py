"""What a side shuttle says about braking.

The test (ours): two lines N metres apart. Stand with a foot on the first, ready as for a ball; run
sideways or turned, as on court, touch the second line with a foot, and run back until the chest is
over the first. The clock goes from the first movement to there.

In the model the body runs N less the length of a step out, braking to rest there, plants the foot,
and sprints back over the same length. Step and planting are assumed in ranges, and so is how far
such a simple picture is off; so a shuttle narrows what is believed of braking, often not by much,
and the answer says by how much. It says nothing of the reaction to a ball: its start is no reply.
"""

from __future__ import annotations

import numpy as np
from scipy.special import ndtri
from scipy.stats import qmc

from experiments.answers.player.sprint import Cloud, SprintTime, mean_of, range_of
from sim.errors import InputError
from sim.level import SPREAD
from sim.players import PLAYERS

STEP_M = (0.3, 0.5)  # the foot on the line ahead of the body's middle; assumed
PLANT_S = (0.0, 0.15)  # standing still on the turning foot; assumed
MODEL_ERROR_S = 0.05  # what the picture of the test leaves out, standard deviation; assumed
POINTS_LOG2 = 13
LEAST_BRAKING_M_S2, MOST_BRAKING_M_S2 = 1.5, 10.0


def braking_belief(level: str) -> tuple[float, float]:
    """Mean and standard deviation before: the level's value, and half of its stated range."""
    value = PLAYERS[level].legs.braking_m_s2
    return value, SPREAD["braking_m_s2"] * value


def braked_time_s(
    distance_m: np.ndarray | float,
    top_speed_m_s: np.ndarray,
    tau_s: np.ndarray,
    braking_m_s2: np.ndarray,
) -> np.ndarray:
    """Time from rest to rest over a distance: full effort, then braking; by bisection."""
    top, tau, brake = np.broadcast_arrays(top_speed_m_s, tau_s, braking_m_s2)
    low, high = np.zeros(top.shape), np.full(top.shape, 30.0)
    for _ in range(40):
        turn = 0.5 * (low + high)
        gone = -np.expm1(-turn / tau)
        covered = top * (turn - tau * gone) + (top * gone) ** 2 / (2.0 * brake)
        short = covered < distance_m
        low, high = np.where(short, turn, low), np.where(short, high, turn)
    return np.asarray(high - top * np.expm1(-high / tau) / brake)


def fit_shuttles(
    cloud: Cloud, shuttles: list[SprintTime], level: str
) -> tuple[Cloud, np.ndarray, float]:
    """What is believed after the shuttles: points, their braking, and the width that is left.

    The width is that of the braking's range over its width before: 1 where nothing was learnt.

    Raises:
        InputError: the shuttle times lie far from all that is believed.
    """
    points, unit = _sampled(cloud)
    mean, sd = braking_belief(level)
    braking = np.clip(mean + sd * unit[0], LEAST_BRAKING_M_S2, MOST_BRAKING_M_S2)
    step, plant = STEP_M[0] + np.ptp(STEP_M) * unit[1], PLANT_S[0] + np.ptp(PLANT_S) * unit[2]
    misfit = np.zeros(len(braking))
    for one in shuttles:
        length = one.distance_m - step
        out = braked_time_s(length, points.top_speed_m_s, points.tau_s, braking)
        clock = out + plant + points.running_time_s(length) - points.offset_s
        misfit += ((clock - one.time_s) / np.hypot(one.error_s, MODEL_ERROR_S)) ** 2
    if misfit.min() > 9.0:
        shown = ", ".join(f"{s.distance_m:g} m in {s.time_s:.2f} s" for s in shuttles)
        raise InputError(
            f"no player like this runs the shuttle {shown} (there and back): check the distance"
            " between the lines, the clock and the sprint times"
        )
    after = points.reweighted(np.exp(-0.5 * (misfit - misfit.min())))
    left, before = (np.ptp(range_of(braking, w)) for w in (after.weight, points.weight))
    return after, braking, float(left / before)


def _sampled(cloud: Cloud) -> tuple[Cloud, np.ndarray]:
    """Equal-weight points of a cloud, and three numbers for each: a normal and two uniform ones.

    A Sobol sequence without scrambling: the same answer each time.
    """
    even = qmc.Sobol(4, scramble=False).random_base2(POINTS_LOG2)
    even = (even + 0.5 / len(even)) % 1.0
    share = np.cumsum(cloud.weight)
    pick = np.searchsorted(share / share[-1], even[:, 0])
    speed, tau, offset = (a[pick] for a in (cloud.top_speed_m_s, cloud.tau_s, cloud.offset_s))
    points = Cloud(speed, tau, offset, np.full(len(even), 1.0 / len(even)))
    return points, np.stack([ndtri(even[:, 1]), even[:, 2], even[:, 3]])


def shuttle_time_s(
    distance_m: float, top_speed_m_s: float, tau_s: float, braking_m_s2: float
) -> float:
    """The model's shuttle time from the push-off, with step and planting in mid range."""
    length = distance_m - mean_of(np.array(STEP_M), np.full(2, 0.5))
    speed, tau, brake = (np.array([v]) for v in (top_speed_m_s, tau_s, braking_m_s2))
    out = float(braked_time_s(length, speed, tau, brake)[0])
    one = Cloud(speed, tau, np.zeros(1), np.ones(1))
    return out + 0.5 * sum(PLANT_S) + float(one.running_time_s(length)[0])
