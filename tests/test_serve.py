"""Serves: in the box across, at the hitter's speeds, first and second as often as stated."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from sim.array_engine import play
from sim.court import HALF_WIDTH_M, SERVICE_LINE_M
from sim.exchange import Game, Place, Side, return_x_m
from sim.players import PLAYERS, player
from sim.records import IN
from sim.world import World
from strategies.catalogue import make_policy, make_shot_model
from strategies.shots.serve import Serve, serve_places

COUNT = 2000
FALSE_ALARM = 1e-5


def first_strokes(level: str, place: Place) -> np.ndarray:
    side = Side(player(level), make_policy("middle"), make_shot_model("habit"))
    game = Game(side, side, World(flight="tabulated"), 4, stroke_limit=1)
    return play(game, place, np.arange(COUNT))


@pytest.mark.parametrize("level", PLAYERS)
@pytest.mark.parametrize("place", serve_places(), ids=lambda p: p.name)
def test_serves_land_in_the_box_across(level: str, place: Place) -> None:
    """Landing within 2 cm, the flight table's own error and the search's, of a legal serve."""
    rows = first_strokes(level, place)
    assert (rows["outcome"] == IN).all()
    across = rows["landing_x_m"] * -np.sign(place.x_m)
    assert (across > -0.02).all() and (across < HALF_WIDTH_M + 0.02).all()
    assert (rows["landing_y_m"] > -SERVICE_LINE_M - 0.02).all()
    assert (rows["landing_y_m"] < 0.0).all()


def test_second_serves_are_as_frequent_as_stated_and_slower() -> None:
    rows = first_strokes("professional-man", serve_places()[0])
    hitter = player("professional-man").hitter
    means = np.array([hitter.first_serve_m_s, hitter.second_serve_m_s])
    bound, serve = means.mean(), Serve()
    below = stats.norm.cdf((bound / means - 1.0) / serve.speed_spread)
    expected = (1 - serve.second_share) * below[0] + serve.second_share * below[1]
    slow = int((rows["speed_m_s"] < bound).sum())
    assert stats.binomtest(slow, COUNT, expected).pvalue > FALSE_ALARM


def test_the_returner_waits_between_the_ends_of_the_service_line() -> None:
    """By hand: from 0.6 m right of the centre, 11.885 m from the net, to a line 13.385 m behind."""
    place = serve_places()[1]
    assert place.x_m == 0.6
    ends = [0.6 + (x - 0.6) * (11.885 + 13.385) / (11.885 + 6.4) for x in (0.0, -4.115)]
    assert return_x_m(place, np.array([13.385]))[0] == pytest.approx(sum(ends) / 2)


def test_a_serve_leaves_the_rest_of_the_rally_to_the_players() -> None:
    side = Side(player("college-man"), make_policy("middle"), make_shot_model("habit"))
    game = Game(side, side, World(flight="tabulated"), 4)
    rows = play(game, serve_places()[0], np.arange(300))
    returns = rows[rows["stroke"] == 1]
    assert len(returns) > 150
    assert returns["hitter_quality"].mean() < 0.9, "a serve hurries the returner"
    later = rows[rows["stroke"] > 1]
    assert len(later) > 300 and (later["speed_m_s"] < 40).all()
