"""The event engine plays the array engine's strokes, in the right order, and tells them truly."""

from __future__ import annotations

import dataclasses
import itertools

import numpy as np
import pytest
import simpy
from engine_games import CLOSE, CORNER, GAMES, MIDDLE, SEED, differing_fields, exact

from sim.array_engine import play
from sim.event_engine import (
    BOUNCE,
    DEAD,
    LEGS,
    MEETING,
    NET,
    Due,
    Happening,
    Rally,
    play_rally,
    trace_lines,
)
from sim.event_words import (
    AT_SPOT_M,
    BALL_KINDS,
    LOOK_EVERY_S,
    TEXTS,
    ending_words,
    spot_reached_s,
)
from sim.exchange import Game, Place, Side, opening
from sim.meeting import RULES
from sim.movement import recovered
from sim.players import PLAYERS, player
from sim.records import (
    BODY,
    FORCED_ERROR,
    GOING,
    IN,
    LONG,
    OPPONENT,
    SIDES,
    STROKE,
    STROKE_LIMIT,
    STUDIED,
    UNFORCED_ERROR,
    UNRETURNED,
    WIDE,
    WINNER,
    WON_BY_HITTER,
)
from sim.records import NET as IN_THE_NET
from sim.surface import SURFACES
from sim.world import FLIGHTS, TABULATED, World
from strategies.catalogue import POLICIES, SHOT_MODELS
from strategies.shots.script import Script

RALLIES = 250
CASES, RALLIES_A_CASE = 32, 35  # of each flight
# These policies work out tables first, which takes ten times as long with integrated flight.
WORKED_OUT = ("best-for-belief", "safest", "guard")
ALL_ENDINGS = {WINNER, UNRETURNED, FORCED_ERROR, UNFORCED_ERROR}


@pytest.mark.parametrize("name", GAMES)
def test_strokes_are_those_of_the_array_engine_to_the_bit(name: str) -> None:
    game, place = GAMES[name]
    replicates = np.arange(7, 7 + RALLIES)
    strokes = [play_rally(game, place, int(r), traced=False)[0] for r in replicates]
    assert all(s.dtype == STROKE for s in strokes)
    assert differing_fields(np.concatenate(strokes), play(game, place, replicates)) == []


