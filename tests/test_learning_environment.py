"""Rallies as an environment: the rallies that the engines play, to the bit, and the interfaces."""

from __future__ import annotations

import dataclasses
import importlib
import warnings
from typing import Any

import gymnasium
import numpy as np
import pytest
from click.testing import CliRunner
from gymnasium.utils.env_checker import check_env
from gymnasium.vector import AutoresetMode, VectorEnv
from pettingzoo.test import parallel_api_test
from tiny_study import only

import experiments.learning
from experiments.answers.replay.answer import point_text, replay_of_players
from experiments.command.main import main
from experiments.learning import ID
from experiments.learning.environment.agent import AgentPolicy
from experiments.learning.environment.batch import RallyRecoveryBatch
from experiments.learning.environment.contest import contests_of, settings_of
from experiments.learning.environment.done import DONE, actions_of_aims, aims_of_actions
from experiments.learning.environment.rallies import Rallies
from experiments.learning.environment.seen import BISECTOR, COLUMN, SEEN
from experiments.learning.environment.single import RallyRecovery
from experiments.learning.environment.two_sides import TwoSides
from experiments.learning.environment.worth import features, worth
from experiments.study.design_points import game_at
from experiments.study.factors import Factors
from experiments.study.served import sides_changed, whole_points
from sim.array_engine import play
from sim.contracts import RecoveryPolicy
from sim.errors import InputError
from sim.event_engine import play_rally
from sim.exchange import with_policy
from sim.records import OPPONENT, STROKE_LIMIT
from strategies.catalogue import make_policy

CORNER = (3.1, 11.9)
OPENINGS = ("returning", "serving", CORNER)
IN_AND_OUT = "in-and-out,in_m=5,back_m_per_s=15,effort=0.9"
HITS = {"hitter": "attentive", "own_shots": "attentive"}
LEFT_SENIOR = {"player": "senior-65", "hand": "left", **HITS}
JUNIOR = {"player": "under-12", "opponent_player": "club-woman", "surface": "clay"}
RALLIES = 30


def played(policy: RecoveryPolicy, count: int, **settings: Any) -> tuple[Rallies, np.ndarray]:
    """The STROKE records of the first rallies, played by a policy in a batch of that many rows."""
    rallies = Rallies(settings_of(seed=5, **settings), count, keeps_strokes=True)
    rallies.deal(np.ones(count, bool))
    while rallies.replicates.min() < RALLIES:
        rallies.deal(rallies.step(rallies.actions_of(policy)).over)
    rows = rallies.kept_strokes()
    return rallies, rows[rows["replicate"] < RALLIES]


def by_engine(rallies: Rallies, policy: RecoveryPolicy) -> np.ndarray:
    """The same by the array engine."""
    (contest,) = rallies.contests
    serving = contest.side == OPPONENT
    game = with_policy(sides_changed(contest.game) if serving else contest.game, policy)
    if len(contest.places) == 1:
        return play(game, contest.places[0], np.arange(RALLIES))
    return whole_points(game, np.arange(RALLIES), serving)


def same(a: np.ndarray, b: np.ndarray) -> bool:
    """Equal in every field, NaN to NaN."""
    names = a.dtype.names or ()
    return len(a) == len(b) and all(np.array_equal(a[n], b[n], equal_nan=True) for n in names)


# --- the rallies ------------------------------------------------------------------------------


@pytest.mark.parametrize("opening", OPENINGS, ids=str)
@pytest.mark.parametrize("policy", ["middle", "bisector", IN_AND_OUT])
def test_a_fixed_policy_plays_to_the_bit_what_the_engine_plays(opening: Any, policy: str) -> None:
    chosen = make_policy(policy)
    for count, described in ((1, HITS), (7, LEFT_SENIOR), (64, JUNIOR)):
        rallies, rows = played(chosen, count, opening=opening, **described)
        assert same(rows, by_engine(rallies, chosen)), (count, described)


def test_batches_of_all_sizes_play_the_same_rallies_in_all_worlds() -> None:
    chosen = make_policy("bisector")
    for opening in OPENINGS:
        one, seven, many = (
            played(chosen, n, opening=opening, world=[4, None, 9])[1] for n in (1, 7, 64)
        )
        assert same(one, seven) and same(one, many)


