"""What is believed of an opponent's habits: a weighted table of directions by contact place."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, NamedTuple

import numpy as np

from sim.arithmetic import exp
from sim.compiled import kernel
from sim.errors import InputError
from sim.parameter import parameter, require_above_zero, require_finite_parameters
from sim.records import record

DIRECTIONS = ("crosscourt", "middle", "down-the-line", "short-angle")
CROSSCOURT, MIDDLE, DOWN_THE_LINE, SHORT_ANGLE = range(len(DIRECTIONS))
AIMS = ("deep left", "deep right", "short left", "short right", "middle")
CORNER_X_M = 3.115

# A belief as kernels take it: shares by place; whether strokes were `seen`, what the habit counts
# for against them and the kernel widths; and the strokes themselves, see SeenStroke.
BELIEF = np.dtype(
    [
        ("from_middle", "f8", len(DIRECTIONS)),
        ("from_corner", "f8", len(DIRECTIONS)),
        ("seen", "i8"),
        ("prior_strokes", "f8"),
        ("width_m", "f8"),
        ("depth_m", "f8"),
    ]
)
STROKE_SEEN = np.dtype(
    [
        ("x_m", "f8"),
        ("y_m", "f8"),
        ("speed_share", "f8"),
        ("topspin_share", "f8"),
        ("aims", "f8", len(AIMS)),
        ("usual_aims", "f8", len(AIMS)),  # what the habit expects of the stroke
    ]
)


@kernel
def crosscourt_of(x, wing, hand):  # type: ignore[no-untyped-def]
    """The side that a crosscourt ball goes to, own frame: -1 left, 1 right. `hand` 1 is the right.

    It is the other side of the centre from the contact at `x`; from the centre itself the side to
    which the swing pulls the ball, left for a right-hander's forehand.
    """
    if x == 0.0:
        return -hand if wing > 0 else hand
    return -1.0 if x > 0.0 else 1.0


@kernel
def habitual(x, belief, shares):  # type: ignore[no-untyped-def]
    """Fill the shares of the directions (4,) of the habit from `x` metres off the centre."""
    wide = min(abs(x) / CORNER_X_M, 1.0)
    for k in range(shares.size):
        shares[k] = (1.0 - wide) * belief.from_middle[k] + wide * belief.from_corner[k]


@kernel
def nearness_of(c, hand, stroke, belief):  # type: ignore[no-untyped-def]
    """How much a stroke that was seen counts at the CONTACT `c`, from 0 to 1: a Gaussian."""
    across = (stroke.x_m - hand * c.x_m) / belief.width_m
    along = (stroke.y_m - abs(c.y_m)) / belief.depth_m
    return exp(-0.5 * (across * across + along * along))


@kernel
def add_stroke(near, aims, side, counts):  # type: ignore[no-untyped-def]
    """Add a stroke's chances of the AIMS to counts (4,); `side` 0: crosscourt is the left."""
    counts[CROSSCOURT] += near * aims[side]
    counts[SHORT_ANGLE] += near * aims[2 + side]
    counts[DOWN_THE_LINE] += near * (aims[1 - side] + aims[3 - side])
    counts[MIDDLE] += near * aims[4]


@kernel
def correct(shares, counts, expected, weight):  # type: ignore[no-untyped-def]
    """Shares (4,) times what was seen over what they expect, both with the shares added."""
    total = 0.0
    for k in range(shares.size):
        own = weight * shares[k]
        below = own + expected[k]
        shares[k] = shares[k] * (own + counts[k]) / below if below > 0.0 else 0.0
        total += shares[k]
    for k in range(shares.size):
        shares[k] /= total


@kernel
def draw_near(c, hand, belief, strokes, near):  # type: ignore[no-untyped-def]
    """Fill how much each stroke counts at a CONTACT, (strokes,)."""
    for k in range(strokes.shape[0]):
        near[k] = nearness_of(c, hand, strokes[k], belief)


@kernel
def count_near(c, hand, strokes, near, counts, expected):  # type: ignore[no-untyped-def]
    """Fill the strokes that count at a CONTACT by direction, (4,), as that contact names the
    directions: those seen, and what the habit expects of the very same strokes."""
    side = 0 if crosscourt_of(hand * c.x_m, c.wing, 1.0) < 0.0 else 1
    for k in range(counts.size):
        counts[k], expected[k] = 0.0, 0.0
    for k in range(strokes.shape[0]):
        add_stroke(near[k], strokes[k].aims, side, counts)
        add_stroke(near[k], strokes[k].usual_aims, side, expected)


