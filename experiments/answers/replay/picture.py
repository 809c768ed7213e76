"""One rally over time: who runs when, where the ball is, time to spare: axes in, artists out.

Two lanes hold the players, the opponent above and the studied player below. Between them the ball
goes along the court, so that a flight runs from the one who strikes to the one who meets it.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch, Rectangle

from experiments.answers.replay.track import DOINGS, PlayerTrack, RallyTrack, StrokeTrack
from experiments.drawing import style
from experiments.drawing.spot_marks import beside
from sim.court import HALF_LENGTH_M
from sim.kinds import DRIVE, KINDS
from sim.records import STUDIED

# Heights in a row: metres of court to a unit, a lane, the bar of time to spare, its number.
COURT_M, LANE, LANE_END, BAR, BAR_END, NUMBER, TOP = 6.6, 3.0, 4.0, 4.2, 4.6, 4.75, 5.9
NAME = 2.4  # of a stroke that is no drive
LONGEST_ROW_S, SHORTEST_ROW_S = 6.5, 3.0
ROW_IN, HEADS_IN = 2.05, 1.75
LATE_WORD = "late by (missed)"
# Face, hatch and colour of the hatch of what a player does, in the order of DOINGS: told apart by
# lightness in grey.
LOOKS = (
    (style.INK, "", style.INK),
    (style.SKY, "\\\\\\\\", "white"),
    ("white", "", style.SOFT),
    (style.YELLOW, "....", style.SOFT),
    (style.BLUE, "////", "white"),
)
# How the end of a ball's flight is marked.
MARKS: dict[str, dict[str, Any]] = {
    "bounce": {"marker": "o", "markersize": 5, "markerfacecolor": "white"},
    "fault": {"marker": "X", "markersize": 7, "markerfacecolor": style.VERMILLION},
    "volley": {"marker": "D", "markersize": 5, "markerfacecolor": style.SKY},
}
FACES = dict(zip(DOINGS, LOOKS, strict=True))


def draw_time_line(
    ax: Axes, track: RallyTrack, start_s: float = 0.0, end_s: float | None = None
) -> list[Artist]:
    """The part of a rally from `start_s` to `end_s` (its end if None) as one row.

    Time in s from the first strike.

    Below each meeting of the studied player, and above each of the opponent's, stands the time to
    spare: a bar as long as that time, before the meeting if it is positive, after it if negative.
    """
    end_s = track.end_s if end_s is None else end_s
    artists = _draw_ground(ax, start_s, end_s)
    for player in track.players:
        artists += _draw_lane(ax, player, start_s, end_s)
    for number, stroke in enumerate(track.strokes, 1):
        if stroke.end_s >= start_s and stroke.strike_s <= end_s:
            artists += _draw_stroke(ax, stroke, number, start_s, end_s)
    if start_s <= track.end_s <= end_s:
        ends = (-LANE_END, LANE_END)
        artists += ax.plot(
            (track.end_s,) * 2, ends, color=style.INK, linewidth=1.2, zorder=5, gid="end"
        )
    return artists


def _draw_ground(ax: Axes, start_s: float, end_s: float) -> list[Artist]:
    baseline = HALF_LENGTH_M / COURT_M
    ax.set_xlim(start_s, end_s)
    ax.set_ylim(-TOP, TOP)
    lane = 0.5 * (LANE + LANE_END)
    ax.set_yticks(
        [-lane, -baseline, 0.0, baseline, lane], ["you", "baseline", "net", "baseline", "opponent"]
    )
    ax.set_xticks(range(math.ceil(start_s), math.floor(end_s) + 1))
    ax.tick_params(axis="y", length=0)
    ax.spines["left"].set_visible(False)
    lines: list[Artist] = [
        ax.axhline(y, color=colour, linewidth=width, zorder=0.5)
        for y, colour, width in (
            (-baseline, style.FAINT, 0.8),
            (0.0, style.SOFT, 1.2),
            (baseline, style.FAINT, 0.8),
        )
    ]
    return lines


def _outward(side: int) -> float:
    return -1.0 if side == STUDIED else 1.0


def _box(
    ax: Axes, side: int, times: tuple[float, float], heights: tuple[float, float], gid: str
) -> Rectangle:
    """A bar over a stretch of time at these heights, on that side of the net."""
    low, high = sorted(_outward(side) * h for h in heights)
    bar = Rectangle((times[0], low), times[1] - times[0], high - low, gid=gid, zorder=3)
    ax.add_patch(bar)
    return bar


def _draw_lane(ax: Axes, player: PlayerTrack, start_s: float, end_s: float) -> list[Artist]:
    """The bars of what a player does."""
    artists: list[Artist] = []
    for phase in player.phases:
        if phase.end_s < start_s or phase.start_s > end_s:
            continue
        times = max(phase.start_s, start_s), min(phase.end_s, end_s)
        bar = _box(ax, player.side, times, (LANE, LANE_END), phase.doing)
        face, hatch, edge = FACES[phase.doing]
        bar.set(facecolor=face, hatch=hatch, edgecolor=edge, linewidth=0.0)
        frame = _box(ax, player.side, times, (LANE, LANE_END), "frame")
        frame.set(fill=False, edgecolor=style.INK, linewidth=0.5, zorder=3.5)
        artists += [bar, frame]
    return artists


def _draw_stroke(
    ax: Axes, stroke: StrokeTrack, number: int, start_s: float, end_s: float
) -> list[Artist]:
    """The ball's way, solid to the bounce and dashed after it, the stroke's number, the rest."""
    t, y = stroke.way[:, 0], stroke.way[:, 2] / COURT_M
    y = np.where(np.abs(y) <= LANE, y, np.nan)  # what lies far behind a player is left out
    flown = t <= stroke.landing_s + 1e-9
    artists: list[Artist] = []
    artists += ax.plot(t[flown], y[flown], color=style.INK, linewidth=1.0, zorder=2, gid="flight")
    if stroke.bounced:
        after = t >= stroke.landing_s - 1e-9
        artists += ax.plot(
            t[after], y[after], color=style.INK, linewidth=1.0, linestyle=(0, (2, 1.5)), gid="after"
        )
    mark = "bounce" if stroke.bounced else "volley" if stroke.volleyed else "fault"
    at = stroke.landing_s if stroke.bounced else stroke.end_s
    if start_s <= at <= end_s:
        artists += ax.plot(at, np.interp(at, t, y), color=style.INK, gid=mark, **MARKS[mark])
        artists[-1].set(markeredgewidth=0.9, zorder=4)
    if start_s <= stroke.strike_s < end_s:
        artists.append(_draw_number(ax, stroke, number))
        if stroke.kind != KINDS[DRIVE]:
            artists.append(_draw_kind(ax, stroke, start_s, end_s))
    if not math.isnan(stroke.spare_s):
        artists += _draw_spare(ax, stroke, start_s, end_s)
    return artists


def _draw_number(ax: Axes, stroke: StrokeTrack, number: int) -> Artist:
    at = (stroke.strike_s, _outward(stroke.hitter) * 0.5 * (LANE + LANE_END))
    look = {"fontsize": style.SMALL_PT - 0.5, "fontweight": "bold", "path_effects": None}
    return beside(
        ax, at, str(number), (2, 0), "left", "center_baseline", "white", gid="number", **look
    )


def _draw_kind(ax: Axes, stroke: StrokeTrack, start_s: float, end_s: float) -> Artist:
    """The name of the stroke between its lane and its contact."""
    share = (stroke.strike_s - start_s) / (end_s - start_s)
    align, x_pt = ("right", -2) if share > 0.9 else ("left", 2)
    at = (stroke.strike_s, _outward(stroke.hitter) * NAME)
    return beside(ax, at, stroke.kind, (x_pt, 0), align, "center", gid="kind", fontstyle="italic")


def spare_words(seconds: float) -> str:
    """Time to spare with its sign; a negative one is late. Less than 0.01 s has a third decimal."""
    digits = 2 if abs(seconds) >= 0.01 else 3
    return f"{seconds:+.{digits}f} s".replace("-", "\u2212")


def _draw_spare(ax: Axes, stroke: StrokeTrack, start_s: float, end_s: float) -> list[Artist]:
    """Time to spare as a bar beside the lane that ends (or, if late, begins) with the meeting."""
    late, side = stroke.spare_s < 0.0, stroke.receiver
    times = sorted((stroke.due_s, stroke.due_s - stroke.spare_s))
    artists: list[Artist] = []
    shown = max(times[0], start_s), min(times[1], end_s)
    if shown[1] > shown[0]:
        bar = _box(ax, side, shown, (BAR, BAR_END), "late" if late else "spare")
        bar.set(
            facecolor=style.VERMILLION if late else style.GREEN, edgecolor="white", linewidth=0.0
        )
        bar.set_hatch("xxxx" if late else "")
        artists.append(bar)
    if start_s <= stroke.due_s <= end_s:
        artists.append(_draw_words(ax, stroke, start_s, end_s))
    return artists


def _draw_words(ax: Axes, stroke: StrokeTrack, start_s: float, end_s: float) -> Artist:
    """The number and the grade; at the ends of a row it is moved inward."""
    share = (stroke.due_s - start_s) / (end_s - start_s)
    align = "left" if share < 0.1 else "right" if share > 0.9 else "center"
    up = _outward(stroke.receiver)
    at, va = (stroke.due_s, up * NUMBER), "bottom" if up > 0 else "top"
    words = f"{spare_words(stroke.spare_s)} {stroke.grade}"
    return beside(ax, at, words, ha=align, va=va, gid="words")


def key_of(track: RallyTrack) -> list[Artist]:
    """What bars, lines and marks mean, for a legend; a volley only where there is one."""
    keys: list[Artist] = []
    for doing in DOINGS:
        face, hatch, edge = FACES[doing]
        keys.append(Patch(facecolor=face, hatch=hatch, edgecolor=edge, linewidth=0.5, label=doing))
    keys.append(Patch(facecolor=style.GREEN, linewidth=0, label="time to spare"))
    late = Patch(facecolor=style.VERMILLION, hatch="xxxx", edgecolor="white", linewidth=0)
    late.set_label(LATE_WORD)
    ball = Line2D([], [], color=style.INK, linewidth=1.0, marker="o", markersize=5)
    ball.set(markerfacecolor="white", label="ball and its bounce")
    keys += [late, ball]
    shown = {"fault": "net or out"}
    if any(s.volleyed for s in track.strokes):
        shown["volley"] = "met before its bounce"
    for mark, label in shown.items():
        keys.append(Line2D([], [], color=style.INK, linewidth=0.0, label=label, **MARKS[mark]))
    return keys


def rows_of(end_s: float) -> list[tuple[float, float]]:
    """Rows of equal length that hold so many seconds, none longer than LONGEST_ROW_S."""
    count = max(1, math.ceil(end_s / LONGEST_ROW_S - 1e-9))
    length = max(SHORTEST_ROW_S, min(LONGEST_ROW_S, math.ceil(2.0 * end_s / count) / 2.0))
    return [(i * length, (i + 1) * length) for i in range(count)]


def time_line_figure(track: RallyTrack) -> Figure:
    """The figure of a rally: as many rows as it needs to be read, its ending in words."""
    rows = rows_of(track.end_s)
    with style.house_style():
        figure = Figure(
            figsize=(style.WIDTH_IN, ROW_IN * len(rows) + HEADS_IN), layout="constrained"
        )
        axes = figure.subplots(len(rows), squeeze=False)[:, 0]
        for ax, (start_s, end_s) in zip(axes, rows, strict=True):
            draw_time_line(ax, track, start_s, end_s)
        axes[-1].set_xlabel("time from the first strike (s)")
        style.title(figure, f"{track.title}\n{track.ending}")
        figure.legend(handles=key_of(track), loc="outside lower left", ncols=3, handlelength=2.2)
    return figure
