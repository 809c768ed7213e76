"""One rally over time: where both players and the ball are at each moment, and what each does."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from experiments.answers.replay.answer import Replay, point_text
from experiments.answers.replay.motion import Chasing, Motion, Recovering
from experiments.balls.angle import traced
from experiments.output.in_a_line import InALine
from experiments.study.served import turned_strokes
from sim.event_words import ending_words, over_the_net, spot_reached_s
from sim.exchange import Game, Place, Recovery
from sim.kinds import DRIVE, KINDS
from sim.legs import Legs
from sim.movement import follow_through
from sim.over_arrays import interpolated
from sim.records import GRADES, IN, OPPONENT, PATH_POINTS, STUDIED
from sim.turns import opened, paused, recovered, struck

DOINGS = ("striking", "recovering", "waiting", "reacting", "running")
STRIKING, RECOVERING, WAITING, REACTING, RUNNING = DOINGS


@dataclass(frozen=True)
class Exchange:
    """One stroke, its arrays of length one: who strikes, the ball, how it is met.

    row: its STROKE record. hitter_body: BODY record in the hitter's frame. ball, path, at (where
    the receiver is, with the velocity of a start, and the spot it aimed at), meeting: in the
    receiver's frame.
    """

    hitter: int
    row: np.ndarray
    hitter_body: np.ndarray
    ball: np.ndarray
    path: np.ndarray
    at: Recovery
    meeting: np.ndarray

    @property
    def met(self) -> bool:
        """Whether the receiver gets to the ball."""
        return bool(self.ball["outcome"][0] == IN and self.meeting["time_to_spare_s"][0] >= 0.0)


def play_exchanges(game: Game, place: Place, replicate: int) -> list[Exchange]:
    """The strokes of rally number `replicate`, to the bit those of `sim.event_engine.play_rally`.

    It begins with the opponent striking from `place`.
    """
    strike, serve = opened(game, place, np.array([replicate])), place.serve
    played: list[Exchange] = []
    while len(strike):
        at, paths = strike.receiver, np.empty((1, PATH_POINTS, 5))
        stroke = struck(game, strike, serve, paths)
        started, meeting = replace(at, body=stroke.met.body), stroke.met.meeting
        what = strike.body, stroke.balls, paths[0]
        played.append(Exchange(strike.hitter, stroke.rows, *what, started, meeting))
        strike, serve = recovered(game, paused(strike, stroke)), None
    return played


def ball_way(exchange: Exchange, game: Game) -> np.ndarray:
    """Seconds after the strike, x, y and height of a ball, shape (n, 4), times rising.

    In the studied player's frame; between two of its points the ball goes straight. It ends where
    the ball is met, else at the net that it hits, at its landing out of court, or at its second
    bounce. The landing is one of the points. Of a flight longer than a path holds (2.4 s) the rest
    is straight.
    """
    world = game.world_of(1 - exchange.hitter)
    way = traced(exchange.ball[0], exchange.path, world)
    way = way[np.append(True, np.diff(way[:, 0]) > 1e-9)]  # both parts hold the bounce
    end = _end_s(exchange, world)
    last = [end, *(float(interpolated(end, way[:, 0], way[:, k])) for k in (1, 2, 3))]
    if exchange.met:
        last = [end, *(exchange.meeting[0][f"ball_{axis}_m"] for axis in "xyz")]
    way = np.vstack([way[way[:, 0] < end], last])
    if exchange.hitter == STUDIED:  # the receiver's frame is the opponent's
        way[:, 1:3] *= -1.0
    return way


def _end_s(exchange: Exchange, world: np.ndarray) -> float:
    """When the stroke is over, after the strike."""
    b = exchange.ball[0]
    if exchange.met:
        return float(exchange.meeting[0]["time_s"])
    if b["outcome"] == IN:
        return float(b["second_bounce_time_s"])
    crossing = over_the_net(exchange.hitter, exchange.ball, world)
    if crossing is not None and crossing[1] == "net fault":
        return crossing[0]
    return float(b["landing_time_s"])


@dataclass(frozen=True)
class Phase:
    """What a player does from `start_s` to `end_s`: one of DOINGS.

    *Striking* lasts to the end of the follow-through. *Waiting* is at the spot (from within 0.1 m
    of it on), at a ball that is not there yet, or for a ball that nobody has to run to. kind: of
    the stroke (one of sim.kinds.KINDS), while it is struck.
    """

    doing: str
    start_s: float
    end_s: float
    kind: str = ""

    @property
    def words(self) -> str:
        """What the player does; of a stroke that is no drive, which."""
        return self.doing if self.kind in ("", KINDS[DRIVE]) else self.kind


@dataclass(frozen=True)
class Span:
    """A motion that begins at `start_s`; it holds until the next one begins."""

    start_s: float
    motion: Motion


@dataclass(frozen=True)
class StrokeTrack:
    """One stroke in plain values: times in s since the rally began, places in the studied frame.

    hitter: STUDIED or OPPONENT. kind: one of sim.kinds.KINDS. way: time, x, y and height of the
    ball, (n, 4), see `ball_way`.
    landed_in, landing_s, landing_m: its first contact with the ground, if it comes to that: a ball
    that is volleyed does not.
    receiver_m: where the receiver is at the strike; spot_m: the spot it had aimed at. met: whether
    the receiver meets the ball, at `end_s`. due_s: when it does, or is nearest to it in time.
    spare_s: time to spare, NaN (as due_s) where nobody could play the ball.
    """

    hitter: int
    kind: str
    strike_s: float
    end_s: float
    way: np.ndarray
    landed_in: bool
    landing_s: float
    landing_m: tuple[float, float]
    receiver_m: tuple[float, float]
    spot_m: tuple[float, float]
    met: bool
    due_s: float
    spare_s: float
    grade: str
    ending: str

    @property
    def receiver(self) -> int:
        return 1 - self.hitter

    @property
    def bounced(self) -> bool:
        """Whether the ball came down in the court before it was met."""
        return self.landed_in and self.landing_s <= self.end_s

    @property
    def volleyed(self) -> bool:
        """Whether the receiver met the ball before its bounce."""
        return self.met and not self.bounced


@dataclass(frozen=True)
class PlayerTrack:
    """One side over time. name: what it is called. reach_m: comfortable and full reach.

    spots: (from when on, x, y), the spots aimed at, in the studied frame.
    """

    side: int
    name: str
    reach_m: tuple[float, float]
    phases: tuple[Phase, ...]
    spans: tuple[Span, ...]
    spots: tuple[tuple[float, float, float], ...]

    def bodies(self, times_s: np.ndarray) -> np.ndarray:
        """x, y (m) and velocity (m/s) at times (n,), shape (n, 4), in the studied frame."""
        times = np.asarray(times_s, float)
        starts = [span.start_s for span in self.spans]
        which = np.maximum(np.searchsorted(starts, times, side="right") - 1, 0)
        out = np.empty((len(times), 4))
        for k in np.unique(which):
            here = which == k
            bodies = self.spans[k].motion.bodies(np.maximum(times[here] - starts[k], 0.0))
            out[here] = bodies.view(float).reshape(-1, 4)
        return out if self.side == STUDIED else -out

    def phase_at(self, time_s: float) -> Phase:
        """What the player does at that moment; the phase that begins, where two meet."""
        begun = [p for p in self.phases if p.start_s <= time_s]
        return begun[-1] if begun else self.phases[0]

    def spot_at(self, time_s: float) -> tuple[float, float] | None:
        """The spot that the player last set out for, if any."""
        begun = [spot for spot in self.spots if spot[0] <= time_s]
        return begun[-1][1:] if begun else None


@dataclass(frozen=True, repr=False)
class RallyTrack(InALine):
    """A whole rally: its strokes, both players (studied, opponent), how long it lasts, its end."""

    title: str
    strokes: tuple[StrokeTrack, ...]
    players: tuple[PlayerTrack, PlayerTrack]
    end_s: float
    ending: str

    def stroke_at(self, time_s: float) -> int:
        """Number (from 0) of the stroke that is under way."""
        return sum(s.strike_s <= time_s for s in self.strokes[1:])

    def ball_at(self, time_s: float) -> tuple[float, float, float]:
        """x, y and height (m) of the ball."""
        way = self.strokes[self.stroke_at(time_s)].way
        x, y, z = (float(interpolated(time_s, way[:, 0], way[:, k])) for k in (1, 2, 3))
        return x, y, z


def track_of(replay: Replay) -> RallyTrack:
    """The track of a rally; its places at the strikes are those of the stroke records.

    Raises:
        InputError: a policy or shot model of one's own has no use.
    """
    exchanges = play_exchanges(replay.played, replay.place, replay.replicate)
    if replay.serving:  # of an exchange, its record alone is in the studied player's frame
        exchanges = [replace(e, hitter=1 - e.hitter, row=turned_strokes(e.row)) for e in exchanges]
    strokes = tuple(_stroke(e, replay.game) for e in exchanges)
    rows = np.concatenate([e.row for e in exchanges])
    said = ending_words(rows[-1])
    ending = f"{said[0].upper()}{said[1:]}. {point_text(rows)}"
    players = _player(exchanges, replay.game, STUDIED), _player(exchanges, replay.game, OPPONENT)
    return RallyTrack(replay.title, strokes, players, strokes[-1].end_s, ending)


def _stroke(exchange: Exchange, game: Game) -> StrokeTrack:
    r, way = exchange.row[0], ball_way(exchange, game)
    strike_s = float(r["strike_time_s"])
    way[:, 0] += strike_s
    return StrokeTrack(
        hitter=exchange.hitter,
        kind=KINDS[int(r["kind"])],
        strike_s=strike_s,
        end_s=float(way[-1, 0]),
        way=way,
        landed_in=bool(r["outcome"] == IN),
        landing_s=strike_s + float(r["landing_time_s"]),
        landing_m=(float(r["landing_x_m"]), float(r["landing_y_m"])),
        receiver_m=(float(r["receiver_x_m"]), float(r["receiver_y_m"])),
        spot_m=(float(r["spot_x_m"]), float(r["spot_y_m"])),
        met=bool(r["outcome"] == IN and r["time_to_spare_s"] >= 0.0),
        due_s=strike_s + float(r["meeting_time_s"]),
        spare_s=float(r["time_to_spare_s"]),
        grade=GRADES[int(r["grade"])],
        ending=ending_words(r),
    )


def _player(exchanges: list[Exchange], game: Game, side: int) -> PlayerTrack:
    me = game.sides(side)[0].player
    sign = 1.0 if side == STUDIED else -1.0
    phases: list[Phase] = []
    spans: list[Span] = []
    spots: list[tuple[float, float, float]] = []
    for i, exchange in enumerate(exchanges):
        start = float(exchange.row[0]["strike_time_s"])
        if exchange.hitter != side:
            span, doing = _chase(exchange, game, me.legs, start)
            if not spots:
                spots.append((0.0, *(sign * exchange.at.spots[0]).tolist()))
        else:
            following = exchanges[i + 1] if i + 1 < len(exchanges) else None
            end = start + float(ball_way(exchange, game)[-1, 0])
            span, doing = _recovery(exchange, following, me.legs, start, end)
            if following is not None:
                aim = (sign * following.at.spots[0]).tolist()
                spots.append((start + follow_through(aim[1], me.legs.numbers[0]), *aim))
        spans.append(span)
        phases += doing
    reach = me.legs.comfortable_reach_m, me.legs.full_reach_m
    return PlayerTrack(side, me.name, reach, tuple(phases), tuple(spans), tuple(spots))


def _chase(exchange: Exchange, game: Game, legs: Legs, start: float) -> tuple[Span, list[Phase]]:
    """The receiver from the opponent's strike on; nobody runs for a ball that does not land in."""
    end = start + float(ball_way(exchange, game)[-1, 0])
    if exchange.ball["outcome"][0] != IN:
        return Span(start, Chasing(exchange.at.body, legs)), [Phase(WAITING, start, end)]
    r = exchange.row[0]
    wait = max(legs.reaction_s + float(r["split_delay_s"]) + float(r["guess_s"]), 0.0)
    motion = Chasing.to_meet(exchange.at.body, exchange.meeting, wait, legs)
    return Span(start, motion), _cut(
        end, (REACTING, start), (RUNNING, start + wait), (WAITING, start + motion.stops_s)
    )


