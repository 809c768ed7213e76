"""Further published figures: F1 to F8. Tolerances without a source are ours (assumed)."""

from __future__ import annotations

from experiments.evidence.validation import sources
from experiments.evidence.validation.estimates import Estimate
from experiments.evidence.validation.movement_rows import MAN, WITH_SERVE, WOMAN, Figures
from experiments.evidence.validation.rows import CHECK, Row, Source, about
from experiments.evidence.validation.stroke_figures import (
    landing_ellipse_m2,
    speed_at_baseline_km_h,
)

SHARE_TOLERANCE_PCT = 5.0
BOTH = (("a", "men", MAN), ("b", "women", WOMAN))


def further_rows(figures: Figures, seed: int, balls: int) -> list[Row]:
    """All of them, from the typical rallies and from `balls` single strokes."""
    return [
        *speeds(seed, balls),
        *clearances(figures),
        *mean_lengths(figures),
        *short_rallies(figures),
        landing_spread(seed, balls),
        *winners(figures),
        return_time(figures),
        unreturned_serves(figures),
    ]


def speeds(seed: int, balls: int) -> list[Row]:
    """F1: what flight and bounce leave of a forehand's speed."""
    published = {MAN: (60.0, (54.0, 67.0)), WOMAN: (54.0, (47.0, 61.0))}
    return [
        Row(
            f"F1{letter}",
            f"drive at far baseline, {who}, km/h",
            (published[level][0],),
            published[level][1],
            speed_at_baseline_km_h(level, seed, balls),
            CHECK,
            sources.KOVALCHIK,
            note="Tolerance: the range printed beside it. Read as the ground speed after the"
            " bounce, hard court; the usual forehand, 119 and 111 km/h off the racket in the same"
            " table.",
            if_low="too much drag or too much lost in the bounce, or a speed averaged over the"
            " path.",
            if_high="too little drag or too little lost in the bounce.",
        )
        for letter, who, level in BOTH
    ]


def clearances(figures: Figures) -> list[Row]:
    """F2: height over the net."""
    published = {MAN: (1.04, (0.91, 1.17)), WOMAN: (0.78, (0.65, 0.93))}
    return [
        Row(
            f"F2{letter}",
            f"forehand over the net, {who}, m",
            (published[level][0],),
            published[level][1],
            figures[level, "hard"].forehand_net_clearance_m(),
            CHECK,
            sources.KOVALCHIK,
            note="Tolerance: the range printed beside it. The table says metres and must mean"
            " centimetres; whether over the net where the ball passes or over its centre is not"
            " said. Ours: median, hard court, underside of the ball to the net below it, strokes"
            " that land in.",
            if_low="hitters aim with too small a margin over the net, or with too little topspin.",
            if_high="hitters aim with too large a margin over the net.",
        )
        for letter, who, level in BOTH
    ]


def mean_lengths(figures: Figures) -> list[Row]:
    """F3: mean strokes a rally."""
    two, men = sources.CARBOCH_BOTH, sources.CARBOCH_MEN
    cells = (
        ("a", "men, hard", MAN, "hard", 4.85, 0.48, two, "one sd between matches"),
        ("b", "women, hard", WOMAN, "hard", 4.47, 0.72, two, "one sd between matches"),
        ("c", "men, grass", MAN, "grass", 4.07, 0.5, men, "ours"),
    )
    return [
        _length(
            f"F3{letter}",
            f"mean strokes a rally, {who}",
            published,
            about(published, tolerance),
            figures[level, surface].mean_strokes(),
            source,
            f"Tolerance: {whose}.",
        )
        for letter, who, level, surface, published, tolerance, source, whose in cells
    ]


