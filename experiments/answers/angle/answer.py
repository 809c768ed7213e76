"""The fan of one contact: every direction of a playable shot, by the least time that it leaves.

The angle (sim.envelope) asks which exact drives exist; the fan asks what that hitter can count on:
a shot is playable if, with the hitter's own error, it lands in with at least a stated chance.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from experiments.balls.struck import Struck, arrivals
from experiments.output.in_a_line import InALine
from experiments.scene.people import ball_words
from experiments.scene.scene import Scene
from sim.contracts import intents_of, turned
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M
from sim.envelope import EXTREME, DriveLimits
from sim.errors import InputError
from sim.exchange import opening_contact
from sim.hitter import usable_topspins
from sim.over_arrays import atan2_of
from sim.records import IN
from sim.stroke import ERROR_DRAWS, fly_drives, strike
from strategies.even_draws import even_uniforms

ACROSS, ALONG, NEAREST_TARGET_M = 33, 11, 4.5
SPEED_SHARES, TOPSPIN_SHARES = (0.7, 0.85, 1.0, 1.15), (1.0, 1.3)
ERRORS, CHUNK = 64, 8000
STEP_DEG = 1.0


@dataclass(frozen=True, repr=False)
class Fan(InALine):
    """Directions in which some shot is playable, from left to right in the receiver's frame.

    heading_deg: from straight at the receiver's baseline, positive to the receiver's right; (n,).
    time_s: least time from the strike until the ball is at the waiting line, or bounces the second
    time before. end_m: where it is then, (n, 2). bounce_m: (n, 2). lands: its chance to be in.
    shots: how many playable shots of all tried.
    """

    scene: Scene
    least_in: float
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


def fan_of(scene: Scene, least_in: float = DriveLimits.least_in) -> Fan:
    """The fan of a contact: shots that land in with at least the chance `least_in`.

    Raises:
        InputError: a chance that is not above 0 and below 1, or no shot lands in with that chance.
    """
    if not 0.0 < least_in < 1.0:
        raise InputError(f"chance to land in is {least_in:g}; allowed: above 0, below 1")
    drives = drives_of(scene)
    lands = chances(scene, drives)
    good = lands >= least_in
    struck = Struck.of(*fly_drives(_contacts(scene, good.sum()), drives[good], scene.world.numbers))
    if not struck.landed.any():
        raise InputError(
            f"no shot from there lands in with a chance of {least_in:g}; the surest has"
            f" {lands.max():.2f}: ask for less, or for another place or hitter"
        )
    balls, lands = struck.balls[struck.landed], lands[good][struck.landed]
    time, end = arrivals(balls, struck.paths, scene.line_m)
    bounce = np.stack([balls["landing_x_m"], balls["landing_y_m"]], axis=1)
    p = scene.place
    heading = np.degrees(atan2_of(bounce[:, 0] - p.x_m, p.y_m - bounce[:, 1]))
    first = quickest(heading, time)
    return Fan(
        scene=scene,
        least_in=least_in,
        heading_deg=heading[first],
        time_s=time[first],
        end_m=end[first],
        bounce_m=bounce[first],
        lands=lands[first],
        shots=(len(time), len(drives)),
    )


def drives_of(scene: Scene) -> np.ndarray:
    """The shots that are tried: EXTREME records (n,), targets by speeds by topspins."""
    x = np.linspace(-HALF_WIDTH_M, HALF_WIDTH_M, ACROSS)
    y = -np.linspace(NEAREST_TARGET_M, HALF_LENGTH_M, ALONG)
    grid = np.meshgrid(x, y, np.array(SPEED_SHARES), np.array(TOPSPIN_SHARES), indexing="ij")
    tx, ty, speed, topspin = (g.ravel() for g in grid)
    contact, ability = _contacts(scene, 1)[0], scene.opponent.hitter
    out = np.zeros(len(tx), EXTREME)
    out["target_x_m"], out["target_y_m"] = tx, ty
    out["speed_m_s"] = speed * ability.speed_m_s(contact["wing"])
    wished = topspin * ability.topspin_rad_s(contact["wing"])
    out["topspin_rad_s"] = usable_topspins(wished, contact["z_m"], ability.numbers)
    return out


def chances(scene: Scene, drives: np.ndarray) -> np.ndarray:
    """The chance of each drive to land in with the hitter's error, (n,)."""
    errors = even_uniforms(np.full(ERROR_DRAWS, 0.5), ERRORS)
    out = np.empty(len(drives))
    for first in range(0, len(drives), CHUNK // ERRORS):
        part = slice(first, first + CHUNK // ERRORS)
        d = np.repeat(drives[part], ERRORS)
        contact = turned(_contacts(scene, len(d)))
        names = ("target_x_m", "target_y_m", "speed_m_s", "topspin_rad_s")
        x, y, speed, topspin = (d[name] for name in names)
        wished = intents_of(-x, -y, speed, topspin)
        drawn = np.tile(errors, (len(d) // ERRORS, 1))
        balls, _ = strike(
            contact, wished, drawn, scene.opponent.hitter.numbers, scene.world.numbers
        )
        out[part] = (balls["outcome"] == IN).reshape(-1, ERRORS).mean(axis=1)
    return out


def _contacts(scene: Scene, count: int) -> np.ndarray:
    """The contact in the receiver's frame, unhurried: CONTACT records (count,)."""
    return turned(opening_contact(scene.place, scene.game.opponent, count))


def quickest(heading_deg: np.ndarray, time_s: np.ndarray) -> np.ndarray:
    """The index of the least time in every STEP_DEG of heading that holds a shot, left to right."""
    cell = np.floor(heading_deg / STEP_DEG).astype(int)
    order = np.lexsort((time_s, cell))
    return order[np.append(True, np.diff(cell[order]) > 0)]


def fan_text(fan: Fan) -> str:
    """The fan in words."""
    scene, k = fan.scene, int(fan.time_s.argmin())
    place = scene.place
    who = " ".join(filter(None, (scene.opponent.name, ball_words(scene.world.ball))))
    lines = [
        f"{who} strikes at x {place.x_m:g} m, y {place.y_m:g} m, height {place.z_m:g} m.",
        f"Playable, in with a chance of at least {100 * fan.least_in:.0f} %: {fan.shots[0]} of"
        f" {fan.shots[1]} shots tried, over {fan.open_deg:.0f} degrees, from"
        f" {fan.end_m[0, 0]:+z.1f} to {fan.end_m[-1, 0]:+z.1f} m where you meet them.",
        f"Least time {fan.time_s[k]:.2f} s at {fan.heading_deg[k]:+z.0f} degrees; the outermost"
        f" leave {fan.time_s[0]:.2f} s (left) and {fan.time_s[-1]:.2f} s (right).",
        "Time from the strike to the waiting line, or to a second bounce before it.",
    ]
    return "\n".join(lines)


def fan_json(fan: Fan) -> dict[str, object]:
    """The fan as numbers."""
    names = ("heading_deg", "time_s", "end_m", "bounce_m", "lands")
    rows = {name: getattr(fan, name) for name in names}
    of = {"least_in": fan.least_in, "line_m": fan.scene.line_m, "open_deg": fan.open_deg}
    return {**of, **rows}
