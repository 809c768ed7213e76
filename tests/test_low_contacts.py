"""Low contacts: the topspin that the height allows, in openings, rallies and answers alike."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from experiments.answers.angle.answer import drives_of
from experiments.balls.own_drive import own_contact, own_drive
from experiments.scene.scene import scene_of
from experiments.study.file import load_study
from sim.array_engine import play
from sim.contracts import bodies_at
from sim.exchange import Place, opening_contact, strike_balls
from sim.hitter import Hitter, usable_topspins
from sim.players import PLAYERS
from sim.records import OPPONENT

RAD_S = 1e-9
STUDY = load_study()


def usable(topspin: np.ndarray | float, z_m: np.ndarray | float) -> np.ndarray:
    return usable_topspins(topspin, z_m, Hitter().numbers)


def topspin_of(balls: np.ndarray) -> np.ndarray:
    """Spin about the level axis across the flight: positive topspin."""
    vx, vy = balls["vx_m_s"], balls["vy_m_s"]
    across = balls["spin_y_rad_s"] * vx - balls["spin_x_rad_s"] * vy
    return np.asarray(across / np.hypot(vx, vy))


def test_a_low_contact_allows_no_topspin_and_an_ordinary_one_all() -> None:
    for someone in PLAYERS.values():
        numbers = someone.hitter.numbers
        usual = someone.hitter.topspin_rad_s(np.array([1, -1]))
        for low_m in (0.0, 0.1, someone.hitter.no_topspin_height_m):
            assert usable_topspins(usual, low_m, numbers).tolist() == [0.0, 0.0]
        assert usable_topspins(usual, 0.7, numbers).tolist() == usual.tolist()


def test_topspin_grows_with_the_height_without_an_edge() -> None:
    z = np.linspace(0.0, 1.0, 10_001)
    for wished in (50.0, 150.0, 300.0):
        spin = usable(wished, z)
        step = np.diff(spin)
        assert step.min() >= 0.0 and step.max() <= 0.08 + RAD_S  # 0.1 mm of 7500 rpm/m
        assert spin[0] == 0.0 and spin[-1] == wished
        np.testing.assert_array_equal(usable(spin, z), spin)  # asked twice, the same


def test_backspin_does_not_depend_on_the_height() -> None:
    assert usable(-100.0, np.array([0.05, 0.3, 1.0])).tolist() == [-100.0] * 3


@pytest.mark.parametrize("model", ["habit", "any-allowed", "pressing", "open-court"])
def test_no_opening_ball_has_more_topspin_than_its_height_allows(model: str) -> None:
    game = STUDY.game("college-man", model, "middle", seed=3)
    hitter, rows = game.opponent.player.hitter.numbers, np.arange(200)
    for z_m in (0.1, 0.3, 0.45, 1.0):
        place = Place("low", 3.115, 11.885, z_m)
        contact = opening_contact(place, game.opponent, 200)
        body = bodies_at(np.zeros(200), np.full(200, -13.0))
        balls, _ = strike_balls(game, OPPONENT, contact, body, rows, 0)
        spin = topspin_of(balls)
        assert spin.max() <= usable_topspins(1e3, z_m, hitter) + RAD_S
        assert z_m < 0.7 or spin.max() > 200.0


def test_low_balls_of_rallies_have_no_topspin() -> None:
    """In a rally as at its start: what a low ball does is what it does without any spin."""
    game = STUDY.game("college-man", "habit", "middle", seed=4)
    place = Place("corner", 3.115, 11.885)
    flat = {}
    for topspin_rpm in (0.0, 2500.0):
        ability = dataclasses.replace(
            game.opponent.player.hitter,
            forehand_topspin_rpm=topspin_rpm,
            backhand_topspin_rpm=topspin_rpm,
            least_topspin_rpm=0.0,
            no_topspin_height_m=10.0,
        )
        someone = dataclasses.replace(game.opponent.player, hitter=ability)
        side = dataclasses.replace(game.opponent, player=someone)
        flat[topspin_rpm] = play(dataclasses.replace(game, opponent=side), place, np.arange(100))
    assert len(flat[0.0]) > 150
    assert flat[2500.0].tobytes() == flat[0.0].tobytes()


def test_own_drives_and_fans_have_the_topspin_that_the_height_allows() -> None:
    game = STUDY.game("college-man", "habit", "middle", seed=1)
    ball, _ = own_drive(game, own_contact(game, 2.0, -12.0, 0.15), 0.0, 8.0)
    assert abs(topspin_of(ball)[0]) < RAD_S
    low, usual = (drives_of(scene_of((3.0, 11.9), z_m, player="college-man")) for z_m in (0.1, 1.0))
    assert low["topspin_rad_s"].max() == 0.0 < usual["topspin_rad_s"].min()
