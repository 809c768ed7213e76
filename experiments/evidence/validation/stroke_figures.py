"""What is read off single strokes, struck many times from the middle of the baseline."""

from __future__ import annotations

import math

import numpy as np

from experiments.evidence.validation.estimates import Estimate, mean_of
from experiments.evidence.validation.typical import typical
from experiments.statistics.estimates import quantile
from sim.arithmetic import exp, log
from sim.chance import EXECUTION, uniforms
from sim.contracts import contacts_at, intents_of
from sim.court import HALF_LENGTH_M
from sim.over_arrays import length_of
from sim.records import FOREHAND, IN, T, X, Y
from sim.stroke import ERROR_DRAWS, strike
from sim.surface import surface
from sim.world import TABULATED, World

KM_H = 3.6
DRIVE_DEPTH_M = 8.5  # where the drive is aimed to land, from the net (assumed)
DOWN_THE_LINE_X_M, DOWN_THE_LINE_Y_M = 2.9, 9.4
ELLIPSE_SHARE = 0.95


def forehands(
    level: str,
    seed: int,
    count: int,
    world: int | None,
    x_m: float,
    target_m: tuple[float, float],
) -> tuple[np.ndarray, np.ndarray]:
    """Balls and paths (receiver's frame) of usual forehands from the baseline, on hard court."""
    who, ones = typical(level, "hard", seed, world).studied.player, np.ones(count)
    contacts = contacts_at(x_m * ones, -HALF_LENGTH_M * ones, ones, np.full(count, FOREHAND))
    intents = intents_of(
        target_m[0] * ones,
        target_m[1] * ones,
        who.hitter.speed_m_s(contacts["wing"]),
        who.hitter.topspin_rad_s(contacts["wing"]),
    )
    errors = uniforms(seed, np.arange(count), EXECUTION, 0, ERROR_DRAWS)
    around = World(surface=surface("hard"), flight=TABULATED).numbers
    return strike(contacts, intents, errors, who.hitter.numbers, around)


def speed_at_baseline_km_h(level: str, seed: int, count: int, world: int | None = None) -> Estimate:
    """Ground speed with which usual forehands that landed in pass the receiver's baseline."""
    balls, paths = forehands(level, seed, count, world, 0.0, (0.0, DRIVE_DEPTH_M))
    speeds = [
        _passing_speed_m_s(path[: ball["points"]])
        for ball, path in zip(balls, paths, strict=True)
        if ball["outcome"] == IN
    ]
    found = KM_H * np.array(speeds)
    found = found[np.isfinite(found)]
    return mean_of(found, np.arange(len(found)))


def _passing_speed_m_s(path: np.ndarray) -> float:
    """Speed along the ground where a path passes the baseline; NaN if it bounces before."""
    after = int(np.searchsorted(-path[:, Y], HALF_LENGTH_M))
    if after in (0, len(path)):
        return math.nan
    step = path[after] - path[after - 1]
    return float(length_of(step[X], step[Y]) / step[T])


def landing_ellipse_m2(level: str, seed: int, count: int, world: int | None = None) -> Estimate:
    """Area of the ellipse that holds 95 % of the landings of forehands down the line.

    pi chi2 sqrt(det S) for normal scatter S; the logarithm of that area, from n landings, has
    standard error 1/sqrt(n - 1) (Anderson, An Introduction to Multivariate Statistical Analysis,
    generalized variance; memory).
    """

    target = (DOWN_THE_LINE_X_M, DOWN_THE_LINE_Y_M)
    balls, _ = forehands(level, seed, count, world, DOWN_THE_LINE_X_M, target)
    x, y = (balls[name] - balls[name].mean() for name in ("landing_x_m", "landing_y_m"))
    scatter = ((x * x).sum() * (y * y).sum() - np.square((x * y).sum())) / np.square(count - 1.0)
    two = -2.0 * log(1.0 - ELLIPSE_SHARE)  # below it lies that share of chi2 with two degrees
    area = float(math.pi * two * np.sqrt(scatter))
    se = 1 / math.sqrt(count - 1)

    def interval(level: float) -> tuple[float, float]:
        half = quantile(level, math.inf) * se
        return area * exp(-half), area * exp(half)

    return Estimate(area, area * se, interval)
