"""The handout: what is measured, that the page claims no more, and that all fits on the paper."""

from __future__ import annotations

import dataclasses
import itertools
import re
import tomllib
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result
from matplotlib.figure import Figure
from matplotlib.text import Text
from matplotlib.transforms import Bbox
from nonsense import NONSENSE

from experiments.answers.handout.answer import (
    PARTS,
    SAME,
    ByCones,
    Handout,
    HandoutQuestion,
    cone_at,
    feeding_places,
    measure_handout,
    number_of,
    rallies_by,
)
from experiments.answers.handout.picture import fitted_frames, handout_figure
from experiments.answers.handout.texts import WORDLESS, Texts, _stored, template, texts_of
from experiments.answers.handout.words import page_of
from experiments.answers.spot.answer import find_spot
from experiments.balls.spots import on_the_line, placed_situation
from experiments.balls.struck import side_by_side
from experiments.command.main import main
from experiments.drawing.style import save
from experiments.drawing.text_boxes import LINE, fitted, width_in, wrapped
from experiments.scene.own_texts import flat
from experiments.scene.scene import scene_of
from experiments.statistics.estimates import Difference, paired
from sim.contracts import Situation
from sim.court import HALF_LENGTH_M
from sim.errors import InputError
from sim.exchange import Place
from sim.players import PLAYERS
from strategies.catalogue import SHOT_MODELS
from strategies.recovery.middle import Middle

BALLS, RALLIES, DEPTH_M = 200, 100, 1.2
CORNER = Place("asked", 3.115, HALF_LENGTH_M)
ENGLISH = texts_of(None, wordless=False)
VERDICTS = {"wins": (1.0, 2.0), "as good": (-0.2, 0.4), "not decided": (-1.0, 2.0)} | {
    "loses": (-2.0, -1.0),
    "not decided, below": (-2.0, 1.0),
    "not decided, zero": (-1.0, 1.0),
}
LONG = "Maria-Theresia Müller-Lüdenscheidt und Freundinnen " * 10


def question(place: Place = CORNER, level: str = "college-man") -> HandoutQuestion:
    scene = scene_of(player=level, depth=DEPTH_M, balls=BALLS, seed=1)
    return HandoutQuestion(scene.at(place), RALLIES)


@pytest.fixture(scope="module")
def found() -> Handout:
    return measure_handout(question())


@pytest.fixture(scope="module")
def from_the_middle() -> Handout:
    return measure_handout(question(Place("asked", 0.0, HALF_LENGTH_M)))


def with_verdicts(found: Handout, balls: str, points: str) -> Handout:
    """The handout with made-up differences that come to these verdicts."""

    def made(low: float, high: float) -> Difference:
        return Difference((low + high) / 2, low, high, 0.1, 100)

    stations = list(found.stations)
    station = dataclasses.replace(found.station, fewer=made(*VERDICTS[balls]), cone_x_m=-1.5)
    stations[found.asked] = station
    return dataclasses.replace(found, stations=tuple(stations), points=made(*VERDICTS[points]))


# --- what is measured -------------------------------------------------------------------------


def test_five_places_from_left_to_right_hold_the_asked_one_and_its_mirror_image() -> None:
    for x, y, number in ((3.3, 10.0, 3), (-3.3, 10.0, 1), (0.2, 9.0, 2), (5.0, 7.0, 4), (-5, 7, 0)):
        asked = Place("asked", x, y, 0.8)
        places = feeding_places(asked)
        at = [(p.x_m, p.y_m, p.z_m) for p in places]
        assert len(set(at)) == 5 and sorted(at) == at
        assert number_of(asked, places) == number
        assert abs(x) < 0.5 or (-x, y, 0.8) in at
        assert any(abs(p.x_m) < 0.5 for p in places)


@pytest.mark.parametrize(
    ("x_m", "cone_m"), [(-1.5, -1.5), (0.18, 0.0), (-0.2, -0.375), (1.3, 1.125)]
)
def test_cones_stand_at_the_nearest_half_step(x_m: float, cone_m: float) -> None:
    assert cone_at(x_m) == cone_m


