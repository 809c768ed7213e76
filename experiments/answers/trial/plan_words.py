"""What the plan of a trial says: a page for a coach, or the same as numbers."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from experiments.answers.handout.answer import FEEDS_A_SET
from experiments.answers.trial.answer import Trial
from experiments.answers.trial.foretold import REACHED, Feed
from experiments.answers.trial.practice import FEED_S, SESSIONS
from experiments.output.numbers import plain
from experiments.scene.page import caution, filled
from experiments.scene.sides import side
from experiments.statistics.signed_words import amount
from experiments.statistics.words import estimate_json, said
from sim.court import HALF_LENGTH_M

DETAILS = (
    "Balls come in pairs, from one place to one side, one with the player at the middle and one at"
    " the cone; a lot says which comes first. They are judged by McNemar's exact test, two-sided:"
    " if the place makes no difference, swapping the two balls of a pair changes nothing, whatever"
    " feeder, wind or tired legs do from pair to pair. Power is of that test, summed over all its"
    " outcomes, if the two balls of a pair are as independent as in the model."
)
PRACTICE = (
    f"Sets of {FEEDS_A_SET} balls, {FEED_S} s a ball, the rests, balls a session (fewer for"
    f" children and from 65 on) and {SESSIONS} sessions at most are common practice, no source;"
    " --session-balls and --most-balls change them."
)


def noun(counts: str) -> str:
    """What is lost, in 100."""
    return "missed" if counts == REACHED else "not returned"


def plan_text(trial: Trial) -> str:
    """The page for a coach."""
    asked = trial.question
    parts = [
        asked.scene.text,
        "\n".join(_table(trial)),
        filled(" ".join(_needs(trial))),
        filled(best_words(trial)),
        filled(DETAILS),
        filled(PRACTICE),
        filled(_rests_on(trial)),
        caution("you run for fed balls"),
        f"Seed {asked.scene.seed}; {asked.scene.balls} balls from each place.",
    ]
    return "\n\n".join(part for part in parts if part)


def _table(trial: Trial) -> Iterator[str]:
    asked = trial.question
    lost, most = noun(asked.counts), 2 * trial.most_pairs
    yield f"Balls {lost} of 100 that land in; the cone at the spot of {asked.policy.name}."
    yield (
        f"{'':>2}{'fed from':>30}  {'cone':>16}  {'middle':>19}  {'cone':>17}  {'fewer (95 %)':>19}"
        f"  {'balls needed':>12}  {f'seen in {most}':>12}"
    )
    for feed in trial.places:
        row = f"{feed.number:>2}{where(feed):>30}  {cone_words(feed):>16}"
        row += f"  {said(feed.lost_middle):>19}"
        if not feed.compares:
            yield f"{row}  {'the same place':>17}"
            continue
        need = trial.pairs_for([feed])
        needed = f"{2 * need}" if need is not None else about_words(trial.about([feed]))
        seen = in_100(trial.chance([feed], trial.most_pairs)).replace("fewer than", "<")
        yield (
            f"{row}  {said(feed.lost_cone):>17}  {said(feed.fewer):>19}  {needed:>12}  {seen:>12}"
        )


def in_100(chance: float) -> str:
    """A chance, such as `80 of 100`."""
    return "fewer than 1 of 100" if chance < 0.005 else f"{100 * chance:.0f} of 100"


def where(feed: Feed) -> str:
    """Where a ball is fed from."""
    behind = feed.place.y_m - HALF_LENGTH_M
    deep = "" if abs(behind) < 0.05 else f", {abs(behind):.1f} m {'back' if behind > 0 else 'in'}"
    return f"{side(feed.place.x_m)}{deep}"


def cone_words(feed: Feed) -> str:
    """Where the cone is."""
    if not feed.compares:
        return "at the middle"
    return f"{abs(feed.cone_x_m):.2f} m {'left' if feed.cone_x_m < 0 else 'right'}"


def about_words(pairs: float) -> str:
    """Balls by formula, to two digits."""
    if not math.isfinite(pairs):
        return "no number"
    balls = 2.0 * pairs
    digits = 10.0 ** (math.floor(math.log10(balls)) - 1)
    return f"about {digits * round(balls / digits):,.0f}"


def _needs(trial: Trial) -> Iterator[str]:
    """How many balls, in how many sessions; or that they cannot show it."""
    asked, most = trial.question, 2 * trial.most_pairs
    if not trial.feeds:
        yield (
            "There the cone stands at the middle, so there is nothing to compare; name other places"
            " with --places, or another --policy."
        )
        return
    numbers = " and ".join(str(feed.number) for feed in trial.feeds)
    yield f"Fed from {numbers}, {fewer_words(trial)} are foretold from the cone than the middle."
    if trial.fewer.low <= 0.0 <= trial.fewer.high:
        yield (
            f"With {asked.scene.balls} balls the model itself cannot tell this from nothing; ask"
            " for more --balls."
        )
    if trial.needed is None:
        about = trial.about(trial.feeds)
        formula = f"; by formula it takes {about_words(about)}" if math.isfinite(about) else ""
        yield (
            f"This difference cannot be seen on court in {most} balls: {in_100(trial.power)} such"
            f" trials would show it, where {100 * asked.power:g} are asked for{formula}."
        )
        yield visible_words(trial)
    else:
        yield (
            f"To see it takes {2 * trial.needed} balls, {trial.needed} pairs:"
            f" {sessions_words(trial)}. If the model is right, {in_100(trial.power)} such"
            f" trials show it; if the place makes no difference, at most"
            f" {100 * asked.false_alarm:g} of 100 show one."
        )
        yield ends_words(trial)


def fewer_words(trial: Trial) -> str:
    """The foretold difference."""
    return amount(trial.fewer, f"balls {noun(trial.question.counts)} in 100", "fewer", "more")


def sessions_words(trial: Trial) -> str:
    """How long the trial takes."""
    practice, balls = trial.question.practice, 2 * trial.pairs
    sessions, each = practice.sessions(balls), min(balls, practice.dose.balls)
    many = "1 session" if sessions == 1 else f"{sessions} sessions"
    return (
        f"{many} of at most {each} balls and {practice.minutes(each):.0f} minutes after the"
        f" warm-up, {practice.dose.rest_s} s of rest after each set of {FEEDS_A_SET}"
    )


def ends_words(trial: Trial) -> str:
    """How many balls if the difference is that of an end of its interval."""
    far, near = (
        f"more than {2 * trial.most_pairs}" if pairs is None else f"{2 * pairs}"
        for pairs in trial.needed_at_ends
    )
    return f"At the ends of the difference's interval it takes {far} and {near} balls."


def visible_words(trial: Trial) -> str:
    """What so many balls can show."""
    most, lost = 2 * trial.most_pairs, noun(trial.question.counts)
    if trial.visible is None:
        return f"Not even a cone from which no ball is {lost} would surely show in {most} balls."
    return f"So many balls show a difference of {trial.visible:.1f} in 100 or more."


def best_words(trial: Trial) -> str:
    """Which place shows the difference with the fewest balls."""
    showing = [feed for feed in trial.places if feed.compares]
    if not showing:
        return ""
    best = min(showing, key=lambda feed: trial.about([feed]))
    if not math.isfinite(trial.about([best])):
        return ""
    most = trial.most_pairs
    need = trial.pairs_for([best])
    takes = about_words(trial.about([best])) if need is None else f"{2 * need}"
    return (
        f"For the same balls it shows best fed from place {best.number} ({where(best)}): {takes}"
        f" balls needed, and {in_100(trial.chance([best], most))} trials of {2 * most} balls show"
        " it."
    )


def _rests_on(trial: Trial) -> str:
    scene = trial.question.scene
    text = (
        "What is foretold is a model's, and of a feeder who hits as the model's opponent does; it"
        " has not been checked on people, which is what the trial is for."
    )
    if trial.question.counts != REACHED:
        text += " Returned is foretold as far as time goes; the player's own errors come on top."
    if scene.looks:
        text += (
            " This opponent looks at where you stand; a feeder should too, so no side is drawn for"
            " the balls."
        )
    return text


def plan_json(trial: Trial) -> dict[str, Any]:
    """All numbers of a plan."""
    asked, feeds = trial.question, trial.feeds
    out: dict[str, Any] = {
        **asked.scene.numbers,
        "balls": asked.scene.balls,
        "policy": asked.policy.name,
        "counts": asked.counts,
        "power_asked": asked.power,
        "false_alarm": asked.false_alarm,
        "most_balls": 2 * trial.most_pairs,
        "places": [_feed_json(trial, feed) for feed in trial.places],
        "fed_from": [feed.number for feed in feeds],
    }
    if not feeds:
        return out
    balls, practice = 2 * trial.pairs, asked.practice
    need = trial.needed
    return out | {
        "fewer_per_100": estimate_json(trial.fewer),
        "balls_needed": None if need is None else 2 * need,
        "balls_needed_at_ends": [None if p is None else 2 * p for p in trial.needed_at_ends],
        "balls_by_formula": 2 * trial.about(feeds),
        "balls_of_sheet": balls,
        "power": trial.power,
        "visible_per_100": trial.visible if need is None else None,
        "sessions": practice.sessions(balls),
        "minutes_a_session": practice.minutes(min(balls, practice.dose.balls)),
        "rest_s": practice.dose.rest_s,
    }


def _feed_json(trial: Trial, feed: Feed) -> dict[str, Any]:
    need = trial.pairs_for([feed]) if feed.compares else None
    return {
        "number": feed.number,
        "feed_m": [feed.place.x_m, feed.place.y_m, feed.place.z_m],
        "cone_x_m": feed.cone_x_m,
        "lost_middle_per_100": estimate_json(feed.lost_middle),
        "lost_cone_per_100": estimate_json(feed.lost_cone),
        "fewer_per_100": estimate_json(feed.fewer),
        "sides": plain(feed.sides),
        "balls_needed": None if need is None else 2 * need,
        "chance_in_most": trial.chance([feed], trial.most_pairs) if feed.compares else None,
    }
