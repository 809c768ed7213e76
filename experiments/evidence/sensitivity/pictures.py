"""The pictures of a study with factors, by what its tables hold: what draws each, and its words."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial

import pandas as pd
from matplotlib.figure import Figure

from experiments.evidence.sensitivity.folder import groups, is_difference, reference_of
from experiments.evidence.sensitivity.naming import named_factors
from experiments.evidence.sensitivity.picture import (
    in_100,
    indices_figure,
    outcome_words,
    tornado_figure,
    widest,
)
from experiments.evidence.sensitivity.turning import factor_labels, sentences
from experiments.evidence.sensitivity.turning_picture import turning_figure
from experiments.study.design import Study

NAMED = 5
SCENE = ("policy", "place", "level", "opponent", "setting", "own_stroke")


@dataclass(frozen=True)
class Picture:
    """A picture: what draws it, its caption, and what it shows for those who cannot see it."""

    draw: Callable[[], Figure]
    caption: str
    alt: str


Pictures = dict[str, Picture]  # by file name without suffix


def tornados(table: pd.DataFrame, study: Study) -> Pictures:
    """One parameter at a time: `table` is that of `one_by_one`."""
    out, reference = Pictures(), reference_of(study)
    for outcome, rows in outcomes(table, reference):
        words = outcome_words(outcome, reference)
        form = "+.1f" if in_100(outcome) else "+.2f"
        said = [
            f"{r['words']} from {r['at_low_estimate']:{form}} to {r['at_high_estimate']:{form}}"
            for _, r in widest(rows, NAMED).iterrows()
        ]
        out[f"tornado-{short(outcome)}"] = Picture(
            partial(tornado_figure, rows, reference),
            f"One number at a time: {words} at the low (hatched) and the high end of its range,"
            " with 95 % intervals; the widest spread on top.",
            f"Chart. {words}: {'; '.join(said)}.",
        )
    return out


def index_charts(table: pd.DataFrame, study: Study) -> Pictures:
    """All parameters together: `table` is that of `together`."""
    out, reference = Pictures(), reference_of(study)
    for outcome, rows in outcomes(table, reference):
        words = outcome_words(outcome, reference)
        said = [f"{r['words']} {r['total']:.2f}" for _, r in rows.head(NAMED).iterrows()]
        out[f"indices-{short(outcome)}"] = Picture(
            partial(indices_figure, rows, reference),
            f"All numbers together: the share of the variance of {words} that each makes alone and"
            " with its interplay, with 95 % intervals; grey: what chance makes.",
            f"Chart. Share with interplay of {words}: {'; '.join(said)}.",
        )
    return out


def maps(table: pd.DataFrame, study: Study) -> Pictures:
    """Where it turns: one for each setting, own stroke and outcome, of the first place and level.

    `table` is that of `turning`.
    """
    out, reference, labels = Pictures(), reference_of(study), factor_labels(table)
    first = table.iloc[0]
    named = named_factors(study, str(first["level"]))
    caption = (
        f"Where it turns: the {first['policy']} against the {reference}. Steps of colour:"
        f" the difference; + it wins, = as good, ? not decided, \u2212 the {reference} wins; lines:"
        " the border of where it wins (thick) and loses (thin)."
    )
    for scene, rows in groups(table, ("setting", "own_stroke", "outcome")):
        drawn = rows[(rows["level"] == first["level"]) & (rows["place"] == first["place"])]
        parts = ("turning", scene["setting"], scene["own_stroke"], short(scene["outcome"]))
        out["-".join(part for part in parts if part)] = Picture(
            partial(turning_figure, drawn, labels, named, reference),
            caption,
            " ".join(["Maps.", *sentences(study, rows)]),
        )
    return out


def outcomes(table: pd.DataFrame, reference: str) -> Iterator[tuple[str, pd.DataFrame]]:
    """The differences, each in its first scenario, of the first policy but the reference."""
    for outcome in dict.fromkeys(table["outcome"]):
        if is_difference(outcome, reference):
            rows = table[(table["outcome"] == outcome) & (table["policy"] != reference)]
            first = rows[list(SCENE)].iloc[0]
            yield outcome, rows[(rows[list(SCENE)] == first).all(axis=1)]


def short(outcome: str) -> str:
    """An outcome in file names: its first word."""
    return outcome.partition("_")[0]
