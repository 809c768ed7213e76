"""How a hitter picks a direction: shares by the place of the contact, habits, and perhaps the gap.

The gap of a direction is the distance between where the ball's straight path crosses the receiver's
waiting depth and where the receiver will soon be; larger ones are preferred, softly. The kernels
here decide a whole stroke: the direction, then the target, the pace and the kind.
"""

from __future__ import annotations

from sim.arithmetic import exp
from sim.belief import believe, draw_near, pace_near
from sim.compiled import kernel
from sim.records import BACKHAND, FOREHAND, record_type
from strategies.aim import DIRECTION, FIRST_VARIETY, play_toward, target
from strategies.directions import (
    CROSSCOURT,
    DOWN_THE_LINE,
    MIDDLE,
    SHORT_ANGLE,
    crosscourt_of,
)
from strategies.variety import VARIETY_DRAWS

UNHURRIED_QUALITY = 0.7  # below this quality at the ball nobody has the time to run round it, or
# plays to win at once.
ATTACKS = FIRST_VARIETY + VARIETY_DRAWS  # which draw is for that
USUAL, ATTACKING = 0, 1  # rows of AIM records
ROOM_ROWS = 4  # of room (ROOM_ROWS, 4) that a choice works in: shares, gaps, two for the belief
NO_DIRECTION, NO_WING = -1, 0

# What a hitter does with the shares of a belief. `never` and `favourite` are directions or
# NO_DIRECTION, `weak_wing` a wing or NO_WING; `looks` is 1 for who seeks the gap, `paced` for who
# plays at the pace of the strokes of the belief; `weaker_side` is the side of the receiver's weaker
# wing in the hitter's own frame, or 0 for who does not care.
HABIT = record_type(
    "line_gain",
    "short_gain",
    "middle_gain",
    "backhand_middle_gain",
    "attack_share",
    "backhand_crosscourt_gain",
    "never",
    "favourite",
    "favourite_share",
    "runs_round_m",
    "weak_wing",
    "weak_speed_share",
    "looks",
    "sharpness_per_m",
    "look_ahead_s",
    "paced",
    "weaker_side",
    "weaker_side_gain",
    integers=("never", "favourite", "weak_wing", "looks", "paced", "weaker_side"),
)


@kernel
def move_share(shares, direction, share):  # type: ignore[no-untyped-def]
    """Give `direction` that share of all other balls; below 0, give the others all of its own.

    The others keep their proportions; balls that nobody else can take go to crosscourt, or, from
    crosscourt itself, to the middle.
    """
    own = shares[direction]
    goal = own + (1.0 - own) * share if share >= 0.0 else 0.0
    if own < 1.0:
        for k in range(shares.size):
            shares[k] *= (1.0 - goal) / (1.0 - own)
    elif goal < own:
        shares[MIDDLE if direction == CROSSCOURT else CROSSCOURT] = 1.0
    shares[direction] = goal


@kernel
def weigh_directions(shares, habit):  # type: ignore[no-untyped-def]
    """Multiply the shares of all directions but crosscourt by their gains; they add up to 1 again.

    If nothing is left of them crosscourt takes all.
    """
    shares[MIDDLE] *= habit.middle_gain
    shares[DOWN_THE_LINE] *= habit.line_gain
    shares[SHORT_ANGLE] *= habit.short_gain
    total = shares[CROSSCOURT] + shares[MIDDLE] + shares[DOWN_THE_LINE] + shares[SHORT_ANGLE]
    for k in range(shares.size):
        shares[k] /= total if total > 0.0 else 1.0
    if total <= 0.0:
        shares[CROSSCOURT] = 1.0


@kernel
def give_to_middle(shares, gain):  # type: ignore[no-untyped-def]
    """Move a share to the middle from crosscourt and down the line, in proportion."""
    both = shares[CROSSCOURT] + shares[DOWN_THE_LINE]
    moved = min(gain, both)
    if moved > 0.0:
        shares[CROSSCOURT] *= 1.0 - moved / both
        shares[DOWN_THE_LINE] *= 1.0 - moved / both
        shares[MIDDLE] += moved


