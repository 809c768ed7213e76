"""The time line and the film of a rally: what they hold, and the files they become."""

from __future__ import annotations

import dataclasses
import itertools
import math
import tempfile
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner
from matplotlib import animation
from matplotlib.figure import Figure
from PIL import Image, ImageSequence

from experiments.answers.replay import film
from experiments.answers.replay.animation import Moment, clock_words, draw_moment, film_figure
from experiments.answers.replay.answer import replay_of_players
from experiments.answers.replay.film import (
    delays_ms,
    rate_of,
    require_film,
    times_of,
    write_film,
)
from experiments.answers.replay.picture import (
    FACES,
    LONGEST_ROW_S,
    draw_time_line,
    key_of,
    rows_of,
    spare_words,
    time_line_figure,
)
from experiments.answers.replay.track import DOINGS, RallyTrack, track_of
from experiments.command.main import main
from experiments.drawing.style import house_style
from sim.errors import InputError

ASKED = ("replay", "--seed", "7", "--player", "college-man", "--policy", "bisector")
ODD_NAME = "<script>alert(1)</script> $x^2$ J\u00fcrgen \\n & {0} %s"


def rally(number: int, without: str = "") -> RallyTrack:
    asked = {"player": "college-man", "policy": "bisector"}
    return track_of(replay_of_players(number, 7, **asked, without=without or None))


def grades_of(track: RallyTrack) -> list[str]:
    return [s.grade for s in track.strokes]


def won(track: RallyTrack) -> bool:
    """Whether the last stroke is a winner."""
    return track.strokes[-1].ending == "winner"


@pytest.fixture(scope="module")
def missed() -> RallyTrack:
    """Two strokes, the second one a winner."""
    return next(t for t in map(rally, range(40)) if grades_of(t) == ["set", "missed"] and won(t))


@pytest.fixture(scope="module")
def long() -> RallyTrack:
    """More than 20 drives; the last one does not land in."""
    tracks = (rally(number, without="all") for number in range(200))
    return next(t for t in tracks if len(t.strokes) > 20 and not t.strokes[-1].landed_in)


def marks(ax: Any) -> list[str]:
    return [a.get_gid() for a in ax.get_children() if a.get_gid()]


# The time line.


def test_a_row_holds_lanes_ball_and_time_to_spare(missed: RallyTrack) -> None:
    ax = Figure().add_subplot()
    artists = draw_time_line(ax, missed, 0.0, 4.0)
    assert set(artists) <= set(ax.get_children())
    found = marks(ax)
    for doing in DOINGS:
        count = sum(p.doing == doing for player in missed.players for p in player.phases)
        assert found.count(doing) == count
    assert found.count("flight") == found.count("bounce") == found.count("number") == 2
    assert found.count("spare") == found.count("late") == found.count("end") == 1
    words = [t.get_text() for t in ax.texts if t.get_gid() == "words"]
    assert words == [f"{spare_words(s.spare_s)} {s.grade}" for s in missed.strokes]


def test_bars_are_as_long_as_what_they_show(missed: RallyTrack) -> None:
    ax = Figure().add_subplot()
    draw_time_line(ax, missed, 0.0, 4.0)
    bars = {p.get_gid(): p for p in ax.patches}
    first, second = missed.strokes
    assert bars["spare"].get_width() == pytest.approx(first.spare_s)
    assert bars["spare"].get_x() + bars["spare"].get_width() == pytest.approx(first.due_s)
    assert bars["late"].get_x() == pytest.approx(second.due_s)
    assert bars["late"].get_width() == pytest.approx(-second.spare_s)
    lanes = [p for p in ax.patches if p.get_gid() in DOINGS]
    whole = sum(p.get_width() for p in lanes)
    assert whole == pytest.approx(2 * missed.end_s)


def test_what_players_do_is_told_apart_without_colour() -> None:
    """Lightness by the sum that Rec. 601 gives luma (from memory); hatches where it is near."""

    def lightness(colour: str) -> float:
        from matplotlib.colors import to_rgb

        return float(np.dot(to_rgb(colour), (0.299, 0.587, 0.114)))

    looks = [(lightness(face), hatch) for face, hatch, _ in FACES.values()]
    assert set(FACES) == set(DOINGS)
    for i, (light, hatch) in enumerate(looks):
        for other, its in looks[:i]:
            assert abs(light - other) > 0.08 and (hatch != its or abs(light - other) > 0.5)


