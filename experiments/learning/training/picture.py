"""Where a learned policy recovers to, over where the opponent strikes: beside the middle, the
bisector, the best shade, the short rule, and beside where players of the record stood."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from experiments.drawing import style
from experiments.evidence.headroom.states import Seen, seen_in
from experiments.evidence.record.published import record
from experiments.learning.training.goal import game_of
from experiments.learning.training.rule import Distilled
from sim.contracts import RecoveryPolicy, aims_of
from sim.court import HALF_LENGTH_M
from sim.exchange import with_policy
from strategies.recovery.bisector import Bisector
from strategies.recovery.learned import Weighted
from strategies.recovery.middle import Middle

POINTS = 4000
EDGES_M = np.linspace(-4.5, 4.5, 13)
QUALITY = np.array([0.2, 0.4, 0.6, 0.8, 0.95, 1.0])
FEWEST = 40  # states in a bin that is drawn
RECORD_FROM_M, RECORD_TO_M = 1.2, 4.5


@dataclass(frozen=True)
class Spots:
    """Spots at sampled decisions: the opponent's contact across (m, own frame) and its quality, the
    spot across and behind the baseline (m)."""

    opponent_x_m: np.ndarray
    quality: np.ndarray
    x_m: np.ndarray
    behind_m: np.ndarray


def spots_of(states: list[Seen], policy: RecoveryPolicy) -> Spots:
    """Where a policy goes in decisions that points come to."""
    parts = []
    for seen in states:
        situation = seen.states.seen(seen.game)
        spots, contact = aims_of(policy, situation)[0], situation.contact
        parts.append((contact["x_m"], contact["quality"], spots[:, 0], -spots[:, 1]))
    x, quality, to_x, line = (np.concatenate(p) for p in zip(*parts, strict=True))
    return Spots(x, quality, to_x, line - HALF_LENGTH_M)


def rule_figure(found: Distilled) -> Figure:
    """Two panels: across, by where the opponent strikes; in depth, by how well."""
    learned = Weighted("learned", found.learning.weights)
    rule = Weighted("the rule", found.shortest.weights)
    goal = found.goal
    game = with_policy(game_of(goal, goal.hitters[0], None, found.seed), learned)
    states = [seen_in(game, np.arange(POINTS), serving) for serving in (True, False)]
    shade = found.rules[0]
    curves = [
        Curve("middle", Middle(), style.SOFT, ":"),
        Curve("bisector", Bisector(), style.BLUE, "--"),
        Curve("the short rule", rule, style.VERMILLION, "-."),
        Curve("learned", learned, style.GREEN, "-"),
    ]
    if found.shortest is not shade:
        curves.insert(2, Curve("shade alone", Weighted("", shade.weights), style.ORANGE, ":"))
    with style.house_style():
        figure = Figure(figsize=(style.WIDTH_IN, 6.2), layout="constrained")
        across, depth = figure.subplots(2, 1, height_ratios=(3, 2))
        for curve in curves:
            _draw(across, depth, spots_of(states, curve.policy), curve)
        _record(across)
        across.set(
            title="Where to, by where your opponent strikes",
            xlabel="opponent, m to the right of the middle as you see it",
            ylabel="your place, m to the right",
        )
        depth.set(
            title="How far back, by how well your opponent gets there",
            xlabel="opponent's contact: 0 full stretch, 1 unhurried",
            ylabel="m behind the baseline",
        )
        figure.legend(loc="outside lower left", ncols=3, handlelength=2.4)
    return figure


@dataclass(frozen=True)
class Curve:
    """A policy and how it is drawn."""

    name: str
    policy: RecoveryPolicy
    colour: str
    line: str


def _draw(across: Axes, depth: Axes, spots: Spots, curve: Curve) -> None:
    """A policy's median spots; of a learned one across also the middle half."""
    how: dict[str, Any] = {"color": curve.colour, "linestyle": curve.line}
    low, at, high = _quartiles(spots.opponent_x_m, spots.x_m, EDGES_M)
    middle = (EDGES_M[1:] + EDGES_M[:-1]) / 2.0
    across.plot(middle, at, label=curve.name, **how)
    if curve.name == "learned":
        across.fill_between(
            middle, low, high, color=curve.colour, alpha=0.18, linewidth=0, label="its middle half"
        )
    _, back, _ = _quartiles(spots.quality, spots.behind_m, QUALITY)
    depth.plot((QUALITY[1:] + QUALITY[:-1]) / 2.0, back, marker="o", markersize=3, **how)


def _quartiles(
    by: np.ndarray, values: np.ndarray, edges: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """The quartiles of values in bins, NaN where a bin holds too few."""
    out = np.full((3, len(edges) - 1), np.nan)
    at = np.digitize(by, edges) - 1
    at[by == edges[-1]] = len(edges) - 2
    for k in range(len(edges) - 1):
        if (at == k).sum() >= FEWEST:
            out[:, k] = np.quantile(values[at == k], (0.25, 0.5, 0.75))
    return out[0], out[1], out[2]


def _record(ax: Axes) -> None:
    """Where tracked men stood when the opponent struck: places, no proof that they are right."""
    rows = {f.key: f.value for f in record() if f.key in ("slope", "intercept")}
    far = np.array([RECORD_FROM_M, RECORD_TO_M])
    place = rows["intercept"] + rows["slope"] * far
    for side in (-1.0, 1.0):
        ax.plot(
            side * far,
            side * place,
            color=style.PURPLE,
            linewidth=4.0,
            alpha=0.5,
            label="where tracked men stood" if side > 0 else None,
        )
