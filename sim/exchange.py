"""The life of one stroke, shared by both engines: strike, meeting, recovery, record.

Every function works on arrays with one entry a rally; the event engine passes arrays of length
one. Who strikes is the hitter, who runs the receiver; their places are in their own frames.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass, field

import numpy as np

from sim.anticipation import starts
from sim.belief import Belief
from sim.can_play import settled
from sim.chance import EXECUTION, RECEIVE, RECOVER, SHOT, normals, one_each, uniforms
from sim.contracts import (
    RecoveryPolicy,
    ShotModel,
    ShotSituation,
    Situation,
    aims_of,
    bodies_at,
    parted,
    turned,
)
from sim.court import HALF_LENGTH_M
from sim.envelope import DriveLimits
from sim.errors import InputError
from sim.handover import body_of as body_of
from sim.handover import contact_of as contact_of
from sim.handover import fill_beside, fill_returns
from sim.kinds import SECOND_SERVE
from sim.meeting import BALANCED, meet_into
from sim.movement import recovered
from sim.net_place import net_spots
from sim.plain_text import checked_line
from sim.players import Player
from sim.records import (
    BODY,
    CONTACT,
    FOREHAND,
    MEETING,
    OPPONENT,
    STROKE,
    STUDIED,
)
from sim.stroke import ERROR_DRAWS, strike
from sim.stroke_rows import write_strokes
from sim.world import World


@dataclass(frozen=True)
class Side:
    """One side of the net: who plays, how it recovers, what it hits, what it believes."""

    player: Player
    policy: RecoveryPolicy
    shots: ShotModel
    depth_m: float | None = None
    belief: Belief = field(default_factory=Belief)
    limits: DriveLimits = field(default_factory=DriveLimits)

    @property
    def waits_behind_m(self) -> float:
        """Waiting depth behind the baseline: the given one, else the player's own."""
        return self.player.waits_behind_m if self.depth_m is None else self.depth_m


@dataclass(frozen=True)
class Place:
    """An opponent contact place in the studied player's frame: the ball at contact.

    With `serve`, the first stroke is that model's, struck at the server's own height, lands where
    it is meant to, and the studied player waits between the extreme paths into the service box.

    Raises:
        InputError: not finite, on the wrong side, not a height at which a ball is struck, or a
            name that cannot be shown as it is.
    """

    name: str
    x_m: float
    y_m: float
    z_m: float = 1.0
    serve: ShotModel | None = None

    def __post_init__(self) -> None:
        checked_line("the name of a place", self.name)
        numbers = (self.x_m, self.y_m, self.z_m)
        if not all(np.isfinite(n) for n in numbers):
            raise InputError(f"contact place {numbers!r} has a number that is not finite")
        if not 0.5 <= self.y_m <= HALF_LENGTH_M + 8:
            raise InputError(
                f"contact place y is {self.y_m:g} m; the opponent is on the far side of the net,"
                f" so give y from 0.5 to {HALF_LENGTH_M + 8:g}"
            )
        if abs(self.x_m) > 10:
            raise InputError(f"contact place x is {self.x_m:g} m; allowed: -10 to 10")
        if not 0.1 <= self.z_m <= 3.2:
            raise InputError(f"contact height is {self.z_m:g} m; allowed: 0.1 to 3.2")


@dataclass(frozen=True)
class Game:
    """Two sides in one world: all that the course of a rally depends on beside chance."""

    studied: Side
    opponent: Side
    world: World
    seed: int
    rule: int = BALANCED
    stroke_limit: int = 60

    def sides(self, hitter: int) -> tuple[Side, Side]:
        """(hitter, receiver) for the side that strikes."""
        pair = (self.studied, self.opponent)
        return pair[hitter], pair[1 - hitter]

    def world_of(self, side: int) -> np.ndarray:
        """The WORLD record in that side's own frame."""
        return self.world.numbers if side == STUDIED else self.world.turned_numbers


def wing_at(x_m: np.ndarray, player: Player) -> np.ndarray:
    """The wing on whose half of the court the ball is (own frame): forehand 1, backhand -1."""
    hand = 1.0 if player.hand == "right" else -1.0
    return np.where(x_m * hand >= 0, 1, -1)


def opening_contact(place: Place, opponent: Side, count: int) -> np.ndarray:
    """CONTACT records (count,), opponent's frame, of an unhurried ball struck at `place`.

    A serve is struck as a forehand is.
    """
    out = np.zeros(count, CONTACT)
    out["x_m"], out["y_m"], out["z_m"] = -place.x_m, -place.y_m, place.z_m
    out["quality"] = 1.0
    out["wing"] = wing_at(out["x_m"], opponent.player)
    if place.serve is not None:
        out["z_m"], out["wing"] = opponent.player.hitter.serve_height_m, FOREHAND
    return out


