"""The film of a rally as a file: a GIF through Pillow, an MP4 through ffmpeg."""

from __future__ import annotations

import math
import subprocess
import tempfile
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any, Protocol

import numpy as np
from matplotlib import animation
from matplotlib.artist import Artist
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from PIL import Image
from tqdm import tqdm

from experiments.answers.replay.animation import film_figure
from experiments.answers.replay.track import RallyTrack
from experiments.drawing import style
from experiments.output.files import NAME, not_written, require_ours, write_output
from sim.errors import InputError

GIF, MP4 = ".gif", ".mp4"
FILM_SUFFIXES = (GIF, MP4)
MOST_SLOWED = 20.0
DPI, MP4_DPI = 100, 200
# Frames in a second. A GIF's delays are whole hundredths of a second, and Pillow keeps its frames
# in memory until the end: long films have fewer.
RATES, MOST_GIF_FRAMES = (25, 20, 10), 1500
LONGEST_S = 600.0
COLOURS, PALETTE_FRAMES, CLOSE = 128, 8, 8
HOUSE = (
    "#FFFFFF",
    style.GROUND,
    style.INK,
    style.SOFT,
    style.FAINT,
    style.BLUE,
    style.VERMILLION,
    style.YELLOW,
    style.ORANGE,
    style.BLACK,
)


class Moving(Protocol):
    """What is filmed: artists, back to front, that are moved to a time together."""

    @property
    def artists(self) -> Sequence[Artist]: ...

    def show(self, time_s: float) -> Sequence[Artist]:
        """Move all; returns the artists that moved."""


def require_film(path: Path) -> str:
    """The suffix of a film, in lower case, if its kind can be written here.

    Raises:
        InputError: neither .gif nor .mp4, an MP4 where matplotlib finds no ffmpeg, or what is there
            is no film of ours.
    """
    suffix = path.suffix.lower()
    if suffix not in FILM_SUFFIXES:
        raise InputError(
            f"cannot film to {str(path)!r}: its name ends in {path.suffix or 'nothing'!r};"
            f" give a name that ends in {' or '.join(FILM_SUFFIXES)}"
        )
    if suffix == MP4 and not animation.writers.is_available("ffmpeg"):
        raise InputError(
            f"cannot film to {str(path)!r}: an MP4 needs the program ffmpeg, and matplotlib finds"
            " none; install ffmpeg so that it is on the PATH, or give a name that ends in .gif"
        )
    require_ours(path, "film")
    return suffix


def rate_of(film_s: float, suffix: str, rates: Sequence[int] = RATES) -> int:
    """Frames in a second of a film that lasts `film_s`: the first of the rates that it allows.

    Raises:
        InputError: too long a film.
    """
    longest = LONGEST_S if suffix == MP4 else MOST_GIF_FRAMES / RATES[-1]
    if film_s > longest:
        raise InputError(
            f"the film would last {film_s:.0f} s; a {suffix} may last {longest:.0f}."
            " Slow it less (--slowed), or choose a shorter rally"
        )
    if suffix == MP4:
        return rates[0]
    return next(rate for rate in rates if film_s * rate <= MOST_GIF_FRAMES)


def times_of(end_s: float, slowed: float, rate: int) -> np.ndarray:
    """The moments of the rally that the frames show: at even steps, and at last its end."""
    count = max(1, math.ceil(end_s * slowed * rate - 1e-6))
    times = np.arange(count) / (slowed * rate)
    times[-1] = end_s
    return times


def write_film(track: RallyTrack, path: Path, slowed: float = 1.0) -> Path:
    """Write the film of a rally, `slowed` times slower than it was; the last picture stays.

    A GIF has the same bytes on every run with the same package versions. The file appears whole or
    not at all. Progress goes to the error stream of a terminal.

    Raises:
        InputError: an unknown suffix, no ffmpeg for an MP4, too long a film, a `slowed` below 1 or
            above MOST_SLOWED, or the file cannot be written.
    """
    return write_moving(path, lambda: film_figure(track), track.end_s, slowed)


