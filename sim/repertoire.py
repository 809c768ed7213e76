"""What a hitter can play beside the drive: speed, spin, height and error of each kind of stroke.

A drive is the measure: speeds and errors are shares of the drive's. A value of 0 in a share or a
weight takes the kind out of play.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from sim.kinds import (
    APPROACH,
    BLOCK,
    DROP_SHOT,
    HALF_VOLLEY,
    HIGH_BALL,
    KINDS,
    LOB,
    OVERHEAD,
    PASSING_SHOT,
    SCOOP,
    SLICE,
    VOLLEY,
)
from sim.parameter import parameter, require_finite_parameters
from sim.records import record, record_type

RPM = 2.0 * math.pi / 60.0

# What a shot model asks of it: see strategies.variety.
CHOICES = record_type(
    "slice_share",
    "drop_share",
    "drop_depth_m",
    "approach_share",
    "pass_share",
    "lob_share",
    "away_share",
)

CHART = "Match Charting Project, professional men and women, computed from its stroke codes"
YANDELL = "Yandell, high-speed video, coaching magazine: 80 km/h, 1500 to 3200 rpm, amateurs"


def touch(default: float, about: str, low: float, high: float, source: str = "") -> float:
    """A share of the drive's own (speed, error or losses)."""
    made: float = parameter(default, "1", about, low=low, high=high, source=source)
    return made


def spin(default: float, about: str, low: float, high: float, source: str = "") -> float:
    """A topspin, rpm; backspin is negative."""
    made: float = parameter(default, "rpm", about, low=low, high=high, source=source)
    return made


def loft(default: float, about: str, low: float, high: float, source: str = "") -> float:
    """An elevation of launch, degrees; the speed follows from it and the target."""
    made: float = parameter(default, "degrees", about, low=low, high=high, source=source)
    return made


