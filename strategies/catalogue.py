"""All recovery policies and shot models by name, and how to make one from words or a table."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, cast

from sim.contracts import ShotModel
from strategies.making import allowed_parameters, is_named, make, summary, unfit
from strategies.policies import POLICIES, make_policy
from strategies.shots.any_allowed import AnyAllowed
from strategies.shots.attentive import Attentive
from strategies.shots.best_reply import BestReply
from strategies.shots.charted import Charted
from strategies.shots.habit import Habit
from strategies.shots.open_court import OpenCourt
from strategies.shots.pressing import Pressing
from strategies.shots.script import Script

__all__ = (
    "POLICIES",
    "SHOT_MODELS",
    "allowed_parameters",
    "make_policy",
    "make_shot_model",
    "summary",
)

SHOT_MODELS: dict[str, type[ShotModel]] = {
    "any-allowed": AnyAllowed,
    "habit": Habit,
    "charted": Charted,
    "attentive": Attentive,
    "pressing": Pressing,
    "open-court": OpenCourt,
    "best-reply": BestReply,
    "script": Script,
}


def make_shot_model(words: str | Mapping[str, Any]) -> ShotModel:
    """A shot model from `name`, `name,parameter=value,...` or a table with the key `name`.

    The name is one of SHOT_MODELS, or `path/to/file.py:Name` for a user's own class or object.

    Raises:
        InputError: an unknown name or parameter, a bad value, or a file that does not give one.
    """
    made = make("shot model", SHOT_MODELS, words)
    fits = isinstance(made, ShotModel) and is_named(made) and callable(made.intents)
    if not fits or not isinstance(made.draws, int) or made.draws < 0:
        needs = "a text `name`, a whole number `draws`, `sees_receiver` and `intents(seen, chance)`"
        raise unfit(words, made, "shot model", needs)
    return cast(ShotModel, made)