def covering(case: int, flight: str) -> tuple[Game, Place]:
    """Game number `case` of a design in which each value of each factor appears several times."""
    quick = [name for name in POLICIES if name not in WORKED_OUT]
    shots, surfaces, levels = list(SHOT_MODELS), list(SURFACES), list(PLAYERS)

    def player_of(shift: int) -> Side:
        n = case + shift
        someone = player(levels[n % len(levels)], ("right", "left")[n // 5 % 2])
        model = shots[(n + n // len(shots)) % len(shots)]
        policy = quick[n % len(quick)]
        if shift == 0 and flight == TABULATED and case >= CASES - len(WORKED_OUT):
            policy = WORKED_OUT[case - CASES]
        return Side(someone, POLICIES[policy](), SHOT_MODELS[model]())

    world = World(SURFACES[surfaces[case % len(surfaces)]], flight=flight)
    game = Game(player_of(0), player_of(3), world, SEED, rule=case % len(RULES))
    return game, (MIDDLE, CORNER, CLOSE)[case % 3]


@pytest.mark.parametrize("flight", FLIGHTS)
def test_the_engines_agree_over_the_whole_catalogue(flight: str) -> None:
    """Thousands of rallies: every policy, shot model, level, surface and rule of meeting."""
    used: set[str] = set()
    rallies = 0
    for case in range(CASES):
        game, place = covering(case, flight)
        replicates = np.arange(case, case + RALLIES_A_CASE)
        strokes = [play_rally(game, place, int(r), traced=False)[0] for r in replicates]
        assert differing_fields(np.concatenate(strokes), play(game, place, replicates)) == []
        rallies += len(replicates)
        own = game.studied
        used |= {own.policy.name, own.shots.name, own.player.name, game.world.surface.name}
    assert rallies >= 1000
    everything = [m().name for m in SHOT_MODELS.values()]
    left_out = WORKED_OUT if flight != TABULATED else ()
    everything += [p().name for name, p in POLICIES.items() if name not in left_out]
    assert used == {*everything, *PLAYERS, *(s.name for s in SURFACES.values())}


def test_the_games_reach_every_branch() -> None:
    """Else the comparison above would prove less than it says."""
    rows = np.concatenate([play(game, place, np.arange(RALLIES)) for game, place in GAMES.values()])
    assert set(rows["ending"]) == {GOING, STROKE_LIMIT} | ALL_ENDINGS
    assert set(rows["outcome"]) == {IN, IN_THE_NET, LONG, WIDE}
    assert set(rows["grade"]) == {0, 1, 2} and set(rows["hitter_wing"]) == {-1, 1}
    assert (rows["net_clearance_m"] == -np.inf).any(), "no ball dropped before the net"
    assert rows["split_delay_s"].max() > 0.02
    assert (rows["guess_s"] < 0).any() and (rows["guess_s"] > 0).any()


@pytest.mark.parametrize("name", GAMES)
def test_tracing_changes_no_stroke(name: str) -> None:
    game, place = GAMES[name]
    for replicate in range(30):
        told, happenings = play_rally(game, place, replicate)
        untold, nothing = play_rally(game, place, replicate, traced=False)
        assert differing_fields(told, untold) == []
        assert happenings and not nothing


@pytest.mark.parametrize("name", GAMES)
def test_the_trace_agrees_with_the_records(name: str) -> None:
    game, place = GAMES[name]
    for replicate in range(60):
        rows, happenings = play_rally(game, place, replicate)
        assert [h.time_s for h in happenings] == sorted(h.time_s for h in happenings)
        strikes = [h for h in happenings if h.kind == "strike"]
        assert [h.time_s for h in strikes] == rows["strike_time_s"].tolist()
        assert [h.side for h in strikes] == [SIDES[s] for s in rows["side"]]
        for column in ("x_m", "y_m", "z_m"):
            assert [h.values[column] for h in strikes] == rows[f"hitter_{column}"].tolist()
        check_meetings(rows, happenings)
        check_point_end(rows[-1], happenings)
        assert all(h.text for h in happenings)


def check_meetings(rows: np.ndarray, happenings: list[Happening]) -> None:
    """Every ball met is told where the record has it, at the instant of the next strike."""
    met = [h for h in happenings if h.kind == "meeting"]
    expected = rows[np.isin(rows["ending"], (GOING, STROKE_LIMIT, UNRETURNED))]
    assert [h.values["x_m"] for h in met] == expected["meeting_x_m"].tolist()
    assert [h.values["y_m"] for h in met] == expected["meeting_y_m"].tolist()
    assert [h.values["spare_s"] for h in met] == expected["time_to_spare_s"].tolist()
    for before, after in itertools.pairwise(happenings):
        if before.kind == "meeting":
            assert before.time_s == after.time_s
            assert after.kind == "point end" or (after.kind, after.side) == ("strike", before.side)


def check_point_end(last: np.void, happenings: list[Happening]) -> None:
    end, before = happenings[-1], happenings[-2]
    assert [h for h in happenings if h.kind == "point end"] == [end]
    assert end.values["ending"] == ending_words(last)
    assert end.side == SIDES[last["side"]]
    words = {STROKE_LIMIT: "rally stopped, nobody wins the point"}
    words |= dict.fromkeys(WON_BY_HITTER, "wins the point")
    assert end.values["result"] == words.get(int(last["ending"]), "loses the point")
    expected = {
        STROKE_LIMIT: ("meeting",),
        UNRETURNED: ("meeting",),
        WINNER: ("second bounce",),
    }.get(int(last["ending"]), ("net fault", "short", "long", "wide"))
    assert before.kind in expected and before.time_s == end.time_s
    if before.kind in ("long", "wide"):
        assert end.time_s == pytest.approx(last["strike_time_s"] + last["landing_time_s"])


def test_happenings_of_a_stroke_come_in_the_order_of_life() -> None:
    """A ball that is met: over the net, bounce but for a volley, meeting; the legs, each once."""
    game, place = GAMES["habits on hard"]
    volleys = 0
    for replicate in range(40):
        _, happenings = play_rally(game, place, replicate)
        starts = [i for i, h in enumerate(happenings) if h.kind == "strike"]
        for i, k in itertools.pairwise(starts):
            kinds = [h.kind for h in happenings[i:k]]
            volleyed = happenings[k].values["verb"] in ("volleys", "smashes")
            volleys += volleyed
            ball = ["net crossing"] if volleyed else ["net crossing", "bounce"]
            assert [kind for kind in kinds if kind in BALL_KINDS] == ball
            assert kinds[:2] == ["strike", "split step"] and kinds[-1] == "meeting"
            assert kinds.count("reaction end") == kinds.count("follow-through end") == 1
            assert kinds.index("recovery start") == kinds.index("follow-through end") + 1
            assert kinds.count("spot reached") <= 1
    assert volleys > 0


def test_reaction_and_follow_through_take_the_legs_times() -> None:
    game, place = GAMES["time-balanced on carpet"]
    sides = {"studied": game.studied.player.legs, "opponent": game.opponent.player.legs}
    for replicate in range(20):
        struck = 0.0
        for h in play_rally(game, place, replicate)[1]:
            if h.kind == "strike":
                struck = h.time_s
            elif h.kind == "reaction end":
                wait = sides[h.side].reaction_s + float(h.values["delay_s"])
                assert h.time_s - struck == pytest.approx(wait)
            elif h.kind == "follow-through end":
                legs, took_s = sides[h.side], h.time_s - struck
                assert legs.run_through_s - 1e-9 <= took_s <= legs.follow_through_s + 1e-9


def test_places_are_in_the_studied_players_frame() -> None:
    game, place = GAMES["wild balls"]
    for replicate in range(40):
        for h in play_rally(game, place, replicate)[1]:
            if "y_m" not in h.values:
                continue
            own = h.kind not in ("bounce", "long", "wide", "second bounce")
            studied_half = (h.side == "studied") == own
            assert (float(h.values["y_m"]) < 0) == studied_half, h


def test_ties_at_one_instant_follow_the_stated_order() -> None:
    for order in itertools.permutations((NET, BOUNCE, LEGS, MEETING, DEAD)):
        env = simpy.Environment()
        waiting = {Due(env, 0.5, priority): priority for priority in order}
        seen: list[int] = []
        while env.peek() < 1.0:
            env.step()
            seen += [waiting[due] for due in waiting if due.processed and waiting[due] not in seen]
        assert seen == sorted(order) and env.now == 0.5


def test_a_ball_met_at_the_instant_of_its_second_bounce_is_met() -> None:
    game, place = GAMES["habits on hard"]
    for gap_s, met in ((0.0, True), (-0.01, False)):
        rally = Rally(game, place, 3, traced=False)
        contact, body, waiting = opening(game, place, rally.replicates)
        stroke = rally.strike(OPPONENT, contact, body, waiting)
        assert stroke.reached
        stroke.meeting["time_s"], stroke.ball["second_bounce_time_s"] = 1.5, 1.5 + gap_s
        rally.env.process(rally.fly(stroke))
        rally.env.process(rally.contenders[STUDIED].chase(stroke))
        rally.env.run(until=1.6 if met else rally.over)
        assert stroke.met is met and rally.over.triggered is not met


def test_the_told_crossing_time_is_that_of_a_ball_in_no_air() -> None:
    """Without air the ball keeps its speed along the court: time = distance / speed."""
    world = World(air_density_kg_m3=0.0)
    one = Side(player("college-man"), POLICIES["middle"](), SHOT_MODELS["habit"]())
    game = Game(one, one, world, SEED)
    checked = 0
    for replicate in range(20):
        rally = Rally(game, MIDDLE, replicate, traced=True)
        contact, body, waiting = opening(game, MIDDLE, rally.replicates)
        stroke = rally.strike(OPPONENT, contact, body, waiting)
        rally.env.process(rally.fly(stroke))
        rally.env.run(until=rally.over)
        crossings = [h for h in rally.happenings if h.kind in ("net crossing", "net fault")]
        for crossing in crossings:
            time = -stroke.ball["y_m"][0] / stroke.ball["vy_m_s"][0]
            across = stroke.ball["x_m"][0] + stroke.ball["vx_m_s"][0] * time
            assert crossing.time_s == pytest.approx(time, abs=1e-9)
            assert crossing.values["x_m"] == pytest.approx(across, abs=1e-9)
            checked += 1
    assert checked >= 15


@pytest.mark.parametrize("rpm", [2000.0, -900.0])
def test_topspin_and_speed_are_told_as_struck(rpm: float) -> None:
    shots = Script(shots=((1.0, 8.0, 24.0, rpm),))
    one = Side(exact(player("college-man")), POLICIES["middle"](), shots)
    _, happenings = play_rally(Game(one, one, World(), SEED), MIDDLE, 0)
    strike = happenings[0]
    assert strike.values["topspin_rpm"] == pytest.approx(rpm)
    assert float(strike.values["speed_m_s"]) <= 24.0 + 1e-12


def test_the_spot_is_told_reached_when_the_body_first_comes_near() -> None:
    legs = player("college-man").legs
    body = np.zeros(1, BODY)
    body["x_m"], body["y_m"], body["vx_m_s"] = 3.0, -13.0, 1.0
    spots = np.array([[0.2, -13.2]])
    at = spot_reached_s(body, spots, 5.0, legs)
    assert at is not None

    def left_m(time_s: float) -> float:
        there, _ = recovered(body, spots, np.array([5.0]), legs.numbers, np.array([time_s]))
        return float(np.hypot(there["x_m"][0] - 0.2, there["y_m"][0] + 13.2))

    assert left_m(at) <= AT_SPOT_M < left_m(at - LOOK_EVERY_S)
    assert spot_reached_s(body, spots, 1.2, legs) is None


def test_lines_are_words_for_people() -> None:
    told = Happening(1.25, "net crossing", "studied", {"clearance_m": 0.5, "x_m": -0.001})
    assert trace_lines([told]) == [
        "  1.250 s  studied's ball   crosses the net 0.50 m above it, at x 0.00 m"
    ]
    reached = Happening(12.5, "spot reached", "opponent", {"x_m": 0.1, "y_m": 13.0})
    assert trace_lines([reached]) == [
        " 12.500 s  opponent         comes to the spot at (0.10, 13.00) m"
    ]


def test_every_kind_of_happening_occurs() -> None:
    told = set()
    for game, place in GAMES.values():
        for replicate in range(60):
            told |= {h.kind for h in play_rally(game, place, replicate)[1]}
    assert told == set(TEXTS)


def test_a_happening_cannot_be_changed() -> None:
    told = Happening(0.0, "follow-through end", "studied", {})
    with pytest.raises(dataclasses.FrozenInstanceError):
        told.time_s = 1.0  # type: ignore[misc]


def test_a_rally_can_be_replayed_alone() -> None:
    game, place = GAMES["club against club on clay"]
    first, again = (play_rally(game, place, 41) for _ in range(2))
    assert differing_fields(first[0], again[0]) == [] and first[1] == again[1]
