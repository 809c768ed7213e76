"""What the rule of a board sheet is worth, measured and in words: it speaks of nothing else.

The five cones of the page are not on the sheet, so rallies are played by its rule alone.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from experiments.answers.handout.answer import (
    CENTRAL_M,
    ByCones,
    Handout,
    Station,
    points_more,
    rallies_by,
    said,
)
from experiments.answers.handout.rule import both_sides, rule_x_m
from experiments.answers.handout.texts import Texts
from experiments.answers.handout.words import ahead, cone_words, interval, key_of, points_fields
from experiments.statistics.estimates import Difference

NOT_CLEAR = ("as good", "not decided")


@dataclass(frozen=True)
class Followed:
    """A handout, and the points won in 100 rallies by who follows the rule of its board more than
    by who always goes to the middle; None where the rule is the centre mark on both sides."""

    found: Handout
    points: Difference | None


def follow(found: Handout, done: Callable[[], object] = lambda: None) -> Followed:
    """Play the rallies of a handout by the rule of its board sheet; `done` is called once."""
    points = None
    if any(rule_x_m(station) for station in both_sides(found)):
        points = points_more(rallies_by(found.question, by_rule(found)))
    done()
    return Followed(found, points)


def by_rule(found: Handout) -> ByCones:
    """The rule as a way of recovering: at the place and its mirror image as it says, at the centre
    mark against an opponent in the middle, in proportion between, and beyond as at the place.

    Of an opponent in the middle the rule says nothing for the other places: there it is the mark.
    """
    left, right = both_sides(found)
    if left is right:
        x = [s.place.x_m for s in found.stations]
        return ByCones(tuple(x), tuple(rule_x_m(s) if s is left else 0.0 for s in found.stations))
    at = (left.place.x_m, 0.0, right.place.x_m)
    return ByCones(at, (rule_x_m(left), 0.0, rule_x_m(right)))


def worth_words(followed: Followed, texts: Texts) -> Iterator[str]:
    """What the rule is worth: for the ball from each side where it is another one, with why it may
    be the mark, and over whole rallies."""
    why = texts.say("board_worth.why")
    for station in _told_sides(followed.found):
        told = ball_words(station, texts)
        if station.verdict in NOT_CLEAR:
            told, why = f"{told} {why}".rstrip(), ""
        yield told
    if followed.points is not None:
        fields = points_fields(followed.points, "rule", "mark", texts)
        key = key_of("board_points", said(followed.points))
        yield texts.say(key, **fields, rallies=str(followed.found.question.rallies))


def _told_sides(found: Handout) -> list[Station]:
    """The asked place, and its mirror image where the rule is another one there."""
    asked = found.station
    other = next((s for s in both_sides(found) if s is not asked), asked)
    same = rule_x_m(asked) == -rule_x_m(other)
    return [asked] if other is asked or same else [asked, other]


def ball_words(station: Station, texts: Texts) -> str:
    """What the rule is worth for the ball that is struck from one place."""
    x = station.place.x_m
    side = "left" if x <= -CENTRAL_M else "right" if x >= CENTRAL_M else "middle"
    balls = {"missed": station.missed_cone, "middle": station.missed_middle}
    balls |= {"fewer": station.fewer, "more": station.fewer.scaled(-1.0)}
    fields = {key: interval(value, texts) for key, value in balls.items()}
    fields |= {"side": texts.say(f"board_side.{side}")}
    fields |= {"cone": cone_words(station.cone_x_m, texts)}
    fields |= {"ahead": ahead("ahead_balls", station.fewer, "cone", "mark", texts)}
    return texts.say(key_of("board_worth", station.verdict), **fields)
