"""Bounce of a spinning ball on a flat court: it slides throughout, or it grips.

Vector form of the law in Brody 1984 (Phys. Teacher 22, 494) and Cross 2002 (Am. J. Phys. 70, 1093),
both from memory: the horizontal impulse acts against the slip of the contact point and is the
smaller of what sliding friction gives and what turns the slip into `-grip_rebound` times itself.
"""

from __future__ import annotations

import math

from sim.compiled import kernel


@kernel
def bounce(vx, vy, vz, sx, sy, sz, w):  # type: ignore[no-untyped-def]
    """Velocity and spin after the bounce from those before it (vz < 0)."""
    slip_x = vx - w.radius_m * sy
    slip_y = vy + w.radius_m * sx
    slip = math.sqrt(slip_x * slip_x + slip_y * slip_y)
    share = w.inertia_factor / (1.0 + w.inertia_factor)
    sliding = w.friction * (1.0 + w.restitution) * abs(vz)
    gripping = share * (1.0 + w.grip_rebound) * slip
    impulse = min(sliding, gripping)
    if slip < 1e-12:
        return vx, vy, -w.restitution * vz, sx, sy, sz
    jx, jy = -impulse * slip_x / slip, -impulse * slip_y / slip
    turn = 1.0 / (w.inertia_factor * w.radius_m)
    return vx + jx, vy + jy, -w.restitution * vz, sx + turn * jy, sy - turn * jx, sz


@kernel
def grips(vx, vy, vz, sx, sy, w):  # type: ignore[no-untyped-def]
    """Whether the ball grips (True) or slides throughout (False)."""
    slip_x = vx - w.radius_m * sy
    slip_y = vy + w.radius_m * sx
    slip = math.sqrt(slip_x * slip_x + slip_y * slip_y)
    share = w.inertia_factor / (1.0 + w.inertia_factor)
    return w.friction * (1.0 + w.restitution) * abs(vz) >= share * (1.0 + w.grip_rebound) * slip
