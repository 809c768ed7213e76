"""How far back to wait: rallies, cases, the best depth, policies, words, tables, picture."""

from __future__ import annotations

import dataclasses
import json
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner
from matplotlib.figure import Figure
from scipy.special import ndtri

from experiments.answers.depth.adaptive import adapted, adaptive_steps, policies_of
from experiments.answers.depth.answer import (
    Depth,
    DepthQuestion,
    depth_of,
    depths_of,
    steps_of,
)
from experiments.answers.depth.best import best_depth
from experiments.answers.depth.page import coach_page, depth_page
from experiments.answers.depth.picture import depth_figure, draw_depth, multiples_figure
from experiments.answers.depth.rallies import STOPPED, WAYS, opening_places, played
from experiments.answers.depth.short_balls import (
    NO_SHORT,
    PAYS,
    TRIED,
    USUAL,
    cases_of,
    meant,
    paying,
    with_short_balls,
)
from experiments.answers.depth.tables import tables_of
from experiments.answers.depth.words import behind, depth_text, why_words
from experiments.balls.smooth import smoother
from experiments.command.main import main
from experiments.scene.scene import scene_of
from experiments.study.columns import dictionary
from sim.errors import InputError
from strategies.catalogue import make_policy, make_shot_model

FEW = depths_of(0.0, 6.0, 1.5)
COMMAND = ("depth", "--rallies", "300", "--depths", "0,6,2", "--seed", "1", "--quiet")


def question(rallies: int = 600, **options: object) -> DepthQuestion:
    told = {"player": "college-man", "hitter": "pressing", "seed": 1, **options}
    return DepthQuestion(scene_of(**told), depths_m=FEW, rallies=rallies)  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def found() -> Depth:
    calls: list[int] = []
    answer = depth_of(question(), lambda: calls.append(1))
    assert len(calls) == steps_of([answer.question])
    return answer


def test_rallies_open_from_the_place_its_mirror_image_and_the_middle() -> None:
    places = opening_places(scene_of((3.0, 12.0), 1.3, seed=1).place)
    assert [(p.x_m, p.y_m, p.z_m) for p in places] == [
        (3.0, 12.0, 1.3),
        (-3.0, 12.0, 1.3),
        (0.0, 12.0, 1.3),
    ]


def test_every_rally_ends_one_way_and_points_follow_from_the_ways(found: Depth) -> None:
    for case in found.cases.values():
        for row in case.rows:
            shares = {way: e.value for way, e in row.ways.items()}
            assert sum(shares.values()) == pytest.approx(100.0)
            won = sum(shares[way] for way in WAYS if way.startswith("opponent"))
            assert row.points.value == pytest.approx(won + 0.5 * shares[STOPPED])


def test_the_usual_depth_is_among_those_tried_and_no_better_than_itself(found: Depth) -> None:
    scene = found.question.scene
    assert scene.depth_m not in FEW and scene.depth_m in found.question.all_depths_m
    for case in found.cases.values():
        (own,) = (row for row in case.rows if row.depth_m == scene.depth_m)
        assert (own.more.value, own.more.low, own.more.high) == (0.0, 0.0, 0.0)
        assert all(row.more.high > row.more.low for row in case.rows if row is not own)
        assert 0.0 <= case.usual_loses.low <= case.usual_loses.value <= case.usual_loses.high


def test_short_balls_are_none_the_usual_or_those_that_pay(found: Depth) -> None:
    none, usual, pays = (found.cases[name].rows for name in (NO_SHORT, USUAL, PAYS))
    assert all(row.drops.value == 0.0 for row in none)
    assert all(0.5 < row.drops.value < 4.0 for row in usual)
    assert pays[-1].drops.value > 10.0 and pays[-1].short.drop > 0.0
    assert none[-1].points.value - pays[-1].points.value > 5.0
    assert found.answer.best.depth_m < found.cases[NO_SHORT].best.depth_m


