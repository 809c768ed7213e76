"""The bisector of the opponent's angle."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import ClassVar

from sim.compiled import kernel
from sim.contracts import Situation
from sim.envelope import DriveLimits, halfway_of
from sim.parameter import parameter, require_finite_parameters
from strategies.naming import described
from strategies.packed import Packed, PackedSpots
from strategies.recovery.standing import resting, stand, toward_backhand

LIMITS = "least_in", "nearest_landing_m"  # of the drives, that can be set here


@kernel
def stand_halfway(contacts, extremes, beside, line, out):  # type: ignore[no-untyped-def]
    """Fill spots `beside` metres to the right of the bisectors of the extreme paths."""
    for i in range(out.shape[0]):
        c = contacts[i]
        stand(halfway_of(c.x_m, c.y_m, extremes[i], line) + beside, line, out[i])


@dataclass(frozen=True)
class Bisector(PackedSpots):
    """Stand on the bisector of the two extreme drives that the opponent can play.

    Source: an old idea (Cochet 1933); on tracked professional matches it described where experts
    stand better than the mean or the median of the shots played (Benguigui et al. 2024, Sci. Rep.
    14, 3364, abstract). That says what experts do, not that it wins most points. The extremes are
    those of `sim.envelope`, by the limits that the situation states; two of them can be set here,
    to see definitions side by side: `least_in`, the chance to land in that a drive must have, and
    `nearest_landing_m`, which counts no error but cuts the angle off at that distance from the net
    (0: as the situation says). `toward_backhand_m`: metres toward the own backhand side from there.
    It should lose where balls from the two extremes take different times (the bisector of
    directions knows no time), against an opponent who plays one side far more, and to a smaller
    shade where the sharpest angle is hardly ever hit.

    Raises:
        InputError: a limit that is negative, not finite or not allowed.
    """

    least_in: float = parameter(0.0, "1", "chance to land in, 0: the usual", low=0.0, high=0.9)
    nearest_landing_m: float = parameter(
        0.0, "m", "nearest landing to the net without error, 0: error counted", low=0.0, high=8.0
    )
    toward_backhand_m: float = resting()
    placeable: ClassVar[bool] = True

    def __post_init__(self) -> None:
        require_finite_parameters(self)
        self._limits(DriveLimits())

    @property
    def name(self) -> str:
        return described("bisector", self)

    def _limits(self, usual: DriveLimits) -> DriveLimits:
        own = {name: value for name in LIMITS if (value := getattr(self, name))}
        return dataclasses.replace(usual, **own) if own else usual

    def packed(self, seen: Situation) -> Packed:
        limits = self._limits(seen.limits)
        extremes = seen.extremes if limits is seen.limits else seen.extremes_by(limits)
        beside = toward_backhand(seen.me, self.toward_backhand_m)
        return Packed(stand_halfway, (seen.contact, extremes, beside, seen.line_m))
