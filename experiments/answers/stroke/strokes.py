"""The four own strokes from one place, and where and when the opponent meets them."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from experiments.balls.own_drive import own_contact, own_drive
from experiments.scene.defaults import OPPONENT_POLICY
from experiments.scene.own_code import policy_of
from experiments.scene.scene import FEWEST_BALLS, Scene, require_count
from sim.belief import DIRECTIONS
from sim.contracts import RecoveryPolicy, ShotSituation, aims_of, bodies_at, turned
from sim.court import HALF_LENGTH_M, RUN_OFF_BACK_M
from sim.errors import InputError, unknown_name
from sim.exchange import Game, body_of, contact_of, situation
from sim.meeting import RULES, meetings
from sim.over_arrays import interpolated, length_of, powers
from sim.records import IN, MISSED, OPPONENT, X, Y
from sim.stroke import ERROR_DRAWS, strike
from strategies.aim import AimedShots

HIGH = "high"
DRIVES = DIRECTIONS[:3]  # crosscourt, middle, down the line
OWN_STROKES = (*DRIVES, HIGH)
HIGH_NET_GAP_M, HIGH_DEPTH_M = 4.0, 10.5
LEAST_HIGH_M, MOST_HIGH_M = 1.5, 6.0
HIGH_SPEED_SHARES = powers(0.99, 140)  # down to a quarter
MOST_BALLS = 100_000
FARTHEST_X_M, NEAREST_Y_M = 8.0, 3.0
WRONG_DEPTH_M = 0.1


@dataclass(frozen=True)
class StrokeQuestion:
    """The own contact in a scene, whose own contact place plays no part.

    contact_m: the ball (x, y, z) in the own frame, y < 0. quality: of the own contact, 1 where
    there was time, 0 at full stretch. opponent_policy: where the opponent waits while the ball is
    struck; opponent_takes: the rule (sim.reply.RULES) by which the opponent chooses where to play
    it.
    high_gap_m: by how much the high ball clears the net; high_to: the drive whose way it goes.

    Raises:
        InputError: a number out of range.
    """

    scene: Scene
    contact_m: tuple[float, float, float]
    policies: tuple[RecoveryPolicy, ...]
    opponent_policy: RecoveryPolicy = field(default_factory=lambda: policy_of(OPPONENT_POLICY))
    high_gap_m: float = HIGH_NET_GAP_M
    high_to: str = DRIVES[0]
    quality: float = 1.0
    opponent_takes: str = "balanced"

    def __post_init__(self) -> None:
        x, y, z = self.contact_m
        _require("your contact's x", x, -FARTHEST_X_M, FARTHEST_X_M)
        _require("your contact's y", y, -(HALF_LENGTH_M + RUN_OFF_BACK_M), -NEAREST_Y_M)
        _require("your contact's height", z, 0.1, 2.5)
        _require("what the high ball clears the net by", self.high_gap_m, LEAST_HIGH_M, MOST_HIGH_M)
        if not 0.0 <= self.quality <= 1.0:
            raise InputError(f"the quality of your contact is {self.quality:g}; allowed: 0 to 1")
        if self.high_to not in DRIVES:
            raise unknown_name("direction of the high ball", self.high_to, DRIVES)
        if self.opponent_takes not in RULES:
            raise unknown_name("rule of meeting", self.opponent_takes, RULES)
        require_count("balls", self.scene.balls, FEWEST_BALLS, MOST_BALLS)

    @cached_property
    def game(self) -> Game:
        game = self.scene.game
        opponent = dataclasses.replace(game.opponent, policy=self.opponent_policy)
        return dataclasses.replace(game, opponent=opponent)


def _require(what: str, value: float, low: float, high: float) -> None:
    if not (math.isfinite(value) and low <= value <= high):
        raise InputError(f"{what} is {value:g} m; allowed: {low:g} to {high:g}")


@dataclass(frozen=True, eq=False)
class OwnStroke:
    """One own stroke, own frame.

    contact: CONTACT record (1,), own. ball: BALL record (1,) in the opponent's frame. bounce_m:
    (x, y). path_m: (k, 2), from the contact over the bounce to where the opponent meets it, or to
    the second bounce. waits_m: (x, y), where the opponent waited. meets, opponent: CONTACT and BODY
    records (1,) in the opponent's frame, None if the opponent does not get there. meets_m:
    (x, y, z) of that ball.
    time_s: from the own to the opponent's contact, inf if there is none.
    """

    name: str
    contact: np.ndarray
    ball: np.ndarray
    speed_m_s: float
    net_gap_m: float
    bounce_m: tuple[float, float]
    path_m: np.ndarray
    waits_m: tuple[float, float]
    meets: np.ndarray | None
    opponent: np.ndarray | None
    meets_m: tuple[float, float, float]
    time_s: float


def own_stroke(question: StrokeQuestion, name: str, lands_m: float | None = None) -> OwnStroke:
    """One own stroke without error, met by an opponent who waits for it.

    The drives are those of the hitters of this model: usual speed and topspin, and margins to the
    lines and the net that follow from the own error; one that `lands_m` from the net is slowed
    until it clears the net by the same margin. The high ball goes the way of one of them and
    lands HIGH_DEPTH_M from the net, with the usual topspin and the greatest speed with which it
    clears the net by `high_gap_m`. The opponent is at rest at the spot of the own policy and plays
    the ball by the own rule; how hurried that is shows in the quality of the contact.

    Raises:
        InputError: the stroke cannot be played from there.
    """
    game = question.game
    own = own_contact(game, *question.contact_m)
    own["quality"] = question.quality
    spot = waiting_spot(game, own)
    ball, path = _played(question, own, bodies_at(*spot[:, None]), name, lands_m)
    return met_stroke(question, name, own, spot, ball, path)


def met_stroke(
    question: StrokeQuestion,
    name: str,
    own: np.ndarray,
    spot: np.ndarray,
    ball: np.ndarray,
    path: np.ndarray,
) -> OwnStroke:
    """An own stroke that was flown, met by an opponent who waits at `spot` (2,), its own frame."""
    body, legs = bodies_at(*spot[:, None]), question.game.opponent.player.legs
    met = meetings(ball, path, body, legs.numbers, legs.times, RULES.index(question.opponent_takes))
    missed = met["grade"][0] == MISSED
    contact = contact_of(met)
    seen = turned(contact)
    return OwnStroke(
        name=name,
        contact=own,
        ball=ball,
        speed_m_s=float(length_of(*(ball[f"v{axis}_m_s"][0] for axis in "xyz"))),
        net_gap_m=float(ball["net_clearance_m"][0]),
        bounce_m=(-float(ball["landing_x_m"][0]), -float(ball["landing_y_m"][0])),
        path_m=_path(question, ball, path, math.inf if missed else float(met["time_s"][0])),
        waits_m=(-float(spot[0]), -float(spot[1])),
        meets=None if missed else contact,
        opponent=None if missed else body_of(met),
        meets_m=tuple(float(seen[k][0]) for k in ("x_m", "y_m", "z_m")),  # type: ignore[arg-type]
        time_s=math.inf if missed else float(met["time_s"][0]),
    )


def _played(
    question: StrokeQuestion,
    own: np.ndarray,
    waits: np.ndarray,
    name: str,
    lands_m: float | None,
) -> tuple[np.ndarray, np.ndarray]:
    """The ball and its path in the opponent's frame."""
    game = question.game
    seen = ShotSituation(
        me=question.scene.player,
        opponent=question.scene.opponent,
        world=game.world_of(OPPONENT),
        contact=own,
        receiver=turned(waits),
        receiver_depth_m=game.opponent.waits_behind_m,
    )
    direction = DIRECTIONS.index(question.high_to if name == HIGH else name)
    wish = AimedShots().aimed(seen, np.array([direction]), np.zeros((1, 4)))
    if name == HIGH:
        return _high(question, own, wish)
    if lands_m is not None:
        return _landing(question, own, wish, name, lands_m)
    ball, path = _struck(question, own, wish)
    if ball["outcome"][0] != IN:
        raise InputError(f"no {name} drive from there lands in; give a place nearer to the court")
    return ball, path


