"""The chance that a reached ball comes back: smooth, none at a touch, less when stretched."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from ordinary_drives import drives, hanging, landed_in

from sim.array_engine import play
from sim.contracts import bodies_at
from sim.exchange import Game, Place, Side
from sim.legs import Legs
from sim.meeting import BALANCED, MOST_TIME, meetings
from sim.players import player
from sim.records import IN, MISSED, UNRETURNED
from sim.reply import chance_of_reply
from sim.world import World
from strategies.catalogue import make_policy, make_shot_model

LEGS = Legs()


def chance(spare_s: float, stretch: float = 0.0, comfort: float = 1.0, legs: Legs = LEGS) -> float:
    return float(chance_of_reply(spare_s, stretch, comfort, legs.numbers[0]))


def test_a_ball_just_touched_never_comes_back_and_an_easy_one_always() -> None:
    assert chance(0.0) == 0.0
    assert chance(LEGS.control_time_s) == pytest.approx(1 - math.exp(-1))
    assert chance(2.0) == pytest.approx(1.0, abs=1e-9)


def test_stretch_and_height_cost_their_stated_shares() -> None:
    assert chance(2.0, stretch=1.0) == pytest.approx(1 - LEGS.control_reach_loss)
    assert chance(2.0, comfort=0.0) == pytest.approx(1 - LEGS.control_height_loss)
    assert chance(2.0, stretch=0.5) == pytest.approx(1 - 0.25 * LEGS.control_reach_loss)


def test_no_control_time_is_the_cliff() -> None:
    """The option to count every arrival as a return."""
    cliff = dataclasses.replace(
        LEGS, control_time_s=0.0, control_reach_loss=0.0, control_height_loss=0.0
    )
    assert chance(0.0, 1.0, 0.0, cliff) == 1.0


def test_the_chance_grows_smoothly_along_a_row_of_balls() -> None:
    """Balls that hang farther and farther away: no jump until none is reached."""
    away, bodies = np.linspace(0.0, 6.0, 1201), bodies_at(np.zeros(1201), np.full(1201, -13.0))
    flown = hanging(away, np.full(1201, -13.0), 1.2)
    for rule in (MOST_TIME, BALANCED):
        met = meetings(*flown, bodies, LEGS.numbers, LEGS.times, rule)
        reply = met["reply_chance"]
        assert reply[0] > 0.99 and (reply[met["grade"] == MISSED] == 0.0).all()
        assert (met["grade"] == MISSED).any()
        assert np.abs(np.diff(reply)).max() < 0.05, "a cliff"
        # A player who weighs may wait a little longer for the farther ball.
        assert np.diff(reply).max() <= (1e-9 if rule == MOST_TIME else 0.02), "farther is easier"


def test_missed_balls_have_no_chance_and_reached_ones_have_some() -> None:
    balls, paths = landed_in(drives(400, "college-man", seed=4), 300)
    bodies = bodies_at(np.linspace(-5, 5, 300), np.full(300, -13.0))
    met = meetings(balls, paths, bodies, LEGS.numbers, LEGS.times)
    missed = met["grade"] == MISSED
    assert missed.any() and (met["reply_chance"][missed] == 0.0).all()
    reached = met["reply_chance"][~missed]
    assert ((reached > 0.0) & (reached <= 1.0)).all() and reached.min() < 0.5 < reached.max()


def test_balls_are_returned_at_the_stated_chance() -> None:
    """Of reached balls, as many go unreturned as the sum of their chances says.

    The count is a sum of independent draws: standardised, it stays inside five sigmas.
    """
    side = Side(player("college-man"), make_policy("middle"), make_shot_model("pressing"))
    rows = play(Game(side, side, World(flight="tabulated"), 5), Place("p", 3.1, 11.9), range(3000))
    reached = rows[(rows["outcome"] == IN) & (rows["grade"] != MISSED)]
    p = 1.0 - reached["reply_chance"]
    lost = (reached["ending"] == UNRETURNED).sum()
    z = (lost - p.sum()) / math.sqrt((p * (1 - p)).sum())
    assert abs(z) < 5.0 and lost > 200
