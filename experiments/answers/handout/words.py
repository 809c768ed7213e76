"""What the page says: every text with its numbers, ready to be set."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from experiments.answers.handout.answer import (
    FEEDS_A_SET,
    PARTS,
    REST_S,
    SAME,
    SETS,
    Handout,
    Station,
)
from experiments.answers.handout.texts import Texts
from experiments.answers.spot.answer import SHOWN
from experiments.scene.people import speeds_km_h
from experiments.scene.rule_words import rule_for, rule_told
from experiments.scene.sides import NEAR_MIDDLE_M, STEP_M
from experiments.statistics.estimates import Difference, Estimate
from experiments.statistics.words import DIGITS, printed
from sim.court import HALF_LENGTH_M
from sim.plain_text import checked_line
from sim.players import KM_H

LONGEST_NAME = 2000  # characters that are looked at; the page cuts far shorter
LONGEST_WHO = 40  # characters of the name of a level, a player file or a hitter


@dataclass(frozen=True)
class Paragraph:
    """A heading ("" for none) and the text under it."""

    head: str
    text: str


@dataclass(frozen=True)
class Row:
    """One line of the cone table: number of the place, then its cells."""

    number: str
    cells: tuple[str, ...]


@dataclass(frozen=True)
class Page:
    """The texts of the handout, by where they stand; "" is not printed."""

    title: str
    under_title: str
    name: str
    club: str
    question: Paragraph
    who: str
    picture: Paragraph
    findings_head: str
    findings: tuple[Paragraph, ...]
    measured: str
    plan: Paragraph
    axis: str
    strip: str
    heads: Row
    rows: tuple[Row, ...]
    drill: tuple[str, ...]
    rule: Paragraph
    cautions: Paragraph
    not_modelled: Paragraph
    small_print: str


def page_of(
    found: Handout, texts: Texts, title: str | None = None, name: str = "", club: str = ""
) -> Page:
    """The page of a measured handout; `title` None is the texts' own.

    Raises:
        InputError: a title, name or club with letters that cannot be printed.
    """
    say, scene = texts.say, found.question.scene
    return Page(
        title=say("page.title") if title is None else one_line("title", title),
        under_title=say("page.under_title"),
        name=one_line("name", name),
        club=one_line("club", club),
        question=Paragraph(
            say("question.head"),
            say("question.text", place=_place(found.station, texts), number=str(found.asked + 1)),
        ),
        who=who_words(found, texts),
        picture=Paragraph(
            say("picture.head"),
            say("picture.caption", shown=_shown(found), least=least_words(found)),
        ),
        findings_head=say("findings.head"),
        findings=tuple(_findings(found, texts)),
        measured=say("measured.text", balls=str(found.station.missed_cone.n), compared=str(PARTS)),
        plan=Paragraph(say("plan.head"), say("plan.caption")),
        axis=axis_words(texts),
        strip=say("plan.strip"),
        heads=Row(
            say("plan.number"),
            tuple(say(f"plan.{key}") for key in ("steps", "metres", "missed", "fewer", "verdict")),
        ),
        rows=tuple(_row(i, s, texts) for i, s in enumerate(found.stations)),
        drill=tuple(_drill(found, texts)),
        rule=_rule(found, texts),
        cautions=Paragraph(say("cautions.head"), say("cautions.text")),
        not_modelled=Paragraph(say("not_modelled.head"), say("not_modelled.text")),
        small_print=with_note(
            say("small_print.text", seed=str(scene.seed), balls=str(scene.balls)), texts
        ),
    )


def with_note(text: str, texts: Texts) -> str:
    """A text at the foot, with the note of a translation."""
    return f"{text} {texts.say('translation')}".rstrip()


def _shown(found: Handout) -> str:
    """How many balls the crosses of the picture are the missed ones of."""
    return str(min(SHOWN, found.missed.per_100.n))


def least_words(found: Handout) -> str:
    """How often in 100 a drive must land in to count for the angle."""
    return f"{100 * found.question.scene.limits.least_in:.0f}"


def one_line(what: str, text: str) -> str:
    """A text of the user's as one line.

    Raises:
        InputError: it holds signs that are not printed, such as control characters.
    """
    return checked_line(f"--{what}", " ".join(text[:LONGEST_NAME].split()))


def side(x_m: float, texts: Texts) -> str:
    """A lateral place as the player faces the net, such as `1.5 m left`."""
    if abs(x_m) < NEAR_MIDDLE_M:
        return texts.say("side.middle")
    return texts.say("side.left" if x_m < 0 else "side.right", metres=texts.length(abs(x_m)))


def interval(estimate: Estimate, texts: Texts) -> str:
    """An estimate with its interval."""
    value, low, high = (texts.number(v, DIGITS) for v in printed(estimate))
    return texts.say("interval", value=value, low=low, high=high)


def steps(x_m: float, texts: Texts) -> str:
    """How many steps a cone is off the centre mark; cones stand at half steps."""
    count = abs(x_m) / STEP_M
    if count == 1.0:
        return texts.say("one_step")
    return texts.say("steps", count=texts.number(count, 0 if count.is_integer() else 1))


def deep_words(station: Station, texts: Texts) -> str:
    """How deep the opponent strikes, from the far baseline."""
    behind = station.place.y_m - HALF_LENGTH_M
    key = (
        "deep.at" if abs(behind) < NEAR_MIDDLE_M else "deep.behind" if behind > 0 else "deep.inside"
    )
    return texts.say(key, metres=texts.length(abs(behind)))


def _place(station: Station, texts: Texts) -> str:
    place, deep = station.place, deep_words(station, texts)
    if abs(place.x_m) < NEAR_MIDDLE_M:
        return texts.say("place.middle", deep=deep)
    where = "place.left" if place.x_m < 0 else "place.right"
    return texts.say(where, across=texts.length(abs(place.x_m)), deep=deep).strip()


def who_words(found: Handout, texts: Texts, longest: int | None = LONGEST_WHO) -> str:
    """Who plays whom on what; a name of people's own is cut to `longest` characters, if any."""
    q = found.question.scene
    return texts.say(
        "question.who",
        player=_called(q.player.name, texts, longest),
        hand=texts.say(f"hand.{q.player.hand}"),
        opponent=_called_opponent(q.player.name, q.opponent.name, texts, longest),
        opponent_hand=texts.say(f"hand.{q.opponent.hand}"),
        hitter=_called(q.hitter.name, texts, longest),
        **{wing: texts.speed(v * KM_H) for wing, v in speeds_km_h(q.opponent).items()},
        surface=texts.name(q.world.surface.name),
        depth=texts.length(q.depth_m),
    )


