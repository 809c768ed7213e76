"""Areas of the court: axes in, artists out."""

from __future__ import annotations

from matplotlib.axes import Axes
from matplotlib.contour import QuadContourSet

from experiments.balls.standing import StandingMap
from experiments.drawing.style import GREEN
from sim.court import HALF_LENGTH_M


def draw_area(
    ax: Axes, area: StandingMap, colour: str = GREEN, fill: bool = True
) -> list[QuadContourSet]:
    """The best area of a map: its edge, and a tint inside.

    Where the map ends the area has no edge: it was not looked at farther.
    """
    x, y = area.grid.x_m, -HALF_LENGTH_M - area.grid.depth_m
    field, edge = area.missed_per_100, area.edge_per_100
    out = []
    if fill:
        levels = (-1.0, edge)
        out.append(ax.contourf(x, y, field, levels, colors=[colour], alpha=0.35, zorder=1.9))
        out[-1].set_gid("best area")
    if field.min() < edge < field.max():
        out.append(ax.contour(x, y, field, (edge,), colors=[colour], linewidths=1.5, zorder=2.1))
        out[-1].set_gid("best area edge")
    return out
