"""Drop shots and approaches against who is too far back, and passing shots to the open side."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from engine_games import SEED, differing_fields

from sim.additions import player_without
from sim.array_engine import play
from sim.chance import SHOT, uniforms
from sim.contracts import ShotSituation, bodies_at, contacts_at, intents_of
from sim.court import HALF_LENGTH_M
from sim.event_engine import play_rally
from sim.exchange import Game, Place, Side
from sim.kinds import APPROACH, DROP_SHOT, PASSING_SHOT
from sim.net_place import halfway_x_m
from sim.players import Player, player
from sim.stroke import ERROR_DRAWS, strike
from sim.surface import SURFACES
from sim.world import World
from strategies.catalogue import make_policy, make_shot_model
from strategies.variety import late_for_drop_s

WORLD = World(flight="tabulated")
COLLEGE = player("college-man")
COUNT = 4000
AWAY_M, ACROSS_M = 9.5, 1.0


def facing(
    receiver_x_m: float, receiver_y_m: float, opponent: Player = COLLEGE, me: Player = COLLEGE
) -> ShotSituation:
    """Many times one unhurried ball well inside the baseline, and a receiver at rest."""
    x, y = np.full(COUNT, ACROSS_M), np.full(COUNT, -AWAY_M)
    contact = contacts_at(x, y, np.ones(COUNT), np.ones(COUNT, np.int64))
    body = bodies_at(np.full(COUNT, receiver_x_m), np.full(COUNT, receiver_y_m))
    return ShotSituation(me, opponent, WORLD.turned_numbers, contact, body)


def shares(words: str, seen: ShotSituation, kind: int) -> float:
    shots = make_shot_model(words)
    chance = uniforms(5, np.arange(len(seen)), SHOT, 0, shots.draws)
    return float((shots.intents(seen, chance)["kind"] == kind).mean())


@pytest.mark.parametrize(
    ("words", "kind"),
    [("habit,drop_when_far=0.5", DROP_SHOT), ("habit,approach_when_far=0.9", APPROACH)],
)
def test_the_farther_back_the_receiver_the_more_short_balls(words: str, kind: int) -> None:
    depths = HALF_LENGTH_M + np.array([-3.0, 0.0, 1.0, 2.0, 3.0, 4.0, 6.0])
    found = np.array([shares(words, facing(0.0, float(y)), kind) for y in depths])
    own = np.array([shares("habit", facing(0.0, float(y)), kind) for y in depths])
    assert len(set(own)) == 1  # who does not look plays the hitter's own share
    assert found[0] == own[0]
    assert np.all(np.diff(found) >= 0.0)
    assert found[-1] > own[-1] + 0.2


def test_the_share_has_no_edge_in_the_receivers_place() -> None:
    """A tenth of a metre moves it by less than a tenth; chance is the same on both sides."""
    y = HALF_LENGTH_M + np.arange(-2.0, 6.0, 0.1)
    found = [shares("habit,drop_when_far=1", facing(0.0, float(v)), DROP_SHOT) for v in y]
    assert np.abs(np.diff(found)).max() < 0.1
    assert max(found) > 0.8


def test_a_slow_receiver_is_too_far_back_sooner() -> None:
    place = 0.0, HALF_LENGTH_M + 1.0
    by_level = [
        shares("habit,drop_when_far=1", facing(*place, opponent=player(level)), DROP_SHOT)
        for level in ("professional-man", "club-woman", "senior-65")
    ]
    assert by_level == sorted(by_level)
    assert by_level[-1] > by_level[0] + 0.3


def test_who_has_no_drop_shot_plays_none_and_nobody_loses_the_others() -> None:
    seen = facing(0.0, HALF_LENGTH_M + 5.0, me=player_without(COLLEGE, ["drop-shot"]))
    assert shares("habit,drop_when_far=1", seen, DROP_SHOT) == 0.0
    without = facing(0.0, HALF_LENGTH_M + 5.0, me=player_without(COLLEGE, ["approach"]))
    assert shares("habit,approach_when_far=1", without, APPROACH) == 0.0


@pytest.mark.parametrize("surface", ["hard", "clay", "grass"])
def test_the_reckoning_is_near_the_balls_of_the_model(surface: str) -> None:
    """How long a drop shot lives, against the integrated flight of one struck without error."""
    world = World(SURFACES[surface])
    hitter, legs = COLLEGE.hitter, COLLEGE.legs
    seen = facing(0.0, HALF_LENGTH_M)
    body = bodies_at(np.zeros(1), np.full(1, HALF_LENGTH_M))[0]
    depth, loft = (
        hitter.repertoire.drop_depth_m,
        float(hitter.numbers["kind_loft_rad"][0][DROP_SHOT]),
    )
    for away in (7.0, 9.0, 11.0, 12.5):
        contact = seen.contact[:1].copy()
        contact["y_m"] = -away
        reckoned = late_for_drop_s(
            contact[0], body, -2.0, depth, loft, legs.numbers[0], legs.times[0]
        )
        wish = intents_of(
            np.full(1, -2.0), np.full(1, depth), np.full(1, 20.0), np.zeros(1), 0.0, DROP_SHOT
        )
        exact = hitter.exact_numbers, world.numbers
        ball, _ = strike(contact, wish, np.full((1, ERROR_DRAWS), 0.5), *exact)
        lives_s, ends_m = (
            float(ball["second_bounce_time_s"][0]),
            -float(ball["second_bounce_y_m"][0]),
        )
        run = math.hypot(2.0, HALF_LENGTH_M - ends_m) - legs.full_reach_m
        nodes = np.linspace(0.0, 6.0, 6001)
        needs_s = legs.reaction_s + np.interp(run, legs.distance_run_m(nodes), nodes)
        assert reckoned == pytest.approx(needs_s - lives_s, abs=0.25)


def passed_right(x_m: float, y_m: float, away: float, hand: str = "right") -> float:
    """Share of passing shots that go to the hitter's right of a net player at (x, y)."""
    seen = facing(x_m, y_m, me=player("college-man", hand))
    shots = make_shot_model(f"habit,pass_away={away:g}")
    wish = shots.intents(seen, uniforms(5, np.arange(COUNT), SHOT, 0, shots.draws))
    passing = wish[wish["kind"] == PASSING_SHOT]
    assert len(passing) > COUNT / 4
    return float((passing["target_x_m"] > 0.0).mean())