def test_a_world_is_that_of_a_study() -> None:
    level, shots = "professional-man", "attentive"
    study = only("serving", worlds=3, levels=[level], own_shots=shots)
    game = study.game(level, shots, "middle", 0)
    theirs = game_at(study.varied or Factors(), 2, game, study.places[0].place)[0]
    settings = settings_of(player=level, opening="serving", world=(None, 2), **HITS)
    usual, ours = (sides_changed(contest.game) for contest in contests_of(settings))
    for side in ("studied", "opponent"):
        mine, same_side = getattr(ours, side), getattr(theirs, side)
        assert (mine.player, mine.shots) == (same_side.player, same_side.shots)
        assert mine.policy == getattr(usual, side).policy and mine.player != usual.studied.player
    assert ours.world == theirs.world


def test_the_agent_of_a_catalogue_policy_is_that_policy() -> None:
    """Places and efforts come back from the numbers of an action to the bit."""
    rng = np.random.default_rng(1)
    aims = np.column_stack(
        [rng.uniform(-7.7, 7.7, 5000), rng.uniform(-18.2, -5.95, 5000), rng.random(5000)]
    )
    assert np.array_equal(aims_of_actions(actions_of_aims(aims)), aims)
    two = aims_of_actions(actions_of_aims(aims[:, :2]))
    assert np.array_equal(two[:, :2], aims[:, :2]) and not two[:, 2].any()


def nearer_when_late(seen: np.ndarray) -> np.ndarray:
    """An agent that looks at many columns, with an effort of its own."""
    out = np.zeros((len(seen), len(DONE)))
    out[:, 0] = -0.03 * seen[:, COLUMN["opponent_x_m"]] + 0.01 * seen[:, COLUMN["own_x_m"]]
    out[:, 1] = 0.3 - 0.1 * seen[:, COLUMN["quality"]]
    out[:, 2] = np.where(seen[:, COLUMN["opening"]] > 0, 0.0, 0.9)
    return out


@pytest.mark.parametrize("opening", OPENINGS, ids=str)
def test_an_agent_plays_in_the_engine_as_in_the_environment(opening: Any) -> None:
    agent = AgentPolicy("nearer when late", nearer_when_late)
    rallies = Rallies(settings_of(seed=5, opening=opening, **LEFT_SENIOR), 8, keeps_strokes=True)
    rallies.deal(np.ones(8, bool))
    while rallies.replicates.min() < RALLIES:
        rallies.deal(rallies.step(nearer_when_late(rallies.observations)).over)
    rows = rallies.kept_strokes()
    assert same(rows[rows["replicate"] < RALLIES], by_engine(rallies, agent))


PLACES = {
    "returning": ("serve-right", "serve-left"),
    "serving": ("own-serve-right", "own-serve-left"),
    CORNER: ("3.1,11.9",) * 2,
}


@pytest.mark.parametrize("world", [None, 7])
@pytest.mark.parametrize("opening", OPENINGS, ids=str)
def test_the_command_replay_plays_an_episode_again(opening: Any, world: int | None) -> None:
    settings = {"opening": opening, "player": "club-woman", "world": world}
    env = RallyRecovery(seed=11, keeps_strokes=True, **settings)
    policy = make_policy("middle")
    for _ in range(3):
        _, info = env.reset()
        over = False
        while not over:
            _, _, terminated, truncated, info = env.step(env.policy_action(policy))
            over = terminated or truncated
        rows = env.strokes()
        rows = rows[rows["replicate"] == info["replicate"]]
        place = PLACES[opening][info["replicate"] % 2]
        address = {"seed": info["seed"], "number": info["replicate"]}
        assert info["world"] == (-1 if world is None else world)
        address |= {} if world is None else {"world": info["world"]}
        words = [f"--{key}={value}" for key, value in address.items()]
        words += [f"--place={place}", "--player=club-woman", "--policy=middle"]
        told = CliRunner().invoke(main, ["replay", *words])
        assert told.exit_code == 0, told.output
        assert told.output.strip().endswith(point_text(rows))
        assert ("to the studied" in told.output) == (info["point"] == 1.0)
        again = replay_of_players(**address, place=place, player="club-woman")
        strokes, _ = play_rally(again.played, again.place, again.replicate, traced=False)
        names = ["outcome", "speed_m_s", "landing_time_s", "ending", "time_to_spare_s"]
        assert all(np.array_equal(rows[n], strokes[n], equal_nan=True) for n in names)


