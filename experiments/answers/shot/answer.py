"""One shot: from a contact point to a target, or by its launch angle, past the bounce."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from sim.arithmetic import atan2, cos, sin
from sim.court import net_height_m
from sim.errors import InputError
from sim.flight_table import records_of
from sim.hitter import RPM
from sim.kinds import DRIVE
from sim.launch import HIT, REASONS, TOO_FAST, TOO_SLOW, TOO_STEEP, UNDER_NET, shoot, solve_launch
from sim.over_arrays import length_of
from sim.records import BALL, NET, OUTCOMES, PATH_POINTS
from sim.stroke import fill_ball
from sim.world import World

Point = tuple[float, float]
FARTHEST_X_M, FARTHEST_Y_M, HIGHEST_M = 10.0, 20.0, 3.5
FASTEST_M_S, MOST_SPIN_RPM, STEEPEST_DEG = 100.0, 10_000.0, 89.0
REMEDIES = {
    UNDER_NET: "strike slower, with more topspin, or to a target farther from the net",
    TOO_FAST: "strike slower, with more topspin, or try --high",
    TOO_SLOW: "strike faster or to a nearer target",
    TOO_STEEP: "strike slower, or leave out --high",
}


@dataclass(frozen=True)
class ShotQuestion:
    """A shot to work out, in the frame of the court: the net at y = 0, z up.

    `start_m` is the ball at contact, on either side; `target_m` the landing on the other side, or
    None where the launch is given by `launch_angle_deg` above the horizontal and `heading_deg`
    from straight along the court, positive to the right as the hitter faces the net. Positive
    topspin_rpm turns the ball forward, positive sidespin_rpm curves it to the hitter's left. The
    wind of `world` is in the same frame. `high` asks for the higher of the two launches.

    Raises:
        InputError: points that are not on two sides of the net, or a number out of range.
    """

    start_m: tuple[float, float, float]
    speed_m_s: float
    world: World
    target_m: Point | None = None
    launch_angle_deg: float | None = None
    heading_deg: float = 0.0
    topspin_rpm: float = 0.0
    sidespin_rpm: float = 0.0
    high: bool = False

    def __post_init__(self) -> None:
        x, y, z = self.start_m
        radius = self.world.ball.radius_m
        _require("x of the contact", x, -FARTHEST_X_M, FARTHEST_X_M, "m")
        _require("y of the contact", y, -FARTHEST_Y_M, FARTHEST_Y_M, "m")
        _require("height of the contact", z, round(2 * radius, 4), HIGHEST_M, "m")
        _require("speed", self.speed_m_s, 1.0, FASTEST_M_S, "m/s")
        _require("topspin", self.topspin_rpm, -MOST_SPIN_RPM, MOST_SPIN_RPM, "rpm")
        _require("sidespin", self.sidespin_rpm, -MOST_SPIN_RPM, MOST_SPIN_RPM, "rpm")
        _require("heading", self.heading_deg, -STEEPEST_DEG, STEEPEST_DEG, "degrees")
        if abs(y) < 2 * radius:
            raise InputError(f"contact y is {y:g} m, in the net; strike from one side of it")
        if (self.target_m is None) == (self.launch_angle_deg is None):
            raise InputError("give one of a target (--to X,Y) and a launch angle (--angle DEGREES)")
        if self.launch_angle_deg is not None:
            _require("launch angle", self.launch_angle_deg, -STEEPEST_DEG, STEEPEST_DEG, "degrees")
        if self.target_m is not None:
            _require("x of the target", self.target_m[0], -FARTHEST_X_M, FARTHEST_X_M, "m")
            _require("y of the target", self.target_m[1], -FARTHEST_Y_M, FARTHEST_Y_M, "m")
            if self.target_m[1] * y >= 0:
                raise InputError(
                    f"the contact is at y = {y:g} m and the target at y = {self.target_m[1]:g} m;"
                    " the net stands at y = 0 and the target must lie beyond it, so give the two"
                    " y opposite signs"
                )

    @property
    def half_turn(self) -> float:
        """1 where the hitter is at y > 0, the frame in which balls are flown, else -1."""
        return 1.0 if self.start_m[1] > 0 else -1.0

    def thrown(self, elevation: float, heading: float) -> tuple[float, ...]:
        """The contact, the launch (radians), speed and spins, with the hitter at y > 0."""
        (x, y, z), turn = self.start_m, self.half_turn
        spins = (self.topspin_rpm * RPM, self.sidespin_rpm * RPM)
        return (turn * x, turn * y, z, elevation, heading, self.speed_m_s, *spins)

    @property
    def world_numbers(self) -> np.ndarray:
        """The WORLD record in the frame in which the hitter is at y > 0."""
        return self.world.numbers if self.start_m[1] > 0 else self.world.turned_numbers


@dataclass(frozen=True)
class ShotResult:
    """What a shot does. Times count from the strike; angles in degrees.

    `landing_angle_deg` is how steeply the ball comes down, `bounce_angle_deg` how steeply it goes
    up. A ball that ends in the net has NaN from the landing on. `net_clearance_m` is the gap
    between the ball's underside and the net, negative in the net, NaN where the ball bounces
    before it.
    """

    outcome: str
    launch_angle_deg: float
    heading_deg: float
    net_clearance_m: float
    net_height_m: float
    flight_time_s: float
    landing_m: Point
    landing_speed_m_s: float
    landing_angle_deg: float
    bounce_speed_m_s: float
    bounce_angle_deg: float
    bounce_topspin_rpm: float
    second_bounce_m: Point
    second_bounce_time_s: float

    def as_json(self) -> dict[str, Any]:
        """The result for JSON, what follows the bounce in a table of its own.

        A point that does not exist is no list of nothings.
        """
        out: dict[str, Any] = {}
        for name, value in vars(self).items():
            lost = isinstance(value, tuple) and not all(map(math.isfinite, value))
            key = name.removeprefix("bounce_")
            table = out if key == name else out.setdefault("bounce", {})
            table[key] = None if lost else value
        return out


def play_shot(question: ShotQuestion) -> ShotResult:
    """Work out a shot.

    Raises:
        InputError: the target cannot be hit, and why.
    """
    launch = launch_of(question)
    ball, _ = flown(question, *launch)
    numbers = question.world_numbers
    net_x = float(shoot(*question.thrown(*launch), numbers[0], records_of(numbers))[6])
    return result_of(ball, question.half_turn, *launch, net_x)


def flown(question: ShotQuestion, elevation: float, heading: float) -> tuple[np.void, np.ndarray]:
    """The BALL record and the path (PATH_POINTS, 5) of a launch, with the hitter at y > 0."""
    path, balls, numbers = np.empty((PATH_POINTS, 5)), np.zeros(1, BALL), question.world_numbers
    thrown = question.thrown(elevation, heading)
    fill_ball(*thrown, DRIVE, True, numbers[0], records_of(numbers), path, balls[0])
    return balls[0], path


def launch_of(question: ShotQuestion) -> tuple[float, float]:
    """Elevation and heading (radians, in the frame of the flight): given, or solved.

    Raises:
        InputError: the target cannot be hit, and why.
    """
    if question.launch_angle_deg is not None:
        right = math.radians(question.heading_deg)
        heading = atan2(-cos(right), -sin(right))
        return math.radians(question.launch_angle_deg), heading
    assert question.target_m is not None
    turn, (x, y, z, *_, speed, topspin, sidespin) = question.half_turn, question.thrown(0.0, 0.0)
    reason, elevation, heading, _ = solve_launch(
        *(x, y, z, turn * question.target_m[0], turn * question.target_m[1]),
        *(speed, topspin, sidespin, question.high),
        question.world_numbers[0],
        records_of(question.world_numbers),
    )
    if reason != HIT:
        raise InputError(
            f"this shot cannot be hit: {REASONS[reason]}. What to do: {REMEDIES[reason]}."
        )
    return float(elevation), float(heading)


def result_of(
    ball: np.void, turn: float, elevation: float, heading: float, net_x_m: float
) -> ShotResult:
    """The result from a BALL record, turned into the frame of the question."""
    in_net = ball["outcome"] == NET
    crossed = math.isfinite(net_x_m)
    values: dict[str, Any] = {
        "flight_time_s": float(ball["landing_time_s"]),
        "landing_m": _turned(ball, "landing", turn),
        "landing_speed_m_s": _speed(ball, "landing"),
        "landing_angle_deg": -_climb_deg(ball, "landing"),
        "bounce_speed_m_s": _speed(ball, "bounce"),
        "bounce_angle_deg": _climb_deg(ball, "bounce"),
        "bounce_topspin_rpm": _topspin_rpm(ball),
        "second_bounce_m": _turned(ball, "second_bounce", turn),
        "second_bounce_time_s": float(ball["second_bounce_time_s"]),
    }
    if in_net:
        values = {
            k: (math.nan, math.nan) if isinstance(v, tuple) else math.nan for k, v in values.items()
        }
    return ShotResult(
        outcome=OUTCOMES[ball["outcome"]],
        launch_angle_deg=math.degrees(elevation),
        heading_deg=math.degrees(atan2(-cos(heading), -sin(heading))),
        net_clearance_m=float(ball["net_clearance_m"]) if crossed else math.nan,
        net_height_m=float(net_height_m(net_x_m)) if crossed else math.nan,
        **values,
    )


def _turned(ball: np.void, name: str, turn: float) -> Point:
    return float(turn * ball[f"{name}_x_m"]), float(turn * ball[f"{name}_y_m"])


def _flat_speed(ball: np.void, name: str) -> float:
    return float(length_of(ball[f"{name}_vx_m_s"], ball[f"{name}_vy_m_s"]))


def _speed(ball: np.void, name: str) -> float:
    return float(length_of(*(ball[f"{name}_v{axis}_m_s"] for axis in "xyz")))


def _climb_deg(ball: np.void, name: str) -> float:
    """Angle of the velocity above the horizontal."""
    return math.degrees(atan2(ball[f"{name}_vz_m_s"], _flat_speed(ball, name)))


def _topspin_rpm(ball: np.void) -> float:
    """Spin about the axis across the way that the ball leaves the ground, forward positive."""
    vx, vy = ball["bounce_vx_m_s"], ball["bounce_vy_m_s"]
    along = ball["bounce_spin_y_rad_s"] * vx - ball["bounce_spin_x_rad_s"] * vy
    flat = float(length_of(vx, vy))
    return float(along / flat / RPM) if flat > 0 else 0.0


def _require(what: str, value: float, low: float, high: float, unit: str) -> None:
    if not (math.isfinite(value) and low <= value <= high):
        raise InputError(f"{what} is {value:g} {unit}; it must be from {low:g} to {high:g} {unit}")


def shot_text(question: ShotQuestion, r: ShotResult) -> str:
    """The result in words."""
    lines = [
        f"The ball is {r.outcome}." if r.outcome != "net" else "The ball does not clear the net.",
        f"launch           {r.launch_angle_deg:.2f} degrees above horizontal,"
        f" {_aside(r.heading_deg)}",
    ]
    if math.isfinite(r.net_clearance_m):
        lines.append(
            f"at the net       {r.net_clearance_m:.2f} m between ball and net"
            f" (net {r.net_height_m:.2f} m high there)"
        )
    if r.outcome != "net":
        lines += [
            f"landing          at {_at(r.landing_m)} after {r.flight_time_s:.3f} s,"
            f" {r.landing_speed_m_s:.1f} m/s, {r.landing_angle_deg:.1f} degrees down",
            f"after the bounce {r.bounce_speed_m_s:.1f} m/s, {r.bounce_angle_deg:.1f} degrees up,"
            f" topspin {r.bounce_topspin_rpm:.0f} rpm ({question.world.surface.name})",
            f"second bounce    at {_at(r.second_bounce_m)}, {r.second_bounce_time_s:.3f} s after"
            " the strike",
        ]
    return "\n".join(lines)


def _aside(heading_deg: float) -> str:
    if abs(heading_deg) < 0.005:
        return "straight along the court"
    side = "right" if heading_deg > 0 else "left"
    return f"{abs(heading_deg):.2f} degrees to the hitter's {side}"


def _at(point: Point) -> str:
    return f"({point[0]:.2f}, {point[1]:.2f}) m"