@kernel
def believe(c, hand, belief, strokes, near, room, shares):  # type: ignore[no-untyped-def]
    """Fill the shares of the directions (4,) that are believed of a CONTACT, and `near` (strokes,)
    with how much each stroke counts there; `room` is (2, 4)."""
    habitual(c.x_m, belief, shares)
    if belief.seen:
        draw_near(c, hand, belief, strokes, near)
        count_near(c, hand, strokes, near, room[0], room[1])
        correct(shares, room[0], room[1], belief.prior_strokes)


@kernel
def pace_near(belief, strokes, near):  # type: ignore[no-untyped-def]
    """Speed and topspin over the usual ones: means of those that were measured, with the ratio 1
    counted as often as the habit."""
    fast, fast_all = belief.prior_strokes, belief.prior_strokes
    spun, spun_all = belief.prior_strokes, belief.prior_strokes
    for k in range(strokes.shape[0]):
        if strokes[k].speed_share > 0.0:
            fast += near[k] * strokes[k].speed_share
            fast_all += near[k]
        if strokes[k].topspin_share > 0.0:
            spun += near[k] * strokes[k].topspin_share
            spun_all += near[k]
    return fast / fast_all, spun / spun_all


@kernel
def fill_beliefs(contacts, hand, beliefs, strokes, near, room, out):  # type: ignore[no-untyped-def]
    """Fill out[i] with the shares that are believed of contact i: see `believe`."""
    for i in range(out.shape[0]):
        believe(contacts[i], hand, beliefs[0], strokes, near, room, out[i])


@kernel
def fill_nearness(contacts, hand, beliefs, strokes, out):  # type: ignore[no-untyped-def]
    """Fill how much stroke k counts at contact i."""
    for i in range(out.shape[0]):
        draw_near(contacts[i], hand, beliefs[0], strokes, out[i])


@kernel
def fill_counts(contacts, hand, beliefs, strokes, near, room, out):  # type: ignore[no-untyped-def]
    """Fill out[i] with the strokes seen near contact i by direction."""
    for i in range(out.shape[0]):
        draw_near(contacts[i], hand, beliefs[0], strokes, near)
        count_near(contacts[i], hand, strokes, near, out[i], room[0])


@kernel
def fill_pace(contacts, hand, beliefs, strokes, near, speed, topspin):  # type: ignore[no-untyped-def]
    """Fill speed and topspin over the usual ones: see `pace_near`."""
    for i in range(speed.size):
        draw_near(contacts[i], hand, beliefs[0], strokes, near)
        speed[i], topspin[i] = pace_near(beliefs[0], strokes, near)


@kernel
def fill_usual_aims(beliefs, room, strokes):  # type: ignore[no-untyped-def]
    """Fill what the habit expects of each stroke: its shares of the AIMS at that contact."""
    for k in range(strokes.shape[0]):
        stroke, shares = strokes[k], room[0]
        habitual(stroke.x_m, beliefs[0], shares)
        side = 0 if stroke.x_m >= 0.0 else 1
        stroke.usual_aims[side] = shares[CROSSCOURT]
        stroke.usual_aims[1 - side] = shares[DOWN_THE_LINE]
        stroke.usual_aims[2 + side] = shares[SHORT_ANGLE]
        stroke.usual_aims[3 - side] = 0.0
        stroke.usual_aims[4] = shares[MIDDLE]


@kernel
def fill_habitual(x, beliefs, out):  # type: ignore[no-untyped-def]
    """Fill out[i] with the shares of the habit at x[i]."""
    for i in range(x.size):
        habitual(x[i], beliefs[0], out[i])


NO_STROKES = np.zeros(0, STROKE_SEEN)
NO_STROKES.setflags(write=False)