def _recovery(
    exchange: Exchange, following: Exchange | None, legs: Legs, start: float, end: float
) -> tuple[Span, list[Phase]]:
    """The hitter from the own strike on; after the last one the engines plan no recovery."""
    body = exchange.hitter_body
    kind = KINDS[int(exchange.row[0]["kind"])]
    if following is None:
        ready = start + legs.follow_through_s
        doing = _cut(end, (STRIKING, start), (WAITING, ready))
        return Span(start, Chasing(body, legs)), _struck(kind, doing)
    time_s, spots = float(exchange.meeting["time_s"][0]), following.at.spots
    ready = start + follow_through(spots[0, 1], legs.numbers[0])
    effort = float(following.at.effort[0])
    there = spot_reached_s(body, spots, time_s, legs, effort)
    at_spot = end if there is None else start + there
    motion = Recovering(body, spots, time_s, legs, effort)
    doing = _cut(end, (STRIKING, start), (RECOVERING, ready), (WAITING, at_spot))
    return Span(start, motion), _struck(kind, doing)


def _struck(kind: str, phases: list[Phase]) -> list[Phase]:
    """The phases with the kind of the stroke at the one that strikes it."""
    return [replace(p, kind=kind) if p.doing == STRIKING else p for p in phases]


def _cut(end: float, *begins: tuple[str, float]) -> list[Phase]:
    """Phases one after another, each until the next begins, the last until `end`."""
    ends = [min(start, end) for _, start in begins[1:]] + [end]
    phases = [Phase(doing, start, e) for (doing, start), e in zip(begins, ends, strict=True)]
    return [p for p in phases if p.end_s > p.start_s]
