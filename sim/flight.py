"""Flight of a ball: gravity, drag and lift, integrated by the classical Runge-Kutta method.

State: position (x, y, z) and velocity; the spin vector is constant in one flight (its decay over
a stroke is small and ignored). Lift acts across the spin component that is normal to the velocity.
"""

from __future__ import annotations

import math

from sim.compiled import inlined, kernel
from sim.records import PATH_POINTS, PATH_STEP_S, VZ, T, X, Y, Z

STEP_S = 0.1
LONGEST_FLIGHT_S = 12.0
MOST_SAMPLES_A_STEP, LONGEST_STEP_M = 5, 4.0


@kernel
def acceleration(vx, vy, vz, sx, sy, sz, w):  # type: ignore[no-untyped-def]
    """Acceleration of a ball at velocity v with spin s in the world w.

    With S = R |s x v| / v^2 the lift K v^2 CL(S) along s x v becomes
    K R (s x v) / (slope S + offset), which needs no division by the spin.
    """
    ux, uy, uz = vx - w.wind_x_m_s, vy - w.wind_y_m_s, vz - w.wind_z_m_s
    speed2 = ux * ux + uy * uy + uz * uz
    drag = -w.drag_per_m * w.drag_coefficient * math.sqrt(speed2)
    cx, cy, cz = sy * uz - sz * uy, sz * ux - sx * uz, sx * uy - sy * ux
    cross = math.sqrt(cx * cx + cy * cy + cz * cz)
    lift = w.drag_per_m * w.radius_m * speed2
    lift /= w.lift_slope * w.radius_m * cross + w.lift_offset * speed2 + 1e-300
    return drag * ux + lift * cx, drag * uy + lift * cy, drag * uz + lift * cz - w.gravity_m_s2


@inlined
@kernel
def advance(x, y, z, vx, vy, vz, sx, sy, sz, h, w):  # type: ignore[no-untyped-def]
    """One Runge-Kutta step of `h` seconds."""
    a1x, a1y, a1z = acceleration(vx, vy, vz, sx, sy, sz, w)
    k = 0.5 * h
    v2x, v2y, v2z = vx + k * a1x, vy + k * a1y, vz + k * a1z
    a2x, a2y, a2z = acceleration(v2x, v2y, v2z, sx, sy, sz, w)
    v3x, v3y, v3z = vx + k * a2x, vy + k * a2y, vz + k * a2z
    a3x, a3y, a3z = acceleration(v3x, v3y, v3z, sx, sy, sz, w)
    v4x, v4y, v4z = vx + h * a3x, vy + h * a3y, vz + h * a3z
    a4x, a4y, a4z = acceleration(v4x, v4y, v4z, sx, sy, sz, w)
    k = h / 6.0
    return (
        x + k * (vx + 2.0 * (v2x + v3x) + v4x),
        y + k * (vy + 2.0 * (v2y + v3y) + v4y),
        z + k * (vz + 2.0 * (v2z + v3z) + v4z),
        vx + k * (a1x + 2.0 * (a2x + a3x) + a4x),
        vy + k * (a1y + 2.0 * (a2y + a3y) + a4y),
        vz + k * (a1z + 2.0 * (a2z + a3z) + a4z),
    )


@kernel
def between(p0, v0, p1, v1, h, s):  # type: ignore[no-untyped-def]
    """Cubic through both ends (values p, slopes v) of a step of `h`, at the share `s` of it."""
    r = 1.0 - s
    return r * r * ((1.0 + 2.0 * s) * p0 + s * h * v0) + s * s * ((3.0 - 2.0 * s) * p1 - r * h * v1)


@kernel
def rate_between(p0, v0, p1, v1, h, s):  # type: ignore[no-untyped-def]
    """Slope of the cubic of `between`."""
    r = 1.0 - s
    return 6.0 * s * r * (p1 - p0) / h + v0 * r * (1.0 - 3.0 * s) - v1 * s * (2.0 - 3.0 * s)


@kernel
def crossing(p0, v0, p1, v1, h, level):  # type: ignore[no-untyped-def]
    """Share of the step at which the cubic crosses `level`; the ends lie on both sides of it."""
    low, high = 0.0, 1.0
    s = (level - p0) / (p1 - p0)
    rising = p1 > p0
    for _ in range(60):
        value = between(p0, v0, p1, v1, h, s) - level
        if (value > 0.0) == rising:
            high = s
        else:
            low = s
        slope = h * rate_between(p0, v0, p1, v1, h, s)
        following = s - value / slope
        if abs(following - s) < 1e-13:
            break
        if not (low < following < high):
            following = 0.5 * (low + high)
        s = following
    return s


