"""What `rally-recovery opponents` says: the losses and the round robin as texts and as tables."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import pandas as pd

from experiments.answers.opponents.answer import Answer
from experiments.balls.spots import off_the_line_text, placed_situation, spot_of
from experiments.output.tables import write_table
from experiments.scene.page import filled
from experiments.scene.sides import side
from experiments.statistics.estimates import Estimate
from experiments.statistics.words import said

NARROW = 17
NOTES = (
    "Model results. A best reply is played to the very policy that it meets. The best place was"
    " looked for on other balls and judged\namong its neighbours and the policies on these; what"
    " its choice leaves open is counted in each interval."
)


def answer_text(answer: Answer) -> str:
    """All tables, and what they are."""
    f, scene = answer.field, answer.field.scene
    parts = [_spots(answer)]
    parts += [_losses(answer, place.name, measure) for place in f.places for measure in MEASURES]
    parts += [_robin(answer, "points"), _robin(answer, "in_time")]
    who = f"{scene.player.name} {scene.against_whom('as each table says')}."
    seen = [placed_situation(f.at(place, f.opponents[0])) for place in f.places]
    spots = [(p.name, [spot_of(p, one) for one in seen]) for p in f.policies]
    off_the_line = off_the_line_text(spots, scene.line_m)
    parts += [iter([filled(off_the_line)])] * bool(off_the_line)
    counts = f"{scene.balls} balls at each spot, {f.rallies} rallies a place; seed {scene.seed}."
    return "\n\n".join([who, *("\n".join(p) for p in parts), f"{NOTES}\n{counts}"])


MEASURES = {
    "returned": "by their chance of a return",
    "reached": "every ball reached in time counting whole",
}
ROBIN = {
    "points": "Points won of 100, over all places (95 %)",
    "in_time": "Balls reached in time of 100 that landed in, in whole rallies, over all places",
}


def _spots(answer: Answer) -> Iterator[str]:
    yield "Best place by opponent, the places within half a ball in 100 of it, and why: balls of"
    yield "100 that land on the far side of the centre, while you stand in the middle and there."
    yield ""
    heads = f"{'best':>15}{'from':>15}{'to':>15}{'far side':>12}{'in':>6}"
    yield f"{'place':<11}{'opponent':<14}{heads}"
    for s in answer.spots:
        where = "".join(f"{side(v):>15}" for v in (s.x_m, s.low_m, s.high_m))
        far = f"{s.far_at_middle:.0f} / {s.far_at_best:.0f}"
        yield f"{s.place:<11}{s.opponent[:13]:<14}{where}{far:>12}{s.in_per_100:6.0f}"


def _losses(answer: Answer, place: str, measure: str) -> Iterator[str]:
    yield f"From {place}: balls lost in 100 to the best place (95 %), {MEASURES[measure]}"
    yield ""
    cells = {
        (found.policy, found.opponent): getattr(found, measure)
        for found in answer.losses
        if found.place == place
    }
    yield from _table(answer, cells)


def _robin(answer: Answer, outcome: str) -> Iterator[str]:
    yield ROBIN[outcome]
    yield ""
    cells = {(m.policy, m.opponent): getattr(m, outcome) for m in answer.meetings}
    yield from _table(answer, cells)


def _table(answer: Answer, cells: dict[tuple[str, str], Estimate]) -> Iterator[str]:
    """Policies down, opponents across."""
    names = [o.name for o in answer.field.opponents]
    policies = [p.name for p in answer.field.policies]
    width = max(len(p) for p in policies)
    yield " " * width + "".join(f"{n[: NARROW - 2]:>{NARROW}}" for n in names)
    for policy in policies:
        shown = (cells[policy, name] for name in names)
        yield f"{policy:<{width}}" + "".join(f"{_said(e):>{NARROW}}" for e in shown)


def _said(e: Estimate) -> str:
    return said(e, brackets="({},{})")


def rows_of(found: Sequence[Any]) -> list[dict[str, Any]]:
    """Dataclasses as flat rows; an estimate becomes itself, its ends and its count."""
    return [dict(_flat(item)) for item in found]


def _flat(item: Any) -> Iterator[tuple[str, Any]]:
    for part in dataclasses.fields(item):
        value = getattr(item, part.name)
        if isinstance(value, Estimate):
            yield f"{part.name}_per_100", round(value.value, 4) + 0.0
            yield f"{part.name}_low", round(value.low, 4) + 0.0
            yield f"{part.name}_high", round(value.high, 4) + 0.0
            yield f"{part.name}_n", value.n
        else:
            yield part.name, round(value, 4) + 0.0 if isinstance(value, float) else value


def tables_of(answer: Answer) -> dict[str, list[dict[str, Any]]]:
    """The three tables by name, as flat rows."""
    found = {"losses": answer.losses, "spots": answer.spots, "round-robin": answer.meetings}
    return {name: rows_of(items) for name, items in found.items()}


def opponents_json(answer: Answer) -> dict[str, Any]:
    """Who plays, and the three tables."""
    return {**answer.field.scene.who, **tables_of(answer)}


def write_tables(answer: Answer, folder: Path) -> None:
    """Write each table as CSV into a folder that is there; each file whole or not at all.

    Raises:
        InputError: a file cannot be written.
    """
    for name, rows in tables_of(answer).items():
        write_table(pd.DataFrame(rows, dtype=object), folder / f"{name}.csv")
