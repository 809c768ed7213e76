"""Where a struck ball is at each moment, from the strike until it is met or dead."""

from __future__ import annotations

import numpy as np

from experiments.answers.replay.exchanges import Exchange
from sim.event_words import over_the_net
from sim.exchange import Game
from sim.flight import trace
from sim.records import BALL, IN, PATH_POINTS, STUDIED, T, X, Y, Z


def ball_way(exchange: Exchange, game: Game) -> np.ndarray:
    """Seconds after the strike, x, y and height of a ball, shape (n, 4), times rising.

    In the studied player's frame; between two of its points the ball goes straight. It ends where
    the ball is met, else at the net that it hits, at its landing out of court, or at its second
    bounce. The landing is one of the points. Of a flight longer than a path holds (2.4 s) the rest
    is straight.
    """
    world = game.world_of(1 - exchange.hitter)
    way = np.vstack([_flight(exchange, world), _after_bounce(exchange)])
    end = _end_s(exchange, world)
    last = [end, *(np.interp(end, way[:, 0], way[:, k]) for k in (1, 2, 3))]
    way = np.vstack([way[way[:, 0] < end], last])
    if exchange.hitter == STUDIED:  # the receiver's frame is the opponent's
        way[:, 1:3] *= -1.0
    return way


def _flight(exchange: Exchange, world: np.ndarray) -> np.ndarray:
    """From the strike to the ground, the landing included."""
    b, path = exchange.ball[0], np.empty((PATH_POINTS, 5))
    start = [float(b[name]) for name in (BALL.names or ())[:9]]
    count = trace(0.0, *start, world[0], path)[0]
    flown = path[:count][:, [T, X, Y, Z]]
    landing = [b[f"landing_{name}"] for name in ("time_s", "x_m", "y_m")]
    before = flown[flown[:, 0] < landing[0] - 1e-9]
    return np.vstack([before, [*landing, float(world["radius_m"][0])]])


def _after_bounce(exchange: Exchange) -> np.ndarray:
    """From the bounce to the second one, the landing left out."""
    b = exchange.ball[0]
    samples = exchange.path[1 : b["points"]][:, [T, X, Y, Z]]
    second = [b[f"second_bounce_{name}"] for name in ("time_s", "x_m", "y_m")]
    radius_m = exchange.path[0, Z]
    return np.vstack([samples[samples[:, 0] < second[0] - 1e-9], [*second, radius_m]])


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