def test_the_middle_is_measured_on_new_balls(found: Handout) -> None:
    """Balls n to 2n of one address space: those of 2n balls less those of the first n."""
    asked = found.station.spot.scene
    missed, landed = [], []
    for balls in (BALLS, 2 * BALLS):
        spot = find_spot(dataclasses.replace(asked, balls=balls), [Middle()]).policies[0]
        landed.append(spot.landed_in)
        missed.append(round((1 - spot.share_in_time) * spot.landed_in))
    assert found.station.missed_middle.n == landed[1] - landed[0]
    share = (missed[1] - missed[0]) / (landed[1] - landed[0])
    assert found.station.missed_middle.value == pytest.approx(100 * share)
    assert 0 < share < 1


def test_the_difference_is_that_of_the_two_shares(found: Handout) -> None:
    for s in found.stations:
        assert s.fewer.value == pytest.approx(s.missed_middle.value - s.missed_cone.value)
        assert s.fewer.low <= s.fewer.value <= s.fewer.high
        assert s.spot.best.low_m - 0.1 <= s.cone_x_m <= s.spot.best.high_m + 0.1 or (
            abs(s.cone_x_m - s.spot.best.x_m) <= 0.1875 + 1e-9
        )


def test_a_cone_in_the_middle_is_compared_with_nothing(from_the_middle: Handout) -> None:
    middle = from_the_middle.station
    if middle.cone_x_m == 0:
        assert middle.fewer.value == middle.fewer.low == middle.fewer.high == 0
        assert middle.verdict == SAME
    in_middle = ByCones((-3.0, 0.0, 3.0), (0.0, 0.0, 0.0))
    assert rallies_by(from_the_middle.question, in_middle).is_reference


def test_places_that_miss_the_same_balls_still_have_an_interval(found: Handout) -> None:
    asked = found.station.spot.scene
    near = side_by_side(asked, on_the_line(np.array([0.001, 0.0]), asked.line_m), 100)
    assert (near.own[:3, :3] == near.cross[:3, :3]).all()  # balls and those missed, by ball
    difference = paired(near, "missed", "balls")
    assert difference.low < difference.value == 0 < difference.high


def test_the_same_seed_gives_the_same_numbers_and_progress_is_told(found: Handout) -> None:
    told: list[int] = []
    again = measure_handout(question(), lambda: told.append(1))
    assert len(told) == PARTS
    assert again.points == found.points
    assert [s.fewer for s in again.stations] == [s.fewer for s in found.stations]


def test_between_cones_the_place_is_in_proportion(found: Handout) -> None:
    cones = ByCones((-3.0, 0.0, 3.0), (1.5, 0.0, -0.75))
    for x, spot in ((3.0, -0.75), (1.0, -0.25), (-1.0, 0.5), (-8.0, 1.5)):
        asked = found.station.spot.scene.at(Place("at", x, 11.0))
        seen: Situation = placed_situation(asked)
        assert cones.spots(seen)[0] == pytest.approx((spot, -HALF_LENGTH_M - DEPTH_M))


def test_numbers_out_of_range_are_refused() -> None:
    with pytest.raises(InputError, match="rallies is 5; allowed: 100 to"):
        dataclasses.replace(question(), rallies=5)
    with pytest.raises(InputError, match="balls is 5; allowed"):
        dataclasses.replace(question().scene, balls=5)


# --- what it says -----------------------------------------------------------------------------


