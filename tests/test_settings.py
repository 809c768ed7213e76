"""The settings: blocks of work, what every policy meets, where the player starts from."""

from __future__ import annotations

import numpy as np
import pytest
from tiny_study import only, tiny_study

from experiments.balls.own_drive import OWN_NET_GAP_M
from experiments.study.design import OWN_STROKES, Study
from experiments.study.file import load_study
from experiments.study.setting_table import SETTINGS
from experiments.study.settings import (
    BLOCK_SIZE,
    REPLICATES_A_PLACE,
    Block,
    BlockResult,
    blocks,
    evaluate,
    own_stroke_to,
    recovering,
    replicates_of,
    scenarios,
)
from sim.contracts import turned
from sim.court import HALF_LENGTH_M
from sim.envelope import EXTREME
from sim.exchange import Game, Place, opening_contact, placed_spots, with_policy
from sim.kinds import OVERHEAD, VOLLEY
from sim.records import IN, OPPONENT, STUDIED, T, X
from sim.stroke import fly_drives
from strategies.catalogue import make_policy

BALL_COLUMNS = (
    "hitter_x_m",
    "hitter_y_m",
    "hitter_z_m",
    "speed_m_s",
    "outcome",
    "net_clearance_m",
    "landing_time_s",
    "landing_x_m",
    "landing_y_m",
)
BLIND = ("any-allowed", "habit", "pressing")
CORNER = {"name": "corner", "x_m": 3.115, "y_m": 11.885}


def rows_of(study: Study, seed: int = 3, block: Block | None = None) -> dict[str, np.ndarray]:
    """All stroke rows of the study's first block, by policy."""
    keep_all = study.model_copy(update={"stroke_rows_per_cell": 10**6})
    return dict(evaluate(keep_all, seed, block or blocks(keep_all)[0]).rows)


def balls_of(rows: np.ndarray) -> np.ndarray:
    """What the ball does, as bytes, so that NaN equals NaN."""
    return np.stack([rows[name].view(np.int64) for name in BALL_COLUMNS])


# --- blocks -----------------------------------------------------------------------------------


@pytest.mark.parametrize("placed", [10, BLOCK_SIZE["placed"], BLOCK_SIZE["placed"] + 1, 9001])
@pytest.mark.parametrize("rally", [10, 2 * BLOCK_SIZE["rally"], 3456])
def test_blocks_cover_every_replicate_once(placed: int, rally: int) -> None:
    study = tiny_study(placed_balls=placed, recovery_balls=1234, rallies=rally)
    work = blocks(study)
    assert list(dict.fromkeys(b.scenario for b in work)) == scenarios(study)
    for scenario in scenarios(study):
        covered = [
            i for b in work if b.scenario == scenario for i in range(b.first, b.first + b.count)
        ]
        assert covered == list(range(replicates_of(study, scenario)))


def test_the_number_of_replicates_does_not_move_the_blocks() -> None:
    """So a longer study begins with the replicates of a shorter one."""
    size = BLOCK_SIZE["rally"]
    few, many = tiny_study(rallies=size + 500), tiny_study(rallies=3 * size)
    assert [b for b in blocks(few) if b.count == size] == [
        b for b in blocks(many) if b.first == 0 and b.scenario.setting == "rally"
    ]


def test_places_have_replicates_of_their_own() -> None:
    """Independent places are what the interval over all places rests on."""
    study = tiny_study(
        settings=["placed"], places=[CORNER, {**CORNER, "name": "same"}], opponents=["habit"]
    )
    one, two = (rows_of(study, block=b)["middle"] for b in blocks(study)[:2])
    assert np.array_equal(one["replicate"], np.arange(40))
    assert np.array_equal(two["replicate"], np.arange(40))
    assert not np.isclose(one["landing_x_m"], two["landing_x_m"]).any()
    assert 10**7 < REPLICATES_A_PLACE < 2**63 // 1000


# --- chance -----------------------------------------------------------------------------------


