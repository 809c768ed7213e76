"""Where to stand while the opponent strikes from one place: every policy and every lateral place.

The balls are made once; all places along the waiting depth meet the very same ones. Only a hitter
who looks at the receiver plays other balls to other places: then each place gets balls of its own,
on the same random numbers; the line is looked at with fewer balls, coarse and then fine, and the
best place is judged among its neighbours and the policies on all of them.

Below it is what the picture from above shows of a spot, as plain values.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from experiments.answers.angle.answer import Fan, fan_of
from experiments.balls.angle import Angle, Extreme, bisector_line, extremes_of, leaves_court_m
from experiments.balls.best import Best
from experiments.balls.line import line_and_spots
from experiments.balls.spots import on_the_line, placed_situation, spots_of
from experiments.balls.standing import StandingMap, band_grid, standing_map
from experiments.balls.struck import NOTHING_TO_REACH, Counts, arrivals, chunks, struck_at
from experiments.output.in_a_line import InALine
from experiments.scene.scene import Scene
from experiments.statistics.estimates import Estimate, binomial_share
from sim.contracts import RecoveryPolicy
from sim.errors import InputError
from sim.records import MISSED

if TYPE_CHECKING:
    import pandas as pd

SHOWN = 1000


@dataclass(frozen=True)
class PolicySpot:
    """Where one policy stands and what it reaches from there, of the balls that landed in.

    `low` and `high` are the 95 % interval of `share_in_time`; `shade_m_per_m` is metres away from
    the opponent per metre that the opponent is off centre (None with the opponent on the line).
    """

    name: str
    x_m: float
    y_m: float
    share_in_time: float
    low: float
    high: float
    share_set: float
    time_to_spare_s: float
    landed_in: int
    shade_m_per_m: float | None

    @property
    def missed_per_100(self) -> Estimate:
        """Balls missed of 100 that landed in."""
        in_time = Estimate(self.share_in_time, self.low, self.high, 0.0, self.landed_in)
        return in_time.complement.scaled(100.0)


@dataclass(frozen=True, repr=False)
class SpotResult:
    """Where to stand in a scene, in the studied player's frame.

    `extremes` are the left and the right extreme drive, `bisector` the line (x, y) to (x, y) from
    the contact to the waiting depth. The curve has arrays of equal length over the lateral places,
    ascending; `curve_balls` balls were struck at each of them. `leaves_court_m` is the bounce depth
    from the net below which a crosscourt drive leaves the singles court before the waiting depth,
    or None.
    """

    scene: Scene
    extremes: tuple[Extreme, Extreme]
    bisector: tuple[tuple[float, float], tuple[float, float]]
    policies: tuple[PolicySpot, ...]
    curve_x_m: np.ndarray
    curve_share_in_time: np.ndarray
    curve_share_set: np.ndarray
    curve_balls: int
    best: Best
    landed_in: int
    leaves_court_m: float | None

    def __repr__(self) -> str:
        b = self.best
        return (
            f"SpotResult(stand at {b.x_m:+.2f} m, {b.low_m:+.2f} to {b.high_m:+.2f} m as good,"
            f" {len(self.policies)} policies, {self.scene.balls} balls, seed {self.scene.seed})"
        )

    @property
    def angle(self) -> Angle:
        """The extreme drives and their bisector as lines on the court."""
        return Angle.of(placed_situation(self.scene))

    @property
    def frame(self) -> pd.DataFrame:
        """A row a policy: the fields of PolicySpot, and balls missed of 100 with their interval."""
        import pandas as pd  # slow to import

        rows = []
        for p in self.policies:
            missed = p.missed_per_100
            ends = {"missed_low": missed.low, "missed_high": missed.high}
            rows.append({**dataclasses.asdict(p), "missed_per_100": missed.value, **ends})
        return pd.DataFrame(rows).drop(columns=["low", "high"])


def find_spot(scene: Scene, policies: Sequence[RecoveryPolicy]) -> SpotResult:
    """Spots of all policies, the curve over lateral places and its best range.

    Raises:
        InputError: a policy gives no usable spot, or no ball landed in.
    """
    seen = placed_situation(scene)
    spots = spots_of(policies, seen)
    line, of_spots, best = line_and_spots(scene, spots, lambda found: found.in_time)
    landed = (of_spots if len(spots) else line.counts).balls_in
    return SpotResult(
        scene=scene,
        extremes=extremes_of(seen),
        bisector=bisector_line(seen),
        policies=tuple(policy_spots(scene, policies, spots, of_spots)),
        curve_x_m=line.x_m,
        curve_share_in_time=line.counts.in_time,
        curve_share_set=line.counts.rate("set"),
        curve_balls=line.balls,
        best=best,
        landed_in=round(float(landed.mean())),
        leaves_court_m=leaves_court_m(seen),
    )


def policy_spots(
    scene: Scene, policies: Sequence[RecoveryPolicy], spots: np.ndarray, found: Counts
) -> Iterator[PolicySpot]:
    """One PolicySpot for each policy, in their order."""
    off_centre = scene.place.x_m
    in_time, are_set, spare = found.in_time, found.rate("set"), found.rate("spare_s")
    for i, policy in enumerate(policies):
        share, landed = float(in_time[i]), round(float(found.balls_in[i]))
        interval = binomial_share(share, landed)
        yield PolicySpot(
            name=policy.name,
            x_m=float(spots[i, 0]),
            y_m=float(spots[i, 1]),
            share_in_time=share,
            low=interval.low,
            high=interval.high,
            share_set=float(are_set[i]),
            time_to_spare_s=float(spare[i]),
            landed_in=landed,
            shade_m_per_m=float(-spots[i, 0] / off_centre) if off_centre else None,
        )


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


@dataclass(frozen=True, repr=False)
class Above(InALine):
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
