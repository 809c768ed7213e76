"""Compiled arithmetic of places: what balls cost there, which is best, and between nodes of a grid.

How a place is found for a contact that is a node: every shot is struck many times
(`strategies.aim.aim_all`, `sim.stroke.strike_all`) and appraised from all places
(`sim.meeting.appraise_all`); `lose` makes of that what the shot costs, `fill_interpolated` (of
`sim.over_arrays`) what it costs at finer places; `choose_place` weighs all shots and takes the
best. In depth, too: `play_all`, `settle_all`, `strike_all`, `meet` at each place, `weigh_balls`,
two times `fill_product`, `best_spot`. The policies' entries then look between the nodes.
"""

from __future__ import annotations

from sim.arithmetic import expm1
from sim.compiled import kernel
from sim.court import HALF_LENGTH_M
from sim.over_arrays import interpolate
from sim.records import FOREHAND, IN
from strategies.recovery.reply_worth import reply_cost
from strategies.recovery.standing import stand, stand_deep

# The grid of contacts, in the receiver's frame: first node, step, nodes; across and along.
FIRST_X_M, STEP_X_M, NODES_X = -6.0, 1.5, 9
FIRST_Y_M, STEP_Y_M, NODES_Y = 5.0, 3.5, 4
PLATEAU = 0.005  # losses closer than half a point in 100 balls count as equal
# What a ball costs that comes back off the racket after so much time to spare: points lost less
# points won from there on. Fitted by eye to the next ball of the answer `game`, where players of
# habit of the levels club-adult, college-man and professional-man differ little.
RETURNED_SPARE_S, RETURNED_COST = (0.18, 0.5, 1.0, 1.5), (0.3, 0.04, 0.0, -0.06)


@kernel
def cost_of(spare, control_time):  # type: ignore[no-untyped-def]
    """What a ball that lands in costs by the time to spare: 1 if missed, falling as more is left.

    A ball that is reached comes back with the chance of sim.reply.in_control; what it costs then
    is RETURNED_COST.
    """
    left = max(spare, 0.0)
    returned = 1.0 if spare >= 0.0 else 0.0
    if control_time > 0.0:
        returned = -expm1(-left / control_time)
    return 1.0 - returned * (1.0 - interpolate(left, RETURNED_SPARE_S, RETURNED_COST))


@kernel
def lose(balls, spare, control_time, out):  # type: ignore[no-untyped-def]
    """Fill what the balls of one shot cost at each place, in points a ball, from the times to spare
    (balls, places); a ball that does not land in costs -1."""
    beside = 0
    for j in range(out.size):
        out[j] = 0.0
    for i in range(balls.shape[0]):
        if balls[i].outcome != IN:
            beside += 1
            continue
        for j in range(out.size):
            out[j] += cost_of(spare[i, j], control_time)
    for j in range(out.size):
        out[j] = (out[j] - beside) / balls.shape[0]


@kernel
def weigh(losses, shares, worst_share, out):  # type: ignore[no-untyped-def]
    """Fill what is wanted small at each place from the losses (places, shots).

    The loss to be expected when the first shots come in these shares, and, weighing `worst_share`
    against it, the loss when the place is seen and the best reply is played.
    """
    for i in range(out.size):
        likely, feared = 0.0, losses[i, 0]
        for k in range(shares.size):
            likely += losses[i, k] * shares[k]
        for k in range(1, losses.shape[1]):
            feared = max(feared, losses[i, k])
        out[i] = (1.0 - worst_share) * likely + worst_share * feared


@kernel
def best_place(wanted_small, places):  # type: ignore[no-untyped-def]
    """The middle of the places that are best within PLATEAU."""
    least = wanted_small[0]
    for i in range(1, places.size):
        least = min(least, wanted_small[i])
    first, last = -1, 0
    for i in range(places.size):
        if wanted_small[i] <= least + PLATEAU:
            first, last = (i if first < 0 else first), i
    return 0.5 * (places[first] + places[last])


@kernel
def choose_place(losses, shares, worst_share, places, room):  # type: ignore[no-untyped-def]
    """The best of the places for these losses and shares. Room to work in: (places,)."""
    weigh(losses, shares, worst_share, room)
    return best_place(room, places)