@kernel
def fly(x, y, z, vx, vy, vz, sx, sy, sz, w):  # type: ignore[no-untyped-def]
    """Fly until the ball's centre is one radius above the ground.

    Returns (time, x, y, vx, vy, vz at the landing, x and height at the net). A ball that never
    passes the net's plane has NaN for the last two.
    """
    t = 0.0
    net_x = math.nan
    net_z = math.nan
    r = w.radius_m
    while t < LONGEST_FLIGHT_S:
        nx, ny, nz, nvx, nvy, nvz = advance(x, y, z, vx, vy, vz, sx, sy, sz, STEP_S, w)
        if (y > 0.0) != (ny > 0.0):
            s = crossing(y, vy, ny, nvy, STEP_S, 0.0)
            net_x = between(x, vx, nx, nvx, STEP_S, s)
            net_z = between(z, vz, nz, nvz, STEP_S, s)
        if nz <= r and nvz < 0.0:
            s = crossing(z, vz, nz, nvz, STEP_S, r) if z > r else 0.0
            h = s * STEP_S
            x, y, z, vx, vy, vz = advance(x, y, z, vx, vy, vz, sx, sy, sz, h, w)
            if math.isfinite(net_z) and net_z < r:
                net_x, net_z = math.nan, math.nan
            h = (r - z) / vz
            return t + s * STEP_S + h, x + h * vx, y + h * vy, vx, vy, vz, net_x, net_z
        x, y, z, vx, vy, vz = nx, ny, nz, nvx, nvy, nvz
        t += STEP_S
    return t, x, y, vx, vy, vz, net_x, net_z


@kernel
def cubic(p0, v0, p1, v1, h):  # type: ignore[no-untyped-def]
    """The cubic of `between` by powers of the share, from the first on: three coefficients."""
    rise, start, end = p1 - p0, h * v0, h * v1
    return start, 3.0 * rise - 2.0 * start - end, start + end - 2.0 * rise


@kernel
def trace(t, x, y, z, vx, vy, vz, sx, sy, sz, w, path):  # type: ignore[no-untyped-def]
    """Record a flight from (x, y, z) at time `t` to the ground in `path`, every PATH_STEP_S.

    The ball goes no farther than LONGEST_STEP_M in a step; the samples between are the cubic's.
    Returns (number of samples, time, x, y at the ground); a flight longer than the path keeps its
    first part.
    """
    count, r = 0, w.radius_m
    while t < LONGEST_FLIGHT_S:
        way = PATH_STEP_S * math.sqrt(vx * vx + vy * vy + vz * vz)
        samples = max(1, min(MOST_SAMPLES_A_STEP, int(LONGEST_STEP_M / max(way, 1e-9))))
        h = samples * PATH_STEP_S
        share, per_s = 1.0 / samples, 1.0 / h
        nx, ny, nz, nvx, nvy, nvz = advance(x, y, z, vx, vy, vz, sx, sy, sz, h, w)
        end = 1.0
        landed = nz <= r and nvz < 0.0
        if landed:
            end = crossing(z, vz, nz, nvz, h, r) if z > r else 0.0
            samples = min(samples, int(end * samples) + 1)
        ax, bx, cx = cubic(x, vx, nx, nvx, h)
        ay, by, cy = cubic(y, vy, ny, nvy, h)
        az, bz, cz = cubic(z, vz, nz, nvz, h)
        for sample in range(min(samples, PATH_POINTS - count)):
            s = sample * share
            path[count, T] = t + sample * PATH_STEP_S
            path[count, X] = x + s * (ax + s * (bx + s * cx))
            path[count, Y] = y + s * (ay + s * (by + s * cy))
            path[count, Z] = z + s * (az + s * (bz + s * cz))
            path[count, VZ] = vz + s * (2.0 * bz + s * 3.0 * cz) * per_s
            count += 1
        if landed:
            return (
                count,
                t + end * h,
                between(x, vx, nx, nvx, h, end),
                between(y, vy, ny, nvy, h, end),
            )
        x, y, z, vx, vy, vz = nx, ny, nz, nvx, nvy, nvz
        t += h
    return count, t, x, y