def test_a_rally_that_is_stopped_is_truncated() -> None:
    env = RallyRecovery(seed=2, opening=(0.0, 11.9))
    rallies, policy, ends = env.rallies, make_policy("middle"), set()
    rallies.unseeded = tuple(
        dataclasses.replace(c, game=dataclasses.replace(c.game, stroke_limit=3))
        for c in rallies.unseeded
    )
    env.reset(seed=2)
    for _ in range(12):
        over = False
        while not over:
            _, reward, terminated, truncated, info = env.step(env.policy_action(policy))
            over = terminated or truncated
        ends.add((truncated, info["point"], reward))
        env.reset()
    assert {(False, 1.0, 1.0), (False, 0.0, 0.0), (True, 0.5, 0.0)} == ends


# --- interfaces -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "settings",
    [{}, {"opening": "serving", "bisector": True, "shaped": 0.9}, {"world": [1, 2]}],
    ids=str,
)
def test_gymnasium_finds_nothing_wrong(settings: dict[str, Any]) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        check_env(gymnasium.make(ID, **settings).unwrapped)


def test_pettingzoo_finds_nothing_wrong() -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        for opening in OPENINGS:
            parallel_api_test(TwoSides(opening=opening, seed=1), num_cycles=40)


def test_the_docstrings_name_every_column_with_unit_and_range() -> None:
    for kind in (RallyRecovery, RallyRecoveryBatch):
        told = kind.__doc__ or ""
        for field in (*SEEN, BISECTOR, *DONE):
            assert f"{field.name} ({field.unit}, {field.low:g} to {field.high:g}): " in told
    assert "turn (1, 0 to 1)" in (TwoSides.__doc__ or "")


@pytest.mark.parametrize("described", [LEFT_SENIOR, JUNIOR, {"player": "professional-man"}])
def test_what_is_seen_stays_inside_its_range_whatever_is_done(described: dict[str, Any]) -> None:
    """And the stated ranges are seldom where a number stops."""
    batch = RallyRecoveryBatch(200, seed=3, bisector=True, opening=CORNER, **described)
    seen, _ = batch.reset()
    batch.action_space.seed(3)
    everything = [seen]
    for _ in range(12):
        seen, *_ = batch.step(batch.action_space.sample())
        assert seen in batch.observation_space
        everything.append(seen)
    rows, space = np.concatenate(everything), batch.single_observation_space
    wide = [COLUMN[name] for name in ("own_x_m", "own_y_m", "opponent_x_m", "opponent_y_m")]
    assert (rows[:, wide] > space.low[wide]).all() and (rows[:, wide] < space.high[wide]).all()
    assert (np.ptp(rows, axis=0) > 0.0)[[k for n, k in COLUMN.items() if "hand" not in n]].all()


def a_batch(mode: str, count: int = 6, **settings: Any) -> VectorEnv[Any, Any, Any]:
    return gymnasium.make_vec(ID, num_envs=count, autoreset_mode=mode, seed=4, **settings)


def policy_steps(batch: Any, steps: int) -> list[Any]:
    """Steps by the middle, with resets of rows where they have to be asked for."""
    policy, out = make_policy("middle"), []
    for _ in range(steps):
        out.append(batch.step(batch.policy_actions(policy)))
        over = out[-1][2] | out[-1][3]
        if batch.autoreset_mode == AutoresetMode.DISABLED and over.any():
            out[-1] = (*out[-1], batch.reset(options={"reset_mask": over}))
    return out


def test_next_step_begins_the_next_rally_one_step_later() -> None:
    batch = a_batch("NextStep")
    before, (_, info) = np.zeros(6, bool), batch.reset()
    numbers = info["replicate"]
    assert numbers.tolist() == [0, 1, 2, 3, 4, 5]
    for seen, reward, terminated, truncated, info in policy_steps(batch, 16):
        numbers = numbers + 6 * before
        assert np.array_equal(info["replicate"], numbers)
        assert (seen[before, COLUMN["opening"]] == 1.0).all() and not reward[before].any()
        assert not (terminated | truncated)[before].any()
        assert np.array_equal(reward == 1.0, info["point"] == 1.0)
        before = terminated | truncated
    assert numbers.min() >= 6


def test_same_step_begins_the_next_rally_at_once_and_keeps_how_the_last_one_ended() -> None:
    batch, found = a_batch("SameStep"), 0
    _, info = batch.reset()
    numbers = info["replicate"]
    for seen, reward, terminated, truncated, info in policy_steps(batch, 8):
        over = terminated | truncated
        if over.any():
            found += 1
            final = info["final_info"]
            assert np.array_equal(info["_final_obs"], over)
            assert np.array_equal(final["_replicate"], over)
            assert np.array_equal(final["replicate"][over], numbers[over])
            assert np.array_equal(final["point"][over], reward[over])
            assert all((v is not None) == o for v, o in zip(info["final_obs"], over, strict=True))
            assert (seen[over, COLUMN["opening"]] == 1.0).all()
        assert not info["point"].any()
        numbers = numbers + 6 * over
        assert np.array_equal(info["replicate"], numbers)
    assert found > 3


