"""The rows of ball and court: B1 to B12."""

from __future__ import annotations

from experiments.evidence.validation import ball, exactness, sources
from experiments.evidence.validation.estimates import exact
from experiments.evidence.validation.rows import CHECK, INPUT, VERIFICATION, Row, Source, about
from sim.ball import BALLS
from sim.surface import SURFACES, court_pace_rating


def physics_rows() -> list[Row]:
    """All of them, in order."""
    return [*ball_and_air(), *mathematics(), *bounce_and_flight(), *pace(), *laws(), *solver()]


def ball_and_air() -> list[Row]:
    """B1 to B3."""
    bands = {"medium": (1.35, 1.47), "high-altitude": (1.22, 1.35)}
    rebounds = [
        Row(
            f"B1{letter}",
            f"rebound, {kind} ball, m",
            band,
            band,
            exact(ball.rebound_m(BALLS[kind])),
            INPUT,
            sources.RULES,
            note="Dropped from 2.54 m. The floor's restitution of 0.77 brings the medium ball to"
            " the middle of its band.",
        )
        for letter, (kind, band) in zip("ab", bands.items(), strict=True)
    ]
    drag, density = 0.0363, 1.197
    return [
        *rebounds,
        Row(
            "B2",
            "drag factor of a 57 g ball, 1/m",
            (drag,),
            about(drag, 0.005 * drag),
            exact(ball.drag_factor_per_m()),
            INPUT,
            sources.BRODY,
        ),
        Row(
            "B3",
            "air at 70 F, 30 inHg, 50 %, kg/m3",
            (density,),
            about(density, 0.001 * density),
            exact(ball.warm_day_density_kg_m3()),
            CHECK,
            sources.CROSS,
        ),
    ]


def mathematics() -> list[Row]:
    """B4 to B6."""
    speed, closed = exactness.terminal_speed_m_s()
    return [
        _error(
            "B4",
            "drag alone, largest relative error",
            max(exactness.drag_alone_error(d) for d in (5.0, 12.0, 24.0)),
            1e-3,
            sources.BRODY,
        ),
        _error(
            "B5",
            "parabola without air, error, m or s",
            max(exactness.parabola_error(angle) for angle in (-5.0, 10.0, 45.0, 80.0)),
            1e-6,
            sources.CLOSED,
        ),
        Row(
            "B6",
            "terminal speed of a fall, m/s",
            (closed,),
            about(closed, 0.001 * closed),
            exact(speed),
            VERIFICATION,
            sources.CLOSED,
        ),
    ]


def bounce_and_flight() -> list[Row]:
    """B7 to B9."""
    clay = SURFACES["clay"]
    whole = 100 * ball.loss_of_speed(clay)
    flattest, steepest = ball.serve_window_deg(as_point=True)
    return [
        Row(
            "B7",
            "ground speed lost on clay, %",
            (43.0,),
            about(43.0, 5.0),
            exact(100 * ball.loss_of_ground_speed(clay)),
            CHECK,
            sources.PRESS,
            note="Spinless, 30 m/s, 16 degrees. The report does not say whether it means the"
            f" ground speed or the whole speed, of which ours loses {whole:.1f} %.",
            if_low="the friction chosen for the pace of the default clay lets this ball slide; a"
            " clay in the range in use on which it grips loses as much as reported.",
            if_high="the default clay's friction or the rebound of a gripping ball.",
        ),
        Row(
            "B8",
            "weather and ball move a drive, m",
            (1.8,),
            about(1.8, 0.25 * 1.8),
            exact(ball.worst_shift_m()),
            CHECK,
            sources.CROSS,
            note="The worst stack. Extremes of weather are ours: 50 to 90 F, 29 to 31 inHg, dry to"
            " saturated.",
            if_low="the extremes of weather assumed here, or the level of drag.",
            if_high="the extremes of weather assumed here, or the level of drag.",
        ),
        _serve("B9a", "134 mph serve is in from, degrees", 7.3, flattest),
        _serve("B9b", "134 mph serve is in to, degrees", 8.7, steepest),
        _serve("B9c", "the same with the ball's radius", 8.5, ball.serve_window_deg(False)[1]),
    ]


def _serve(key: str, quantity: str, published: float, ours: float) -> Row:
    cause = "the contact height, which is inferred, or the level of drag."
    return Row(
        key,
        quantity,
        (published,),
        about(published, 0.15),
        exact(ours),
        CHECK,
        sources.SLIDES,
        note="Below the horizontal, from about 2.95 m, over a net of 0.914 m.",
        if_low=cause,
        if_high=cause,
    )


def pace() -> list[Row]:
    """B10: arithmetic of the formula at 23 degrees Celsius."""
    figures = {(0.5, 0.75): 59.0, (0.6, 0.83): 37.0, (0.75, 0.85): 19.0}
    return [
        Row(
            f"B10{letter}",
            f"pace rating, mu {mu:g}, e {e:g}",
            (rating,),
            about(rating, 1e-9),
            exact(court_pace_rating(mu, e)),
            INPUT,
            sources.PACE,
        )
        for letter, ((mu, e), rating) in zip("abc", figures.items(), strict=True)
    ]


def laws() -> list[Row]:
    """B11."""
    growth = max(exactness.energy_growth_j_kg(name) for name in SURFACES)
    return [
        Row(
            "B11a",
            "largest growth of energy, J/kg",
            (0.0,),
            (float("-inf"), 0.0),
            exact(growth),
            VERIFICATION,
            sources.MECHANICS,
        ),
        _error(
            "B11b",
            "mirrored flight, difference",
            exactness.mirror_difference(),
            0.0,
            sources.MECHANICS,
        ),
        Row(
            "B11c",
            "order of the integrator by halving",
            (4.0,),
            about(4.0, 0.35),
            exact(exactness.order_of_the_integrator()),
            VERIFICATION,
            sources.MECHANICS,
        ),
    ]


def solver() -> list[Row]:
    """B12."""
    place_m, time_s = exactness.solver_errors()
    return [
        _error("B12a", "place at the bounce, error, mm", 1e3 * place_m, 1.0, sources.SOLVER),
        _error("B12b", "time at the bounce, error, ms", 1e3 * time_s, 0.1, sources.SOLVER),
    ]


def _error(key: str, quantity: str, ours: float, most: float, source: Source) -> Row:
    """A verification: an error that is at most `most`."""
    return Row(key, quantity, (0.0,), (0.0, most), exact(ours), VERIFICATION, source)
