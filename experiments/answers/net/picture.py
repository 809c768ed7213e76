"""The turning point on the court, and the net by share reached: axes in, artists out."""

from __future__ import annotations

import math

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from experiments.answers.net.answer import NAMED, X_M, AtTheNet, NetAnswer
from experiments.answers.net.approach import WHERE_YOU_ARE_NOT
from experiments.answers.net.turning import DISTANCES_M, Turning
from experiments.drawing import style
from experiments.drawing.court import court_page, draw_court

BOTTOM_M = -15.5
COLOURS = "cividis"  # even in lightness, the same to readers with any colour vision
MARKERS = dict(zip(NAMED, "^so X".replace(" ", ""), strict=True))
LABEL: dict[str, object] = {
    "fontsize": style.SMALL_PT,
    "bbox": {"facecolor": "white", "edgecolor": "none", "alpha": 0.85, "pad": 1.0},
    "zorder": 6,
}
WAYS = ((style.SKY, "o", -0.14), (style.VERMILLION, "D", 0.14))


def draw_turning(ax: Axes, answer: NetAnswer, plain: bool = False) -> list[Artist]:
    """The opponent's ball in the corner, its extreme paths, the bisector from the ball's side at
    the net to the other behind the baseline, and the measured best places with their ranges.

    `plain` leaves out words and axis labels, for a small picture.
    """
    artists = draw_court(ax, BOTTOM_M)
    ways = list(answer.passes.items())
    turning, d = ways[0][1].turning[0], np.array(DISTANCES_M)
    x, y = turning.ball_m
    for path in turning.extremes_m.T:
        artists += ax.plot([x, path[-1]], [y, -d[-1]], color=style.SOFT, linewidth=1.0, gid="path")
    slope = (turning.bisector_m[-1] - x) / (-d[-1] - y)
    artists += ax.plot([x, x + slope * -y], [y, 0], color=style.BLUE, linewidth=1.0)
    artists += ax.plot(turning.bisector_m, -d, color=style.BLUE, linewidth=2.2, gid="bisector")
    artists += ax.plot(x, y, "o", color=style.YELLOW, markeredgecolor=style.INK, markersize=9)
    for (passes, found), (colour, marker, shift) in zip(ways, WAYS, strict=False):
        artists += _best_places(ax, found.turning[0], colour, marker, shift, passes)
    if plain:
        ax.set_yticks([])
        return artists
    artists += _turning_labels(ax, turning)
    ax.set_xlabel("lateral place (m from the centre line)")
    ax.set_ylabel("distance from the net (m)")
    return artists


def _best_places(
    ax: Axes, turning: Turning, colour: str, marker: str, shift: float, passes: str
) -> list[Artist]:
    y = -np.array(DISTANCES_M) + shift
    low, top, high = (np.array([getattr(b, k) for b in turning.best]) for k in _ENDS)
    bars: list[Artist] = [ax.hlines(y, low, high, color=colour, linewidth=2.0, zorder=4)]
    dots = ax.plot(top, y, marker, color=colour, markeredgecolor=style.INK, markersize=4.5)
    dots[0].set_zorder(5)
    dots[0].set_label(f"best places: {passes_words(passes)}")
    return [*bars, *dots]


_ENDS = ("low_m", "x_m", "high_m")


def passes_words(passes: str) -> str:
    """How the opponent passes, such as `passes where you are not`."""
    return f"passes {passes if passes == WHERE_YOU_ARE_NOT else 'as this hitter does'}"


def _turning_labels(ax: Axes, turning: Turning) -> list[Artist]:
    x, y = turning.ball_m
    side = turning.side or 1.0
    out: list[Artist] = [ax.text(x, y + 0.7, "opponent's ball", ha="center", **LABEL)]  # type: ignore[arg-type]
    near, far = "middle of the angle:\nthe ball's side", "behind the baseline:\nthe other side"
    words = ((3.5, -1.2, near), (4.4, -14.6, far))
    for across, along, text in words:
        out.append(ax.text(side * across, along, text, ha="center", va="center", **LABEL))  # type: ignore[arg-type]
    at = turning.bisector_turns_m
    if not math.isnan(at):
        out += ax.plot(0, -at, "*", color=style.ORANGE, markeredgecolor=style.INK, markersize=13)
        out[-1].set_zorder(7)
        out.append(
            ax.annotate(
                f"turns round\n{at:.1f} m from the net",
                (0, -at),
                (side * 4.4, -at),
                ha="center",
                va="center",
                arrowprops={"arrowstyle": "-", "color": style.INK, "linewidth": 0.7},
                **LABEL,  # type: ignore[arg-type]
            )
        )
    return out


def turning_figure(answer: NetAnswer) -> Figure:
    """One court from above: where the baseline rule turns round."""

    def draw(ax: Axes) -> None:
        draw_turning(ax, answer)
        lines = ax.get_legend_handles_labels()
        ax.legend(*lines, loc="upper center", bbox_to_anchor=(0.5, -0.07), ncols=1)

    words = (
        "Where the side to stand on turns round:\nblue is the middle of the angle from the corner"
    )
    return court_page(words, 1.2, draw)


def draw_net(ax: Axes, found: AtTheNet, there: bool) -> list[Artist]:
    """Balls reached of 100 over the places, run to or stood at, with the named places."""
    kept = 100.0 * found.kept("missed", there)
    image = ax.pcolormesh(X_M, np.array(found.distances_m), kept, cmap=COLOURS, shading="gouraud")
    image.set_clim(*_span(found))
    artists: list[Artist] = [image]
    for name in NAMED:
        x, y = found.met.aims[found.named(name)]
        marks = ax.plot(x, -y, MARKERS[name], color="white", markeredgecolor=style.INK, label=name)
        marks[0].set_clip_on(False)
        artists += marks
    x, y = found.met.aims[int(kept.argmax())]
    star = ax.plot(x, -y, "*", color=style.ORANGE, markeredgecolor=style.INK, markersize=12)
    star[0].set_label("best tried")
    star[0].set_clip_on(False)
    ax.set(xlim=(-3.5, 3.5), ylim=(found.distances_m[-1], found.distances_m[0]))
    ax.set_xlabel("lateral place (m)")
    ax.set_title("already there" if there else "on the run")
    return [*artists, *star]


def _span(found: AtTheNet) -> tuple[float, float]:
    both = [100.0 * found.kept("missed", there) for there in (False, True)]
    return float(np.min(both)), float(np.max(both))


def net_figure(answer: NetAnswer) -> Figure:
    """The places at the net by balls reached, against who passes where the player is not."""
    name = list(answer.passes)[-1]
    found = answer.passes[name]
    with style.house_style():
        figure = Figure(figsize=(style.WIDTH_IN, 4.2), layout="constrained")
        left, right = figure.subplots(1, 2, sharey=True)
        draw_net(left, found, there=False)
        image = draw_net(right, found, there=True)[0]
        left.set_ylabel("distance from the net (m)")
        figure.colorbar(image, ax=[left, right], label="balls reached of 100")  # type: ignore[arg-type]
        handles = left.get_legend_handles_labels()
        figure.legend(*handles, loc="outside lower center", ncols=3)
        style.title(figure, f"Where to stand at the net: balls reached,\n{passes_words(name)}")
    return figure
