"""All recovery policies by name."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, cast

from sim.contracts import RecoveryPolicy
from strategies.making import fits, make, text_of, unfit
from strategies.recovery.best_for_belief import BestForBelief
from strategies.recovery.biased import Biased
from strategies.recovery.bisector import Bisector
from strategies.recovery.guard import Guard
from strategies.recovery.in_and_out import InAndOut
from strategies.recovery.learned import Learned
from strategies.recovery.linear_shade import LinearShade
from strategies.recovery.middle import Middle
from strategies.recovery.safest import Safest
from strategies.recovery.stay import Stay
from strategies.recovery.time_balanced import TimeBalanced
from strategies.recovery.weighed import Weighed
from strategies.user_file import asked, is_users
from strategies.watched import WatchedPolicy

POLICIES: dict[str, type[RecoveryPolicy]] = {
    "stay": Stay,
    "middle": Middle,
    "bisector": Bisector,
    "biased": Biased,
    "time-balanced": TimeBalanced,
    "linear-shade": LinearShade,
    "best-for-belief": BestForBelief,
    "safest": Safest,
    "guard": Guard,
    "in-and-out": InAndOut,
    "weighed": Weighed,
    "learned": Learned,
}


def make_policy(words: str | Mapping[str, Any]) -> RecoveryPolicy:
    """A recovery policy from `name`, `name,parameter=value,...` or a table with the key `name`.

    The name is one of POLICIES, or `path/to/file.py:Name` for a user's own class or object,
    which is then watched.

    Raises:
        InputError: an unknown name or parameter, a bad value, or a file that does not give one.
    """
    made = make("recovery policy", POLICIES, words)
    if not fits(words, made, RecoveryPolicy, "spots"):
        raise unfit(words, made, "recovery policy", "a text `name` and a method `spots(seen)`")
    text = text_of(words)
    if not is_users(text):
        return cast(RecoveryPolicy, made)
    return asked(
        text,
        lambda: WatchedPolicy(
            made,
            text,
            made.name,
            bool(getattr(made, "placeable", True)),
            bool(getattr(made, "chooses_depth", False)),
        ),
    )
