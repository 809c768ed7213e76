"""The happenings of a rally as a trace tells them: what, when, by whom, where in metres.

Functions here read the records of one stroke (arrays of length one) and word them; places are in
the studied player's frame, times in seconds since the rally began.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from sim.court import HALF_LENGTH_M, HALF_WIDTH_M, SERVICE_LINE_M
from sim.flight import trace
from sim.hitter import RPM
from sim.kinds import (
    APPROACH,
    BLOCK,
    DROP_SHOT,
    HALF_VOLLEY,
    HIGH_BALL,
    KINDS,
    LOB,
    OVERHEAD,
    PASSING_SHOT,
    SCOOP,
    SECOND_SERVE,
    SERVES,
    SLICE,
    VOLLEY,
)
from sim.legs import Legs
from sim.movement import follow_through, recovered
from sim.records import (
    BALL,
    ENDINGS,
    GRADES,
    IN,
    LONG,
    NET,
    PATH_POINTS,
    STROKE_LIMIT,
    STUDIED,
    UNRETURNED,
    WIDE,
    WINGS,
    WINNER,
    T,
    X,
    Y,
)

# How a player strikes a ball of each kind, where it is more than striking it.
VERBS = {
    SLICE: "slices",
    HIGH_BALL: "plays a high ball as",
    BLOCK: "blocks",
    SCOOP: "scoops",
    HALF_VOLLEY: "half-volleys",
    DROP_SHOT: "plays a drop shot as",
    APPROACH: "plays an approach as",
    PASSING_SHOT: "plays a passing shot as",
    LOB: "lobs",
    VOLLEY: "volleys",
    OVERHEAD: "smashes",
}
Details = dict[str, float | str]
AT_SPOT_M = 0.1
LOOK_EVERY_S = 0.01

# What can happen, and how it is told.
TEXTS = {
    "strike": "{verb} stroke {stroke}, {called} at ({x_m:z.2f}, {y_m:z.2f}) m, {z_m:z.2f} m high:"
    " {speed_m_s:z.1f} m/s, {topspin_rpm:z.0f} rpm of topspin",
    "split step": "splits at ({x_m:z.2f}, {y_m:z.2f}) m, {to_spot_m:z.2f} m from the spot,"
    " moving at {speed_m_s:z.2f} m/s",
    "net crossing": "crosses the net {clearance_m:z.2f} m above it, at x {x_m:z.2f} m",
    "net fault": "hits the net {below_m:z.2f} m below its top, at x {x_m:z.2f} m",
    "short": "drops before the net, at ({x_m:z.2f}, {y_m:z.2f}) m",
    "bounce": "bounces in at ({x_m:z.2f}, {y_m:z.2f}) m, arriving at {speed_m_s:z.1f} m/s and"
    " leaving at {leaving_m_s:z.1f} m/s",
    "long": "lands long at ({x_m:z.2f}, {y_m:z.2f}) m, {past_m:z.2f} m past the {line}",
    "wide": "lands wide at ({x_m:z.2f}, {y_m:z.2f}) m, {past_m:z.2f} m past the {line}",
    "follow-through end": "ends the follow-through",
    "recovery start": "starts to recover toward ({x_m:z.2f}, {y_m:z.2f}) m",
    "spot reached": "comes to the spot at ({x_m:z.2f}, {y_m:z.2f}) m",
    "reaction end": "{started}, {delay_s:z.3f} s later than after a full split step",
    "meeting": "meets the ball at ({x_m:z.2f}, {y_m:z.2f}) m, {z_m:z.2f} m high, after running"
    " {run_m:z.2f} m: {grade}, {spare_s:z.2f} s to spare, quality of the reply {quality:z.2f}",
    "second bounce": "bounces a second time at ({x_m:z.2f}, {y_m:z.2f}) m, out of reach by"
    " {late_s:z.2f} s",
    "point end": "{result}: {ending}",
}
BALL_KINDS = ("net crossing", "net fault", "short", "bounce", "long", "wide", "second bounce")


@dataclass(frozen=True)
class Happening:
    """One happening: `side` is who does it (the striker for a ball), `values` the details.

    The keys of `values` carry their units; `kind` is one of TEXTS.
    """

    time_s: float
    kind: str
    side: str
    values: Mapping[str, float | str]

    @property
    def who(self) -> str:
        """The side, or its ball."""
        return f"{self.side}'s ball" if self.kind in BALL_KINDS else self.side

    @property
    def text(self) -> str:
        """What happened, in words."""
        return TEXTS[self.kind].format(**self.values)


def trace_lines(happenings: Iterable[Happening]) -> list[str]:
    """A line for each happening: when, who, what, where in the studied player's frame."""
    return [f"{h.time_s:7.3f} s  {h.who:<15}  {h.text}" for h in happenings]


