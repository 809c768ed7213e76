"""The bisector of the opponent's angle."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from sim.contracts import Situation
from sim.envelope import DriveLimits
from sim.parameter import parameter, require_finite_parameters
from strategies.naming import described
from strategies.recovery.standing import standing


@dataclass(frozen=True)
class Bisector:
    """Stand on the bisector of the two extreme drives that the opponent can play.

    Source: an old idea (Cochet 1933); on tracked professional matches it described where experts
    stand better than the mean or the median of the shots played (Benguigui et al. 2024, Sci. Rep.
    14, 3364, abstract). That says what experts do, not that it wins most points. The extremes are
    those of `sim.envelope`, by the limits that the situation states; two of them can be set here,
    to see definitions side by side: `least_in`, the chance to land in that a drive must have, and
    `nearest_landing_m`, which counts no error but cuts the angle off at that distance from the net
    (0: as the situation says).
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
    placeable: ClassVar[bool] = True

    def __post_init__(self) -> None:
        require_finite_parameters(self)
        self._limits(DriveLimits())

    @property
    def name(self) -> str:
        return described("bisector", self)

    def _limits(self, usual: DriveLimits) -> DriveLimits:
        own = {f.name: getattr(self, f.name) for f in dataclasses.fields(self)}
        return dataclasses.replace(usual, **{name: value for name, value in own.items() if value})

    def spots(self, seen: Situation) -> np.ndarray:
        limits = self._limits(seen.limits)
        if limits == seen.limits:
            return standing(seen, seen.bisector_x_m)
        return standing(seen, seen.halfway_x_m(seen.extremes_by(limits)))