@kernel
def favour_weaker_side(shares, crosscourt, habit):  # type: ignore[no-untyped-def]
    """Multiply the shares of the balls to the receiver's weaker side; they add up to 1 again."""
    if crosscourt == habit.weaker_side:
        shares[CROSSCOURT] *= habit.weaker_side_gain
        shares[SHORT_ANGLE] *= habit.weaker_side_gain
    else:
        shares[DOWN_THE_LINE] *= habit.weaker_side_gain
    total = shares[CROSSCOURT] + shares[MIDDLE] + shares[DOWN_THE_LINE] + shares[SHORT_ANGLE]
    for k in range(shares.size):
        shares[k] /= total


@kernel
def share_out(c, hand, habit, belief, strokes, near, room):  # type: ignore[no-untyped-def]
    """Fill room[0] with the shares of the directions from a CONTACT."""
    shares = room[0]
    believe(c, hand, belief, strokes, near, room[2:], shares)
    if habit.line_gain != 1.0 or habit.short_gain != 1.0 or habit.middle_gain != 1.0:
        weigh_directions(shares, habit)
    if c.wing == BACKHAND:
        gain = min(habit.backhand_crosscourt_gain, shares[DOWN_THE_LINE])
        shares[CROSSCOURT] += gain
        shares[DOWN_THE_LINE] -= gain
        give_to_middle(shares, habit.backhand_middle_gain)
    if habit.weaker_side != 0:
        favour_weaker_side(shares, crosscourt_of(c.x_m, c.wing, hand), habit)
    if habit.favourite != NO_DIRECTION:
        move_share(shares, habit.favourite, habit.favourite_share)
    if habit.never != NO_DIRECTION:
        move_share(shares, habit.never, -1.0)


@kernel
def gap_of(c, receiver, direction, line, ahead, hand, aim, hitter):  # type: ignore[no-untyped-def]
    """The gap of a direction, m, on the receiver's line so far from the net, `ahead` s from now."""
    target_x, target_y = target(c, direction, 0.0, 0.0, hand, aim, hitter)
    crossing = c.x_m + (target_x - c.x_m) * (line - c.y_m) / (target_y - c.y_m)
    return abs(crossing - (receiver.x_m + ahead * receiver.vx_m_s))


@kernel
def measure_gaps(c, receiver, line, ahead, hand, aim, hitter, gaps):  # type: ignore[no-untyped-def]
    """Fill the gaps (4,) of all directions."""
    for k in range(gaps.size):
        gaps[k] = gap_of(c, receiver, k, line, ahead, hand, aim, hitter)


@kernel
def pick_by_share(shares, u):  # type: ignore[no-untyped-def]
    """The direction that the uniform number `u` picks from the four shares."""
    first = shares[0]
    second = first + shares[1]
    third = second + shares[2]
    return int(u >= first) + int(u >= second) + int(u >= third)


@kernel
def pick_by_gap(gaps, sharpness, weights, u):  # type: ignore[no-untyped-def]
    """A direction k with a chance as weights[k] exp(sharpness gaps[k]), by a uniform number."""
    largest, total = gaps[0], 0.0
    for k in range(1, gaps.size):
        largest = max(largest, gaps[k])
    for k in range(gaps.size):
        total += weights[k] * exp(sharpness * (gaps[k] - largest))
    left, chosen = u * total, 0
    for k in range(gaps.size):
        if weights[k] > 0.0:
            chosen = k
            left -= weights[k] * exp(sharpness * (gaps[k] - largest))
            if left < 0.0:
                break
    return chosen


@kernel
def choose(  # type: ignore[no-untyped-def]
    c, receiver, u, line, hand, habit, aim, belief, strokes, hitter, near, room
):
    """The direction of one stroke, by one uniform number."""
    share_out(c, hand, habit, belief, strokes, near, room)
    if not habit.looks:
        return pick_by_share(room[0], u)
    measure_gaps(c, receiver, line, habit.look_ahead_s, hand, aim, hitter, room[1])
    return pick_by_gap(room[1], habit.sharpness_per_m, room[0], u)


