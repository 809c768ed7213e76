"""What a report says of a study with factors: sentences, a table, and captions of the pictures.

All of it comes from the files that `analysis.write_analysis` left in the folder.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from experiments.drawing.factor_figures import kind_of, picture_rows, short
from experiments.drawing.sensitivity import TOP, outcome_words, widest
from experiments.sensitivity import draws, one_by_one, together, turning
from experiments.sensitivity.analysis import has_factors
from experiments.sensitivity.folder import DesignedFolder, groups, read_table

HEAD_ONE = ("number", "range", "status", "at the low end", "at the high end", "moves it")
HEAD_ALL = ("number", "range", "status", "alone", "with interplay", "lowest fifth", "highest fifth")


@dataclass(frozen=True)
class Section:
    """A part of the report: plain sentences, then a table of texts (perhaps empty)."""

    heading: str
    sentences: tuple[str, ...]
    columns: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()


def sections(path: Path) -> list[Section]:
    """The parts of the report that a folder's design gives; none for a study without factors."""
    if not has_factors(path):
        return []
    folder, out = DesignedFolder.read(path), []
    if (path / one_by_one.FILE).exists():
        out += [_one(rows, folder) for _, rows in _outcomes(path / one_by_one.FILE, folder)]
    if (path / together.FILE).exists():
        drawn = read_table(path / draws.FILE).set_index(["policy", "outcome"])
        for key, rows in _outcomes(path / together.FILE, folder):
            out.append(_together(rows, drawn.loc[[key]].iloc[0], folder))
    if (path / turning.FILE).exists():
        table = read_table(path / turning.FILE)
        out.append(_turning(table, folder))
    return out


def _outcomes(file: Path, folder: DesignedFolder) -> Iterator[tuple[tuple[str, str], pd.DataFrame]]:
    """The rows of each picture: one scenario and policy, the differences in 100."""
    for outcome in dict.fromkeys(c.outcome for c in folder.differences() if c.has_margin):
        rows = picture_rows(read_table(file), outcome, folder.reference)
        yield (str(rows["policy"].iloc[0]), outcome), rows


def _one(rows: pd.DataFrame, folder: DesignedFolder) -> Section:
    first, words = rows.iloc[0], outcome_words(str(rows["outcome"].iloc[0]), folder.reference)
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


def _together(rows: pd.DataFrame, drawn: pd.Series, folder: DesignedFolder) -> Section:
    words = outcome_words(str(rows["outcome"].iloc[0]), folder.reference)
    policy = rows["policy"].iloc[0]
    sentences = (
        f"Over {drawn['draws']} draws of all {len(rows)} numbers together: {drawn['mean']:+.1f}"
        f" {words} on average ({policy}); 90 of 100 draws lie between {drawn['low_5']:+.1f} and"
        f" {drawn['high_95']:+.1f}.",
        f"In {100 * drawn['not_better']:.1f} % of the draws the {policy} does not come out better"
        f" than the {folder.reference} ({100 * drawn['not_better_without_chance']:.1f} % once the"
        " scatter of chance is taken out); verdicts: "
        + ", ".join(f"{v} {100 * drawn[v.replace(' ', '_')]:.0f} %" for v in draws.VERDICTS)
        + ".",
        f"Up to {100 * drawn['chance_share']:.0f} % of the variance is chance, from the finite"
        " number of balls; it inflates orders with interplay. The numbers alone explain"
        f" {100 * rows['first'].sum():.0f} %.",
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


def _turning(table: pd.DataFrame, folder: DesignedFolder) -> Section:
    """Sentences for each opponent, and from where outward the policy wins."""
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
    rest = ", ".join(k for k in labels if k not in (across, up))
    return Section(
        f"From where outward it wins ({across}), by {up}",
        tuple(turning.sentences(folder, table)),
        ("scene", rest, *heights),
        tuple(rows),
    )


def described(path: Path, name: str) -> tuple[str, str] | None:
    """Caption and alternative text of a picture of a study with factors; None for other ones."""
    kind = kind_of(name)
    if kind is None or not has_factors(path):
        return None
    folder = DesignedFolder.read(path)
    if kind == "turning":
        table = read_table(path / turning.FILE)
        caption = (
            "Where it turns. Steps of colour: the difference; + the first policy wins, = as good,"
            f" ? not decided, \u2212 the {folder.reference} wins; thick line: the border of where"
            " the policy wins."
        )
        said = [s for s in turning.sentences(folder, table) if _belongs(s, name)]
        return caption, " ".join(["Maps.", *said])
    file = one_by_one.FILE if kind == "tornado" else together.FILE
    found = [rows for key, rows in _outcomes(path / file, folder) if name.endswith(short(key[1]))]
    rows = found[0] if found else read_table(path / file)
    words = outcome_words(str(rows["outcome"].iloc[0]), folder.reference)
    if kind == "tornado":
        caption = (
            f"One number at a time: {words} at the low (hatched) and the high end of its range,"
            " with 95 % intervals; the widest spread on top."
        )
        named = [
            f"{r['words']} from {r['at_low_estimate']:+.1f} to {r['at_high_estimate']:+.1f}"
            for _, r in widest(rows, 5).iterrows()
        ]
    else:
        caption = (
            f"All numbers together: share of the variance of {words} that each makes alone and with"
            " its interplay, with 95 % intervals; grey: what chance makes."
        )
        named = [f"{r['words']} {r['total']:.2f}" for _, r in rows.head(5).iterrows()]
    return caption, f"Chart. {words}: {'; '.join(named)}."


def _belongs(sentence: str, name: str) -> bool:
    """Whether a sentence of `turning.sentences` is about the picture of that name."""
    _, setting, *rest = name.split("-")
    what = {"points": "by points", "missed": "by balls missed", "returned": "by balls returned"}
    after = "-".join(rest[:-1])
    said = f", {setting}, after {after}, " if after else f", {setting}, by"
    return said in sentence and what.get(rest[-1], "") in sentence


def _interval(row: pd.Series, value: str, low: str, high: str, digits: int = 1) -> str:
    form = f"+.{digits}f" if digits == 1 else f".{digits}f"
    return f"{row[value]:{form}} ({row[low]:{form}} to {row[high]:{form}})"


def _range(row: pd.Series) -> str:
    low, high = row["low_value"], row["high_value"]
    if isinstance(low, str):
        return f"{low} to {high}"
    unit = "" if row["unit"] == "1" else f" {row['unit']}"
    return f"{low:.4g} to {high:.4g}{unit}"
