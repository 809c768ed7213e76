"""What the model foretells of one place to feed from: balls kept from the middle and from a cone.

A feeder knows where the player stands, and may feed accordingly without meaning to. So the lot says
not only where the player stands first, but also to which side each pair of balls is fed: across the
court or along the line, as often as the model's hitter plays there. A hitter who looks at the
receiver plays otherwise to the two places; then the feeder is free, and the place is one stratum.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import reduce
from operator import add

import numpy as np

from experiments.answers.handout.answer import CENTRAL_M, PER_100, cone_at
from experiments.balls.spots import are_on_the_line, on_the_line, placed_situation, spot_of
from experiments.balls.struck import NOTHING_TO_REACH, chunks, counted, table_of
from experiments.scene.scene import Scene
from experiments.statistics.estimates import Difference, Estimate, paired, share
from experiments.statistics.matched_pairs import Stratum
from experiments.statistics.tally import Tally
from sim.contracts import RecoveryPolicy
from sim.errors import InputError
from sim.exchange import Place

REACHED, RETURNED = "reached", "returned"
LOST = {REACHED: "missed", RETURNED: "not_returned"}  # what is counted: the count of what is not
ACROSS, ALONG, ANYWHERE = "crosscourt", "down the line", "anywhere"


@dataclass(frozen=True)
class Side:
    """One side that is fed to from one place.

    weight: its share of the balls. lost_cone, lost_middle: shares of these balls that are lost.
    """

    to: str
    weight: float
    lost_cone: float
    lost_middle: float

    def stratum(self, times: float = 1.0) -> Stratum:
        """The two balls of a pair, each by its own chance; if the middle loses so many times as
        many more than the cone."""
        cone = self.lost_cone
        middle = min(max(cone + times * (self.lost_middle - cone), 0.0), 1.0)
        return Stratum(self.weight, (1.0 - cone) * middle, cone * (1.0 - middle))


@dataclass(frozen=True)
class Feed:
    """A place to feed from, its cone, and what the model foretells of the two, in 100.

    `fewer` is lost from the middle less lost from the cone, on the same balls.
    """

    number: int
    place: Place
    cone_x_m: float
    lost_cone: Estimate
    lost_middle: Estimate
    fewer: Difference
    sides: tuple[Side, ...]

    @property
    def compares(self) -> bool:
        """Whether the cone is somewhere else than the middle."""
        return self.cone_x_m != 0.0


def foretell(scene: Scene, policy: RecoveryPolicy, counts: str, number: int, level: float) -> Feed:
    """What the model foretells of the scene's place, the cone at the policy's spot.

    The balls of each number are its own. `level` is that of the interval of the difference.

    Raises:
        InputError: the policy waits at another depth, or not one ball landed in.
    """
    spot = spot_of(policy, placed_situation(scene))
    if not are_on_the_line(spot[None], scene.line_m)[0]:
        raise InputError(
            f"policy {policy.name!r} waits at another depth than the middle; a trial compares"
            " places side by side, so choose one that moves across only"
        )
    cone = cone_at(float(spot[0]))
    places = on_the_line(np.array([cone, 0.0]), scene.line_m)
    parts = [
        _parts(scene, places, LOST[counts], some)
        for some in chunks(number * scene.balls, scene.balls)
    ]
    tally = reduce(add, (part for part, _ in parts))
    balls = reduce(add, (part for _, part in parts))
    if not balls[:, 0].sum(axis=0).all():
        raise InputError(NOTHING_TO_REACH)
    middle = replace(tally, own=tally.reference)
    return Feed(
        number,
        scene.place,
        cone,
        share(tally, "missed", "balls").scaled(PER_100),
        share(middle, "missed", "balls").scaled(PER_100),
        paired(tally, "missed", "balls", level).scaled(-PER_100),
        tuple(_sides(balls)),
    )


def _parts(
    scene: Scene, places: np.ndarray, lost: str, replicates: np.ndarray
) -> tuple[Tally, np.ndarray]:
    """Some balls met from cone and middle: the tally of the one beside the other, and balls in and
    lost by side (across, along, anywhere) and place, (3, 2, 2)."""
    found = counted(scene, places, len(replicates), int(replicates[0]), batch=1)
    landed, gone, nothing = found.landed, getattr(found, lost), np.zeros_like(found.landed)
    tables = [table_of(landed[:, k], gone[:, k], place) for k, place in enumerate(places)]
    if scene.looks or abs(scene.place.x_m) < CENTRAL_M:
        sides = (nothing, nothing, landed)
    else:
        sides = (found.far, landed - found.far, nothing)
    sums = np.array([[s.sum(axis=0), (s * gone).sum(axis=0)] for s in sides])
    return Tally.of(*tables), sums


def _sides(sums: np.ndarray) -> list[Side]:
    whole = sums[:, 0].sum()
    return [
        Side(to, float(landed.sum() / whole), *(gone / landed).tolist())
        for to, (landed, gone) in zip((ACROSS, ALONG, ANYWHERE), sums, strict=True)
        if landed.all()
    ]
