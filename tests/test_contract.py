"""What every recovery policy and every shot model of the catalogue has to hold to."""

from __future__ import annotations

import dataclasses
import inspect
import pickle

import numpy as np
import pytest
from random_situations import mirrored, picked, recovery_situation, shot_situation

from sim.contracts import RecoveryPolicy, ShotModel, aims_of
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M, RUN_OFF_BACK_M, RUN_OFF_SIDE_M
from sim.players import player
from sim.records import INTENT
from strategies.catalogue import POLICIES, SHOT_MODELS, make_policy, make_shot_model, summary
from strategies.recovery.standing import BACK_LIMIT_M, FRONT_LIMIT_M

# Variants with other code paths stand beside the defaults.
DEEP_WORDS = [name for name, kind in POLICIES.items() if getattr(kind, "chooses_depth", False)]
POLICY_WORDS = [
    *POLICIES,
    "in-and-out,in_m=5,back_m_per_s=15,effort=0.9",
    "weighed,drop_share=0,effort=0.5",
    "time-balanced,drives=slowest",
    "biased,toward=left,shift_share=0.2",
    "biased,toward=right",
    "biased,toward=backhand",
    "best-for-belief,chart=demo",
]
MODEL_WORDS = [
    *SHOT_MODELS,
    "open-court,sharpness_per_m=3",
    "habit,backhand_crosscourt_gain=0.2",
    "habit,runs_round_m=2,never=down-the-line,favourite=middle,weak_wing=backhand",
]
SIDELESS = [w for w in POLICY_WORDS if "left" not in w and "right" not in w]
COUNT = 60
PLAYERS = [
    (player("college-man"), player("professional-man", "left")),
    (player("club-adult", "left"), player("club-adult")),
]


def policies(words: list[str]) -> pytest.MarkDecorator:
    return pytest.mark.parametrize("policy", [make_policy(w) for w in words], ids=words)


def models(words: list[str]) -> pytest.MarkDecorator:
    return pytest.mark.parametrize("model", [make_shot_model(w) for w in words], ids=words)


def draws(model: ShotModel, count: int = COUNT, seed: int = 3) -> np.ndarray:
    return np.random.default_rng(seed).uniform(size=(count, model.draws))


