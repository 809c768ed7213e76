"""A ball before its bounce: whether a player can get there, and the part of its flight to be met.

Part of the replies is lost far from the net and high above the head, at the ends of the part all:
the share that is kept grows smoothly from nothing there.
"""

from __future__ import annotations

from sim.arithmetic import exp
from sim.can_play import smooth
from sim.compiled import kernel
from sim.flight import advance, trace
from sim.kinds import FIRST_SERVE
from sim.legs import BACKHAND_SIDE, FOREHAND_SIDE, OVERHEAD_FADE_M
from sim.playable import ANY_COMFORT, comfort_of, cut, weigh_pace
from sim.records import PATH_POINTS, PATH_STEP_S, VZ, T, X, Y, Z

NET_GAP_M = 0.4  # nobody meets a ball nearer to the net
EASY_ZONE = 2.0 / 3.0  # of the zone
LONGEST_S = (PATH_POINTS - 4) * PATH_STEP_S  # of a flight, the last part
SKIP_S = 0.1
SAME_S = 1e-6


@kernel
def may_volley(ball, c, legs, table):  # type: ignore[no-untyped-def]
    """Whether the CHASER `c` may meet the ball before its bounce; False where it surely cannot.

    By the time of the landing, the disc and the reach must come as far forward as the ball is at
    the end of the zone or, if that is nearer to the net, lands. A serve has to bounce.
    """
    time = ball.landing_time_s - c.wait_s
    if legs.volley_zone_m <= 0.0 or ball.kind >= FIRST_SERVE or time <= 0.0:
        return False
    drift = legs.tau_s * (1.0 - exp(-time / legs.tau_s))
    reach = max(table.reach_m[FOREHAND_SIDE], table.reach_m[BACKHAND_SIDE])
    forward = c.y_m + max(c.vy_m_s, 0.0) * drift + legs.top_speed_m_s * (time - drift) + reach
    return forward >= max(-legs.volley_zone_m, ball.landing_y_m)


@kernel
def kept_of(y, z, legs):  # type: ignore[no-untyped-def]
    """The share of replies that a volley's place leaves: 1 near the net and below the head."""
    far = legs.volley_zone_m * (1.0 - EASY_ZONE)
    in_zone = smooth((legs.volley_zone_m + y) / far)
    return in_zone * smooth((legs.playable_high_m - z) / OVERHEAD_FADE_M)


@kernel
def record_flight(ball, w, path):  # type: ignore[no-untyped-def]
    """Record a BALL's flight up to its landing, of a long one the last part; the samples' number.

    The landing is the last sample.
    """
    x, y, z = ball.x_m, ball.y_m, ball.z_m
    vx, vy, vz = ball.vx_m_s, ball.vy_m_s, ball.vz_m_s
    sx, sy, sz = ball.spin_x_rad_s, ball.spin_y_rad_s, ball.spin_z_rad_s
    t, start = 0.0, ball.landing_time_s - LONGEST_S
    while t < start:
        h = min(SKIP_S, start - t)
        x, y, z, vx, vy, vz = advance(x, y, z, vx, vy, vz, sx, sy, sz, h, w)
        t += h
    count, t, x, y = trace(t, x, y, z, vx, vy, vz, sx, sy, sz, w, path)
    if count == PATH_POINTS or t - path[count - 1, T] < SAME_S:
        return count
    path[count, T], path[count, X], path[count, Y] = t, x, y
    path[count, Z], path[count, VZ] = w.radius_m, ball.landing_vz_m_s
    return count + 1


@kernel
def move(path, k, after, y):  # type: ignore[no-untyped-def]
    """Move sample `k` along the straight way to sample `after`, to where it is at `y`."""
    share = (path[k, Y] - y) / (path[k, Y] - path[after, Y])
    for column in range(path.shape[1]):
        path[k, column] += share * (path[after, column] - path[k, column])
    path[k, Y] = y


@kernel
def in_zone(path, count, zone):  # type: ignore[no-untyped-def]
    """Cut a flight at the net and at the end of the zone: (first sample, number of samples)."""
    first, last = 0, count - 1
    while first < last and path[first + 1, Y] > -NET_GAP_M:
        first += 1
    while last > first and path[last - 1, Y] < -zone:
        last -= 1
    if last == first or path[first, Y] < -zone or path[last, Y] > -NET_GAP_M:
        return 0, 0
    if path[last, Y] < -zone:
        move(path, last, last - 1, -zone)
    if path[first, Y] > -NET_GAP_M:
        move(path, first, first + 1, -NET_GAP_M)
    return first, last + 1 - first


@kernel
def read_flight(ball, legs, w, path, comfort, part):  # type: ignore[no-untyped-def]
    """Fill the part of a BALL's flight that can be volleyed: (first sample of it, their number).

    `legs` is the LEGS record for volleys; `comfort` is filled from 0 on for the samples from the
    first.
    """
    part.points = 0
    first, points = in_zone(path, record_flight(ball, w, path), legs.volley_zone_m)
    for k in range(points):
        y, z = path[first + k, Y], path[first + k, Z]
        comfort[k] = comfort_of(z, 0.0, legs) * kept_of(y, z, legs)
    cut(path[first:], points, comfort, ANY_COMFORT, legs, part)
    for k in range(part.points):
        part.kept[k] = kept_of(part.y_m[k], part.z_m[k], legs)
    weigh_pace(part, ball.landing_vx_m_s, ball.landing_vy_m_s, legs)
    return first, points
