"""The angle follows from the hitter: properties over many contacts, and the counted chance."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from random_situations import crossings_m

from sim.contracts import contacts_at, turned
from sim.envelope import DriveLimits, bisector_x_m, extreme_drives
from sim.errors import InputError
from sim.hitter import Hitter
from sim.players import PLAYERS, player
from sim.records import IN, INTENT
from sim.stroke import ERROR_DRAWS, fly_drives, strike
from sim.world import TABULATED, World
from strategies.even_draws import even_uniforms

WORLD = World(flight=TABULATED).numbers
LINE_M = 13.1
OLD = DriveLimits(nearest_landing_m=6.0)


def hitter_of(level: str, **changed: float) -> Hitter:
    return dataclasses.replace(player(level).hitter, **changed)


def child() -> Hitter:
    """A slow hitter with large errors (invented)."""
    return hitter_of(
        "club-adult", forehand_speed_m_s=60 / 3.6, backhand_speed_m_s=52 / 3.6, depth_sd_m=3.4
    )


HITTERS = [*(p.hitter for p in PLAYERS.values()), child()]


def contacts(count: int, seed: int, near_m: float = 5.0) -> tuple[np.ndarray, ...]:
    """Contacts of rallies, some from odd places: (x, y, z, wing)."""
    rng = np.random.default_rng(seed)
    x = np.clip(rng.normal(0.0, 2.5, count), -6.5, 6.5)
    wing = np.where(rng.random(count) < 0.5, 1, -1)
    return x, rng.uniform(near_m, 18.0, count), rng.uniform(0.4, 2.0, count), wing


def angle_rad(x: np.ndarray, y: np.ndarray, drives: np.ndarray) -> np.ndarray:
    """Directions of the two extremes, counted to the right; (n, 2)."""
    ahead = y[:, None] - drives["target_y_m"]
    return np.arctan2(drives["target_x_m"] - x[:, None], ahead)


@pytest.mark.parametrize("limits", [DriveLimits(), DriveLimits(least_in=0.9), OLD])
@pytest.mark.parametrize("hitter", HITTERS)
def test_every_extreme_lands_in_where_a_drive_exists(hitter: Hitter, limits: DriveLimits) -> None:
    x, y, z, wing = contacts(200, 1)
    drives = extreme_drives(x, y, z, wing, hitter, WORLD, limits)
    assert np.isfinite(drives["target_x_m"]).all() and (drives["target_y_m"] < 0.0).all()
    for side in (0, 1):
        balls, _ = fly_drives(contacts_at(x, y, z, wing), drives[:, side].copy(), WORLD)
        exists = drives["chance_in"][:, side] > 0.4 if limits.counts_error else z > 0.6
        assert exists.mean() > 0.85
        assert (balls["outcome"][exists] == IN).all()
        assert balls["landing_x_m"][exists] == pytest.approx(
            drives["target_x_m"][exists, side], abs=0.01
        )


@pytest.mark.parametrize("speed_km_h", [52, 56, 60, 64, 66, 70, 74, 76, 80])
@pytest.mark.parametrize("limits", [DriveLimits(), OLD])
def test_slow_hitters_have_an_angle_from_deep(speed_km_h: int, limits: DriveLimits) -> None:
    """From 3.5 m behind the baseline slow drives that cross the net still open an angle."""
    hitter = hitter_of("club-adult", backhand_speed_m_s=speed_km_h / 3.6)
    x, y, z, wing = (np.array([v]) for v in (3.115, 15.4, 1.0, -1))
    drives = extreme_drives(x, y, z, wing, hitter, WORLD, limits)
    assert -1.3 < bisector_x_m(x, y, drives, 12.585)[0] < -0.5
    assert (drives["speed_m_s"] > 12.0).all()


@pytest.mark.parametrize("hitter", HITTERS)
def test_the_bisector_changes_gradually_with_speed(hitter: Hitter) -> None:
    """Near 57 km/h the extreme straight drive from so deep changes its kind: there it may turn by
    half a metre within a hundredth of the speed."""
    x, y, z, wing = (np.array([v]) for v in (3.115, 15.0, 0.9, -1))
    spots, shares = [], np.linspace(0.85, 1.15, 31)
    for share in shares:
        changed = dataclasses.replace(hitter, backhand_speed_m_s=share * hitter.backhand_speed_m_s)
        drives = extreme_drives(x, y, z, wing, changed, WORLD, DriveLimits())
        spots.append(bisector_x_m(x, y, drives, LINE_M)[0])
    jumps, speeds_km_h = np.abs(np.diff(spots)), 3.6 * shares * hitter.backhand_speed_m_s
    turning = (speeds_km_h[1:] > 54.0) & (speeds_km_h[:-1] < 59.0)
    assert jumps[~turning].max() < 0.15 and jumps.max() < 0.5


@pytest.mark.parametrize(
    ("tight", "wide"),
    [
        ({"least_in": 0.9}, {"least_in": 0.7}),
        ({"least_in": 0.7}, {"least_in": 0.5}),
        ({"slowest_share": 0.85}, {"slowest_share": 0.7}),
        ({"fastest_share": 1.0}, {"fastest_share": 1.2}),
        ({"topspin_share": 1.0}, {"topspin_share": 1.4}),
        ({"steepest_deg": 18.0}, {"steepest_deg": 30.0}),
    ],
)
@pytest.mark.parametrize("hitter", HITTERS)
def test_relaxing_a_limit_never_narrows_the_angle(hitter: Hitter, tight: dict, wide: dict) -> None:
    """Compared where a drive of the stated chance exists under the tighter limit."""
    x, y, z, wing = contacts(150, 2)
    narrow, open_ = (
        extreme_drives(x, y, z, wing, hitter, WORLD, DriveLimits(**own)) for own in (tight, wide)
    )
    own = DriveLimits(**tight)
    usual = (1 + 1e-9) * own.fastest_share * hitter.speed_m_s(wing)
    exists = (narrow["chance_in"] >= own.least_in - 1e-9).all(axis=1)
    exists &= (narrow["speed_m_s"] <= usual[:, None]).all(axis=1)
    assert exists.mean() > 0.3
    a, b = angle_rad(x, y, narrow)[exists], angle_rad(x, y, open_)[exists]
    assert (b[:, 0] <= a[:, 0] + 2e-3).all() and (b[:, 1] >= a[:, 1] - 2e-3).all()


def test_more_exact_hitters_have_wider_angles() -> None:
    x, y, z, wing = contacts(300, 3)
    exact = hitter_of("college-man", direction_sd_deg=1.5, depth_sd_m=1.5)
    loose = hitter_of("college-man", direction_sd_deg=3.5, depth_sd_m=3.0)
    both = [
        angle_rad(x, y, extreme_drives(x, y, z, wing, h, WORLD, DriveLimits()))
        for h in (exact, loose)
    ]
    assert (np.diff(both[0], axis=1) > np.diff(both[1], axis=1)).all()


def test_the_older_rule_gives_nearly_one_angle_to_everybody() -> None:
    """Why it is no longer the usual one: its bisector hardly knows who hits."""
    x, y, z, wing = (np.array([v]) for v in (3.115, 11.885, 1.0, 1))
    by = {
        limits.nearest_landing_m: [
            bisector_x_m(x, y, extreme_drives(x, y, z, wing, p.hitter, WORLD, limits), LINE_M)[0]
            for p in PLAYERS.values()
        ]
        for limits in (DriveLimits(), OLD)
    }
    assert np.ptp(by[6.0]) < 0.02 < 0.05 < np.ptp(by[0.0])


def chances_off(hitter: Hitter, least_in: float) -> np.ndarray:
    """By how much more often extreme drives land in than `least_in`; 512 even draws each.

    The strike aims for its own gap over the net where the drive leaves less, so only drives that
    it plays as they are can be compared; errors that grow with the speed are not counted.
    """
    x, y, z, wing = contacts(30, 4, near_m=9.0)
    drives = extreme_drives(x, y, z, wing, hitter, WORLD, DriveLimits(least_in=least_in))
    free = hitter.numbers.copy()
    free["aim_margin_sds"], free["speed_error_gain"] = 0.0, 0.0
    errors = even_uniforms(np.full(ERROR_DRAWS, 0.5), 512)
    off = []
    for i in range(len(x)):
        for side in (0, 1):
            d = drives[i, side]
            if d["chance_in"] < least_in - 1e-9:
                continue
            own = np.repeat(
                turned(contacts_at(x[i : i + 1], y[i : i + 1], z[i : i + 1], wing[i : i + 1])), 512
            )
            wish = np.zeros(512, INTENT)
            wish["target_x_m"], wish["target_y_m"] = -d["target_x_m"], -d["target_y_m"]
            wish["speed_m_s"], wish["topspin_rad_s"] = d["speed_m_s"], d["topspin_rad_s"]
            balls, _ = strike(own, wish, errors, free, WORLD)
            off.append((balls["outcome"] == IN).mean() - least_in)
    assert len(off) > 15
    return np.array(off)


@pytest.mark.parametrize("least_in", [0.6, 0.7, 0.9])
@pytest.mark.parametrize("hitter", HITTERS)
def test_the_counted_chance_is_that_of_struck_balls(hitter: Hitter, least_in: float) -> None:
    """With half of the depth error from elevation. Over the net and not long are counted as
    independent, though one elevation decides both: up to 3.1 in 100 off, professionals at 0.6."""
    off = chances_off(dataclasses.replace(hitter, elevation_share=0.5), least_in)
    assert abs(off.mean()) < 0.035 and np.abs(off).max() < 0.09


@pytest.mark.parametrize("least_in", [0.6, 0.7, 0.9])
@pytest.mark.parametrize("hitter", HITTERS)
def test_the_counted_chance_is_hardly_above_that_of_struck_balls(
    hitter: Hitter, least_in: float
) -> None:
    """Whatever comes from elevation. A ball that starts higher than meant flies less far than its
    slope says, so of hitters with large errors fewer go long than are counted: up to 6 in 100 more
    land in (children and clubs), and hardly fewer."""
    off = chances_off(hitter, least_in)
    assert -0.03 < off.mean() < 0.07 and np.abs(off).max() < 0.09


def test_places_that_allow_no_drive_are_known() -> None:
    """Low at the net nothing gets over it as a drive: both extremes are then one direction."""
    x, y, z, wing = (np.array([v]) for v in (1.0, 1.2, 0.2, 1))
    drives = extreme_drives(x, y, z, wing, hitter_of("college-man"), WORLD, DriveLimits())
    assert (drives["chance_in"] < 0.4).all()
    crossings = crossings_m(x, y, drives, LINE_M)
    assert crossings[0, 0] == pytest.approx(crossings[0, 1], abs=1e-6)


def test_rows_alone_have_the_bits_that_they_have_together() -> None:
    x, y, z, wing = contacts(60, 5)
    hitter = hitter_of("club-adult")
    whole = extreme_drives(x, y, z, wing, hitter, WORLD, DriveLimits())
    for i in range(60):
        one = extreme_drives(*(v[i : i + 1] for v in (x, y, z, wing)), hitter, WORLD, DriveLimits())
        assert one.tobytes() == whole[i : i + 1].tobytes()


def test_the_angle_mirrors() -> None:
    x, y, z, wing = contacts(200, 6)
    hitter = hitter_of("professional-man")
    one = angle_rad(x, y, extreme_drives(x, y, z, wing, hitter, WORLD, DriveLimits()))
    other = angle_rad(-x, y, extreme_drives(-x, y, z, wing, hitter, WORLD, DriveLimits()))
    assert other[:, ::-1] == pytest.approx(-one, abs=1e-9)


@pytest.mark.parametrize(
    ("limits", "words"),
    [
        ({"least_in": 0.0}, "above 0, below 1"),
        ({"least_in": 1.0}, "above 0, below 1"),
        ({"least_in": math.nan}, "finite"),
        ({"slowest_share": 1.2}, "above the fastest"),
        ({"slowest_share": 0.0}, "above 0"),
        ({"nearest_landing_m": 11.6}, "nearest landing"),
        ({"nearest_landing_m": -1.0}, "nearest landing"),
        ({"nearest_landing_m": math.nan}, "nearest landing"),
    ],
)
def test_limits_that_make_no_sense_are_refused(limits: dict, words: str) -> None:
    with pytest.raises(InputError, match=words):
        DriveLimits(**limits)
