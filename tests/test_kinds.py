"""Every kind of stroke: what a contact allows, how it flies, when it is chosen or left out."""

from __future__ import annotations

import dataclasses
import hashlib
import json
from pathlib import Path

import numpy as np
import pytest
from engine_games import GAMES, differing_fields
from random_situations import shot_situation

from sim.additions import ADDITIONS, player_without, without
from sim.array_engine import play
from sim.belief import Belief
from sim.can_play import kind_for
from sim.contracts import ShotSituation, bodies_at, contacts_at, intents_of
from sim.court import HALF_LENGTH_M, NET_CENTRE_M
from sim.errors import InputError
from sim.event_engine import play_rally
from sim.exchange import Game, Place, Side
from sim.kinds import (
    APPROACH,
    BLOCK,
    COMING_IN,
    DRIVE,
    DROP_SHOT,
    HALF_VOLLEY,
    HIGH_BALL,
    KINDS,
    LOB,
    OVERHEAD,
    PASSING_SHOT,
    SCOOP,
    SERVES,
    SLICE,
    VOLLEY,
)
from sim.players import PLAYERS, changed_parts, player
from sim.records import BACKHAND, CONTACT, FOREHAND, IN
from sim.stroke import ERROR_DRAWS, strike
from sim.world import World
from strategies.aim import AimedShots
from strategies.catalogue import make_policy, make_shot_model
from strategies.shots.habit import Habit

WORLD = World(flight="tabulated")
SEED = 20261129
# The plain game of drives, played before there was any other stroke: a digest of each game's
# columns of then, rounded to 1e-7.
PLAIN = json.loads((Path(__file__).parent / "baseline" / "plain_games.json").read_text())
# The values that were usual then, where they have moved since.
THEN: dict[str, dict[str, float]] = {
    "hitter": {
        "elevation_share": 0.5,
        "stretched_speed_loss": 0.35,
        "stretched_error_gain": 1.2,
        "aim_margin_sds": 1.3,
        "net_margin_share": 1.0,
        "backhand_net_share": 1.0,
    },
    "legs": {
        "ease_centre_s": -0.15,
        "control_time_s": 0.06,
        "follow_through_s": 0.3,
        "recovery_effort": 0.6,
        "hurried_effort": 0.85,
    },
}
ERRORS_THEN = {
    "professional-man": {"direction_sd_deg": 2.1, "depth_sd_m": 1.8},
    "professional-woman": {"direction_sd_deg": 2.2, "depth_sd_m": 1.9},
}
WAITS_THEN = {"professional-man": 1.5}
AIMS_THEN = {"width_spread_m": 0.4}
SPREAD, SPREAD_THEN = Habit().speed_spread, 0.06  # of who has no other
BELIEF_THEN = Belief((0.36, 0.26, 0.36, 0.02), (0.59, 0.12, 0.19, 0.10))
BACKHAND_THEN = {"backhand_crosscourt_gain": 0.05, "backhand_middle_gain": 0.0}
LEVELS = list(PLAYERS)
LOFTED = (SLICE, HIGH_BALL, BLOCK, SCOOP, HALF_VOLLEY, DROP_SHOT, LOB)


def digest(strokes: np.ndarray) -> str:
    found = hashlib.sha256()
    for name in PLAIN["columns"]:
        values = np.nan_to_num(strokes[name].astype(float), nan=-9e9, neginf=-9e9)
        found.update((np.round(values, 7) + 0.0).tobytes())
    return found.hexdigest()[:16]


def as_then(side: Side) -> Side:
    """The side with the values of when the plain game was played."""
    someone, shots = changed_parts(side.player, THEN), side.shots
    someone = changed_parts(someone, {"hitter": ERRORS_THEN.get(someone.name, {})})
    waits = WAITS_THEN.get(someone.name, someone.waits_behind_m)
    if isinstance(shots, AimedShots):
        spread = SPREAD_THEN if shots.speed_spread == SPREAD else shots.speed_spread
        shots = dataclasses.replace(shots, speed_spread=spread, **AIMS_THEN)
    if isinstance(shots, Habit):
        belief = BELIEF_THEN if shots.belief == Belief() else shots.belief
        shots = dataclasses.replace(shots, belief=belief, **BACKHAND_THEN)
    someone = dataclasses.replace(someone, waits_behind_m=waits)
    return dataclasses.replace(side, player=someone, shots=shots, belief=BELIEF_THEN)


