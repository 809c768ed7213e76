"""Footspeed: the best place and the balls missed over the legs; axes in, artists out."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from experiments.answers.footspeed.answer import STANDS, Footspeed
from experiments.answers.footspeed.varied import stated_range
from experiments.balls.places import FARTHEST_X_M
from experiments.drawing import style
from experiments.drawing.study_marks import legend_marks

LOOKS = {
    "middle": style.Look(style.BLACK, "s"),
    "bisector": style.Look(style.VERMILLION, "o"),
    "best": style.Look(style.GREEN, "D"),
}
STYLES = {"middle": "-", "bisector": (0, (4, 1.5)), "best": (0, (1, 1))}
PLATEAU_ALPHA, TOLERANCE_ALPHA = 0.40, 0.16
ROW_IN, HEAD_IN, LONE_IN = 1.75, 1.35, 2.6
PANEL_CHARACTERS = 20
BANDS = (("within half a ball in 100", PLATEAU_ALPHA), ("within one ball in 100", TOLERANCE_ALPHA))


def draw_footspeed(
    ax_spot: Axes, ax_missed: Axes, found: Footspeed, measure: str = "missed"
) -> list[Artist]:
    """Draw a footspeed answer: the best place on one axes, what is lost on the other.

    Faster legs lie to the right on both. `measure` is "missed" or "not_returned". Returns the
    artists of both axes.
    """
    artists = [*draw_best_place(ax_spot, found, measure), *draw_lost(ax_missed, found, measure)]
    dots = (0, (1, 2))
    for ax in (ax_spot, ax_missed):
        own = ax.axvline(found.today.value, color=style.SOFT, linewidth=0.9, linestyle=dots)
        own.set_gid("own")
        artists.append(own)
    return [*artists, *_draw_range(ax_spot, found)]


def draw_best_place(ax: Axes, found: Footspeed, measure: str = "missed") -> list[Artist]:
    """The best place with its interval, in the bands that cost half a ball and one ball in 100."""
    best = [row.best[measure] for row in found.rows]
    x, centre = _values(found), np.array([b.x_m for b in best])
    # A tolerance that nowhere is reached ends with the places that were looked at.
    left = np.maximum(centre - [b.left_m for b in best], -FARTHEST_X_M)
    right = np.minimum(centre + [b.right_m for b in best], FARTHEST_X_M)
    plateau = np.array([(b.low_m, b.high_m) for b in best])
    ends = np.array([b.x_interval_m for b in best])
    bands = (
        (left, right, TOLERANCE_ALPHA, "one ball"),
        (*plateau.T, PLATEAU_ALPHA, "half a ball"),
    )
    artists: list[Artist] = [
        ax.fill_between(x, low, high, color=style.GREEN, alpha=alpha, linewidth=0, gid=gid)
        for low, high, alpha, gid in bands
    ]
    artists.append(ax.axhline(0.0, color=LOOKS["middle"].colour, linewidth=1.0, gid="middle"))
    spot = float(found.rows[0].places[STANDS.index("bisector"), 0])
    colour, dashes = LOOKS["bisector"].colour, STYLES["bisector"]
    artists.append(ax.axhline(spot, color=colour, linewidth=1.2, ls=dashes, gid="bisector"))
    artists += _marks(ax, x, centre, ends, "best")
    ax.set_ylabel("best place\n(m from the centre mark)")
    ax.yaxis.set_major_formatter(lambda y, _: f"{y:.1f}".replace("-", "\u2212"))
    _frame(ax, found)
    return artists


def draw_lost(ax: Axes, found: Footspeed, measure: str = "missed") -> list[Artist]:
    """Balls lost per 100 from the middle, the bisector and the best place, with intervals."""
    artists: list[Artist] = []
    for stand in STANDS:
        lost = [row.lost(stand, measure) for row in found.rows]
        ends = np.array([(e.low, e.high) for e in lost])
        artists += _marks(ax, _values(found), np.array([e.value for e in lost]), ends, stand)
    ax.set_ylim(bottom=-0.03 * ax.get_ylim()[1])
    ax.set_ylabel("missed per 100" if measure == "missed" else "not returned per 100")
    _frame(ax, found)
    return artists


def _marks(ax: Axes, x: np.ndarray, y: np.ndarray, ends: np.ndarray, stand: str) -> list[Artist]:
    look = LOOKS[stand]
    drawn = ax.errorbar(
        x,
        y,
        yerr=np.maximum([y - ends[:, 0], ends[:, 1] - y], 0.0),
        fmt=look.marker,
        linestyle=STYLES[stand],
        color=look.colour,
        markersize=4.0,
        markeredgecolor="white",
        markeredgewidth=0.5,
        linewidth=1.0,
        elinewidth=0.9,
        zorder=3,
        label=stand,
    )
    return list(drawn.get_children())


def _values(found: Footspeed) -> np.ndarray:
    return np.array([row.value for row in found.rows])


def _frame(ax: Axes, found: Footspeed) -> None:
    """The axis of the legs, faster to the right, and a grid."""
    what, values = found.question.what, _values(found)
    slack = 0.04 * (values[-1] - values[0])
    ends = (values[0] - slack, values[-1] + slack)
    ax.set_xlim(ends if what.parts[0][1] > 0 else ends[::-1])
    if what.is_bundle:
        ax.set_xlim(ends)
        ax.set_xticks((-1.0, 0.0, 1.0), ("slow", "yours", "fast"))
    ax.set_xlabel("legs together" if what.is_bundle else f"{what.words} ({what.unit})")
    ax.grid(axis="y", color=style.FAINT, linewidth=0.5)
    ax.set_axisbelow(True)


def _draw_range(ax: Axes, found: Footspeed) -> list[Artist]:
    """A bar along the axis for the level's stated range."""
    question = found.question
    low, high = stated_range(question.what, question.scene.player)
    left, right = sorted(ax.get_xlim())
    bar = ax.plot(
        (max(low, left), min(high, right)),
        (0.0, 0.0),
        color=style.SOFT,
        linewidth=3.0,
        transform=ax.get_xaxis_transform(),
        solid_capstyle="butt",
        clip_on=False,
        zorder=4,
        gid="stated range",
    )
    return list(bar)


