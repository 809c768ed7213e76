"""Where a struck ball is at each moment, from the strike until it is met or dead."""

from __future__ import annotations

import numpy as np

from experiments.answers.replay.exchanges import Exchange
from experiments.balls.angle import traced
from sim.event_words import over_the_net
from sim.exchange import Game
from sim.records import IN, STUDIED


def ball_way(exchange: Exchange, game: Game) -> np.ndarray:
    """Seconds after the strike, x, y and height of a ball, shape (n, 4), times rising.

    In the studied player's frame; between two of its points the ball goes straight. It ends where
    the ball is met, else at the net that it hits, at its landing out of court, or at its second
    bounce. The landing is one of the points. Of a flight longer than a path holds (2.4 s) the rest
    is straight.
    """
    world = game.world_of(1 - exchange.hitter)
    way = traced(exchange.ball[0], exchange.path, world)
    way = way[np.append(True, np.diff(way[:, 0]) > 1e-9)]  # both parts hold the bounce
    end = _end_s(exchange, world)
    last = [end, *(np.interp(end, way[:, 0], way[:, k]) for k in (1, 2, 3))]
    way = np.vstack([way[way[:, 0] < end], last])
    if exchange.hitter == STUDIED:  # the receiver's frame is the opponent's
        way[:, 1:3] *= -1.0
    return way


def _end_s(exchange: Exchange, world: np.ndarray) -> float:
    """When the stroke is over, after the strike."""
    b, m = exchange.ball[0], exchange.meeting[0]
    if b["outcome"] == IN:
        met = m["time_to_spare_s"] >= 0.0
        return float(m["time_s"] if met else b["second_bounce_time_s"])
    crossing = over_the_net(exchange.hitter, exchange.ball, world)
    if crossing is not None and crossing[1] == "net fault":
        return crossing[0]
    return float(b["landing_time_s"])
