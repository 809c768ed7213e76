"""The event engine: one rally as SimPy processes, the readable truth of what a rally is.

Both sides are the same process, a `Contender`: it waits for the ball, reacts, meets it, strikes,
follows through, recovers, and waits again. Each ball is a process of its own: over the net, its
bounce, and its end unless somebody meets it first. The engine has no physics and decides nothing:
what happens and when comes from `sim.turns`, with arrays of length one, so that the strokes are
those of the array engine to the bit.

Ties: what falls on one instant happens in the order of NET, BOUNCE, LEGS, MEETING, DEAD, and within
one of these in the order in which it became certain. So a reaction that ends as the ball arrives
is in time, a ball met at the instant of its second bounce is met, and the strike is at the instant
of the meeting. The hand-over of a struck ball to the other side (SimPy's own priorities, 0 and 1)
comes before all of them.
"""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass

import numpy as np
import simpy
from simpy.events import EventPriority

from sim.event_words import (
    Details,
    Happening,
    over_the_net,
    place_of,
    spot_reached_s,
    tell_landing,
    tell_meeting,
    tell_point_end,
    tell_reaction_end,
    tell_second_bounce,
    tell_split_step,
    tell_strike,
    trace_lines,
)
from sim.exchange import Game, Place, Recovery
from sim.movement import follow_through
from sim.records import GOING, IN, OPPONENT, SIDES, STROKE, STROKE_LIMIT, STUDIED, UNRETURNED
from sim.turns import Pause, Strike, opened, paused, recovered, struck

__all__ = ["Happening", "play_rally", "trace_lines"]

NET, BOUNCE, LEGS, MEETING, DEAD = (EventPriority(n) for n in range(2, 7))

Process = Generator[simpy.Event, "Stroke", None]


def play_rally(
    game: Game, place: Place, replicate: int, traced: bool = True
) -> tuple[np.ndarray, list[Happening]]:
    """Play rally number `replicate`, which begins with the opponent striking from `place`.

    Returns its STROKE records, to the bit those of `sim.array_engine.play`, and its happenings in
    the order in which they happened; none without `traced`, which is several times as fast.
    """
    rally = Rally(game, place, replicate, traced)
    studied, opponent = rally.contenders
    first = opened(game, place, rally.replicates)
    studied.recovery = first.receiver
    rally.env.process(studied.play())
    rally.env.process(opponent.play(first.contact, first.body))
    rally.env.run(until=rally.over)
    return rally.strokes[: rally.count].copy(), rally.happenings


class Due(simpy.Event):
    """An event `delay_s` from now, with its place in the order of one instant."""

    def __init__(self, env: simpy.Environment, delay_s: float, order: EventPriority) -> None:
        super().__init__(env)
        self._ok, self._value = True, None
        env.schedule(self, order, delay_s)


@dataclass
class Stroke:
    """A stroke while it lasts; its arrays have length one, in the receiver's frame.

    `rest` is the rally as it goes on from here, if it does.
    """

    hitter: int
    ball: np.ndarray
    meeting: np.ndarray
    row: np.ndarray
    ending: int
    rest: Pause | None
    met: bool = False

    @property
    def receiver(self) -> int:
        return 1 - self.hitter

    @property
    def dead_s(self) -> float:
        """When the ball is dead if nobody meets it, after the strike."""
        return float(self.ball["second_bounce_time_s" if self.landed_in else "landing_time_s"][0])

    @property
    def meeting_s(self) -> float:
        """When the receiver meets the ball, after the strike."""
        return float(self.meeting["time_s"][0])

    @property
    def landed_in(self) -> bool:
        return bool(self.ball["outcome"][0] == IN)

    @property
    def reached(self) -> bool:
        """Whether the receiver meets the ball."""
        return self.ending in (GOING, STROKE_LIMIT, UNRETURNED)


