"""The report of a study: one page that opens offline, made from the result folder's files alone."""

from __future__ import annotations

import base64
import os
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined

from experiments.families import family_name
from experiments.findings import MARGIN, findings
from experiments.precision import sentences_of
from experiments.report_tables import (
    choices_table,
    decision_words,
    limit_rows,
    outcome_tables,
    parameter_table,
    short_table,
    verdict_counts,
)
from experiments.result_folder import ResultFolder
from sim.errors import InputError

MISSED, POINTS = "missed_per_100", "points_won_per_100"
FEWER, MORE = "missed_fewer_than_middle_per_100", "points_more_than_middle_per_100"
LONG_SENTENCE = 300
SVG = "image/svg+xml"
SETTING_WORDS = {
    "placed": "waiting at the spot when the opponent strikes",
    "recovery": "recovering after one own stroke",
    "rally": "whole rallies",
}
MANIFEST_WORDS = {
    "version": "rally-recovery",
    "commit": "commit",
    "source_hash": "hash of the source (SHA-256)",
    "python": "Python",
    "seed": "seed",
    "started": "started",
    "finished": "finished",
    "wall_s": "time taken (s)",
    "workers": "processes",
    "rows": "stroke rows",
}


@dataclass(frozen=True)
class Picture:
    """A figure in the page: its data URI, a caption, and what it shows for those who cannot see."""

    uri: str
    caption: str
    alt: str


def write_report(folder: Path) -> Path:
    """Write `folder`/report.html from the folder's files and return its path.

    The page needs no network and runs no script; figures are part of it, and every name is
    escaped. It appears whole or not at all.

    Raises:
        InputError: the folder is not one that a study wrote, or the page cannot be written.
    """
    results = ResultFolder.read(folder)
    page = environment().get_template("report.html").render(**contents(results))
    path, beside = folder / "report.html", folder / ".report.html.partial"
    try:
        beside.write_text(page, "utf-8", newline="\n")
        os.replace(beside, path)
    except OSError as error:
        beside.unlink(missing_ok=True)
        raise InputError(
            f"cannot write the report {str(path)!r}: {error.strerror or error}"
        ) from None
    return path


