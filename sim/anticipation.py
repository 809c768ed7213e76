"""Anticipation: a player sometimes starts on what was read before the ball is struck.

Out of place, or where the ball will ask for a fast run, a start is likelier. It is a velocity
across the court at the strike and a reaction that is shorter, or longer where the wrong side was
read.
"""

from __future__ import annotations

import math

import numpy as np

from sim.compiled import kernel
from sim.records import IN

LEAST_SPEED_M_S = 0.5  # along the court, of a ball that hardly leaves its bounce


@kernel
def passing(ball, y):  # type: ignore[no-untyped-def]
    """Where and when (x, time) a BALL passes a body at depth `y`, in the receiver's frame.

    Straight from the strike to the bounce, and from there on as it leaves the ground.
    """
    beyond = ball.landing_y_m - y
    if beyond >= 0.0:
        time = beyond / max(-ball.bounce_vy_m_s, LEAST_SPEED_M_S)
        return ball.landing_x_m + ball.bounce_vx_m_s * time, ball.landing_time_s + time
    share = (ball.y_m - y) / (ball.y_m - ball.landing_y_m)
    return ball.x_m + share * (ball.landing_x_m - ball.x_m), share * ball.landing_time_s


@kernel
def asked_for(ball, body):  # type: ignore[no-untyped-def]
    """How far a ball passes to the right of a BODY, and the mean speed that this asks for.

    None of both for a ball that does not land in.
    """
    if ball.outcome != IN:
        return 0.0, 0.0
    x, time = passing(ball, body.y_m)
    way = x - body.x_m
    return way, abs(way) / max(time, 1e-9)


@kernel
def start_share(off, need, legs):  # type: ignore[no-untyped-def]
    """Chance of a start, `off` metres from the own spot, for a ball that asks for `need` m/s."""
    share = legs.guess_share * off / (off + legs.guess_half_m)
    haste = (need / legs.early_half_m_s) ** 4
    return share + legs.early_share * haste / (1.0 + haste)


@kernel
def fill_starts(balls, bodies, spots, chance, legs, guess_s, start_vx_m_s):  # type: ignore[no-untyped-def]
    """Fill what a start adds to the reaction (s) and to the velocity (m/s): see `starts`."""
    own = legs[0]
    for i in range(guess_s.size):
        dx, dy = bodies[i].x_m - spots[i, 0], bodies[i].y_m - spots[i, 1]
        way, need = asked_for(balls[i], bodies[i])
        guess_s[i], start_vx_m_s[i] = 0.0, 0.0
        if chance[i, 0] < start_share(math.sqrt(dx * dx + dy * dy), need, own):
            reach = own.comfortable_reach_m
            toward = own.start_speed_m_s * way / math.sqrt(way * way + reach * reach)
            right = chance[i, 1] < own.guess_right_share
            guess_s[i] = -own.guess_gain_s if right else own.guess_loss_s
            start_vx_m_s[i] = toward if right else -toward


def starts(
    balls: np.ndarray, bodies: np.ndarray, spots: np.ndarray, chance: np.ndarray, legs: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """What early starts do: seconds added to the reaction and m/s to the right, shapes (n,).

    The seconds are below 0 for a start to the right side, above 0 for one to the wrong side, 0 for
    none. The farther a player is from the own spot at the strike, and the faster the run that the
    ball asks for, the likelier a start. Its velocity is toward the side on which the ball passes,
    or away from it where that was misread; nothing for a ball that comes straight at the body.
    `balls` are BALL records, `bodies` BODY records, `spots` (n, 2), all in the receiver's frame,
    `chance` uniform numbers (n, 2 or more), `legs` a LEGS record.

    Source: anticipation in 6-13 % of situations, almost only in trouble (Triolet et al. 2013).
    """
    guess_s, start_vx_m_s = np.empty(len(bodies)), np.empty(len(bodies))
    fill_starts(balls, bodies, spots, chance, legs, guess_s, start_vx_m_s)
    return guess_s, start_vx_m_s
