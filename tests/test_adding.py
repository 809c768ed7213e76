"""What every level, surface, ball, recovery policy and shot model must hold, found by itself.

One that is added to its list is tested here without a change to any test; what a policy or a shot
model decides is looked at by tests/test_contract.py in the same way.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import cache

import numpy as np
import pytest

from experiments.answers.player.answer import Measures, estimate
from experiments.answers.shot.answer import ShotQuestion, play_shot
from experiments.answers.spot.answer import find_spot
from experiments.balls.spots import with_own
from experiments.command.listing import lines
from experiments.scene.people import opponent_words, world_of
from experiments.scene.player_rules import RULES
from experiments.scene.player_schema import made
from experiments.scene.scene import scene_of
from sim.ball import BALLS, ball, ball_parameters
from sim.exchange import Place
from sim.level import SPREAD, Level
from sim.levels import LEVELS
from sim.parameter import STATUSES, ParameterRow, parameter_rows
from sim.players import PLAYERS, ball_of, player, player_parameters
from sim.preset import Own, by_name, preset
from sim.surface import SURFACES, surface, surface_parameters
from sim.world import World
from strategies.catalogue import POLICIES, SHOT_MODELS, make_policy, make_shot_model

CORNER = Place("corner", 3.115, 11.885)
BALLS_STRUCK = 100


@cache
def listed(what: str) -> list[str]:
    """The names that `list` shows of a kind."""
    return [line.split()[0] for line in lines(what)]


def require_sound(rows: Iterable[ParameterRow]) -> None:
    """Finite values inside their ranges, with a status, and a source unless simply assumed."""
    for row in rows:
        assert math.isfinite(row.value) and row.low < row.high, row
        assert row.low <= row.value <= row.high, row
        assert row.unit and row.about and row.status in STATUSES, row
        assert row.source or row.status == "assumed", row
        assert bool(row.fitted_to) == (row.status == "fitted"), row


def require_stated(values: Iterable[Own]) -> None:
    """A value with a status of its own says where it comes from."""
    for own in values:
        assert bool(own.status) == bool(own.source), own


def found(level: str, hitter: str = "habit", policies: Iterable[str] = ("middle",)) -> None:
    """Ask where to stand; every policy gets an answer and balls land in."""
    many = [make_policy(name) for name in policies]
    result = find_spot(scene_of(player=level, hitter=hitter, balls=BALLS_STRUCK, seed=1), many)
    assert [p.name for p in result.policies] == [p.name for p in many]
    assert 0.6 * BALLS_STRUCK < result.landed_in <= BALLS_STRUCK
    assert 0.0 <= result.best.share <= 1.0 and abs(result.best.x_m) < 5.0


@pytest.mark.parametrize("name", LEVELS)
def test_level_is_whole(name: str) -> None:
    level = LEVELS[name]
    assert level.name == name and set(SPREAD) <= set(level.own)
    general = {r.name: r for part in parts(name) for r in parameter_rows(name, part)}
    assert set(level.own) <= set(general), "a parameter that no player has"
    require_sound(player_parameters(player(name)))
    for row in player_parameters(player(name)):
        assert general[row.name].low <= row.low and row.high <= general[row.name].high, row
    require_stated([*level.own.values(), level.height_m])
    assert 1.2 < level.height_m.value < 2.1 and level.height_m.status
    assert level.ball in BALLS and set(level.waits_on) <= set(SURFACES)
    assert [text for text, keeps in RULES if not keeps(player(name))] == []


def parts(level: str) -> tuple[object, ...]:
    who = PLAYERS[level]
    return who, who.legs, who.hitter, who.hitter.repertoire


@pytest.mark.parametrize("name", LEVELS)
def test_level_is_played_listed_and_measured_from(name: str) -> None:
    assert name in listed("players")
    assert player(name, "left").with_hand("right") == player(name) == PLAYERS[name]
    found(name)
    file = estimate(Measures("Anna", name, height_m=1.6, sprints={10.0: [2.0]})).file
    anna = made(file, PLAYERS[name])
    assert (anna.base_level, ball_of(anna)) == (name, ball_of(player(name)))


@pytest.mark.parametrize("name", LEVELS)
def test_answers_say_which_ball_is_played_where_it_is_another(name: str) -> None:
    me = player(name)
    world = world_of("hard", me)
    words = opponent_words(me, "habit", world.ball)
    assert world.ball.name == LEVELS[name].ball
    assert words.endswith(f"with the {world.ball.name} ball") == (world.ball != BALLS["medium"])


@pytest.mark.parametrize("name", SURFACES)
def test_surface_is_whole(name: str) -> None:
    assert surface(name.upper()) is SURFACES[name] and SURFACES[name].name == name
    assert name in listed("surfaces")
    require_sound(surface_parameters(SURFACES[name]))
    require_played(World(SURFACES[name]))


@pytest.mark.parametrize("name", BALLS)
def test_ball_is_whole(name: str) -> None:
    assert ball(name.upper()) is BALLS[name] and BALLS[name].name == name
    assert name in listed("balls")
    require_sound(ball_parameters(BALLS[name]))
    require_played(world_of("hard", ball=name))


def require_played(world: World) -> None:
    """A drive that lands in, leaves the ground slower and bounces a second time."""
    shot = play_shot(ShotQuestion((0.0, -11.885, 1.0), 25.0, world, (0.0, 8.0), topspin_rpm=1500.0))
    numbers = [v for v in shot.as_json().values() if isinstance(v, float)]
    assert len(numbers) > 5 and np.isfinite(numbers).all()


@pytest.mark.parametrize("name", POLICIES)
def test_policy_is_listed_and_named(name: str) -> None:
    assert name in listed("policies")
    policy = make_policy(name)
    assert type(policy) is POLICIES[name] and policy.name.split()[0] == name
    require_sound(parameter_rows(name, policy))


def test_every_policy_that_has_a_spot_is_placed() -> None:
    found("college-man", policies=[name for name in POLICIES if make_policy(name) in with_own([])])


@pytest.mark.parametrize("name", SHOT_MODELS)
def test_shot_model_is_listed_named_and_played(name: str) -> None:
    assert name in listed("shots")
    model = make_shot_model(name)
    assert type(model) is SHOT_MODELS[name] and model.name.split()[0] == name
    require_sound(parameter_rows(name, model))
    found("college-man", hitter=name)


def test_names_are_said_once() -> None:
    """A level is no surface, and a policy no shot model: lists and results show names alone."""
    names = [*PLAYERS, *SURFACES, *POLICIES, *SHOT_MODELS]
    assert len(set(names)) == len(names)
    with pytest.raises(ValueError, match="two presets of one name"):
        by_name(preset("clay", friction=0.7), preset("clay", friction=0.6))


def test_a_record_is_checked_when_it_is_made() -> None:
    with pytest.raises(ValueError, match="a source without a status"):
        Own(1.0, source="a table")
    with pytest.raises(ValueError, match="both or neither"):
        Own(1.0, source="a table", status="fitted")
    assert isinstance(next(iter(LEVELS.values())), Level)
