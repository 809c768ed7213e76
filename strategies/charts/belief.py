"""From a chart to a belief: what each stroke was meant for, and how much the chart weighs.

A chart shows where balls bounced, not where they were meant to go, and a hitter's error blurs the
one into the other; playing the bounces with error added once more would blur them twice. So each
bounce is taken as a ball meant for one of the five aims of a habit hitter and spread by that
hitter's own error. Which one is told by chances: expectation and maximisation for a mixture
(Dempster, Laird and Rubin 1977, from memory) with the habit as the prior, local to the place.
"""

from __future__ import annotations

import dataclasses
import math
from functools import cached_property, lru_cache

import numpy as np

from sim.belief import AIMS, Belief, SeenBelief, SeenStroke, crosscourt_of
from sim.contracts import ShotSituation, bodies_at, contacts_at
from sim.hitter import RPM
from sim.kinds import DRIVE, KINDS
from sim.over_arrays import exp_of, length_of, log_of, product
from sim.players import Player
from sim.records import BACKHAND, FOREHAND
from sim.world import World
from strategies.aim import AimedShots
from strategies.charts.reading import Chart
from strategies.directions import CROSSCOURT, DOWN_THE_LINE, MIDDLE, SHORT_ANGLE

ROUNDS = 60
HALF_NORMAL_MEAN, HALF_NORMAL_SD = math.sqrt(2 / math.pi), math.sqrt(1 - 2 / math.pi)
DIRECTION_OF = (CROSSCOURT, CROSSCOURT, SHORT_ANGLE, SHORT_ANGLE, MIDDLE)


@dataclasses.dataclass(frozen=True)
class Fit:
    """All that does not change when strokes are counted another number of times.

    contacts: CONTACT records (n,) of the strokes that bounced, as a right-hander's, own frame.
    nearness: (n, n). prior: (n, 5), the habit's shares of the AIMS. log_chance: (n, 5), of the
    bounce under each aim. blank: the belief without strokes.
    """

    contacts: np.ndarray
    nearness: np.ndarray
    prior: np.ndarray
    log_chance: np.ndarray
    speed_share: np.ndarray
    topspin_share: np.ndarray
    blank: SeenBelief

    def aims(self, times: np.ndarray | float = 1.0) -> np.ndarray:
        """Chances of the AIMS of each stroke, (n, 5), with stroke i counted times[i] times."""
        often = np.broadcast_to(np.asarray(times, float), len(self.contacts))
        near, weight = self.nearness * often, self.blank.prior_strokes
        top = self.log_chance.max(axis=1, keepdims=True) if len(often) else self.log_chance
        chance, shares = exp_of(self.log_chance - top), self.prior
        own = weight * self.prior
        below = own + product(near, self.prior)
        usual = np.divide(self.prior, below, out=np.zeros_like(below), where=below > 0.0)
        for _ in range(ROUNDS):
            meant = shares * chance
            meant = meant / meant.sum(axis=1, keepdims=True)
            shares = usual * (own + product(near, meant))
            shares = shares / shares.sum(axis=1, keepdims=True)
        return meant if len(often) else np.empty((0, len(AIMS)))

    def belief(self, times: np.ndarray | None = None) -> SeenBelief:
        """The belief with stroke i counted times[i] times (whole numbers), each once by default."""
        often = np.ones(len(self.contacts), int) if times is None else np.asarray(times, int)
        aims = self.aims(often)
        strokes = [
            SeenStroke(
                float(self.contacts["x_m"][i]),
                float(-self.contacts["y_m"][i]),
                tuple(float(v) for v in aims[i]),  # type: ignore[arg-type]
                float(self.speed_share[i]),
                float(self.topspin_share[i]),
            )
            for i in np.repeat(np.arange(len(often)), often)
        ]
        return dataclasses.replace(self.blank, strokes=tuple(strokes))

    @cached_property
    def belief_once(self) -> SeenBelief:
        """The belief with every stroke counted once."""
        return self.belief()


@lru_cache(maxsize=64)
def fit_of(chart: Chart, hitter: Player, blank: SeenBelief, aim: AimedShots) -> Fit:
    """What the belief from a chart is made of.

    `aim` and the hitter's error say where balls meant for each aim come down.
    Balls in the net have no bounce and tell nothing of the direction; nor do strokes of a kind that
    is aimed at something else, such as volleys. Both are left out here. Speed and topspin are those
    of drives.
    """
    right = hitter.with_hand("right")
    hand = 1.0 if chart.hand == "right" else -1.0
    strokes = chart.directed

    def column(name: str) -> np.ndarray:
        return np.array([getattr(s, name) for s in strokes], float)

    def of_drives(shares: np.ndarray) -> np.ndarray:
        known = np.array([s.kind in ("", KINDS[DRIVE]) for s in strokes], bool)
        return np.where(known, np.nan_to_num(shares), 0.0)

    contacts = _contacts(chart, hand)
    bounces = np.stack([-hand * column("bounce_x_m"), -column("bounce_y_m")], axis=1)
    wing = contacts["wing"]
    return Fit(
        contacts=contacts,
        nearness=_nearness(blank, contacts),
        prior=aim_shares(blank, contacts),
        log_chance=log_chances(contacts, bounces, right, aim),
        speed_share=of_drives(column("speed_m_s") / right.hitter.speed_m_s(wing)),
        topspin_share=of_drives(column("topspin_rpm") * RPM / right.hitter.topspin_rad_s(wing)),
        blank=blank,
    )


