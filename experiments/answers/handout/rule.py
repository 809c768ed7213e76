"""The rule that a board sheet shows, in one sentence; this is the one place that words it.

It holds for the asked place and its mirror image. A cone is the rule only where it wins for the
ball that is fed: where the middle is as good, better, or nothing is decided, the rule is the
middle, which needs no rule to be remembered.
"""

from __future__ import annotations

from experiments.answers.handout.answer import CENTRAL_M, CORNER_X_M, Handout, Station
from experiments.answers.handout.texts import Texts
from experiments.answers.handout.words import cone_words, deep_words, steps
from experiments.scene.sides import NEAR_MIDDLE_M
from sim.court import HALF_LENGTH_M

WINS = "wins"
NEAR_CORNER_M = 1.0  # so far from a corner place, across and along, it is called a corner


def rule_x_m(station: Station) -> float:
    """Where the rule sends a player for that place, in m from the centre line."""
    return station.cone_x_m if station.verdict == WINS else 0.0


def both_sides(found: Handout) -> tuple[Station, Station]:
    """The asked place and its mirror image: on the player's left, on the player's right."""
    left = min(found.asked, len(found.stations) - 1 - found.asked)
    return found.stations[left], found.stations[-1 - left]


def rule_text(found: Handout, texts: Texts) -> str:
    """The rule of a measured handout, for its level, place and surface."""
    left, right = both_sides(found)
    to = [rule_x_m(station) for station in (left, right)]
    fields = {"where": _where(found, texts), "steps": steps(to[1], texts)}
    fields |= {"left": cone_words(to[0], texts), "right": cone_words(to[1], texts)}
    if abs(found.station.place.x_m) < CENTRAL_M:
        key = "from_the_middle"
    elif to == [0.0, 0.0]:
        key = "middle"
    elif to[0] == -to[1] > 0.0:
        key = "other_side"
    else:
        key = "each_side"
    return texts.say(f"rule.{key}", **fields)


def _where(found: Handout, texts: Texts) -> str:
    place, deep = found.station.place, deep_words(found.station, texts)
    off = abs(abs(place.x_m) - CORNER_X_M), abs(place.y_m - HALF_LENGTH_M)
    if max(off) <= NEAR_CORNER_M:
        return texts.say("rule.corner")
    if abs(place.x_m) < NEAR_MIDDLE_M:
        return texts.say("place.middle", deep=deep)
    return texts.say("rule.across", across=texts.length(abs(place.x_m)), deep=deep)
