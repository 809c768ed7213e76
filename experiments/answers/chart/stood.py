"""Where players really stood, from a chart, beside where each policy would have stood.

It shows what players do, not what is best.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Any

import numpy as np

from experiments.balls.spots import spot_of
from experiments.scene.scene import Scene
from experiments.statistics.resampled import resamples_of, tails_of
from sim.contracts import RecoveryPolicy, Situation, bodies_at, contacts_at, turned
from sim.errors import InputError
from sim.exchange import wing_at
from sim.records import BACKHAND, FOREHAND
from strategies.charts.reading import Chart, Stroke

STOOD = 105  # purpose of chance beside those of sim.chance and of the advice
BIN_ENDS_M = (-3.0, -1.0, 1.0, 3.0)
RESAMPLES = 1000
FEWEST = 3  # strokes of a bin that has an interval
REMINDER = "This shows what players do, not what is best."
WHOLE = "all"


@dataclass(frozen=True)
class Difference:
    """Metres that players stood to the right (their own) of a policy's spot, with 95 %.

    A bin with fewer than FEWEST strokes has None for the ends of its interval.
    """

    policy: str
    part: str
    strokes: int
    stood_x_m: float
    policy_x_m: float
    difference_m: float
    low_m: float | None
    high_m: float | None


@dataclass(frozen=True)
class StoodAnswer:
    """By stroke: the contact's and the receiver's x (n,), each policy's spot (n, policies)."""

    scene: Scene
    chart: Chart
    left_out: int
    contact_x_m: np.ndarray
    stood_x_m: np.ndarray
    policy_x_m: np.ndarray
    policies: tuple[str, ...]

    @cached_property
    def differences(self) -> list[Difference]:
        """The mean difference from every policy, whole and by bin.

        Intervals by resampling the strokes RESAMPLES times.
        """
        out = []
        away = self.stood_x_m[:, None] - self.policy_x_m
        for part, inside in parts_of(self.contact_x_m):
            count, at = int(inside.sum()), float(self.stood_x_m[inside].mean())
            few = np.full((2, len(self.policies)), None)
            ends = resampled(away[inside], self.scene.seed) if count >= FEWEST else few
            spots, means = (v[inside].mean(axis=0).tolist() for v in (self.policy_x_m, away))
            for row in zip(self.policies, spots, means, *ends.tolist(), strict=True):
                policy, spot, mean, low, high = row
                out.append(Difference(policy, part, count, at, spot, mean, low, high))
        return out


def stood(scene: Scene, chart: Chart, policies: Sequence[RecoveryPolicy]) -> StoodAnswer:
    """Compare the receiver's places of a chart with the spots of policies.

    The scene says who the receiver and the hitter are, on which court; its place is not looked at.

    Raises:
        InputError: no stroke has the receiver's place, or a policy that has no spot without an own
            stroke.
    """
    known = [s for s in chart.strokes if s.receiver_x_m is not None]
    if not known:
        raise InputError(
            f"the chart {chart.name} has no receiver's place; fill in receiver_x_m in some rows"
        )
    seen = situation_of(known, scene)
    for policy in policies:
        spot_of(policy, seen)  # refuses those without a spot
    spots = np.stack([policy.spots(seen)[:, 0] for policy in policies], axis=1)
    at = np.array([float(s.receiver_x_m or 0.0) for s in known])
    left_out, names = len(chart.strokes) - len(known), tuple(p.name for p in policies)
    return StoodAnswer(scene, chart, left_out, seen.contact["x_m"], at, spots, names)


def situation_of(strokes: Sequence[Stroke], scene: Scene) -> Situation:
    """What the receiver saw at each stroke, with all the time it wants."""
    n, me, hitter = len(strokes), scene.player, scene.opponent
    x, y = (
        np.array([getattr(s, name) for s in strokes]) for name in ("contact_x_m", "contact_y_m")
    )
    usual = wing_at(-x, hitter)
    wings = {"forehand": FOREHAND, "backhand": BACKHAND}
    wing = np.array([wings.get(s.wing, w) for s, w in zip(strokes, usual, strict=True)])
    contact = turned(contacts_at(-x, -y, np.ones(n), wing))
    body, world = bodies_at(np.zeros(n), np.full(n, -scene.line_m)), scene.world.numbers
    return Situation(me, hitter, world, scene.depth_m, body, contact, np.full(n, np.inf))


def parts_of(contact_x_m: np.ndarray) -> Iterator[tuple[str, np.ndarray]]:
    """The whole, and each bin of contact places that holds a stroke: words and a mask (n,)."""
    yield WHOLE, np.ones(len(contact_x_m), bool)
    ends = (-np.inf, *BIN_ENDS_M, np.inf)
    for low, high in pairwise(ends):
        inside = (contact_x_m >= low) & (contact_x_m < high)
        words = f"{low:g} to {high:g} m"
        words = f"below {high:g} m" if np.isinf(low) else words
        words = f"{low:g} m and more" if np.isinf(high) else words
        if inside.any():
            yield words, inside


def resampled(values: np.ndarray, seed: int) -> np.ndarray:
    """Ends of the 95 % interval of the means of columns (n, k) under resampling rows: (2, k)."""
    means = values[resamples_of(len(values), RESAMPLES, seed, STOOD)].mean(axis=1)
    return np.array([tails_of(column) for column in means.T]).T


def stood_text(found: StoodAnswer) -> str:
    """The table, and what it is."""
    known, scene = len(found.stood_x_m), found.scene
    lines = [
        f"{scene.player.name} {scene.against_whom('as charted')}.",
        f"The chart {found.chart.name}: {known} strokes with the receiver's place, {found.left_out}"
        " without.",
        "Metres that players stood to the right (+) or left (-) of each policy's spot, by where",
        "the opponent struck (x); 95 % by resampling the strokes.",
    ]
    by_part: dict[str, list[Difference]] = {}
    for d in found.differences:
        by_part.setdefault(d.part, []).append(d)
    for part, rows in by_part.items():
        where = "all contacts" if part == WHOLE else f"contact {part}"
        stood_at = f"stood at {rows[0].stood_x_m:+z.2f} m"
        lines += ["", f"{where}: {rows[0].strokes} strokes, {stood_at}"]
        lines += [
            f"  {d.policy:<18} spot {d.policy_x_m:+z.2f} m, difference {d.difference_m:+z.2f} m"
            + ("" if d.low_m is None else f" ({d.low_m:+z.2f} to {d.high_m:+z.2f})")
            for d in rows
        ]
    return "\n".join([*lines, "", f"{REMINDER} Seed {scene.seed}."])


def stood_json(found: StoodAnswer) -> dict[str, Any]:
    """The table as numbers."""
    return {**found.scene.who, "seed": found.scene.seed, "rows": found.differences}
