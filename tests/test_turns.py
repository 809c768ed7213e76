"""A rally taken turn by turn: stopped before each decision, and gone on with, to the same bits."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from engine_games import GAMES

from experiments.study.stopped import end_to_end, some_of
from sim.array_engine import in_order, play
from sim.contracts import aims_of
from sim.exchange import Game, Place, placed_spots
from sim.records import GOING, IN, PATH_POINTS, STROKE, STROKE_LIMIT
from sim.turns import Pause, opened, paused, recovered, struck

COUNT = 40
LONG = [name for name in GAMES if name not in ("stopped early", "depth and effort")]


def by_hand(game: Game, place: Place, numbers: np.ndarray) -> np.ndarray:
    """The rallies with every aim asked of the policies here, outside the engine."""
    first = opened(game, place, numbers)
    spots = np.repeat(placed_spots(game, first.contact[:1]), len(numbers), axis=0)
    strike, serve, rows = opened(game, place, numbers, spots), place.serve, []
    while len(strike):
        stroke = struck(game, strike, serve)
        rows.append(stroke.rows)
        pause = paused(strike, stroke)
        policy = game.sides(pause.side)[0].policy
        strike, serve = (
            recovered(game, pause, np.column_stack(aims_of(policy, pause.seen(game)))),
            None,
        )
    return in_order(rows)


@pytest.mark.parametrize("name", GAMES)
def test_aims_from_outside_play_the_same_rallies(name: str) -> None:
    game, place = GAMES[name]
    assert (
        by_hand(game, place, np.arange(COUNT)).tobytes()
        == play(game, place, np.arange(COUNT)).tobytes()
    )


def pauses(game: Game, place: Place) -> list[Pause]:
    """The stops of both sides by stroke number."""
    strike, serve, out = opened(game, place, np.arange(COUNT)), place.serve, []
    while len(strike):
        stroke = struck(game, strike, serve)
        out.append(paused(strike, stroke))
        strike, serve = recovered(game, out[-1]), None
    return out


@pytest.mark.parametrize("name", LONG)
def test_rallies_at_different_strokes_go_on_together_as_they_do_alone(name: str) -> None:
    game, place = GAMES[name]
    own = [p for p in pauses(game, place) if len(p) and p.side == 0][:3]
    assert len(own) >= 2
    whole = end_to_end(own)
    order = np.random.default_rng(1).permutation(len(whole))
    mixed = some_of(whole, order)
    together = struck(game, recovered(game, mixed)).rows
    alone = np.concatenate([struck(game, recovered(game, p)).rows for p in own])
    assert together.tobytes() == alone[order].astype(STROKE).tobytes()
    assert set(together["stroke"]) == {int(p.stroke[0]) for p in own}


def test_a_rally_is_stopped_at_its_last_stroke_whatever_the_others_are_at() -> None:
    game, place = GAMES["habits on hard"]
    own = [p for p in pauses(game, place) if len(p) and p.side == 0][:2]
    short = dataclasses.replace(game, stroke_limit=int(own[1].stroke[0]) + 1)
    rows = struck(short, recovered(short, end_to_end(own))).rows
    late = rows["stroke"] == own[1].stroke[0]
    assert late.any() and not late.all()
    assert (rows["ending"][late] != GOING).all()
    assert (rows["ending"][~late] != STROKE_LIMIT).all()


def test_other_aims_change_the_places_and_not_the_ball_of_a_hitter_who_does_not_look() -> None:
    game, place = GAMES["habits on hard"]
    pause = next(p for p in pauses(game, place) if len(p) and p.side == 0)
    assert not game.opponent.shots.sees_receiver
    here = recovered(game, pause)
    there = recovered(game, pause, here.receiver.spots + np.array([0.5, -0.5]))
    assert not np.array_equal(here.receiver.body["x_m"], there.receiver.body["x_m"])
    a, b = struck(game, here).rows, struck(game, there).rows
    assert np.array_equal(a["landing_x_m"], b["landing_x_m"], equal_nan=True)
    assert not np.array_equal(a["time_to_spare_s"], b["time_to_spare_s"], equal_nan=True)


def test_paths_are_whole_where_they_are_asked_for() -> None:
    game, place = GAMES["habits on hard"]
    strike = opened(game, place, np.arange(COUNT))
    paths = np.full((COUNT, PATH_POINTS, 5), np.nan)
    with_paths = struck(game, strike, place.serve, paths)
    assert with_paths.rows.tobytes() == struck(game, strike, place.serve).rows.tobytes()
    out = with_paths.rows["outcome"] != IN
    assert out.any() and (with_paths.balls["points"][out] > 1).all()
    assert np.isfinite(paths[:, 0]).all()