@kernel
def run_round(c, hand, habit):  # type: ignore[no-untyped-def]
    """Make a forehand of a backhand that is run round."""
    if -hand * c.x_m <= habit.runs_round_m and c.quality >= UNHURRIED_QUALITY:
        c.wing = FOREHAND


@kernel
def set_pace(belief, strokes, near, wish):  # type: ignore[no-untyped-def]
    """Bring an INTENT to the speed and topspin of the strokes that are near its contact."""
    speed, topspin = pace_near(belief, strokes, near)
    wish.speed_m_s *= speed
    wish.topspin_rad_s *= topspin


@kernel
def intend_all(  # type: ignore[no-untyped-def]
    contacts,
    receivers,
    chance,
    line,
    habits,
    beliefs,
    strokes,
    hand,
    aims,
    hitters,
    choices,
    legs,
    tables,
    contact_room,
    near,
    room,
    out,
):
    """Fill INTENT records of hitters who pick a direction: by habit, by a chart, by the gap.

    Uniform numbers as in DirectedShots. `aims` are two: the usual one, and that of a stroke that is
    played to win. `line` is the receiver's waiting depth from the net; `beliefs`
    and `strokes` hold what the hitter's shares are. Room to work in: one CONTACT,
    and (strokes,) and (ROOM_ROWS, 4) numbers.
    """
    habit, belief, hitter, own = habits[0], beliefs[0], hitters[0], choices[0]
    for i in range(out.shape[0]):
        contact_room[0] = contacts[i]
        c, receiver, u, wish = contact_room[0], receivers[i], chance[i], out[i]
        if habit.runs_round_m > 0.0:
            run_round(c, hand, habit)
        wins = u[ATTACKS] < habit.attack_share and c.quality >= UNHURRIED_QUALITY
        aim = aims[ATTACKING if wins else USUAL]
        direction = choose(
            c, receiver, u[DIRECTION], line, hand, habit, aim, belief, strokes, hitter, near, room
        )
        play_toward(c, receiver, direction, u, hand, aim, hitter, own, legs, tables, wish)
        if habit.weak_wing == c.wing:
            wish.speed_m_s *= habit.weak_speed_share
        if habit.paced:
            set_pace(belief, strokes, near, wish)


@kernel
def set_paces(contacts, hand, beliefs, strokes, near, out):  # type: ignore[no-untyped-def]
    """Bring INTENT records to the pace of the strokes near their contacts."""
    for i in range(out.shape[0]):
        draw_near(contacts[i], hand, beliefs[0], strokes, near)
        set_pace(beliefs[0], strokes, near, out[i])


@kernel
def fill_shares(contacts, hand, habits, beliefs, strokes, near, room, out):  # type: ignore[no-untyped-def]
    """Fill the shares of the directions (n, 4): see `share_out`."""
    for i in range(out.shape[0]):
        share_out(contacts[i], hand, habits[0], beliefs[0], strokes, near, room)
        for k in range(out.shape[1]):
            out[i, k] = room[0, k]


@kernel
def fill_gaps(contacts, receivers, line, ahead, hand, aims, hitters, out):  # type: ignore[no-untyped-def]
    """Fill the gaps of the directions (n, 4): see `gap_of`."""
    for i in range(out.shape[0]):
        measure_gaps(contacts[i], receivers[i], line, ahead, hand, aims[0], hitters[0], out[i])


@kernel
def fill_directions(  # type: ignore[no-untyped-def]
    contacts, receivers, draws, line, habits, beliefs, strokes, hand, aims, hitters, near, room, out
):
    """Fill the direction that each uniform number (n,) picks: see `choose`."""
    habit, belief, aim, hitter = habits[0], beliefs[0], aims[0], hitters[0]
    for i in range(out.size):
        c, receiver = contacts[i], receivers[i]
        out[i] = choose(
            c, receiver, draws[i], line, hand, habit, aim, belief, strokes, hitter, near, room
        )
