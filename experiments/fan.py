"""The fan of one contact: every direction of a playable shot, by the least time that it leaves.

The angle (sim.envelope) asks which exact drives exist; the fan asks what that hitter can count on:
a shot is playable if, with the hitter's own error, it lands in with at least a stated chance.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np

from experiments.scene import ball_words
from sim.contracts import intents_of
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M
from sim.envelope import EXTREME, DriveLimits
from sim.errors import InputError
from sim.exchange import Place, wing_at
from sim.hitter import usable_topspin
from sim.players import Player
from sim.records import CONTACT, IN, T, X, Y
from sim.stroke import ERROR_DRAWS, fly_drives, strike
from sim.world import World
from strategies.even_draws import even_uniforms

ACROSS, ALONG, NEAREST_TARGET_M = 33, 11, 4.5
SPEED_SHARES, TOPSPIN_SHARES = (0.7, 0.85, 1.0, 1.15), (1.0, 1.3)
ERRORS, CHUNK = 64, 8000
STEP_DEG = 1.0


@dataclass(frozen=True)
class FanQuestion:
    """A contact place (receiver's frame), the hitter, and the chance that a shot has to land in.

    `line_m` is where the receiver waits, metres from the net.

    Raises:
        InputError: a chance that is not above 0 and below 1.
    """

    place: Place
    hitter: Player
    world: World
    line_m: float
    least_in: float = DriveLimits.least_in

    def __post_init__(self) -> None:
        if not 0.0 < self.least_in < 1.0:
            raise InputError(f"chance to land in is {self.least_in:g}; allowed: above 0, below 1")


@dataclass(frozen=True)
class Fan:
    """Directions in which some shot is playable, from left to right in the receiver's frame.

    heading_deg: from straight at the receiver's baseline, positive to the receiver's right; (n,).
    time_s: least time from the strike until the ball is at the waiting line, or bounces the second
    time before. end_m: where it is then, (n, 2). bounce_m: (n, 2). lands: its chance to be in.
    shots: how many playable shots of all tried.
    """

    question: FanQuestion
    heading_deg: np.ndarray
    time_s: np.ndarray
    end_m: np.ndarray
    bounce_m: np.ndarray
    lands: np.ndarray
    shots: tuple[int, int]

    @property
    def open_deg(self) -> float:
        """How wide the fan is."""
        return float(self.heading_deg[-1] - self.heading_deg[0])


def fan_of(question: FanQuestion) -> Fan:
    """The fan of a contact.

    Raises:
        InputError: no shot lands in with that chance.
    """
    drives = drives_of(question)
    lands = chances(question, drives)
    good = lands >= question.least_in
    balls, paths = fly_drives(_contacts(question, good.sum()), drives[good], _numbers(question))
    reached = balls["outcome"] == IN
    if not reached.any():
        raise InputError(
            f"no shot from there lands in with a chance of {question.least_in:g}; the surest has"
            f" {lands.max():.2f}: ask for less, or for another place or hitter"
        )
    balls, paths, lands = balls[reached], paths[reached], lands[good][reached]
    time, end = arrivals(balls, paths, question.line_m)
    p = question.place
    bounce = np.stack([balls["landing_x_m"], balls["landing_y_m"]], axis=1)
    heading = np.degrees(np.arctan2(bounce[:, 0] - p.x_m, p.y_m - bounce[:, 1]))
    first = quickest(heading, time)
    shots = (len(time), len(drives))
    return Fan(
        question, heading[first], time[first], end[first], bounce[first], lands[first], shots
    )


def drives_of(question: FanQuestion) -> np.ndarray:
    """The shots that are tried: EXTREME records (n,), targets by speeds by topspins."""
    x = np.linspace(-HALF_WIDTH_M, HALF_WIDTH_M, ACROSS)
    y = -np.linspace(NEAREST_TARGET_M, HALF_LENGTH_M, ALONG)
    grid = np.meshgrid(x, y, np.array(SPEED_SHARES), np.array(TOPSPIN_SHARES), indexing="ij")
    tx, ty, speed, topspin = (g.ravel() for g in grid)
    contact, ability = _contacts(question, 1)[0], question.hitter.hitter
    out = np.zeros(len(tx), EXTREME)
    out["target_x_m"], out["target_y_m"] = tx, ty
    out["speed_m_s"] = speed * ability.speed_m_s(contact["wing"])
    wished = topspin * ability.topspin_rad_s(contact["wing"])
    out["topspin_rad_s"] = usable_topspin(wished, contact["z_m"], ability.numbers[0])
    return out


def chances(question: FanQuestion, drives: np.ndarray) -> np.ndarray:
    """The chance of each drive to land in with the hitter's error, (n,)."""
    errors = even_uniforms(np.full(ERROR_DRAWS, 0.5), ERRORS)
    out = np.empty(len(drives))
    for first in range(0, len(drives), CHUNK // ERRORS):
        part = slice(first, first + CHUNK // ERRORS)
        d = np.repeat(drives[part], ERRORS)
        contact = _contacts(question, len(d))
        contact["x_m"], contact["y_m"] = -contact["x_m"], -contact["y_m"]
        names = ("target_x_m", "target_y_m", "speed_m_s", "topspin_rad_s")
        x, y, speed, topspin = (d[name] for name in names)
        wished = intents_of(-x, -y, speed, topspin)
        drawn = np.tile(errors, (len(d) // ERRORS, 1))
        numbers = question.hitter.hitter.numbers
        balls, _ = strike(contact, wished, drawn, numbers, _numbers(question))
        out[part] = (balls["outcome"] == IN).reshape(-1, ERRORS).mean(axis=1)
    return out


def _contacts(question: FanQuestion, count: int) -> np.ndarray:
    """The contact in the receiver's frame, unhurried: CONTACT records (count,)."""
    p = question.place
    out = np.zeros(count, CONTACT)
    out["x_m"], out["y_m"], out["z_m"], out["quality"] = p.x_m, p.y_m, p.z_m, 1.0
    out["wing"] = wing_at(np.array([-p.x_m]), question.hitter)[0]
    return out


def _numbers(question: FanQuestion) -> np.ndarray:
    return question.world.numbers


def arrivals(balls: np.ndarray, paths: np.ndarray, line_m: float) -> tuple[np.ndarray, np.ndarray]:
    """When (n,) and where (n, 2) balls cross the line, or bounce the second time before it."""
    time, end = np.empty(len(balls)), np.empty((len(balls), 2))
    for i, (ball, path) in enumerate(zip(balls, paths, strict=True)):
        whole = path[: ball["points"]][:, [T, X, Y]]
        last = [ball[f"second_bounce_{name}"] for name in ("time_s", "x_m", "y_m")]
        whole = np.vstack([whole, last])
        depth = -whole[:, 2]
        at = np.minimum(line_m, depth[-1])
        time[i] = np.interp(at, depth, whole[:, 0])
        end[i] = np.interp(at, depth, whole[:, 1]), -at
    return time, end


def quickest(heading_deg: np.ndarray, time_s: np.ndarray) -> np.ndarray:
    """The index of the least time in every STEP_DEG of heading that holds a shot, left to right."""
    cell = np.floor(heading_deg / STEP_DEG).astype(int)
    order = np.lexsort((time_s, cell))
    return order[np.append(True, np.diff(cell[order]) > 0)]


def fan_text(fan: Fan) -> str:
    """The fan in words."""
    q, k = fan.question, int(fan.time_s.argmin())
    who = " ".join(filter(None, (q.hitter.name, ball_words(q.world.ball))))
    lines = [
        f"{who} strikes at x {q.place.x_m:g} m, y {q.place.y_m:g} m, height {q.place.z_m:g} m.",
        f"Playable, in with a chance of at least {100 * q.least_in:.0f} %: {fan.shots[0]} of"
        f" {fan.shots[1]} shots tried, over {fan.open_deg:.0f} degrees, from"
        f" {fan.end_m[0, 0]:+z.1f} to {fan.end_m[-1, 0]:+z.1f} m where you meet them.",
        f"Least time {fan.time_s[k]:.2f} s at {fan.heading_deg[k]:+z.0f} degrees; the outermost"
        f" leave {fan.time_s[0]:.2f} s (left) and {fan.time_s[-1]:.2f} s (right).",
        "Time from the strike to the waiting line, or to a second bounce before it.",
    ]
    return "\n".join(lines)


def fan_json(fan: Fan) -> dict[str, object]:
    """The fan as numbers."""
    q = fan.question
    parts = {f.name: getattr(fan, f.name) for f in dataclasses.fields(fan)[1:-1]}
    rows = {name: (np.round(value, 4) + 0.0).tolist() for name, value in parts.items()}
    return {"least_in": q.least_in, "line_m": q.line_m, "open_deg": fan.open_deg, **rows}