def _called_opponent(player: str, name: str, texts: Texts, longest: int | None) -> str:
    """What the opponent is called; one made after a player file, as that player."""
    if name == f"like {player}":
        return _called(texts.say("like", name=player), texts, longest)
    return _called(name, texts, longest)


def _called(name: str, texts: Texts, longest: int | None) -> str:
    """What a level or hitter is called; names of people's own are cut."""
    word = texts.name(name)
    if longest is not None and word == name and len(word) > longest:
        return f"{word[: longest - 1]}\u2026"
    return word


def _findings(found: Handout, texts: Texts) -> Iterator[Paragraph]:
    """Three: where to wait, the next ball, the whole rally; each by its own verdict."""
    at, best = found.station, found.station.spot.best
    where = {"cone": cone_words(at.cone_x_m, texts)}
    where |= {"from": side(best.low_m, texts), "to": side(best.high_m, texts)}
    key = "where.text" if best.low_m < best.high_m else "where.narrow"
    yield Paragraph(texts.say("where.head"), texts.say(key, **where))
    yield next_ball(found, texts)
    yield whole_rally(found, texts)


def next_ball(found: Handout, texts: Texts) -> Paragraph:
    """What the cone is worth for the ball that is struck from the asked place."""
    at = found.station
    balls = {"cone": at.missed_cone, "middle": at.missed_middle, "fewer": at.fewer}
    balls["more"] = at.fewer.scaled(-1.0)
    fields = {key: interval(value, texts) for key, value in balls.items()}
    fields["ahead"] = ahead("ahead_balls", at.fewer, "cone", "middle", texts)
    return Paragraph(texts.say("balls.head"), texts.say(key_of("balls", at.verdict), **fields))


