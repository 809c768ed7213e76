"""All recovery policies and shot models by name, and how to make one from words or a table.

A new shot model is a module in strategies.shots and a line in SHOT_MODELS; a new recovery policy is
a module in strategies.recovery and a line in strategies.policies, which shot models build on.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, cast

from sim.contracts import ShotModel
from strategies.making import allowed_parameters, fits, make, summary, text_of, unfit
from strategies.policies import POLICIES, make_policy
from strategies.shots.any_allowed import AnyAllowed
from strategies.shots.attentive import Attentive
from strategies.shots.best_reply import BestReply
from strategies.shots.charted import Charted
from strategies.shots.down_the_line import DownTheLine
from strategies.shots.habit import Habit
from strategies.shots.open_court import OpenCourt
from strategies.shots.pressing import Pressing
from strategies.shots.script import Script
from strategies.shots.weaker_wing import WeakerWing
from strategies.user_file import asked, is_users
from strategies.watched import WatchedShots

__all__ = (
    "POLICIES",
    "SHOT_MODELS",
    "allowed_parameters",
    "make_policy",
    "make_shot_model",
    "summary",
)

MOST_DRAWS = 1000  # uniform numbers that a stroke of a user's own shot model may read

SHOT_MODELS: dict[str, type[ShotModel]] = {
    "any-allowed": AnyAllowed,
    "habit": Habit,
    "charted": Charted,
    "pressing": Pressing,
    "open-court": OpenCourt,
    "attentive": Attentive,
    "down-the-line": DownTheLine,
    "weaker-wing": WeakerWing,
    "best-reply": BestReply,
    "script": Script,
}


def make_shot_model(words: str | Mapping[str, Any]) -> ShotModel:
    """A shot model from `name`, `name,parameter=value,...` or a table with the key `name`.

    The name is one of SHOT_MODELS, or `path/to/file.py:Name` for a user's own class or object,
    which is then watched.

    Raises:
        InputError: an unknown name or parameter, a bad value, or a file that does not give one.
    """
    made = make("shot model", SHOT_MODELS, words)
    text = text_of(words)
    needs = "a text `name`, a whole number `draws`, `sees_receiver` and `intents(seen, chance)`"
    if not fits(words, made, ShotModel, "intents"):
        raise unfit(words, made, "shot model", needs)
    if not is_users(text):
        return cast(ShotModel, made)
    draws, sees = asked(text, lambda: (made.draws, bool(made.sees_receiver)))
    if not isinstance(draws, int) or not 0 <= draws <= MOST_DRAWS:
        raise unfit(words, made, "shot model", f"{needs}, with draws from 0 to {MOST_DRAWS}")
    return asked(text, lambda: WatchedShots(made, text, made.name, draws, sees))