@pytest.mark.parametrize("verdict", VERDICTS)
def test_findings_say_their_verdict_and_no_other(found: Handout, verdict: str) -> None:
    page = page_of(with_verdicts(found, verdict, verdict), ENGLISH)
    (low, high), verdict = VERDICTS[verdict], verdict.partition(",")[0]
    words = {
        "wins": r"^The cones? wins?\b",
        "as good": r"^The middle is as good\b",
        "not decided": r"^Not decided\b",
        "loses": r"^The middle wins\b",
    }
    for finding in page.findings[1:]:
        said = [v for v, pattern in words.items() if re.search(pattern, finding.text)]
        assert said == [verdict]
        assert not NONSENSE.search(finding.text), finding.text
        assert f"{abs(low + high) / 2:.1f} (" in finding.text or verdict == "as good"
        scope = "for this one ball" if finding is page.findings[1] else "over whole rallies"
        assert scope in finding.text.partition(".")[0]  # two findings may differ, and say why
    row = page.rows[found.asked]
    assert row.cells[-1] == verdict


@pytest.mark.parametrize(
    ("verdict", "ahead"),
    [
        ("not decided", "the cone is ahead by 0.5 (\u22121.0 to 2.0) balls, which may be chance"),
        ("not decided, below", "the middle is ahead by 0.5 (\u22121.0 to 2.0) balls, which may"),
        (
            "not decided, zero",
            "the difference is 0.0 (\u22121.0 to 1.0) balls, which may be chance",
        ),
    ],
)
def test_who_is_ahead_is_said_with_the_numbers(found: Handout, verdict: str, ahead: str) -> None:
    page = page_of(with_verdicts(found, verdict, verdict), ENGLISH)
    balls, points = (finding.text.replace("\u00a0", " ") for finding in page.findings[1:])
    assert ahead in balls
    of_points = ahead.replace("the cone is", "the cones are").replace("balls", "points in 100")
    assert of_points in points


def test_the_verdict_is_that_of_the_ends_as_they_are_printed(found: Handout) -> None:
    barely = Difference(0.3, 0.04, 0.6, 0.1, 100)  # printed as 0.3 (0.0 to 0.6)
    station = dataclasses.replace(found.station, fewer=barely, cone_x_m=-1.5)
    assert station.verdict == "not decided"


def test_a_best_range_of_one_place_is_called_a_place(found: Handout) -> None:
    best = dataclasses.replace(found.station.spot.best, low_m=-0.5, high_m=-0.5)
    spot = dataclasses.replace(found.station.spot, best=best)
    stations = list(found.stations)
    stations[found.asked] = dataclasses.replace(found.station, spot=spot)
    page = page_of(dataclasses.replace(found, stations=tuple(stations)), ENGLISH)
    assert "The best place tried is 0.5 m left;" in page.findings[0].text.replace("\u00a0", " ")


def test_with_the_opponent_in_the_middle_the_page_does_not_claim_a_gain(
    from_the_middle: Handout,
) -> None:
    page = page_of(from_the_middle, ENGLISH)
    assert "on the centre line" in page.question.text
    if from_the_middle.station.verdict == SAME:
        assert page.findings[0].text.startswith("Put the cone at the centre mark.")
        assert page.findings[1].text.startswith("The middle is right")


def test_numbers_on_the_page_are_those_measured(found: Handout) -> None:
    page, at = page_of(found, ENGLISH), found.station
    for estimate in (at.missed_cone, at.missed_middle):
        shown = f"{estimate.value:.1f} ({estimate.low:.1f} to {estimate.high:.1f})"
        assert shown in page.findings[1].text
    steps = abs(at.cone_x_m) / 0.75
    assert f"{steps:g} steps" in page.findings[0].text
    assert f"{RALLIES} rallies" in page.findings[2].text
    assert "seed 1" in page.small_print
    assert [row.number for row in page.rows] == ["1", "2", "3", "4", "5"]


def test_cautions_stand_on_the_page_with_words() -> None:
    text = ENGLISH.say("cautions.text")
    for word in ("Warm up", "add to them over weeks", "Stop on pain", "dry court", "physician"):
        assert word in text


def test_without_words_there_are_none(found: Handout) -> None:
    texts = texts_of(None, wordless=True)
    drawn = handout_figure(found, page_of(found, texts, name="Ana"))
    words = " ".join(texts_in(drawn)).replace("Ana", "")
    assert set(re.findall(r"[^\W\d_]+", words)) <= {*"ms①②③"}  # units alone
    assert {k for k in ENGLISH.by_key if not k.startswith("names.")} == set(
        dict(flat(tomllib.loads(_stored(WORDLESS))))
    )