def short_rallies(figures: Figures) -> list[Row]:
    """F4: rallies of at most four strokes."""
    cells = (
        ("a", "men, hard", MAN, "hard", 60.0, sources.CARBOCH_BOTH),
        ("b", "women, hard", WOMAN, "hard", 60.0, sources.CARBOCH_BOTH),
        ("c", "men, grass", MAN, "grass", 66.0, sources.CARBOCH_MEN),
    )
    return [
        _length(
            f"F4{letter}",
            f"up to 4 strokes, {who}, %",
            published,
            about(published, SHARE_TOLERANCE_PCT),
            figures[level, surface].short_rallies_pct(4),
            source,
            f"Tolerance: {SHARE_TOLERANCE_PCT:g} points, ours. Share of rallies.",
            shorter_is_more=True,
        )
        for letter, who, level, surface, published, source in cells
    ]


def _length(
    key: str,
    quantity: str,
    published: float,
    accepted: tuple[float, float],
    ours: Estimate,
    source: Source,
    tolerance: str,
    shorter_is_more: bool = False,
) -> Row:
    short = "too many errors or winners once the rally is on."
    long = sources.TOO_FEW_UNRETURNED
    low, high = (long, short) if shorter_is_more else (short, long)
    note = f"{tolerance} Every strike counts. {WITH_SERVE}"
    return Row(
        key,
        quantity,
        (published,),
        accepted,
        ours,
        CHECK,
        source,
        note=note,
        if_low=low,
        if_high=high,
    )


def landing_spread(seed: int, balls: int) -> Row:
    """F5: scatter of forehands down the line."""
    return Row(
        "F5",
        "95 % landing ellipse, forehand, m2",
        (38.8, 55.5),
        (38.8, 55.5),
        landing_ellipse_m2("college-man", seed, balls),
        CHECK,
        sources.DELGADO,
        note="Two advanced players, 20 strokes each, so each area is known to about a quarter;"
        " forehands and backhands lie in this band. Ours: the usual forehand of a college player"
        " down the line, net balls counted where they would have landed.",
        if_low="execution errors assumed smaller than measured, or players below college level.",
        if_high="execution errors assumed larger than measured.",
    )


def winners(figures: Figures) -> list[Row]:
    """F6: points that end with a winner."""
    published = {MAN: 34.3, WOMAN: 31.0}
    return [
        Row(
            f"F6{letter}",
            f"points won by a winner, {who}, %",
            (published[level],),
            about(published[level], SHARE_TOLERANCE_PCT),
            figures[level, "hard"].winners_pct(),
            CHECK,
            sources.SACKMANN,
            note=f"Tolerance: {SHARE_TOLERANCE_PCT:g} points, ours. Whether aces count is not"
            " said. Ours: rallies ended by a ball that lands in and is not reached, hard court.",
            if_low="receivers reach more than in matches, or hitters err more.",
            if_high="receivers reach less than in matches, or hitters err less.",
        )
        for letter, who, level in BOTH
    ]


def return_time(figures: Figures) -> Row:
    """F7: how soon serves are returned."""
    return Row(
        "F7",
        "serve to return, men, s",
        (0.55, 0.66),
        (0.50, 0.71),
        figures[MAN, "hard"].serve_to_return_s(),
        CHECK,
        sources.KOVALCHIK,
        note="Tolerance: 0.05 s beyond the printed range, ours. Mean over served balls that are"
        " reached, first and second serves, hard court.",
        if_low="returners stand nearer, or serves are faster, than in matches.",
        if_high="returners wait for the ball to come down instead of blocking it on the rise, or"
        " stand too far back.",
    )


def unreturned_serves(figures: Figures) -> Row:
    """F8: points that end with the serve."""
    return Row(
        "F8",
        "points ended by the serve, men, %",
        (30.0,),
        about(30.0, SHARE_TOLERANCE_PCT),
        figures[MAN, "hard"].unreturned_serves_pct(),
        CHECK,
        sources.SERVED,
        note=f"Tolerance: {SHARE_TOLERANCE_PCT:g} points, ours. Aces, serves that are touched and"
        " returns that do not land in; men and women together in the source. Double faults, which"
        " are not played here, are left out.",
        if_low="serves too slow or too near to the returner, or returners who err too little.",
        if_high="serves too hard to return.",
    )