@pytest.mark.parametrize("opponent", BLIND)
@pytest.mark.parametrize("setting", ["placed", "recovery"])
def test_every_policy_meets_the_very_same_balls(setting: str, opponent: str) -> None:
    rows = rows_of(only(setting, opponents=[opponent]))
    assert len(rows) == (3 if setting == "placed" else 4)
    first, *others = (balls_of(r) for r in rows.values())
    assert first.shape[1] == 40
    for other in others:
        assert np.array_equal(first, other)
    places = {name: set(r["receiver_x_m"]) for name, r in rows.items()}
    assert len(set(map(tuple, places.values()))) == len(places)  # though they stand elsewhere


def test_the_balls_are_the_same_after_any_own_stroke_and_in_every_setting() -> None:
    seen = [
        balls_of(rows_of(only(setting), block=block)["middle"])
        for setting in ("placed", "recovery")
        for block in blocks(only(setting))
    ]
    assert len(seen) == 3
    assert all(np.array_equal(seen[0], s) for s in seen)


def test_rallies_begin_with_the_same_ball() -> None:
    rows = rows_of(only("rally"))
    openings = [balls_of(r[r["stroke"] == 0]) for r in rows.values()]
    assert all(np.array_equal(openings[0], o) for o in openings)
    assert np.array_equal(openings[0], balls_of(rows_of(only("placed"))["middle"])[:, :12])


def test_a_hitter_who_looks_answers_the_place() -> None:
    """The same chance still, but the choice depends on where the receiver stands."""
    rows = rows_of(only("placed", opponents=["open-court"], placed_balls=200))
    a, b = rows["middle"], rows["linear-shade 0.20"]
    assert not np.array_equal(a["landing_x_m"], b["landing_x_m"])
    assert (a["landing_x_m"] == b["landing_x_m"]).mean() > 0.5


def test_another_seed_gives_other_balls() -> None:
    one, two = (rows_of(only("placed"), seed)["middle"] for seed in (3, 4))
    assert not np.isclose(one["landing_x_m"], two["landing_x_m"]).any()


@pytest.mark.parametrize("setting", SETTINGS)
def test_a_block_may_be_cut_anywhere(setting: str) -> None:
    study = only(setting, opponents=["open-court"], rallies=12, placed_balls=12, recovery_balls=12)
    scenario = scenarios(study)[0]
    whole = evaluate(study, 3, Block(scenario, 0, 12))
    parts = [evaluate(study, 3, Block(scenario, 0, 5)), evaluate(study, 3, Block(scenario, 5, 7))]
    for policy, tally in whole.tallies.items():
        added = parts[0].tallies[policy] + parts[1].tallies[policy]
        np.testing.assert_allclose(added.own, tally.own, rtol=1e-12, atol=1e-12)
        np.testing.assert_allclose(added.cross, tally.cross, rtol=1e-12, atol=1e-12)
    assert kept_bytes(whole) == kept_bytes(*parts)


def kept_bytes(*results: BlockResult) -> dict[str, bytes]:
    out: dict[str, bytes] = {}
    for result in results:
        for policy, rows in result.rows:
            out[policy] = out.get(policy, b"") + rows.tobytes()
    return out


def test_the_rows_kept_are_those_of_the_first_replicates() -> None:
    study = only("rally")
    kept = dict(evaluate(study, 3, blocks(study)[0]).rows)
    for policy, rows in rows_of(study).items():
        assert kept[policy].tobytes() == rows[rows["replicate"] < 5].tobytes()
    nothing = study.model_copy(update={"stroke_rows_per_cell": 0})
    assert evaluate(nothing, 3, blocks(study)[0]).rows == []


# --- where the player is ----------------------------------------------------------------------


