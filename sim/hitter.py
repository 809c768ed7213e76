"""What a hitter can do: speeds, spins, margins, execution error, and how stretching spoils them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from sim.compiled import kernel
from sim.errors import InputError
from sim.parameter import calibrated, parameter, require_finite_parameters
from sim.records import record, record_type
from sim.repertoire import RPM as RPM
from sim.repertoire import Repertoire

SHOT_LENGTH_M = 24.0

HITTER = record_type(
    "forehand_speed_m_s",
    "backhand_speed_m_s",
    "forehand_topspin_rad_s",
    "backhand_topspin_rad_s",
    "direction_sd_rad",
    "depth_sd_share",
    "elevation_share",
    "stretched_speed_loss",
    "stretched_depth_loss_m",
    "stretched_error_gain",
    "aim_margin_sds",
    "slowest_share",
    "fastest_share",
    "least_topspin_rad_s",
    "most_topspin_rad_s",
    "no_topspin_height_m",
    "topspin_growth_rad_s_m",
    "unhurried_share",
    "net_margin_share",
    "backhand_net_share",
    "speed_error_gain",
    "late_quality",
    "late_width",
    "block_weight",
    "high_weight",
    "late_slice_weight",
    "scoop_height_m",
    "overhead_from_m",
    by_kind=(
        "kind_speed_share",
        "kind_error_share",
        "kind_losses",
        "kind_topspin_rad_s",
        "kind_loft_rad",
    ),
)


@kernel
def usable_topspin(topspin_rad_s, z_m, hitter):  # type: ignore[no-untyped-def]
    """The topspin (rad/s) that can be put on balls struck `z_m` above the ground.

    At most what grows from nothing with the height above the lowest that allows any (assumed);
    less than that, and backspin, is left as it is. One HITTER record.
    """
    room = max(z_m - hitter.no_topspin_height_m, 0.0)
    return min(topspin_rad_s, hitter.topspin_growth_rad_s_m * room)


@kernel
def fill_usable(topspin, z, hitters, out):  # type: ignore[no-untyped-def]
    """Fill `usable_topspin` for arrays of one shape (n,)."""
    for i in range(out.size):
        out[i] = usable_topspin(topspin[i], z[i], hitters[0])


def usable_topspins(
    topspin_rad_s: np.ndarray | float, z_m: np.ndarray | float, hitters: np.ndarray
) -> np.ndarray:
    """What of topspins (rad/s) can be put on balls struck at heights `z_m`, arrays (n,) or
    numbers, by one hitter, a HITTER record (1,): see `usable_topspin`."""
    wished, heights = np.broadcast_arrays(np.atleast_1d(topspin_rad_s), np.atleast_1d(z_m))
    out = np.empty(len(wished))
    columns = [np.ascontiguousarray(column, float) for column in (wished, heights)]
    fill_usable(*columns, hitters, out)
    return out


@dataclass(frozen=True)
class Hitter:
    """The strokes that a player can make and how exactly.

    Raises:
        InputError: a value that is not finite, negative, or a speed of zero.
    """

    forehand_speed_m_s: float = parameter(
        31.1,
        "m/s",
        "usual forehand speed",
        low=13.0,
        high=38.0,
        source="professionals: Kovalchik and Reid 2017; other levels assumed",
    )
    backhand_speed_m_s: float = parameter(
        28.6,
        "m/s",
        "usual backhand speed",
        low=12.0,
        high=36.0,
        source="professionals: Kovalchik and Reid 2017; other levels assumed",
    )
    first_serve_m_s: float = parameter(
        48.6,
        "m/s",
        "usual speed of a first serve",
        low=22.0,
        high=58.0,
        source="professionals: round figures from memory; other levels assumed",
        status="memory",
    )
    second_serve_m_s: float = parameter(
        38.9,
        "m/s",
        "usual speed of a second serve",
        low=17.0,
        high=50.0,
        source="professionals: round figures from memory; other levels assumed",
        status="memory",
    )
    first_serve_in: float = parameter(
        0.62,
        "1",
        "share of first serves that land in",
        low=0.4,
        high=0.75,
        source="professionals, from memory",
        status="memory",
    )
    second_serve_in: float = parameter(
        0.90,
        "1",
        "share of second serves that land in; the others are double faults",
        low=0.65,
        high=0.97,
        source="double faults in 3-4 of 100 service points of men, from memory",
        status="memory",
    )
    first_serve_topspin_rpm: float = parameter(
        1500.0, "rpm", "topspin of a first serve", low=400.0, high=2500.0
    )
    second_serve_topspin_rpm: float = parameter(
        3200.0, "rpm", "topspin of a second serve", low=600.0, high=4500.0
    )
    serve_width_spread_m: float = parameter(
        0.4, "m", "spread of the landing of serves that are in, across", low=0.2, high=0.9
    )
    serve_depth_spread_m: float = parameter(
        0.6, "m", "spread of the landing of serves that are in, along", low=0.3, high=1.2
    )
    serve_body_share: float = parameter(0.15, "1", "serves at the body", low=0.05, high=0.5)
    serve_height_m: float = parameter(
        2.8, "m", "height of the contact of a serve", low=2.0, high=3.1
    )
    forehand_topspin_rpm: float = parameter(
        2500.0, "rpm", "usual forehand topspin", low=600.0, high=3200.0
    )
    backhand_topspin_rpm: float = parameter(
        2000.0, "rpm", "usual backhand topspin", low=450.0, high=2800.0
    )
    direction_sd_deg: float = parameter(
        2.6, "degrees", "error of direction, standard deviation", low=1.5, high=6.0
    )
    depth_sd_m: float = parameter(
        2.2, "m", "error of depth at 24 m, standard deviation", low=1.4, high=4.8
    )
    elevation_share: float = calibrated(
        0.77,
        "1",
        "share of the depth variance that comes from elevation, the rest from speed",
        low=0.2,
        high=0.8,
    )
    stretched_speed_loss: float = calibrated(
        0.28, "1", "share of speed lost by a reply of quality 0", low=0.2, high=0.5
    )
    stretched_depth_loss_m: float = parameter(
        3.0, "m", "metres shorter that a reply of quality 0 is aimed", low=1.0, high=5.0
    )
    stretched_error_gain: float = calibrated(
        0.50, "1", "extra error of a reply of quality 0, as a share", low=0.5, high=2.0
    )
    aim_margin_sds: float = calibrated(
        1.15, "1", "standard deviations of own error kept inside the lines", low=0.8, high=2.0
    )
    slowest_share: float = parameter(
        0.55, "1", "slowest playable speed over the usual one", low=0.4, high=0.75
    )
    fastest_share: float = parameter(
        1.15, "1", "fastest playable speed over the usual one", low=1.1, high=1.3
    )
    least_topspin_rpm: float = parameter(500.0, "rpm", "least topspin", low=0.0, high=800.0)
    most_topspin_rpm: float = parameter(3000.0, "rpm", "most topspin", low=2500.0, high=4000.0)
    no_topspin_height_m: float = parameter(
        0.20,
        "m",
        "contact height up to which a ball is played without topspin",
        low=0.1,
        high=0.3,
        source="half the width of a racket's head, and the ball: no room to swing from below",
    )
    topspin_growth_rpm_per_m: float = parameter(
        7500.0,
        "rpm/m",
        "growth of the most topspin with the contact height above that",
        low=5000.0,
        high=15000.0,
        source="a usual topspin of 2500 rpm from a little above the knee",
    )
    unhurried_share: float = parameter(
        1.0,
        "1",
        "speed of an unhurried stroke as wished over the usual speed, which is as played",
        low=1.0,
        high=1.3,
    )
    net_margin_share: float = calibrated(
        0.87,
        "1",
        "gap aimed for above the net over the one that own errors ask for",
        low=0.5,
        high=2.2,
        source="median clearance of men's forehands 1.04 m (Kovalchik and Reid 2017), 0.62 m in"
        " tracked ends of men's points: sources disagree",
    )
    backhand_net_share: float = calibrated(
        0.87,
        "1",
        "gap aimed for above the net on the backhand over that on the forehand",
        low=0.55,
        high=1.05,
        source="median clearances, backhand over forehand: 0.72 over 1.04 m men, 0.46 over 0.78 m"
        " women (Kovalchik and Reid 2017), 0.61 over 0.62 m in tracked ends of men's points:"
        " sources disagree",
    )
    speed_error_gain: float = calibrated(
        1.1,
        "1",
        "extra error, as a share, per share of speed above the usual one; 0: harder strokes err no"
        " more",
        low=0.0,
        high=3.0,
    )
    repertoire: Repertoire = Repertoire()

    def __post_init__(self) -> None:
        require_finite_parameters(self)
        for name in ("forehand_speed_m_s", "backhand_speed_m_s", "slowest_share"):
            if getattr(self, name) <= 0:
                raise InputError(f"Hitter.{name} is {getattr(self, name)!r}; it must be above 0")
        if not 0 <= self.elevation_share <= 1:
            raise InputError(f"elevation_share is {self.elevation_share!r}; allowed: 0 to 1")

    @cached_property
    def numbers(self) -> np.ndarray:
        """The hitter as a HITTER record."""
        same = (
            "forehand_speed_m_s",
            "backhand_speed_m_s",
            "elevation_share",
            "stretched_speed_loss",
            "stretched_depth_loss_m",
            "stretched_error_gain",
            "aim_margin_sds",
            "slowest_share",
            "fastest_share",
            "no_topspin_height_m",
            "unhurried_share",
            "net_margin_share",
            "backhand_net_share",
            "speed_error_gain",
        )
        own = (
            "late_quality",
            "late_width",
            "block_weight",
            "high_weight",
            "late_slice_weight",
            "scoop_height_m",
            "overhead_from_m",
        )
        return record(
            HITTER,
            forehand_topspin_rad_s=self.forehand_topspin_rpm * RPM,
            backhand_topspin_rad_s=self.backhand_topspin_rpm * RPM,
            least_topspin_rad_s=self.least_topspin_rpm * RPM,
            most_topspin_rad_s=self.most_topspin_rpm * RPM,
            topspin_growth_rad_s_m=self.topspin_growth_rpm_per_m * RPM,
            direction_sd_rad=math.radians(self.direction_sd_deg),
            depth_sd_share=self.depth_sd_m / SHOT_LENGTH_M,
            **{name: getattr(self, name) for name in same},
            **{name: getattr(self.repertoire, name) for name in own},
            **self.repertoire.by_kind,
        )

    @cached_property
    def exact_numbers(self) -> np.ndarray:
        """The same HITTER record without execution error: every ball lands where it is meant to."""
        out = self.numbers.copy()
        out["direction_sd_rad"] = out["depth_sd_share"] = 0.0
        return out

    def speed_m_s(self, wing: np.ndarray | int) -> np.ndarray:
        """Usual speed by wing (FOREHAND or BACKHAND)."""
        return np.where(np.asarray(wing) > 0, self.forehand_speed_m_s, self.backhand_speed_m_s)

    def topspin_rad_s(self, wing: np.ndarray | int) -> np.ndarray:
        """Usual topspin by wing (FOREHAND or BACKHAND)."""
        rpm = np.where(np.asarray(wing) > 0, self.forehand_topspin_rpm, self.backhand_topspin_rpm)
        return rpm * RPM
