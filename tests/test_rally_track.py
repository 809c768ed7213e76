"""The track of a rally against the engine's strokes and trace, and the laws of motion."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import ClassVar

import numpy as np
import pytest
from engine_games import GAMES, differing_fields

from experiments.answers.replay.answer import Replay
from experiments.answers.replay.motion import Chasing, braking_moment_s
from experiments.answers.replay.track import (
    DOINGS,
    RECOVERING,
    RUNNING,
    STRIKING,
    WAITING,
    PlayerTrack,
    RallyTrack,
    ball_way,
    play_exchanges,
    track_of,
)
from sim.contracts import ShotSituation, bodies_at, intents_of
from sim.event_engine import Happening, play_rally
from sim.event_words import ending_words
from sim.exchange import body_of
from sim.kinds import LOB
from sim.legs import Legs
from sim.movement import recovered
from sim.records import OPPONENT, SIDES, STUDIED

REPLICATES = range(12)
CASES = [(name, r) for name in GAMES for r in REPLICATES]
STEP_S = 0.01


@dataclass(frozen=True)
class Lobs:
    """Always a lob, deep into the middle."""

    name: ClassVar[str] = "lobs"
    draws: ClassVar[int] = 0
    sees_receiver: ClassVar[bool] = False

    def intents(self, seen: ShotSituation, chance: np.ndarray) -> np.ndarray:
        n = len(seen)
        pace = seen.speed_m_s, seen.topspin_rad_s
        return intents_of(np.zeros(n), np.full(n, 9.5), *pace, kind=LOB)


def of(name: str, replicate: int) -> Replay:
    game, place = GAMES[name]
    return Replay(name, game, place, replicate)


def places(player: PlayerTrack, *times: float) -> np.ndarray:
    return player.bodies(np.array(times))[:, :2]


@pytest.mark.parametrize("name", GAMES)
def test_strokes_are_the_event_engine_s_to_the_bit(name: str) -> None:
    game, place = GAMES[name]
    for replicate in REPLICATES:
        rows = np.concatenate([e.row for e in play_exchanges(game, place, replicate)])
        assert differing_fields(rows, play_rally(game, place, replicate, traced=False)[0]) == []


@pytest.mark.parametrize("name", GAMES)
def test_places_at_the_strikes_are_those_of_the_records(name: str) -> None:
    """The receiver's in the STROKE record, the hitter's in the MEETING that led to the stroke."""
    for replicate in REPLICATES:
        replay = of(name, replicate)
        track = track_of(replay)
        exchanges = play_exchanges(replay.game, replay.place, replicate)
        for i, (stroke, exchange) in enumerate(zip(track.strokes, exchanges, strict=True)):
            row, at = exchange.row[0], stroke.strike_s
            told = [row["receiver_x_m"], row["receiver_y_m"]]
            here = places(track.players[stroke.receiver], at - 1e-9, at)
            assert here == pytest.approx(np.array([told, told]), abs=1e-7)
            assert track.ball_at(at) == (row["hitter_x_m"], row["hitter_y_m"], row["hitter_z_m"])
            if i:
                body = body_of(exchanges[i - 1].meeting)[0]
                sign = 1.0 if stroke.hitter == STUDIED else -1.0
                told = [sign * body["x_m"], sign * body["y_m"]]
                here = places(track.players[stroke.hitter], at - 1e-9, at)
                assert here == pytest.approx(np.array([told, told]), abs=1e-7)


@pytest.mark.parametrize("name", GAMES)
def test_nobody_jumps_or_outruns_the_top_speed(name: str) -> None:
    """Moved in each hundredth of a second: no more than at top speed, and as the velocity says."""
    for replicate in REPLICATES:
        replay = of(name, replicate)
        track = track_of(replay)
        times = np.arange(0.0, track.end_s, STEP_S)
        for player in track.players:
            top = replay.game.sides(player.side)[0].player.legs.top_speed_m_s
            bodies = player.bodies(times)
            assert np.hypot(bodies[:, 2], bodies[:, 3]).max() <= top
            moved = np.hypot(*np.diff(bodies[:, :2], axis=0).T)
            assert moved.max(initial=0.0) <= STEP_S * top * (1.0 + 1e-9)


def test_velocity_is_the_slope_of_the_place() -> None:
    track = track_of(of("habits on hard", 3))
    ends = {s.strike_s for s in track.strokes}
    for player in track.players:
        for phase in player.phases:
            at, h = 0.5 * (phase.start_s + phase.end_s), 1e-5
            before, after = places(player, at - h, at + h)
            if not any(at - h <= end <= at + h for end in ends):
                velocity = player.bodies(np.array([at]))[0, 2:]
                assert (after - before) / (2 * h) == pytest.approx(velocity, abs=1e-3)


def told(trace: list[Happening], kind: str, side: int) -> list[float]:
    return [h.time_s for h in trace if h.kind == kind and h.side == SIDES[side]]


def begins(player: PlayerTrack, doing: str) -> list[float]:
    return [p.start_s for p in player.phases if p.doing == doing]


def among(times: list[float], valid: list[float]) -> bool:
    return all(min(abs(at - v) for v in valid) < 1e-9 for at in times)


@pytest.mark.parametrize("name", GAMES)
def test_phases_begin_when_the_trace_says(name: str) -> None:
    for replicate in REPLICATES:
        replay = of(name, replicate)
        track = track_of(replay)
        trace = play_rally(replay.game, replay.place, replicate)[1]
        assert track.end_s == pytest.approx(trace[-1].time_s, abs=1e-12)
        for player in track.players:
            assert begins(player, STRIKING) == told(trace, "strike", player.side)
            runs, waits = begins(player, RUNNING), begins(player, WAITING)
            reactions = told(trace, "reaction end", player.side)
            assert among(runs, reactions) and among(reactions, runs + waits)
            assert among(told(trace, "spot reached", player.side), waits)
            starts = told(trace, "recovery start", player.side)
            assert among(begins(player, RECOVERING), starts)
            ends = [p.end_s for p in player.phases]
            assert ends[:-1] == [p.start_s for p in player.phases[1:]]
            assert {p.doing for p in player.phases} <= set(DOINGS)


@pytest.mark.parametrize("name", GAMES)
def test_the_ball_flies_as_the_trace_says(name: str) -> None:
    """Place at the net, at the bounce, at the meeting; and no break between two strokes."""
    for replicate in REPLICATES:
        replay = of(name, replicate)
        track = track_of(replay)
        for h in play_rally(replay.game, replay.place, replicate)[1]:
            if h.kind in ("bounce", "long", "wide", "short", "meeting", "second bounce"):
                x, y, _ = track.ball_at(h.time_s)
                assert (x, y) == pytest.approx((h.values["x_m"], h.values["y_m"]), abs=1e-6)
            if h.kind in ("net crossing", "net fault"):
                assert track.ball_at(h.time_s)[1] == pytest.approx(0.0, abs=0.02)
        for before, after in zip(track.strokes, track.strokes[1:], strict=False):
            assert before.end_s == pytest.approx(after.strike_s, abs=1e-12)
            assert before.way[-1, 1:] == pytest.approx(after.way[0, 1:], abs=1e-6)
        for stroke in track.strokes:
            assert (np.diff(stroke.way[:, 0]) > 0.0).all()
            assert (stroke.way[:, 3] > 0.0).all()


def test_the_last_stroke_and_its_words() -> None:
    seen = set()
    for name, replicate in CASES:
        replay = of(name, replicate)
        track: RallyTrack = track_of(replay)
        rows, _ = play_rally(replay.game, replay.place, replicate, traced=False)
        last = track.strokes[-1]
        assert last.ending == ending_words(rows[-1])
        assert last.ending == track.ending.split(".")[0].lower()
        assert track.stroke_at(track.end_s) == len(rows) - 1
        assert [s.met for s in track.strokes[:-1]] == [True] * (len(rows) - 1)
        seen.add(last.ending)
    assert {"winner", "unforced error"} < seen
    assert any("met and goes" in words for words in seen)


def test_spots_are_those_aimed_at() -> None:
    track = track_of(of("professionals on grass", 1))
    for stroke in track.strokes:
        aimed = track.players[stroke.receiver].spot_at(stroke.strike_s - 1e-9)
        if stroke is track.strokes[0]:
            aimed = track.players[STUDIED].spot_at(0.0)
        assert aimed == pytest.approx(stroke.spot_m)
    assert track.players[OPPONENT].spot_at(0.0) is None


def test_a_run_without_hurry_stops_and_waits() -> None:
    """Worked by hand: to stop after 2 m takes the same run however long the time is."""
    legs = Legs()
    short, long = (braking_moment_s(2.0, time, legs) for time in (1.5, 5.0))
    assert short == pytest.approx(long)
    body = bodies_at(np.zeros(1), np.zeros(1))
    run = Chasing(body, legs, 0.2, 1.0, 0.0, long)
    at = run.bodies(np.array([0.0, 0.2, run.stops_s, run.stops_s + 1.0]))
    assert at["x_m"] == pytest.approx([0.0, 0.0, 2.0, 2.0])
    assert at["vx_m_s"] == pytest.approx(0.0, abs=1e-9)


def test_a_chase_runs_as_a_recovery_at_full_effort_does() -> None:
    """The engine's own recovery, made to run at full effort, is the same run."""
    sprint = {"recovery_effort": 1.0, "hurried_effort": 1.0}
    legs = Legs(**sprint, ready_speed_m_s=0.0, comes_in_within_m=0.0)
    body = bodies_at(np.zeros(1), np.zeros(1))
    time_s = 3.0
    turn = braking_moment_s(4.0, time_s - legs.follow_through_s, legs)
    after = np.linspace(0.0, time_s, 31)
    n = len(after)
    engine, _ = recovered(
        np.repeat(body, n), np.tile([4.0, 0.0], (n, 1)), np.full(n, time_s), legs.numbers, after
    )
    mine = Chasing(body, legs, legs.follow_through_s, 1.0, 0.0, turn).bodies(after)
    for field in ("x_m", "y_m", "vx_m_s", "vy_m_s"):
        assert mine[field] == pytest.approx(engine[field], abs=1e-6)


