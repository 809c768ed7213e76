"""Captions of the pictures of a study with factors, and what they show for those who cannot see."""

from __future__ import annotations

import json
from pathlib import Path

import pandas as pd

from experiments.evidence.sensitivity import one_by_one, together, turning
from experiments.evidence.sensitivity.figures import kind_of, short
from experiments.evidence.sensitivity.folder import read_table, reference_of, study_of
from experiments.evidence.sensitivity.picture import in_100, outcome_words, widest
from experiments.study.design import Study

NAMED = 5
OUTCOMES = {
    "points": "by points",
    "missed": "by balls missed",
    "returned": "by balls returned",
}


def described(path: Path, name: str) -> tuple[str, str] | None:
    """Caption and alternative text of a figure of the result folder `path` by its file name; None
    for one that does not belong to the factors of a study."""
    kind = kind_of(name)
    if kind is None:
        return None
    study = study_of(path)
    if kind == "turning":
        return _map(study, read_table(path / turning.FILE), name)
    table = read_table(path / (one_by_one.FILE if kind == "tornado" else together.FILE))
    rows = table[[name == f"{kind}-{short(o)}" for o in table["outcome"]]]
    rows = rows[rows["policy"] != reference_of(study)]
    words = outcome_words(str(rows["outcome"].iloc[0]), reference_of(study))
    return _tornado(rows, words) if kind == "tornado" else _indices(rows, words)


def _map(study: Study, table: pd.DataFrame, name: str) -> tuple[str, str]:
    reference = reference_of(study)
    caption = (
        f"Where it turns: the {table['policy'].iloc[0]} against the {reference}. Steps of colour:"
        f" the difference; + it wins, = as good, ? not decided, \u2212 the {reference} wins; lines:"
        " the border of where it wins (thick) and loses (thin)."
    )
    said = [s for s in turning.sentences(study, table) if _belongs(s, name)]
    return caption, " ".join(["Maps.", *said])


def _tornado(rows: pd.DataFrame, words: str) -> tuple[str, str]:
    caption = (
        f"One number at a time: {words} at the low (hatched) and the high end of its range, with"
        " 95 % intervals; the widest spread on top."
    )
    form = "+.1f" if in_100(str(rows["outcome"].iloc[0])) else "+.2f"
    said = [
        f"{r['words']} from {r['at_low_estimate']:{form}} to {r['at_high_estimate']:{form}}"
        for _, r in widest(rows, NAMED).iterrows()
    ]
    return caption, f"Chart. {words}: {'; '.join(said)}."


def _indices(rows: pd.DataFrame, words: str) -> tuple[str, str]:
    caption = (
        f"All numbers together: the share of the variance of {words} that each makes alone and with"
        " its interplay, with 95 % intervals; grey: what chance makes."
    )
    said = [f"{r['words']} {r['total']:.2f}" for _, r in rows.head(NAMED).iterrows()]
    return caption, f"Chart. Share with interplay of {words}: {'; '.join(said)}."


def _belongs(sentence: str, name: str) -> bool:
    """Whether a sentence of `turning.sentences` is about the figure of that name."""
    _, setting, *rest = name.split("-")
    after = "-".join(rest[:-1])
    scene = f", {setting}, after {after}, " if after else f", {setting}, by"
    return scene in sentence and OUTCOMES.get(rest[-1], "") in sentence


def write_captions(folder: Path) -> list[Path]:
    """Write figures/captions.json for the figures of a study with factors, for the report; returns
    the file, none where there are no such figures."""
    target = folder / "figures"
    names = sorted({f.stem for f in target.glob("*.svg")})
    found = {name: words for name in names if (words := described(folder, name))}
    if not found:
        return []
    table = {name: {"caption": caption, "alt": alt} for name, (caption, alt) in found.items()}
    path = target / "captions.json"
    path.write_text(json.dumps(table, indent=1, ensure_ascii=False) + "\n", "utf-8")
    return [path]
