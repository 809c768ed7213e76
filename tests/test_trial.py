"""A trial on court: its plan, its sheet, what is read from a filled one, and what is refused."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner, Result
from fuzz_bad_values import TOTALS
from made_trial import Row, filled_rows, judged, made_trial, rows_of, written
from nonsense import NONSENSE

from experiments.answers.trial.answer import Trial, TrialQuestion, plan_trial
from experiments.answers.trial.foretold import ACROSS, ALONG, ANYWHERE
from experiments.answers.trial.plan_words import plan_text
from experiments.answers.trial.practice import ADULT, Practice, practice_of
from experiments.answers.trial.reading import read_sheet
from experiments.answers.trial.result import judge
from experiments.answers.trial.result_words import result_json, result_text
from experiments.answers.trial.sheet import COLUMNS, balls_of, cone_comes_first, sheet_text
from experiments.answers.trial.sheet_page import sheet_pages
from experiments.answers.trial.totals import totals_of
from experiments.answers.trial.totals_words import totals_text
from experiments.balls.places import line_x_m
from experiments.balls.spots import on_the_line
from experiments.balls.struck import counted
from experiments.command.main import main
from experiments.drawing.one_page import CAUTIONS
from experiments.scene.own_code import policy_of
from experiments.scene.scene import scene_of
from experiments.statistics.matched_pairs import Pairs
from experiments.study.columns import dictionary
from sim.players import PLAYERS

BALLS = 400
OPTIONS = ("--balls", "200", "--seed", "4", "--player", "college-man")


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, ["trial", *map(str, arguments)])


def twos(items: Sequence[Any]) -> Iterator[tuple[Any, Any]]:
    """The two of each pair."""
    return zip(items[::2], items[1::2], strict=True)


def refused(*arguments: str | Path) -> str:
    done = run(*arguments)
    assert done.exit_code == 2 and done.stdout == "", done.output
    assert "Traceback" not in done.stderr
    return done.stderr


def planned(player: str = "college-man", hitter: str = "habit", **scene: object) -> Trial:
    of = scene_of(player=player, hitter=hitter, balls=BALLS, seed=2, **scene)  # type: ignore[arg-type]
    return plan_trial(TrialQuestion(of, policy_of("bisector"), practice_of(of.player)))


@pytest.fixture(scope="module")
def college() -> Trial:
    return planned()


def test_the_sides_add_up_to_the_place(college: Trial) -> None:
    for feed in college.places:
        assert sum(s.weight for s in feed.sides) == pytest.approx(1.0)
        for name, whole in (("lost_cone", feed.lost_cone), ("lost_middle", feed.lost_middle)):
            lost = 100 * sum(s.weight * getattr(s, name) for s in feed.sides)
            assert lost == pytest.approx(whole.value)
        assert feed.fewer.value == pytest.approx(feed.lost_middle.value - feed.lost_cone.value)
        sides = [s.to for s in feed.sides]
        assert sides == ([ANYWHERE] if feed.number == 3 else [ACROSS, ALONG])


def test_what_is_foretold_is_counted_from_the_cone(college: Trial) -> None:
    """The same balls, counted from all places of the line: cone and middle are two of them."""
    feed, scene = college.places[3], college.question.scene
    x_m = np.append(line_x_m(coarse=True), feed.cone_x_m)
    at = scene.at(feed.place)
    missed = counted(at, on_the_line(x_m, at.line_m), BALLS, first=feed.number * BALLS).rate()
    assert 100 * missed[-1] == pytest.approx(feed.lost_cone.value)
    assert 100 * missed[x_m == 0.0][0] == pytest.approx(feed.lost_middle.value)
    assert feed.cone_x_m < 0 and feed.cone_x_m % 0.375 == 0


def test_the_asked_place_and_its_mirror_image_are_fed_from(college: Trial) -> None:
    assert [f.number for f in college.feeds] == [2, 4]
    assert college.question.chosen == (2, 4)
    assert planned(opponent=(0.0, 11.885)).feeds == ()
    assert planned(opponent=(-5.0, 13.5)).question.chosen == (1, 5)


def test_the_plan_needs_no_more_balls_than_it_says() -> None:
    trial = made_trial(across=(0.05, 0.25))
    need, (far, near) = trial.needed, trial.needed_at_ends
    assert need is not None and need % trial.question.practice.pairs_a_set == 0
    assert trial.power >= 0.8 > trial.chance(trial.feeds, need - 4)
    assert far is not None and near is not None and far < need < near
    text = " ".join(plan_text(trial).split())
    assert f"it takes {2 * far} and {2 * near} balls" in text


def test_the_smallest_difference_that_is_seen_is_just_seen() -> None:
    trial = made_trial(across=(0.19, 0.2), along=(0.2, 0.2))
    assert trial.needed is None and trial.pairs == trial.most_pairs
    assert trial.visible is not None and trial.visible > trial.fewer.value
    saved = trial.visible / 20.0
    seen = made_trial(across=(0.2 * (1 - saved), 0.2), along=(0.2 * (1 - saved), 0.2))
    assert seen.chance(seen.feeds, seen.most_pairs) == pytest.approx(0.8, abs=1e-6)
    text = " ".join(plan_text(trial).split())
    assert "cannot be seen on court in 640 balls" in text
    assert f"So many balls show a difference of {trial.visible:.1f} in 100 or more." in text


def test_a_cone_that_is_foretold_to_lose_is_planned_for_too() -> None:
    worse = made_trial(across=(0.35, 0.05), along=(0.05, 0.15))
    assert worse.fewer.value < 0 and worse.needed == made_trial().needed
    assert "more balls missed in 100 are foretold from the cone" in " ".join(
        plan_text(worse).split()
    )


@pytest.mark.parametrize("player", ["under-12", "senior-65"])
def test_the_young_and_the_old_play_fewer_balls(player: str) -> None:
    own = practice_of(PLAYERS[player])
    assert own.dose.balls < ADULT.balls and own.dose.rest_s > ADULT.rest_s
    assert own.minutes(own.dose.balls) < Practice(ADULT, 640).minutes(ADULT.balls)
    trial = planned(player, hand="left", opponent=(3.115, 14.0))
    text = plan_text(trial)
    assert "left-handed" in text and "common practice, no source" in " ".join(text.split())
    assert not any(word in text for word in ("nan", "inf ", "-0.0", "None"))


def test_every_level_gets_whole_sets() -> None:
    for player in PLAYERS.values():
        practice = practice_of(player)
        assert practice.dose.balls % 8 == 0 and practice.most_balls == 10 * practice.dose.balls


def test_minutes_worked_by_hand() -> None:
    """64 balls of 15 s are 16 minutes, and seven rests of a minute stand between eight sets."""
    practice = Practice(ADULT, 640)
    assert practice.minutes(64) == 23.0 and practice.sessions(65) == 2


def test_against_who_looks_the_feeder_is_free() -> None:
    trial = planned(hitter="open-court")
    assert {s.to for f in trial.places for s in f.sides} == {ANYWHERE}
    assert "no side is drawn" in " ".join(plan_text(trial).split())


def test_the_sheet_has_pairs_in_the_order_of_the_lot() -> None:
    trial = made_trial()
    balls = balls_of(trial)
    assert [b.ball for b in balls] == list(range(1, 2 * trial.pairs + 1))
    first = cone_comes_first(1, np.arange(1, trial.pairs + 1))
    for (a, b), cone_first in zip(twos(balls), first, strict=True):
        assert (a.pair, a.place, a.to, a.set) == (b.pair, b.place, b.to, b.set)
        assert (a.stand, b.stand) == (("cone", "middle") if cone_first else ("middle", "cone"))
    assert 0.3 < first.mean() < 0.7
    kinds = Counter((b.place, b.to) for b in balls)
    for feed in trial.feeds:
        for side in feed.sides:
            assert abs(kinds[feed.number, side.to] - len(balls) * side.weight / 2) <= 2
    each = Counter(b.set for b in balls)
    assert set(each.values()) == {8}
    assert max(Counter(b.session for b in balls).values()) <= ADULT.balls
    assert balls_of(made_trial()) == balls != balls_of(made_trial(seed=2))


def test_the_columns_are_those_of_the_dictionary() -> None:
    assert tuple(dictionary()["trial"]) == COLUMNS == tuple(rows_of(sheet_text(made_trial()))[0])


def test_a_page_for_each_session_with_a_row_a_ball() -> None:
    trial = made_trial()
    pages = sheet_pages(trial)
    assert len(pages) == trial.question.practice.sessions(2 * trial.pairs)
    boxes, numbers = 0, []
    for page in pages:
        table = page.axes[1]
        boxes += sum(p.get_width() == pytest.approx(0.125) for p in table.patches)
        numbers += [int(t.get_text()) for t in table.texts if t.get_text().isdecimal()]
        texts = " ".join(t.get_text() for t in page.texts)
        assert all(word in texts for word in CAUTIONS.split()) and "seed 1" in texts
    assert boxes == 2 * 2 * trial.pairs
    assert set(range(1, 2 * trial.pairs + 1)) <= set(numbers)


@pytest.fixture
def rows() -> list[Row]:
    return filled_rows(made_trial(), np.random.default_rng(5))


def test_a_filled_sheet_worked_by_hand(tmp_path: Path, rows: list[Row]) -> None:
    rows = rows[:20]
    kept = [(1, 0)] * 6 + [(0, 1)] + [(1, 1)] * 2 + [(0, 0)]  # cone, middle
    for (a, b), (cone, middle) in zip(twos(rows), kept, strict=True):
        for row in (a, b):
            row["reached"] = str(cone if row["stand"] == "cone" else middle)
            row["returned_in"] = ""
    found = judged(rows, tmp_path / "f.csv")
    assert found.pairs == Pairs(2, 6, 1, 1) and found.pairs.p_value == pytest.approx(0.125)
    assert found.more.value == pytest.approx(50.0) and not found.is_seen
    assert sum(p.count for p in found.by_place.values()) == 10 and found.halves == 0
    assert found.by_outcome["returned"].count == 0  # nothing is typed of what came back
    text = " ".join(result_text(found).split())
    assert "returned" not in text and "Beside it" not in text
    assert "cannot tell the cone from the middle" in text
    assert f"{found.sheet.planned_pairs - 10} of the {found.sheet.planned_pairs} planned" in text


@pytest.mark.parametrize("better", ["cone", "middle"])
def test_the_better_place_is_named(tmp_path: Path, rows: list[Row], better: str) -> None:
    for row in rows:
        row["reached"] = row["returned_in"] = str(int(row["stand"] == better))
    found = judged(rows, tmp_path / "f.csv")
    other = {"cone": "middle", "middle": "cone"}[better]
    text = " ".join(result_text(found).split())
    assert f"the {better} was better than the {other}" in text and "below 0.0001" in text
    assert "outside that interval" in text and "Not in the order" not in text


def test_a_changed_order_and_other_columns_are_said(tmp_path: Path, rows: list[Row]) -> None:
    for a, b in twos(rows[:6]):
        a["stand"], b["stand"] = b["stand"], a["stand"]
    for row in rows:
        row["notes"], row["name"] = "windy, gusts", "Mia"
    found = judged(rows, tmp_path / "f.csv")
    assert found.turned == (1, 2, 3)
    text = " ".join(result_text(found).split())
    assert "Not in the order of the lot: 3 pairs (1, 2, 3)" in text
    assert "Columns that are not read: notes, name." in text


def test_a_pair_with_one_result_does_not_count(tmp_path: Path, rows: list[Row]) -> None:
    rows[0]["reached"] = rows[0]["returned_in"] = ""
    found = judged(rows[:-1], tmp_path / "f.csv")
    assert found.halves == 2 and found.pairs.count == found.sheet.planned_pairs - 2


def test_of_returned_balls_nothing_is_said_where_nothing_is_typed(
    tmp_path: Path, rows: list[Row]
) -> None:
    """Empty, or 0 for missed balls alone: neither tells of a ball that was reached."""
    for zeros in (False, True):
        for row in rows:
            row["returned_in"] = "0" if zeros and row["reached"] == "0" else ""
        found = judged(rows, tmp_path / "f.csv")
        assert found.pairs.neither > 0 and found.by_outcome["returned"].count == 0
        assert "returned" not in result_text(found)
        assert result_json(found)["returned"] is None
        told = run("--read", tmp_path / "f.csv", "--json")
        assert json.loads(told.stdout)["returned"] is None
    for row in rows:
        row["counts"] = "returned"
    assert "no pair with both results in the column returned_in" in refused(
        "--read", written(rows, tmp_path / "f.csv")
    )


def test_returned_balls_of_some_sets_are_those_of_these_sets(
    tmp_path: Path, rows: list[Row]
) -> None:
    """A pair that missed both balls counts where the column is kept, and nowhere else."""
    whole = judged(rows[:16], tmp_path / "some.csv").by_outcome["returned"]
    for row in rows[16:]:
        row["returned_in"] = ""
    assert any(a["reached"] == b["reached"] == "0" for a, b in twos(rows[16:]))
    assert judged(rows, tmp_path / "all.csv").by_outcome["returned"] == whole
    assert whole.count == 8


def test_a_missed_ball_need_not_be_typed_twice(tmp_path: Path, rows: list[Row]) -> None:
    typed = judged(rows, tmp_path / "f.csv").by_outcome["returned"]
    for row in rows:
        row["returned_in"] = row["returned_in"] if row["reached"] == "1" else ""
    assert judged(rows, tmp_path / "f.csv").by_outcome["returned"] == typed


def test_what_spreadsheets_do_to_a_sheet_is_read(tmp_path: Path, rows: list[Row]) -> None:
    plain = judged(rows, tmp_path / "plain.csv")
    text = (tmp_path / "plain.csv").read_text()
    lines = [line.replace(",", ";").replace("0.05", "0,05") for line in text.splitlines()]
    other = tmp_path / "other.csv"
    other.write_bytes(
        "\r\n".join(["sep=;", *lines, ";" * text[: text.index("\n")].count(",")]).encode("utf-16")
    )
    assert other.read_bytes() != (tmp_path / "plain.csv").read_bytes()
    found = judge(read_sheet(other))
    assert found.pairs == plain.pairs and found.sheet.false_alarm == 0.05


def changed(rows: list[Row], line: int, column: str, value: str) -> list[Row]:
    rows[line - 2][column] = value
    return rows


@pytest.mark.parametrize(
    ("line", "column", "value", "words"),
    [
        (3, "reached", "x", "line 3, reached is 'x'; allowed: 1 or 0"),
        (3, "stand", "left", "allowed: cone, middle"),
        (4, "pair", "9", "ball 3 belongs to pair 2"),
        (4, "ball", "1", "each ball once; it is in line 2 too"),
        (4, "ball", "", "allowed: a whole number from 1"),
        (5, "seed", "7", "the same in every row ('1' in line 2)"),
        (5, "seed", "9" * 400, "allowed: a whole number"),
        (5, "counts", "=1+1", "allowed: reached, returned"),
        (6, "place", "3", "both balls of a pair from one place"),
        (6, "false_alarm", "nan", "allowed: 0.001 to 0.2"),
    ],
)
def test_what_is_wrong_in_a_row_is_told(
    tmp_path: Path, rows: list[Row], line: int, column: str, value: str, words: str
) -> None:
    path = written(changed(rows, line, column, value), tmp_path / "f.csv")
    assert words in refused("--read", path)


def test_a_ball_that_came_back_was_reached(tmp_path: Path, rows: list[Row]) -> None:
    rows[0]["reached"], rows[0]["returned_in"] = "0", "1"
    assert "a ball that came back was reached" in refused(
        "--read", written(rows, tmp_path / "f.csv")
    )
    rows[0]["stand"] = rows[1]["stand"]
    assert "a pair has one ball a stand" in refused("--read", written(rows, tmp_path / "f.csv"))


@pytest.mark.parametrize("content", [b"", b"\n\n", b"ball,pair\n1,1\n", bytes(range(256)), b'"a'])
def test_what_is_no_sheet_is_refused(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "f.csv"
    path.write_bytes(content)
    assert "the sheet" in refused("--read", path)


def test_an_empty_sheet_says_what_to_do(tmp_path: Path) -> None:
    path = tmp_path / "s.csv"
    path.write_text(sheet_text(made_trial()))
    assert "type 1 or 0 for each ball" in refused("--read", path)
    assert "give a filled CSV" in refused("--read", tmp_path / "none.csv")
    assert "no ordinary file" in refused("--read", "/dev/zero")


def test_from_plan_to_reading(tmp_path: Path) -> None:
    sheet, page, figure = (tmp_path / name for name in ("s.csv", "s.pdf", "p.svg"))
    done = run(*OPTIONS, "--csv", sheet, "--page", page, "--figure", figure)
    assert done.exit_code == 0, done.output
    assert page.read_bytes().startswith(b"%PDF") and figure.stat().st_size > 1000
    for row in (rows := rows_of(sheet.read_text())):
        row["reached"] = row["returned_in"] = "1"
    done = run("--read", written(rows, tmp_path / "filled.csv"), "--json")
    told = json.loads(done.stdout)
    assert told["reached"]["both"] == told["planned_pairs"] and told["reached"]["p_value"] == 1.0
    again = run(*OPTIONS, "--csv", tmp_path / "again.csv", "--page", tmp_path / "again.pdf")
    assert again.exit_code == 0
    assert (tmp_path / "again.csv").read_bytes() == sheet.read_bytes()
    assert (tmp_path / "again.pdf").read_bytes() == page.read_bytes()


def test_a_sheet_that_is_there_stays(tmp_path: Path) -> None:
    """A filled sheet has the columns of an empty one: it must not be taken for ours to replace."""
    path = tmp_path / "s.csv"
    path.write_text(sheet_text(made_trial()))
    before = path.read_bytes()
    assert "is there already" in refused(*OPTIONS, "--csv", path)
    assert path.read_bytes() == before


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--places", "0"), "allowed: 1 (left) to 5 (right)"),
        (("--places", "one"), "give numbers by comma"),
        (("--power", "1"), "allowed: 0.5 to 0.99"),
        (("--false-alarm", "nan"), "allowed: 0.001 to 0.2"),
        (("--counts", "won"), "Valid: reached, returned"),
        (("--counts", "31/40,35/40"), "to --totals 31/40,35/40, a filled sheet to --read FILE.csv"),
        (("--counts", "40"), "takes a word, reached or returned"),
        (("--session-balls", "30"), "multiple of 8"),
        (("--most-balls", "2008"), "allowed: 16 to 2000"),
        (("--policy", "stay"), "has no spot here"),
        (("--policy", "middle", "--csv", "new.csv"), "there is no sheet"),
        (("--read", "x.csv", "--page", "x.pdf"), "leave out --page"),
    ],
)
def test_what_cannot_be_planned_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, options: tuple[str, ...], words: str
) -> None:
    monkeypatch.chdir(tmp_path)
    assert words in refused(*OPTIONS, *options)
    assert not list(tmp_path.iterdir())


def test_totals_worked_by_hand() -> None:
    """31 of 40 and 35 of 40: Wilson's ends are (n p + 1.92 -+ 1.96 sqrt(n p q + 0.96)) / (n + 3.84)
    for each, 0.6250 to 0.8768 and 0.7389 to 0.9454."""
    told = json.loads(run("--totals", "31/40, 35/40", "--json").stdout)
    assert told["middle"] == {"kept": 31, "balls": 40} and told["cone"]["kept"] == 35
    more = told["more_per_100"]
    assert more["estimate"] == pytest.approx(10.0)
    below, above = np.hypot(0.875 - 0.7389, 0.8768 - 0.775), np.hypot(0.9454 - 0.875, 0.775 - 0.625)
    assert more["low"] == pytest.approx(10 - 100 * below, abs=0.02)
    assert more["high"] == pytest.approx(10 + 100 * above, abs=0.02)
    assert told["counts"] == "reached" and not told["is_seen"]
    text = " ".join(run("--totals", "31/40,35/40").stdout.split())
    assert "From the middle 31 of 40 were reached, from the cone 35 of 40: 10.0" in text
    assert "cannot tell the cone from the middle" in text
    assert "anything from 7.0 fewer to 26.6 more" in text
    for limit in ("No lot drew the order", "not get the same balls", "knew which place", "sheet"):
        assert limit in text


@pytest.mark.parametrize(
    ("text", "better", "other"),
    [("20/40,35/40", "cone", "middle"), ("35/40,20/40", "middle", "cone")],
)
def test_the_better_place_of_totals_is_named(text: str, better: str, other: str) -> None:
    found = totals_of(text, "returned")
    said = " ".join(totals_text(found).split())
    assert found.is_seen and f"the {better} was better than the {other}" in said
    assert "were returned in" in said and "37.5 (17.4 to 53.9)" in said
    assert f"37.5 (17.4 to 53.9) {'more' if better == 'cone' else 'fewer'} in 100" in said
    assert "The lot" not in said and not NONSENSE.search(said)


def test_test_and_interval_must_agree() -> None:
    """Six of seven against two: the interval leaves out zero, the test stays above 5 %."""
    found = totals_of("2/7,6/7", "reached")
    assert found.is_outside_zero and not found.is_below_alarm and not found.is_seen
    said = " ".join(totals_text(found).split())
    assert "at the edge and leave it open" in said and "cannot tell" not in said


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("31/40",), "give two totals by comma, the middle first, then the cone"),
        (("31/40,35/40,1/2",), "give two totals"),
        (("",), "give two totals"),
        (("31,35",), "'31' for the middle; give whole numbers"),
        (("31/40,35.5/40",), "'35.5/40' for the cone; give whole numbers"),
        (("31/40,-1/40",), "give whole numbers"),
        (("31/40,\u0663/40",), "give whole numbers"),
        (("41/40,35/40",), "more kept than the 40 balls"),
        (("31/40,0/0",), "allowed: 1 to 500 from each place"),
        (("31/501,0/1",), "allowed: 1 to 500 from each place"),
        (("31/40,35/40", "--read", "x.csv"), "leave out --read"),
        (("31/40,35/40", "--player", "club-woman", "--seed", "1"), "leave out --player, --seed"),
        (("31/40,35/40", "--csv", "x.csv"), "leave out --csv"),
        (("31/40,35/40", "--false-alarm", "0.05"), "leave out --false-alarm"),
        (("31/40,35/40", "--counts", "40"), "takes a word"),
    ],
)
def test_what_are_no_totals_is_refused(options: tuple[str, ...], words: str) -> None:
    said = refused("--totals", *options)
    assert words in " ".join(said.split()) and len(said) < 400


@pytest.mark.parametrize("number", range(len(TOTALS)))
def test_fuzzed_totals_are_refused(number: int) -> None:
    """Given alone: beside the options that every fuzzed command gets they are not looked at."""
    said = refused(f"--totals={TOTALS[number].text}")
    assert said.startswith("Error: --totals") and len(said) < 400 and said[:-1].isprintable()


def test_the_help_says_where_counts_go() -> None:
    told = " ".join(run("--help").stdout.split())
    assert "--counts WORD One of two words, reached or returned" in told
    assert "from the middle first, then from the cone: 31/40,35/40" in told


def test_several_sheets_need_a_pdf(tmp_path: Path) -> None:
    assert "ends in .pdf" in refused(
        *OPTIONS, "--session-balls", "16", "--page", tmp_path / "s.png"
    )


def test_nothing_to_compare_is_said() -> None:
    done = run(*OPTIONS, "--policy", "middle")
    assert done.exit_code == 0 and "nothing to compare" in done.stdout
    told = json.loads(run(*OPTIONS, "--policy", "middle", "--json").stdout)
    assert told["fed_from"] == [] and told["places"][0]["chance_in_most"] is None


def test_returned_balls_may_count_instead() -> None:
    told = {
        counts: json.loads(run(*OPTIONS, "--counts", counts, "--json").stdout)
        for counts in ("reached", "returned")
    }
    for reached, returned in zip(*(t["places"] for t in told.values()), strict=True):
        lost = [p["lost_middle_per_100"]["estimate"] for p in (reached, returned)]
        assert lost[0] < lost[1]


def test_the_words_of_a_plan_hold_no_nonsense(college: Trial) -> None:
    text = plan_text(college)
    assert not NONSENSE.search(text)
    assert max(map(len, text.splitlines())) <= 140
