"""What a calibration came to, in words and as numbers."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import asdict
from textwrap import fill
from typing import Any

from experiments.evidence.calibration.answer import (
    Found,
    Pinned,
    compared,
    pinned,
    section_gaps,
    worst_figures,
)
from experiments.evidence.record.figures import MOST_IN_A_SECTION, MOST_OVERALL

WIDTH = 100
PINNED, OPEN = 0.5, 0.8  # of a range's width left: below, the record pins it; above, it does not
IN_THE_WAY = 8


def text_of(found: Found) -> str:
    """Sections before and after, what stands in the way, and what is pinned and what is not."""
    plan = found.plan
    left = f" The section {plan.leave_out!r} was left out of the fit." if plan.leave_out else ""
    head = (
        f"{len(found.points)} sets of {found.points.shape[1]} parameters; {found.fitting} of them"
        f" fit on chance of their own (root mean square gap at most {MOST_OVERALL:g} tolerances"
        f" over all figures and {MOST_IN_A_SECTION:g} over each section).{left}"
    )
    names = "; ".join(
        f"{name} {round(gap, 1) + 0.0:+.1f}" for name, gap in worst_figures(found, IN_THE_WAY)
    )
    parts = [
        fill(head, WIDTH),
        "\n".join(_sections(found)),
        fill(f"What stands most in the way, middle gap in tolerances: {names}.", WIDTH),
        "\n".join(_pinned(pinned(found))),
        fill(
            f"Seed {plan.seed}: {plan.population} members, {plan.smoothings} smoothings and"
            f" {plan.moves} rounds of moves on {plan.points} points each. Model results.",
            WIDTH,
        ),
    ]
    return "\n\n".join(parts)


def _sections(found: Found) -> Iterator[str]:
    yield "Root mean square gap to the record, in tolerances"
    yield f"{'':<14}{'as it was':>11}{'sets: least':>13}{'middle':>8}{'most':>8}"
    for s in section_gaps(found):
        yield f"{s.section:<14}{s.before:>11.2f}{s.least:>13.2f}{s.middle:>8.2f}{s.most:>8.2f}"


def _pinned(rows: list[Pinned]) -> Iterator[str]:
    wide = max(len(row.parameter) for row in rows)
    groups = {
        f"The record pins (at most {PINNED:.0%} of the range left)": (0.0, PINNED),
        "It narrows": (PINNED, OPEN),
        f"It says little of (more than {OPEN:.0%} left)": (OPEN, math.inf),
    }
    for head, (above, most) in groups.items():
        yield f"{head}: as it was; sets: middle, 95 of 100 between; range"
        for r in sorted(rows, key=lambda row: row.left):
            if above < r.left <= most:
                yield (
                    f"  {r.parameter:<{wide}} {r.usual:>8.4g} {r.middle:>8.4g}"
                    f"  {r.sets_low:>7.4g} to {r.sets_high:<7.4g}"
                    f"  {r.range_text}"
                )


def numbers_of(found: Found) -> dict[str, Any]:
    """The plan, sections, parameters and figures; `worlds` is the table of the sets itself."""
    plan = found.plan
    return {
        "seed": plan.seed,
        "sets": len(found.points),
        "fit": found.fitting,
        "left_out": plan.leave_out,
        "population": plan.population,
        "smoothings": plan.smoothings,
        "moves": plan.moves,
        "points": plan.points,
        "rms_gaps": [fit.overall for fit in found.fits],
        "sections": [asdict(s) for s in section_gaps(found)],
        "parameters": [asdict(row) for row in pinned(found)],
        "figures": [asdict(row) for row in compared(found)],
    }