def test_every_catalogue_name_has_a_word() -> None:
    for name in (*PLAYERS, *SHOT_MODELS):
        assert f"names.{name}" in ENGLISH.by_key


# --- a user's own texts -----------------------------------------------------------------------


def own(tmp_path: Path, text: str) -> Texts:
    path = tmp_path / "own.toml"
    path.write_bytes(text.encode())
    return texts_of(path, wordless=False, names={"mine"})


def test_own_texts_stand_in_for_the_english_ones(tmp_path: Path, found: Handout) -> None:
    german = '\ufeffdecimal = ","\n[page]\ntitle = "Wohin zurück?"\n[names]\nmine = "meiner"\n'
    texts = own(tmp_path, german)
    page = page_of(found, texts)
    assert page.title == "Wohin zurück?"
    assert texts.name("mine") == "meiner"
    assert f"{found.station.missed_middle.value:.1f}".replace(".", ",") in page.findings[1].text
    assert page.cautions.text == ENGLISH.say("cautions.text")


def test_own_texts_over_several_lines_are_set_as_one(tmp_path: Path, found: Handout) -> None:
    texts = own(tmp_path, '[where]\ntext = """\nAt {cone},\n  about."""\n')
    assert texts.by_key["where.text"] == "At {cone},   about."
    figure = handout_figure(found, page_of(found, texts))
    assert all("\n" not in text for text in texts_in(figure))


def test_the_template_changes_nothing(tmp_path: Path) -> None:
    assert own(tmp_path, template()) == ENGLISH


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ('[page]\ntitel = "x"', r"unknown text 'page.titel'.*Did you mean 'page.title'"),
        ('[names]\nyours = "x"', r"unknown text 'names.yours'"),
        ('[where]\ntext = "at {place}"', r"has the field \{place\}; its fields are: \{cone\}"),
        ('[where]\ntext = "at {cone"', r"a brace that is not closed"),
        ('[where]\ntext = "at {cone.real}"', r"holds no plain name"),
        ('[where]\ntext = "at {cone!r:>1000}"', r"holds no plain name"),
        ("[where]\ntext = 3", r"is 3; give it in quotes"),
        ("[where\n", r"is not valid TOML.*--texts-template"),
        ("#" * 200_000, r"more than 100,000 bytes"),
    ],
)
def test_own_texts_are_checked(tmp_path: Path, text: str, message: str) -> None:
    with pytest.raises(InputError, match=message):
        own(tmp_path, text)


def test_texts_that_cannot_be_read_are_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"the file of texts .* cannot be read: No such file"):
        texts_of(tmp_path / "none.toml", wordless=False)


def test_texts_that_are_too_long_are_refused_by_name(tmp_path: Path, found: Handout) -> None:
    texts = own(tmp_path, f'[cautions]\ntext = "{"words " * 300}"')
    with pytest.raises(InputError, match=r"texts of cautions need more room.*shorten"):
        handout_figure(found, page_of(found, texts))


def test_a_long_question_or_drill_is_refused_by_name(tmp_path: Path, found: Handout) -> None:
    for table, key, name in (("question", "text", "question"), ("drill", "two", "drill")):
        texts = own(tmp_path, f'[{table}]\n{key} = "{"words " * 400}"')
        with pytest.raises(InputError, match=rf"texts of {name}.* need more room.*shorten"):
            handout_figure(found, page_of(found, texts))


# --- the paper --------------------------------------------------------------------------------


def texts_in(figure: Figure) -> list[str]:
    return [text for text, _ in boxes(figure)]


def boxes(figure: Figure) -> list[tuple[str, Bbox]]:
    """Each visible text of the page and its box in pixels."""
    figure.draw_without_rendering()
    return [
        (text.get_text(), Text.get_window_extent(text))
        for text in figure.findobj(Text)
        if text.get_text().strip() and text.get_visible()
    ]


