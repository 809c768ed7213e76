"""The waiting line of a scene looked at from end to end, and the best place on it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from experiments.balls.best import Best, best_of, joined
from experiments.balls.places import LOOK_BALLS, around_x_m, line_x_m, refined
from experiments.balls.spots import are_on_the_line, on_the_line
from experiments.balls.struck import Counts, counted
from experiments.scene.scene import Scene

Kept = Callable[[Counts], np.ndarray]  # of the balls that count, the share kept by place


@dataclass(frozen=True)
class Line:
    """Ascending lateral places at the waiting depth, their counts, and the balls at each."""

    x_m: np.ndarray
    counts: Counts
    balls: int


def looked_at(scene: Scene, kept: Kept) -> Line:
    """The whole line on all balls; where each place needs its own, few balls, finer near the best.

    Raises:
        InputError: from some place not one ball landed in.
    """
    if not scene.looks:
        x = line_x_m(coarse=False)
        found = counted(scene, on_the_line(x, scene.line_m), scene.balls)
        return Line(x, found.require_balls(), scene.balls)
    balls = min(LOOK_BALLS, scene.balls)
    places: list[np.ndarray] = []
    parts: list[Counts] = []

    def kept_at(x_m: np.ndarray) -> np.ndarray:
        places.append(x_m)
        parts.append(counted(scene, on_the_line(x_m, scene.line_m), balls).require_balls())
        return kept(parts[-1])

    refined(kept_at)
    x = np.concatenate(places)
    order = np.argsort(x)
    return Line(x[order], Counts.joined(parts, axis=1).at(order), balls)


def line_and_spots(scene: Scene, spots: np.ndarray, kept: Kept) -> tuple[Line, Counts, Best]:
    """The line, the counts at the spots (n, 2) on all balls, and the best place.

    A spot on the line is one of the places among which the best is found, so none is better.
    """
    line = looked_at(scene, kept)
    found = kept(line.counts)
    here = are_on_the_line(spots, scene.line_m)
    if not scene.looks:
        of_spots = counted(scene, spots, scene.balls)
        x = np.concatenate([line.x_m, spots[here, 0]])
        x, first = np.unique(x, return_index=True)
        return line, of_spots, best_of(x, np.concatenate([found, kept(of_spots)[here]])[first])
    near = around_x_m(best_of(line.x_m, found).top_x_m)
    places = np.concatenate([on_the_line(near, scene.line_m), spots])
    judged = counted(scene, places, scene.balls).require_balls()
    here = np.concatenate([np.ones(len(near), bool), here])
    best = joined(line.x_m, found, places[here, 0], kept(judged)[here])
    return line, judged.at(slice(len(near), None)), best
