"""The answer of a study in plain words with intervals, from its cells alone, and summary.json."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pandas as pd

from experiments.evidence.best_place.words import sentences as best_place_sentences
from experiments.report.apart import IN_TIME, apart_sentences, figures, in_time, named
from experiments.report.findings import Cells, findings
from experiments.report.method import replicates_of
from experiments.report.parameters import parameter_table, status_counts
from experiments.report.pictures import MISSED
from experiments.report.tables import number, with_in_time
from experiments.report.where import where_sentences
from experiments.report.worlds import in_worlds, sentences, worlds_of
from experiments.statistics.comparison import (
    AS_GOOD,
    LOSES,
    MARGIN,
    NOT_IN_ALL,
    WINS,
    verdict_by_both,
    verdict_of,
)
from experiments.statistics.signed_words import claim, ends_of, world_words
from experiments.study.folder_files import CELLS, COLUMNS, MANIFEST, STUDY, SUMMARY
from experiments.study.outcome_names import fewer_missed, more_points
from experiments.study.race import looks_sentences
from experiments.study.result_folder import (
    ALL_PLACES,
    NUMBERS,
    ResultFolder,
    plateau,
    records,
    shade_curve,
)
from experiments.study.setting_table import SERVE, any_served, is_served, nearest_to_play
from experiments.study.world_cells import WORLD_COLUMNS
from sim.whole_file import write_whole

FEW = 3
CELL = "place, level, opponent"


@dataclass(frozen=True)
class View:
    """What the summary speaks of: the setting nearest to play, the outcome that decides there, the
    policy that is set against the reference, the middle level and the main place."""

    results: ResultFolder
    setting: str
    outcome: str
    policy: str
    level: str
    place: str

    @classmethod
    def of(cls, results: ResultFolder) -> View | None:
        """The view of a study; None where nothing is compared."""
        setting = nearest_to_play(results.names("setting"))
        held = set(results.pick(setting=setting)["outcome"])
        decide = (more_points(results.reference), fewer_missed(results.reference))
        outcome = next((o for o in decide if o in held), None)
        others = [p for p in results.policies if p != results.reference]
        if outcome is None or not others:
            return None
        policy = named(others)
        places = results.names("place")
        place = results.corner if results.corner in places else places[0]
        place = SERVE if is_served(setting) else place
        return cls(results, setting, outcome, policy, results.middle_level, str(place))

    @property
    def unit(self) -> str:
        """What is counted, for a sentence that ends in "in 100 more"."""
        return "points" if self.outcome == more_points(self.results.reference) else "balls"

    def cells(self, **labels: str) -> pd.DataFrame:
        """Cells of the setting with these labels."""
        return self.results.pick(setting=self.setting, **labels)

    def designed(self) -> pd.DataFrame:
        """Cells of the design points, of the setting and the outcome, with a number in them."""
        cells = self.results.designed
        if cells.empty:
            return cells
        found = cells[(cells["setting"] == self.setting) & (cells["outcome"] == self.outcome)]
        return found.dropna(subset=["estimate", "low", "high"])


def answer(results: ResultFolder) -> list[str]:
    """The answer in a few plain sentences, each with its interval; what speaks against included."""
    view = View.of(results)
    if view is None:
        return ["This study compares nothing: it holds one policy, or no differences."]
    apart = list(apart_sentences(results.rows, results.middle_level))
    parts = (
        verdict_sentence,
        worlds_sentence,
        *(() if apart else (range_sentence,)),  # apart has the balls reached in time beside points
        example_sentence,
        shade_sentence,
        against_sentence,
    )
    more = (spread_sentence, without_sentence)
    return [*apart, *(sentence for part in (*parts, *more) for sentence in part(view))]


def verdict_sentence(view: View) -> Iterator[str]:
    """How often the policy is better than the reference, as good, worse, and not decided."""
    cells = view.cells(policy=view.policy, outcome=view.outcome)
    said = counted(cells[cells["place"] != ALL_PLACES])
    total = sum(said.values())
    reference = view.results.reference
    better = "won more points" if view.unit == "points" else "missed fewer balls"
    worse = "fewer" if view.unit == "points" else "more"
    apart = any_served(view.results.names("setting"))
    setting = f"; setting {view.setting}" if apart else ""
    if total:
        yield (
            f"In this model, recovering to the {view.policy} {better} than recovering to the"
            f" {reference} in {said['wins']} of {total} cells ({CELL}{setting}) and {worse} in"
            f" {said['loses'] or 'none'}; it did as well, inside {MARGIN:g} in 100, in"
            f" {said['as good'] or 'none'}, and in {said['not decided'] or 'none'} the study cannot"
            " tell."
        )


def worlds_sentence(view: View) -> Iterator[str]:
    """In how many cells what chance decides holds in the worlds too, and what these are."""
    if not in_worlds(view.results):
        return
    cells = view.cells(policy=view.policy, outcome=view.outcome)
    said = counted(cells[cells["place"] != ALL_PLACES], by_both=True)
    parts = []
    for kind, words in ((WINS, "better"), (AS_GOOD, "as good"), (LOSES, "worse")):
        if total := said[kind] + said[kind + NOT_IN_ALL]:
            parts.append(f"{words} in {said[kind]} of {total} such cells")
    if parts:
        yield (
            f"By both intervals, of chance and of the worlds, the {view.policy} is"
            f" {listed(parts)}; in the others the worlds do not bear it out."
        )
    yield from sentences(view.results)


def spread_sentence(view: View) -> Iterator[str]:
    """The least and the greatest difference over the design points, with their points."""
    cells = view.designed()
    cells = cells[cells["policy"] == view.policy] if len(cells) else cells
    if cells.empty:
        return
    ranked = cells.sort_values("estimate", kind="stable").to_dict("records")
    low, high = (
        f"{ranged(c, sign=True)} (point {c['point']}: {c['level']}, {c['opponent']}, {c['place']})"
        for c in (ranked[0], ranked[-1])
    )
    what = "points won" if view.unit == "points" else "balls reached"
    yield (
        f"With other values of the factors ({cells['point'].nunique()} design points), {what} in"
        f" 100 by the {view.policy} less those by the {view.results.reference} range from {low} to"
        f" {high}."
    )


def without_sentence(view: View) -> Iterator[str]:
    """What both sides were made to do without, if anything."""
    if out := view.results.study.get("without"):
        yield f"Both sides did without these additions to the game of drives: {', '.join(out)}."


def counted(cells: pd.DataFrame, by_both: bool = False) -> Counter[str]:
    """How often each verdict, of chance alone or with worlds."""
    of = verdict_by_both if by_both else verdict_of
    return Counter(of(cell) for cell in cells.to_dict("records"))


def range_sentence(view: View) -> Iterator[str]:
    """The smallest and the largest difference over the opponents, over all places."""
    where = ALL_PLACES if ALL_PLACES in set(view.results.cells["place"]) else view.place
    cells = view.cells(
        policy=view.policy, outcome=view.outcome, level=view.level, place=where
    ).drop_duplicates("opponent")
    if cells.empty:
        return
    ranked = cells.sort_values("estimate", kind="stable").to_dict("records")
    low, high = ranked[0], ranked[-1]
    place = "over all places" if where == ALL_PLACES else f"from the place {where}"
    text = f"For {view.level}, {place}, against {low['opponent']} {claimed(view, low)}"
    if high["estimate"] > low["estimate"]:
        text += f"; against {high['opponent']} {claimed(view, high)}"
        text += " (the least and the most of the opponents tried)" if len(ranked) > 2 else ""
    yield f"{text}."


def claimed(view: View, cell: dict[Any, Any]) -> str:
    """What a cell lets one say of the policy against the reference."""
    difference = ends_of(cell)
    if difference is None:
        return f"nothing is known of the {view.policy}"
    reference, noun = f"the {view.results.reference}", f"{view.unit} in 100"
    verb = "wins" if view.unit == "points" else "reaches"
    text = f"the {view.policy} {claim(verdict_of(cell), difference, reference, noun, verb)}"
    beside = world_words(cell)
    labels = {name: cell[name] for name in ("place", "level", "opponent", "own_stroke")}
    shares = view.cells(outcome=IN_TIME, **labels).set_index("policy")["estimate"]
    told = in_time(map(shares.get, (view.policy, view.results.reference)), view.results.reference)
    return ", ".join(filter(None, (text, beside, told)))


def example_sentence(view: View) -> Iterator[str]:
    """Balls missed by both from the main place, against the opponent in the middle of the list."""
    labels = {"outcome": MISSED, "level": view.level, "place": view.place}
    mine = view.cells(policy=view.policy, **labels).drop_duplicates("opponent")
    other = view.cells(policy=view.results.reference, **labels).drop_duplicates("opponent")
    both = mine.merge(other, on="opponent", suffixes=("", "_reference"))
    if both.empty:
        return
    gain = both["estimate_reference"] - both["estimate"]
    row = both.loc[gain.sort_values(kind="stable").index[(len(both) - 1) // 2]]
    first = "first " if view.setting == "rally" else ""
    scene = f"With the opponent striking {first}from the place {view.place}"
    if view.place == SERVE:
        scene = f"In whole points as they are played ({view.setting})"
    yield (
        f"{scene}, {view.level} against {row['opponent']} misses"
        f" {ranged(row, '_reference')} of 100 balls when recovering to the"
        f" {view.results.reference} and {ranged(row)} when recovering to the {view.policy}."
    )


def shade_sentence(view: View) -> Iterator[str]:
    """The best shades of the yardstick family over the opponents, and the policy's own."""
    best = best_shades(view)
    if not best:
        return
    ranges = "; ".join(
        f"{low:g} to {high:g} against {name}" if low < high else f"{low:g} against {name}"
        for name, (low, high) in best.items()
    )
    by = "points won" if view.unit == "points" else "balls missed"
    own = view.cells(
        policy=view.policy, outcome="shade_m_per_m", level=view.level, place=view.place
    )["estimate"]
    beside = f" The {view.policy} comes to {own.iloc[0]:.2f} there." if len(own) else ""
    yield (
        f"Metres moved away from the opponent for each metre that the opponent is off centre, best"
        f" by {by} from the place {view.place} ({view.level}; all within {MARGIN:g} in 100 of the"
        f" best tried): {ranges}.{beside}"
    )