def test_farther_back_more_is_reached_and_the_opponent_has_more_ease(found: Depth) -> None:
    rows = found.cases[NO_SHORT].rows
    assert rows[-1].reached.low > rows[0].reached.high
    assert rows[-1].quality.low > rows[0].quality.high


def test_the_short_balls_that_pay_leave_the_fewest_points() -> None:
    game = question(300).game
    games = [with_short_balls(game, short) for short in TRIED]
    worth = dict(zip([g.opponent.shots for g in games], range(len(TRIED), 0, -1), strict=True))
    short, chosen, points = paying(game, lambda one: float(worth[one.opponent.shots]))
    assert (short, points) == (TRIED[-1], 1.0) and chosen == games[-1]
    assert paying(game, lambda _: 50.0)[0] == TRIED[0]  # of equal ones none is added


def test_what_pays_is_found_on_other_rallies_than_those_that_judge() -> None:
    asked = question(300)
    judged = played(asked.game, asked.scene.place, asked.each)
    numbers = 3 * asked.each + np.arange(3 * asked.training)
    assert numbers.min() >= judged.tables.shape[0] * judged.tables.shape[1]
    other = played(asked.game, asked.scene.place, asked.training, 3 * asked.each)
    assert asked.train(asked.game) == pytest.approx(100 * other.counts["points"].mean())


def test_a_best_reply_is_one_to_the_policy_and_adds_no_short_balls() -> None:
    asked = question(hitter="best-reply")
    assert cases_of(asked.scene.hitter) == asked.cases == (NO_SHORT, USUAL)
    assert asked.game.opponent.shots.policy == asked.policy  # type: ignore[attr-defined]
    assert meant(asked.game).opponent.shots == asked.game.opponent.shots
    assert cases_of(make_shot_model("any-allowed")) == (NO_SHORT, USUAL)


def curve_of(truth: np.ndarray, seed: int, units: int = 1000) -> np.ndarray:
    """Points of 3 rallies a unit and depth, that go together between depths as real ones do."""
    rng = np.random.default_rng(seed)
    shape = 3 * units, len(truth)
    apart = 0.12 * np.cumsum(rng.normal(size=shape), axis=1)
    luck = rng.normal(size=(shape[0], 1)) + apart
    luck /= np.sqrt(1.0 + 0.0144 * np.arange(1, shape[1] + 1))
    return np.asarray((luck < ndtri(truth)).reshape(3, units, -1).mean(axis=0))


DEPTHS = np.append(np.arange(-0.5, 6.01, 0.5), 1.2)
DEPTHS.sort()


@pytest.mark.parametrize(
    ("truth", "best_m"),
    [
        (0.48 - 0.004 * (DEPTHS - 3.0) ** 2, 3.0),
        (0.48 - 0.001 * (DEPTHS - 3.0) ** 2, 3.0),
        (0.49 - np.where(DEPTHS < 3.0, -0.02, 0.04) * (DEPTHS - 3.0), None),
        (0.60 - 0.02 * (DEPTHS + 0.5), -0.375),
    ],
)
def test_the_interval_of_the_best_depth_holds_a_known_one(
    truth: np.ndarray, best_m: float | None
) -> None:
    """At least 51 of 60 repeats: of 95 in 100 fewer come by chance once in a thousand times."""
    exact = best_depth(DEPTHS, np.tile(truth, (400, 1)), 1)
    assert exact.interval_m == pytest.approx((exact.depth_m, exact.depth_m))
    if best_m is not None:
        assert exact.depth_m == pytest.approx(best_m, abs=0.06)
    ends = [best_depth(DEPTHS, curve_of(truth, seed), seed).interval_m for seed in range(60)]
    held = sum(low - 1e-9 <= exact.depth_m <= high + 1e-9 for low, high in ends)
    assert held >= 51


def test_smoothing_keeps_a_parabola_and_few_depths() -> None:
    fine, smooth = smoother(DEPTHS)
    assert smooth @ (2.0 + DEPTHS - DEPTHS**2) == pytest.approx(2.0 + fine - fine**2)
    few = np.array([0.0, 2.0, 6.0])
    fine, smooth = smoother(few)
    assert smooth @ np.ones(3) == pytest.approx(np.ones(len(fine)))