def belief_room(strokes: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Room to work in for `believe`: (strokes,) and (2, 4); nothing in it outlives a call."""
    return np.empty(len(strokes)), np.empty((2, len(DIRECTIONS)))


@dataclass(frozen=True)
class Belief:
    """Shares of the directions from the middle and from the corners, in the order of DIRECTIONS.

    Between the middle and a corner (1 m inside the singles sideline) the shares change linearly
    with the distance from the centre; beyond the corner they stay.

    Source: professional men, balls that landed in tracked ends of points (Tennis Australia, contest
    of 2017-18), from up to 1 m off the centre crosscourt 0.45, middle 0.22, down the line 0.33,
    from 3 to 4 m 0.52, 0.22, 0.26, of these short and crosscourt 0.06 and 0.10; less 0.04 to the
    middle, which the backhand plays more often (`backhand_middle_gain` of a hitter of habit). Where
    they land is not what was meant, and other sources differ.

    Raises:
        InputError: shares that are not four numbers from 0 to 1 adding up to 1.
    """

    from_middle: tuple[float, float, float, float] = (0.41, 0.18, 0.35, 0.06)
    from_corner: tuple[float, float, float, float] = (0.44, 0.18, 0.28, 0.10)

    def __post_init__(self) -> None:
        for name in ("from_middle", "from_corner"):
            row = getattr(self, name)
            good = len(row) == 4 and all(0 <= s <= 1 for s in row) and abs(sum(row) - 1) < 1e-9
            if not good:
                raise InputError(
                    f"Belief.{name} is {row!r}; give four shares from 0 to 1 that add up to 1,"
                    f" for {', '.join(DIRECTIONS)}"
                )

    @cached_property
    def numbers(self) -> np.ndarray:
        """The belief as a BELIEF record."""
        return record(BELIEF, **self.plain)

    @property
    def plain(self) -> dict[str, Any]:
        """The fields of a BELIEF record by name."""
        shares = {"from_middle": self.from_middle, "from_corner": self.from_corner}
        return {**shares, "seen": 0, "prior_strokes": 0.0, "width_m": 1.0, "depth_m": 1.0}

    @property
    def seen_strokes(self) -> np.ndarray:
        """The strokes that it rests on, STROKE_SEEN records: none."""
        return NO_STROKES

    def shares(self, x_m: np.ndarray) -> np.ndarray:
        """Shares of the habit's directions from contacts at `x_m` from the centre, shape (n, 4)."""
        out = np.empty((len(x_m), len(DIRECTIONS)))
        fill_habitual(np.ascontiguousarray(x_m, float), self.numbers, out)
        return out

    def shares_at(self, contacts: np.ndarray, hand: float) -> np.ndarray:
        """Shares of the directions from CONTACT records (n,) in the hitter's frame, shape (n, 4).

        `hand` is the hitter's, 1 for the right and -1 for the left.
        """
        out = np.empty((len(contacts), len(DIRECTIONS)))
        strokes = self.seen_strokes
        fill_beliefs(contacts, hand, self.numbers, strokes, *belief_room(strokes), out)
        return out


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

    @property
    def plain(self) -> dict[str, Any]:
        own = ("prior_strokes", "width_m", "depth_m")
        return {**super().plain, "seen": 1, **{name: getattr(self, name) for name in own}}

    @cached_property
    def seen_strokes(self) -> np.ndarray:
        out = np.zeros(len(self.strokes), STROKE_SEEN)
        for name in SeenStroke._fields if self.strokes else ():
            out[name] = [getattr(stroke, name) for stroke in self.strokes]
        fill_usual_aims(self.numbers, belief_room(out)[1], out)
        out.setflags(write=False)
        return out

    def nearness(self, contacts: np.ndarray, hand: float) -> np.ndarray:
        """How much each stroke counts at each contact, from 0 to 1, shape (n, strokes)."""
        out = np.empty((len(contacts), len(self.strokes)))
        fill_nearness(contacts, hand, self.numbers, self.seen_strokes, out)
        return out

    def counts(self, contacts: np.ndarray, hand: float) -> np.ndarray:
        """Strokes seen near each contact by direction, fractions added up, shape (n, 4)."""
        out = np.empty((len(contacts), len(DIRECTIONS)))
        strokes = self.seen_strokes
        fill_counts(contacts, hand, self.numbers, strokes, *belief_room(strokes), out)
        return out

    def lean(self, contacts: np.ndarray, hand: float) -> np.ndarray:
        """The weight of the habit against the strokes near each contact, 0 to 1, shape (n,)."""
        seen = self.counts(contacts, hand)
        total = seen[:, 0] + seen[:, 1] + seen[:, 2] + seen[:, 3]
        return np.asarray(self.prior_strokes / (self.prior_strokes + total))

    def pace(self, contacts: np.ndarray, hand: float) -> tuple[np.ndarray, np.ndarray]:
        """Speed and topspin over the usual ones, (n,) each, leaning on 1 like the shares do."""
        speed, topspin = np.empty((2, len(contacts)))
        near, strokes = belief_room(self.seen_strokes)[0], self.seen_strokes
        fill_pace(contacts, hand, self.numbers, strokes, near, speed, topspin)
        return speed, topspin
