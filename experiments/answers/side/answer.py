"""Shots compared from the side: flight, bounce, and where a player at a stated place meets them."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from experiments.answers.shot.answer import ShotQuestion, flown, launch_of
from experiments.balls.angle import traced
from experiments.output.in_a_line import InALine
from experiments.scene.scene import Scene
from sim.belief import CROSSCOURT, DIRECTIONS
from sim.contracts import ShotSituation, bodies_at, turned
from sim.court import net_height_m
from sim.errors import InputError, unknown_name
from sim.exchange import opening_contact
from sim.hitter import RPM, usable_topspins
from sim.legs import Legs
from sim.meeting import meetings
from sim.over_arrays import interpolated, length_of
from sim.players import Player
from sim.records import GRADES, IN, MISSED, NET, OUTCOMES
from sim.stroke import ERROR_DRAWS, net_margin_m, strike
from strategies.shots.habit import Habit

HIGH = "high"
SHOTS = (*DIRECTIONS, HIGH)
HIGH_GAP_M = 2.0  # of a high ball above the net (assumed)
FINE_S = 0.005


@dataclass(frozen=True)
class SideQuestion:
    """Shots from one contact place to a receiver who stands at rest at `stand_m` (x, y).

    shots: names of SHOTS. The four directions are aimed as the opponent aims them, without
    execution error; `high` goes deep crosscourt, HIGH_GAP_M above the net, as slow as that takes.

    Raises:
        InputError: an unknown shot, no shot, or one twice.
    """

    scene: Scene
    stand_m: tuple[float, float]
    shots: Sequence[str]

    def __post_init__(self) -> None:
        for name in self.shots:
            if name not in SHOTS:
                raise unknown_name("shot", name, SHOTS)
        if not 1 <= len(set(self.shots)) == len(self.shots):
            raise InputError(
                f"shots are {', '.join(self.shots) or 'none'}; give at least one, no two the same"
            )


@dataclass(frozen=True)
class Flight:
    """One ball from the strike to the second bounce, seen with the hitter on the far side.

    points: (n, 4), time, x, y, height of the ball's centre in the receiver's frame. bounce_s: when
    it lands; net_x_m: where it crosses the net, NaN if it bounces before.
    """

    name: str
    speed_m_s: float
    topspin_rpm: float
    points: np.ndarray
    bounce_s: float
    net_x_m: float

    def at(self, time_s: float | np.ndarray) -> np.ndarray:
        """x, y and height at times, (..., 3); straight between the points."""
        columns = [interpolated(time_s, self.points[:, 0], self.points[:, k]) for k in (1, 2, 3)]
        return np.stack(columns, axis=-1)

    @property
    def end_s(self) -> float:
        """When it bounces the second time."""
        return float(self.points[-1, 0])


@dataclass(frozen=True)
class Met:
    """Where a ball is played by the model's rule; for a missed one where it comes nearest in time.

    ball_m: x, y and height; body_m: x, y. spare_s: time to spare, below 0 for a missed ball.
    """

    time_s: float
    ball_m: tuple[float, float, float]
    body_m: tuple[float, float]
    spare_s: float
    grade: str

    @property
    def is_reached(self) -> bool:
        return self.grade != GRADES[MISSED]


@dataclass(frozen=True)
class SideShot:
    """A flight and what becomes of it."""

    flight: Flight
    met: Met


@dataclass(frozen=True, repr=False)
class SideResult(InALine):
    """The answer to a SideQuestion, a SideShot for each of its shots."""

    question: SideQuestion
    shots: tuple[SideShot, ...]


def side_view(question: SideQuestion) -> SideResult:
    """Fly and meet the shots of a question.

    Raises:
        InputError: a shot that does not land in from there.
    """
    return SideResult(question, tuple(_shot(question, name) for name in question.shots))


def _shot(question: SideQuestion, name: str) -> SideShot:
    scene = question.scene
    game, world = scene.game, scene.world.numbers
    contact = opening_contact(scene.place, game.opponent, 1)
    receiver = bodies_at(*(np.array([v]) for v in question.stand_m))
    wish = intent_of(scene, name, contact, receiver)
    even = np.full((1, ERROR_DRAWS), 0.5)  # the middle of every error: none
    balls, paths = strike(contact, wish, even, margin_of(scene.opponent, name), world)
    if balls[0]["outcome"] != IN:
        raise InputError(
            f"{name} does not land in ({OUTCOMES[balls[0]['outcome']]}) from x"
            f" {scene.place.x_m:g} m, y {scene.place.y_m:g} m, {scene.place.z_m:g} m high;"
            " leave it out or choose another contact place"
        )
    legs = scene.player.legs
    met = meetings(balls, paths, receiver, legs.numbers, legs.times, game.rule)[0]
    hitter = scene.opponent.hitter.numbers
    spin = float(usable_topspins(wish["topspin_rad_s"], contact["z_m"], hitter)[0] / RPM)
    return SideShot(flight_of(name, balls[0], paths[0], world, spin), _met(met))


def intent_of(scene: Scene, name: str, contact: np.ndarray, receiver: np.ndarray) -> np.ndarray:
    """What the opponent means to do, an INTENT record: the usual shot of that direction."""
    seen = ShotSituation(
        me=scene.opponent,
        opponent=scene.player,
        world=scene.world.numbers,
        contact=contact,
        receiver=turned(receiver),
    )
    direction = CROSSCOURT if name == HIGH else DIRECTIONS.index(name)
    return Habit().aimed(seen, np.array([direction]), np.zeros((1, 4)))


def margin_of(opponent: Player, name: str) -> np.ndarray:
    """The HITTER record whose margin above the net is the usual one, or that of a high ball."""
    numbers = opponent.hitter.numbers
    if name != HIGH:
        return numbers
    out = numbers.copy()
    out["aim_margin_sds"] *= HIGH_GAP_M / net_margin_m(numbers[0])
    return out


def flight_of(
    name: str, ball: np.void, path: np.ndarray, world: np.ndarray, topspin_rpm: float
) -> Flight:
    """The flight of a BALL record and its path; `world` a WORLD record of length one."""
    points = traced(ball, path, world)
    speed = float(length_of(*(ball[f"v{axis}_m_s"] for axis in "xyz")))
    before = points[points[:, 0] <= ball["landing_time_s"]]
    crosses = before[-1, 2] < 0.0 or ball["landing_y_m"] < 0.0
    net_x = float(interpolated(0.0, -before[:, 2], before[:, 1])) if crosses else np.nan
    return Flight(name, speed, topspin_rpm, points, float(ball["landing_time_s"]), net_x)


def shot_flight(question: ShotQuestion) -> Flight:
    """The flight of a shot; one that does not clear the net ends there.

    Raises:
        InputError: the target cannot be hit, and why.
    """
    ball, path = flown(question, *launch_of(question))
    name = f"The ball is {OUTCOMES[ball['outcome']]}"
    found = flight_of(name, ball, path, question.world_numbers, question.topspin_rpm)
    if ball["outcome"] != NET:
        return found
    short = found.points[found.points[:, 2] > 0.0]
    at_net = [interpolated(0.0, -found.points[:, 2], found.points[:, k]) for k in range(4)]
    points = np.vstack([short, at_net]) if np.isfinite(found.net_x_m) else short
    end = float(points[-1, 0])
    name = "The ball does not clear the net"
    return dataclasses.replace(found, name=name, points=points, bounce_s=end)


def _met(found: np.void) -> Met:
    time, spare = float(found["time_s"]), float(found["time_to_spare_s"])
    x, y, z = (float(found[f"ball_{axis}_m"]) for axis in "xyz")
    body = float(found["body_x_m"]), float(found["body_y_m"])
    return Met(time, (x, y, z), body, spare, GRADES[found["grade"]])


def playable_times(flight: Flight, legs: Legs) -> np.ndarray:
    """Times after the bounce, FINE_S apart, at which the ball is at a playable height."""
    times = np.arange(flight.bounce_s, flight.end_s, FINE_S)
    height = flight.at(times)[:, 2]
    return times[(height >= legs.playable_low_m) & (height <= legs.playable_high_m)]


def net_top_m(flight: Flight) -> float:
    """Height of the net where the ball crosses it; its centre's for a ball that does not."""
    return float(net_height_m(flight.net_x_m if np.isfinite(flight.net_x_m) else 0.0))