def whole_rally(found: Handout, texts: Texts) -> Paragraph:
    """What the cones are worth over rallies that begin there."""
    points = points_fields(found.points, "cones", "middle", texts)
    points |= {"rallies": str(found.question.rallies)}
    shares = zip(("cones", "middle"), found.in_time, strict=True)
    points |= {key: texts.number(share.value) for key, share in shares}
    told = [texts.say(key_of("points", found.points_verdict), **points)]
    if found.points_verdict != SAME:
        told.append(texts.say("points.reached", **points))
    return Paragraph(texts.say("points.head"), " ".join(filter(None, told)))


def points_fields(more: Difference, mine: str, other: str, texts: Texts) -> dict[str, str]:
    """What a text of points may say of a difference between two ways of recovering."""
    fields = {"more": interval(more, texts), "fewer": interval(more.scaled(-1.0), texts)}
    return fields | {"ahead": ahead("ahead_points", more, mine, other, texts)}


def ahead(table: str, difference: Difference, mine: str, other: str, texts: Texts) -> str:
    """Which of two is ahead by how much, by the difference as it is printed; keys of a table."""
    value = printed(difference)[0]
    who = mine if value > 0 else other if value < 0 else "neither"
    by = difference.scaled(-1.0) if value < 0 else difference
    return texts.say(f"{table}.{who}", by=interval(by, texts))


def axis_words(texts: Texts) -> str:
    """What the ticks below a court count."""
    return texts.say("plan.axis", metres=texts.length(STEP_M, 2))


def key_of(table: str, verdict: str) -> str:
    """The key of a verdict's text."""
    return f"{table}.{verdict.replace(' ', '_')}"


def cone_words(x_m: float, texts: Texts) -> str:
    """Where a cone stands, in steps and metres from the centre mark."""
    if x_m == 0:
        return texts.say("cone.middle")
    where = "cone.left" if x_m < 0 else "cone.right"
    metres = texts.length(abs(x_m), 1 if (10 * x_m).is_integer() else 2)
    return texts.say(where, steps=steps(x_m, texts), metres=metres)


def _row(index: int, station: Station, texts: Texts) -> Row:
    x = station.cone_x_m
    arrow = "" if x == 0 else "\u2190 " if x < 0 else "\u2192 "
    count = abs(x) / STEP_M
    cells = (
        arrow + texts.number(count, 0 if count.is_integer() else 1),
        texts.length(abs(x), 2),
        f"{texts.number(station.missed_cone.value)},  {texts.number(station.missed_middle.value)}",
        interval(station.fewer, texts) if x else texts.number(0.0),
        texts.say(key_of("verdict", station.verdict)),
    )
    return Row(str(index + 1), cells)


def _rule(found: Handout, texts: Texts) -> Paragraph:
    """The learned rule of the player's level, where there is one."""
    rule = rule_for(found.question.scene.player)
    if rule is None:
        return Paragraph("", "")
    told = " ".join(filter(None, rule_told(rule, texts.by_key, texts.name)))
    return Paragraph(texts.say("learned.head"), told)


def drill_fields(found: Handout, texts: Texts) -> dict[str, str]:
    """What a text of a drill may hold."""
    fields = {"depth": texts.length(found.question.scene.depth_m), "sets": str(SETS)}
    return fields | {"feeds": str(FEEDS_A_SET), "rest": str(REST_S)}


def _drill(found: Handout, texts: Texts) -> Iterator[str]:
    for key in ("one", "two", "three", "four"):
        yield texts.say(f"drill.{key}", **drill_fields(found, texts))


def page_text(page: Page, with_cautions: bool) -> str:
    """The findings in words for the terminal; the cautions too where the page holds none."""
    parts = [page.question.text, page.who, *(p.text for p in page.findings), page.measured]
    if with_cautions:
        parts += ["The page has no words, so tell the player:", page.cautions.text]
    return "\n".join([*parts, page.small_print]).replace("\u00a0", " ")
