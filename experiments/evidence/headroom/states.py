"""States in which a player decides, as whole points come to them, and what follows from there."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np

from experiments.study.served import served_from, sides_changed
from experiments.study.stopped import end_to_end, some_of
from sim.exchange import Game
from sim.records import GOING, MEETING, OPPONENT, STROKE_LIMIT, STUDIED, WON_BY_HITTER, taken
from sim.turns import Pause, opened, paused, recovered, struck


@dataclass(frozen=True)
class Seen:
    """What points of one opening came to: the game as it was played, who decides in it, the states
    of decisions, and the balls that were met and came back with whether the point was won.

    met: MEETING records (n,); from_x_m: where across the court the other side had struck, in the
    decider's frame; won: (n,).
    """

    game: Game
    side: int
    states: Pause
    met: np.ndarray
    from_x_m: np.ndarray
    won: np.ndarray
    points: np.ndarray  # (replicates,), 1 for a point won


def as_played(game: Game, serving: bool) -> tuple[Game, int]:
    """The game as whole points are played in it, and which side of it is the studied one."""
    return (sides_changed(game), OPPONENT) if serving else (game, STUDIED)


def seen_in(game: Game, replicates: np.ndarray, serving: bool) -> Seen:
    """Play the whole points of these replicates, the studied player serving or not."""
    played, side = as_played(game, serving)
    states, met, from_x, whose = [], [], [], []
    points = np.full(len(replicates), 0.5)
    at = {int(r): k for k, r in enumerate(replicates)}
    for odd in (0, 1):
        numbers = replicates[replicates % 2 == odd]
        if not len(numbers):
            continue
        place = served_from(odd)
        strike, serve = opened(played, place, numbers), place.serve
        while len(strike):
            stroke = struck(played, strike, serve)
            rest = paused(strike, stroke)
            rows = stroke.rows
            ended = (rows["ending"] != GOING) & (rows["ending"] != STROKE_LIMIT)
            won = np.isin(rows["ending"], WON_BY_HITTER) == (strike.hitter == side)
            where = [at[int(r)] for r in rows["replicate"][ended]]
            points[where] = won[ended]
            own = rest if strike.hitter == side else some_of(rest, np.arange(0))
            states.append(dataclasses.replace(own, side=side))  # of the right kind, if empty
            if strike.hitter != side:
                kept = np.flatnonzero(stroke.going)
                met.append(taken(stroke.met.meeting, kept))
                from_x.append(-strike.contact["x_m"][kept])
                whose += [at[int(r)] for r in rest.replicates]
            strike, serve = recovered(played, rest), None
    return Seen(
        played,
        side,
        end_to_end(states),
        np.concatenate(met) if met else np.empty(0, MEETING),
        np.concatenate(from_x) if from_x else np.empty(0),
        points[whose],
        points,
    )


def some(states: Pause, count: int, seed: int) -> Pause:
    """`count` of the states by lot; all where there are no more."""
    rng = np.random.default_rng([seed, len(states)])
    return some_of(states, rng.permutation(len(states))[:count])
