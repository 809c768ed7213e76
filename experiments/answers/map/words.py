"""What the commands `map standing` and `map policies` say, and their tables, also for JSON."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import pandas as pd

from experiments.answers.map.answer import WORDS, ContactMap, Contrast
from experiments.balls.spots import off_the_line_text
from experiments.balls.standing import ALLOWED, StandingMap
from experiments.scene.page import filled
from experiments.scene.sides import side
from experiments.statistics.signed_words import amount

TEXT_STEP_M = 0.5

STANDING = ("x_m", "depth_m", "missed_per_100", "low", "high", "landed_in")
CONTACTS = (
    *("opponent_x_m", "opponent_y_m", "spot_x_m", "spot_y_m", "other_x_m", "other_y_m"),
    *("missed_per_100", "other_missed_per_100", "fewer_per_100", "low", "high"),
    *("balls", "verdict"),
)


def standing_table(found: StandingMap) -> pd.DataFrame:
    """A row (STANDING) a place to stand: balls missed per 100 with its 95 % interval, landed."""
    x, depth = (v.ravel() for v in np.meshgrid(found.grid.x_m, found.grid.depth_m))
    ends = ([getattr(e, end) for e in found.estimates] for end in ("low", "high"))
    columns = (x, depth, found.missed_per_100.ravel(), *ends, found.landed.ravel().astype(int))
    return _rounded(pd.DataFrame(dict(zip(STANDING, columns, strict=True))))


def standing_text(found: StandingMap) -> str:
    """The map in words: the best lateral place at each depth."""
    q = found.scene
    lines = [
        f"{q.against()}:",
        f"strikes at x {q.place.x_m:g} m, y {q.place.y_m:g} m.",
        f"Of 100 balls that land in, {q.player.name} misses at least, by depth:",
        "",
        f"{'behind the baseline':>19}  {'missed':>6}  within {ALLOWED:g} ball in 100"
        " of that depth's best",
        *_depth_lines(found),
        "",
        "Deeper places reach more balls. What depth costs, time given away and wider angles, is not"
        " counted\nhere: depth is a choice of its own, and places are best compared at one depth.",
        f"Model results from {found.balls} balls at each place; 95 % intervals are at most"
        f" {found.widest_per_100:.1f} balls to a side; seed {q.seed}.",
    ]
    return "\n".join(lines)


def _depth_lines(found: StandingMap) -> Iterator[str]:
    x = found.grid.x_m
    every = max(round(TEXT_STEP_M / float(np.diff(found.grid.depth_m[:2])[0])), 1)
    for row in range(found.waiting_row % every, len(found.grid.depth_m), every):
        depth = found.grid.depth_m[row]
        missed = found.missed_per_100[row]
        good = x[missed <= missed.min() + ALLOWED]
        mark = "  (where this level waits)" if row == found.waiting_row else ""
        places = f"{side(float(good[0]))} to {side(float(good[-1]))}"
        yield f"{depth:>17.2f} m  {missed.min():6.1f}  {places}{mark}"


def standing_json(found: StandingMap) -> dict[str, Any]:
    """The scene, and the rows of the table."""
    rows = standing_table(found).to_dict("records")
    return {**found.scene.numbers, "balls": found.balls, "places": rows}


def contact_table(found: ContactMap) -> pd.DataFrame:
    """A row (CONTACTS) a contact place: both spots and shares missed, their difference, verdict."""
    rows = [_row(c) for c in found.known]
    return _rounded(pd.DataFrame(rows, columns=list(CONTACTS)))


def contact_json(found: ContactMap) -> dict[str, Any]:
    """Who plays, and the rows of the table."""
    numbers = {k: v for k, v in found.scene.numbers.items() if k != "opponent_contact_m"}
    rows = contact_table(found).to_dict("records")
    both = {"policy": found.policy, "than": found.other, "balls": found.scene.balls}
    return {**numbers, **both, "places": rows}


def _rounded(table: pd.DataFrame) -> pd.DataFrame:
    """The table to six decimals, with no zero below 0."""
    numbers = table.select_dtypes("float")
    return table.assign(**(numbers.round(6) + 0.0))


def _row(c: Contrast) -> tuple[object, ...]:
    missed = (c.missed_per_100, c.other_missed_per_100)
    fewer = (c.fewer.value, c.fewer.low, c.fewer.high, c.fewer.n)
    return (c.x_m, c.y_m, *c.spot_m, *c.other_spot_m, *missed, *fewer, WORDS[c.verdict])


def contact_text(found: ContactMap) -> str:
    """The map in words: how many places have which verdict, and the ends."""
    q = found.scene
    known = found.known
    if not known:
        return "From none of these places a ball landed in."
    counts = [f"{WORDS[word]} {int(found.are(word).sum())}" for word in WORDS]
    most, least = (pick(known, key=lambda c: c.fewer.value) for pick in (max, min))
    lines = [
        f"{found.policy} beside {found.other}, {q.player.name} {q.depth_m:g} m behind the baseline",
        f"against {q.against()}:",
        f"of {len(known)} places that the opponent may strike from: {', '.join(counts)}.",
        f"Most: {_said(most)}.",
        f"Least: {_said(least)}.",
        f"As good means inside half a ball in 100. Model results from {q.balls} balls struck from"
        f" each place; seed {q.seed}.\nEvery place has its own 95 % interval, and all share their"
        " random numbers: where nothing differs,\nabout 5 places in 100 look decided, and"
        " neighbours do so together.",
    ]
    spots = (
        (found.policy, [c.spot_m for c in known]),
        (found.other, [c.other_spot_m for c in known]),
    )
    off_the_line = off_the_line_text(spots, q.line_m)
    if off_the_line:
        lines.insert(-1, filled(off_the_line))
    return "\n".join(lines)


def _said(c: Contrast) -> str:
    return (
        f"{amount(c.fewer, 'missed of 100', 'fewer', 'more')} with the opponent at x {c.x_m:g} m,"
        f" y {c.y_m:g} m ({c.missed_per_100:.1f} and {c.other_missed_per_100:.1f} missed)"
    )