def side_text(result: SideResult) -> str:
    """The comparison in words."""
    q = result.question.scene
    x, y = result.question.stand_m
    lines = [
        f"{q.against('set shots')}:",
        f"strikes at x {q.place.x_m:g} m, y {q.place.y_m:g} m, {q.place.z_m:g} m high;"
        f" {q.player.name} stands at x {x:z.1f} m, y {y:.1f} m ({q.world.surface.name}).",
        "",
        f"{'shot':<13}  {'speed':>8}  {'topspin':>8}  {'bounce':>16}  {'met':>6}  {'height':>6}"
        f"  {'to spare':>8}  grade",
    ]
    for s in result.shots:
        f, m = s.flight, s.met
        bx, by, _ = f.at(f.bounce_s)
        lines.append(
            f"{f.name:<13}  {3.6 * f.speed_m_s:3.0f} km/h  {f.topspin_rpm:4.0f} rpm"
            f"  {f'{bx:z.1f}, {by:z.1f} m':>16}  {m.time_s:4.2f} s  {m.ball_m[2]:4.2f} m"
            f"  {m.spare_s:6.2f} s  {m.grade}"
        )
    lines += ["", "Struck as meant, without error. Times count from the strike. Model results."]
    return "\n".join(lines)


def side_json(result: SideResult) -> dict[str, object]:
    """The comparison as numbers; paths as rows of time, x, y, height."""
    shots = [{**vars(s.flight), "met": s.met} for s in result.shots]
    return {**result.question.scene.who, "shots": shots}
