"""What `rally-recovery footspeed --faster` says: a sentence, what the place is worth, cautions."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from experiments.answers.footspeed.words import CAUTION
from experiments.answers.footspeed.worth import LEGS, PLACE, TODAY, Compared, Worth
from experiments.scene.page import filled
from experiments.statistics.comparison import AS_GOOD, LOSES, NOT_DECIDED, NOT_IN_ALL, WINS
from experiments.statistics.signed_words import Ends, turned
from experiments.statistics.words import DIGITS, estimate_json, printed, said
from experiments.study.worlds import FITS

NOUNS = {"balls": "balls of 100 reached", "points": "points of 100 won"}


def worth_text(found: Worth) -> str:
    """The page for a player."""
    parts = [
        found.question.scene.text,
        filled(worth_sentence(found)),
        filled(place_sentence(found)),
    ]
    if (PLACE, LEGS) in found.question.pairs:
        parts.append(filled(beside_sentence(found)))
    return "\n\n".join([*parts, filled(" ".join(_small_print(found))), CAUTION])


def worth_sentence(found: Worth) -> str:
    """What so much speed would be worth, in one sentence."""
    more, before = found.question.more, found.question.scene.player.legs
    after = found.question.legs
    way = "faster" if more > 0 else "slower"
    speeds = f"{before.top_speed_m_s:.2f} to {after.top_speed_m_s:.2f} m/s"
    pushes = f"{_push(before):.1f} to {_push(after):.1f} m/s\u00b2"
    return (
        f"Being {100 * abs(more):g} % {way} (top speed {speeds} and with it the acceleration from"
        f" standing, {pushes}; reaction and reach as they are) would mean, recovering to the"
        f" middle, {_both(found, LEGS, TODAY)}."
    )


def place_sentence(found: Worth) -> str:
    """What the better place is worth to the same player."""
    return (
        "With the legs of today, recovering to the bisector in place of the middle means"
        f" {_both(found, PLACE, TODAY)}."
    )


def beside_sentence(found: Worth) -> str:
    """Which of the two is worth more."""
    return (
        f"Place or speed? By balls: {_which(found.of(PLACE, LEGS, 'balls'))}; by points:"
        f" {_which(found.of(PLACE, LEGS, 'points'))}. The bisector with today's legs has"
        f" {_both(found, PLACE, LEGS)} than the middle with faster ones."
    )


def _push(legs: Any) -> float:
    """The acceleration from standing, in m/s^2."""
    return float(legs.top_speed_m_s / legs.tau_s)


def _which(found: Compared) -> str:
    """Which is worth more, by both intervals."""
    verdict = str(found.cell["world_verdict"])
    if verdict.startswith(AS_GOOD):
        return "as good"
    if verdict == WINS:
        return "the place is worth more"
    if verdict == LOSES:
        return "the speed is worth more"
    if verdict == NOT_DECIDED:
        return "not decided"
    return f"the {'place' if verdict.startswith(WINS) else 'speed'}, but not in all worlds"


def _both(found: Worth, who: str, than: str) -> str:
    balls, points = (found.of(who, than, outcome) for outcome in NOUNS)
    return f"{_amount(balls)} and {_amount(points)}"


def _amount(found: Compared) -> str:
    """A difference with both intervals, and what is not sure of it."""
    e, cell = found.difference, found.cell
    over = Ends(e.value, cell["world_low"], cell["world_high"])
    below = round(e.value, DIGITS) < 0
    signed, over = (turned(e), turned(over)) if below else (Ends(e.value, e.low, e.high), over)
    basis = "" if cell["world_basis"] == FITS else f"{cell['world_basis']} "
    chance, worlds = (_range(ends) for ends in (signed, over))
    return (
        f"{printed(signed)[0]:.1f} {'fewer' if below else 'more'} {NOUNS[found.outcome]} (by chance"
        f" {chance}, over the {basis}worlds {worlds}{_note(cell['world_verdict'])})"
    )


def _range(ends: Ends) -> str:
    _, low, high = printed(ends)
    return f"{low:.1f} to {high:.1f}".replace("-", "\u2212")


def _note(verdict: str) -> str:
    """What an amount is not: decided, as much as half of one, the same in all worlds."""
    if verdict == NOT_DECIDED:
        return ": not decided"
    said_so = ": as good, within half of one" if verdict.startswith(AS_GOOD) else ""
    if verdict.endswith(NOT_IN_ALL):
        return f"{said_so}, but not in all worlds" if said_so else ": not in all worlds"
    return said_so


def _small_print(found: Worth) -> Iterator[str]:
    asked = found.question
    yield (
        "Now, in the middle:"
        f" {said(found.shares[TODAY, 'balls'])} of 100 balls reached, those that land in, met from"
        f" the spot; {said(found.shares[TODAY, 'points'])} of 100 points won in rallies that begin"
        " with this stroke."
    )
    yield (
        f"By chance: 95 % for all {asked.comparisons} differences together, from"
        f" {asked.rallies} balls and as many rallies. Over the worlds: where 95 in 100 of"
        f" {asked.count} sets of values lie that fit the record of professional men, chance taken"
        f" out as far as it surely is chance; {asked.slice_size} balls and rallies in each."
    )
    basis = found.compared[0].cell["world_basis"]
    if basis != FITS:
        yield (
            f"Worlds {basis}: there is no record of such players; values are carried over by their"
            f" relation to the professional default, and {found.stopped} of {found.values} stopped"
            " at an end of their stated range."
        )
    yield f"Whether training can bring it, nothing here says. Seed {asked.scene.seed}."


def worth_json(found: Worth) -> dict[str, Any]:
    """All numbers of the answer."""
    asked = found.question
    return {
        **asked.scene.numbers,
        "faster_share": asked.more,
        "rallies": asked.rallies,
        "worlds": asked.count,
        "top_speed_m_s": [asked.scene.player.legs.top_speed_m_s, asked.legs.top_speed_m_s],
        "acceleration_m_s2": [_push(asked.scene.player.legs), _push(asked.legs)],
        "of_100": {
            f"{who} {name}": estimate_json(value) for (who, name), value in found.shares.items()
        },
        "differences": [
            {"who": c.who, "than": c.than, "outcome": c.outcome, **estimate_json(c.difference)}
            | c.cell
            for c in found.compared
        ],
        "values_stopped": [found.stopped, found.values],
    }
