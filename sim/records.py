"""Records that cross the boundary of compiled code: NumPy structured types with units in names.

Constants of the world, of a player's legs and of a hitter are records of length one; strokes of
many rallies are one record each. A path is a float array of shape (balls, PATH_POINTS, 5).
"""

from __future__ import annotations

import numpy as np

from sim.kinds import KINDS


def record_type(
    *names: str, integers: tuple[str, ...] = (), by_kind: tuple[str, ...] = ()
) -> np.dtype:
    """A structured type of float64 fields, those in `integers` int64.

    Those in `by_kind` come last and hold one value a kind of stroke (sim.kinds).
    """
    single = [(name, "i8" if name in integers else "f8") for name in names]
    return np.dtype([*single, *((name, "f8", len(KINDS)) for name in by_kind)])


def record(dtype: np.dtype, **values: float | np.ndarray) -> np.ndarray:
    """A read-only record array of length one from named values; every field must be given."""
    if set(values) != set(dtype.names or ()):
        wrong = set(values) ^ set(dtype.names or ())
        raise TypeError(f"record needs exactly the fields of its type; check {sorted(wrong)}")
    out = np.zeros(1, dtype)
    for name, value in values.items():
        out[name] = value
    out.setflags(write=False)
    return out


def taken(records: np.ndarray, rows: np.ndarray) -> np.ndarray:
    """`records[rows]`, many times as fast: whole records are copied, not field by field."""
    whole = np.ascontiguousarray(records).view(np.int64).reshape(len(records), -1)
    return whole[rows].view(records.dtype)[:, 0]


def put(records: np.ndarray, rows: np.ndarray, out: np.ndarray) -> None:
    """`out[rows] = records`, as fast as `taken`."""
    words = out.view(np.int64).reshape(len(out), -1)
    words[rows] = np.ascontiguousarray(records).view(np.int64).reshape(len(records), -1)


WORLD = record_type(
    "drag_per_m",  # air density * area / (2 * mass)
    "drag_coefficient",
    "lift_slope",  # lift coefficient = S / (lift_slope * S + lift_offset)
    "lift_offset",
    "gravity_m_s2",
    "radius_m",
    "inertia_factor",
    "restitution",
    "friction",
    "grip_rebound",
    "wind_x_m_s",
    "wind_y_m_s",
    "wind_z_m_s",
    "tabulated",  # 1: flight from a table (sim.flight_table), 0: integrated
    integers=("tabulated",),
)

# A hitter at the ball, seen by the hitter: own side at y < 0. `stretch` of the arm from 0 to 1,
# `rise_m_s` the speed upward of the ball, `volley` 1 for a ball that has not bounced.
CONTACT = record_type(
    "x_m",
    "y_m",
    "z_m",
    "quality",
    "wing",
    "stretch",
    "rise_m_s",
    "volley",
    integers=("wing", "volley"),
)

# What a hitter means to do, seen by the hitter: the target at y > 0; the kind of sim.kinds.
INTENT = record_type(
    "target_x_m",
    "target_y_m",
    "speed_m_s",
    "topspin_rad_s",
    "sidespin_rad_s",
    "kind",
    integers=("kind",),
)

# A struck ball in the receiver's frame: it flies from y > 0 toward y < 0.
BALL = record_type(
    "x_m",
    "y_m",
    "z_m",
    "vx_m_s",
    "vy_m_s",
    "vz_m_s",
    "spin_x_rad_s",
    "spin_y_rad_s",
    "spin_z_rad_s",
    "outcome",
    "net_clearance_m",
    "landing_time_s",
    "landing_x_m",
    "landing_y_m",
    "landing_vx_m_s",
    "landing_vy_m_s",
    "landing_vz_m_s",
    "bounce_vx_m_s",
    "bounce_vy_m_s",
    "bounce_vz_m_s",
    "bounce_spin_x_rad_s",
    "bounce_spin_y_rad_s",
    "bounce_spin_z_rad_s",
    "second_bounce_time_s",
    "second_bounce_x_m",
    "second_bounce_y_m",
    "points",
    "kind",
    integers=("outcome", "points", "kind"),
)
IN, NET, LONG, WIDE = 0, 1, 2, 3
OUTCOMES = ("in", "net", "long", "wide")

PATH_STEP_S = 0.04
PATH_POINTS = 60
T, X, Y, Z, VZ = 0, 1, 2, 3, 4

# Who stands where, in the receiver's frame.
BODY = record_type("x_m", "y_m", "vx_m_s", "vy_m_s")

# How a receiver meets a ball; the place of the body and the ball at the meeting point.
MEETING = record_type(
    "time_to_spare_s",
    "set_time_to_spare_s",
    "grade",
    "time_s",
    "ball_x_m",
    "ball_y_m",
    "ball_z_m",
    "body_x_m",
    "body_y_m",
    "body_vx_m_s",
    "body_vy_m_s",
    "quality",
    "reply_chance",
    "wing",
    "run_m",
    "split_delay_s",
    "stretch",
    "rise_m_s",
    "volley",
    integers=("grade", "wing", "volley"),
)
MISSED, STRETCHED, SET = 0, 1, 2
GRADES = ("missed", "stretched", "set")
FOREHAND, BACKHAND = 1, -1
WINGS = {FOREHAND: "forehand", BACKHAND: "backhand"}

# One stroke of a rally, as it is stored: all places in the studied player's frame, times from the
# strike, `side` the hitter's (STUDIED or OPPONENT), spot and recovery the receiver's, `body` where
# the receiver stands at the meeting.
STROKE = record_type(
    "replicate",
    "stroke",
    "side",
    "strike_time_s",
    "hitter_x_m",
    "hitter_y_m",
    "hitter_z_m",
    "hitter_wing",
    "hitter_quality",
    "receiver_x_m",
    "receiver_y_m",
    "receiver_vx_m_s",
    "receiver_vy_m_s",
    "spot_x_m",
    "spot_y_m",
    "recovery_run_m",
    "recovery_effort",
    "speed_m_s",
    "outcome",
    "net_clearance_m",
    "landing_time_s",
    "landing_x_m",
    "landing_y_m",
    "meeting_time_s",
    "meeting_x_m",
    "meeting_y_m",
    "meeting_z_m",
    "body_x_m",
    "body_y_m",
    "time_to_spare_s",
    "set_time_to_spare_s",
    "grade",
    "reply_quality",
    "reply_chance",
    "split_delay_s",
    "guess_s",
    "start_vx_m_s",
    "chase_run_m",
    "ending",
    "kind",
    integers=("replicate", "stroke", "side", "hitter_wing", "outcome", "grade", "ending", "kind"),
)
STUDIED, OPPONENT = 0, 1
SIDES = ("studied", "opponent")
GOING, WINNER, FORCED_ERROR, UNFORCED_ERROR, STROKE_LIMIT, UNRETURNED = 0, 1, 2, 3, 4, 5
WON_BY_HITTER = (WINNER, UNRETURNED)
ENDINGS = (
    "going on",
    "winner",
    "forced error",
    "unforced error",
    "stroke limit",
    "unreturned",
)