def require_all_fits(figure: Figure) -> None:
    found = boxes(figure)
    for text, box in found:
        assert box.x0 >= 0 and box.x1 <= figure.bbox.width, text
        assert box.y0 >= 0 and box.y1 <= figure.bbox.height, text
    for (a, box_a), (b, box_b) in itertools.combinations(found, 2):
        assert not box_a.padded(-0.7).overlaps(box_b.padded(-0.7)), (a, b)


@pytest.mark.parametrize(
    ("level", "paper"), [*((level, "letter") for level in PLAYERS), ("professional-woman", "a4")]
)
def test_all_texts_fit_for_every_level(found: Handout, level: str, paper: str) -> None:
    scene = scene_of(player=level, depth=DEPTH_M, balls=BALLS, seed=1)
    asked = dataclasses.replace(found.question, scene=scene)
    page = page_of(dataclasses.replace(found, question=asked), ENGLISH, LONG, LONG, LONG)
    require_all_fits(handout_figure(found, page, paper))


@pytest.mark.parametrize("verdict", VERDICTS)
def test_all_texts_fit_for_every_verdict(found: Handout, verdict: str) -> None:
    made = with_verdicts(found, verdict, verdict)
    require_all_fits(handout_figure(made, page_of(made, ENGLISH, name="Anna"), "letter"))


@pytest.mark.parametrize("place", [(0.0, HALF_LENGTH_M), (-4.8, 6.9), (9.0, 17.0)])
def test_all_texts_fit_for_other_places_and_without_words(place: tuple[float, float]) -> None:
    made = measure_handout(question(Place("asked", *place)))
    for wordless in (False, True):
        page = page_of(made, texts_of(None, wordless), name=LONG)
        require_all_fits(handout_figure(made, page, "letter"))


@pytest.mark.parametrize(
    "name", ["<script>alert('x')</script>", "Ærøskøbing Šťastný Ελένη Ольга", '$x_{"', r"\alpha{}"]
)
def test_any_name_is_printed_as_it_stands(found: Handout, name: str) -> None:
    figure = handout_figure(found, page_of(found, ENGLISH, name=name, club=name))
    assert texts_in(figure).count(name) == 2


def test_a_long_name_is_cut_with_an_ellipsis(found: Handout) -> None:
    cut = [t for t in texts_in(handout_figure(found, page_of(found, ENGLISH, name=LONG)))]
    (line,) = [t for t in cut if t.startswith("Maria")]
    assert line.endswith("\u2026") and LONG.startswith(line[:-1])


@pytest.mark.parametrize(
    ("name", "shown"), [("日本", r"日 \(U\+65E5\)"), ("a\x1bb", "--name holds a control character")]
)
def test_a_letter_that_cannot_be_printed_is_named(found: Handout, name: str, shown: str) -> None:
    with pytest.raises(InputError, match=shown):
        handout_figure(found, page_of(found, ENGLISH, name=name))


# A4: ISO 216, 210 mm x 297 mm; Letter: 8.5 in x 11 in (ANSI/ASME Y14.1); 72 points to the inch.
@pytest.mark.parametrize(("paper", "size"), [("a4", (595.276, 841.890)), ("letter", (612, 792))])
def test_the_pdf_is_one_page_of_the_paper_and_the_same_each_time(
    found: Handout, tmp_path: Path, paper: str, size: tuple[float, float]
) -> None:
    page = page_of(found, ENGLISH, name="Anna Müller")
    first, second = (
        save(handout_figure(found, page, paper), tmp_path / f"{n}.pdf").read_bytes() for n in "ab"
    )
    assert first == second
    (box,) = re.findall(rb"/MediaBox \[ ?0 0 ([\d.]+) ([\d.]+) ?\]", first)
    assert [float(v) for v in box] == pytest.approx(size, abs=0.01)
    assert first.count(b"/Type /Page ") + first.count(b"/Type /Page\n") == 1