def best_shades(view: View) -> dict[str, tuple[float, float]]:
    """Opponent to the range of shades that are as good as the best, at the main place."""
    results = view.results
    if not results.family:
        return {}
    outcome = "points_won_per_100" if view.unit == "points" else MISSED
    members = [results.reference, *results.family]
    out = {}
    main = view.cells(level=view.level, place=view.place)
    for opponent, cells in main.groupby("opponent", sort=False):
        cells = cells[cells["own_stroke"] == cells["own_stroke"].iloc[0]]
        curve = shade_curve(cells, outcome, members)
        if len(curve) >= FEW:
            out[str(opponent)] = plateau(curve, view.unit == "points")
    return out


def against_sentence(view: View) -> Iterator[str]:
    """Which policies lose to the reference, and in how many cells."""
    results = view.results
    lost = []
    for policy in results.policies:
        cells = view.cells(policy=policy, outcome=view.outcome)
        said = counted(cells[cells["place"] != ALL_PLACES])
        if said["loses"]:
            lost.append(f"{policy} in {said['loses']} of {sum(said.values())} cells")
    by = "by points" if view.unit == "points" else "by balls missed"
    if lost:
        yield f"The {results.reference} beats, {by}: {listed(lost)}."
    else:
        yield f"The {results.reference} beats none of the policies tried in any cell, {by}."


