"""`python -m experiments.claims.angle`: shade and points over what counts as a drive of the angle.

Reads a stored study whose policies are bisectors by several definitions; prints a table and, with
`--figure`, draws the points over the definitions, a panel a level.
"""

from __future__ import annotations

import re
from typing import Any

import numpy as np
from matplotlib.figure import Figure

from experiments.claims.shown import command
from experiments.claims.tables import MORE, RALLY, markdown, read_cells
from experiments.drawing import style
from experiments.report.findings import Cells
from experiments.statistics.signed_words import ends_of
from experiments.statistics.words import said
from experiments.study.result_folder import NUMBERS
from sim.envelope import DriveLimits
from sim.errors import InputError

SHADE = "shade_m_per_m"
CORNER = "corner"
LOOKS = ((style.BLUE, "o"), (style.VERMILLION, "s"), (style.GREEN, "D"), (style.ORANGE, "^"))
DEFINITION = re.compile(r"^bisector(?: (least_in|nearest_landing_m)=([0-9.]+))?$")


def definitions(cells: Cells) -> list[tuple[str, str]]:
    """The bisectors of a study as (policy, its definition in a few words): chances, then margins.

    Raises:
        InputError: the study plays one definition alone.
    """
    found = []
    for policy in cells.values("policy"):
        if not (match := DEFINITION.match(policy)):
            continue
        by_margin = match[1] == "nearest_landing_m"
        value = float(match[2]) if match[2] else DriveLimits.least_in
        words = f"{value:g} m" if by_margin else f"{100 * value:.0f} %"
        found.append((by_margin, value, policy, words))
    if len(found) < 2:
        raise InputError("this study plays no two definitions of the angle; run `study angle`")
    return [(policy, words) for _, _, policy, words in sorted(found)]


def cell(cells: Cells, level: str, opponent: str, policy: str, outcome: str) -> dict[str, Any]:
    found = cells.get(RALLY, level, opponent, CORNER, policy, outcome)
    if found is None:
        raise InputError(f"no cell of {policy}, {level}, {opponent} in the {CORNER}; run it again")
    return found


def angle_table(cells: Cells) -> str:
    """Shade and points more than from the middle, opponent in the corner, by definition."""
    opponents = cells.values("opponent")
    rows = []
    for level in cells.values("level"):
        for policy, words in definitions(cells):
            shade = cell(cells, level, opponents[0], policy, SHADE)["estimate"]
            values = [ends_of(cell(cells, level, o, policy, MORE)) for o in opponents]
            points = ("no data" if e is None else said(e) for e in values)
            rows.append([level, words, f"{shade:.2f}", *points])
    heads = ["level", "drives that count", "shade (m/m)", *(f"points, {o}" for o in opponents)]
    return markdown(heads, rows)


def angle_figure(cells: Cells) -> Figure:
    """Points more than from the middle over the definitions; a panel a level."""
    levels, opponents, kinds = cells.values("level"), cells.values("opponent"), definitions(cells)
    chances = sum("%" in words for _, words in kinds)
    with style.house_style():
        figure = Figure(figsize=(style.WIDTH_IN, 1.9 * len(levels) + 0.9), layout="constrained")
        axes = figure.subplots(len(levels), 1, squeeze=False, sharey=True)[:, 0]
        for ax, level in zip(axes, levels, strict=True):
            ax.axhline(0.0, color="0.5", linewidth=0.8)
            for k, opponent in enumerate(opponents):
                found = (cell(cells, level, opponent, policy, MORE) for policy, _ in kinds)
                y, low, high = np.array([[c[name] for name in NUMBERS[:3]] for c in found]).T
                x, ends = np.arange(len(kinds)) + 0.09 * (k - 1.5), np.array([y - low, high - y])
                colour, marker = LOOKS[k % len(LOOKS)]
                for part in (slice(chances), slice(chances, None)):
                    ax.errorbar(
                        x[part],
                        y[part],
                        ends[:, part],
                        label=opponent if part.stop else None,
                        linewidth=1.0,
                        color=colour,
                        marker=marker,
                        markersize=4,
                    )
            shades = [cell(cells, level, opponents[0], p, SHADE)["estimate"] for p, _ in kinds]
            labels = [f"{w}\n{s:.2f}" for (_, w), s in zip(kinds, shades, strict=True)]
            ax.set_xticks(range(len(kinds)), labels, fontsize=style.SMALL_PT)
            ax.axvline(chances - 0.5, color="0.8", linewidth=0.8)
            ax.set_title(level, loc="left")
        figure.supylabel("points won per 100 more than from the middle", fontsize=style.SMALL_PT)
        figure.supxlabel(
            "left: how often a drive must land in; right: nearest landing, no error counted"
            "\n(below each: the shade that it comes to, m/m)",
            fontsize=style.SMALL_PT,
        )
        figure.legend(
            *axes[0].get_legend_handles_labels(),
            loc="outside upper left",
            ncols=len(opponents),
            title="What the width of the angle is worth, opponent first in the corner",
            alignment="left",
            title_fontproperties={"size": style.TEXT_PT, "weight": "bold"},
        )
    return figure


main = command(
    "results/angle",
    "Shade and points over what counts as a drive of the angle.",
    read_cells,
    angle_table,
    angle_figure,
)

if __name__ == "__main__":
    main()
