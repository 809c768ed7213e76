"""What is said of best places: how far each point moves them, in sentences and tables."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import pandas as pd

from experiments.evidence.best_place.curves import BOTH, HIGH, LOW
from experiments.evidence.best_place.naming import USUAL
from experiments.evidence.best_place.table import (
    ALL_OPPONENTS,
    DEPTH,
    MISSED,
    MOVED,
    POINTS,
    SHADE,
    told_points,
)
from experiments.evidence.sensitivity.folder import groups, read_table, study_of
from experiments.evidence.sensitivity.section import Section
from experiments.statistics.signed_words import Ends, turned
from experiments.statistics.words import printed
from experiments.study.batches import FEWEST, in_batches
from experiments.study.design import Study
from experiments.study.folder_files import ANALYSES, STUDY, sound
from experiments.study.setting_table import SETTINGS, is_rally, nearest_to_play

OUTCOME_WORDS = {POINTS: "points won", MISSED: "balls missed"}
WAYS = {SHADE: ("farther over", "nearer the middle"), DEPTH: ("farther back", "farther in")}
WHERE = {SHADE: "over", DEPTH: "behind the baseline"}
CURVE = ("axis", "policy", "setting", "own_stroke", "place")
DIGITS = 2
MOST_TOLD, MOST_ROWS = 8, 40
HEADING = "Does it change the best place?"


def shown_rows(table: pd.DataFrame) -> pd.DataFrame:
    """The rows to tell: the outcome that decides in each setting, all opponents together where
    there are several, and of depths those of the first policy."""
    together = table["opponent"] == ALL_OPPONENTS
    if not together.any():
        together = table["opponent"] == table["opponent"].iloc[0]
    decides = table["setting"].map(lambda s: POINTS if is_rally(s) else MISSED)
    shown = table[together & (table["outcome"] == decides)]
    first = shown.groupby("axis")["policy"].transform("first")
    return shown[shown["policy"] == first]


def sentences(path: Path) -> Iterator[str]:
    """What a folder's best places come to in the setting nearest to play, a sentence a level; of a
    study with factors and no curve, that there is none; of one without factors nothing."""
    if "factors" not in tomllib.loads(sound(path, STUDY).read_text("utf-8")):
        return
    study = study_of(path)
    if not (file := path / ANALYSES["best_place"]).exists():
        yield missing(study)
        return
    rows = shown_rows(read_table(file))
    rows = rows[rows["setting"] == nearest_to_play(list(rows["setting"].unique()))]
    yield from (_sentence(own, study) for _, own in groups(rows, [*CURVE, "level"]))


def missing(study: Study) -> str:
    """Why nothing is said of the best place."""
    if in_batches(study):
        return (
            "Of the best place nothing is said: the folder has no sums over batches; play it again."
        )
    return (
        f"Of the best place nothing is said: this study tries no curve of at least {FEWEST} shades"
        " (the middle among them) or waiting depths."
    )


def _sentence(rows: pd.DataFrame, study: Study) -> str:
    """One curve of one level: where its best place is, and where the points move it."""
    usual, others = rows.iloc[0], rows.iloc[1:]
    told, more = others[others["point"].isin(told_points(study))].dropna(subset=["moved_m"]), ""
    if len(told) > MOST_TOLD:
        more = f" (the most of {len(told)})"
        told = told.loc[told["moved_m"].abs().nlargest(MOST_TOLD).index]
    axis, by = usual["axis"], OUTCOME_WORDS[usual["outcome"]]
    who = f"{usual['level']}, {usual['opponent']}, {scene_words(usual)}"
    start = f"{who}, by {by}: the best {axis} is {best_words(usual)} {USUAL}"
    text = f"{'; '.join([start, *(moved_words(r) for _, r in told.iterrows())])}{more}."
    if len(told) and (usual["at_end"] or told["at_end"].any()):
        text += f" Where the plateau ends with the {axis}s tried, moves are understated."
    return text


def scene_words(row: pd.Series) -> str:
    """Setting, own stroke and place."""
    after = f" after {row['own_stroke']}" if row["own_stroke"] else ""
    return f"{row['setting']}{after}, place: {row['place']}"


def best_words(row: pd.Series) -> str:
    """Such as `1.15 m over (1.02 to 1.28; 0.37 m per metre)`."""
    if row["at_end"] == BOTH:
        return f"any of the {row['axis']}s tried, all within half in 100,"
    value, low, high = printed(Ends(*map(float, row[["best_m", "low_m", "high_m"]])), DIGITS)
    where, shade = WHERE[row["axis"]], ""
    if row["axis"] == SHADE:
        shade = f"; {row['shade_m_per_m'] + 0.0:.{DIGITS}f} m per metre"
    ends = {LOW: "least", HIGH: "largest"}
    reached = [f"the {ends[e]} tried is as good" for e in str(row["at_end"]).split(", ") if e]
    said = "; ".join([_interval(low, high) + shade, *reached])
    return _signed(f"{value:.{DIGITS}f} m {where} ({said})")


def moved_words(row: pd.Series) -> str:
    """Such as `15 % slower: 0.04 m farther over, -0.02 to 0.10`."""
    return f"{row['words']}: {moved(row)}"


def moved(row: pd.Series) -> str:
    """Such as `0.04 m farther over, -0.02 to 0.10`."""
    if row["moved_m"] != row["moved_m"]:
        return "cannot be told, as all tried are within half in 100"
    by = Ends(*map(float, row[list(MOVED)]))
    back = round(by.value, DIGITS) < 0
    value, low, high = printed(turned(by) if back else by, DIGITS)
    return _signed(f"{value:.{DIGITS}f} m {WAYS[row['axis']][back]}, {_interval(low, high)}")


def _interval(low: float, high: float) -> str:
    if low != low:
        return "too few for an interval"
    return f"{low:.{DIGITS}f} to {high:.{DIGITS}f}"


def _signed(text: str) -> str:
    return text.replace(" -", " \u2212").replace("(-", "(\u2212")


def best_place_sections(path: Path, table: pd.DataFrame, study: Study) -> Iterator[Section]:
    """A part for each curve: its best place at each point and how far it moves, by level."""
    for labels, rows in groups(shown_rows(table), list(CURVE)):
        yield _section(labels, rows, study)


def no_curve(path: Path) -> Iterator[Section]:
    """The part that says why there is none, of a study with factors and no curve."""
    if not (path / ANALYSES["best_place"]).exists():
        yield from (Section(HEADING, (text,)) for text in sentences(path))


def _section(labels: dict[str, Any], rows: pd.DataFrame, study: Study) -> Section:
    levels = list(rows["level"].unique())
    by = OUTCOME_WORDS[rows["outcome"].iloc[0]]
    setting = SETTINGS[labels["setting"]].title
    table, more = list(_lines(rows, levels)), ""
    if len(table) > MOST_ROWS:
        table, more = table[:MOST_ROWS], f" The first {MOST_ROWS} of {len(table)} points are shown."
    sentences = (
        f"The best {labels['axis']} by {by}, {setting} ({scene_words(rows.iloc[0])};"
        f" {rows['opponent'].iloc[0]}; {labels['policy']}), is the middle of all that is within"
        " half in 100 of the best of the smoothed curve. Moves are from it as the study stands, on"
        f" the same chance, with 95 % intervals that count the choice.{more} All of them, also by"
        " opponent, are in best_place.csv.",
        *(_sentence(own, study) for _, own in groups(rows, ["level"])),
    )
    heads = [head for v in levels for head in (f"{v}: best", "moved")]
    return Section(
        f"{HEADING} {labels['axis'].capitalize()}, {setting}", sentences, ("", *heads), tuple(table)
    )


def _lines(rows: pd.DataFrame, levels: Sequence[str]) -> Iterator[tuple[str, ...]]:
    """A line for each point: in words, then by level the best place and how far it moves."""
    for _, own in rows.groupby("point", sort=False, dropna=False):
        cells = [own["words"].iloc[0]]
        for level in levels:
            at = own[own["level"] == level]
            cells += [best_words(at.iloc[0]), ""] if len(at) else ["", ""]
            if len(at) and at["than"].iloc[0]:
                cells[-1] = moved(at.iloc[0])
        yield tuple(cells)