def environment() -> Environment:
    """The template engine; every value is escaped, and a misspelt one is an error."""
    return Environment(
        loader=PackageLoader("experiments", "data"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def contents(results: ResultFolder) -> dict[str, Any]:
    """What the template shows."""
    fewer = outcome_tables(results, FEWER, True)
    more = outcome_tables(results, MORE, True)
    study = results.study
    return {
        "title": study.get("title") or "A study of recovery",
        "question": study.get("question", ""),
        "findings": grouped_findings(results),
        "short": short_table(results),
        "pictures": pictures(results),
        "missed": outcome_tables(results, MISSED, False),
        "points": outcome_tables(results, POINTS, False),
        "fewer": fewer,
        "more": more,
        "counts": [
            (words, verdict_counts(tables))
            for words, tables in (("balls missed", fewer), ("points won", more))
            if tables
        ],
        "choices": choices_table(results),
        "margin": MARGIN,
        "reference": results.reference,
        "results": results,
        "study": study,
        "settings": {s: SETTING_WORDS.get(s, s) for s in results.names("setting")},
        "parameters": parameter_table(results),
        "limits": limit_rows(results),
        "decisions": decision_words(results),
        "family": family_name(results.family) if results.family else "",
        "manifest_words": MANIFEST_WORDS,
        "manifest": results.manifest,
    }


def grouped_findings(results: ResultFolder) -> list[tuple[str, bool, list[tuple[str, str]]]]:
    """The findings under headings: (heading, whether to show it at once, sentences in two).

    General ones come first, then those that begin with a level's name.
    """
    left = [*findings(results.rows), *sentences_of(results.path)]
    groups = []
    for level in results.names("level"):
        own = [s for s in left if s.startswith(f"{level},")]
        left = [s for s in left if s not in own]
        if own:
            is_open = level == results.middle_level
            groups.append((level, is_open, [in_two(s) for s in own]))
    general = [("Over all levels", True, [in_two(s) for s in left])] if left else []
    return general + groups


def in_two(sentence: str) -> tuple[str, str]:
    """A sentence and the rest of it that is shown on demand: a long list after a colon."""
    start, colon, rest = sentence.rpartition(": ")
    return (start, rest) if colon and len(sentence) > LONG_SENTENCE else (sentence, "")


def pictures(results: ResultFolder) -> list[Picture]:
    """The figures of the folder, the court first, then in the order of their names."""
    files = sorted(
        (results.path / "figures").glob("*.svg"), key=lambda f: (f.stem != "court", f.stem)
    )
    out = []
    for file in files:
        data = base64.b64encode(file.read_bytes()).decode("ascii")
        caption, alt = described(results, file.stem)
        out.append(Picture(f"data:{SVG};base64,{data}", caption, alt))
    return out


def described(results: ResultFolder, name: str) -> tuple[str, str]:
    """Caption and alternative text of the figure of that file name."""
    kind, _, setting = name.rpartition("-")
    scene = f"{SETTING_WORDS.get(setting, setting)}, {results.middle_level}"
    if name == "court" and results.corner is not None:
        return (
            f"The court from above with the opponent in the place {results.corner}: the two extreme"
            " drives, their bisector, where each policy waits, and the yardstick's best range.",
            court_alt(results),
        )
    if kind == "missed":
        return (
            f"Balls missed per 100 by place and policy ({scene}), with 95 % intervals.",
            numbers_alt(results, "Dot chart", MISSED, setting, results.named),
        )
    if kind in ("points", "fewer-missed"):
        outcome = MORE if kind == "points" else FEWER
        what = "Points won per 100 more" if kind == "points" else "Balls missed per 100 fewer"
        return (
            f"{what} than by the {results.reference}, by level and opponent"
            f" ({SETTING_WORDS.get(setting, setting)}), with 95 % intervals.",
            numbers_alt(results, "Dot chart", outcome, setting, results.named[1:]),
        )
    if kind == "yardstick":
        return (
            f"How far to shade ({scene}), opponent's place: {results.corner}. Bands are 95 %"
            " intervals; the policies stand at the shade that they come to there.",
            numbers_alt(results, "Curves over the shade", MISSED, setting, results.policies),
        )
    return f"Figure {name}.", f"Figure {name}; its numbers are in the tables below."


def court_alt(results: ResultFolder) -> str:
    """Where each policy waits, in words."""
    cells = results.pick(
        outcome="spot_x_m", level=results.middle_level, place=results.corner or ""
    ).drop_duplicates("policy")
    x, y, _ = results.places[results.corner or ""]
    spots = zip(cells["policy"], cells["estimate"].to_numpy(float), strict=True)
    where = "; ".join(f"{policy} {side_of(spot)}" for policy, spot in spots)
    return (
        f"Court from above. The opponent strikes at x {x:g} m, y {y:g} m. {results.depth_m:g} m"
        f" behind the baseline, from the middle: {where}."
    )


def side_of(x_m: float) -> str:
    """A lateral place in words."""
    if abs(x_m) < 0.05:
        return "at the middle"
    return f"{abs(x_m):.1f} m to the {'left' if x_m < 0 else 'right'}"


def numbers_alt(
    results: ResultFolder, kind: str, outcome: str, setting: str, policies: list[str]
) -> str:
    """The chart's main numbers in words: middle level, main corner, each opponent."""
    cells = results.pick(outcome=outcome, setting=setting, level=results.middle_level)
    place = results.corner if results.corner in set(cells["place"]) else None
    place = place or next(iter(cells["place"]), "")
    cells = cells[(cells["place"] == place) & cells["policy"].isin(policies)]
    cells = cells[cells["own_stroke"] == next(iter(cells["own_stroke"]), "")]
    parts = []
    for opponent, part in cells.groupby("opponent", sort=False):
        values = ", ".join(f"{c.policy} {c.estimate:.1f}" for c in part.itertuples())
        parts.append(f"{opponent}: {values}")
    words = outcome.replace("_", " ")
    return f"{kind}. {words}, {results.middle_level}, {place}. {'. '.join(parts)}."
