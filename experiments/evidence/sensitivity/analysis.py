"""What a study with factors gets beside its cells, by its design: tables, pictures and words.

GIVEN is the one table of it. The tables are made from the folder's cells and points; pictures and
words from the tables that are there.
"""

from __future__ import annotations

import json
import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pandas as pd
from matplotlib.figure import Figure

from experiments.evidence.best_place.pictures import best_place_pictures
from experiments.evidence.best_place.table import best_places
from experiments.evidence.best_place.words import best_place_sections, no_curve
from experiments.evidence.sensitivity import turning
from experiments.evidence.sensitivity.effects import (
    VERDICTS,
    assumptions,
    draws,
    one_by_one,
    together,
)
from experiments.evidence.sensitivity.folder import (
    DesignedFolder,
    groups,
    read_table,
    reference_of,
    study_of,
)
from experiments.evidence.sensitivity.naming import named_factors, with_unit
from experiments.evidence.sensitivity.picture import TOP, outcome_words, widest
from experiments.evidence.sensitivity.pictures import (
    Pictures,
    index_charts,
    maps,
    outcomes,
    tornados,
)
from experiments.evidence.sensitivity.section import Section
from experiments.output.tables import fill_table
from experiments.study.design import Study
from experiments.study.factors import INDICES, ONE, SAMPLED
from experiments.study.folder_files import ANALYSES, BATCHES_FILE, held

DIGITS = 6
HEAD_ONE = ("number", "range", "status", "at the low end", "at the high end", "moves it")
HEAD_ALL = ("number", "range", "status", "alone", "with interplay", "lowest fifth", "highest fifth")


def of_single_parameters(path: Path, table: pd.DataFrame, study: Study) -> Iterator[Section]:
    """A part for each difference in 100 of the table of `one_by_one`."""
    for _, rows in _in_100(table, study):
        yield _one(rows, study)


def of_draws(path: Path, table: pd.DataFrame, study: Study) -> Iterator[Section]:
    """A part for each difference in 100 of the table of `together`."""
    drawn = read_table(path / ANALYSES["draws"]).set_index(["policy", "outcome"])
    for outcome, rows in _in_100(table, study):
        key = (str(rows["policy"].iloc[0]), outcome)
        yield _together(rows, drawn.loc[[key]].iloc[0], study)


def _in_100(table: pd.DataFrame, study: Study) -> Iterator[tuple[str, pd.DataFrame]]:
    return outcomes(table[table["moves"] != ""], reference_of(study))


def _one(rows: pd.DataFrame, study: Study) -> Section:
    first, words = rows.iloc[0], outcome_words(str(rows["outcome"].iloc[0]), reference_of(study))
    count = rows["moves"].value_counts()
    turned = rows[rows["turns"] != ""]
    sentences = (
        f"As it stands: {_interval(first, 'base', 'base_low', 'base_high')} {words}"
        f" ({first['policy']}).",
        f"Over its range, {count.get('surely', 0)} of {len(rows)} numbers move that by more than"
        f" half in 100 for sure; for {count.get('perhaps', 0)} more it is not excluded.",
        "The verdict turns at no end of a range."
        if turned.empty
        else "The verdict is another one at an end of: "
        + "; ".join(f"{r.words} ({r.turns})" for r in turned.itertuples())
        + ".",
    )
    table = tuple(
        (
            str(r["words"]),
            _range(r),
            str(r["status"]),
            _interval(r, "at_low_estimate", "at_low_low", "at_low_high"),
            _interval(r, "at_high_estimate", "at_high_low", "at_high_high"),
            str(r["moves"]),
        )
        for _, r in widest(rows, TOP).iterrows()
    )
    return Section(f"What matters, one number at a time: {words}", sentences, HEAD_ONE, table)


def _together(rows: pd.DataFrame, drawn: pd.Series, study: Study) -> Section:
    words = outcome_words(str(rows["outcome"].iloc[0]), reference_of(study))
    policy = rows["policy"].iloc[0]
    sentences = (
        f"Over {drawn['draws']} draws of all {len(rows)} numbers together: {drawn['mean']:+.1f}"
        f" {words} on average ({policy}); 90 of 100 draws lie between {drawn['low_5']:+.1f} and"
        f" {drawn['high_95']:+.1f}.",
        f"In {100 * drawn['not_better']:.1f} % of the draws the {policy} does not come out better"
        f" than the {reference_of(study)}; once the scatter of chance is taken out,"
        f" in {100 * drawn['not_better_without_chance']:.1f} %. Verdicts: "
        + ", ".join(f"{v} {100 * drawn[v.replace(' ', '_')]:.0f} %" for v in VERDICTS)
        + ".",
        f"With all others known, {(rows['moves'] == 'surely').sum()} of them would still move it by"
        " more than half in 100 (standard deviation) for sure; for"
        f" {(rows['moves'] == 'perhaps').sum()} more that is not excluded.",
        f"Up to {100 * drawn['chance_share']:.0f} % of the variance is chance, from the finite"
        " number of balls; it inflates shares with interplay. The shares alone add up to"
        f" {100 * rows['first'].sum():.0f} % (an estimate; the truth is 100 % at most).",
    )
    table = tuple(
        (
            str(r["words"]),
            _range(r),
            str(r["status"]),
            _interval(r, "first", "first_low", "first_high", 2),
            _interval(r, "total", "total_low", "total_high", 2),
            f"{r['lowest_fifth']:+.1f}",
            f"{r['highest_fifth']:+.1f}",
        )
        for _, r in rows.head(TOP).iterrows()
    )
    return Section(f"What matters, all together: {words}", sentences, HEAD_ALL, table)