def test_placed_stands_still_at_the_spot() -> None:
    study = only("placed")
    game = study.game("club-adult", "habit", "middle", 3)
    contact = opening_contact(study.places[0].place, game.opponent, 1)
    for text in ("middle", "bisector"):
        rows = rows_of(study)[text]
        spot = placed_spots(with_policy(game, make_policy(text)), contact)[0]
        for name, value in zip("xy", spot, strict=True):
            assert (rows[f"receiver_{name}_m"] == value).all()
            assert (rows[f"spot_{name}_m"] == value).all()
            assert (rows[f"receiver_v{name}_m_s"] == 0.0).all()
        assert (rows["recovery_run_m"] == 0.0).all()


def test_staying_stays_where_the_own_stroke_was() -> None:
    rows = rows_of(only("recovery", own_strokes=["crosscourt"]))["stay"]
    assert np.allclose(rows["receiver_x_m"], rows["spot_x_m"], atol=1e-6)
    assert (rows["receiver_x_m"] < -2).all()  # crosscourt to the right corner: from the left one


@pytest.mark.parametrize("own", OWN_STROKES)
@pytest.mark.parametrize("level", ["club-adult", "professional-man"])
def test_recovering_goes_toward_the_spot_and_no_farther(own: str, level: str) -> None:
    study = load_study()
    game = study.game(level, "habit", "middle", 3)
    for place in study.places:
        start = recovering(
            with_policy(game, make_policy("stay")), place.place, own, np.arange(1)
        ).spots[0]
        found = recovering(game, place.place, own, np.arange(3))
        assert (found.body == found.body[0]).all()
        spot, reached = found.spots[0], np.array([found.body["x_m"][0], found.body["y_m"][0]])
        whole, left = np.hypot(*(spot - start)), np.hypot(*(spot - reached))
        assert left < whole
        assert np.hypot(*(reached - start)) - 1e-9 <= found.run_m[0] <= whole + 1.0
        assert np.hypot(found.body["vx_m_s"][0], found.body["vy_m_s"][0]) < 8.0


def own_start_x_m(place_x_m: float, own: str) -> float:
    side = 1.0 if place_x_m >= 0 else -1.0
    return {"crosscourt": -3.0 * side, "down-the-line": 3.0 * side, "middle": 0.0}[own]


@pytest.mark.parametrize("own", OWN_STROKES)
@pytest.mark.parametrize("mirror", [1.0, -1.0])
def test_the_own_stroke_is_a_drive_that_arrives_at_the_place(own: str, mirror: float) -> None:
    """It lands in, clears the net, and comes to the place where its line crosses the court."""
    study = load_study()
    for level in study.levels:
        game = study.game(level, "habit", "middle", 3)
        for at in study.places:
            place = Place(at.name, mirror * at.x_m, at.y_m)
            contact, ball, time = own_stroke_to(game, place, own)
            assert contact["x_m"][0] == own_start_x_m(place.x_m, own)
            assert -HALF_LENGTH_M - 1 < contact["y_m"][0] < -HALF_LENGTH_M
            assert ball["outcome"][0] == IN and ball["net_clearance_m"][0] >= OWN_NET_GAP_M
            assert ball["landing_time_s"][0] < time[0] < ball["second_bounce_time_s"][0]
            assert 0.8 < time[0] < 2.2
            x_then = x_at(game, contact, ball, time[0])
            reachable = abs(place.x_m) <= 3.2  # wider lines miss the court: the ball is nearer in
            assert abs(x_then - place.x_m) < (0.02 if reachable else 2.0)


def x_at(game: Game, contact: np.ndarray, ball: np.ndarray, time_s: float) -> float:
    """Lateral place of the ball after its bounce, studied player's frame, by flying it again."""
    drive = np.zeros(1, EXTREME)
    drive["target_x_m"], drive["target_y_m"] = ball["landing_x_m"], ball["landing_y_m"]
    drive["speed_m_s"] = np.sqrt(sum(ball[f"v{k}_m_s"] ** 2 for k in "xyz"))
    drive["topspin_rad_s"] = game.studied.player.hitter.topspin_rad_s(contact["wing"])
    balls, paths = fly_drives(turned(contact), drive, game.world_of(OPPONENT))
    path = paths[0, : balls["points"][0]]
    return float(-np.interp(time_s, path[:, T], path[:, X]))