def write_moving(
    path: Path,
    draw: Callable[[], tuple[Figure, Moving]],
    end_s: float,
    slowed: float = 1.0,
    rates: Sequence[int] = RATES,
    rests: Sequence[tuple[float, float]] = (),
) -> Path:
    """Write the film of whatever moves for `end_s` on a figure; the rest as `write_film`.

    rests: from when to when (before that) nothing moves; a GIF holds one picture for each.
    """
    suffix = require_film(path)
    if not 1.0 <= slowed <= MOST_SLOWED:
        raise InputError(f"slowed is {slowed:g}; it must be from 1 to {MOST_SLOWED:g}")
    rate = rate_of(end_s * slowed, suffix, rates)
    try:
        with style.house_style(), tempfile.TemporaryDirectory() as folder:
            first = Path(folder) / f"film{suffix}"
            figure, moment = draw()
            times = times_of(end_s, slowed, rate)
            if suffix == GIF:
                times, delays = held(times, delays_ms(end_s * slowed, rate), rests)
                _write_gif(figure, moment, times, delays, first)
            else:
                _write_mp4(figure, moment, times, rate, first)
            write_output(path, first.read_bytes(), "film")
    except OSError as error:
        raise not_written(path, "film", error) from error
    except subprocess.CalledProcessError as error:
        raise InputError(
            f"cannot write the film {str(path)!r}: ffmpeg failed ({error}); is it able to write"
            " H.264? Else give a name that ends in .gif"
        ) from None
    return path


def delays_ms(film_s: float, rate: int) -> list[int]:
    """How long each frame of a GIF stays, whole hundredths of a second; the last has the rest."""
    count, each = max(1, math.ceil(film_s * rate - 1e-6)), 1000 // rate
    rest = round(100.0 * film_s) * 10 - each * (count - 1)
    return [each] * (count - 1) + [max(10, rest)]


def held(
    times: np.ndarray, delays: Sequence[int], rests: Sequence[tuple[float, float]]
) -> tuple[np.ndarray, list[int]]:
    """The frames of a film with the first one of each rest alone, which stays for all of them."""
    kept: list[float] = []
    stay: list[int] = []
    before = None
    for time_s, delay in zip(times.tolist(), delays, strict=True):
        now = next((rest for rest in rests if rest[0] <= time_s < rest[1]), None)
        if now is not None and now == before:
            stay[-1] += delay
        else:
            kept.append(time_s)
            stay.append(delay)
        before = now
    return np.array(kept), stay


def _write_gif(
    figure: Figure, moment: Moving, times: np.ndarray, delays: list[int], path: Path
) -> None:
    some = times[:: max(1, len(times) // PALETTE_FRAMES)]
    palette = _palette(np.vstack(list(_pictures(figure, moment, some))))
    shown = tqdm(
        _pictures(figure, moment, times), "drawing", len(times), unit="frame", disable=None
    )
    first, *others = [
        Image.fromarray(p).quantize(palette=palette, dither=Image.Dither.NONE) for p in shown
    ]
    more: dict[str, Any] = {
        "append_images": others,
        "palette": palette.getpalette(),  # one for all frames
        "duration": delays,
        "optimize": True,
        "comment": NAME,
    }
    first.save(path, format="GIF", save_all=True, disposal=1, **more)


def _palette(pictures: np.ndarray) -> Image.Image:
    """An image with the palette of a film: the house's colours, and the most frequent others.

    Pillow looks colours up by boxes of near ones, so nothing may stand close to the house's.
    """
    packed = pictures.astype(np.int64) @ np.array([65536, 256, 1])
    colours, counts = np.unique(packed, return_counts=True)
    often = colours[np.argsort(-counts, kind="stable")]
    often = np.stack([often >> 16, often >> 8 & 255, often & 255], axis=1)
    house = np.array([[int(c[i : i + 2], 16) for i in (1, 3, 5)] for c in HOUSE])
    away = np.abs(often[:, None] - house).max(axis=2).min(axis=1) > CLOSE
    palette = Image.new("P", (1, 1))
    palette.putpalette(np.vstack([house, often[away]])[:COLOURS].ravel().tolist())
    return palette


def _pictures(figure: Figure, moment: Moving, times: np.ndarray) -> Iterator[np.ndarray]:
    """The picture at each time, (height, width, 3); what does not move is drawn once."""
    figure.set_dpi(DPI)
    canvas = FigureCanvasAgg(figure)
    for artist in moment.artists:
        artist.set_animated(True)
    canvas.draw()
    ground = canvas.copy_from_bbox(figure.bbox)
    for time_s in times.tolist():
        canvas.restore_region(ground)
        for artist in moment.show(time_s):
            figure.draw_artist(artist)
        yield np.asarray(canvas.buffer_rgba())[:, :, :3].copy()


def _write_mp4(figure: Figure, moment: Moving, times: np.ndarray, rate: int, path: Path) -> None:
    FigureCanvasAgg(figure)
    writer = animation.writers["ffmpeg"](fps=rate, metadata={"comment": NAME})
    with writer.saving(figure, str(path), MP4_DPI):
        for time_s in tqdm(times.tolist(), "drawing", unit="frame", disable=None):
            moment.show(time_s)
            writer.grab_frame(facecolor="white")