def body_beside(contact: np.ndarray, player: Player) -> np.ndarray:
    """BODY records at rest, a comfortable reach beside the ball on the side of the wing."""
    out, hand = np.empty(len(contact), BODY), 1.0 if player.hand == "right" else -1.0
    fill_beside(np.ascontiguousarray(contact), hand, float(player.legs.comfortable_reach_m), out)
    return out


def situation(
    game: Game,
    side: int,
    body: np.ndarray,
    contact: np.ndarray,
    time_s: np.ndarray,
    own_ball: np.ndarray | None = None,
) -> Situation:
    """What `side` sees when it chooses a spot: `contact` in the other side's own frame."""
    other, own = game.sides(1 - side)
    return Situation(
        me=own.player,
        opponent=other.player,
        world=game.world_of(side),
        depth_m=own.waits_behind_m,
        body=body,
        contact=turned(contact),
        time_s=time_s,
        own_ball=own_ball,
        belief=own.belief,
        limits=own.limits,
    )


def placed_spots(game: Game, contact: np.ndarray) -> np.ndarray:
    """Spots of the studied side's policy with all the time it wants; it comes from the middle."""
    return aims_of(game.studied.policy, at_leisure(game, contact))[0]


def at_leisure(game: Game, contact: np.ndarray) -> Situation:
    """What the studied side sees before the first stroke: it comes from the middle, in no hurry."""
    body = np.zeros(len(contact), BODY)
    body["y_m"] = -(HALF_LENGTH_M + game.studied.waits_behind_m)
    return situation(game, STUDIED, body, contact, np.full(len(contact), np.inf))


@dataclass(frozen=True)
class Recovery:
    """Where a side recovered to: BODY records, the spots aimed at (n, 2), metres run (n,), and the
    efforts that the policy asked for (n,), 0 for the legs' own."""

    body: np.ndarray
    spots: np.ndarray
    run_m: np.ndarray
    effort: np.ndarray


def opening(
    game: Game, place: Place, replicates: np.ndarray, spots: np.ndarray | None = None
) -> tuple[np.ndarray, np.ndarray, Recovery]:
    """How rallies begin: the opponent's CONTACT and BODY records, and where the studied side is.

    The opponent strikes from `place`; the studied player waits at rest at the policy's spot, or at
    `spots` (n, 2), nearer for a second serve.
    """
    count = len(replicates)
    contact = opening_contact(place, game.opponent, count)
    if spots is None:
        one = np.array(placed_spots(game, contact[:1]))  # all rallies begin alike
        spots = np.repeat(one, count, axis=0) if count else np.zeros((0, 2))
    else:
        spots = np.array(spots, float)
    if place.serve is not None and count:
        at = bodies_at(spots[:, 0], spots[:, 1])
        serves = wishes(game, OPPONENT, contact, at, replicates, 0, place.serve)[0]["kind"]
        legs = game.studied.player.legs
        spots[:, 1] += legs.return_step_m + legs.second_return_step_m * (serves == SECOND_SERVE)
        spots[:, 0] = return_x_m(place, -spots[:, 1])
    waiting = at_rest(spots)
    return contact, body_beside(contact, game.opponent.player), waiting


def at_rest(spots: np.ndarray) -> Recovery:
    """Players who are at their spots (n, 2) and stand still."""
    nothing = np.zeros(len(spots))
    return Recovery(bodies_at(spots[:, 0], spots[:, 1]), spots, nothing, nothing)


def return_x_m(place: Place, line_m: np.ndarray) -> np.ndarray:
    """Where a returner waits, `line_m` from the net: halfway between the paths of serves that land
    on the two ends of the service line of the box across from the server's place."""
    out = np.empty(len(line_m))
    fill_returns(float(place.x_m), float(place.y_m), np.ascontiguousarray(line_m), out)
    return out


def strike_balls(
    game: Game,
    hitter: int,
    contact: np.ndarray,
    receiver_body: np.ndarray,
    replicates: np.ndarray,
    stroke: int | np.ndarray,
    serve: ShotModel | None = None,
) -> tuple[np.ndarray, np.ndarray]:
    """Balls and paths, receiver's frame, of stroke number `stroke` of each rally.

    `contact` in the hitter's frame, `receiver_body` in the receiver's. A `serve` takes the place
    of the hitter's own shots.
    """
    wished = wishes(game, hitter, contact, receiver_body, replicates, stroke, serve)
    return strike(contact, *wished, game.world_of(1 - hitter))