def test_passing_shots_go_where_the_net_player_is_not() -> None:
    middle = -float(halfway_x_m(-ACROSS_M, AWAY_M, 3.0))
    shares_right = [passed_right(middle + off, 3.0, 1.0) for off in (-3.0, -1.0, 0.0, 1.0, 3.0)]
    assert shares_right == sorted(shares_right, reverse=True)
    assert shares_right[0] > 0.97
    assert shares_right[2] == pytest.approx(0.5, abs=0.03)
    assert shares_right[-1] < 0.03


def test_who_does_not_look_passes_by_habit() -> None:
    assert passed_right(-2.0, 3.0, 0.0) == passed_right(2.0, 3.0, 0.0)


def test_a_model_that_looks_says_so() -> None:
    assert not make_shot_model("habit").sees_receiver
    assert make_shot_model("habit,drop_when_far=0.1").sees_receiver
    assert make_shot_model("habit,approach_when_far=0.1").sees_receiver
    assert make_shot_model("attentive").sees_receiver


def test_both_engines_play_the_same_points_with_short_balls() -> None:
    shots = make_shot_model("attentive,drop_when_far=0.6,approach_when_far=0.6,pass_away=0.7")
    side = Side(COLLEGE, make_policy("bisector"), shots, 3.0)
    game = Game(side, dataclasses.replace(side, depth_m=4.0), WORLD, SEED)
    place = Place("short ball", 0.5, 9.5)
    rows = play(game, place, np.arange(40))
    assert {DROP_SHOT, PASSING_SHOT} <= set(rows["kind"])
    alone = np.concatenate([play_rally(game, place, replicate)[0] for replicate in range(40)])
    assert differing_fields(rows, alone) == []
