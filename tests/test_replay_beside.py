"""Two places on the same balls as a film: which balls, by the rule, and what the film costs."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner
from matplotlib.backends.backend_agg import FigureCanvasAgg
from PIL import Image

from experiments.answers.replay import beside as module
from experiments.answers.replay.answer import replay_of_players
from experiments.answers.replay.beside import (
    FILM_S,
    LOOKED_AT,
    PARTS,
    Beside,
    beside_of,
    beside_text,
    middle_of,
    outcome_words,
    part_words,
    settled,
    typical,
)
from experiments.answers.replay.beside_film import (
    ball_at,
    beside_figure,
    rests_of,
    write_beside,
)
from experiments.answers.replay.film import held
from experiments.command.main import main
from experiments.drawing.style import BLACK, BLUE, ORANGE, house_style
from experiments.scene.own_code import policy_of
from experiments.study.settings import SETTINGS, strokes_of
from sim.array_engine import play
from sim.errors import InputError
from sim.exchange import with_policy
from sim.records import IN, MISSED, NET, STUDIED

MOST_BYTES = 1_000_000


def beside(level: str = "college-man", other: str = "bisector", **more: Any) -> Beside:
    return beside_of(replay_of_players(0, 1, player=level, **more), policy_of(other))


@pytest.fixture(scope="module")
def found() -> Beside:
    return beside()


def test_the_usual_ball_of_a_part_is_nearest_to_its_medians() -> None:
    gain = np.array([0.0, 0.1, 0.2, 1.0, 1.1, 1.2, 2.0, 2.1, 2.2])
    spare = np.array([5.0, 9.0, 5.0, 1.5, 1.0, 1.0, 3.0, 3.0, 0.0])
    # Of the first three both medians are met best by a ball that is not the middle one by gain.
    assert typical(gain, spare) == [0, 4, 7]
    assert typical(gain[::-1], spare[::-1]) == [8, 4, 1]
    assert typical(np.array([0.5]), np.array([1.0])) == [0]


def test_the_middle_one_of_some_balls_by_time() -> None:
    which = np.array([False, True, True, False, True])
    assert middle_of(which, np.array([9.0, -0.3, -0.1, 0.0, -0.2])) == 4


def test_time_of_a_ball_that_nobody_can_play_is_the_worst() -> None:
    assert settled(np.array([np.nan, -7.0, 0.2])).tolist() == [-3.0, -3.0, 0.2]


def test_both_meet_the_same_balls_from_their_own_places(found: Beside) -> None:
    for ball in found.shown:
        first, second = ball.strokes
        assert np.array_equal(first.way[0], second.way[0])
        assert (first.landing_m, first.landing_s) == (second.landing_m, second.landing_s)
        assert first.receiver_m[0] == 0.0 and second.receiver_m[0] < -0.5
        assert first.landed_in and first.hitter != STUDIED


def test_the_shown_balls_follow_the_rule(found: Beside) -> None:
    """Worked out once more from the balls of the placed setting."""
    replay = found.replay
    times, grades = [], []
    for name in found.names:
        game = with_policy(replay.game, policy_of(name))
        rows = strokes_of(game, SETTINGS["placed"], replay.place, np.arange(LOOKED_AT))
        landed = rows["outcome"] == IN
        times.append(dict(zip(rows["replicate"][landed], rows["time_to_spare_s"][landed])))  # noqa: B905
        grades.append(dict(zip(rows["replicate"][landed], rows["grade"][landed])))  # noqa: B905
    assert found.landed == len(times[0])
    assert found.missed == tuple(sum(g == MISSED for g in one.values()) for one in grades)
    gains = {n: times[1][n] - times[0][n] for n in times[0]}
    ranks = {n: k for k, n in enumerate(sorted(gains, key=lambda n: gains[n]))}
    parts = [ranks[ball.number] * PARTS // found.landed for ball in found.shown[:PARTS]]
    assert parts == [0, 1, 2]
    for ball in found.shown:
        assert ball.gain_s == pytest.approx(gains[ball.number])
    last = found.shown[PARTS]
    assert grades[0][last.number] == MISSED != grades[1][last.number]
    alone = sum(grades[0][n] == MISSED != grades[1][n] for n in grades[0])
    assert f"one of the {alone} of {found.landed} that middle alone misses" == last.stands_for


def test_the_words_say_how_the_balls_were_chosen(found: Beside) -> None:
    said = beside_text(found)
    flat = " ".join(said.split())
    assert "Chosen by rule" in flat and f"({found.landed})" in flat and "Model results" in flat
    assert f"middle misses {found.missed[0]}, bisector {found.missed[1]}" in flat
    for ball in found.shown:
        assert f"(rally {ball.number})" in said
        assert all(outcome_words(stroke) in said for stroke in ball.strokes)


@pytest.mark.parametrize(
    ("k", "gain_s", "words"),
    [
        (0, -0.37, "the third where cone loses the most time"),
        (0, 0.12, "the third where cone gains the least time"),
        (0, -0.004, "the third where cone gains no time"),
        (1, 0.2, "the middle third, where cone gains time"),
        (1, -0.2, "the middle third, where cone loses time"),
        (2, 0.4, "the third where cone gains the most time"),
        (2, -0.1, "the third where cone loses the least time"),
    ],
)
def test_a_third_is_told_by_its_sign(k: int, gain_s: float, words: str) -> None:
    assert part_words(k, gain_s, "cone") == words


def test_no_ball_is_said_to_gain_what_it_loses(found: Beside) -> None:
    assert found.shown[0].gain_s < 0 < found.shown[PARTS - 1].gain_s
    for ball in found.shown[:PARTS]:
        verb = "gains" if ball.gain_s > 0 else "loses"
        assert f"where bisector {verb} " in ball.stands_for


def test_the_marks_of_both_places_are_seen_on_the_player_at_rest(found: Beside) -> None:
    """Each mark is drawn after the body, is smaller than it, and leaves its own colour there."""
    with house_style():
        figure, pair = beside_figure(found)
        figure.set_dpi(100)
        canvas = FigureCanvasAgg(figure)
        canvas.draw()
    picture = np.asarray(canvas.buffer_rgba())[:, :, :3].astype(int)
    for side, colour in zip(pair.sides, (BLACK, ORANGE), strict=True):
        assert side.artists.index(side.mark) > side.artists.index(side.body)
        assert side.mark.get_markersize() < side.body.get_markersize()
        centre = side.body.axes.transData.transform(side.body.get_xydata()[0])
        column, row = round(centre[0]), round(picture.shape[0] - centre[1])
        around = picture[row - 6 : row + 7, column - 6 : column + 7].reshape(-1, 3)
        for seen in (colour, BLUE):
            away = np.abs(around - [int(seen[i : i + 2], 16) for i in (1, 3, 5)]).max(axis=1)
            assert (away < 30).sum() >= 5


def test_the_film_has_a_key(found: Beside) -> None:
    with house_style():
        figure, pair = beside_figure(found)
        figure.draw_without_rendering()
    (key,) = figure.legends
    named = dict(zip((t.get_text() for t in key.get_texts()), key.legend_handles, strict=True))
    assert list(named) == ["middle", "the other place", "player", "opponent strikes"]
    assert [h.get_marker() for h in named.values()] == ["s", "^", "o", "X"]
    box = key.get_window_extent()
    assert box.x0 >= 0 and box.x1 <= figure.bbox.width
    rule = next(t for t in figure.texts if "sorted by" in t.get_text())
    assert not box.overlaps(rule.get_window_extent())
    pair.show(found.end_s)
    figure.draw_without_rendering()
    assert not any(box.overlaps(side.outcome.get_window_extent()) for side in pair.sides)


def test_two_places_off_the_middle_have_one_mark_in_the_key() -> None:
    with house_style():
        figure, _ = beside_figure(beside(policy="bisector", other="linear-shade"))
    names = [t.get_text() for t in figure.legends[0].get_texts()]
    assert names == ["where the player waits", "player", "opponent strikes"]


def test_the_caption_names_who_a_player_file_is_of(tmp_path: Path) -> None:
    path = tmp_path / "mia.toml"
    path.write_text('name = "Mia W."\nlevel = "club-woman"\n')
    with house_style():
        figure, _ = beside_figure(beside(str(path)))
    caption = " ".join(figure.texts[-2].get_text().split())
    assert caption.startswith("Mia W. (level club-woman), habit opponent; model results.")


def test_a_frame_shows_ball_and_player_where_they_are(found: Beside) -> None:
    with house_style():
        figure, pair = beside_figure(found)
    before = sum(b.lasts_s + found.rest_s for b in found.shown[:2])
    for after in (0.3, 0.9):
        assert ball_at(found, before + after) == (2, pytest.approx(after))
        moved = pair.show(before + after)
        assert set(moved) == set(pair.artists)
        for side, track in zip(pair.sides, found.shown[2].tracks, strict=True):
            x, y, _ = track.ball_at(after)
            assert [float(v[0]) for v in side.ball.get_data()] == pytest.approx([x, y])
            body = track.players[STUDIED].bodies(np.array([after]))[0, :2]
            assert side.reach.get_center() == pytest.approx(body)
            assert side.outcome.get_text() == ""
    pair.show(found.end_s)
    words = [side.outcome.get_text() for side in pair.sides]
    assert words[0].startswith("misses it") and words[1].startswith("reaches it")
    figure.draw_without_rendering()
    for text in figure.texts:
        box = text.get_window_extent()
        assert box.x0 >= 0 and box.x1 <= figure.bbox.width and box.y0 >= 0


def test_while_nothing_moves_a_film_holds_one_picture(found: Beside) -> None:
    times, delays = np.array([0.0, 0.1, 0.2, 0.3, 0.4, 0.5]), [100] * 6
    kept, stay = held(times, delays, [(0.1, 0.3), (0.4, np.inf)])
    assert kept.tolist() == [0.0, 0.1, 0.3, 0.4] and stay == [100, 200, 100, 200]
    with house_style():
        pair = beside_figure(found)[1]
    for start, end in rests_of(found):
        shown = []
        for time_s in (start, min(end - 1e-6, start + found.rest_s)):
            pair.show(time_s)
            shown.append([side.ball.get_xydata().tolist() for side in pair.sides])
            assert all(side.outcome.get_text() for side in pair.sides)
        assert shown[0] == shown[1]


def test_a_longer_name_is_cut_to_its_court(found: Beside) -> None:
    from dataclasses import replace

    with house_style():
        figure, _ = beside_figure(replace(found, names=("W" * 60, "long " * 20)))
    figure.draw_without_rendering()
    assert all(t.get_window_extent().x1 <= figure.bbox.width for t in figure.texts)


@pytest.mark.parametrize(
    ("level", "hitter", "place"),
    [
        ("senior-65", "habit", "3.115,11.885"),
        ("under-12", "attentive", "-5.1,12.5"),
        ("professional-man", "pressing", "3.115,11.885"),
    ],
)
def test_the_film_lasts_ten_seconds_for_slow_and_fast(level: str, hitter: str, place: str) -> None:
    made = beside(level, hitter=hitter, place=place, hand="left")
    assert 0.8 * FILM_S <= made.end_s <= 1.2 * FILM_S
    assert "left" not in beside_text(made) or made.landed


def test_the_command_films_it_small(tmp_path: Path) -> None:
    asked = ["replay", "--seed", "1", "--player", "college-man", "--beside", "bisector"]
    paths = [tmp_path / name for name in ("a.gif", "b.gif")]
    told = CliRunner().invoke(main, [*asked, "--animation", str(paths[0])])
    assert told.exit_code == 0, told.output
    assert "Chosen by rule" in told.stdout and f"Film, at true speed: {paths[0]}" in told.stdout
    with Image.open(paths[0]) as film:
        lasts = 0
        for k in range(film.n_frames):
            film.seek(k)
            lasts += film.info["duration"]
        assert lasts / 1000 == pytest.approx(FILM_S, abs=0.5)
        assert film.format == "GIF" and film.size[0] == 480
    assert paths[0].stat().st_size < MOST_BYTES
    write_beside(beside(), paths[1])
    assert paths[0].read_bytes() == paths[1].read_bytes()


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--beside", "middle"], "name another one"),
        (["--beside", "nowhere"], "nowhere"),
        (["--beside", "bisector", "--number", "3"], "leave out --number"),
        (["--beside", "bisector", "--figure", "x.png"], "leave out --number and --figure"),
        (["--beside", "bisector", "--place", "serve-right"], "a serve is met"),
    ],
)
def test_what_cannot_be_shown_is_refused(
    words: list[str], says: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    told = CliRunner().invoke(main, ["replay", "--seed", "1", *words])
    assert told.exit_code == 2 and says in " ".join(told.stderr.split()) and told.stdout == ""
    assert not list(tmp_path.iterdir())


def test_without_a_seed_a_newcomer_is_told_what_to_do() -> None:
    told = CliRunner().invoke(main, ["replay", "--beside", "bisector", "--animation", "x.gif"])
    flat = " ".join(told.stderr.split())
    assert told.exit_code == 2 and told.stdout == ""
    assert "first film" in flat and "any whole number will do, such as --seed 1" in flat


def test_no_ball_in_court_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    def out(*asked: Any) -> np.ndarray:
        strokes = play(*asked)
        strokes["outcome"] = NET
        return strokes

    monkeypatch.setattr(module, "play", out)
    with pytest.raises(InputError, match="not one ball landed in"):
        beside()