def wishes(
    game: Game,
    hitter: int,
    contact: np.ndarray,
    receiver_body: np.ndarray,
    replicates: np.ndarray,
    stroke: int | np.ndarray,
    serve: ShotModel | None,
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """What the hitters mean to do (INTENT records), the uniform numbers of their errors, and the
    HITTER record: a serve lands where it is meant to."""
    own, other = game.sides(hitter)
    seen = ShotSituation(
        me=own.player,
        opponent=other.player,
        world=game.world_of(1 - hitter),
        contact=contact,
        receiver=turned(receiver_body),
        receiver_depth_m=other.waits_behind_m,
    )
    shots = own.shots if serve is None else serve
    chance = uniforms(game.seed, replicates, SHOT, stroke, shots.draws)
    errors = uniforms(game.seed, replicates, EXECUTION, stroke, ERROR_DRAWS + 1)
    ability = own.player.hitter
    limits = ability.numbers if serve is None else ability.exact_numbers
    wished = settled(shots.intents(seen, chance), contact, errors[:, ERROR_DRAWS], limits)
    return wished, errors, limits


@dataclass(frozen=True)
class Reception:
    """How receivers take their balls: uniform numbers (n, 3), the BODY records that meet them, what
    a start before the strike adds to the reaction (s, n) and to the velocity to the right (m/s, n),
    and MEETING records. The last of the numbers decides whether a reached ball comes back."""

    chance: np.ndarray
    body: np.ndarray
    guess_s: np.ndarray
    start_vx_m_s: np.ndarray
    meeting: np.ndarray

    @property
    def draw(self) -> np.ndarray:
        """The uniform numbers (n,) that decide whether a reached ball comes back."""
        return self.chance[:, 2]


def expect(
    game: Game, receiver: int, at: Recovery, replicates: np.ndarray, stroke: int | np.ndarray
) -> Reception:
    """Receptions before the ball is struck: draws made, room for the rest."""
    chance = uniforms(game.seed, replicates, RECEIVE, stroke, 3)
    n = len(chance)
    return Reception(chance, at.body.copy(), np.empty(n), np.empty(n), np.empty(n, MEETING))


def receive(
    game: Game,
    receiver: int,
    balls: np.ndarray,
    paths: np.ndarray,
    spots: np.ndarray,
    out: Reception,
    few: slice,
) -> None:
    """Fill a few rows of the receptions of these balls: start or wait, then meet them."""
    legs, body = game.sides(receiver)[0].player.legs, out.body[few]
    read = starts(balls, body, spots[few], out.chance[few], legs.numbers)
    out.guess_s[few], out.start_vx_m_s[few] = read
    body["vx_m_s"] += read[1]
    how = out.guess_s[few], legs.numbers, legs.times, game.rule
    meet_into(balls, paths, body, *how, game.world_of(receiver), out.meeting[few])


def meet_balls(
    game: Game,
    receiver: int,
    balls: np.ndarray,
    paths: np.ndarray,
    at: Recovery,
    replicates: np.ndarray,
    stroke: int | np.ndarray,
) -> Reception:
    """Meet stroke number `stroke` of each rally from where the receiver got to."""
    out = expect(game, receiver, at, replicates, stroke)
    receive(game, receiver, balls, paths, at.spots, out, slice(None))
    return out


def recover_bodies(
    game: Game,
    side: int,
    body: np.ndarray,
    opponent_contact: np.ndarray,
    time_s: np.ndarray,
    own_ball: np.ndarray | None,
    replicates: np.ndarray | None = None,
    stroke: int | np.ndarray = 0,
    aims: np.ndarray | None = None,
) -> Recovery:
    """Recover `side` from its own contact until the opponent's, `time_s` later.

    To the policy's spot (or `aims`, (n, 2 or 3), in its place), or to the net where the own ball
    asks for it (`net_spots`); by so much off it as falls to stroke number `stroke` of the rallies
    `replicates`, if these are given.
    """
    own = game.sides(side)[0]
    seen = situation(game, side, body, opponent_contact, time_s, own_ball)
    legs = own.player.legs
    spots, effort = aims_of(own.policy, seen) if aims is None else parted(aims)
    if replicates is not None and legs.spot_spread_m > 0.0:
        off = normals(uniforms(game.seed, replicates, RECOVER, stroke, 2))
        spots = spots + legs.spot_spread_m * off
    if own_ball is not None:
        spots = net_spots(spots, seen.contact, own_ball, legs.numbers)
    reached, run = recovered(body, spots, time_s, legs.numbers, effort=effort)
    return Recovery(reached, spots, run, effort)


def stroke_records(
    replicates: np.ndarray,
    stroke: int | np.ndarray,
    hitter: int,
    strike_time_s: np.ndarray,
    contact: np.ndarray,
    receiver: Recovery,
    balls: np.ndarray,
    reception: Reception,
) -> np.ndarray:
    """STROKE records (n,) in the studied player's frame."""
    out = np.empty(len(balls), STROKE)
    write_strokes(
        replicates,
        one_each(stroke, len(out)),
        hitter,
        strike_time_s,
        contact,
        receiver.body,
        receiver.spots,
        receiver.run_m,
        receiver.effort,
        reception.guess_s,
        reception.start_vx_m_s,
        reception.draw,
        balls,
        reception.meeting,
        out,
    )
    return out


def with_policy(game: Game, policy: RecoveryPolicy) -> Game:
    """The same game with another policy on the studied side."""
    return dataclasses.replace(game, studied=dataclasses.replace(game.studied, policy=policy))
