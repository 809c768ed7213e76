"""Net play: balls met before their bounce, and where a player goes who comes in."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import ClassVar

import numpy as np
import pytest
from engine_games import SEED, differing_fields
from ordinary_drives import Flown, landed_in

from sim.additions import without
from sim.array_engine import play
from sim.chance import EXECUTION, uniforms
from sim.contracts import ShotSituation, bodies_at, contacts_at, intents_of
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M
from sim.event_engine import play_rally
from sim.exchange import Game, Place, Side
from sim.hitter import RPM
from sim.kinds import APPROACH, DRIVE, LOB, PASSING_SHOT, VOLLEY
from sim.legs import Legs
from sim.meeting import RULES, meetings
from sim.movement import CHASER
from sim.net_place import net_spots
from sim.players import player
from sim.records import BALL, MISSED, STUDIED
from sim.stroke import ERROR_DRAWS, strike
from sim.volley import may_volley
from sim.world import World
from strategies.catalogue import make_policy

WORLD = World(flight="tabulated")
LEGS = player("professional-man").legs
ONE_HANDED = dataclasses.replace(LEGS, two_handed_backhand=False)
COUNT = 600
MM = 1e-3


@dataclass(frozen=True)
class ToTheNet:
    """Comes in behind balls from inside the baseline; passes or lobs a player at the net."""

    name: ClassVar[str] = "to-the-net"
    draws: ClassVar[int] = 3
    sees_receiver: ClassVar[bool] = True

    def intents(self, seen: ShotSituation, chance: np.ndarray) -> np.ndarray:
        x = np.where(chance[:, 0] < 0.5, -2.9, 2.9)
        at_net = seen.receiver["y_m"] < 6.5
        against = np.where(chance[:, 1] < 0.3, LOB, PASSING_SHOT)
        kind = np.where(at_net, against, np.where(seen.contact["y_m"] > -10.0, APPROACH, DRIVE))
        return intents_of(
            x, 4.5 + 5.0 * chance[:, 2], seen.speed_m_s, seen.topspin_rad_s, 0.0, kind
        )


def rusher(level: str) -> Side:
    return Side(player(level), make_policy("middle"), ToTheNet())


GAME = Game(rusher("professional-man"), rusher("college-man"), WORLD, SEED)
PLACE = Place("short ball", 0.5, 8.8)


def against_net(kind: int, count: int = COUNT, seed: int = 3) -> Flown:
    """Balls of a kind that landed in, from about the far baseline, all over the width."""
    rng = np.random.default_rng(seed)
    x, y = rng.uniform(-4, 4, 3 * count), -rng.uniform(10.5, 14.0, 3 * count)
    hitter = player("professional-man").hitter
    contact = contacts_at(x, y, rng.uniform(0.5, 1.4, 3 * count), np.ones(3 * count, np.int64))
    speed = hitter.forehand_speed_m_s * rng.uniform(0.7, 1.0, 3 * count)
    depth, aim = rng.uniform(6.0, 10.0, 3 * count), rng.uniform(-3.4, 3.4, 3 * count)
    wish = intents_of(aim, depth, speed, np.full(3 * count, 2000 * RPM), 0.0, kind)
    errors = uniforms(seed, np.arange(3 * count), EXECUTION, 0, ERROR_DRAWS)
    return landed_in(strike(contact, wish, errors, hitter.numbers, WORLD.numbers), count)


def bodies_in_front(count: int, seed: int, fastest_m_s: float = 0.0) -> np.ndarray:
    rng = np.random.default_rng(seed)
    out = bodies_at(rng.uniform(-3, 3, count), -rng.uniform(1.0, 9.0, count))
    speed, way = fastest_m_s * rng.random(count), rng.uniform(-np.pi, np.pi, count)
    out["vx_m_s"], out["vy_m_s"] = speed * np.cos(way), speed * np.sin(way)
    return out


def met(flown: Flown, body: np.ndarray, legs: Legs = LEGS, rule: int = 3) -> np.ndarray:
    return meetings(*flown, body, legs.numbers, legs.times, rule, world=WORLD.numbers)


def met_after_bounce(
    flown: Flown, body: np.ndarray, legs: Legs = LEGS, rule: int = 3
) -> np.ndarray:
    return meetings(*flown, body, legs.numbers, legs.times, rule)


def worth(meeting: np.ndarray, legs: Legs) -> np.ndarray:
    reply = meeting["reply_chance"] * (0.5 + 0.5 * meeting["quality"])
    return np.asarray(reply - legs.haste_per_s * meeting["time_s"])


@pytest.fixture(scope="module")
def rallies() -> np.ndarray:
    return play(GAME, PLACE, np.arange(200))


def test_both_engines_play_the_same_net_points(rallies: np.ndarray) -> None:
    few = rallies[rallies["replicate"] < 40]
    assert {APPROACH, VOLLEY, PASSING_SHOT, LOB} <= set(few["kind"])
    by_events = [play_rally(GAME, PLACE, replicate) for replicate in range(40)]
    assert differing_fields(few, np.concatenate([rows for rows, _ in by_events])) == []
    for rows, happenings in by_events:
        bounces = [h.time_s for h in happenings if h.kind == "bounce"]
        volleyed = np.isin(rows["kind"], (VOLLEY,))
        for now, before in zip(
            rows["strike_time_s"][volleyed], np.flatnonzero(volleyed) - 1, strict=True
        ):
            started = rows["strike_time_s"][before]
            assert not any(started < bounce < now for bounce in bounces)


def test_rallies_are_the_same_alone_and_in_any_batch(rallies: np.ndarray) -> None:
    alone = np.concatenate([play(GAME, PLACE, [replicate]) for replicate in range(15)])
    assert differing_fields(alone, rallies[rallies["replicate"] < 15]) == []


def test_volleys_are_struck_before_the_bounce_on_the_own_side(rallies: np.ndarray) -> None:
    volleys = np.flatnonzero(rallies["kind"] == VOLLEY)
    own = np.where(rallies["side"][volleys] == STUDIED, 1.0, -1.0) * rallies["hitter_y_m"][volleys]
    assert len(volleys) > 10 and (own < -0.3).all() and (own > -LEGS.volley_zone_m).all()
    came = rallies[volleys - 1]
    assert (came["meeting_time_s"] < came["landing_time_s"]).all()


def test_who_comes_in_is_near_the_net_at_the_next_stroke_but_one(rallies: np.ndarray) -> None:
    came_in = np.flatnonzero(rallies["kind"][:-1] == APPROACH)
    after = came_in[rallies["stroke"][came_in + 1] == rallies["stroke"][came_in] + 1] + 1
    nearer = np.abs(rallies["hitter_y_m"][after - 1]) - np.abs(rallies["receiver_y_m"][after])
    assert np.median(nearer) > 1.5 and (np.abs(rallies["receiver_y_m"][after]) > 2.0).all()
    assert np.abs(rallies["spot_y_m"][after]) == pytest.approx(LEGS.net_distance_m)


def test_without_the_additions_nobody_is_at_the_net() -> None:
    plain = play(without(GAME, ("volley", "approach")), PLACE, np.arange(60))
    assert not np.isin(plain["kind"], (VOLLEY,)).any()
    assert (np.abs(plain["spot_y_m"]) > HALF_LENGTH_M - 0.01).all()


@pytest.mark.parametrize("kind", [PASSING_SHOT, LOB])
@pytest.mark.parametrize("fastest_m_s", [0.0, 3.0])
def test_no_rule_makes_a_ball_worse_by_volleys(kind: int, fastest_m_s: float) -> None:
    flown, body = against_net(kind), bodies_in_front(COUNT, 4, fastest_m_s)
    for rule in range(len(RULES)):
        now, was = met(flown, body, rule=rule), met_after_bounce(flown, body, rule=rule)
        assert (now["time_to_spare_s"] >= was["time_to_spare_s"]).all()
        assert (now["grade"] >= was["grade"]).all()
        reached = was["grade"] != MISSED
        assert (worth(now, LEGS) >= worth(was, LEGS))[reached].all()
        volleyed = now["volley"] == 1
        assert volleyed.any() and (now["time_s"] < flown[0]["landing_time_s"])[volleyed].all()
        assert now["ball_y_m"][volleyed].min() > -LEGS.volley_zone_m
        assert differing_fields(now[~volleyed & reached], was[~volleyed & reached]) in (
            [],
            ["time_to_spare_s"],
            ["grade"],
            ["time_to_spare_s", "grade"],
        )


def test_no_zone_takes_volleys_out_of_play() -> None:
    flown, body = against_net(PASSING_SHOT), bodies_in_front(COUNT, 5, 3.0)
    none = dataclasses.replace(LEGS, volley_zone_m=0.0)
    assert differing_fields(met(flown, body, none), met_after_bounce(flown, body)) == []


def test_the_quick_test_lets_go_no_ball_that_could_be_met() -> None:
    """A far larger reaction is what makes it say no; then no volley is found at the real one."""
    flown, body = against_net(PASSING_SHOT), bodies_in_front(COUNT, 6, 3.0)
    body["y_m"] -= 4.0
    now, chaser, never = met(flown, body), np.zeros(1, CHASER), 0
    for i in range(COUNT):
        for name in ("x_m", "y_m", "vx_m_s", "vy_m_s"):
            chaser[name] = body[name][i]  # as if the reaction took no time: more than is allowed
        may = may_volley(flown[0][i], chaser[0], LEGS.numbers[0], LEGS.times[0])
        assert may or now["volley"][i] == 0
        never += not may
    assert 0 < never < COUNT


@pytest.mark.parametrize("kind", [DRIVE, PASSING_SHOT, LOB])
def test_from_behind_the_baseline_the_air_adds_no_ball(kind: int) -> None:
    """What is reached in the air, coming forward, is reached after the bounce with more time."""
    flown = against_net(kind)
    rng = np.random.default_rng(7)
    body = bodies_at(rng.uniform(-5, 5, COUNT), -HALF_LENGTH_M - rng.uniform(0, 3, COUNT))
    now, was = met(flown, body), met_after_bounce(flown, body)
    assert (
        differing_fields(now[["time_to_spare_s", "grade"]], was[["time_to_spare_s", "grade"]]) == []
    )


@pytest.mark.parametrize("kind", [PASSING_SHOT, LOB])
@pytest.mark.parametrize("axis", ["x_m", "y_m"])
def test_a_millimetre_of_place_never_jumps(kind: int, axis: str) -> None:
    """A row of places, a millimetre or two apart, from the net to no man's land.

    Where it turns from the air to the bounce, the reply is worth as much, saved time counted.
    """
    flown, count = against_net(kind, 8, seed=8), 3001
    for i in range(8):
        body = bodies_at(np.full(count, 0.4), np.full(count, -3.0))
        start = {"x_m": -1.5, "y_m": -9.0}[axis]
        body[axis] = start + MM * np.arange(count) * (2.0 if axis == "y_m" else 1.0)
        many = np.repeat(flown[0][i : i + 1], count), np.repeat(flown[1][i : i + 1], count, axis=0)
        now, was = met(many, body, ONE_HANDED), met_after_bounce(many, body, ONE_HANDED)
        saved = np.where(was["grade"] == MISSED, 0.0, was["time_s"] - now["time_s"])
        reply = now["reply_chance"] * (0.5 + 0.5 * now["quality"] + LEGS.haste_per_s * saved)
        moved = np.diff(was["grade"] == MISSED) | (np.abs(np.diff(was["time_s"])) > 0.01)
        in_air = now["volley"] == 1
        turns = (in_air[1:] != in_air[:-1]) & ~moved
        assert np.abs(np.diff(reply))[turns].max(initial=0.0) < 0.01, (i, axis)
        stays = (in_air[1:] & in_air[:-1]) & ~moved & (np.abs(np.diff(now["time_s"])) < 0.01)
        assert np.abs(np.diff(reply))[stays].max(initial=0.0) < 0.02, (i, axis)


def test_mirrored_balls_are_met_alike() -> None:
    even = player("college-man").with_equal_wings()
    body = bodies_in_front(COUNT, 9, 3.0)
    flown = against_net(PASSING_SHOT)
    ball, path, other = flown[0].copy(), flown[1].copy(), body.copy()
    flipped = ("x_m", "vx_m_s", "spin_y_rad_s", "spin_z_rad_s")
    for name in BALL.names or ():
        if name.removeprefix("landing_").removeprefix("bounce_") in flipped:
            ball[name] = -ball[name]
    path[:, :, 1] *= -1.0
    other["x_m"], other["vx_m_s"] = -body["x_m"], -body["vx_m_s"]
    right = met(flown, body, even.legs)
    left = met((ball, path), other, even.with_hand("left").legs)
    for name in ("time_s", "quality", "reply_chance", "volley", "wing", "grade", "ball_y_m"):
        np.testing.assert_allclose(left[name], right[name], atol=1e-9)
    np.testing.assert_allclose(left["ball_x_m"], -right["ball_x_m"], atol=1e-9)


def test_a_lob_is_smashed_where_it_falls_short_and_chased_where_it_is_deep() -> None:
    flown = against_net(LOB)
    body = bodies_at(np.zeros(COUNT), np.full(COUNT, -2.8))
    now, depth = met(flown, body), -flown[0]["landing_y_m"]
    short, deep = depth < 6.0, depth > 9.0
    assert short.any() and deep.any()
    assert (now["volley"][short] == 1).mean() > 0.8 and (now["volley"][deep] == 0).all()
    assert now["ball_z_m"][now["volley"] == 1].max() < LEGS.overhead_reach_m
    chased = deep & (now["grade"] != MISSED)
    assert (now["ball_y_m"][chased] < -depth[chased]).all() and (now["run_m"][chased] > 4.0).all()


def test_a_long_flight_is_met_at_its_end() -> None:
    flown = against_net(LOB)
    high = dataclasses.replace(player("professional-man").hitter.repertoire, lob_loft_deg=58.0)
    hitter = dataclasses.replace(player("professional-man").hitter, repertoire=high)
    ones = np.ones(50)
    contact = contacts_at(0.0 * ones, -12.0 * ones, ones, ones.astype(np.int64))
    wish = intents_of(0.0 * ones, np.linspace(4.0, 6.0, 50), 30.0 * ones, 0.0 * ones, 0.0, LOB)
    flown = strike(contact, wish, np.full((50, ERROR_DRAWS), 0.5), hitter.numbers, WORLD.numbers)
    assert flown[0]["landing_time_s"].max() > 2.41
    now = met(flown, bodies_at(0.5 * ones, -4.0 * ones))
    assert (now["volley"] == 1).all() and now["time_s"].max() > 2.2


def own_balls(distance_m: np.ndarray, kind: int = DRIVE) -> np.ndarray:
    out = np.zeros(len(distance_m), BALL)
    out["y_m"], out["kind"] = distance_m, kind
    return out


def test_the_place_at_the_net_is_on_the_side_of_the_ball_and_mirrored() -> None:
    x = np.linspace(-5.0, 5.0, 10001)
    contact = contacts_at(x, np.full(len(x), 12.0), np.ones(len(x)), np.ones(len(x), np.int64))
    away = np.full((len(x), 2), -13.0)
    spots = net_spots(away, contact, own_balls(np.full(len(x), 10.0), APPROACH), LEGS.numbers)
    assert (spots[:, 1] == -LEGS.net_distance_m).all()
    np.testing.assert_allclose(spots[:, 0], -spots[::-1, 0], atol=1e-12)
    assert (spots[:, 0] * x >= 0.0).all() and 0.2 < spots[x == 3.0, 0] < 1.5
    assert np.abs(np.diff(spots[:, 0])).max() < 1.5 * MM
    assert np.abs(spots[:, 0]).max() < 0.5 * HALF_WIDTH_M


def test_the_nearer_to_the_net_the_own_stroke_the_farther_in() -> None:
    distance = np.arange(2.0, 12.0, MM)
    n = len(distance)
    contact = contacts_at(np.ones(n), np.full(n, 12.0), np.ones(n), np.ones(n, np.int64))
    away = np.tile([1.7, -13.3], (n, 1))
    spots = net_spots(away, contact, own_balls(distance), LEGS.numbers)
    assert (spots[distance >= 7.0] == away[0]).all()
    assert spots[distance <= 4.0, 1] == pytest.approx(-LEGS.net_distance_m)
    steps = np.diff(spots[:, 1])
    assert (steps <= 0.0).all() and np.abs(steps).max() < 0.006
    never = dataclasses.replace(LEGS, comes_in_within_m=0.0)
    for kind in (DRIVE, APPROACH):
        assert (net_spots(away, contact, own_balls(distance, kind), never.numbers) == away).all()
