"""One moment of a rally from above, which can be moved through time: axes in, artists out."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from textwrap import fill
from typing import Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Circle
from matplotlib.text import Annotation, Text

from experiments.answers.replay.picture import spare_words
from experiments.answers.replay.track import PlayerTrack, RallyTrack, StrokeTrack
from experiments.drawing.court import draw_court
from experiments.drawing.spot_marks import beside
from experiments.drawing.style import BLUE, INK, SMALL_PT, SOFT, VERMILLION, YELLOW, house_style
from sim.court import HALF_LENGTH_M
from sim.kinds import DRIVE, KINDS
from sim.records import STUDIED

WIDTH_IN = 3.4
HEAD_IN, FOOT_IN, SIDE_IN = 0.58, 0.92, 0.05
LEAST_HALF_VIEW_M, ROOM_M, LABEL_M = 6.0, 2.5, 2.6  # a label is about 5 m wide
TRAIL_S, PATH_S, EVERY_S = 1.2, 0.5, 0.04
BALL_PT, PT_PER_M = 5.0, 2.6  # the ball grows with its height
SHADOW_M_PER_M = 0.4  # the shadow lies beside the ball, farther off the higher that is
SCALE_M = 5.0
HEAD_CHARACTERS = 46
LOOKS = {STUDIED: ("you", BLUE, "o"), 1 - STUDIED: ("opponent", VERMILLION, "s")}


@dataclass
class Mover:
    """The artists of one player, moved together."""

    player: PlayerTrack
    body: Line2D
    trail: Line2D
    spot: Line2D
    comfortable: Circle
    full: Circle
    label: Annotation
    half_view_m: float

    def show(self, time_s: float) -> None:
        times = np.arange(max(time_s - TRAIL_S, 0.0), time_s + 1e-9, EVERY_S)
        way = self.player.bodies(np.append(times, time_s))[:, :2]
        x, y = (float(v) for v in way[-1])
        self.body.set_data([x], [y])
        self.trail.set_data(*way.T)
        for circle in (self.comfortable, self.full):
            circle.set_center((x, y))
        spot = self.player.spot_at(time_s)
        self.spot.set_data(*([], []) if spot is None else ([spot[0]], [spot[1]]))
        outward = -1.0 if self.player.side == STUDIED else 1.0
        inside = max(self.half_view_m - LABEL_M, 0.0)
        self.label.xy = (min(max(x, -inside), inside), y + outward * self.player.reach_m[1])
        self.label.set_text(f"{LOOKS[self.player.side][0]}: {self.player.phase_at(time_s).words}")

    @property
    def artists(self) -> list[Artist]:
        return [self.full, self.comfortable, self.trail, self.body, self.label, self.spot]


@dataclass
class Moment:
    """A rally on the court at one moment. `artists` are those that `show` moves, back to front."""

    track: RallyTrack
    movers: tuple[Mover, Mover]
    bounces: Line2D
    path: Line2D
    shadow: Line2D
    ball: Line2D
    clock: Text
    board: Text
    still: list[Artist] = field(default_factory=list)

    @property
    def artists(self) -> list[Artist]:
        players = [a for mover in self.movers for a in mover.artists]
        return [self.bounces, *players, self.path, self.shadow, self.ball, self.clock, self.board]

    def show(self, time_s: float) -> list[Artist]:
        """Move all to a time in s since the first strike; returns the artists that moved."""
        for mover in self.movers:
            mover.show(time_s)
        self._show_ball(time_s)
        down = [s.landing_m for s in self.track.strokes if s.bounced and s.landing_s <= time_s]
        self.bounces.set_data([x for x, _ in down], [y for _, y in down])
        self.clock.set_text(clock_words(self.track, time_s))
        self.board.set_text(board_words(self.track, time_s))
        return self.artists

    def _show_ball(self, time_s: float) -> None:
        x, y, z = self.track.ball_at(time_s)
        self.ball.set_data([x], [y])
        self.ball.set_markersize(BALL_PT + PT_PER_M * z)
        self.shadow.set_data([x + SHADOW_M_PER_M * z], [y - SHADOW_M_PER_M * z])
        begin = max(time_s - PATH_S, self.track.strokes[self.track.stroke_at(time_s)].strike_s)
        times = [*np.arange(begin, time_s, EVERY_S), time_s]
        way = [self.track.ball_at(t)[:2] for t in times]
        self.path.set_data([p[0] for p in way], [p[1] for p in way])


def draw_moment(ax: Axes, track: RallyTrack) -> Moment:
    """The court and all that moves on it, at the first strike.

    The ball grows with its height and its shadow moves away from it; where both meet, it bounces.
    Around each player are the comfortable (dotted) and the full reach, a plus is the spot that the
    player last set out for, a ring where a ball came down.
    """
    half, bottom, top = view_of(track)
    still = draw_court(ax, bottom, top, half)
    ax.set_xticks([])
    ax.set_yticks([])
    still += _draw_scale(ax, half, bottom)
    movers = _mover(ax, track.players[0], half), _mover(ax, track.players[1], half)
    moment = Moment(
        track,
        movers,
        moving_line(ax, "o", "bounces", INK, 3, markerfacecolor="white", markersize=5),
        moving_line(ax, "", "path", INK, 4, linestyle="-", linewidth=1.2),
        moving_line(ax, "o", "shadow", INK, 4.5, markersize=4, alpha=0.4, markeredgewidth=0),
        moving_line(ax, "o", "ball", INK, 7, markerfacecolor=YELLOW, markeredgewidth=0.9),
        _words(ax, 1.0, 4, "bottom", "clock"),
        _words(ax, 0.0, -4, "top", "board"),
        still,
    )
    moment.show(0.0)
    return moment


def view_of(track: RallyTrack) -> tuple[float, float, float]:
    """Half the width, the bottom and the top (m) of a view that holds all that happens."""
    times = np.arange(0.0, track.end_s + EVERY_S, 2 * EVERY_S)
    ways = [player.bodies(times)[:, :2] for player in track.players]
    ways += [s.way[:, 1:3] for s in track.strokes if s.met or not s.landed_in]
    places = np.vstack(ways)
    half = max(LEAST_HALF_VIEW_M, float(np.abs(places[:, 0]).max()) + ROOM_M)
    low, high = float(places[:, 1].min()) - ROOM_M, float(places[:, 1].max()) + ROOM_M
    end = HALF_LENGTH_M + ROOM_M
    return half, min(low, -end), max(high, end)


def _mover(ax: Axes, player: PlayerTrack, half_view_m: float) -> Mover:
    name, colour, marker = LOOKS[player.side]
    comfortable, full = (
        Circle((0.0, 0.0), r, fill=False, edgecolor=colour, linewidth=w, linestyle=s, zorder=3)
        for r, w, s in zip(player.reach_m, (0.9, 1.1), (":", "-"), strict=True)
    )
    full.set(facecolor=colour, fill=True, alpha=0.2)
    for circle in (comfortable, full):
        circle.set_gid(f"reach of {name}")
        ax.add_patch(circle)
    below = -1 if player.side == STUDIED else 1
    va = "top" if below < 0 else "bottom"
    label = beside(ax, (0.0, 0.0), "", (0, below * 2), va=va, colour=colour)
    return Mover(
        player,
        moving_line(ax, marker, name, colour, 5, markeredgecolor="white", markersize=8),
        moving_line(
            ax, "", f"trail of {name}", colour, 3.5, linestyle="-", linewidth=1.6, alpha=0.6
        ),
        moving_line(ax, "P", f"spot of {name}", colour, 6.5, markerfacecolor="white", markersize=7),
        comfortable,
        full,
        label,
        half_view_m,
    )


def moving_line(
    ax: Axes, marker: str, gid: str, colour: str, zorder: float, **look: object
) -> Line2D:
    """A line or mark without a place yet, to be moved."""
    look = {"linestyle": "none"} | look
    line = Line2D([], [], marker=marker, color=colour, zorder=zorder, gid=gid)
    line.set(**look)
    ax.add_line(line)
    return line


def _words(ax: Axes, height: float, up_pt: float, align: str, gid: str) -> Text:
    """Text beyond the top or the bottom of the axes."""
    look: dict[str, Any] = {"xycoords": "axes fraction", "annotation_clip": False}
    look |= {"linespacing": 1.25, "path_effects": None}
    return beside(ax, (0.02, height), "", (0, up_pt), "left", align, gid=gid, **look)


def _draw_scale(ax: Axes, half: float, bottom: float) -> list[Artist]:
    x, y = -half + 0.4, bottom + 0.4
    bar = ax.plot((x, x + SCALE_M), (y, y), color=SOFT, linewidth=1.6, gid="scale")
    words = ax.text(x, y + 0.2, f"{SCALE_M:g} m", fontsize=SMALL_PT, color=SOFT)
    return [*bar, words]


def clock_words(track: RallyTrack, time_s: float) -> str:
    """Time, number of the stroke under way and its kind, if no drive; height of the ball."""
    height, number = track.ball_at(time_s)[2], track.stroke_at(time_s)
    kind = track.strokes[number].kind
    which = f"stroke {number + 1} of {len(track.strokes)}"
    which += "" if kind == KINDS[DRIVE] else f", {kind}"
    return f"{time_s:5.2f} s   {which}   ball {height:.1f} m high"


def board_words(track: RallyTrack, time_s: float) -> str:
    """Time to spare so far, last and least of each side; at the end also how the point ended."""
    lines = ["time to spare:"]
    for player in track.players:
        done = [
            s
            for s in track.strokes
            if s.receiver == player.side and not math.isnan(s.spare_s) and s.due_s <= time_s
        ]
        lines.append(f"{LOOKS[player.side][0]}: {_spares(done)}")
    if time_s >= track.end_s - 1e-9:
        lines.append(fill(track.ending, HEAD_CHARACTERS))
    return "\n".join(lines)


def _spares(done: list[StrokeTrack]) -> str:
    if not done:
        return "\u2013"
    least = min(s.spare_s for s in done)
    return f"{spare_words(done[-1].spare_s)} {done[-1].grade} (least {spare_words(least)})"


def film_figure(track: RallyTrack) -> tuple[Figure, Moment]:
    """The figure of a film, as large as the court needs, and the moment to move in it."""
    with house_style():
        width = WIDTH_IN
        half, bottom, top = view_of(track)
        court_in = (width - 2 * SIDE_IN) * (top - bottom) / (2 * half)
        height = round(50 * (court_in + HEAD_IN + FOOT_IN)) / 50  # an even number of pixels
        figure = Figure(figsize=(width, height))
        ax = figure.add_axes(
            (SIDE_IN / width, FOOT_IN / height, 1 - 2 * SIDE_IN / width, court_in / height)
        )
        figure.text(
            0.02,
            1 - 0.08 / height,
            fill(track.title, HEAD_CHARACTERS, max_lines=2, placeholder="\u2026"),
            va="top",
            fontsize=SMALL_PT,
            fontweight="bold",
        )
        return figure, draw_moment(ax, track)