def listed(parts: Sequence[str]) -> str:
    """The parts in one text, the last after "and"."""
    return " and ".join(filter(None, (", ".join(parts[:-1]), parts[-1])))


def ranged(cell: Any, suffix: str = "", sign: bool = False) -> str:
    """`1.2 (0.8 to 1.6)` of a cell's columns with that suffix; of a difference with signs."""
    value, low, high = (number(cell[f"{name}{suffix}"], sign) for name in NUMBERS[:3])
    return f"{value} ({low} to {high})"


SCENE = ("policy", "level", "opponent", "place", "own_stroke")
TOGETHER = ("low_together", "high_together", "verdict")
FILES = {"cells": CELLS, "columns": COLUMNS, "study": STUDY, "versions": MANIFEST}


def write_summary(folder: Path) -> None:
    """Write `folder`/summary.json from the tables of the folder, one headline cell a line.

    Raises:
        InputError: the folder is not one that a study wrote.
    """
    text = json.dumps(summary(ResultFolder.read(folder)), indent=1, allow_nan=False)
    write_whole(folder / SUMMARY, f"{text}\n".encode())


def summary(results: ResultFolder) -> dict[str, Any]:
    """Question, seed, answer and findings in words, the headline in numbers and what they rest on:
    replicates by setting, and the parameters by how well they are known."""
    study = results.study
    _, total, statuses = status_counts(parameter_table(results))[-1]
    return {
        **{key: study.get(key) for key in ("title", "question", "seed")},
        **({"without": out} if (out := study.get("without")) else {}),
        "answer": answer(results),
        "headline": headline(results),
        **({"worlds": worlds} if (worlds := worlds_of(results)) else {}),
        "findings": [
            *apart_sentences(results.rows),
            *findings(results.rows),
            *best_place_sentences(results.path),
            *where_sentences(results),
            *looks_sentences(results.path),
        ],
        "rests_on": {
            "replicates": {s: replicates_of(study, s) for s in results.names("setting")},
            "parameters": {"all": total, **statuses},
        },
        "files": FILES,
    }