def place_of(side: int, x: float, y: float) -> Details:
    """A place of the side's own frame in the studied player's frame."""
    turn = 1.0 if side == STUDIED else -1.0
    return {"x_m": float(turn * x), "y_m": float(turn * y)}


def tell_strike(row: np.ndarray, ball: np.ndarray, is_serve: bool = False) -> Details:
    """The strike of a STROKE record; topspin is the spin about the level axis across the flight."""
    r, b = row[0], ball[0]
    named = KINDS[int(r["kind"])] if r["kind"] in SERVES else "serve"
    flat = math.hypot(b["vx_m_s"], b["vy_m_s"])
    across = b["spin_y_rad_s"] * b["vx_m_s"] - b["spin_x_rad_s"] * b["vy_m_s"]
    wing = named if is_serve else WINGS[int(r["hitter_wing"])]
    return {
        "verb": VERBS.get(int(r["kind"]), "strikes"),
        "stroke": int(r["stroke"]) + 1,
        "wing": wing,
        "called": "an overhead" if r["kind"] == OVERHEAD else f"a {wing}",
        **place_of(STUDIED, r["hitter_x_m"], r["hitter_y_m"]),
        "z_m": float(r["hitter_z_m"]),
        "speed_m_s": float(r["speed_m_s"]),
        "topspin_rpm": float(across / flat / RPM) if flat > 0 else 0.0,
    }


def tell_split_step(row: np.ndarray) -> Details:
    """Where the receiver of a STROKE record is at the strike."""
    r = row[0]
    return {
        **place_of(STUDIED, r["receiver_x_m"], r["receiver_y_m"]),
        "to_spot_m": math.hypot(
            r["receiver_x_m"] - r["spot_x_m"], r["receiver_y_m"] - r["spot_y_m"]
        ),
        "speed_m_s": math.hypot(r["receiver_vx_m_s"], r["receiver_vy_m_s"]),
    }


def tell_reaction_end(row: np.ndarray) -> Details:
    """How the receiver of a STROKE record starts, and how much later than after a full split step.

    Where it started before the strike, to which side and how fast.
    """
    guess_s, start_vx_m_s = float(row[0]["guess_s"]), float(row[0]["start_vx_m_s"])
    guess = f"on a {'right' if guess_s < 0.0 else 'wrong'} guess"
    words = "starts to run" if guess_s == 0.0 else f"starts to run {guess}"
    if start_vx_m_s != 0.0:
        way = f"to the {'right' if start_vx_m_s > 0.0 else 'left'} at {abs(start_vx_m_s):.2f} m/s"
        words = f"started {way} before the strike, {guess}, and reacts"
    return {"started": words, "delay_s": float(row[0]["split_delay_s"]) + guess_s}


def over_the_net(
    hitter: int, ball: np.ndarray, world: np.ndarray
) -> tuple[float, str, Details] | None:
    """(seconds after the strike, kind, details) at the net; None if the ball drops before it.

    BALL and WORLD records of length one in the receiver's frame.
    """
    b, path = ball[0], np.empty((PATH_POINTS, 5))
    gap_m = float(b["net_clearance_m"])
    if not math.isfinite(gap_m):
        return None
    start = [float(b[name]) for name in (BALL.names or ())[:9]]
    count, *landing = trace(0.0, *start, world[0], path)
    t, x, y = (np.append(path[:count, k], at) for k, at in zip((T, X, Y), landing, strict=True))
    at_s = float(np.interp(0.0, -y, t))
    where = {"x_m": place_of(1 - hitter, np.interp(0.0, -y, x), 0.0)["x_m"]}
    if b["outcome"] == NET:
        return at_s, "net fault", {**where, "below_m": -gap_m}
    return at_s, "net crossing", {**where, "clearance_m": gap_m}