def test_long_rallies_are_wrapped_into_rows(long: RallyTrack) -> None:
    rows = rows_of(long.end_s)
    assert len(rows) == math.ceil(long.end_s / LONGEST_ROW_S)
    assert rows[-1][0] < long.end_s <= rows[-1][1]
    assert all(a[1] == b[0] for a, b in itertools.pairwise(rows))
    figure = time_line_figure(long)
    assert len(figure.axes) == len(rows)
    numbers = [t.get_text() for ax in figure.axes for t in ax.texts if t.get_gid() == "number"]
    assert numbers == [str(n + 1) for n in range(len(long.strokes))]
    found = [gid for ax in figure.axes for gid in marks(ax)]
    assert found.count("fault") == found.count("end") == 1
    assert figure.axes[-1].get_xlabel() == "time from the first strike (s)"


@pytest.mark.parametrize("end_s", [0.4, 3.0, 6.5, 6.51, 13.0, 80.0])
def test_rows_hold_the_rally_in_equal_lengths(end_s: float) -> None:
    rows = rows_of(end_s)
    assert {round(b - a, 9) for a, b in rows} == {rows[0][1]}
    assert rows[0][1] <= LONGEST_ROW_S and rows[-1][1] >= end_s


def test_words_of_time_to_spare_keep_their_sign() -> None:
    assert spare_words(0.421) == "+0.42 s"
    assert spare_words(-0.421) == "\u22120.42 s"
    assert spare_words(-0.0041) == "\u22120.004 s"


def test_names_are_text(missed: RallyTrack) -> None:
    odd = dataclasses.replace(missed, title=ODD_NAME)
    figure = time_line_figure(odd)
    assert " ".join(figure.get_suptitle().split()).startswith(ODD_NAME)
    assert odd.ending.split(".")[0] in figure.get_suptitle()
    figure.draw_without_rendering()
    filmed, _ = film_figure(odd)
    filmed.draw_without_rendering()
    assert ODD_NAME[:20] in filmed.texts[0].get_text()


def test_kinds_and_volleys_are_marked_and_only_then_explained(missed: RallyTrack) -> None:
    first, second = (dataclasses.replace(s, kind="drive") for s in missed.strokes)
    drives = dataclasses.replace(missed, strokes=(first, second))
    ax = Figure().add_subplot()
    draw_time_line(ax, drives, 0.0, 4.0)
    assert "kind" not in marks(ax) and "volley" not in marks(ax)
    way = first.way[first.way[:, 0] < first.landing_s - 0.1]
    cut = dataclasses.replace(first, way=way, end_s=float(way[-1, 0]))
    played = dataclasses.replace(drives, strokes=(cut, dataclasses.replace(second, kind="volley")))
    ax = Figure().add_subplot()
    draw_time_line(ax, played, 0.0, 4.0)
    (name,) = (t for t in ax.texts if t.get_gid() == "kind")
    assert name.get_text() == "volley" and name.xy[0] == second.strike_s
    (mark,) = (line for line in ax.lines if line.get_gid() == "volley")
    assert (mark.get_xdata()[0], mark.get_marker()) == (cut.end_s, "D")
    assert marks(ax).count("bounce") == marks(ax).count("after") == 1
    labels = [[a.get_label() for a in key_of(track)] for track in (drives, played)]
    assert set(labels[1]) - set(labels[0]) == {"met before its bounce"}
    assert "volley" in clock_words(played, second.strike_s)
    assert "drive" not in clock_words(drives, second.strike_s)


# The film.


@pytest.fixture
def moment(missed: RallyTrack) -> Moment:
    with house_style():
        return draw_moment(Figure().add_subplot(), missed)


