"""Every decision of the catalogue is one kernel on plain arrays, which anybody can call."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from random_situations import mirrored, recovery_situation, shot_situation

from sim.compiled import Kernel
from sim.native.notation import key_of, text_of
from sim.players import player
from strategies.catalogue import POLICIES, SHOT_MODELS, make_policy, make_shot_model
from strategies.packed import Packed, PackedShots, PackedSpots
from strategies.shots.serve import Serve

COUNT = 40
WITHOUT = ["best-reply"]
MODEL_WORDS = [
    *(name for name in SHOT_MODELS if name not in WITHOUT),
    "habit,runs_round_m=2,never=down-the-line,favourite=middle,weak_wing=backhand",
    "attentive,drop_when_far=1,approach_when_far=0.5,pass_away=0.7",
]
POLICY_WORDS = [
    *POLICIES,
    "bisector,nearest_landing_m=6",
    "biased,toward=left,shift_share=0.2",
    "time-balanced,drives=fastest",
]
MODELS = [make_shot_model(words) for words in MODEL_WORDS] + [Serve()]
PAIR = player("club-adult", "left"), player("college-man")


def test_all_but_the_best_reply_have_a_compiled_form() -> None:
    kinds = {**POLICIES, **SHOT_MODELS}
    packed = PackedShots, PackedSpots
    assert [name for name, kind in kinds.items() if not issubclass(kind, packed)] == WITHOUT


def elsewhere(value: Any) -> Any:
    """A copy that holds nothing but the numbers: what somebody without this program would have."""
    if isinstance(value, tuple):
        return tuple(elsewhere(each) for each in value)
    if not isinstance(value, np.ndarray):
        assert value is None or type(value) in (int, float, bool)
        return value
    assert value.flags.c_contiguous and not value.dtype.hasobject
    return np.frombuffer(bytearray(value.tobytes()), value.dtype).reshape(value.shape)


def answered_elsewhere(form: Packed, like: np.ndarray) -> np.ndarray:
    """What the entry gives for copies of its arguments, of types that can be shipped."""
    assert isinstance(form.entry, Kernel)
    arguments, out = elsewhere(form.arguments), np.zeros_like(like)
    assert None not in [text_of(key_of(each)) for each in (*arguments, out)]
    form.entry(*arguments, out)
    first = out.tobytes()
    form.entry(*arguments, out)  # in rooms that have been used
    assert out.tobytes() == first
    return out


@pytest.mark.parametrize("model", MODELS, ids=[*MODEL_WORDS, "serve"])
@pytest.mark.parametrize("turn", [False, True])
def test_shots_are_those_of_the_entry(model: Any, turn: bool) -> None:
    seen = shot_situation(COUNT, 4, *PAIR)
    seen = mirrored(seen) if turn else seen
    chance = np.random.default_rng(5).uniform(size=(COUNT, model.draws))
    intents = model.intents(seen, chance)
    there = answered_elsewhere(model.packed(seen, chance), intents)
    assert len(np.unique(intents)) > 1 or model.name == "script"
    assert there.tobytes() == intents.tobytes()


@pytest.mark.parametrize("words", POLICY_WORDS)
@pytest.mark.parametrize("turn", [False, True])
def test_spots_are_those_of_the_entry(words: str, turn: bool) -> None:
    policy: Any = make_policy(words)
    seen = recovery_situation(COUNT, 4, *PAIR)
    seen = mirrored(seen) if turn else seen
    spots = policy.spots(seen)
    there = answered_elsewhere(policy.packed(seen), spots)
    assert len(np.unique(spots[:, 0])) > 1 or words == "middle"
    assert there.tobytes() == spots.tobytes()