@kernel
def weigh_balls(balls, meetings, shares):  # type: ignore[no-untyped-def]
    """What balls cost in points a ball, as many for each of the shares, met as MEETING records.

    A ball that does not come back costs 1, one that does what the own reply is then worth; one
    that does not land in costs -1.
    """
    many, total = balls.shape[0] // shares.size, 0.0
    for i in range(balls.shape[0]):
        cost, met = -1.0, meetings[i]
        if balls[i].outcome == IN:
            replied = reply_cost(met.time_to_spare_s, -met.ball_y_m - HALF_LENGTH_M)
            cost = 1.0 - met.reply_chance * (1.0 - replied)
        total += shares[i // many] / many * cost
    return total


@kernel
def best_spot(costs, behind, across, room):  # type: ignore[no-untyped-def]
    """The best place and depth of costs (depths, places): the middle of the good depths, then the
    middle of the good places there. Room to work in: (depths,)."""
    for i in range(behind.size):
        room[i] = costs[i, 0]
        for j in range(1, across.size):
            room[i] = min(room[i], costs[i, j])
    depth = best_place(room, behind)
    near = 0
    for i in range(1, behind.size):
        if abs(behind[i] - depth) < abs(behind[near] - depth):
            near = i
    return best_place(costs[near], across), depth


@kernel
def cell(value, first, step, nodes):  # type: ignore[no-untyped-def]
    """The node below a value and the share of the way to the next, kept inside the grid."""
    place = min(max((value - first) / step, 0.0), nodes - 1.0)
    below = min(int(place), nodes - 2)
    return below, place - below


@kernel
def cell_of(c, side):  # type: ignore[no-untyped-def]
    """The first node around a CONTACT and the shares of the ways across and along.

    `side` is -1 where the court is mirrored.
    """
    i, across = cell(side * c.x_m, FIRST_X_M, STEP_X_M, NODES_X)
    j, along = cell(c.y_m, FIRST_Y_M, STEP_Y_M, NODES_Y)
    wing = 0 if c.wing == FOREHAND else 1
    return (wing * NODES_X + i) * NODES_Y + j, across, along


@kernel
def quality_cell(quality, qualities):  # type: ignore[no-untyped-def]
    """The tabulated quality below, and the share of the way to the next; 0 if there is one only."""
    if qualities.size == 1:
        return 0, 0.0
    return cell(quality, qualities[0], qualities[1] - qualities[0], qualities.size)


@kernel
def mark_missing(contacts, side, qualities, found, needed):  # type: ignore[no-untyped-def]
    """Mark the nodes around the contacts of which nothing was found yet: 1 in needed (qualities,
    nodes). How many marks were made."""
    marks = 0
    for i in range(contacts.shape[0]):
        first, _, _ = cell_of(contacts[i], side)
        k, _ = quality_cell(contacts[i].quality, qualities)
        for q in range(k, min(k + 2, qualities.size)):
            for node in (first, first + 1, first + NODES_Y, first + NODES_Y + 1):
                if found[q, node, 0] != found[q, node, 0]:  # NaN: not found yet
                    needed[q, node] = 1
                    marks += 1
    return marks


@kernel
def between_nodes(first, across, along, found, out):  # type: ignore[no-untyped-def]
    """Fill what lies between the nodes of `cell_of`, straight in both directions."""
    for m in range(out.size):
        near = found[first, m] * (1.0 - across) + found[first + NODES_Y, m] * across
        far = found[first + 1, m] * (1.0 - across) + found[first + NODES_Y + 1, m] * across
        out[m] = near * (1.0 - along) + far * along


@kernel
def look_up(c, side, qualities, found, room, out):  # type: ignore[no-untyped-def]
    """Fill what is best at a CONTACT from what was found at the nodes, (qualities, nodes, columns).

    The first column is a lateral place. Room to work in: (columns,).
    """
    first, across, along = cell_of(c, side)
    k, share = quality_cell(c.quality, qualities)
    between_nodes(first, across, along, found[k], out)
    if qualities.size > 1:
        between_nodes(first, across, along, found[k + 1], room)
        for m in range(out.size):
            out[m] = out[m] * (1.0 - share) + room[m] * share
    out[0] *= side


@kernel
def stand_by_table(contacts, side, qualities, found, line, room, out):  # type: ignore[no-untyped-def]
    """Fill spots on the line from a table of lateral places. Room to work in: (2, 1)."""
    for i in range(out.shape[0]):
        look_up(contacts[i], side, qualities, found, room[0], room[1])
        stand(room[1, 0], line, out[i])


@kernel
def stand_deep_by_table(contacts, side, qualities, found, effort, room, out):  # type: ignore[no-untyped-def]
    """Fill spots and efforts from a table of lateral places and depths. Room to work in: (2, 2)."""
    for i in range(out.shape[0]):
        look_up(contacts[i], side, qualities, found, room[0], room[1])
        stand_deep(room[1, 0], room[1, 1], effort, out[i])
