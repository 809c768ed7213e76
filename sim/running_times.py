"""How long a sprint from rest takes to a place, with or without slowing on arrival."""

from __future__ import annotations

import math

from sim.arithmetic import expm1
from sim.compiled import kernel

LONGEST_S = 60.0
NEAR = 1e-9  # of the moment: after a step so small Newton's is as near as numbers get


@kernel
def run_by(moment, top_speed, tau, braking, slowed_to):  # type: ignore[no-untyped-def]
    """A sprint in which braking begins at `moment`: (metres in all, seconds in all, m/s then).

    With `slowed_to` infinite nobody brakes. The last value is how fast the metres grow with the
    moment.
    """
    lag = expm1(-moment / tau)
    speed = -top_speed * lag
    metres = top_speed * (moment + tau * lag)
    lost = speed - slowed_to
    if not lost > 0.0:
        return metres, moment, speed
    metres += lost * (speed + slowed_to) / (2.0 * braking)
    return metres, moment + lost / braking, speed * (1.0 + (top_speed - speed) / (tau * braking))


@kernel
def fill_times(reach, step, top_speed, tau, braking, slowed_to, times):  # type: ignore[no-untyped-def]
    """Seconds to a ball at each tangent to the circle of `reach`, in steps of `step` metres.

    Newton's steps from what the last two balls lead to, kept between what is known to be too early
    and too late; by bisection where they leave that.
    """
    moment, low, before = 0.0, 0.0, 0.0
    times[0] = 0.0
    for node in range(1, times.size):
        tangent = node * step
        run = math.sqrt(tangent * tangent + reach * reach) - reach
        high, moment = LONGEST_S, low + (low - before)
        before = low
        for _ in range(80):
            metres, _, rate = run_by(moment, top_speed, tau, braking, slowed_to)
            if metres < run:
                low = moment
            else:
                high = moment
            following = moment - (metres - run) / rate
            if not low <= following <= high:
                following = 0.5 * (low + high)
            done = abs(following - moment) <= NEAR * following
            moment = following
            if done:
                break
        times[node] = run_by(moment, top_speed, tau, braking, slowed_to)[1]
        low = moment