@pytest.mark.parametrize("name", PLAIN["games"])
def test_without_any_addition_the_plain_game_of_drives_is_played(name: str) -> None:
    game, place = GAMES[name]
    game = dataclasses.replace(game, studied=as_then(game.studied), opponent=as_then(game.opponent))
    strokes = play(without(game, ADDITIONS), place, np.arange(PLAIN["rallies"]))
    assert digest(strokes) == PLAIN["games"][name]
    assert set(strokes["kind"]) <= {DRIVE, *SERVES}


def rallies(
    level: str = "college-man", shots: str = "attentive", count: int = 400, seed: int = SEED
) -> tuple[Game, Place]:
    one = Side(player(level), make_policy("linear-shade"), make_shot_model(shots))
    return Game(one, one, WORLD, seed), Place("corner", 3.1, 11.9)


@pytest.mark.parametrize(
    ("addition", "kinds"),
    [
        ("slice", {SLICE}),
        ("high-ball", {HIGH_BALL}),
        ("block", {BLOCK}),
        ("low-ball", {SCOOP, HALF_VOLLEY}),
        ("drop-shot", {DROP_SHOT}),
        ("approach", {APPROACH}),
        ("volley", {VOLLEY}),
        ("overhead", {OVERHEAD}),
        ("passing-shot", {PASSING_SHOT}),
        ("lob", {LOB}),
    ],
)
def test_each_addition_takes_its_kinds_out_of_play(addition: str, kinds: set[int]) -> None:
    game, place = rallies()
    played = set(play(without(game, [addition]), place, np.arange(1500))["kind"])
    assert not played & kinds


def test_all_kinds_of_the_baseline_are_played() -> None:
    game, place = rallies("professional-man")
    played = set(play(game, place, np.arange(4000))["kind"])
    assert {DRIVE, SLICE, HIGH_BALL, BLOCK, SCOOP, DROP_SHOT, APPROACH, PASSING_SHOT} <= played


def test_an_addition_that_is_none_is_named_with_the_nearest() -> None:
    with pytest.raises(InputError, match="slice"):
        player_without(player("college-man"), ["slise"])


def one_contact(**fields: float) -> np.ndarray:
    made = np.zeros(1, CONTACT)
    usual = {"y_m": -12.5, "z_m": 1.0, "quality": 1.0, "wing": FOREHAND}
    for name, value in (usual | fields).items():
        made[name] = value
    return made


def shares(level: str, wished: int = DRIVE, **fields: float) -> np.ndarray:
    """Shares of the kinds that are played from one contact, over evenly spread numbers."""
    hitter, contact = player(level).hitter.numbers, one_contact(**fields)
    draws = (np.arange(500) + 0.5) / 500
    kinds = [kind_for(wished, contact[0], u, hitter[0]) for u in draws]
    return np.bincount(kinds, minlength=len(KINDS)) / len(draws)


@pytest.mark.parametrize("level", LEVELS)
def test_a_ball_at_the_shoelaces_is_never_driven(level: str) -> None:
    falling, rising = (shares(level, z_m=0.1, rise_m_s=v) for v in (-3.0, 3.0))
    assert falling[SCOOP] == 1.0 and rising[HALF_VOLLEY] == 1.0
    assert shares(level, z_m=1.0)[DRIVE] > 0.99


@pytest.mark.parametrize("level", LEVELS)
def test_a_late_player_blocks_when_stretched_and_plays_high_when_not(level: str) -> None:
    stretched, upright = (shares(level, quality=0.0, stretch=s) for s in (1.0, 0.0))
    assert stretched[DRIVE] < 0.05 and upright[DRIVE] < 0.05
    assert stretched[BLOCK] > upright[BLOCK] and stretched[HIGH_BALL] < upright[HIGH_BALL]
    backhand = shares(level, quality=0.0, stretch=1.0, wing=BACKHAND)
    assert backhand[SLICE] > stretched[SLICE]