def test_the_policies_are_held_against_the_best_fixed_place(found: Depth) -> None:
    policies = policies_of(["all", "biased"], found.question.scene)
    assert [p.name for p in policies] == ["in-and-out", "weighed", "learned", "biased"]
    calls: list[int] = []
    fixed, *rows = adapted(found, policies, lambda: calls.append(1))
    assert len(calls) == adaptive_steps(policies)
    assert fixed.fixed_depth_m in found.question.all_depths_m
    assert fixed.depth_m == pytest.approx(fixed.fixed_depth_m, abs=1.0)
    assert (fixed.points_more.low, fixed.reached_more.high) == (0.0, 0.0)
    assert [row.policy for row in rows] == [p.name for p in policies]
    for row in rows:
        more = row.points.value - fixed.points.value
        assert row.points_more.value == pytest.approx(more) and row.fixed_depth_m is None
    words = depth_text([found], [[fixed, *rows]])
    assert "best fixed place" in words and "in-and-out" in words


def test_the_answer_says_where_what_it_rests_on_and_why(found: Depth) -> None:
    words = depth_text([found])
    for said in (
        "behind the baseline",
        "no drop shots",
        "when they pay",
        "Model results",
        "seed 1",
    ):
        assert said in words, said
    case = found.cases[NO_SHORT]
    why = why_words(case)
    assert f"{case.rows[case.most_reached].reached.value:.1f} of 100" in why
    for more in case.instead.values():
        shown = f"{abs(more.value):.1f} {'more' if more.value > 0 else 'fewer'} end with"
        assert (shown in why) or more.low <= 0.0 <= more.high or case.best_row == case.most_reached


def test_nobody_is_said_to_lose_what_the_interval_leaves_open(found: Depth) -> None:
    case = found.answer
    open_loss = dataclasses.replace(case.usual_loses, value=0.8, low=0.0, high=3.0)
    open_case = dataclasses.replace(case, usual_loses=open_loss)
    told = dataclasses.replace(found, cases={**found.cases, PAYS: open_case})
    assert "cannot be told from the best depth" in " ".join(depth_text([told]).split())
    lost = dataclasses.replace(case, usual_loses=dataclasses.replace(open_loss, low=0.7))
    told = dataclasses.replace(found, cases={**found.cases, PAYS: lost})
    assert "loses 0.8 (0.7 to 3.0) points in 100" in " ".join(depth_text([told]).split())


def test_the_columns_are_those_of_the_dictionary(found: Depth) -> None:
    tables = tables_of([found], [adapted(found, [make_policy("biased")])])
    assert set(tables) == {"depths", "best", "adaptive"}
    for name, rows in tables.items():
        assert all(list(row) == list(dictionary()[name]) for row in rows), name
    assert len(tables["depths"]) == 3 * len(found.question.all_depths_m)


def test_the_pictures_show_each_case_and_each_cell(found: Depth) -> None:
    upper, lower = Figure().subplots(2)
    shown = {artist.get_gid() for artist in draw_depth(upper, lower, found)}
    wanted = {f"{case} {what}" for case in found.cases for what in ("points", "reached")}
    assert wanted | {"range", "baseline", "usual"} <= shown
    assert len(depth_figure(found).axes) == 2
    other = depth_of(question(300, surface="clay"))
    assert len(multiples_figure([found, other]).axes) == 2


@pytest.mark.parametrize(
    "words",
    [
        ("--player", "senior-65"),
        ("--player", "under-12", "--ball", "green"),
        ("--hand", "left", "--opponent", "-4,10", "--height", "0.4"),
        ("--hitter", "any-allowed", "--without", "all"),
    ],
)
def test_everybody_gets_numbers_that_are_some(words: tuple[str, ...]) -> None:
    told = CliRunner().invoke(main, [*COMMAND, *words, "--json"])
    assert told.exit_code == 0, told.output
    numbers = json.loads(told.stdout)
    table = pd.DataFrame(numbers["depths"])
    assert not table.isna().any().any()
    shares = table[[c for c in table if c.endswith("per_100") and "more" not in c]]
    assert shares.min().min() >= 0.0 and shares.max().max() <= 100.0
    again = CliRunner().invoke(main, [*COMMAND, *words, "--json"])
    assert again.stdout == told.stdout


