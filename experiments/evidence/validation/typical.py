"""The typical game that stands for matches in the table: what it is, and all fits."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator

import numpy as np

from experiments.evidence.validation.estimates import (
    Estimate,
    mean_of,
    median_of,
    normal,
    percentage_of,
    standard_error,
)
from experiments.scene.defaults import OPPONENT_POLICY
from experiments.scene.parameters import parameters
from experiments.scene.people import waiting_depth_m
from experiments.study.served import whole_points
from experiments.study.worlds import game_in_world
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M
from sim.exchange import Game, Side
from sim.kinds import KINDS, OVERHEAD, VOLLEY
from sim.over_arrays import length_of
from sim.parameter import parameter_rows
from sim.players import KM_H, ball_of, player
from sim.records import GOING, IN, STROKE_LIMIT, WINNER, WON_BY_HITTER
from sim.surface import surface as surface_named
from sim.world import TABULATED, World
from strategies.catalogue import make_policy
from strategies.shots.attentive import Attentive
from strategies.shots.serve import Serve

SHOTS, SERVE = Attentive(), Serve()
# Each cell has rallies of its own, so that differences of cells are between independent samples.
CELLS = (
    ("professional-man", "hard"),
    ("professional-man", "clay"),
    ("professional-man", "grass"),
    ("professional-woman", "hard"),
    ("under-14-boy", "hard"),
)
RALLIES_APART = 10**9


def typical(level: str, surface: str, seed: int, world: int | None = None) -> Game:
    """Two players of that level on that surface.

    Both wait at the level's own depth, recover as opponents do by default and hit by habit, rather
    where the other is not; or they do all that as in a `world` that fits the record of
    professionals, by its number.

    Raises:
        InputError: there is no such world.
    """
    who = player(level)
    side = Side(who, make_policy(OPPONENT_POLICY), SHOTS, waiting_depth_m(who, surface))
    around = World(surface_named(surface), ball=ball_of(who), flight=TABULATED)
    game = Game(side, side, around, seed)
    return game if world is None else game_in_world(game, world)


def typical_rallies(
    level: str, surface: str, seed: int, count: int, world: int | None = None
) -> np.ndarray:
    """STROKE records of `count` typical rallies, sorted by rally and stroke.

    Each begins with a serve, by turns to the right and to the left court.
    """
    numbers = RALLIES_APART * CELLS.index((level, surface)) + np.arange(count)
    return served_rallies(typical(level, surface, seed, world), numbers)


def served_rallies(game: Game, numbers: np.ndarray) -> np.ndarray:
    """STROKE records of the rallies of these numbers, sorted by rally and stroke, each begun with a
    serve, by turns to the right and to the left court."""
    return whole_points(game, numbers, serving=False)


@dataclasses.dataclass(frozen=True)
class Fit:
    """A fitted parameter and one figure that it was fitted to (a row's key, or words)."""

    owner: str
    name: str
    figure: str


def fits() -> Iterator[Fit]:
    """Every fit that the parameters record, those of the typical game's strokes included."""
    typical = (r for part in (SHOTS, SERVE) for r in parameter_rows("typical strokes", part))
    rows = [*parameters(None), *typical]
    for row in rows:
        for figure in filter(None, (part.strip() for part in row.fitted_to.split(";"))):
            yield Fit(row.owner, row.name, figure)


def fitted_figures() -> set[str]:
    """The figures that set something in the model, and so cannot check it."""
    return {fit.figure for fit in fits()}


class RallyFigures:
    """Figures of STROKE records sorted by rally and stroke."""

    def __init__(self, strokes: np.ndarray) -> None:
        self.strokes = strokes
        self.rallies, self.lengths = np.unique(strokes["replicate"], return_counts=True)
        same = strokes["replicate"][1:] == strokes["replicate"][:-1]
        answered = np.flatnonzero(same)
        self.answered, self.answers = strokes[answered], strokes[answered + 1]

    def time_between_strikes_s(self) -> Estimate:
        """From each strike to the next one in the rally, the serve included."""
        time = self.answers["strike_time_s"] - self.answered["strike_time_s"]
        return mean_of(time, self.answered["replicate"])

    def distance_between_contacts_m(self) -> Estimate:
        """Metres that a player moves from an own contact to the next own contact."""
        again = self.answered[self.answered["stroke"] > 0]
        return mean_of(again["recovery_run_m"] + again["chase_run_m"], again["replicate"])

    def reached_within_pct(self, low_m: float, high_m: float) -> Estimate:
        """Strokes whose body moved so far from its place at the opponent's strike to its own."""
        run = self.answered["chase_run_m"]
        return percentage_of((run >= low_m) & (run < high_m), self.answered["replicate"])

    def ball_from_spot_within_pct(self, low_m: float, high_m: float) -> Estimate:
        """Strokes whose ball was met so far from the spot that the player was recovering to."""
        a = self.answered
        away = length_of(a["meeting_x_m"] - a["spot_x_m"], a["meeting_y_m"] - a["spot_y_m"])
        return percentage_of((away >= low_m) & (away < high_m), a["replicate"])

    def median_strokes(self) -> Estimate:
        """Median strokes a rally: every strike counts, the serve and the last error too."""
        return median_of(self.lengths, self.rallies)

    def mean_strokes(self) -> Estimate:
        """Mean strokes a rally, counted as for the median."""
        return mean_of(self.lengths, self.rallies)

    def short_rallies_pct(self, strokes: int) -> Estimate:
        """Rallies of at most so many strokes."""
        return percentage_of(self.lengths <= strokes, self.rallies)

    def winners_pct(self) -> Estimate:
        """Rallies ended by a ball that lands in and is not reached, of those that ended."""
        ending = self.strokes["ending"]
        last = (ending != GOING) & (ending != STROKE_LIMIT)
        return percentage_of(ending[last] == WINNER, self.strokes["replicate"][last])

    def serve_to_return_s(self) -> Estimate:
        """From the serve to the contact of the return."""
        served = self.answered[self.answered["stroke"] == 0]
        return mean_of(served["meeting_time_s"], served["replicate"])

    def unreturned_serves_pct(self) -> Estimate:
        """Rallies that end with the serve: an ace, one touched, or a return that is not in.

        Not a double fault.
        """
        ended = self.strokes["ending"] != GOING
        served = (self.strokes["stroke"] == 0) & ended & (self.strokes["outcome"] == IN)
        missed_return = (self.strokes["stroke"] == 1) & (self.strokes["outcome"] != IN)
        over = np.isin(self.rallies, self.strokes["replicate"][served | missed_return])
        return percentage_of(over, self.rallies)

    def net_clearance_m(self, wing: int) -> Estimate:
        """Median gap over the net of a wing's strokes that land in, the serve left out."""
        landed = self._landed(wing)
        return median_of(landed["net_clearance_m"], landed["replicate"])

    def inside_sideline_m(self, wing: int) -> Estimate:
        """Median distance from where they land to the nearer sideline."""
        landed = self._landed(wing)
        inside = HALF_WIDTH_M - np.abs(landed["landing_x_m"])
        return median_of(inside, landed["replicate"])

    def _landed(self, wing: int) -> np.ndarray:
        s = self.strokes
        return s[(s["hitter_wing"] == wing) & (s["outcome"] == IN) & (s["stroke"] > 0)]

    def arriving_speed_km_h(self, wing: int) -> Estimate:
        """Median ground speed, from the bounce to where they are met, of a wing's strokes that are
        met behind the baseline; the serve left out."""
        a = self.answered
        behind = (a["stroke"] > 0) & (np.abs(a["meeting_y_m"]) > HALF_LENGTH_M)
        met = a[behind & (a["hitter_wing"] == wing) & (a["meeting_time_s"] > a["landing_time_s"])]
        way = length_of(*(met[f"meeting_{axis}_m"] - met[f"landing_{axis}_m"] for axis in "xy"))
        speed_m_s = way / (met["meeting_time_s"] - met["landing_time_s"])
        return median_of(speed_m_s / KM_H, met["replicate"])

    def mean_running_speed_m_s(self) -> Estimate:
        """Metres run by both players over their time, from the first strike of a point to the last.

        A ratio of sums, linearised, with whole rallies as the independent units.
        """
        run = self.answered["chase_run_m"] + self.answers["recovery_run_m"]
        time = 2.0 * (self.answers["strike_time_s"] - self.answered["strike_time_s"])
        rallies = self.answered["replicate"]
        speed = float(run.sum()) / float(time.sum())
        se = standard_error(run - speed * time, rallies) / float(time.mean())
        return normal(speed, se, len(np.unique(rallies)))

    def serve_points_won_pct(self, kind: str) -> Estimate:
        """Points that the server wins, of those that open with that kind of serve."""
        first = self.strokes["stroke"] == 0
        last = np.append(first[1:], True)
        server, end = self.strokes["side"][first], self.strokes[last]
        by_hitter = np.isin(end["ending"], WON_BY_HITTER)
        won = (end["side"] == server) == by_hitter
        asked = self.strokes["kind"][first] == KINDS.index(kind)
        return percentage_of(won[asked], self.rallies[asked])

    def groundstroke_speed_km_h(self, wing: int) -> Estimate:
        """Median speed of groundstrokes of a wing, in or out, from the stroke after the return."""
        s = self.strokes
        ground = ~np.isin(s["kind"], (VOLLEY, OVERHEAD)) & (s["stroke"] > 1)
        asked = s[ground & (s["hitter_wing"] == wing)]
        return median_of(asked["speed_m_s"] / KM_H, asked["replicate"])