def _struck(
    question: StrokeQuestion, own: np.ndarray, wish: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """A wish without error, in the opponent's frame."""
    hitter, world = question.scene.player.hitter.numbers, question.game.world_of(OPPONENT)
    return strike(own, wish, np.full((1, ERROR_DRAWS), 0.5), hitter, world)


def _landing(
    question: StrokeQuestion, own: np.ndarray, wish: np.ndarray, name: str, lands_m: float
) -> tuple[np.ndarray, np.ndarray]:
    """The same wish at another depth; what a stretched contact takes off it is aimed beyond."""
    wish["target_y_m"] = lands_m
    ball, path = _struck(question, own, wish)
    if ball["outcome"][0] == IN:
        wish["target_y_m"] += lands_m + ball["landing_y_m"]
        ball, path = _struck(question, own, wish)
    if ball["outcome"][0] != IN or abs(ball["landing_y_m"][0] + lands_m) > WRONG_DEPTH_M:
        raise InputError(
            f"no {name} drive from there lands {lands_m:g} m from the net; give another depth, or"
            " another place of your contact"
        )
    return ball, path


def _high(
    question: StrokeQuestion, own: np.ndarray, wish: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """The high ball, deep in the direction of the drive."""
    gap, x, y = question.high_gap_m, float(wish["target_x_m"][0]), HIGH_DEPTH_M
    ball, path = own_drive(question.game, own, x, y, gap, HIGH_SPEED_SHARES)
    if ball["outcome"][0] != IN or ball["net_clearance_m"][0] < gap:
        raise InputError(
            f"no ball from there clears the net by {gap:g} m and lands {y:.1f} m deep; ask for less"
            " height, or a place farther from the net"
        )
    return ball, path


def waiting_spot(game: Game, own: np.ndarray) -> np.ndarray:
    """Where the opponent waits for that contact, (2,), in the opponent's frame."""
    line = np.array([-(HALF_LENGTH_M + game.opponent.waits_behind_m)])
    seen = situation(game, OPPONENT, bodies_at(np.zeros(1), line), own, np.full(1, np.inf))
    return aims_of(game.opponent.policy, seen)[0][0]


def _path(question: StrokeQuestion, ball: np.ndarray, path: np.ndarray, end_s: float) -> np.ndarray:
    """The ball from above until then, own frame; before the bounce it is straight."""
    after = path[0, : ball["points"][0]]
    second = [ball[f"second_bounce_{k}"][0] for k in ("time_s", "x_m", "y_m")]
    t, x, y = np.vstack([after[:, [0, X, Y]], second]).T
    end = min(end_s, float(t[-1]))
    cut = np.append(t[t < end], end)
    track = -np.stack([interpolated(cut, t, x), interpolated(cut, t, y)], axis=1)
    return np.vstack([question.contact_m[:2], track])