def test_cells_give_a_folder_of_tables_and_a_picture(tmp_path: Path) -> None:
    cells = ("--levels", "club-woman,under-12", "--surfaces", "hard,clay")
    hitters = ("--hitters", "attentive,drop_when_far=0.1,pressing")
    out = tmp_path / "out"
    told = CliRunner().invoke(main, [*COMMAND, *cells, *hitters, "--out", str(out)])
    assert told.exit_code == 0, told.output
    assert sorted(p.name for p in out.iterdir()) == ["best.csv", "depth.png", "depths.csv"]
    assert len(pd.read_csv(out / "best.csv")) == 2 * 2 * 2 * 3
    refused = CliRunner().invoke(main, [*COMMAND, "--out", str(out)])
    assert refused.exit_code != 0 and "is there already" in refused.output


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--depths", "0,7,1"), "the end of the run-off"),
        (("--depths", "-4,2,1"), "inside the court"),
        (("--depths", "3,1,1"), "rising"),
        (("--depths", "0,6,0"), "least is 0.05"),
        (("--depths", "0,6,4"), "asks for 2 depths"),
        (("--depths", "0,6"), "give from, to and step"),
        (("--depths", "nan,6,1"), "start of --depths"),
        (("--rallies", "299"), "allowed: 300 to 30000"),
        (("--policy", "in-and-out"), "give it as --adaptive"),
        (("--policy", "stay"), "has no spot here"),
        (("--adaptive", "stay"), "has no spot here"),
        (("--adaptive", "nobody"), "unknown recovery policy"),
        (("--hitters", "serve"), "unknown shot model"),
        (("--levels", "club-man", "--opponent-player", "club-man"), "leave out --opponent-player"),
        (("--opponent", "0,-3"), "on the far side of the net"),
    ],
)
def test_what_makes_no_sense_is_refused(words: tuple[str, ...], says: str) -> None:
    told = CliRunner().invoke(main, [*COMMAND, *words])
    assert told.exit_code != 0 and says in told.output
    assert "Traceback" not in told.output and isinstance(told.exception, SystemExit)


def test_a_question_wants_rallies_and_a_policy_that_takes_its_depth() -> None:
    scene = scene_of(seed=1)
    with pytest.raises(InputError, match="rallies is 10"):
        DepthQuestion(scene, rallies=10)
    with pytest.raises(InputError, match="chooses its own depth"):
        DepthQuestion(scene, make_policy("weighed"))


def test_a_page_for_a_coach_holds_one_answer(tmp_path: Path) -> None:
    page, words = tmp_path / "page.pdf", ["--depths", "0,4,2", "--rallies", "300", "--seed", "1"]
    told = CliRunner().invoke(main, ["depth", *words, "--quiet", "--page", str(page)])
    assert told.exit_code == 0, told.output
    assert page.read_bytes().startswith(b"%PDF")
    cells = ["--levels", "club-woman,college-man", "--page", str(tmp_path / "two.pdf")]
    refused = CliRunner().invoke(main, ["depth", *words, "--quiet", *cells])
    assert refused.exit_code != 0
    assert "--page holds one answer" in refused.output


def test_the_page_says_what_the_answer_says(found: Depth) -> None:
    page = coach_page(found)
    texts = dict(page.findings)
    assert behind(found.answer.best.depth_m) in texts["Where to wait"]
    assert behind(found.cases[NO_SHORT].best.depth_m) in texts["How far it hangs on short balls"]
    assert depth_page(found, "letter").get_size_inches() == pytest.approx((8.5, 11.0))
