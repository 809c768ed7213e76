"""What a level is: the kind of record that sim.levels holds, and the sources that levels share."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from sim.ball import USUAL_BALL
from sim.parameter import CALIBRATED, RECORD
from sim.preset import Own, Preset, owned

KM_H = 1 / 3.6
# This share of a level's value to both sides, where the level does not say its range (assumed).
SPREAD = {
    "braking_m_s2": 0.27,
    "comfortable_reach_m": 0.10,
    "overhead_reach_m": 0.05,
    "full_reach_m": 0.09,
    "best_low_m": 0.08,
    "best_high_m": 0.07,
    "haste_per_s": 0.33,
    "first_serve_m_s": 0.08,
    "second_serve_m_s": 0.08,
    "first_serve_in": 0.12,
    "second_serve_in": 0.08,
    "first_serve_topspin_rpm": 0.40,
    "second_serve_topspin_rpm": 0.40,
    "serve_width_spread_m": 0.40,
    "serve_depth_spread_m": 0.40,
    "serve_body_share": 0.50,
    "serve_height_m": 0.05,
    "forehand_speed_m_s": 0.08,
    "backhand_speed_m_s": 0.08,
    "forehand_topspin_rpm": 0.20,
    "backhand_topspin_rpm": 0.20,
    "direction_sd_deg": 0.20,
    "depth_sd_m": 0.20,
    "waits_behind_m": 0.40,
}


@dataclass(frozen=True)
class Level(Preset):
    """One level: its values, the body that they belong to, and what it plays with and where.

    `height_m` is the body height to which reach and contact heights belong, `ball` the ball's name
    in sim.ball, `waits_on` the waiting depth (m) on a surface where it is not the usual one.
    """

    height_m: Own = field(kw_only=True)
    ball: str = USUAL_BALL
    waits_on: Mapping[str, Own] = field(default_factory=dict)


def level(
    name: str,
    height_m: Own,
    ball: str = USUAL_BALL,
    waits_on: Mapping[str, Own] | None = None,
    serves: Mapping[str, Own] | None = None,
    plays: Mapping[str, Own] | None = None,
    **values: float | Own,
) -> Level:
    own = owned({"overhead_reach_m": overhead(height_m.value), **values})
    own |= dict(serves or {}) | dict(plays or {})
    return Level(name, own, SPREAD, height_m=height_m, ball=ball, waits_on=waits_on or {})


def km_h(value: float, low: float, high: float, source: str, status: str = "assumed") -> Own:
    """A speed and the ends of its range, given in km/h."""
    return Own(value * KM_H, low * KM_H, high * KM_H, source, status)


def shown(speed_km_h: float) -> Own:
    """A usual speed of professionals, km/h."""
    return Own(speed_km_h * KM_H, source=KOVALCHIK, status="published")


def tall(height_m: float) -> Own:
    """A body height that was only thought fitting."""
    return Own(height_m, 0.95 * height_m, 1.05 * height_m, "no figure looked up", "assumed")


def grown(height_m: float, who: str) -> Own:
    """A body height from growth charts."""
    source = f"near the middle of growth charts for {who}"
    return Own(height_m, 0.92 * height_m, 1.08 * height_m, source, "memory")


def between(value: float, low: float, high: float, levels: str) -> Own:
    """A value for which nothing was found, set between two levels."""
    return Own(value, low, high, BETWEEN.format(levels), "assumed")


def between_km_h(value: float, low: float, high: float, levels: str) -> Own:
    """A speed for which nothing was found, km/h, set between two levels."""
    return km_h(value, low, high, BETWEEN.format(levels))


def like(value: float, level: str) -> Own:
    """A value for which nothing was found, set beside another level's; the usual spread."""
    return Own(value, source=LIKE.format(level), status="assumed")


def scaled(value: float, level: str) -> Own:
    """A length of the body, scaled from another level's; the usual spread."""
    return Own(value, source=SCALED.format(level), status="assumed")


def overhead(height_m: float) -> Own:
    """The highest ball that is met before its bounce, from body height."""
    return Own(1.5 * height_m, source=RAISED, status="memory")


def sprint(value: float, low: float, high: float, who: str) -> Own:
    """Top speed or time constant that was fitted to sprint times of national juniors."""
    return Own(value, low, high, SPRINT_FIT, "fitted", f"sprint times of {who}, BJSM 2014")


def careless(value: float, low: float, high: float) -> Own:
    """Margins of aim that were fitted to how often boys under 14 err."""
    return Own(value, low, high, ERROR_SHARE, "fitted", ERROR_FIGURES)


def first_serve(speed_km_h: float, fastest: str) -> Own:
    """A usual first serve of juniors, km/h, from the fastest one in a test."""
    return km_h(speed_km_h, 0.89 * speed_km_h, 1.11 * speed_km_h, FASTEST_SERVE.format(fastest))


def of_record(value: float, low: float | None = None, high: float | None = None) -> Own:
    """A value that was fitted, together with others, to the record of professional men."""
    return Own(value, low, high, CALIBRATED, "fitted", RECORD)


def as_played(share: float, *figures: str) -> Own:
    """The unhurried wish over the usual speed: fitted to `figures`, else thought fitting."""
    if figures:
        source = "fitted to the median speeds of strokes as played (Kovalchik and Reid 2017)"
        return Own(share, share - 0.05, share + 0.05, source, "fitted", "; ".join(figures))
    return Own(share, 1.0, share + 0.05, RALLY_SPEEDS, "assumed")


