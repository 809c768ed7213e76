"""A player's legs and reach: how soon a place is reached, and what a comfortable ball is.

A sprint follows v(t) = vmax (1 - exp(-t/tau)) (Furusawa, Hill and Parkinson 1927, as in Clark
2017). With a velocity at the start, full effort reaches a disc whose centre drifts with the fading
velocity (Fujimura and Sugihara 2005, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from sim.errors import InputError
from sim.over_arrays import expm1_of
from sim.parameter import calibrated, parameter, require_finite_parameters
from sim.records import record, record_type
from sim.running_times import fill_times

TABLE_NODES = 1201
TABLE_STEP_M = 0.03
COMES_IN_OVER_M = 3.0  # from no reason to come in to coming in all the way
OVERHEAD_FADE_M = 0.3  # below the highest ball that is met before its bounce
FOREHAND_SIDE, BACKHAND_SIDE = 0, 1
TABLE = np.dtype([("slow", "i8"), ("reach_m", "f8", 2), ("time_s", "f8", (2, TABLE_NODES))])

LEGS = record_type(
    "reaction_s",
    "split_gain_s",
    "split_half_speed_m_s",
    "top_speed_m_s",
    "tau_s",
    "braking_m_s2",
    "comfortable_reach_m",
    "forehand_reach_m",
    "backhand_reach_m",
    "best_low_m",
    "best_high_m",
    "fade_low_m",
    "fade_high_m",
    "playable_low_m",
    "playable_high_m",
    "rise_cost",
    "ease_centre_s",
    "ease_width_s",
    "easy_pace_m_s",
    "pace_half_m_s",
    "haste_per_s",
    "return_haste_share",
    "control_time_s",
    "control_reach_loss",
    "control_height_loss",
    "follow_through_s",
    "recovery_effort",
    "hurried_effort",
    "ready_speed_m_s",
    "run_on_share",
    "guess_share",
    "guess_half_m",
    "guess_right_share",
    "guess_gain_s",
    "guess_loss_s",
    "early_share",
    "early_half_m_s",
    "start_speed_m_s",
    "backhand_side_speed",
    "backward_speed",
    "volley_zone_m",
    "net_distance_m",
    "comes_in_within_m",
    "run_through_s",
    "hand",
)


@dataclass(frozen=True)
class Legs:
    """Movement, reach and comfortable heights of one player.

    Raises:
        InputError: a value that is not finite, negative, or a speed or time of zero.
    """

    reaction_s: float = parameter(
        0.20,
        "s",
        "opponent's strike to first push",
        low=0.15,
        high=0.40,
        source="0.14-0.16 s after contact in Triolet et al. 2013; level values assumed",
    )
    split_gain_s: float = parameter(
        0.10,
        "s",
        "extra reaction without a split step",
        low=0.05,
        high=0.15,
        source="Uzu, Shinya and Oda 2009",
        status="published",
    )
    split_half_speed_m_s: float = parameter(
        1.5, "m/s", "speed at the strike that loses half of the split step", low=0.8, high=2.5
    )
    top_speed_m_s: float = parameter(7.5, "m/s", "top sprint speed", low=4.2, high=8.5)
    tau_s: float = parameter(0.85, "s", "time constant of the sprint", low=0.7, high=1.1)
    braking_m_s2: float = parameter(5.0, "m/s2", "deceleration before a stroke", low=1.8, high=7.0)
    settled_speed_m_s: float = parameter(
        1.5, "m/s", "speed at which a stroke counts as settled", low=0.5, high=2.5
    )
    comfortable_reach_m: float = parameter(
        0.85,
        "m",
        "body to ball, unhurried",
        low=0.65,
        high=1.0,
        source="body segment ratios",
        status="memory",
    )
    full_reach_m: float = parameter(
        1.6,
        "m",
        "body to ball at full stretch, forehand",
        low=1.2,
        high=1.8,
        source="body segment ratios",
        status="memory",
    )
    two_handed_loss_m: float = parameter(
        0.25, "m", "full reach lost by a two-handed backhand", low=0.2, high=0.3
    )
    best_low_m: float = parameter(
        0.95, "m", "lower edge of the best contact height", low=0.65, high=1.1
    )
    best_high_m: float = parameter(
        1.5, "m", "upper edge of the best contact height", low=1.05, high=1.6
    )
    fade_low_m: float = parameter(
        0.25, "m", "metres below the best height that halve the comfort", low=0.15, high=0.4
    )
    fade_high_m: float = parameter(
        0.20, "m", "metres above the best height that halve the comfort", low=0.1, high=0.4
    )
    playable_low_m: float = parameter(
        0.10, "m", "lowest ball that can be played", low=0.05, high=0.2
    )
    playable_high_m: float = parameter(
        2.30, "m", "highest ball that can be played from the ground", low=1.8, high=2.7
    )
    rise_cost: float = parameter(
        0.4, "1", "share of comfort lost on a steeply rising ball", low=0.1, high=0.6
    )
    ease_centre_s: float = calibrated(
        -0.25,
        "s",
        "time to spare for a settled stroke that halves the quality",
        low=-0.25,
        high=-0.05,
    )
    ease_width_s: float = parameter(
        0.12, "s", "how gradually quality fades with time to spare", low=0.06, high=0.2
    )
    easy_pace_m_s: float = parameter(
        16.0,
        "m/s",
        "ground speed after the bounce up to which a ball is as easy as any",
        low=13.0,
        high=19.0,
        source="near that of a professional's drive (F1)",
    )
    pace_half_m_s: float = parameter(
        10.0,
        "m/s",
        "ground speed beyond that which halves the comfort",
        low=7.0,
        high=20.0,
        source="share of points ended by the serve",
        status="fitted",
        fitted_to="F8",
    )
    haste_per_s: float = parameter(
        0.35,
        "1/s",
        "worth of the reply given up to meet the ball a second earlier",
        low=0.1,
        high=0.8,
    )
    return_haste_share: float = parameter(
        4.0, "1", "haste at the return of a serve over that in a rally", low=1.0, high=8.0
    )
    return_step_m: float = parameter(
        0.5, "m", "how much nearer to the net than in a rally serves are awaited", low=0.0, high=2.0
    )
    second_return_step_m: float = parameter(
        1.0, "m", "how much nearer still a second serve is awaited", low=0.0, high=2.5
    )
    control_time_s: float = calibrated(
        0.035,
        "s",
        "time to spare at which 63 of 100 reached balls come back (see sim.reply); 0: all do",
        low=0.02,
        high=0.12,
    )
    control_reach_loss: float = parameter(
        0.15, "1", "share of replies lost at full stretch", low=0.0, high=0.3
    )
    control_height_loss: float = parameter(
        0.15, "1", "share of replies lost at a height without comfort", low=0.0, high=0.3
    )
    follow_through_s: float = calibrated(
        0.50,
        "s",
        "own contact to the first recovery step, a look after the own ball with it",
        low=0.1,
        high=0.5,
    )
    recovery_effort: float = calibrated(
        0.70,
        "1",
        "share of full effort while recovering with time in hand",
        low=0.25,
        high=1.0,
    )
    hurried_effort: float = calibrated(
        0.85,
        "1",
        "most effort of a recovery that is short of time",
        low=0.35,
        high=1.0,
    )
    spot_spread_m: float = parameter(
        0.0,
        "m",
        "how far off the spot meant a recovery aims, sideways and in depth, one standard deviation",
        low=0.0,
        high=1.2,
    )
    ready_speed_m_s: float = parameter(
        1.0,
        "m/s",
        "speed to which a recovery slows for the split step; 9: it never slows for that",
        low=0.0,
        high=2.0,
        source="that players split is published (Uzu, Shinya and Oda 2009), the speed is assumed",
    )
    run_on_share: float = calibrated(
        0.43,
        "1",
        "share of the mean speed that the way to the spot asks for, kept at the strike besides",
        low=0.0,
        high=0.6,
    )
    guess_share: float = parameter(
        0.30,
        "1",
        "share of strokes that a player far from the own spot answers by a guess",
        low=0.2,
        high=0.5,
        source="anticipation in 6-13 % of situations, nearly all in trouble (Triolet et al. 2013)",
        status="fitted",
        fitted_to="guesses in 6-13 % of strokes",
    )
    guess_half_m: float = parameter(
        1.5, "m", "distance from the own spot that halves that share", low=0.8, high=3.0
    )
    guess_right_share: float = parameter(
        0.7, "1", "share of guesses to the right side", low=0.5, high=0.9
    )
    guess_gain_s: float = parameter(
        0.15, "s", "reaction saved by a right guess", low=0.05, high=0.25
    )
    guess_loss_s: float = parameter(
        0.15, "s", "reaction added by a wrong guess", low=0.05, high=0.3
    )
    early_share: float = parameter(
        0.2,
        "1",
        "share of starts before the strike at balls that ask for any speed, wherever one stands",
        low=0.0,
        high=0.8,
        source="anticipation in 6-13 % of situations, nearly all in trouble (Triolet et al. 2013)",
        status="fitted",
        fitted_to="guesses in 6-13 % of strokes",
    )
    early_half_m_s: float = parameter(
        5.0, "m/s", "mean speed of the run asked for that halves that share", low=3.5, high=6.0
    )
    start_speed_m_s: float = parameter(
        2.0, "m/s", "speed at the strike of a start toward a ball far aside", low=1.0, high=2.5
    )
    backhand_side_speed: float = parameter(
        1.0,
        "1",
        "speed toward the backhand side over the forehand side",
        low=0.95,
        high=1.0,
        source="4-5 % slower in a tennis shuttle run (BJSM 2014); an option, off by default",
        status="published",
    )
    backward_speed: float = parameter(
        1.0, "1", "speed backward over forward; an option, off by default", low=0.7, high=1.0
    )
    volley_zone_m: float = parameter(
        7.0,
        "m",
        "distance from the net at which no ball is met before its bounce any more; at two thirds of"
        " it, and nearer, volleys are as easy as anywhere; 0: no volleys",
        low=5.5,
        high=8.0,
    )
    volley_low_m: float = parameter(
        0.80, "m", "lower edge of the best heights of a volley, near the net's", low=0.6, high=1.0
    )
    volley_fade_low_m: float = parameter(
        0.35, "m", "metres below that which halve the comfort", low=0.2, high=0.5
    )
    overhead_reach_m: float = parameter(
        2.75,
        "m",
        "highest ball that is met before its bounce; hard from three tenths of a metre below",
        low=2.0,
        high=3.0,
        source="1.5 times body height: the raised arm and the racket",
        status="memory",
    )
    volley_pace_m_s: float = parameter(
        20.0,
        "m/s",
        "ground speed before the bounce up to which a volley is as easy as any",
        low=15.0,
        high=25.0,
    )
    volley_swing_s: float = parameter(
        0.12, "s", "time to settle that a volley's short swing spares", low=0.0, high=0.2
    )
    net_distance_m: float = calibrated(
        3.9, "m", "distance from the net of a player who has come in", low=2.2, high=4.0
    )
    comes_in_within_m: float = parameter(
        7.0,
        "m",
        "own contact so far from the net, or farther, is no reason to come in; three metres nearer"
        " the player goes all the way; 0: never comes in",
        low=5.5,
        high=8.5,
    )
    run_through_s: float = parameter(
        0.10, "s", "follow-through of a player who comes in", low=0.0, high=0.3
    )
    hand: str = "right"
    two_handed_backhand: bool = True

    def __post_init__(self) -> None:
        require_finite_parameters(self)
        for name in (
            "top_speed_m_s",
            "tau_s",
            "braking_m_s2",
            "backhand_side_speed",
            "backward_speed",
            "ease_width_s",
            "pace_half_m_s",
            "fade_low_m",
            "fade_high_m",
            "split_half_speed_m_s",
            "recovery_effort",
            "early_half_m_s",
        ):
            if getattr(self, name) <= 0:
                raise InputError(f"Legs.{name} is {getattr(self, name)!r}; it must be above 0")
        if self.hand not in ("right", "left"):
            raise InputError(f"hand is {self.hand!r}; it must be 'right' or 'left'")

    @property
    def backhand_reach_m(self) -> float:
        """Full reach on the backhand side."""
        return self.full_reach_m - self.two_handed_loss_m * self.two_handed_backhand

    @cached_property
    def numbers(self) -> np.ndarray:
        """The legs as two LEGS records: for a ball after its bounce, for a volley.

        A volley has its own heights, pace and time to settle; the running is the same.
        """
        names = [n for n in LEGS.names or () if n not in ("forehand_reach_m", "hand")]
        values = {name: float(getattr(self, name)) for name in names}
        values["hand"] = 1.0 if self.hand == "right" else -1.0
        values["forehand_reach_m"] = self.full_reach_m
        volley = {
            "best_low_m": self.volley_low_m,
            "fade_low_m": self.volley_fade_low_m,
            "best_high_m": self.overhead_reach_m - OVERHEAD_FADE_M,
            "fade_high_m": OVERHEAD_FADE_M,
            "playable_high_m": self.overhead_reach_m,
            "rise_cost": 0.0,
            "easy_pace_m_s": self.volley_pace_m_s,
            "ease_centre_s": self.ease_centre_s - self.volley_swing_s,
        }
        out = np.concatenate([record(LEGS, **values), record(LEGS, **{**values, **volley})])
        out.setflags(write=False)
        return out

    @cached_property
    def times(self) -> np.ndarray:
        """Running times from rest to a ball, as two TABLE records: full reach, settled stroke.

        The first is for arriving at full speed with full reach, the second for comfortable reach,
        slowed to `settled_speed_m_s` on arrival. Each holds the reach and the times by side (that
        of the forehand, of the backhand). The times go by the length of the tangent from the ball
        to the circle of reach, sqrt(distance^2 - reach^2), in steps of TABLE_STEP_M: over that
        they are smooth from the circle on, and linear between the nodes is within 20 microseconds.
        """
        out = np.zeros(2, TABLE)
        out["slow"] = self.backhand_side_speed != 1.0 or self.backward_speed != 1.0
        reaches = [[self.full_reach_m, self.backhand_reach_m], [self.comfortable_reach_m] * 2]
        sprint = float(self.top_speed_m_s), float(self.tau_s), float(self.braking_m_s2)
        times = np.empty(TABLE_NODES)
        for row, slowed_to in enumerate((np.inf, float(self.settled_speed_m_s))):
            for side, reach in enumerate(reaches[row]):
                fill_times(float(reach), TABLE_STEP_M, *sprint, slowed_to, times)
                out[row]["reach_m"][side] = reach
                out[row]["time_s"][side] = times
        out.setflags(write=False)
        return out

    def distance_run_m(self, time_s: np.ndarray | float) -> np.ndarray:
        """Distance from rest at full effort after `time_s`."""
        t = np.asarray(time_s, float)
        return np.asarray(self.top_speed_m_s * (t + self.tau_s * expm1_of(-t / self.tau_s)))
