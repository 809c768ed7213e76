"""The array engine: chance by address, rallies that add up, the court's symmetries."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from engine_games import (
    CLUB,
    CORNER,
    GAMES,
    HABIT,
    MIDDLE,
    PLAIN,
    SEED,
    WINDY,
    Straight,
    differing_fields,
    exact,
    side,
)

from sim.array_engine import play
from sim.exchange import (
    Game,
    Place,
    Side,
    body_of,
    contact_of,
    meet_balls,
    opening,
    recover_bodies,
    strike_balls,
    stroke_records,
    with_policy,
)
from sim.players import player
from sim.records import (
    FORCED_ERROR,
    GOING,
    IN,
    MISSED,
    OPPONENT,
    STROKE_LIMIT,
    STUDIED,
    UNFORCED_ERROR,
    UNRETURNED,
    WINNER,
    WON_BY_HITTER,
)
from sim.stroke_rows import FORCED_BELOW_QUALITY
from sim.world import World
from strategies.catalogue import POLICIES, SHOT_MODELS
from strategies.recovery.linear_shade import LinearShade

REPLICATES = np.arange(400)
MEETING_FIELDS = (
    "meeting_time_s",
    "meeting_x_m",
    "meeting_y_m",
    "meeting_z_m",
    "body_x_m",
    "body_y_m",
    "time_to_spare_s",
    "set_time_to_spare_s",
    "reply_quality",
    "chase_run_m",
)


def rallies(rows: np.ndarray) -> list[np.ndarray]:
    """The records of each rally."""
    starts = np.flatnonzero(np.diff(rows["replicate"])) + 1
    return np.split(rows, starts)


@pytest.mark.parametrize("name", GAMES)
def test_same_seed_same_strokes_other_seed_others(name: str) -> None:
    game, place = GAMES[name]
    rows = play(game, place, REPLICATES)
    assert differing_fields(rows, play(game, place, REPLICATES)) == []
    if name != "scripted":
        other = play(dataclasses.replace(game, seed=SEED + 1), place, REPLICATES)
        assert differing_fields(rows, other) != []


@pytest.mark.parametrize("name", GAMES)
def test_order_and_split_of_a_batch_change_no_bit(name: str) -> None:
    game, place = GAMES[name]
    rows = play(game, place, REPLICATES)
    shuffled = np.random.default_rng(1).permutation(REPLICATES)
    assert differing_fields(rows, play(game, place, shuffled)) == []
    parts = [play(game, place, part) for part in np.split(REPLICATES, [1, 3, 10, 201])]
    assert differing_fields(rows, np.concatenate(parts)) == []


@pytest.mark.parametrize("name", GAMES)
def test_a_replicate_alone_is_that_of_the_batch(name: str) -> None:
    game, place = GAMES[name]
    rows = play(game, place, REPLICATES)
    for replicate in (0, 5, 123, 399):
        alone = play(game, place, np.array([replicate]))
        assert differing_fields(alone, rows[rows["replicate"] == replicate]) == []


def test_no_rallies_no_strokes() -> None:
    game, place = GAMES["habits on hard"]
    assert len(play(game, place, np.arange(0))) == 0


def test_a_policy_against_itself_differs_by_exactly_zero() -> None:
    game, place = GAMES["habits on hard"]
    twin = with_policy(game, POLICIES["middle"]())
    assert differing_fields(play(game, place, REPLICATES), play(twin, place, REPLICATES)) == []


def test_policies_meet_the_same_balls_of_a_blind_hitter() -> None:
    """While two rallies agree they meet the same chance; here the first stroke of each."""
    for shots, same in (("habit", True), ("open-court", False)):
        game = Game(HABIT, side("college-man", "middle", shots), World(), SEED)
        firsts = []
        for policy in ("middle", "bisector"):
            rows = play(with_policy(game, POLICIES[policy]()), CORNER, REPLICATES)
            firsts.append(rows[rows["stroke"] == 0])
        ball = ["speed_m_s", "landing_x_m", "landing_y_m", "net_clearance_m", "outcome"]
        assert (differing_fields(firsts[0][ball], firsts[1][ball]) == []) is same
        assert differing_fields(firsts[0], firsts[1]) != []


def test_policies_that_stand_alike_play_the_same_rallies() -> None:
    game, place = GAMES["habits on hard"]
    middle = play(game, place, REPLICATES)
    unshaded = play(with_policy(game, LinearShade(0.0)), place, REPLICATES)
    assert differing_fields(middle, unshaded) == []


@pytest.mark.parametrize("limit", [1, 2, 5])
def test_stroke_limit_stops_rallies_and_changes_nothing_before(limit: int) -> None:
    game, place = GAMES["club against club on clay"]
    whole = play(game, place, REPLICATES)
    short = play(dataclasses.replace(game, stroke_limit=limit), place, REPLICATES)
    kept = whole[whole["stroke"] < limit].copy()
    cut = (kept["stroke"] == limit - 1) & (kept["ending"] == GOING)
    assert cut.any()
    kept["ending"][cut] = STROKE_LIMIT
    assert differing_fields(short, kept) == []


@pytest.mark.parametrize("name", GAMES)
def test_endings_say_what_happened(name: str) -> None:
    game, place = GAMES[name]
    rows = play(game, place, REPLICATES)
    ending, landed, missed = rows["ending"], rows["outcome"] == IN, rows["grade"] == MISSED
    forced = rows["hitter_quality"] < FORCED_BELOW_QUALITY
    assert np.array_equal(ending == WINNER, landed & missed)
    assert np.array_equal(ending == FORCED_ERROR, ~landed & forced)
    assert np.array_equal(ending == UNFORCED_ERROR, ~landed & ~forced)
    assert (rows["time_to_spare_s"][ending == WINNER] < 0).all()
    assert (rows["time_to_spare_s"][ending == UNRETURNED] >= 0).all()
    assert (rows["time_to_spare_s"][np.isin(ending, (GOING, STROKE_LIMIT))] >= 0).all()
    for field in MEETING_FIELDS:
        assert np.array_equal(np.isnan(rows[field]), ~landed), field
    for rally in rallies(rows):
        assert (rally["ending"][:-1] == GOING).all() and rally["ending"][-1] != GOING


@pytest.mark.parametrize("name", GAMES)
def test_each_stroke_follows_from_the_last(name: str) -> None:
    game, place = GAMES[name]
    rows = play(game, place, REPLICATES)
    assert np.array_equal(np.unique(rows["replicate"]), REPLICATES)
    for rally in rallies(rows):
        assert rally["stroke"].tolist() == list(range(len(rally)))
        assert rally["side"].tolist() == [(OPPONENT, STUDIED)[i % 2] for i in range(len(rally))]
        before, after = rally[:-1], rally[1:]
        struck = before["strike_time_s"] + before["meeting_time_s"]
        assert np.array_equal(after["strike_time_s"], struck)
        for axis in ("x_m", "y_m", "z_m"):
            assert np.array_equal(after[f"hitter_{axis}"], before[f"meeting_{axis}"])
        assert np.array_equal(after["hitter_quality"], before["reply_quality"])
    first = rows[rows["stroke"] == 0]
    assert (first["hitter_x_m"] == place.x_m).all() and (first["hitter_y_m"] == place.y_m).all()
    mine = rows["side"] == STUDIED
    assert (rows["hitter_y_m"][mine] < 0).all() and (rows["hitter_y_m"][~mine] > 0).all()
    assert (rows["spot_y_m"][mine] > 0).all() and (rows["spot_y_m"][~mine] < 0).all()


def mirrored(one: Side, shots: Straight) -> Side:
    """The side with the racket in the other hand and other shots."""
    hand = "left" if one.player.hand == "right" else "right"
    return dataclasses.replace(one, player=one.player.with_hand(hand), shots=shots)


@pytest.mark.parametrize("policy", ["middle", "bisector", "linear-shade", "time-balanced"])
def test_a_mirrored_game_gives_mirrored_strokes(policy: str) -> None:
    """Hands, places, shots and side wind reflected; without execution error, which is not."""
    one = Side(exact(player("college-man")), POLICIES[policy](), Straight(2.5))
    other = Side(exact(player("club-adult", "left")), POLICIES[policy](), Straight(1.0))
    game = Game(one, other, WINDY, SEED, stroke_limit=12)
    east, north, up = WINDY.wind_m_s
    image = Game(
        mirrored(one, Straight(-2.5)),
        mirrored(other, Straight(-1.0)),
        dataclasses.replace(WINDY, wind_m_s=(-east, north, up)),
        SEED,
        stroke_limit=12,
    )
    rows = play(game, Place("here", 1.4, 12.0), np.arange(1))
    images = play(image, Place("there", -1.4, 12.0), np.arange(1))
    assert len(rows) >= 5
    for name in rows.dtype.names or ():
        sign = -1.0 if "_x_m" in name or "_vx_" in name else 1.0
        assert np.allclose(rows[name], sign * images[name], atol=1e-6, equal_nan=True), name


def follow(game: Game, first: int, place: Place, count: int) -> np.ndarray:
    """The strokes of rallies that `first` opens from `place` (its opponent's frame)."""
    replicates = np.arange(count)
    as_opponent = game if first == OPPONENT else swapped(game)
    contact, body, receiver = opening(as_opponent, place, replicates)
    time, hitter, out = np.zeros(count), first, []
    for stroke in range(6):
        balls, paths = strike_balls(game, hitter, contact, receiver.body, replicates, stroke)
        met = meet_balls(game, 1 - hitter, balls, paths, receiver, replicates, stroke)
        out.append(stroke_records(replicates, stroke, hitter, time, contact, receiver, balls, met))
        meeting = met.meeting
        kept = out[-1]["ending"] == GOING
        replicates, meeting, balls = replicates[kept], meeting[kept], balls[kept]
        contact, time = contact_of(meeting), time[kept] + meeting["time_s"]
        receiver = recover_bodies(game, hitter, body[kept], contact, meeting["time_s"], balls)
        body, hitter = body_of(meeting), 1 - hitter
    return np.concatenate(out)


def swapped(game: Game) -> Game:
    """The same two sides with the other one studied, the wind seen from the other end."""
    east, north, up = game.world.wind_m_s
    world = dataclasses.replace(game.world, wind_m_s=(-east, -north, up))
    return dataclasses.replace(game, studied=game.opponent, opponent=game.studied, world=world)


@pytest.mark.parametrize("pair", [(HABIT, CLUB), (CLUB, PLAIN)])
def test_which_side_is_studied_changes_nothing_but_the_frame(pair: tuple[Side, Side]) -> None:
    game = Game(*pair, WINDY, SEED)
    rows = follow(game, OPPONENT, CORNER, 200)
    turned = follow(swapped(game), STUDIED, CORNER, 200)
    assert len(rows) > 400
    for name in rows.dtype.names or ():
        flat = any(part in name for part in ("_x_m", "_y_m", "_vx_m", "_vy_m"))
        expected = 1 - rows[name] if name == "side" else (-rows[name] if flat else rows[name])
        assert np.array_equal(turned[name], expected, equal_nan=True), name


def test_the_followed_rallies_are_the_engines() -> None:
    """What the test above follows by hand is what the engine plays."""
    game = Game(HABIT, CLUB, WINDY, SEED)
    rows = follow(game, OPPONENT, CORNER, 100)
    played = play(game, CORNER, np.arange(100))
    played = played[played["stroke"] < 6]
    rows = rows[np.lexsort((rows["stroke"], rows["replicate"]))]
    assert differing_fields(rows, played) == []


def test_a_better_opponent_wins_more() -> None:
    """Professionals against club players, and the reverse, from the middle."""
    level = {name: side(name, "middle", "habit") for name in ("club-adult", "professional-man")}

    def studied_wins(studied: str, opponent: str) -> float:
        rows = play(Game(level[studied], level[opponent], World(), SEED), MIDDLE, np.arange(3000))
        last = rows[rows["ending"] != GOING]
        hitter_won = np.isin(last["ending"], WON_BY_HITTER)
        won = np.where(last["side"] == STUDIED, hitter_won, ~hitter_won)
        return float(won.mean())

    assert studied_wins("professional-man", "club-adult") > 0.6
    assert studied_wins("club-adult", "professional-man") < 0.4


def test_shot_models_of_the_catalogue_all_play() -> None:
    for name, model in SHOT_MODELS.items():
        game = Game(HABIT, dataclasses.replace(CLUB, shots=model()), World(), SEED)
        rows = play(game, CORNER, REPLICATES)
        assert (rows["ending"] != GOING).sum() == len(REPLICATES), name