def of_maps(path: Path, table: pd.DataFrame, study: Study) -> Iterator[Section]:
    """The part that tells the table of `turning`: sentences for each opponent, and from where
    outward the policy wins."""
    labels = turning.factor_labels(table)
    across, up = turning.axes_of(labels)
    lines = turning.boundary(table, labels)
    others = [k for k in lines.columns if k not in (up, "wins_from", "place", "level")]
    rows = []
    for scene, group in groups(lines, others):
        where = group.sort_values(up)["wins_from"]
        said = tuple("nowhere" if pd.isna(v) else f"{v:g}" for v in where)
        head = turning.scene_words(scene)
        beside = ", ".join(f"{scene[k]:g}" for k in labels if k in scene)
        rows.append((head, beside, *said))
    heights = [f"{v:g}" for v in sorted(table[up].unique())]
    named = named_factors(study, study.level_names()[0])
    rest = ", ".join(named[k].words for k in labels if k not in (across, up))
    yield Section(
        f"Where it turns: from where outward the {table['policy'].iloc[0]} wins"
        f" ({named[across].axis_text}), by {named[up].axis_text}",
        tuple(turning.sentences(study, table)),
        ("scene", rest, *heights),
        tuple(rows),
    )


def _interval(row: pd.Series, value: str, low: str, high: str, digits: int = 1) -> str:
    form = f"+.{digits}f" if digits == 1 else f".{digits}f"
    said = (f"{round(row[k], digits) + 0.0:{form}}" for k in (value, low, high))  # no -0.00
    return "{} ({} to {})".format(*said)


def _range(row: pd.Series) -> str:
    low, high = row["low_value"], row["high_value"]
    if isinstance(low, str):
        return f"{low} to {high}"
    return with_unit(f"{low:.4g} to {high:.4g}", row["unit"])


@dataclass(frozen=True)
class Given:
    """A table that designs give, with its pictures and the parts of the report that tell of it.

    `rests` says whether the table shows what an answer rests on: it is then told again in the table
    of assumptions.
    """

    fits: Callable[[DesignedFolder], bool]
    make: Callable[[DesignedFolder], pd.DataFrame]
    pictures: Callable[[pd.DataFrame, Study], Pictures] = lambda table, study: {}
    sections: Callable[[Path, pd.DataFrame, Study], Iterator[Section]] = lambda *_: iter(())
    rests: bool = False


GIVEN = {
    "one_at_a_time": Given(
        lambda folder: folder.factors.design == ONE,
        one_by_one,
        tornados,
        of_single_parameters,
        rests=True,
    ),
    "sensitivity": Given(
        lambda folder: folder.factors.design == INDICES,
        together,
        index_charts,
        of_draws,
        rests=True,
    ),
    "draws": Given(lambda folder: folder.factors.design in SAMPLED, draws),
    "turning": Given(turning.is_map, turning.turning, maps, of_maps),
    "best_place": Given(
        lambda folder: (folder.path / BATCHES_FILE).exists(),
        best_places,
        best_place_pictures,
        best_place_sections,
    ),
}


def analysed(folder: DesignedFolder) -> dict[str, pd.DataFrame]:
    """The tables that the folder's design allows, by name."""
    out = {name: given.make(folder) for name, given in GIVEN.items() if given.fits(folder)}
    for table in [table for name, table in out.items() if GIVEN[name].rests]:
        out["assumptions"] = assumptions(folder, table)
    return out


def write_analysis(path: Path) -> list[Path]:
    """Write into a result folder the tables that its design allows; returns the files.

    A folder of a study without factors gets none. The same folder gives the same bytes.

    Raises:
        InputError: the folder is not one that a study wrote.
    """
    if "factors" not in tomllib.loads((path / "study.toml").read_text("utf-8")):
        return []
    out = []
    for name, table in analysed(DesignedFolder.read(path)).items():
        out.append(path / ANALYSES[name])
        fill_table(table, out[-1], DIGITS)
    return out


def _held(path: Path) -> Iterator[tuple[Given, pd.DataFrame, Study]]:
    """The tables that are in a folder, with the folder's study."""
    for name, given in GIVEN.items():
        if held(path, ANALYSES[name]).exists():
            yield given, read_table(path / ANALYSES[name]), study_of(path)


def _pictures(path: Path) -> Pictures:
    """The pictures that the folder's tables allow."""
    parts = (given.pictures(table, study) for given, table, study in _held(path))
    return {name: picture for part in parts for name, picture in part.items()}


def factor_figures(path: Path) -> dict[str, Callable[[], Figure]]:
    """The figures that the folder's tables allow: file name without suffix, and what draws it."""
    return {name: picture.draw for name, picture in _pictures(path).items()}


def write_captions(folder: Path) -> list[Path]:
    """Write figures/captions.json for the figures of a study with factors, for the report; returns
    the file, none where there are no such figures."""
    target = folder / "figures"
    drawn = {f.stem for f in target.glob("*.svg")}
    table = {
        name: {"caption": picture.caption, "alt": picture.alt}
        for name, picture in sorted(_pictures(folder).items())
        if name in drawn
    }
    if not table:
        return []
    path = target / "captions.json"
    path.write_bytes((json.dumps(table, indent=1, ensure_ascii=False) + "\n").encode())
    return [path]


def sections(path: Path) -> list[Section]:
    """The parts of the report that a folder's tables give; none without factors."""
    held = (given.sections(path, table, study) for given, table, study in _held(path))
    return [*(part for parts in held for part in parts), *no_curve(path)]
