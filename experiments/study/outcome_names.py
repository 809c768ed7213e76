"""Names of the outcomes that a study reports."""

from __future__ import annotations

PLAIN = (
    "missed_per_100",
    "share_in_time",
    "set_per_100",
    "not_returned_per_100",
    "time_to_spare_s",
    "run_m",
)
OF_PLACES = ("spot_x_m", "reached_x_m", "shade_m_per_m")
OF_RALLIES = ("points_won_per_100", "strokes_per_rally")


def fewer_missed(than: str) -> str:
    return f"missed_fewer_than_{than}_per_100"


def more_returned(than: str) -> str:
    return f"returned_more_than_{than}_per_100"


def more_time(than: str) -> str:
    return f"time_to_spare_more_than_{than}_s"


def more_points(than: str) -> str:
    return f"points_more_than_{than}_per_100"


def outcome_names(rallies: bool, than: str, places: bool = True) -> tuple[str, ...]:
    """All outcomes of a study, those of whole rallies too if it plays some, and those of a first
    ball from a place if it has some."""
    compared = (fewer_missed(than), more_returned(than), more_time(than))
    plain = (*PLAIN, *OF_PLACES) if places else PLAIN
    if not rallies:
        return (*plain, *compared)
    return (*plain, *OF_RALLIES, *compared, more_points(than))
