"""What is handed on between strokes: who met a ball becomes who strikes, seen from either side.

Only records are filled here; what they mean is said where they are made (`sim.meeting`) and seen
(`sim.contracts`).
"""

from __future__ import annotations

import math

import numpy as np

from sim.compiled import kernel
from sim.court import HALF_WIDTH_M, SERVICE_LINE_M
from sim.records import BODY, CONTACT


@kernel
def fill_contacts(meetings, out):  # type: ignore[no-untyped-def]
    """Fill CONTACT records, in the receiver's own frame, of the balls that were met."""
    for i in range(out.shape[0]):
        met, c = meetings[i], out[i]
        c.x_m, c.y_m, c.z_m = met.ball_x_m, met.ball_y_m, met.ball_z_m
        c.quality, c.wing, c.stretch = met.quality, met.wing, met.stretch
        c.rise_m_s, c.volley = met.rise_m_s, met.volley


@kernel
def fill_bodies(meetings, out):  # type: ignore[no-untyped-def]
    """Fill BODY records, in the receiver's own frame, at the own contact."""
    for i in range(out.shape[0]):
        met, b = meetings[i], out[i]
        b.x_m, b.y_m = met.body_x_m, met.body_y_m
        b.vx_m_s, b.vy_m_s = met.body_vx_m_s, met.body_vy_m_s


@kernel
def fill_beside(contacts, hand, reach, out):  # type: ignore[no-untyped-def]
    """Fill BODY records at rest, `reach` beside the ball on the side of the wing."""
    for i in range(out.shape[0]):
        c, b = contacts[i], out[i]
        b.x_m, b.y_m, b.vx_m_s, b.vy_m_s = c.x_m - hand * c.wing * reach, c.y_m, 0.0, 0.0


@kernel
def turn_contacts(contacts, out):  # type: ignore[no-untyped-def]
    """Fill CONTACT records seen from the other side."""
    for i in range(out.shape[0]):
        out[i] = contacts[i]
        out[i].x_m, out[i].y_m = -contacts[i].x_m, -contacts[i].y_m


@kernel
def turn_bodies(bodies, out):  # type: ignore[no-untyped-def]
    """Fill BODY records seen from the other side."""
    for i in range(out.shape[0]):
        b, there = bodies[i], out[i]
        there.x_m, there.y_m = -b.x_m, -b.y_m
        there.vx_m_s, there.vy_m_s = -b.vx_m_s, -b.vy_m_s


@kernel
def fill_returns(x, y, lines, out):  # type: ignore[no-untyped-def]
    """Fill where a returner waits, lines[i] from the net, against a server at (x, y): halfway
    between the paths of serves that land on the two ends of the service line of the box."""
    far = -math.copysign(HALF_WIDTH_M, x)
    slope = 0.5 * ((0.0 - x) / (y + SERVICE_LINE_M) + (far - x) / (y + SERVICE_LINE_M))
    for i in range(out.size):
        out[i] = x + (y + lines[i]) * slope


def turned(places: np.ndarray) -> np.ndarray:
    """BODY or CONTACT records, or spots (n, 2), seen from the other side: half a turn about z."""
    if places.dtype.names is None:
        return -places
    out = np.empty(places.shape, places.dtype)
    turn = turn_contacts if places.dtype == CONTACT else turn_bodies
    turn(np.ascontiguousarray(places), out)
    return out


def contact_of(meeting: np.ndarray) -> np.ndarray:
    """CONTACT records, in the receiver's own frame, of the balls that it met."""
    out = np.empty(len(meeting), CONTACT)
    fill_contacts(np.ascontiguousarray(meeting), out)
    return out


def body_of(meeting: np.ndarray) -> np.ndarray:
    """BODY records, in the receiver's own frame, at the own contact."""
    out = np.empty(len(meeting), BODY)
    fill_bodies(np.ascontiguousarray(meeting), out)
    return out