@pytest.mark.parametrize("along", ["quality", "z_m", "stretch", "rise_m_s"])
@pytest.mark.parametrize("volley", [0, 1])
def test_shares_of_the_kinds_change_without_a_jump(along: str, volley: int) -> None:
    ends = {"quality": (0, 1), "z_m": (0.1, 2.9), "stretch": (0, 1), "rise_m_s": (-4, 4)}[along]
    other = {"quality": 0.3, "z_m": 0.45, "stretch": 0.5, "y_m": -7.0, "volley": volley}
    steps = np.linspace(*ends, 401)
    found = np.array([shares("club-adult", **(other | {along: v})) for v in steps])
    assert np.abs(np.diff(found, axis=0)).max() < 0.06  # 0.25 % of the way on


@pytest.mark.parametrize("level", LEVELS)
@pytest.mark.parametrize(("y_m", "z_m"), [(-11.0, 1.0), (-12.5, 0.6), (-16.0, 1.1), (-13.0, 0.2)])
def test_strokes_sent_up_clear_the_net_and_land_in(level: str, y_m: float, z_m: float) -> None:
    exact = np.full((1, ERROR_DRAWS), 0.5)
    for hand in ("right", "left"):
        someone = player(level, hand)
        for kind in LOFTED:
            depth = someone.hitter.repertoire.drop_depth_m if kind == DROP_SHOT else 8.5
            if kind == DROP_SHOT and (y_m < -12.0 or z_m < 0.5):
                continue  # nobody tries it from there
            contact = contacts_at(*np.array([[2.0], [y_m], [z_m]]), np.array([BACKHAND]))
            wish = intents_of(np.array([-1.5]), np.array([depth]), np.array([25.0]), 0.0, 0.0, kind)
            ball = strike(contact, wish, exact, someone.hitter.numbers, WORLD.numbers)[0][0]
            assert ball["net_clearance_m"] > 0.0, KINDS[kind]
            assert ball["outcome"] == IN and ball["kind"] == kind
            assert -ball["landing_y_m"] <= depth + 0.05


def flown(kind: int, level: str = "professional-man", depth_m: float = 8.8) -> np.void:
    someone, exact = player(level), np.full((1, ERROR_DRAWS), 0.5)
    speed, spin = someone.hitter.speed_m_s(BACKHAND), someone.hitter.topspin_rad_s(BACKHAND)
    contact = contacts_at(*np.array([[0.0], [-12.5], [0.95]]), np.array([BACKHAND]))
    wish = intents_of(np.array([1.0]), np.array([depth_m]), speed, spin, 0.0, kind)
    return strike(contact, wish, exact, someone.hitter.numbers, WORLD.numbers)[0][0]


def speed_km_h(ball: np.void) -> float:
    return 3.6 * float(np.sqrt(sum(ball[f"v{a}_m_s"] ** 2 for a in "xyz")))


def test_a_professional_slice_is_as_fast_as_those_that_were_filmed() -> None:
    """80 km/h at rally pace (Yandell, coaching magazine, high-speed video of strong amateurs);
    75 to 95 km/h for professionals, from memory."""
    ball = flown(SLICE)
    assert 75 < speed_km_h(ball) < 95
    assert ball["spin_x_rad_s"] < 0 < flown(DRIVE)["spin_x_rad_s"] or ball["spin_x_rad_s"] > 0


def test_a_lob_goes_over_a_player_at_the_net() -> None:
    """5 to 9 m high at 55 to 80 km/h, from memory."""
    ball = flown(LOB, depth_m=9.3)
    top_m = 0.95 + ball["vz_m_s"] ** 2 / (2 * 9.81)
    assert 55 < speed_km_h(ball) < 80 and 5.0 < top_m < 12.0
    assert ball["net_clearance_m"] + NET_CENTRE_M > 4.0


def seen_by(
    receiver_y_m: float, level: str, contacts: np.ndarray, hand: str = "right"
) -> ShotSituation:
    n = len(contacts)
    someone = player(level, hand)
    receiver = bodies_at(np.zeros(n), np.full(n, receiver_y_m))
    return ShotSituation(someone, someone, WORLD.numbers, contacts, receiver)


def meant(model: str, seen: ShotSituation) -> np.ndarray:
    made = make_shot_model(model)
    chance = np.random.default_rng(SEED).uniform(size=(len(seen), made.draws))
    return made.intents(seen, chance)