def test_strokes_are_named_while_they_are_struck() -> None:
    """A phase of striking has the kind of the stroke record; only what is no drive is told."""
    game, place = GAMES["habits on hard"]
    lobs = dataclasses.replace(game.opponent, shots=Lobs())
    track = track_of(Replay("lobs", dataclasses.replace(game, opponent=lobs), place, 0))
    for stroke in track.strokes:
        phase = track.players[stroke.hitter].phase_at(stroke.strike_s)
        assert (phase.doing, phase.kind) == (STRIKING, stroke.kind)
        assert phase.words == (STRIKING if stroke.kind == "drive" else stroke.kind)
    assert track.strokes[0].kind == "lob" and max(track.strokes[0].way[:, 3]) > 4.0
    assert {p.kind for p in track.players[OPPONENT].phases if p.doing != STRIKING} == {""}


def test_the_way_of_a_volleyed_ball_ends_before_its_bounce() -> None:
    game, place = GAMES["habits on hard"]
    exchange = play_exchanges(game, place, 0)[0]
    whole = ball_way(exchange, game)
    meeting, soon = exchange.meeting.copy(), float(exchange.ball["landing_time_s"][0]) - 0.2
    meeting["time_s"], meeting["time_to_spare_s"] = soon, 0.1
    for axis, value in zip("xyz", (0.3, -4.0, 1.2), strict=True):
        meeting[f"ball_{axis}_m"] = value
    way = ball_way(dataclasses.replace(exchange, meeting=meeting), game)
    assert way[-1, 0] == soon < whole[-1, 0]
    assert way[-1, 1:] == pytest.approx([0.3, -4.0, 1.2])
    stroke = track_of(Replay("", game, place, 0)).strokes[0]
    assert stroke.bounced and not stroke.volleyed
    volleyed = dataclasses.replace(stroke, end_s=soon, met=True)
    assert volleyed.volleyed and not volleyed.bounced