def splits(count: int) -> list[list[np.ndarray]]:
    """Ways to cut and order a batch: one by one, in halves, shuffled, every third."""
    rows, shuffled = np.arange(count), np.random.default_rng(9).permutation(count)
    return [
        [rows[i : i + 1] for i in rows],
        [rows[: count // 2], rows[count // 2 :]],
        [shuffled],
        [rows[k::3] for k in range(3)],
    ]


def test_names_are_unique() -> None:
    for catalogue in (POLICIES, SHOT_MODELS):
        names = [kind().name for kind in catalogue.values()]
        assert len(set(names)) == len(names)
        summaries = [summary(kind) for kind in catalogue.values()]
        assert len(set(summaries)) == len(summaries)


@pytest.mark.parametrize("kind", [*POLICIES.values(), *SHOT_MODELS.values()])
def test_each_states_its_source_and_when_it_should_lose(kind: type) -> None:
    text = inspect.getdoc(kind) or ""
    assert "Source:" in text
    assert "should lose" in text
    assert summary(kind).endswith(".")


@pytest.mark.parametrize("kind", [*POLICIES.values(), *SHOT_MODELS.values()])
def test_is_frozen_and_survives_pickling(kind: type) -> None:
    made = kind()
    again = pickle.loads(pickle.dumps(made))
    assert again == made and hash(again) == hash(made) and again.name == made.name
    with pytest.raises(AttributeError):
        made.anything = 1.0


@policies(POLICY_WORDS)
@pytest.mark.parametrize("pair", PLAYERS)
def test_spots_are_legal_and_finite(policy: RecoveryPolicy, pair: tuple) -> None:
    seen = recovery_situation(COUNT, 4, *pair)
    assert policy.spots(seen).shape in ((COUNT, 2), (COUNT, 3))
    spots, effort = aims_of(policy, seen)
    assert spots.shape == (COUNT, 2) and np.isfinite(spots).all()
    assert (np.abs(spots[:, 0]) <= HALF_WIDTH_M + RUN_OFF_SIDE_M).all()
    assert ((spots[:, 1] < 0) & (spots[:, 1] >= -(HALF_LENGTH_M + RUN_OFF_BACK_M))).all()
    assert effort.shape == (COUNT,) and ((effort >= 0) & (effort <= 1)).all()


@policies(list(POLICIES))
def test_who_chooses_a_depth_says_so(policy: RecoveryPolicy) -> None:
    """Depths that differ by contact; `stay` stays where the own stroke was."""
    seen = recovery_situation(COUNT)
    many = len(np.unique(aims_of(policy, seen)[0][:, 1])) > 1
    assert many == (getattr(policy, "chooses_depth", False) or policy.name == "stay")


@policies(DEEP_WORDS)
@pytest.mark.parametrize("depth_m", [-9.0, 0.0, 6.4, 12.0])
def test_a_chosen_depth_keeps_its_limits_from_any_waiting_depth(
    policy: RecoveryPolicy, depth_m: float
) -> None:
    seen = dataclasses.replace(recovery_situation(COUNT), depth_m=depth_m)
    from_net_m = -aims_of(policy, seen)[0][:, 1]
    assert (from_net_m >= HALF_LENGTH_M + FRONT_LIMIT_M).all()
    assert (from_net_m <= HALF_LENGTH_M + BACK_LIMIT_M).all()


@models(MODEL_WORDS)
@pytest.mark.parametrize("pair", PLAYERS)
def test_intents_are_legal_and_finite(model: ShotModel, pair: tuple) -> None:
    seen = shot_situation(COUNT, 4, *pair)
    intents = model.intents(seen, draws(model))
    assert intents.shape == (COUNT,) and intents.dtype == INTENT
    assert all(np.isfinite(intents[name]).all() for name in INTENT.names or ())
    assert (np.abs(intents["target_x_m"]) <= HALF_WIDTH_M).all()
    assert ((intents["target_y_m"] > 0) & (intents["target_y_m"] <= HALF_LENGTH_M)).all()
    assert (intents["speed_m_s"] > 0).all()


@models(MODEL_WORDS)
def test_intents_are_legal_for_the_farthest_draws(model: ShotModel) -> None:
    seen = shot_situation(COUNT)
    for end in (2.0**-54, 1.0 - 2.0**-53):
        intents = model.intents(seen, np.full((COUNT, model.draws), end))
        assert (np.abs(intents["target_x_m"]) <= HALF_WIDTH_M).all()
        assert ((intents["target_y_m"] > 0) & (intents["target_y_m"] <= HALF_LENGTH_M)).all()


@policies(POLICY_WORDS)
def test_same_observation_same_spots(policy: RecoveryPolicy) -> None:
    seen = recovery_situation(COUNT)
    before = pickle.dumps((seen.body, seen.contact, seen.time_s))
    first = policy.spots(seen)
    assert pickle.dumps((seen.body, seen.contact, seen.time_s)) == before
    assert first.tobytes() == policy.spots(recovery_situation(COUNT)).tobytes()


@models(MODEL_WORDS)
def test_same_observation_same_intents(model: ShotModel) -> None:
    seen, chance = shot_situation(COUNT), draws(model)
    before = pickle.dumps((seen.contact, seen.receiver, chance))
    first = model.intents(seen, chance)
    assert pickle.dumps((seen.contact, seen.receiver, chance)) == before
    assert first.tobytes() == model.intents(shot_situation(COUNT), draws(model)).tobytes()


@policies(POLICY_WORDS)
def test_each_rally_has_the_bits_that_it_has_alone(policy: RecoveryPolicy) -> None:
    seen = recovery_situation(COUNT)
    whole = policy.spots(seen)
    for parts in splits(COUNT):
        for rows in parts:
            assert policy.spots(picked(seen, rows)).tobytes() == whole[rows].tobytes()


@models(MODEL_WORDS)
def test_each_stroke_has_the_bits_that_it_has_alone(model: ShotModel) -> None:
    seen, chance = shot_situation(COUNT), draws(model)
    whole = model.intents(seen, chance)
    for parts in splits(COUNT):
        for rows in parts:
            part = model.intents(picked(seen, rows), chance[rows])
            assert part.tobytes() == whole[rows].tobytes()


@policies(SIDELESS)
def test_reflected_observation_reflected_spots(policy: RecoveryPolicy) -> None:
    seen = recovery_situation(COUNT)
    there, back = policy.spots(seen), policy.spots(mirrored(seen))
    np.testing.assert_allclose(back[:, 0], -there[:, 0], atol=1e-5)
    np.testing.assert_allclose(back[:, 1], there[:, 1], atol=1e-12)


def test_a_fixed_side_is_reflected_into_the_other() -> None:
    seen = recovery_situation(COUNT)
    there = make_policy("biased,toward=left").spots(seen)
    back = make_policy("biased,toward=right").spots(mirrored(seen))
    np.testing.assert_allclose(back[:, 0], -there[:, 0], atol=1e-9)


@models(MODEL_WORDS)
def test_reflected_observation_reflected_intents(model: ShotModel) -> None:
    seen, chance = shot_situation(COUNT), draws(model)
    there, back = model.intents(seen, chance), model.intents(mirrored(seen), chance)
    np.testing.assert_allclose(back["target_x_m"], -there["target_x_m"], atol=1e-12)
    for name in ("target_y_m", "speed_m_s", "topspin_rad_s"):
        np.testing.assert_allclose(back[name], there[name], atol=1e-12)


@models(MODEL_WORDS)
def test_sees_receiver_is_true_to_what_it_does(model: ShotModel) -> None:
    seen, chance = shot_situation(400), draws(model, 400)
    receiver = seen.receiver.copy()
    receiver["x_m"] += 3.0
    receiver["vx_m_s"] -= 4.0
    other = dataclasses.replace(seen, receiver=receiver)
    same = model.intents(seen, chance).tobytes() == model.intents(other, chance).tobytes()
    assert same != model.sees_receiver


def test_no_global_random_numbers_are_drawn() -> None:
    before = pickle.dumps(np.random.get_state())
    for word in POLICY_WORDS:
        make_policy(word).spots(recovery_situation(10))
    for word in MODEL_WORDS:
        model = make_shot_model(word)
        model.intents(shot_situation(10), draws(model, 10))
    assert pickle.dumps(np.random.get_state()) == before


@policies(list(POLICIES))
def test_an_empty_batch_has_no_spots(policy: RecoveryPolicy) -> None:
    spots, effort = aims_of(policy, picked(recovery_situation(3), np.arange(0)))
    assert spots.shape == (0, 2) and effort.shape == (0,)


@models(list(SHOT_MODELS))
def test_an_empty_batch_has_no_intents(model: ShotModel) -> None:
    seen = picked(shot_situation(3), np.arange(0))
    assert model.intents(seen, draws(model, 0)).shape == (0,)