@dataclass(frozen=True)
class Repertoire:
    """The strokes beside the drive, and how often they are played.

    Raises:
        InputError: a value that is not finite, or negative where nothing negative makes sense.
    """

    slice_loft_deg: float = loft(11.0, "elevation of a slice", 6.0, 15.0, YANDELL)
    slice_spin_rpm: float = spin(
        -1700.0, "spin of a slice (backspin is negative)", -5000.0, -800.0, YANDELL
    )
    slice_error_share: float = touch(1.0, "error of a slice", 0.8, 1.4)
    slice_share: float = touch(0.16, "slices among unhurried backhands", 0.02, 0.5)
    late_slice_weight: float = touch(0.6, "weight of the slice when late, backhand", 0.0, 2.0)
    high_loft_deg: float = loft(26.0, "elevation of a defensive high ball", 18.0, 38.0)
    high_spin_rpm: float = spin(1200.0, "topspin of a high ball", 0.0, 2500.0)
    high_error_share: float = touch(0.8, "error of a high ball", 0.5, 1.2)
    high_weight: float = touch(1.0, "weight of the high ball when late but not stretched", 0.0, 2.0)
    block_loft_deg: float = loft(13.0, "elevation of a block", 8.0, 25.0)
    block_spin_rpm: float = spin(-600.0, "spin of a block", -2000.0, 500.0)
    block_error_share: float = touch(0.8, "error of a block", 0.5, 1.2)
    block_weight: float = touch(1.0, "weight of the block when late and stretched", 0.0, 2.0)
    late_quality: float = touch(
        0.30, "quality of contact at which half of the drives are no longer driven", 0.15, 0.5
    )
    late_width: float = touch(0.07, "how gradually that share changes with quality", 0.03, 0.15)
    late_losses: float = touch(
        0.5, "losses of speed, depth and control by lateness, over those of a drive", 0.2, 1.0
    )
    scoop_height_m: float = parameter(
        0.55,
        "m",
        "contact height below which balls are scooped or half-volleyed: none there, all at half",
        low=0.3,
        high=0.8,
    )
    scoop_loft_deg: float = loft(16.0, "elevation of a scooped ball", 10.0, 28.0)
    half_volley_loft_deg: float = loft(11.0, "elevation of a half volley", 7.0, 20.0)
    half_volley_error_share: float = touch(1.5, "error of a half volley", 0.8, 1.8)
    drop_loft_deg: float = loft(18.0, "elevation of a drop shot", 12.0, 40.0)
    drop_spin_rpm: float = spin(-1700.0, "spin of a drop shot", -4000.0, -500.0)
    drop_depth_m: float = parameter(
        2.2, "m", "landing of a drop shot from the net", low=1.2, high=4.0
    )
    drop_error_share: float = touch(0.4, "error of a drop shot", 0.3, 0.8)
    drop_share: float = touch(
        0.05, "drop shots among unhurried strokes well inside the baseline", 0.0, 0.2, CHART
    )
    approach_speed_share: float = touch(0.95, "speed of an approach", 0.8, 1.1)
    approach_share: float = touch(0.8, "approaches among unhurried short balls", 0.0, 0.95, CHART)
    volley_speed_share: float = touch(0.75, "speed of a volley", 0.5, 0.95)
    volley_spin_rpm: float = spin(-700.0, "spin of a volley", -2000.0, 0.0)
    volley_error_share: float = touch(1.5, "error of a volley", 0.9, 2.8)
    away_share: float = touch(0.8, "volleys and overheads played away from the opponent", 0.5, 1.0)
    overhead_speed_share: float = touch(1.15, "speed of an overhead", 0.9, 1.4)
    overhead_error_share: float = touch(1.5, "error of an overhead", 0.9, 2.8)
    overhead_from_m: float = parameter(
        2.0, "m", "contact height at which half of the balls are smashed", low=1.7, high=2.2
    )
    pass_speed_share: float = touch(1.03, "speed of a passing shot", 0.9, 1.15)
    pass_share: float = touch(1.0, "passing shots among the balls not lobbed at the net", 0.0, 1.0)
    lob_loft_deg: float = loft(
        46.0, "elevation of a lob", 38.0, 58.0, "lobs 5 to 9 m high at 55 to 80 km/h, from memory"
    )
    lob_spin_rpm: float = spin(300.0, "topspin of a lob", -1500.0, 3500.0)
    lob_error_share: float = touch(0.7, "error of a lob", 0.5, 1.2)
    lob_share: float = touch(0.3, "lobs among the answers to a player at the net", 0.0, 0.75, CHART)

    def __post_init__(self) -> None:
        require_finite_parameters(self)

    @cached_property
    def choices(self) -> np.ndarray:
        """The shares by which kinds are chosen, a CHOICES record."""
        return record(CHOICES, **{name: getattr(self, name) for name in CHOICES.names or ()})

    @cached_property
    def by_kind(self) -> dict[str, np.ndarray]:
        """What each kind does to a drive: arrays of length KINDS, the kind_* fields of HITTER."""
        share = _column(1.0)
        late = self.late_losses
        return {
            "kind_speed_share": share(
                {
                    APPROACH: self.approach_speed_share,
                    VOLLEY: self.volley_speed_share,
                    OVERHEAD: self.overhead_speed_share,
                    PASSING_SHOT: self.pass_speed_share,
                }
            ),
            "kind_error_share": share(
                {
                    SLICE: self.slice_error_share,
                    HIGH_BALL: self.high_error_share,
                    BLOCK: self.block_error_share,
                    HALF_VOLLEY: self.half_volley_error_share,
                    DROP_SHOT: self.drop_error_share,
                    VOLLEY: self.volley_error_share,
                    OVERHEAD: self.overhead_error_share,
                    LOB: self.lob_error_share,
                }
            ),
            "kind_losses": share(
                dict.fromkeys((SLICE, HIGH_BALL, BLOCK, SCOOP, HALF_VOLLEY, VOLLEY, LOB), late)
            ),
            "kind_topspin_rad_s": _column(math.nan)(
                {
                    SLICE: self.slice_spin_rpm * RPM,
                    HIGH_BALL: self.high_spin_rpm * RPM,
                    BLOCK: self.block_spin_rpm * RPM,
                    SCOOP: 0.0,
                    HALF_VOLLEY: 0.0,
                    DROP_SHOT: self.drop_spin_rpm * RPM,
                    VOLLEY: self.volley_spin_rpm * RPM,
                    OVERHEAD: 0.0,
                    LOB: self.lob_spin_rpm * RPM,
                }
            ),
            "kind_loft_rad": _column(0.0)(
                {
                    SLICE: math.radians(self.slice_loft_deg),
                    HALF_VOLLEY: math.radians(self.half_volley_loft_deg),
                    HIGH_BALL: math.radians(self.high_loft_deg),
                    BLOCK: math.radians(self.block_loft_deg),
                    SCOOP: math.radians(self.scoop_loft_deg),
                    DROP_SHOT: math.radians(self.drop_loft_deg),
                    LOB: math.radians(self.lob_loft_deg),
                }
            ),
        }


def _column(usual: float) -> Callable[[dict[int, float]], np.ndarray]:
    """A maker of arrays of one value a kind: `usual` where nothing is said."""

    def made(values: dict[int, float]) -> np.ndarray:
        out = np.full(len(KINDS), usual)
        for kind, value in values.items():
            out[kind] = value
        return out

    return made