def test_disabled_waits_for_a_mask() -> None:
    batch = a_batch("Disabled")
    batch.reset()
    outcomes = [s for s in policy_steps(batch, 6) if len(s) == 6]
    assert outcomes
    for *_, terminated, truncated, info, (_, anew) in outcomes:
        over = terminated | truncated
        assert np.array_equal(anew["replicate"], info["replicate"] + 6 * over)
        assert np.array_equal(anew["_replicate"], over)
    action = np.zeros((6, 3))
    while not (batch.step(action)[2]).any():
        pass
    with pytest.raises(InputError, match="no rally is under way in row"):
        batch.step(action)
    batch.reset()
    batch.step(action)


def test_all_modes_play_the_same_rallies() -> None:
    played = []
    for mode in AutoresetMode:
        batch: Any = RallyRecoveryBatch(6, mode, keeps_strokes=True, seed=4)
        batch.reset()
        policy_steps(batch, 14)
        rows = batch.strokes()
        played.append(rows[rows["replicate"] < 12])
    assert same(played[0], played[1]) and same(played[0], played[2])


def test_the_single_one_is_a_row_of_the_batch() -> None:
    """And a seed begins at the first rally again, while no seed goes on."""
    batch, single = RallyRecoveryBatch(1, "SameStep", seed=4), RallyRecovery(seed=4)
    rng = np.random.default_rng(2)
    first = batch.reset()[0][0]
    assert np.array_equal(single.reset()[0], first)
    for _ in range(12):
        action = rng.uniform(-0.3, 0.3, 3)
        many, one = batch.step(action[None]), single.step(action)
        seen = single.reset()[0] if one[2] else one[0]
        assert np.array_equal(many[0][0], seen) and many[1][0] == one[1] and many[2][0] == one[2]
    assert single.reset(seed=4)[1]["replicate"] == 0
    assert single.reset()[1]["replicate"] == 1
    assert single.reset(seed=9)[1] == {"seed": 9, "replicate": 0, "world": -1, "point": 0.0}


def test_two_sides_by_the_policies_of_a_game_play_its_rallies() -> None:
    for opening in OPENINGS:
        env = TwoSides(seed=5, opening=opening, **HITS)
        policies = {"studied": make_policy("bisector"), "opponent": make_policy("middle")}
        settings = settings_of(seed=5, opening=opening, opponent_policy="middle", **HITS)
        rallies = Rallies(settings, 1)
        rows, points, turns = by_engine(rallies, policies["studied"]), [], set()
        for _ in range(RALLIES):
            seen, info = env.reset()
            reward = {}
            while env.agents:
                turns.add(env.turn)
                assert [s[0] for s in seen.values()] == [float(n == env.turn) for n in seen]
                state = env.waiting.state.seen(env.contest.game)
                action = actions_of_aims(policies[env.turn].spots(state))[0]
                seen, reward, _, _, info = env.step({env.turn: action})
            assert sum(reward.values()) == 1.0
            assert info["studied"]["replicate"] == len(points)
            points.append(reward["studied"])
        last = rows[rows["ending"] != 0]
        assert (last["ending"] != STROKE_LIMIT).all() and turns == set(policies)
        won = (last["side"] == 0) == np.isin(last["ending"], (1, 5))
        assert points == won.astype(float).tolist()


# --- the reward -------------------------------------------------------------------------------


@pytest.mark.parametrize("discount", [1.0, 0.9, 0.0])
def test_shaping_adds_up_to_the_worth_of_the_first_state(discount: float) -> None:
    """So that it moves all policies alike, rally by rally."""
    more = {}
    for text in ("middle", "stay"):
        policy, sums = make_policy(text), {}
        for shaped in (None, discount):
            batch = RallyRecoveryBatch(90, seed=8, shaped=shaped, opening="serving")
            first, _ = batch.reset()
            total, fade, over = np.zeros(90), 1.0, np.zeros(90, bool)
            while not over.all():
                _, reward, terminated, truncated, _ = batch.step(batch.policy_actions(policy))
                total += np.where(over, 0.0, fade * reward)
                over |= terminated | truncated
                fade *= discount
            sums[shaped] = total
        assert np.abs(sums[discount] - sums[None] + worth(first)).max() < 1e-12
        more[text] = sums[discount].sum(), sums[None].sum()
    shaped, plain = (np.diff([more[text][k] for text in more])[0] for k in (0, 1))
    assert plain != 0.0 and abs(shaped - plain) < 1e-12 * 90