def key_marks() -> list[Artist]:
    """The marks that a legend of these pictures needs."""
    marks: list[Artist] = [*legend_marks(LOOKS)]
    for mark, dashes in zip(marks, STYLES.values(), strict=True):
        mark.set(linestyle=dashes, linewidth=1.0, markersize=4.5)
    marks += [
        Patch(color=style.GREEN, alpha=alpha, linewidth=0, label=words) for words, alpha in BANDS
    ]
    marks.append(
        Line2D([], [], color=style.SOFT, linewidth=3.0, label="the level's range; dots: yours")
    )
    bar = Line2D(
        [], [], color=style.INK, marker="|", markersize=9, linestyle="", label="95 % interval"
    )
    return [*marks[:3], bar, *marks[3:]]


def footspeed_figure(found: Sequence[Footspeed]) -> Figure:
    """The figure of one player: one thing varied in large, or a row for each of several."""
    scene = found[0].question.scene
    with style.house_style():
        alone = len(found) == 1
        shape = (2, 1) if alone else (len(found), 2)
        height = HEAD_IN + (2 * LONE_IN if alone else ROW_IN * len(found))
        figure = Figure(figsize=(style.WIDTH_IN, height), layout="constrained")
        axes = figure.subplots(*shape, squeeze=False)
        pairs = [tuple(axes[:, 0])] if alone else [tuple(row) for row in axes]
        for one, (spot, lost) in zip(found, pairs, strict=True):
            draw_footspeed(spot, lost, one)
        if not alone:
            _share_y(axes[:, 0])
            _share_y(axes[:, 1])
        text = (
            f"Where to stand, and what is missed, by the legs\n{scene.player.name},"
            f" {scene.hitter.name} opponent, {scene.world.surface.name} court"
        )
        style.titled_key(figure, text, key_marks())
    return figure


def multiples_figure(found: Sequence[Footspeed]) -> Figure:
    """Small multiples: a column for each level, two rows of panels for each surface."""
    levels = list(dict.fromkeys(f.question.scene.player.name for f in found))
    surfaces = list(dict.fromkeys(f.question.scene.world.surface.name for f in found))
    with style.house_style():
        height = HEAD_IN + 2 * ROW_IN * len(surfaces)
        figure = Figure(figsize=(style.WIDTH_IN, height), layout="constrained")
        axes = figure.subplots(2 * len(surfaces), len(levels), squeeze=False)
        for one in found:
            scene = one.question.scene
            i = 2 * surfaces.index(scene.world.surface.name)
            j = levels.index(scene.player.name)
            draw_footspeed(axes[i, j], axes[i + 1, j], one)
            axes[i, j].set_title(
                style.wrapped(f"{scene.player.name}\n{scene.world.surface.name}", PANEL_CHARACTERS),
                fontsize=style.SMALL_PT,
            )
        for k in range(2):
            _share_y(axes[k::2].ravel())
        for ax in axes[:, 1:].ravel():
            ax.set_ylabel("")
            ax.tick_params(labelleft=False)
        for ax in axes[:-1].ravel():
            ax.set_xlabel("")
        hitter = found[0].question.scene.hitter.name
        text = f"Where to stand, and what is missed, by the legs\n{hitter} opponent"
        style.titled_key(figure, text, key_marks())
    return figure


def _share_y(axes: Sequence[Axes] | np.ndarray) -> None:
    """One scale for all of these axes."""
    ends = np.array([ax.get_ylim() for ax in axes])
    for ax in axes:
        ax.set_ylim(ends[:, 0].min(), ends[:, 1].max())
