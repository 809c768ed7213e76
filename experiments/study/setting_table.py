"""The settings of a study, a record each: what is said of a setting and how it is cut follows."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

SERVE = "serve"  # the place of cells whose points open with a serve
FROM_SPOT, RECOVERED, WHOLE_POINTS = "from the spot", "after an own stroke", "whole points"


@dataclass(frozen=True)
class Setting:
    """A setting: the study's key that holds its replicates, what these are, how many a block has.

    words: in captions; title: in the heads of figures; rule: what follows the words in the methods
    text; start: how a served one begins. number: which of the numbers that are kept apart it gives.
    is_rally: played until the point ends. is_served: it opens with a serve, so without a place.
    """

    name: str
    size_key: str
    units: str
    block_size: int
    words: str
    title: str
    rule: str
    number: str
    start: str = ""
    is_rally: bool = False
    is_served: bool = False


OF_POINTS = "both sides play until the point ends; the opponent's side is held fixed"
COURTS = "by turns to the right court (even numbers) and to the left court (odd ones)"
SETTINGS = {
    s.name: s
    for s in (
        Setting(
            "placed",
            "placed_balls",
            "balls",
            2000,
            "waiting at the spot when the opponent strikes",
            "already waiting at the spot",
            "the player stands there at rest, however far it would have been to run",
            FROM_SPOT,
        ),
        Setting(
            "recovery",
            "recovery_balls",
            "balls",
            2000,
            "recovering after one own stroke",
            "recovering after one own stroke",
            "the player starts from the own contact and gets as far as the legs allow; the own"
            " stroke is named",
            RECOVERED,
        ),
        Setting(
            "rally",
            "rallies",
            "rallies",
            4000,
            "whole rallies",
            "over whole rallies",
            OF_POINTS,
            FROM_SPOT,
            is_rally=True,
        ),
        Setting(
            "returning",
            "rallies",
            "rallies",
            4000,
            "whole points that the opponent opens with a serve",
            "over whole points, returning serve",
            f"the opponent serves, {COURTS}; the player waits where a returner does and recovers"
            f" by the policy from the return on; {OF_POINTS}",
            WHOLE_POINTS,
            start="the opponent serves, and the player waits at rest where a returner does",
            is_rally=True,
            is_served=True,
        ),
        Setting(
            "serving",
            "rallies",
            "rallies",
            4000,
            "whole points that the player opens with a serve",
            "over whole points, serving",
            f"the player serves, {COURTS}, and recovers by the policy from then on; {OF_POINTS}",
            WHOLE_POINTS,
            start="the player serves, and the opponent waits at rest where a returner does",
            is_rally=True,
            is_served=True,
        ),
    )
}
USUAL = ("placed", "recovery", "rally")  # of a study that names none


def is_rally(setting: str) -> bool:
    """Whether a setting is played until the point ends."""
    return setting in SETTINGS and SETTINGS[setting].is_rally


def is_served(setting: str) -> bool:
    """Whether the points of a setting open with a serve."""
    return setting in SETTINGS and SETTINGS[setting].is_served


def any_served(settings: Iterable[str]) -> bool:
    """Whether one of the settings opens with a serve."""
    return any(map(is_served, settings))


def units_of(setting: str) -> str:
    """What is counted in a setting: balls or rallies."""
    return SETTINGS[setting].units if setting in SETTINGS else "balls"


def nearest_to_play(settings: Sequence[str]) -> str:
    """The setting that says most about policies by places: whole rallies, else whole points, else
    the first."""
    return next(filter(is_rally, sorted(settings, key=is_served)), settings[0])
