"""What the picture from above shows of a spot, as plain values."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from experiments.answers.angle.answer import Fan, fan_of
from experiments.answers.spot.answer import SpotResult
from experiments.balls.spots import on_the_line
from experiments.balls.standing import StandingMap, band_grid, standing_map
from experiments.balls.struck import NOTHING_TO_REACH, arrivals, chunks, struck_at
from experiments.scene.scene import Scene
from experiments.statistics.estimates import Estimate, binomial_share
from sim.errors import InputError
from sim.records import MISSED

SHOWN = 1000


@dataclass(frozen=True)
class MissedBalls:
    """Balls missed from one place at the waiting depth.

    bounce_m, end_m: (n, 2), where they bounce, and where they cross the waiting line or bounce the
    second time before it. per_100: how many of 100 that land in. shown: how many of these balls,
    from the first on, belong to the first SHOWN that landed in.
    """

    bounce_m: np.ndarray
    end_m: np.ndarray
    per_100: Estimate
    shown: int


@dataclass(frozen=True)
class Above:
    """A spot's answer with all that is seen from above.

    fan: the playable shots, or None where no shot of that hitter is sure enough. area: balls missed
    near the waiting depth. missed: the balls missed from the middle.
    """

    spot: SpotResult
    fan: Fan | None
    area: StandingMap
    missed: MissedBalls


def above_of(spot: SpotResult) -> Above:
    """All that the picture from above shows of a spot."""
    scene = spot.scene
    try:
        fan = fan_of(scene)
    except InputError:
        fan = None
    return Above(spot, fan, standing_map(scene, (), band_grid(scene)), missed_from(scene, 0.0))


def missed_from(scene: Scene, x_m: float) -> MissedBalls:
    """The balls that are missed from `x_m` to the right of the centre, at the waiting depth.

    Raises:
        InputError: no ball landed in.
    """
    place = on_the_line(np.array([x_m]), scene.line_m)
    landed, shown, bounces, ends = 0, 0, [np.empty((0, 2))], [np.empty((0, 2))]
    for replicates in chunks(0, scene.balls):
        struck = struck_at(scene, place[0], replicates)
        balls, paths = struck.balls[struck.landed], struck.paths
        missed = struck.appraised(place, scene.player.legs)[1][:, 0] == MISSED
        shown += int(missed[: max(SHOWN - landed, 0)].sum())
        landed += len(balls)
        balls, paths = balls[missed], paths[missed]
        bounces.append(np.stack([balls["landing_x_m"], balls["landing_y_m"]], axis=1))
        ends.append(arrivals(balls, paths, scene.line_m)[1])
    if landed == 0:
        raise InputError(NOTHING_TO_REACH)
    bounce, end = np.concatenate(bounces), np.concatenate(ends)
    per_100 = binomial_share(len(bounce) / landed, landed).scaled(100.0)
    return MissedBalls(bounce, end, per_100, shown)