@pytest.mark.parametrize("model", ["habit", "open-court", "attentive", "pressing"])
def test_balls_are_passed_or_lobbed_only_at_a_player_at_the_net(model: str) -> None:
    n = 3000
    contacts = contacts_at(
        np.linspace(-4, 4, n), np.full(n, -12.0), np.ones(n), np.full(n, FOREHAND)
    )
    back = meant(model, seen_by(13.0, "college-man", contacts))["kind"]
    forward = meant(model, seen_by(3.0, "college-man", contacts))["kind"]
    assert not np.isin(back, (PASSING_SHOT, LOB)).any()
    assert np.isin(forward, (PASSING_SHOT, LOB)).all()
    # 3,000 draws: the share of lobs within five standard errors of the player's own.
    share = player("college-man").hitter.repertoire.lob_share
    assert abs((forward == LOB).mean() - share) < 5 * np.sqrt(share * (1 - share) / n)


def test_only_unhurried_backhands_are_sliced_by_choice() -> None:
    n = 4000
    at = np.linspace(-3, 3, n), np.full(n, -12.5), np.full(n, 1.1)
    forehands, backhands = (contacts_at(*at, np.full(n, w)) for w in (FOREHAND, BACKHAND))
    share = player("college-man").hitter.repertoire.slice_share
    sliced = meant("habit", seen_by(13.0, "college-man", backhands))["kind"] == SLICE
    assert abs(sliced.mean() - share) < 5 * np.sqrt(share * (1 - share) / n)
    assert not (meant("habit", seen_by(13.0, "college-man", forehands))["kind"] == SLICE).any()


def test_a_short_ball_brings_the_hitter_in_and_a_deep_one_does_not() -> None:
    n = 2000
    at = np.linspace(-3, 3, n), np.ones(n), np.full(n, FOREHAND)
    coming = [
        np.isin(
            meant(
                "habit", seen_by(13.0, "college-man", contacts_at(at[0], np.full(n, y), *at[1:]))
            )["kind"],
            COMING_IN,
        ).mean()
        for y in (-13.5, -10.0, -8.0, -6.0, -4.0)
    ]
    assert coming == sorted(coming) and coming[0] == 0.0 and coming[-1] > 0.9


def test_volleys_go_away_from_the_receiver_more_often_than_not() -> None:
    contacts = np.repeat(one_contact(y_m=-3.0, volley=1), 3000)
    seen = seen_by(12.5, "college-man", contacts)
    receiver = seen.receiver.copy()
    receiver["x_m"] = 2.5
    x = meant("habit", dataclasses.replace(seen, receiver=receiver))["target_x_m"]
    share = player("college-man").hitter.repertoire.away_share
    assert abs((x < 0).mean() - share) < 5 * np.sqrt(share * (1 - share) / len(x))
    assert np.abs(x).min() > 1.0


def test_kinds_are_mirrored_with_the_court() -> None:
    seen = shot_situation(2000)
    contact, receiver = seen.contact.copy(), seen.receiver.copy()
    contact["y_m"] = -np.linspace(4.0, 15.0, len(contact))
    contact["x_m"] += 0.01 * (np.abs(contact["x_m"]) < 0.01)
    receiver["y_m"] = np.tile(np.linspace(3.0, 14.0, 40), 50)
    there = dataclasses.replace(seen, contact=contact, receiver=receiver)
    flipped = contact.copy(), receiver.copy()
    for places in flipped:
        places["x_m"] *= -1.0
    flipped[1]["vx_m_s"] *= -1.0
    back = dataclasses.replace(
        there, contact=flipped[0], receiver=flipped[1], me=seen.me.with_hand("left")
    )
    for model in ("habit", "open-court"):
        a, b = meant(model, there), meant(model, back)
        assert (a["kind"] == b["kind"]).all()
        np.testing.assert_allclose(a["target_y_m"], b["target_y_m"], atol=1e-12)


def test_the_engines_agree_to_the_bit_with_every_kind() -> None:
    game, place = rallies("club-woman")
    batch = play(game, place, np.arange(150))
    alone = np.concatenate([play_rally(game, place, k, traced=False)[0] for k in range(150)])
    assert differing_fields(batch, alone) == []
    assert len(set(batch["kind"])) >= 6


def test_own_court_is_where_every_stroke_is_played() -> None:
    game, place = rallies("senior-65")
    strokes = play(game, place, np.arange(1500))
    own = np.where(strokes["side"] == 0, -1.0, 1.0)
    assert (own * strokes["hitter_y_m"] > 0).all()
    assert (np.abs(strokes["hitter_y_m"]) < HALF_LENGTH_M + 8.0).all()
