"""Top speed, time constant and braking from timed runs, with what those leave open.

A sprint covers d(t) = vmax (t - tau (1 - exp(-t/tau))) (Furusawa, Hill and Parkinson 1927, as in
Clark 2017). A clock starts after the push-off: gates 0.2 to 0.3 s (a fit without that offset gives
a false time constant). What is known of a player beforehand is the stated range of a level; what a
time adds is weighed on a grid over top speed, time constant and offset. With one or two times the
level decides much of the answer, and the ranges say so.

A side shuttle says a little about braking. The test (ours): two lines N metres apart. Stand with a
foot on the first, ready as for a ball; run sideways or turned, as on court, touch the second line
with a foot, and run back until the chest is over the first. The clock goes from the first movement
to there. In the model the body runs N less the length of a step out, braking to rest there, plants
the foot, and sprints back over the same length. Step and planting are assumed in ranges, and so is
how far such a simple picture is off; so a shuttle narrows what is believed of braking, often not by
much, and the answer says by how much. It says nothing of the reaction to a ball: its start is no
reply.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np

from sim.arithmetic import log
from sim.chance import normals
from sim.errors import InputError
from sim.level import SPREAD
from sim.over_arrays import exp_of, expm1_of, interpolated, length_of
from sim.players import PLAYERS, player_parameters

SHARE = 0.90  # of the stated ranges
TOP_SPEEDS_M_S = np.linspace(3.0, 11.0, 401)
TAUS_S = np.linspace(0.3, 1.5, 121)
OFFSETS = 11
NEWTON_STEPS = 20  # twice as many as from 1 cm to 100 m are needed
MOST_ERRORS = 4.0  # beyond which times do not belong to one sprint
HAND_TIMING = (
    "hand timing was 0.31 (sd 0.07) s faster than a clock started by the movement in Mayhew et al."
    " 2010, JSCR 24, 447, 0.22 to 0.26 (sd 0.07 to 0.08) s in Mann et al. 2015, JSCR 29, 1509"
    " (abstracts)"
)
STEP_M = (0.3, 0.5)  # the foot on the line ahead of the body's middle; assumed
PLANT_S = (0.0, 0.15)  # standing still on the turning foot; assumed
MODEL_ERROR_S = 0.05  # what the picture of the test leaves out, standard deviation; assumed
POINTS_LOG2 = 13
LEAST_BRAKING_M_S2, MOST_BRAKING_M_S2 = 1.5, 10.0


@dataclass(frozen=True)
class Timing:
    """How times were taken: the clock starts `offset_s` (low, high) after the push-off.

    `error_s` is the standard deviation of one time, the differences from run to run included.

    Raises:
        InputError: an error that is not above 0, or a range the wrong way round.
    """

    name: str
    offset_s: tuple[float, float]
    error_s: float
    source: str = ""

    def __post_init__(self) -> None:
        if not self.error_s > 0:
            raise InputError(f"timing error is {self.error_s:g} s; it must be above 0")
        low, high = self.offset_s
        if not low <= high:
            raise InputError(f"start offset is {low:g} to {high:g} s; give the smaller one first")


TIMINGS = {
    "gates": Timing("gates", (0.20, 0.30), 0.02, "offset published; error assumed"),
    "hand": Timing("hand", (0.20, 0.35), 0.10, HAND_TIMING + "; error assumed, one untrained hand"),
}


@dataclass(frozen=True)
class Prior:
    """What is believed before: mean and standard deviation of top speed and time constant."""

    top_speed_m_s: tuple[float, float]
    tau_s: tuple[float, float]


def prior_of(level: str) -> Prior:
    """A normal belief about the middle of the level's stated range, with half the range as its sd.

    So two thirds of the players of a level are believed to lie in the range (assumed).
    """
    rows = {row.name: row for row in player_parameters(PLAYERS[level])}

    def belief(name: str) -> tuple[float, float]:
        low, high = rows[name].low, rows[name].high
        return 0.5 * (low + high), 0.5 * (high - low)

    return Prior(belief("top_speed_m_s"), belief("tau_s"))


@dataclass(frozen=True)
class SprintTime:
    """The mean of the times over one distance, and the standard error of that mean."""

    distance_m: float
    time_s: float
    error_s: float
    count: int = 1


def averaged(times: Mapping[float, Sequence[float]], timing: Timing) -> list[SprintTime]:
    """One SprintTime a distance, sorted.

    The error of one time is the stated one, or the spread of the times where that is larger.

    Raises:
        InputError: a longer distance that took no longer than a shorter one.
    """
    out = []
    for distance, some in sorted(times.items()):
        spread = float(np.std(some, ddof=1)) if len(some) > 1 else 0.0
        error = max(timing.error_s, spread) / math.sqrt(len(some))
        out.append(SprintTime(distance, float(np.mean(some)), error, len(some)))
    for short, long in pairwise(out):
        if long.time_s <= short.time_s:
            raise InputError(
                f"{long.distance_m:g} m took {long.time_s:.2f} s and {short.distance_m:g} m"
                f" {short.time_s:.2f} s; the longer one must take longer: check both"
            )
    return out


def running_time_s(
    distance_m: np.ndarray | float, top_speed_m_s: np.ndarray | float, tau_s: np.ndarray | float
) -> np.ndarray:
    """Time from the push-off over a distance, from rest at full effort.

    With u = t / tau and k = d / (vmax tau) the sprint says u - 1 + exp(-u) = k. Newton's steps
    from u = 1 + k, where it is too late, only ever come nearer.
    """
    tau = np.asarray(tau_s, float)
    k = np.asarray(distance_m, float) / (np.asarray(top_speed_m_s, float) * tau)
    u = 1.0 + k
    for _ in range(NEWTON_STEPS):
        gone = -expm1_of(-u)
        u = u - (u - gone - k) / gone
    return np.asarray(tau * u)


@dataclass(frozen=True)
class Cloud:
    """Weighted points of what is believed: arrays (n,) whose weights sum to 1."""

    top_speed_m_s: np.ndarray
    tau_s: np.ndarray
    offset_s: np.ndarray
    weight: np.ndarray

    def running_time_s(self, distance_m: float) -> np.ndarray:
        """Time from the push-off over a distance, for each point."""
        return running_time_s(distance_m, self.top_speed_m_s, self.tau_s)

    def reweighted(self, likelihood: np.ndarray) -> Cloud:
        """The same points, each worth `likelihood` times as much."""
        weight = self.weight * likelihood
        return Cloud(self.top_speed_m_s, self.tau_s, self.offset_s, weight / weight.sum())


def mean_of(values: np.ndarray, weight: np.ndarray) -> float:
    """Weighted mean; weights sum to 1."""
    return float((values * weight).sum())


def range_of(values: np.ndarray, weight: np.ndarray, share: float = SHARE) -> tuple[float, float]:
    """The central range that holds `share` of the weight."""
    order = np.argsort(values, kind="stable")
    below = np.cumsum(weight[order]) - 0.5 * weight[order]
    ends = interpolated([0.5 * (1 - share), 0.5 * (1 + share)], below, values[order])
    return float(ends[0]), float(ends[1])


def fit_sprints(times: Sequence[SprintTime], timing: Timing, prior: Prior) -> Cloud:
    """What is believed of a sprinter after these times.

    The offset is one unknown number in its range, the same in all runs, equally likely all over it.

    Raises:
        InputError: no sprint comes near all the times.
    """
    misfit = misfits(times, timing)
    require_one_sprint(times, float(misfit.min()))
    log = -0.5 * misfit + log_beliefs(prior)[..., None]
    weight = exp_of(log - log.max())
    likely = weight > 1e-9
    speed, tau = np.meshgrid(TOP_SPEEDS_M_S, TAUS_S, indexing="ij")
    offset = np.linspace(*timing.offset_s, OFFSETS)
    over = (speed[..., None], tau[..., None], offset)
    speeds, taus, offsets = (np.broadcast_to(a, weight.shape)[likely] for a in over)
    return Cloud(speeds, taus, offsets, weight[likely] / weight[likely].sum())


def evidence(times: Sequence[SprintTime], timing: Timing, prior: Prior) -> float:
    """How likely that belief made these times, in a unit that is the same for all beliefs."""
    return float(exp_of(-0.5 * misfits(times, timing) + log_beliefs(prior)[..., None]).sum())


def misfits(times: Sequence[SprintTime], timing: Timing) -> np.ndarray:
    """Squared timing errors of each point of the grid, shape (top speeds, taus, offsets).

    Each time adds (late - offset)^2 / error^2, multiplied out since the grid is large.
    """
    offset = np.linspace(*timing.offset_s, OFFSETS)
    square, cross = np.zeros((2, len(TOP_SPEEDS_M_S), len(TAUS_S)))
    for one in times:
        late = grid_times_s(one.distance_m) - one.time_s
        square += late * late / (one.error_s * one.error_s)
        cross += late / (one.error_s * one.error_s)
    worth = sum(1.0 / (one.error_s * one.error_s) for one in times)
    return square[..., None] - 2.0 * cross[..., None] * offset + worth * offset * offset


@lru_cache(maxsize=32)
def grid_times_s(distance_m: float) -> np.ndarray:
    """Running time over a distance at each point of the grid, (top speeds, taus)."""
    return running_time_s(distance_m, TOP_SPEEDS_M_S[:, None], TAUS_S)


def log_beliefs(prior: Prior) -> np.ndarray:
    """Logarithm of the belief before, over the grid of top speeds and time constants."""
    speed, tau = np.meshgrid(TOP_SPEEDS_M_S, TAUS_S, indexing="ij")
    out = np.zeros(speed.shape)
    for values, (mean, sd) in ((speed, prior.top_speed_m_s), (tau, prior.tau_s)):
        out -= 0.5 * np.square((values - mean) / sd) + log(sd)
    return out


def require_one_sprint(times: Sequence[SprintTime], least_misfit: float) -> None:
    """Refuse times that no sprint of a player comes near.

    Raises:
        InputError: the best sprint misses them by more than MOST_ERRORS standard errors.
    """
    if least_misfit > MOST_ERRORS * MOST_ERRORS:
        shown = ", ".join(f"{t.distance_m:g} m in {t.time_s:.2f} s" for t in times)
        raise InputError(
            f"no sprint goes through these times: {shown}; the nearest one is"
            f" {math.sqrt(least_misfit):.0f} timing errors away. Check for a slip and the start of"
            " the clock, or give a larger --timing-error"
        )


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
        gone = -expm1_of(-turn / tau)
        covered = top * (turn - tau * gone) + np.square(top * gone) / (2.0 * brake)
        short = covered < distance_m
        low, high = np.where(short, turn, low), np.where(short, high, turn)
    return np.asarray(high - top * expm1_of(-high / tau) / brake)


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
        misfit += np.square((clock - one.time_s) / length_of(one.error_s, MODEL_ERROR_S))
    if misfit.min() > 9.0:
        shown = ", ".join(f"{s.distance_m:g} m in {s.time_s:.2f} s" for s in shuttles)
        raise InputError(
            f"no player like this runs the shuttle {shown} (there and back): check the distance"
            " between the lines, the clock and the sprint times"
        )
    after = points.reweighted(exp_of(-0.5 * (misfit - misfit.min())))
    left, before = (np.ptp(range_of(braking, w)) for w in (after.weight, points.weight))
    return after, braking, float(left / before)


def _sampled(cloud: Cloud) -> tuple[Cloud, np.ndarray]:
    """Equal-weight points of a cloud, and three numbers for each: a normal and two uniform ones.

    A Sobol sequence without scrambling: the same answer each time.
    """

    from scipy.stats import qmc  # slow to import

    even = qmc.Sobol(4, scramble=False).random_base2(POINTS_LOG2)
    even = (even + 0.5 / len(even)) % 1.0
    share = np.cumsum(cloud.weight)
    pick = np.searchsorted(share / share[-1], even[:, 0])
    speed, tau, offset = (a[pick] for a in (cloud.top_speed_m_s, cloud.tau_s, cloud.offset_s))
    points = Cloud(speed, tau, offset, np.full(len(even), 1.0 / len(even)))
    return points, np.stack([normals(even[:, 1]), even[:, 2], even[:, 3]])


def shuttle_time_s(
    distance_m: float, top_speed_m_s: float, tau_s: float, braking_m_s2: float
) -> float:
    """The model's shuttle time from the push-off, with step and planting in mid range."""
    length = distance_m - mean_of(np.array(STEP_M), np.full(2, 0.5))
    speed, tau, brake = (np.array([v]) for v in (top_speed_m_s, tau_s, braking_m_s2))
    out = float(braked_time_s(length, speed, tau, brake)[0])
    one = Cloud(speed, tau, np.zeros(1), np.ones(1))
    return out + 0.5 * sum(PLANT_S) + float(one.running_time_s(length)[0])