def playing(
    slices: float, drop_shots: float, approaches: float, lobs: float, fitted_to: str = ""
) -> dict[str, Own]:
    """How often a level plays what it could leave: shares as in sim.repertoire.

    With `fitted_to` they were set so that rallies have the charted shares of these strokes.
    """
    shares = {
        "slice_share": slices,
        "drop_share": drop_shots,
        "approach_share": approaches,
        "lob_share": lobs,
    }
    said = (CHARTED, "fitted", fitted_to) if fitted_to else (PLAYED, "assumed", "")
    return {n: Own(v, 0.5 * v, min(1.6 * v, 0.95), *said) for n, v in shares.items()}


def serving(
    height_m: float,
    lands: tuple[float | Own, float | Own],
    topspin_rpm: tuple[float, float],
    spread_m: tuple[float, float],
    body_share: float = 0.15,
) -> dict[str, Own]:
    """How a level serves: (first, second) shares in and topspins, spread (across, along).

    The ball is met at half as much again as `height_m`, the height of the body.
    """
    first, second = (v if isinstance(v, Own) else _served(v) for v in lands)
    reached = Own(round(1.5 * height_m, 2), source=SERVED_FROM, status="memory")
    return {
        "first_serve_in": first,
        "second_serve_in": second,
        "first_serve_topspin_rpm": _served(topspin_rpm[0]),
        "second_serve_topspin_rpm": _served(topspin_rpm[1]),
        "serve_width_spread_m": _served(spread_m[0]),
        "serve_depth_spread_m": _served(spread_m[1]),
        "serve_body_share": _served(body_share),
        "serve_height_m": reached,
    }


def _served(value: float) -> Own:
    return Own(value, source=SERVED, status="assumed")


def second_serve(speed_km_h: float) -> Own:
    """A usual second serve, km/h, from the first one."""
    return km_h(speed_km_h, 0.89 * speed_km_h, 1.11 * speed_km_h, SECOND_SERVE)


KOVALCHIK = "Kovalchik and Reid 2017, JSSM 16, 489"
BATTERY = (
    "national juniors, German federation's battery (Fernandez-Fernandez et al. 2014, BJSM 48"
    " Suppl 1)"
)
SPRINT_FIT = f"mean times over 10 and 20 m, clock 0.25 s after the push-off; {BATTERY}"
ERROR_SHARE = "so that an error ends as many strokes as in matches of national boys under 14"
ERROR_FIGURES = "errors in 16.5 % of strokes, 8 boys under 14, Int. J. Sports Sci. Coaching 2017"
SERVE_SHARE = "; near two thirds of the serve, as in the radar survey of club-man's source"
FASTEST_SERVE = f"no usual speed found; nine tenths of the fastest in a test, {{}}; {BATTERY}"
RALLY_SPEEDS = (
    "no figure found; usual speeds are of rallies here too, and lateness takes about a twentieth"
)
SERVED = "no figure found; in order of level between professionals and beginners"
CHARTED = "Match Charting Project, shares of strokes, professionals (computed)"
PLAYED = "no figure found; beside professionals' charted shares"
SERVED_FROM = "half as much again as the height of the body, from memory of studies of servers"
MEN_IN = (
    Own(0.62, 0.58, 0.66, "professional men, first serves in, from memory", "memory"),
    Own(0.91, 0.88, 0.94, "double faults in 3-4 of 100 service points, from memory", "memory"),
)
WOMEN_IN = (
    Own(0.61, 0.57, 0.65, "professional women, first serves in, from memory", "memory"),
    Own(0.88, 0.84, 0.92, "double faults in about 5 of 100 service points, from memory", "memory"),
)
BOYS_IN = Own(
    0.546,
    0.48,
    0.61,
    "8 national boys under 14, hard, Int. J. Sports Sci. Coaching 2017, 1747954117727792",
    "published",
)
SECOND_SERVE = "no figure found; four fifths of the first serve, as at other levels"
BETWEEN = "no figure found; between {}"
LIKE = "no figure found; like {}"
RAISED = "1.5 times body height: the raised arm and the racket"
SCALED = "no figure found; {}'s, the body's part scaled with body height"
FEMALE_RATIO = "no figure found; nine tenths of club-man, as professional women of men here"
GUESSED = "no figure found; remembered guesses of rally speed, {}"
CLUB_MEN = (
    "no figure of club men found; between boys of a high school, {}, and college men, {} km/h"
    " (informal radar survey, research blog, 2007)"
)
SLOWER_SPRINT = (
    "second hand: 5-7 % of sprint speed lost per decade, more from 65 on (Korhonen, Mero and"
    " Suominen 2003, master sprinters); 0.80-0.85 of club-adult"
)
SLOWER_CHOICE = "choice reaction from 65 on takes 0.04-0.08 s more than club-adult's"
STIFF = "no figure found; a little less than club-adult's scaled with body height"
JUNIOR_FIT = "fitted between the published U14 and U16 sprint times"
JUNIOR_FIGURES = "sprint times of boys under 14 and under 16, BJSM 2014"
ADULT_HIGH = Own(2.30, 2.1, 2.7)