def test_mirrored_places_have_mirrored_own_strokes() -> None:
    """With equal wings; the hand decides which wing plays which side."""
    game = tiny_study().game("college-man", "habit", "middle", 3)
    for own in ("crosscourt", "down-the-line"):
        times = [own_stroke_to(game, Place("p", x, 11.885), own)[2][0] for x in (3.0, -3.0)]
        # A right-hander's forehand and backhand differ in speed, not in direction.
        assert times[0] == pytest.approx(times[1], abs=0.15)


# --- rows are plausible -----------------------------------------------------------------------


@pytest.mark.parametrize("setting", ["placed", "recovery", "rally"])
def test_rows_are_plausible(setting: str) -> None:
    """Ranges that any rally of people on a court keeps, and that a slip of sign or unit breaks."""
    for rows in rows_of(only(setting, opponents=["open-court"], rallies=200)).values():
        by_opponent = rows["side"] == OPPONENT
        assert (rows["side"] == np.where(rows["stroke"] % 2 == 0, OPPONENT, STUDIED)).all()
        assert (np.sign(rows["hitter_y_m"]) == np.where(by_opponent, 1, -1)).all()
        assert (np.sign(rows["receiver_y_m"]) == np.where(by_opponent, -1, 1)).all()
        assert (np.sign(rows["spot_y_m"]) == np.where(by_opponent, -1, 1)).all()
        assert ((rows["speed_m_s"] > 5) & (rows["speed_m_s"] < 60)).all()
        assert (np.abs(rows["receiver_x_m"]) < 8).all()
        assert ((rows["hitter_quality"] >= 0) & (rows["hitter_quality"] <= 1)).all()
        faced = rows[rows["outcome"] == IN]
        across = np.where(faced["side"] == OPPONENT, -1, 1)
        assert (np.sign(faced["landing_y_m"]) == across).all()
        assert (np.abs(faced["landing_y_m"]) <= HALF_LENGTH_M + 0.1).all()
        assert ((faced["landing_time_s"] > 0.2) & (faced["landing_time_s"] < 4)).all()
        met = faced[faced["grade"] > 0]
        in_air = met[met["meeting_time_s"] <= met["landing_time_s"]]
        assert bool(len(in_air)) == (setting == "rally")
        assert (np.abs(in_air["meeting_y_m"]) < 7.0).all()
        assert ((met["meeting_z_m"] > 0) & (met["meeting_z_m"] < 3)).all()
        assert (met["time_to_spare_s"] >= 0).all()
        assert (faced["time_to_spare_s"][faced["grade"] == 0] < 0).all()
        assert ((met["chase_run_m"] >= 0) & (met["chase_run_m"] < 15)).all()
        lost = rows[rows["outcome"] != IN]
        assert np.isnan(lost["time_to_spare_s"]).all()
        order = np.lexsort((rows["stroke"], rows["replicate"]))
        assert np.array_equal(order, np.arange(len(rows)))
        answered = np.flatnonzero(np.diff(rows["replicate"]) == 0)
        before, kind = rows[answered], rows["kind"][answered + 1]
        in_air = before["meeting_time_s"] <= before["landing_time_s"]
        assert np.isin(kind[in_air], (VOLLEY, OVERHEAD)).all()
        assert (in_air[kind == VOLLEY]).all()


def test_strikes_of_a_rally_follow_each_other() -> None:
    for rows in rows_of(only("rally")).values():
        for replicate in np.unique(rows["replicate"]):
            rally = rows[rows["replicate"] == replicate]
            assert np.array_equal(rally["stroke"], np.arange(len(rally)))
            gaps = np.diff(rally["strike_time_s"])
            assert np.allclose(gaps, rally["meeting_time_s"][:-1])
            assert (rally["ending"][:-1] == 0).all() and rally["ending"][-1] > 0
            assert np.allclose(rally["hitter_x_m"][1:], rally["meeting_x_m"][:-1])