def test_the_worth_is_higher_against_a_weak_stroke_from_far_back() -> None:
    seen = Rallies(settings_of(seed=1, opening=CORNER), 3)
    seen.deal(np.ones(3, bool))
    rows = seen.observations.copy()
    rows[1, COLUMN["quality"]] -= 0.8
    rows[2, COLUMN["opponent_y_m"]] -= 5.0
    usual, weak, near = worth(rows)
    assert near < usual < weak and 0.3 < usual < 0.7 and set(features(rows)) >= {"weak", "near"}


# --- what is refused --------------------------------------------------------------------------

REFUSED: dict[str, dict[str, Any]] = {
    "unknown setting of the environment 'levels'": {"levels": "club-adult"},
    "unknown opening 'serve'": {"opening": "serve"},
    "opening is (1.0,); give": {"opening": (1.0,)},
    "allowed: -10 to 10": {"opening": (30.0, 11.9)},
    "unknown player 'champion'": {"player": "champion"},
    "world is 100; allowed: 0 to 99": {"world": [0, 100]},
    "world is empty": {"world": []},
    "shaped is 2; give": {"shaped": 2},
    "seed is -1": {"seed": -1},
    "unknown shot model": {"hitter": "hard"},
    "opening is (1, 'x'); give": {"opening": (1, "x")},
    "opening is 7; give": {"opening": 7},
    "world is 'a'; give one whole number": {"world": "a"},
    "world is 1.5; give one whole number": {"world": (1.5,)},
    "shaped is 'yes'; give": {"shaped": "yes"},
    "seed is 1.5; give one whole number": {"seed": 1.5},
}


@pytest.mark.parametrize("message", REFUSED)
def test_settings_that_cannot_be_are_told(message: str) -> None:
    with pytest.raises(InputError) as told:
        RallyRecovery(**REFUSED[message])
    assert message in str(told.value)


def test_what_else_cannot_be_is_told() -> None:
    batch = RallyRecoveryBatch(3, seed=1)
    for seed in ([1, 2, 3], (1, 2), 1.5, True):
        with pytest.raises(InputError, match="give one whole number"):
            batch.reset(seed=seed)  # type: ignore[arg-type]
    mask = np.array([True, False, False])
    with pytest.raises(InputError, match="a seed begins all rows anew"):
        batch.reset(seed=1, options={"reset_mask": mask})
    for wrong in (mask[:2], mask.astype(int), ~mask & mask):
        with pytest.raises(InputError, match="give 3 booleans"):
            batch.reset(options={"reset_mask": wrong})
    batch.reset(seed=3)
    with pytest.raises(InputError, match=r"actions have the shape \(3, 2\)"):
        batch.step(np.zeros((3, 2)))
    with pytest.raises(InputError, match=r"action 1 is \[nan, 0.0, 0.0\]"):
        batch.step(np.array([[0.0, 0, 0], [np.nan, 0, 0], [0, 0, 0]]))
    with pytest.raises(InputError, match="unknown autoreset mode 'Soon'"):
        RallyRecoveryBatch(3, "Soon")
    with pytest.raises(InputError, match="give 1 or more"):
        RallyRecoveryBatch(0)
    with pytest.raises(InputError, match="no rally is under way"):
        RallyRecovery(seed=1).step(np.zeros(3))
    with pytest.raises(InputError, match="strokes were not kept"):
        batch.strokes()
    for name in ("opponent_policy", "shaped"):
        with pytest.raises(InputError, match="both sides are agents"):
            TwoSides(**{name: None})
    sides = TwoSides(seed=1)
    with pytest.raises(InputError, match="call reset"):
        sides.step({})
    sides.reset()
    with pytest.raises(InputError, match="it is the turn of 'studied'"):
        sides.step({"opponent": np.zeros(3)})


def test_without_gymnasium_the_room_is_imported_all_the_same(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    kept = gymnasium.registry.pop(ID)
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None)
    importlib.reload(experiments.learning)
    assert ID not in gymnasium.registry
    gymnasium.registry[ID] = kept
    experiments.learning.register()
    assert gymnasium.registry[ID] is kept
