"""What players may tend to beside the model as it is: neutral values change no bit, others act."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
import pytest
from engine_games import differing_fields
from random_situations import mirrored, recovery_situation, shot_situation

from sim.array_engine import play
from sim.belief import Belief
from sim.chance import EXECUTION, SHOT, uniforms
from sim.contracts import ShotSituation, Situation, bodies_at, contacts_at, intents_of
from sim.court import HALF_LENGTH_M
from sim.errors import InputError
from sim.event_engine import play_rally
from sim.exchange import Game, Place, Side
from sim.hitter import RPM, Hitter
from sim.kinds import DRIVE
from sim.players import Player, changed_parts, player
from sim.records import BACKHAND, FOREHAND, IN
from sim.stroke import ERROR_DRAWS, net_margin_m, strike
from sim.world import World
from strategies.catalogue import make_policy, make_shot_model
from strategies.directions import CROSSCOURT, DOWN_THE_LINE, MIDDLE, SHORT_ANGLE
from strategies.shots.attentive import Attentive
from strategies.shots.charted import Charted
from strategies.shots.choosing import ATTACKS
from strategies.shots.down_the_line import DownTheLine
from strategies.shots.habit import Habit
from strategies.shots.open_court import OpenCourt
from strategies.shots.weaker_wing import WeakerWing

WORLD = World(flight="tabulated")
CORNER_X_M = 3.115
SEED, COUNT = 20261129, 4000
MEN = player("professional-man")
SHADES = ("linear-shade", "middle", "bisector")
GAINS = {"line_gain": DOWN_THE_LINE, "short_gain": SHORT_ANGLE, "middle_gain": MIDDLE}


def at_the_ball(
    count: int, x_m: float = CORNER_X_M, wing: int = FOREHAND, quality: float = 1.0
) -> ShotSituation:
    """Strokes of men from (x, -12, 1) against a receiver in the middle."""
    same = np.ones(count)
    contact = contacts_at(x_m * same, -12.0 * same, same, np.full(count, wing), quality)
    there = bodies_at(0.0 * same, 13.385 * same)
    return ShotSituation(MEN, MEN, World().turned_numbers, contact, there)


def chances(count: int, draws: int) -> np.ndarray:
    return uniforms(SEED, np.arange(count), SHOT, 1, draws)


def corner_shares(**values: float) -> np.ndarray:
    wing = BACKHAND if "backhand_middle_gain" in values else FOREHAND
    habit = Habit(backhand_crosscourt_gain=0.0, **values)  # type: ignore[arg-type]
    return np.asarray(habit.shares(at_the_ball(1, wing=wing))[0])


def rallies(hitter: dict[str, Any], count: int = 300, **shots: Any) -> np.ndarray:
    """Strokes of men of whom both hit so, from the corner."""
    someone = changed_parts(MEN, {"hitter": hitter})
    side = Side(someone, make_policy("linear-shade"), Attentive(**shots))
    game = Game(side, side, WORLD, SEED)
    return play(game, Place("corner", 3.1, 11.9), np.arange(count))


# Directions


@pytest.mark.parametrize("name", GAINS)
def test_a_gain_multiplies_the_odds_of_its_direction(name: str) -> None:
    plain, more = corner_shares(), corner_shares(**{name: 2.0})
    k = GAINS[name]
    assert more.sum() == pytest.approx(1.0)
    odds = more[k] / (1 - more[k]), plain[k] / (1 - plain[k])
    assert odds[0] == pytest.approx(2.0 * odds[1])
    others = np.arange(4) != k
    assert more[others] / plain[others] == pytest.approx([more[0] / plain[0]] * 3)


def test_the_ranges_of_the_gains_hold_what_sources_have_from_the_corner() -> None:
    ranges = {f.name: f.metadata for f in dataclasses.fields(Habit) if f.name in GAINS}
    found = {
        n: [corner_shares(**{n: ranges[n][end]})[k] for end in ("low", "high")]
        for n, k in GAINS.items()
    }
    for name, low, high in (
        ("line_gain", 0.15, 0.45),
        ("middle_gain", 0.12, 0.28),
        ("short_gain", 0.06, 0.15),
    ):
        assert round(found[name][0], 2) <= low and round(found[name][1], 2) >= high


@pytest.mark.parametrize("name", GAINS)
def test_a_gain_of_nothing_leaves_a_direction_out(name: str) -> None:
    assert corner_shares(**{name: 0.0})[GAINS[name]] == 0.0


def test_where_nothing_is_left_all_goes_crosscourt() -> None:
    only = Belief(from_corner=(0.0, 0.0, 1.0, 0.0))
    shares = Habit(belief=only, line_gain=0.0).shares(at_the_ball(1))
    assert shares[0].tolist() == [1.0, 0.0, 0.0, 0.0]


def test_the_backhand_goes_to_the_middle_from_crosscourt_and_line_in_proportion() -> None:
    plain, more = corner_shares(), corner_shares(backhand_middle_gain=0.12)
    assert more[MIDDLE] == pytest.approx(plain[MIDDLE] + 0.12)
    both = [CROSSCOURT, DOWN_THE_LINE]
    assert more[both] / plain[both] == pytest.approx([1 - 0.12 / plain[both].sum()] * 2)
    assert more[SHORT_ANGLE] == plain[SHORT_ANGLE]
    forehand = Habit(backhand_middle_gain=0.12).shares(at_the_ball(1))
    assert forehand.tobytes() == Habit().shares(at_the_ball(1)).tobytes()


def test_more_than_there_is_cannot_go_to_the_middle() -> None:
    few = Belief(from_corner=(0.04, 0.9, 0.02, 0.04))
    habit = Habit(belief=few, backhand_crosscourt_gain=0.0, backhand_middle_gain=0.1)
    assert habit.shares(at_the_ball(1, wing=BACKHAND))[0] == pytest.approx([0.0, 0.96, 0.0, 0.04])


@pytest.mark.parametrize("kind", [Habit, Attentive, Charted])
def test_gains_act_in_every_model_of_habit(kind: type) -> None:
    seen = at_the_ball(COUNT)
    plain, more = (m.shares(seen)[0, DOWN_THE_LINE] for m in (kind(), kind(line_gain=3.0)))
    assert more > 1.5 * plain
    draw = chances(COUNT, 1)[:, 0]
    hit = [(m.directions(seen, draw) == DOWN_THE_LINE).mean() for m in (kind(), kind(line_gain=3))]
    assert hit[1] > 1.5 * hit[0]


@pytest.mark.parametrize(
    "words",
    [
        "habit,line_gain=2,middle_gain=1.5,short_gain=0.5,backhand_middle_gain=0.1",
        "attentive,line_gain=2,backhand_middle_gain=0.1,attack_share=0.5",
        "open-court,attack_share=0.5",
    ],
)
def test_the_mirrored_situation_has_the_mirrored_stroke(words: str) -> None:
    model, seen = make_shot_model(words), shot_situation(200)
    chance = chances(200, model.draws)
    there, back = model.intents(seen, chance), model.intents(mirrored(seen), chance)
    np.testing.assert_allclose(back["target_x_m"], -there["target_x_m"], atol=1e-12)
    for name in ("target_y_m", "speed_m_s", "topspin_rad_s"):
        np.testing.assert_allclose(back[name], there[name], atol=1e-12)


# Strokes that are played to win


@pytest.mark.parametrize("kind", [Habit, OpenCourt])
def test_the_stated_share_of_unhurried_strokes_is_played_to_win(kind: type) -> None:
    seen, chance = at_the_ball(COUNT), chances(COUNT, kind.draws)  # type: ignore[attr-defined]
    usual, some = kind().intents(seen, chance), kind(attack_share=0.3).intents(seen, chance)
    wins = chance[:, ATTACKS] < 0.3
    assert wins.mean() == pytest.approx(0.3, abs=0.03)
    assert usual[~wins].tobytes() == some[~wins].tobytes()
    faster = some["speed_m_s"][wins] / usual["speed_m_s"][wins]
    wider = np.abs(some["target_x_m"][wins]) - np.abs(usual["target_x_m"][wins])
    assert 1.08 < np.median(faster) < 1.13 and np.median(wider) > 0.1
    if kind is Habit:  # the other one also chooses another direction where its gap is larger now
        assert (faster >= 1.0).all() and (wider >= 0.0).all()  # some are as fast as any already


def test_nobody_in_a_hurry_plays_to_win() -> None:
    seen, chance = at_the_ball(COUNT, quality=0.69), chances(COUNT, Habit.draws)
    usual, all_of_them = (Habit(attack_share=s).intents(seen, chance) for s in (0.0, 1.0))
    assert usual.tobytes() == all_of_them.tobytes()


def test_who_plays_to_win_shortens_rallies_and_errs_more_where_speed_costs() -> None:
    usual, wins = rallies({}, 1500), rallies({}, 1500, attack_share=0.4)
    assert len(wins) < 0.97 * len(usual)
    costs = rallies({"speed_error_gain": 3.0}, 1500, attack_share=0.4)
    missed = [(s["outcome"] != IN).mean() for s in (usual, wins, costs)]
    assert missed[2] > missed[1]


# Where to rest


@pytest.mark.parametrize("word", SHADES)
@pytest.mark.parametrize("hand", ["right", "left"])
def test_players_rest_toward_their_own_backhand_side(word: str, hand: str) -> None:
    seen = recovery_situation(200, me=player("college-man", hand))
    usual, beside = (make_policy(w).spots(seen) for w in (word, f"{word},toward_backhand_m=0.6"))
    kept = np.abs(usual[:, 0]) < 7.0  # those beyond come to the end of the run-off
    left = -0.6 if hand == "right" else 0.6
    assert beside[kept, 0] - usual[kept, 0] == pytest.approx(np.full(kept.sum(), left))
    assert (beside[:, 1] == usual[:, 1]).all()


@pytest.mark.parametrize("word", SHADES)
def test_the_mirrored_player_rests_on_the_mirrored_side(word: str) -> None:
    seen, policy = recovery_situation(200), make_policy(f"{word},toward_backhand_m=0.6")
    there, back = policy.spots(seen), policy.spots(mirrored(seen))
    np.testing.assert_allclose(back[:, 0], -there[:, 0], atol=1e-5)


@pytest.mark.parametrize("hand", ["right", "left"])
def test_resting_nowhere_aside_keeps_the_sign_of_a_zero(hand: str) -> None:
    contact = contacts_at(np.zeros(1), np.full(1, 12.0), np.ones(1), np.ones(1, int))
    me = player("college-man", hand)
    still = bodies_at(np.zeros(1), np.full(1, -13.0))
    seen = Situation(me, MEN, WORLD.numbers, 1.3, still, contact, np.ones(1))
    assert np.signbit(make_policy("linear-shade").spots(seen)[0, 0])
    assert not np.signbit(make_policy("middle").spots(seen)[0, 0])


def test_a_rest_aside_is_a_part_of_the_name() -> None:
    names = [make_policy(f"{word},toward_backhand_m=0.6").name for word in SHADES]
    assert all(name.endswith(" toward_backhand_m=0.6") for name in names)
    assert [make_policy(word).name for word in SHADES] == [
        "linear-shade 0.20",
        "middle",
        "bisector",
    ]


# Height over the net, and what speed costs


def struck(hitter: Hitter, wing: int, speed_m_s: float = 28.0, exact: bool = False) -> np.ndarray:
    """Drives from behind the baseline down the middle, 3 m inside the other one."""
    same = np.ones(COUNT)
    contact = contacts_at(0.0 * same, -(HALF_LENGTH_M + 1.0) * same, same, np.full(COUNT, wing))
    meant = intents_of(0.0 * same, 8.9 * same, speed_m_s * same, 2000.0 * RPM * same, kind=DRIVE)
    errors = uniforms(SEED, np.arange(COUNT), EXECUTION, 1, ERROR_DRAWS)
    numbers = hitter.exact_numbers if exact else hitter.numbers
    return strike(contact, meant, errors, numbers, WORLD.numbers)[0]


def test_the_gap_above_the_net_grows_by_its_share() -> None:
    usual, more = Hitter(net_margin_share=1.0), Hitter(net_margin_share=1.7)
    gaps = [net_margin_m(h.numbers[0]) for h in (usual, more)]
    assert gaps[1] == pytest.approx(1.7 * gaps[0])
    clear = [np.median(struck(h, FOREHAND, 36.0)["net_clearance_m"]) for h in (usual, more)]
    assert clear[1] > clear[0] + 0.1


def test_the_backhand_has_a_gap_of_its_own() -> None:
    usual, low = (
        Hitter(speed_error_gain=0.0, net_margin_share=1.0, backhand_net_share=share)
        for share in (1.0, 0.55)
    )
    wings = (FOREHAND, BACKHAND)
    forehands, backhands = ([struck(h, wing, 36.0) for h in (usual, low)] for wing in wings)
    assert forehands[0].tobytes() == forehands[1].tobytes()
    lower = [np.median(b["net_clearance_m"]) for b in backhands]
    assert lower[1] < lower[0] - 0.1


def test_only_strokes_above_the_usual_speed_err_more() -> None:
    usual, costs = Hitter(speed_error_gain=0.0), Hitter(speed_error_gain=3.0)
    slow = usual.forehand_speed_m_s - 2.0
    quiet = [struck(h, FOREHAND, slow).tobytes() for h in (usual, costs)]
    assert quiet[0] == quiet[1]
    fast = [Hitter(net_margin_share=0.1, speed_error_gain=gain) for gain in (0.0, 3.0)]
    speed = 1.1 * usual.forehand_speed_m_s
    wide = [struck(h, FOREHAND, speed)["landing_x_m"].std() for h in fast]
    assert wide[1] / wide[0] == pytest.approx(1.0 + 3.0 * 0.1, rel=0.02)


def test_serves_land_where_they_are_meant_to_whatever_speed_costs() -> None:
    hitters = Hitter(), Hitter(speed_error_gain=3.0, net_margin_share=2.0)
    served = [struck(h, FOREHAND, 40.0, exact=True).tobytes() for h in hitters]
    assert served[0] == served[1]


# Neutral values


@pytest.mark.parametrize("level", ["professional-woman", "club-adult"])
@pytest.mark.parametrize("hand", ["right", "left"])
def test_what_is_off_changes_no_bit_of_a_game(level: str, hand: str) -> None:
    """The sizes of an attack do not matter while nobody attacks, nor the draw that is for it."""
    who: Player = player(level, hand)
    plain = Side(who, make_policy("linear-shade"), Attentive())
    sizes = Attentive(attack_speed_share=1.3, attack_margin_share=0.3)
    place, rows = Place("corner", 3.1, 11.9), []
    for shots in (plain.shots, sizes):
        side = dataclasses.replace(plain, shots=shots)
        rows.append(play(Game(side, side, WORLD, SEED), place, np.arange(200)))
    assert rows[0].tobytes() == rows[1].tobytes()


@pytest.mark.parametrize("hand", ["right", "left"])
def test_with_all_of_them_both_engines_play_the_same_bits(hand: str) -> None:
    own = {"net_margin_share": 1.3, "backhand_net_share": 0.7, "speed_error_gain": 2.0}
    someone = changed_parts(player("professional-man", hand), {"hitter": own})
    gains = "line_gain=2,short_gain=0.5,middle_gain=1.5,backhand_middle_gain=0.1"
    shots = make_shot_model(f"attentive,{gains},attack_share=0.3")
    side = Side(someone, make_policy("linear-shade,toward_backhand_m=0.6"), shots)
    game, place = Game(side, side, WORLD, SEED), Place("corner", 3.1, 11.9)
    one_by_one = [play_rally(game, place, r, traced=False)[0] for r in range(60)]
    assert differing_fields(np.concatenate(one_by_one), play(game, place, np.arange(60))) == []


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ("habit,line_gain=-1", "line_gain"),
        ("attentive,attack_share=1.5", "allowed: 0 to 1"),
        ("open-court,attack_speed_share=nan", "attack_speed_share"),
    ],
)
def test_values_that_cannot_be_are_refused(words: str, message: str) -> None:
    with pytest.raises(InputError, match=message):
        make_shot_model(words)


@pytest.mark.parametrize("word", SHADES)
def test_a_rest_aside_is_never_negative(word: str) -> None:
    with pytest.raises(InputError, match="toward_backhand_m"):
        make_policy(f"{word},toward_backhand_m=-0.5")


# Straying from the spot meant


def strayed(spread_m: float, hand: str = "right") -> Game:
    """Two players of that hand who recover to the middle, and stray so far from it."""
    someone = changed_parts(player("professional-man", hand), {"legs": {"spot_spread_m": spread_m}})
    side = Side(someone, make_policy("middle"), Habit())
    return Game(side, side, WORLD, SEED)


def test_recoveries_stray_by_the_spread_about_the_spot_meant() -> None:
    place = Place("corner", 3.1, 11.9)
    exact, loose = (play(strayed(m), place, np.arange(3000)) for m in (0.0, 0.8))
    second = [rows[(rows["stroke"] == 1)] for rows in (exact, loose)]
    assert second[0]["replicate"].tolist() == second[1]["replicate"].tolist()
    back = exact["receiver_y_m"][exact["stroke"] == 1] > HALF_LENGTH_M
    for axis in ("spot_x_m", "spot_y_m"):
        off = (second[1][axis] - second[0][axis])[back]
        # Normal deviates: 99.9 % of means and of spreads lie this near (chi-square, large n).
        assert abs(off.mean()) < 3.3 * 0.8 / np.sqrt(len(off))
        assert off.std() == pytest.approx(0.8, rel=3.3 / np.sqrt(2 * len(off)))


@pytest.mark.parametrize("hand", ["right", "left"])
def test_engines_agree_to_the_bit_on_who_strays(hand: str) -> None:
    game, place = strayed(0.9, hand), Place("corner", 3.1, 11.9)
    one_by_one = [play_rally(game, place, r, traced=False)[0] for r in range(60)]
    assert differing_fields(np.concatenate(one_by_one), play(game, place, np.arange(60))) == []


# Hitters who favour a side


def test_who_favours_the_line_plays_it_about_every_second_time_from_the_corner() -> None:
    shares = DownTheLine().shares(at_the_ball(1))[0]
    assert 0.45 < shares[DOWN_THE_LINE] < 0.6


@pytest.mark.parametrize("x_m", [-CORNER_X_M, -0.5, 0.5, CORNER_X_M])
@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("weaker", [FOREHAND, BACKHAND])
def test_the_weaker_wing_gets_the_more_balls(x_m: float, hand: str, weaker: int) -> None:
    someone = player("professional-man", hand)
    slow, fast = 25.0, 30.0
    hits = {
        "forehand_speed_m_s": slow if weaker == FOREHAND else fast,
        "backhand_speed_m_s": slow if weaker == BACKHAND else fast,
    }
    seen = dataclasses.replace(
        at_the_ball(COUNT, x_m), opponent=changed_parts(someone, {"hitter": hits})
    )
    # Own frame of the hitter: a right-hander across the net has the forehand at x < 0.
    side = (-1.0 if hand == "right" else 1.0) * (1.0 if weaker == FOREHAND else -1.0)
    draws = chances(COUNT, ATTACKS + 1)
    hit = [
        np.sign(model.intents(seen, draws)["target_x_m"]) == side
        for model in (Habit(), WeakerWing())
    ]
    assert hit[1].mean() > hit[0].mean() + 0.05