def test_a_moment_shows_players_and_ball_where_they_are(moment: Moment, missed: RallyTrack) -> None:
    for time_s in (0.0, 0.7, 1.5, missed.end_s):
        assert set(moment.show(time_s)) <= set(moment.ball.axes.get_children())
        x, y, z = missed.ball_at(time_s)
        assert [float(v[0]) for v in moment.ball.get_data()] == pytest.approx([x, y])
        shadow = [float(v[0]) for v in moment.shadow.get_data()]
        assert math.dist(shadow, (x, y)) == pytest.approx(math.sqrt(2) * 0.4 * z)
        for mover in moment.movers:
            at = mover.player.bodies(np.array([time_s]))[0, :2]
            assert [float(v[0]) for v in mover.body.get_data()] == pytest.approx(at)
            assert mover.full.get_center() == pytest.approx(at)
            assert (mover.comfortable.radius, mover.full.radius) == mover.player.reach_m
            assert mover.label.get_text().endswith(mover.player.phase_at(time_s).doing)
        down = sum(s.landed_in and s.landing_s <= time_s for s in missed.strokes)
        assert len(moment.bounces.get_xdata()) == down


def test_ball_grows_with_its_height(moment: Moment, missed: RallyTrack) -> None:
    sizes = []
    for time_s in (0.4, missed.strokes[0].landing_s):
        moment.show(time_s)
        sizes.append((missed.ball_at(time_s)[2], moment.ball.get_markersize()))
    assert sizes[0][0] > sizes[1][0] and sizes[0][1] > sizes[1][1]


def test_the_board_keeps_the_score_of_time_to_spare(moment: Moment, missed: RallyTrack) -> None:
    first, second = (spare_words(s.spare_s) for s in missed.strokes)
    assert first not in moment.board.get_text()
    moment.show(missed.strokes[0].due_s)
    assert first in moment.board.get_text() and second not in moment.board.get_text()
    assert "stroke 2 of 2" in moment.clock.get_text()
    moment.show(missed.end_s)
    assert second in moment.board.get_text() and "Winner." in moment.board.get_text()


@pytest.mark.parametrize("slowed", [1.0, 1.5])
def test_a_gif_has_all_frames_and_its_time(
    missed: RallyTrack, tmp_path: Path, slowed: float
) -> None:
    path = write_film(missed, tmp_path / "rally.gif", slowed)
    with Image.open(path) as image:
        delays = [frame.info["duration"] for frame in ImageSequence.Iterator(image)]
        size = image.size
    assert len(delays) == math.ceil(missed.end_s * slowed * 25)
    assert sum(delays) / 1000 == pytest.approx(missed.end_s * slowed, rel=0.02)
    assert set(delays[:-1]) == {40}
    assert path.stat().st_size < 300_000 * missed.end_s * slowed
    assert size[0] % 2 == size[1] % 2 == 0
    assert [p.name for p in tmp_path.iterdir()] == ["rally.gif"]


def test_a_gif_has_the_same_bytes_again(tmp_path: Path) -> None:
    short = rally(7)
    first, again = (write_film(short, tmp_path / name).read_bytes() for name in ("a.gif", "b.gif"))
    assert first == again


@pytest.mark.parametrize(("end_s", "slowed"), [(0.49, 1.0), (3.21, 1.0), (7.7, 3.0), (44.0, 2.5)])
def test_delays_and_times_fit(end_s: float, slowed: float) -> None:
    rate = rate_of(end_s * slowed, ".gif")
    delays, times = delays_ms(end_s * slowed, rate), times_of(end_s, slowed, rate)
    assert len(delays) == len(times)
    assert sum(delays) == pytest.approx(1000 * end_s * slowed, abs=10)
    assert (times[0], times[-1]) == (0.0, end_s)
    assert np.diff(times[:-1]) == pytest.approx(1 / (rate * slowed))
    assert all(delay % 10 == 0 and delay > 0 for delay in delays)