def test_no_line_is_wider_than_its_box_and_no_letter_is_lost() -> None:
    text = "Donaudampfschifffahrtsgesellschaft  and $ to 3\u00a0m " * 5
    for width in (0.5, 1.0, 3.0):
        lines = wrapped(text, width, 9.0)
        assert all(width_in(line, 9.0) <= width for line in lines)
        assert "".join(lines).replace(" ", "") == text.replace(" ", "")
    assert fitted("short", 1.0, (12.0, 9.0)) == ("short", 12.0)


def test_pictures_hold_the_cones_where_they_were_measured(found: Handout) -> None:
    figure = handout_figure(found, page_of(found, ENGLISH))
    one, all_, rows = figure.axes
    for ax, stations in ((one, [found.station]), (all_, found.stations), (rows, found.stations)):
        drawn = [line.get_xydata()[0] for line in ax.lines if line.get_gid() == "cone"]
        assert sorted(x for x, _ in drawn) == sorted(s.cone_x_m for s in stations)
        assert ax is rows or np.allclose([y for _, y in drawn], -HALF_LENGTH_M - DEPTH_M)
    (crosses,) = [line.get_xydata() for line in one.lines if line.get_gid() == "missed"]
    assert len(crosses) == found.missed.shown > 0
    numbers = [tuple(line.get_xydata()[0]) for line in all_.lines if line.get_gid() == "number 5"]
    wide = found.stations[4].place
    assert (wide.x_m, wide.y_m) in numbers


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_no_hole_stands_in_the_column_nor_above_the_small_print(found: Handout, paper: str) -> None:
    page = page_of(found, ENGLISH)
    figure = handout_figure(found, page, paper)
    height = figure.get_size_inches()[1]
    at, size = fitted_frames(paper, page)
    drawn = [(t.get_position()[0], t.get_position()[1] * height) for t in figure.texts]
    width = figure.get_size_inches()[0]
    for box, most in ((at.told, 3 * LINE * 12 / 72), (at.cautions, 2 * LINE * size / 72)):
        column = sorted(y for x, y in drawn if abs(x * width - box.left) < 0.01)
        inside = [y for y in column if box.bottom - 0.01 <= y <= box.top]
        assert max(b - a for a, b in itertools.pairwise(inside)) < most
    lowest = min(y for _, y in drawn if y > at.small_print.top)
    assert lowest - at.small_print.top < 0.2


# --- the command ------------------------------------------------------------------------------


def run(*arguments: str) -> Result:
    return CliRunner().invoke(main, ["handout", *arguments])


def test_the_command_writes_the_page_and_says_what_it_found(tmp_path: Path) -> None:
    small = ("--balls", "200", "--rallies", "100", "--seed", "3", "--wordless")
    done = run(*small, "--out", str(tmp_path / "h.pdf"), "--name", "Ana")
    assert done.exit_code == 0, done.output
    assert (tmp_path / "h.pdf").read_bytes().startswith(b"%PDF")
    assert "Put the cone" in done.stdout and "seed 3" in done.stdout
    assert "tell the player" in done.stdout and "Warm up" in done.stdout


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("--paper", "a5"), "unknown paper 'a5'"),
        (("--out", "page.doc"), "cannot draw to 'page.doc'"),
        (("--name", "日本"), "no letter for 日"),
        (("--title", "a\x07b"), "--title holds a control character"),
        (("--player", "nobody"), "unknown player 'nobody'"),
        (("--texts", "none.toml"), "the file of texts 'none.toml' cannot be read"),
        (("--rallies", "1"), "rallies is 1; allowed"),
    ],
)
def test_bad_options_are_refused(
    arguments: tuple[str, str], message: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    done = run(*arguments)
    assert not list(tmp_path.iterdir())
    assert done.exit_code == 2 and message in done.stderr and done.stdout == ""


def test_the_template_is_printed_alone() -> None:
    assert run("--texts-template").stdout == template()
