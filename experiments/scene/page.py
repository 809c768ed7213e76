"""Pages of text for a player or coach: lines of one width, and the cautions of hard practice."""

from __future__ import annotations

from textwrap import fill

LINE_WIDTH = 104


def filled(text: str) -> str:
    """The text in lines of LINE_WIDTH; a name with a hyphen stays whole."""
    return fill(text, LINE_WIDTH, break_on_hyphens=False)


def caution(before: str) -> str:
    """What is said `before` something that can hurt, such as "you sprint for a test"."""
    return filled(
        f"These are results of a model, not of matches. Before {before}, warm up, build up over"
        " weeks, stop on pain, and ask a coach or a physician."
    )