def test_a_missing_writer_is_named(
    missed: RallyTrack, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(animation.writers, "is_available", lambda name: False)
    with pytest.raises(InputError, match=r"install ffmpeg .* or give a name that ends in \.gif"):
        write_film(missed, tmp_path / "rally.mp4")
    done = CliRunner().invoke(main, [*ASKED, "--animation", str(tmp_path / "rally.mp4")])
    assert done.exit_code == 2 and "ffmpeg" in done.stderr and done.stdout == ""
    assert list(tmp_path.iterdir()) == []


class FakeWriter(animation.AbstractMovieWriter):
    """Writes a byte a frame, as a stand-in for ffmpeg."""

    def setup(self, fig: Figure, outfile: Any, dpi: float | None = None) -> None:
        super().setup(fig, outfile, dpi)
        Path(outfile).write_bytes(b"")

    def grab_frame(self, **savefig_kwargs: Any) -> None:
        with Path(self.outfile).open("ab") as out:
            out.write(b".")

    def finish(self) -> None:
        pass


class FakeWriters:
    """matplotlib's registry, with only that writer."""

    def is_available(self, name: str) -> bool:
        return name == "ffmpeg"

    def __getitem__(self, name: str) -> type[FakeWriter]:
        return FakeWriter


def test_an_mp4_goes_through_matplotlib_s_writer(
    missed: RallyTrack, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(animation, "writers", FakeWriters())
    path = write_film(missed, tmp_path / "rally.mp4", 2.0)
    assert len(path.read_bytes()) == math.ceil(missed.end_s * 2.0 * 25)
    assert [p.name for p in tmp_path.iterdir()] == ["rally.mp4"]


def test_an_interrupt_leaves_nothing(
    missed: RallyTrack, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(animation, "writers", FakeWriters())

    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))

    def interrupted(self: FakeWriter, **more: Any) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(FakeWriter, "grab_frame", interrupted)
    with pytest.raises(KeyboardInterrupt):
        write_film(missed, tmp_path / "rally.mp4")
    assert list(tmp_path.iterdir()) == []


def test_bad_films_are_refused(missed: RallyTrack, tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"ends in '.avi'; give .* \.gif or \.mp4"):
        require_film(tmp_path / "rally.avi")
    with pytest.raises(InputError, match="ends in 'nothing'"):
        require_film(tmp_path / "rally")
    with pytest.raises(InputError, match=r"would last 160 s; a \.gif may last 150"):
        write_film(dataclasses.replace(missed, end_s=80.0), tmp_path / "rally.gif", 2.0)
    for slowed in (0.5, math.nan, 21.0):
        with pytest.raises(InputError, match="from 1 to 20"):
            write_film(missed, tmp_path / "rally.gif", slowed)
    nowhere = tmp_path / "nowhere" / "rally.gif"
    with pytest.raises(InputError, match="cannot write the film"):
        write_film(rally(7), nowhere)
    assert list(tmp_path.iterdir()) == []


def test_replay_draws_what_is_asked_for(tmp_path: Path) -> None:
    still, moving = tmp_path / "r.svg", tmp_path / "r.gif"
    asked = (*ASKED, "--number", "7", "--figure", str(still), "--animation", str(moving))
    done = CliRunner().invoke(main, [*asked, "--slowed", "2"])
    assert done.exit_code == 0, done.output
    assert "After 1 stroke the point goes" in done.stdout
    assert f"Film, 2 times slower: {moving}" in done.stdout
    assert f"Picture: {still}" in done.stdout
    assert {p.name for p in tmp_path.iterdir()} == {"r.svg", "r.gif"}


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("--figure", "r.gif"), "ends in '.gif'"),
        (("--animation", "r.png"), "ends in '.png'"),
        (("--slowed", "2"), "--slowed is the film's"),
        (("--slowed", "0", "--animation", "r.gif"), "--slowed is 0"),
    ],
)
def test_replay_refuses(
    arguments: tuple[str, ...], says: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    done = CliRunner().invoke(main, [*ASKED, *arguments])
    assert done.exit_code == 2 and says in done.stderr and "Traceback" not in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_longest_gif_fits_its_frames() -> None:
    for seconds in (1.0, 60.0, 61.0, 75.0, 76.0, 150.0):
        assert seconds * rate_of(seconds, ".gif") <= film.MOST_GIF_FRAMES
    assert rate_of(60.0, ".gif") == 25 and rate_of(500.0, ".mp4") == 25
