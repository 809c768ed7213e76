"""How a stroke ends, and its STROKE record: one compiled pass over the strokes of a batch.

Compiled because the event engine writes one record at a time, where field by field in NumPy would
cost as much as playing the stroke.
"""

from __future__ import annotations

import math

from sim.compiled import kernel
from sim.records import FORCED_ERROR, GOING, IN, MISSED, STUDIED, UNFORCED_ERROR, UNRETURNED, WINNER

# An error counts as forced when the hitter could bring less than this quality to the ball.
FORCED_BELOW_QUALITY = 0.5


@kernel
def ending_of(quality, outcome, grade, returned):  # type: ignore[no-untyped-def]
    """How a stroke struck with that quality ended the rally, or GOING.

    A ball that lands in and is missed is a winner. One that is reached but does not come back off
    the racket is unreturned: a chart counts a forced error of the receiver. A ball that does not
    land in is an error, forced where the hitter's quality at the ball was below
    FORCED_BELOW_QUALITY.
    """
    if outcome == IN:
        if grade == MISSED:
            return WINNER
        return GOING if returned else UNRETURNED
    return FORCED_ERROR if quality < FORCED_BELOW_QUALITY else UNFORCED_ERROR


@kernel
def write_strike(own, contact, out):  # type: ignore[no-untyped-def]
    """Who strikes, where and how well; `own` turns the hitter's frame into the studied one's."""
    out.hitter_x_m, out.hitter_y_m, out.hitter_z_m = (
        own * contact.x_m,
        own * contact.y_m,
        contact.z_m,
    )
    out.hitter_wing, out.hitter_quality = contact.wing, contact.quality


@kernel
def write_receiver(turn, body, spot, run_m, effort, out):  # type: ignore[no-untyped-def]
    """Where the receiver is at the strike, the spot aimed at, and the run there."""
    out.receiver_x_m, out.receiver_y_m = turn * body.x_m, turn * body.y_m
    out.receiver_vx_m_s, out.receiver_vy_m_s = turn * body.vx_m_s, turn * body.vy_m_s
    out.spot_x_m, out.spot_y_m = turn * spot[0], turn * spot[1]
    out.recovery_run_m, out.recovery_effort = run_m, effort


@kernel
def write_ball(turn, ball, out):  # type: ignore[no-untyped-def]
    """The ball's speed, its way over the net and where it landed."""
    vx, vy, vz = ball.vx_m_s, ball.vy_m_s, ball.vz_m_s
    out.speed_m_s = math.sqrt(vx * vx + vy * vy + vz * vz)
    out.outcome, out.net_clearance_m, out.kind = ball.outcome, ball.net_clearance_m, ball.kind
    out.landing_time_s = ball.landing_time_s
    out.landing_x_m, out.landing_y_m = turn * ball.landing_x_m, turn * ball.landing_y_m


@kernel
def write_meeting(turn, meeting, lost, out):  # type: ignore[no-untyped-def]
    """How the receiver met the ball; NaN (blank) where the ball was `lost`: nobody could."""
    out.grade, out.split_delay_s = meeting.grade, meeting.split_delay_s
    blank = math.nan if lost else 0.0
    out.meeting_time_s = meeting.time_s + blank
    out.meeting_x_m = turn * meeting.ball_x_m + blank
    out.meeting_y_m = turn * meeting.ball_y_m + blank
    out.meeting_z_m = meeting.ball_z_m + blank
    out.body_x_m = turn * meeting.body_x_m + blank
    out.body_y_m = turn * meeting.body_y_m + blank
    out.time_to_spare_s = meeting.time_to_spare_s + blank
    out.set_time_to_spare_s = meeting.set_time_to_spare_s + blank
    out.reply_quality, out.chase_run_m = meeting.quality + blank, meeting.run_m + blank
    out.reply_chance = meeting.reply_chance + blank


@kernel
def write_strokes(  # type: ignore[no-untyped-def]
    replicates,
    strokes,
    hitter,
    times,
    contacts,
    bodies,
    spots,
    runs,
    efforts,
    guesses,
    starts,
    draws,
    balls,
    meetings,
    out,
):
    """Fill the STROKE records `out`: stroke number `strokes[i]` of rally i, struck by `hitter`.

    Contacts are in the hitter's own frame; bodies, spots, balls and meetings in the receiver's.
    """
    own = 1.0 if hitter == STUDIED else -1.0
    for i in range(out.shape[0]):
        row, ball, meeting = out[i], balls[i], meetings[i]
        row.replicate, row.stroke, row.side = replicates[i], strokes[i], hitter
        row.strike_time_s = times[i]
        write_strike(own, contacts[i], row)
        write_receiver(-own, bodies[i], spots[i], runs[i], efforts[i], row)
        write_ball(-own, ball, row)
        write_meeting(-own, meeting, ball.outcome != IN, row)
        row.guess_s, row.start_vx_m_s = guesses[i], -own * starts[i] + 0.0
        returned = draws[i] < meeting.reply_chance
        row.ending = ending_of(contacts[i].quality, ball.outcome, meeting.grade, returned)