def apart_cells(results: ResultFolder, policy: str) -> dict[str, Any]:
    """The cells of the numbers kept apart, whole points first, of the middle level: points won and
    share in time, and the differences of that policy; empty for a study without a serve."""
    reference, out = results.reference, dict[str, Any]()
    names = ("setting", *SCENE, "outcome", *NUMBERS, *TOGETHER, *WORLD_COLUMNS)
    for kept, of in figures(Cells(results.rows)).items():
        scene = {(f.setting, f.own_stroke or "", f.place) for f in of}
        outcomes = {f.outcome for f in of} | {more_points(reference), fewer_missed(reference)}
        cells = results.pick(level=results.middle_level)
        cells = cells[cells["policy"].isin([policy, reference]) & cells["outcome"].isin(outcomes)]
        at = cells[["setting", "own_stroke", "place"]].apply(tuple, axis=1).isin(scene)
        out[kept] = records(cells[at][[n for n in names if n in cells.columns]])
    return out


def headline(results: ResultFolder) -> dict[str, Any] | None:
    """The difference that decides, in the setting nearest to play: the policy that is set against
    the reference in every cell, the other named ones over all places, and how often each wins.

    None where nothing is compared."""
    view = View.of(results)
    if view is None:
        return None
    cells = with_in_time(results, view.outcome)
    cells = cells[cells["setting"] == view.setting]
    where = ALL_PLACES if ALL_PLACES in set(cells["place"]) else view.place
    overall = (cells["place"] == where) & cells["policy"].isin(results.named)
    shown = cells[(cells["policy"] == view.policy) | overall]
    by_policy = cells[cells["place"] != ALL_PLACES].groupby("policy", sort=False)
    names = (*SCENE, *NUMBERS, IN_TIME, *TOGETHER, *WORLD_COLUMNS)
    kept = [name for name in names if name in shown.columns]
    return {
        **({"apart": apart} if (apart := apart_cells(results, view.policy)) else {}),
        "setting": view.setting,
        "outcome": view.outcome,
        "policy": view.policy,
        "reference": results.reference,
        "margin": MARGIN,
        "verdicts": {str(policy): dict(counted(own)) for policy, own in by_policy},
        **(
            {"verdicts_by_both": {str(p): dict(counted(own, by_both=True)) for p, own in by_policy}}
            if in_worlds(results)
            else {}
        ),
        "cells": records(shown[kept]),
    }