def tell_landing(hitter: int, ball: np.ndarray) -> tuple[str, Details]:
    """The kind and details of a ball's first contact with the ground."""
    b = ball[0]
    where = place_of(1 - hitter, b["landing_x_m"], b["landing_y_m"])
    if b["outcome"] == NET:
        return "short", where
    x, y = abs(float(b["landing_x_m"])), abs(float(b["landing_y_m"]))
    serve = b["kind"] in SERVES
    if b["outcome"] == LONG:
        line, line_m = ("service line", SERVICE_LINE_M) if serve else ("baseline", HALF_LENGTH_M)
        return "long", {**where, "line": line, "past_m": y - line_m}
    if b["outcome"] == WIDE:
        other_box = serve and b["landing_x_m"] * b["x_m"] > 0.0
        line, line_m = ("centre line", 0.0) if other_box else ("sideline", HALF_WIDTH_M)
        return "wide", {**where, "line": line, "past_m": x - line_m}
    came, left = speed_of(b, "landing"), speed_of(b, "bounce")
    return "bounce", {**where, "speed_m_s": came, "leaving_m_s": left}


def speed_of(ball: np.void, moment: str) -> float:
    """Speed of a ball at its "landing" or after its "bounce"."""
    return math.hypot(*(ball[f"{moment}_v{axis}_m_s"] for axis in "xyz"))


def tell_second_bounce(hitter: int, ball: np.ndarray, row: np.ndarray) -> Details:
    """The second bounce of a ball that the receiver missed."""
    b = ball[0]
    where = place_of(1 - hitter, b["second_bounce_x_m"], b["second_bounce_y_m"])
    return {**where, "late_s": -float(row[0]["time_to_spare_s"])}


def tell_meeting(row: np.ndarray) -> Details:
    """How the receiver of a STROKE record meets the ball."""
    r = row[0]
    return {
        **place_of(STUDIED, r["meeting_x_m"], r["meeting_y_m"]),
        "z_m": float(r["meeting_z_m"]),
        "run_m": float(r["chase_run_m"]),
        "grade": GRADES[int(r["grade"])],
        "spare_s": float(r["time_to_spare_s"]),
        "quality": float(r["reply_quality"]),
    }


def ending_words(row: np.void) -> str:
    """How the rally of a STROKE record ended, in words.

    How a ball met too late goes astray is not modelled.
    """
    if row["kind"] == SECOND_SERVE and row["outcome"] != IN:
        return "double fault"
    if row["ending"] == UNRETURNED:
        return "the ball is met and goes into the net, long, wide or off the frame"
    return ENDINGS[int(row["ending"])]


def tell_point_end(row: np.ndarray) -> Details:
    """How the point ended, from the striker's side."""
    results = {
        WINNER: "wins the point",
        UNRETURNED: "wins the point",
        STROKE_LIMIT: "rally stopped, nobody wins the point",
    }
    result = results.get(int(row[0]["ending"]), "loses the point")
    return {"result": result, "ending": ending_words(row[0])}


def spot_reached_s(
    body: np.ndarray, spots: np.ndarray, time_s: float, legs: Legs, effort: float = 0.0
) -> float | None:
    """Seconds after the own contact at which a recovery of `time_s` comes within AT_SPOT_M.

    Looked for every LOOK_EVERY_S from the end of the follow-through on; None if it is not reached.
    """
    through_s = follow_through(spots[0, 1], legs.numbers[0])
    times = np.arange(through_s, time_s, LOOK_EVERY_S)
    bodies, aims = np.repeat(body, len(times)), np.repeat(spots, len(times), axis=0)
    in_all, efforts = np.full(len(times), time_s), np.full(len(times), effort)
    ways, _ = recovered(bodies, aims, in_all, legs.numbers, times, efforts)
    left = np.hypot(ways["x_m"] - aims[:, 0], ways["y_m"] - aims[:, 1])
    there = np.flatnonzero(left <= AT_SPOT_M)
    return float(times[there[0]]) if len(there) else None