class Rally:
    """What both sides and the ball share: the clock, the strokes so far, the trace."""

    def __init__(self, game: Game, place: Place, replicate: int, traced: bool) -> None:
        self.env, self.game, self.traced = simpy.Environment(), game, traced
        self.serve = place.serve
        self.replicates = np.array([replicate])
        self.strokes, self.count = np.empty(game.stroke_limit, STROKE), 0
        self.happenings: list[Happening] = []
        self.over = self.env.event()
        self.contenders = (Contender(self, STUDIED), Contender(self, OPPONENT))

    def due(self, delay_s: float, order: EventPriority) -> Due:
        return Due(self.env, delay_s, order)

    def tell(self, kind: str, side: int, details: Details | None = None) -> None:
        """Put into the trace what happens now."""
        self.happenings.append(Happening(float(self.env.now), kind, SIDES[side], details or {}))

    def strike(
        self, hitter: int, contact: np.ndarray, body: np.ndarray, receiver: Recovery
    ) -> Stroke:
        """Strike the next ball, now: its flight, how it will be met, its record."""
        number, now = self.count, np.array([self.env.now], float)
        when = self.replicates, np.array([number]), now
        before = Strike(hitter, *when, contact, body, receiver)
        what = struck(self.game, before, self.serve if number == 0 else None)
        self.strokes[number] = what.rows[0]
        self.count += 1
        ending = int(what.rows["ending"][0])
        rest = paused(before, what) if ending == GOING else None
        return Stroke(hitter, what.balls, what.met.meeting, what.rows, ending, rest)

    def fly(self, stroke: Stroke) -> Process:
        """The ball: over the net or into it, its landing, and its end unless it is met before."""
        dead = self.due(stroke.dead_s, DEAD)
        if self.traced:
            yield from self.tell_flight(stroke)
        yield dead
        if not stroke.met:
            if self.traced and stroke.landed_in:
                details = tell_second_bounce(stroke.hitter, stroke.ball, stroke.row)
                self.tell("second bounce", stroke.hitter, details)
            self.end(stroke)

    def tell_flight(self, stroke: Stroke) -> Process:
        """The ball at the net, then on the ground; a ball into the net ends the point there."""
        landing = self.due(float(stroke.ball["landing_time_s"][0]), BOUNCE)
        crossing = over_the_net(stroke.hitter, stroke.ball, self.game.world_of(stroke.receiver))
        if crossing is not None:
            at_s, kind, details = crossing
            yield self.due(at_s, NET)
            self.tell(kind, stroke.hitter, details)
            if kind == "net fault":
                self.end(stroke)
                return
        yield landing
        if stroke.met:
            return
        kind, details = tell_landing(stroke.hitter, stroke.ball)
        self.tell(kind, stroke.hitter, details)

    def end(self, stroke: Stroke) -> None:
        """End the point, now."""
        if self.traced:
            self.tell("point end", stroke.hitter, tell_point_end(stroke.row))
        self.over.succeed()


class Contender:
    """One side: waits for the ball, reacts, meets it, strikes, follows through and recovers."""

    recovery: Recovery

    def __init__(self, rally: Rally, side: int) -> None:
        self.rally, self.side = rally, side
        self.legs = rally.game.sides(side)[0].player.legs
        self.ball_comes = rally.env.event()

    def play(self, contact: np.ndarray | None = None, body: np.ndarray | None = None) -> Process:
        """The life of a side; the one that strikes first is given its contact and body."""
        if contact is not None and body is not None:
            yield from self.strike(contact, body)
        while True:
            stroke = yield self.ball_comes
            self.ball_comes = self.rally.env.event()
            yield from self.chase(stroke)
            if stroke.rest is None:
                return
            yield from self.strike(stroke.rest.contact, stroke.rest.other)

    def chase(self, stroke: Stroke) -> Process:
        """React and run to the ball; nobody runs for one that does not land in."""
        rally = self.rally
        meeting = rally.due(stroke.meeting_s, MEETING) if stroke.reached else None
        if rally.traced and stroke.landed_in:
            yield from self.tell_reaction(stroke)
        if meeting is None:
            return
        yield meeting
        stroke.met = True
        if rally.traced:
            rally.tell("meeting", self.side, tell_meeting(stroke.row))
        if stroke.ending != GOING:
            rally.end(stroke)

    def strike(self, contact: np.ndarray, body: np.ndarray) -> Process:
        """Strike the ball to the other side, then follow through and recover."""
        rally = self.rally
        other = rally.contenders[1 - self.side]
        stroke = rally.strike(self.side, contact, body, other.recovery)
        rally.env.process(rally.fly(stroke))
        if stroke.rest is not None:
            self.recovery = recovered(rally.game, stroke.rest).receiver
        other.ball_comes.succeed(stroke)
        if rally.traced:
            yield from self.tell_recovery(stroke, body)

    def tell_reaction(self, stroke: Stroke) -> Process:
        """The end of the reaction, later for a split step missed."""
        details = tell_reaction_end(stroke.row)
        yield self.rally.due(max(self.legs.reaction_s + float(details["delay_s"]), 0.0), LEGS)
        self.rally.tell("reaction end", self.side, details)

    def tell_recovery(self, stroke: Stroke, body: np.ndarray) -> Process:
        """The strike, the end of the follow-through, the recovery, as far as they get."""
        rally, going = self.rally, stroke.ending == GOING
        is_serve = rally.serve is not None and rally.count == 1
        rally.tell("strike", self.side, tell_strike(stroke.row, stroke.ball, is_serve))
        rally.tell("split step", stroke.receiver, tell_split_step(stroke.row))
        through_s = self.legs.follow_through_s
        if going:
            through_s = follow_through(self.recovery.spots[0, 1], self.legs.numbers[0])
        if going and stroke.meeting_s <= through_s:
            return
        starts = rally.due(through_s, LEGS)
        at_spot_s = None
        if going:
            at_spot_s = spot_reached_s(
                body,
                self.recovery.spots,
                stroke.meeting_s,
                self.legs,
                float(self.recovery.effort[0]),
            )
        at_spot = None if at_spot_s is None else rally.due(at_spot_s, LEGS)
        yield starts
        rally.tell("follow-through end", self.side)
        if going:
            rally.tell("recovery start", self.side, place_of(self.side, *self.recovery.spots[0]))
        if at_spot is not None:
            yield at_spot
            rally.tell("spot reached", self.side, place_of(self.side, *self.recovery.spots[0]))
