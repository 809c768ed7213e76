"""What is believed of an opponent's habits: a weighted table of directions by contact place."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

import numpy as np

from sim.arithmetic import exp
from sim.compiled import kernel
from sim.errors import InputError
from sim.parameter import parameter, require_above_zero, require_finite_parameters

DIRECTIONS = ("crosscourt", "middle", "down-the-line", "short-angle")
CROSSCOURT, MIDDLE, DOWN_THE_LINE, SHORT_ANGLE = range(len(DIRECTIONS))
AIMS = ("deep left", "deep right", "short left", "short right", "middle")
CORNER_X_M = 3.115


@kernel
def crosscourt_of(x, wing, hand):  # type: ignore[no-untyped-def]
    """The side that a crosscourt ball goes to, own frame: -1 left, 1 right. `hand` 1 is the right.

    It is the other side of the centre from the contact at `x`; from the centre itself the side to
    which the swing pulls the ball, left for a right-hander's forehand.
    """
    if x == 0.0:
        return -hand if wing > 0 else hand
    return -1.0 if x > 0.0 else 1.0


@dataclass(frozen=True)
class Belief:
    """Shares of the directions from the middle and from the corners, in the order of DIRECTIONS.

    Between the middle and a corner (1 m inside the singles sideline) the shares change linearly
    with the distance from the centre; beyond the corner they stay.

    Raises:
        InputError: shares that are not four numbers from 0 to 1 adding up to 1.
    """

    from_middle: tuple[float, float, float, float] = (0.36, 0.26, 0.36, 0.02)
    from_corner: tuple[float, float, float, float] = (0.59, 0.12, 0.19, 0.10)

    def __post_init__(self) -> None:
        for name in ("from_middle", "from_corner"):
            row = getattr(self, name)
            good = len(row) == 4 and all(0 <= s <= 1 for s in row) and abs(sum(row) - 1) < 1e-9
            if not good:
                raise InputError(
                    f"Belief.{name} is {row!r}; give four shares from 0 to 1 that add up to 1,"
                    f" for {', '.join(DIRECTIONS)}"
                )

    def shares(self, x_m: np.ndarray) -> np.ndarray:
        """Shares of the directions from contacts at `x_m` from the centre, shape (n, 4)."""
        wide = np.minimum(np.abs(x_m) / CORNER_X_M, 1.0)[:, None]
        return (1.0 - wide) * np.array(self.from_middle) + wide * np.array(self.from_corner)

    def shares_at(self, contacts: np.ndarray, hand: float) -> np.ndarray:
        """Shares of the directions from CONTACT records (n,) in the hitter's frame, shape (n, 4).

        `hand` is the hitter's, 1 for the right and -1 for the left.
        """
        return self.shares(contacts["x_m"])


class SeenStroke(NamedTuple):
    """A stroke that was watched, as a right-hander's in the hitter's own frame.

    Contact `x_m` to the right of the centre (toward the forehand) and `y_m` from the net. `aims`
    are chances, adding up to 1, that it was meant for each of AIMS. Speed and topspin over the
    hitter's usual ones are 0 where they were not measured.
    """

    x_m: float
    y_m: float
    aims: tuple[float, float, float, float, float]
    speed_share: float = 0.0
    topspin_share: float = 0.0


@kernel
def fill_nearness(contacts, hand, places, width, depth, out):  # type: ignore[no-untyped-def]
    """How much a stroke from places[k] counts at contact i, from 0 to 1: a Gaussian."""
    for i in range(contacts.shape[0]):
        x, y = hand * contacts[i].x_m, abs(contacts[i].y_m)
        for k in range(places.shape[0]):
            across, along = (places[k, 0] - x) / width, (places[k, 1] - y) / depth
            out[i, k] = exp(-0.5 * (across * across + along * along))


@kernel
def fill_counts(contacts, hand, aims, nearness, out):  # type: ignore[no-untyped-def]
    """Strokes that count at contact i by direction, as that contact names the directions."""
    for i in range(contacts.shape[0]):
        c = contacts[i]
        side = 0 if crosscourt_of(hand * c.x_m, c.wing, 1.0) < 0.0 else 1
        out[i] = 0.0
        for k in range(aims.shape[0]):
            near, own = nearness[i, k], aims[k]
            out[i, CROSSCOURT] += near * own[side]
            out[i, SHORT_ANGLE] += near * own[2 + side]
            out[i, DOWN_THE_LINE] += near * (own[1 - side] + own[3 - side])
            out[i, MIDDLE] += near * own[4]


@kernel
def fill_posterior(prior, counts, expected, weight, out):  # type: ignore[no-untyped-def]
    """Prior shares times what was seen over what the prior expects, both with the prior added."""
    for i in range(out.shape[0]):
        total = 0.0
        for k in range(out.shape[1]):
            own = weight * prior[i, k]
            below = own + expected[i, k]
            out[i, k] = prior[i, k] * (own + counts[i, k]) / below if below > 0.0 else 0.0
            total += out[i, k]
        for k in range(out.shape[1]):
            out[i, k] /= total


@kernel
def fill_aims(places, shares, out):  # type: ignore[no-untyped-def]
    """Shares of the AIMS (strokes, 5) from those of the directions at places[k]."""
    for k in range(out.shape[0]):
        side = 0 if places[k, 0] >= 0.0 else 1
        out[k, side] = shares[k, CROSSCOURT]
        out[k, 1 - side] = shares[k, DOWN_THE_LINE]
        out[k, 2 + side] = shares[k, SHORT_ANGLE]
        out[k, 3 - side] = 0.0
        out[k, 4] = shares[k, MIDDLE]


@kernel
def fill_leaned(nearness, ratios, weight, out):  # type: ignore[no-untyped-def]
    """Mean of the ratios that were measured, with the ratio 1 counted `weight` times."""
    for i in range(out.size):
        top, total = weight, weight
        for k in range(ratios.size):
            if ratios[k] > 0.0:
                top += nearness[i, k] * ratios[k]
                total += nearness[i, k]
        out[i] = top / total


@dataclass(frozen=True)
class SeenBelief(Belief):
    """A habit (the prior) corrected by strokes that were watched near the place asked for.

    At a contact each stroke counts as exp(-d^2 / 2) of a stroke, d the distance of its contact in
    kernel widths (`width_m` across, `depth_m` along the court: a local likelihood, Tibshirani and
    Hastie 1987, from memory). For each direction what was seen is set against what the habit
    expects of the very same strokes, so that strokes from farther in are not taken for those from
    the corner, and both are shrunk by `prior_strokes` strokes of the habit: the shares are the
    habit's times (A p + seen) / (A p + expected), scaled to add up to 1 (the empirical Bayes of
    standardised ratios, Clayton and Kaldor 1987, from memory). Where all strokes come from the
    place asked for, that is the mean of a Dirichlet posterior. Where few strokes were seen the
    belief leans on the habit, and `lean` says how much.

    Strokes are kept by the side of the court that they were meant for and not by direction, so
    that a habit of playing to one side is the same on both sides of the centre mark.

    Raises:
        InputError: bad shares, or a parameter that is not finite or not above 0.
    """

    strokes: tuple[SeenStroke, ...] = field(default=(), repr=False)
    prior_strokes: float = parameter(
        8.0, "strokes", "what the habit counts for against strokes seen", low=2.0, high=30.0
    )
    width_m: float = parameter(
        1.5, "m", "kernel width of contact places, across", low=0.75, high=3.0
    )
    depth_m: float = parameter(3.0, "m", "kernel width of contact places, along", low=1.0, high=6.0)

    def __post_init__(self) -> None:
        super().__post_init__()
        require_finite_parameters(self)
        require_above_zero(self, "prior_strokes", "width_m", "depth_m")

    @cached_property
    def places_m(self) -> np.ndarray:
        """Contact places of the strokes, shape (strokes, 2)."""
        return np.array([(s.x_m, s.y_m) for s in self.strokes], float).reshape(-1, 2)

    @cached_property
    def aims(self) -> np.ndarray:
        """Chances of the AIMS of each stroke, shape (strokes, 5)."""
        return np.array([s.aims for s in self.strokes], float).reshape(-1, len(AIMS))

    def nearness(self, contacts: np.ndarray, hand: float) -> np.ndarray:
        """How much each stroke counts at each contact, from 0 to 1, shape (n, strokes)."""
        out = np.empty((len(contacts), len(self.strokes)))
        fill_nearness(contacts, hand, self.places_m, self.width_m, self.depth_m, out)
        return out

    def counts(self, contacts: np.ndarray, hand: float) -> np.ndarray:
        """Strokes seen near each contact by direction, fractions added up, shape (n, 4)."""
        out = np.empty((len(contacts), len(DIRECTIONS)))
        fill_counts(contacts, hand, self.aims, self.nearness(contacts, hand), out)
        return out

    @cached_property
    def prior_aims(self) -> np.ndarray:
        """The habit's shares of the AIMS for the contact of each stroke, shape (strokes, 5)."""
        out = np.empty((len(self.strokes), len(AIMS)))
        fill_aims(self.places_m, self.shares(self.places_m[:, 0]), out)
        return out

    def shares_at(self, contacts: np.ndarray, hand: float) -> np.ndarray:
        prior, near = super().shares_at(contacts, hand), self.nearness(contacts, hand)
        seen, expected, out = np.empty((3, len(contacts), len(DIRECTIONS)))
        fill_counts(contacts, hand, self.aims, near, seen)
        fill_counts(contacts, hand, self.prior_aims, near, expected)
        fill_posterior(prior, seen, expected, self.prior_strokes, out)
        return out

    def lean(self, contacts: np.ndarray, hand: float) -> np.ndarray:
        """The weight of the habit against the strokes near each contact, 0 to 1, shape (n,)."""
        seen = self.counts(contacts, hand)
        total = seen[:, 0] + seen[:, 1] + seen[:, 2] + seen[:, 3]
        return np.asarray(self.prior_strokes / (self.prior_strokes + total))

    def pace(self, contacts: np.ndarray, hand: float) -> tuple[np.ndarray, np.ndarray]:
        """Speed and topspin over the usual ones, (n,) each, leaning on 1 like the shares do."""
        near, out = self.nearness(contacts, hand), np.empty((2, len(contacts)))
        for row, name in zip(out, ("speed_share", "topspin_share"), strict=True):
            ratios = np.array([getattr(s, name) for s in self.strokes], float)
            fill_leaned(near, ratios, self.prior_strokes, row)
        return out[0], out[1]