def _contacts(chart: Chart, hand: float) -> np.ndarray:
    """CONTACT records of the strokes that bounced, as a right-hander's, in the own frame."""
    strokes = chart.directed
    x = -hand * np.array([s.contact_x_m for s in strokes], float)
    y = -np.array([s.contact_y_m for s in strokes], float)
    by_side = np.where(x >= 0, FOREHAND, BACKHAND)
    given = np.array([{"forehand": FOREHAND, "backhand": BACKHAND}.get(s.wing, 0) for s in strokes])
    wing = np.where(given == 0, by_side, given) if len(strokes) else by_side
    return contacts_at(x, y, np.ones(len(x)), wing)


def _nearness(blank: SeenBelief, contacts: np.ndarray) -> np.ndarray:
    """How much each stroke counts at the place of each other, (n, n)."""
    places = [SeenStroke(float(c["x_m"]), float(-c["y_m"]), (0.0,) * 5) for c in contacts]
    return dataclasses.replace(blank, strokes=tuple(places)).nearness(contacts, 1.0)


def crosscourt_index(contacts: np.ndarray) -> np.ndarray:
    """0 where crosscourt is the left, 1 where it is the right, for a right-hander's contacts."""
    sides = [crosscourt_of(c["x_m"], c["wing"], 1.0) for c in contacts]
    return (np.array(sides) > 0).astype(int)


def aim_shares(belief: Belief, contacts: np.ndarray) -> np.ndarray:
    """The belief's shares of the AIMS at each of a right-hander's contacts, (n, 5)."""
    shares = Belief(belief.from_middle, belief.from_corner).shares_at(contacts, 1.0)
    out, rows = np.zeros((len(contacts), len(AIMS))), np.arange(len(contacts))
    side = crosscourt_index(contacts)
    out[rows, side] = shares[:, CROSSCOURT]
    out[rows, 1 - side] = shares[:, DOWN_THE_LINE]
    out[rows, 2 + side] = shares[:, SHORT_ANGLE]
    out[:, 4] = shares[:, MIDDLE]
    return out


def log_chances(
    contacts: np.ndarray, bounces: np.ndarray, right: Player, aim: AimedShots
) -> np.ndarray:
    """Log density of each bounce (n, 2) under each of the AIMS, up to a constant, (n, 5).

    A normal distribution across and along the court: the spread of the targets and the hitter's
    own error at that distance, added. Minus infinity for the short ball that is not crosscourt.
    """
    n, side, h = len(contacts), crosscourt_index(contacts), right.hitter
    still = World().turned_numbers  # only to satisfy the contract: aiming does not look at it
    seen = ShotSituation(right, right, still, contacts, bodies_at(np.zeros(n), np.full(n, 13.0)))
    out = np.empty((n, len(AIMS)))
    for k, crosscourt in enumerate(DIRECTION_OF):
        direction = np.full(n, crosscourt)
        if crosscourt == CROSSCOURT:
            direction[side != k % 2] = DOWN_THE_LINE
        half = 0.0 if crosscourt == MIDDLE else HALF_NORMAL_MEAN
        along = 0.0 if crosscourt == SHORT_ANGLE else HALF_NORMAL_MEAN
        x, y = aim.targets(seen, direction, half, along)
        distance = length_of(x - contacts["x_m"], y - contacts["y_m"])
        spread_x = aim.width_spread_m * (1.0 if crosscourt == MIDDLE else HALF_NORMAL_SD)
        spread_y = aim.depth_spread_m * (0.5 if crosscourt == SHORT_ANGLE else HALF_NORMAL_SD)
        sd_x = length_of(distance * math.radians(h.direction_sd_deg), spread_x)
        sd_y = length_of(distance * float(h.numbers["depth_sd_share"][0]), spread_y)
        across, deep = (bounces[:, 0] - x) / sd_x, (bounces[:, 1] - y) / sd_y
        out[:, k] = -0.5 * (across * across + deep * deep) - log_of(sd_x * sd_y)
        if crosscourt == SHORT_ANGLE:
            out[side != k % 2, k] = -np.inf
    return out
