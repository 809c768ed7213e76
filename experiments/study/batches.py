"""Sums over batches of replicates: what the best place of a curve and its interval are made from.

The curve of an outcome over the shade or the depth has an interval of its best place only if one
knows how its points err together. So a study with factors keeps, for the policies of the curve, the
sums over batches of replicates. A replicate is in the same batch under every policy and at every
point, where it meets the same chance: whatever is drawn from the batches stays paired.
"""

from __future__ import annotations

import numpy as np

from experiments.scene.own_code import policy_of
from experiments.statistics.estimates import INDEX
from experiments.statistics.over_worlds import sums_of_halves
from experiments.study.design import Study
from experiments.study.factor_names import DEPTH
from strategies.recovery.linear_shade import LinearShade
from strategies.recovery.middle import Middle

BATCHES = 100
TOGETHER = 2  # a serve goes to either court by turns: both go into each batch
SUMS = ("one", "balls", "missed", "points")
FEWEST = 5  # places of a curve


def shades_of(study: Study) -> dict[str, float]:
    """Policy to shade in m/m, ascending: the middle and the shades in proportion, where these are
    at least FEWEST; else nothing."""
    shades = {}
    for policy in map(policy_of, study.policies):
        if isinstance(policy, Middle | LinearShade) and policy.toward_backhand_m == 0.0:
            shade = policy.shade_m_per_m if isinstance(policy, LinearShade) else 0.0
            shades[policy.name] = float(shade)
    by_shade = dict(sorted(shades.items(), key=lambda item: item[1]))
    return by_shade if len(set(by_shade.values())) >= FEWEST else {}


def depth_label(study: Study) -> str | None:
    """The column of points.csv with the studied player's waiting depth, if at least FEWEST are
    listed; else None."""
    factors = study.factors.all if study.factors else ()
    varied = (f for f in factors if f.name == DEPTH and f.of != "opponent")
    return next((f.label for f in varied if max(f.listed, f.steps or 0) >= FEWEST), None)


def in_batches(study: Study) -> tuple[str, ...]:
    """The policies whose sums are kept in batches: all where the depth is varied, else those of the
    shades; none without factors."""
    if study.factors is None:
        return ()
    if depth_label(study) is not None:
        return tuple(policy_of(text).name for text in study.policies)
    return tuple(shades_of(study))


def sums_in_batches(table: np.ndarray, replicates: np.ndarray) -> np.ndarray:
    """Sums of a replicate table (n, columns of a tally) over the batches of the replicates of its
    cell, (b, 1 + SUMS): the number of the batch first."""
    columns = [INDEX[name] for name in SUMS]
    return sums_of_halves(table[:, columns], replicates // TOGETHER % BATCHES)
