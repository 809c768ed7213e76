"""Serves: in the box across as often as stated, double faults, speeds, and where they are met."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from engine_games import differing_fields
from scipy import stats

from sim.additions import without
from sim.array_engine import play
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M, SERVICE_LINE_M
from sim.event_engine import play_rally
from sim.exchange import Game, Place, Side, return_x_m
from sim.kinds import FIRST_SERVE, SECOND_SERVE
from sim.levels import LEVELS
from sim.players import PLAYERS, player
from sim.records import IN, LONG, NET, OPPONENT, UNFORCED_ERROR, WIDE
from sim.world import World
from strategies.catalogue import make_policy, make_shot_model
from strategies.shots.serve import INTO_NET, PAST_LINE, serve_places

COUNT = 2000
FALSE_ALARM = 1e-5
RIGHT, LEFT = serve_places()


def game_of(level: str, hand: str = "right", stroke_limit: int = 1) -> Game:
    side = Side(player(level, hand), make_policy("middle"), make_shot_model("habit"))
    return Game(side, side, World(flight="tabulated"), 4, stroke_limit=stroke_limit)


def serves(level: str, place: Place = RIGHT, hand: str = "right") -> np.ndarray:
    return play(game_of(level, hand), place, np.arange(COUNT))


def as_likely(count: int, of: int, share: float) -> bool:
    """Whether a count fits a share, at a false alarm in 100,000 tests."""
    return bool(stats.binomtest(int(count), int(of), share).pvalue > FALSE_ALARM)


@pytest.mark.parametrize("level", PLAYERS)
@pytest.mark.parametrize(("place", "hand"), [(RIGHT, "right"), (LEFT, "left")])
def test_serves_reach_the_box_across_over_the_net(level: str, place: Place, hand: str) -> None:
    """Landing within 2 cm, the flight table's own error and the search's, of a legal serve."""
    every = serves(level, place, hand)
    rows = every[every["outcome"] == IN]
    across = rows["landing_x_m"] * -np.sign(place.x_m)
    assert (across > -0.02).all() and (across < HALF_WIDTH_M + 0.02).all()
    assert (np.abs(rows["landing_y_m"]) < SERVICE_LINE_M + 0.02).all()
    assert (rows["landing_y_m"] < -3.0).all() and (rows["net_clearance_m"] >= 0.0).all()
    assert (every["kind"][every["outcome"] != IN] == SECOND_SERVE).all()


@pytest.mark.parametrize("level", ["professional-man", "under-12"])
def test_shares_in_are_as_stated(level: str) -> None:
    rows, hitter = serves(level), player(level).hitter
    second = rows["kind"] == SECOND_SERVE
    assert (rows["kind"][~second] == FIRST_SERVE).all()
    assert as_likely(second.sum(), COUNT, 1.0 - hitter.first_serve_in)
    landed = (rows["outcome"] == IN)[second]
    assert as_likely(landed.sum(), len(landed), hitter.second_serve_in)


def test_second_serves_are_slower() -> None:
    rows, hitter = serves("professional-man"), player("professional-man").hitter
    for kind, usual in ((FIRST_SERVE, "first_serve_m_s"), (SECOND_SERVE, "second_serve_m_s")):
        speed = rows["speed_m_s"][rows["kind"] == kind]
        assert np.median(speed) == pytest.approx(getattr(hitter, usual), rel=0.02)


@pytest.mark.parametrize("level", ["professional-man", "senior-65"])
def test_double_faults_go_into_the_net_long_or_wide(level: str) -> None:
    """Half of the second serves miss here, so that there are enough of them."""
    game = game_of(level)
    hitter = dataclasses.replace(game.opponent.player.hitter, first_serve_in=0, second_serve_in=0.5)
    server = dataclasses.replace(game.opponent.player, hitter=hitter)
    game = dataclasses.replace(game, opponent=dataclasses.replace(game.opponent, player=server))
    rows = play(game, LEFT, np.arange(COUNT))
    out = rows[rows["outcome"] != IN]
    assert as_likely(len(out), COUNT, 0.5)
    wide_share = 1.0 - INTO_NET - PAST_LINE
    for outcome, share in ((NET, INTO_NET), (LONG, PAST_LINE), (WIDE, wide_share)):
        assert as_likely((out["outcome"] == outcome).sum(), len(out), share)
    long = out[out["outcome"] == LONG]
    assert (np.abs(long["landing_y_m"]) > SERVICE_LINE_M).all()
    assert (np.abs(long["landing_y_m"]) < HALF_LENGTH_M).all()
    into = out["net_clearance_m"][out["outcome"] == NET]
    assert (into < 0.0).all() and (into > -0.92).all()


def test_a_double_fault_ends_the_point_for_the_receiver_and_both_engines_say_so() -> None:
    game = game_of("under-12", stroke_limit=60)
    rows = play(game, RIGHT, np.arange(60))
    for replicate in range(60):
        alone, told = play_rally(game, RIGHT, replicate)
        assert not differing_fields(alone, rows[rows["replicate"] == replicate])
        fault = alone["kind"][0] == SECOND_SERVE and alone["outcome"][0] != IN
        assert told[-1].text.endswith("double fault") == fault
        assert ("second serve" in told[0].text) == (alone["kind"][0] == SECOND_SERVE)
        if fault:
            assert len(alone) == 1 and told[-1].text.startswith("loses the point")
            assert (alone["side"][0], alone["ending"][0]) == (OPPONENT, UNFORCED_ERROR)
            assert not any("-" in h.text.split(" m, ")[-1] for h in told if "past" in h.text)
    single = np.bincount(rows["replicate"]) == 1
    assert 2 < single.sum() < 30


def test_a_left_hander_from_the_other_court_serves_the_mirror_image() -> None:
    one, other = serves("club-woman", RIGHT), serves("club-woman", LEFT, "left")
    for name in ("landing_x_m", "hitter_x_m"):
        assert np.abs(one[name] + other[name]).max() < 1e-9
    for name in ("landing_y_m", "speed_m_s", "net_clearance_m", "outcome", "kind"):
        assert np.abs(one[name] - other[name]).max() < 1e-9


def test_plain_serves_are_alike_at_all_levels_and_all_in() -> None:
    names = ["serve", "early-return"]
    for level in ("under-12", "professional-man"):
        rows = play(without(game_of(level), names), RIGHT, np.arange(COUNT))
        assert (rows["outcome"] == IN).all() and (rows["hitter_z_m"] == 2.8).all()
        assert as_likely((rows["kind"] == SECOND_SERVE).sum(), COUNT, 0.36)
        waits = np.abs(rows["receiver_y_m"]) - HALF_LENGTH_M
        assert np.abs(waits - player(level).waits_behind_m).max() < 1e-9


def test_levels_serve_in_order() -> None:
    """From children to professionals: harder, with more topspin, more exactly, more of them in."""
    rising = ["under-12", "under-14-girl", "elite-junior", "college-man", "professional-man"]
    hitters = [player(level).hitter for level in rising]
    for name in (
        "first_serve_m_s",
        "second_serve_m_s",
        "first_serve_in",
        "second_serve_in",
        "second_serve_topspin_rpm",
        "serve_height_m",
    ):
        values = [getattr(h, name) for h in hitters]
        assert values == sorted(values), name
    for name in ("serve_width_spread_m", "serve_depth_spread_m"):
        values = [getattr(h, name) for h in hitters]
        assert values == sorted(values, reverse=True), name
    for name, level in LEVELS.items():
        h = player(name).hitter
        assert h.first_serve_in < h.second_serve_in < 1.0
        assert h.serve_height_m == pytest.approx(1.5 * level.height_m.value, abs=0.006)


def test_the_returner_waits_between_the_ends_of_the_service_line() -> None:
    """By hand: from 0.6 m right of the centre, 11.885 m from the net, to a line 13.385 m behind."""
    assert LEFT.x_m == 0.6
    ends = [0.6 + (x - 0.6) * (11.885 + 13.385) / (11.885 + 6.4) for x in (0.0, -4.115)]
    assert return_x_m(LEFT, np.array([13.385]))[0] == pytest.approx(sum(ends) / 2)


def test_a_second_serve_is_awaited_and_met_nearer() -> None:
    rows = play(game_of("college-man"), RIGHT, np.arange(COUNT))
    who = player("college-man")
    second = rows["kind"] == SECOND_SERVE
    behind = who.waits_behind_m - who.legs.return_step_m - who.legs.second_return_step_m * second
    assert np.abs(np.abs(rows["receiver_y_m"]) - HALF_LENGTH_M - behind).max() < 1e-9
    patient = play(without(game_of("college-man"), ["early-return"]), RIGHT, np.arange(COUNT))
    for kind in (FIRST_SERVE, SECOND_SERVE):
        times = [
            r["meeting_time_s"][(r["kind"] == kind) & (r["time_to_spare_s"] >= 0)].mean()
            for r in (rows, patient)
        ]
        assert times[0] < times[1] - 0.03


def test_a_serve_leaves_the_rest_of_the_rally_to_the_players() -> None:
    rows = play(game_of("college-man", stroke_limit=60), RIGHT, np.arange(300))
    returns = rows[rows["stroke"] == 1]
    assert len(returns) > 150
    assert returns["hitter_quality"].mean() < 0.9, "a serve hurries the returner"
    later = rows[rows["stroke"] > 1]
    assert len(later) > 300 and (later["kind"] < FIRST_SERVE).all()
