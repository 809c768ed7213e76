"""Learning: weights and their files, the search, what is held out, the short rule."""

from __future__ import annotations

import dataclasses
import math
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from experiments.command.main import main
from experiments.learning.training.answer import Diary, file_text, judged, learned, rounds_of
from experiments.learning.training.goal import Goal
from experiments.learning.training.rule import Distilled, Rule, goal_of
from experiments.learning.training.search import Plan, evolution, knob, numbers_at, search
from experiments.scene.rule_words import rule_for, rule_sentence
from experiments.statistics.estimates import Difference
from sim.contracts import Situation, bodies_at, contacts_at
from sim.court import HALF_LENGTH_M
from sim.errors import InputError
from sim.players import PLAYERS, player
from sim.world import World
from strategies.learned.reading import MEANING, SHIPPED, learning_of, read_learning
from strategies.recovery.bisector import Bisector
from strategies.recovery.learned import Learned, Weighted
from strategies.recovery.linear_shade import LinearShade

GOAL = Goal("club-adult", ("habit",), points=40)
PLAN = Plan(GOAL, ("opponent", "back"), rounds=3, candidates=4, seed=7)


def situation(hand: str = "right") -> Situation:
    me = player("club-adult", hand)
    x, y = np.array([3.1, -3.1, 0.0]), np.array([11.9, 12.5, 9.0])
    contact = contacts_at(x, y, np.ones(3), np.array([1, -1, 1]))
    contact["quality"] = 1.0, 0.4, 0.8
    body = bodies_at(np.array([2.0, -1.0, 0.5]), np.full(3, -13.5))
    time = np.array([1.2, 0.9, math.inf])
    return Situation(me, me, World().numbers, 1.3, body, contact, time)


def test_no_weights_are_the_middle_and_one_is_the_shade_or_the_bisector() -> None:
    seen = situation()
    nothing = Weighted("none", {}).spots(seen)
    assert nothing[:, 0].tolist() == [0.0, 0.0, 0.0]
    assert nothing[:, 1] == pytest.approx(-seen.line_m)
    shade = Weighted("shade", {"opponent": 0.3}).spots(seen)
    assert shade[:, :2] == pytest.approx(LinearShade(shade_m_per_m=0.3).spots(seen))
    half = Weighted("bisector", {"bisector": 1.0}).spots(seen)
    assert half[:, :2] == pytest.approx(Bisector().spots(seen))


@pytest.mark.parametrize(
    ("name", "x_m", "behind_m"),
    [
        # By hand, at the second row of `situation`: the opponent 3.1 m to the left, 0.615 m behind
        # the baseline, a backhand of quality 0.4 met in 0.9 s; oneself 1 m left, 0.315 m deeper.
        ("opponent", 3.1, 0.0),
        ("opponent_near", 3.1 * -0.123, 0.0),
        ("opponent_weak", 3.1 * 0.6, 0.0),
        ("opponent_backhand", 3.1, 0.0),
        ("own", -1.0, 0.0),
        ("own_hurried", -0.6, 0.0),
        ("toward_backhand", -1.0, 0.0),
        ("back", 0.0, 1.0),
        ("back_wide", 0.0, 3.1),
        ("back_near", 0.0, -0.123),
        ("back_weak", 0.0, 0.6),
        ("back_hurried", 0.0, 0.6),
        ("back_own_wide", 0.0, 1.0),
        ("back_own_deep", 0.0, 0.315),
    ],
)
def test_what_each_weight_does(name: str, x_m: float, behind_m: float) -> None:
    small = 0.01  # so that the bend of the depth does not show
    spot = Weighted(name, {name: small}).spots(situation())[1]
    assert spot[0] == pytest.approx(small * x_m, abs=1e-6)
    assert -spot[1] - HALF_LENGTH_M - 1.3 == pytest.approx(small * behind_m, abs=1e-5)


def test_left_handed_rests_to_the_other_side() -> None:
    right, left = (
        Weighted("w", {"toward_backhand": 0.5}).spots(situation(hand)) for hand in ("right", "left")
    )
    assert right[:, 0].tolist() == [-0.5] * 3 and left[:, 0].tolist() == [0.5] * 3


def test_effort_is_asked_for() -> None:
    assert Weighted("w", {"effort": 0.8}).spots(situation())[:, 2].tolist() == [0.8] * 3


def test_every_shipped_set_says_how_it_was_found() -> None:
    assert {"best-club-adult", "best-college-man", "safest-club-adult", "safest-college-man"} <= {
        *SHIPPED
    }
    for name in SHIPPED:
        learning = read_learning(name)
        assert set(learning.weights) == set(MEANING)
        goal, kind = goal_of(learning, 4000), name.removesuffix(f"-{goal_of(learning, 4000).level}")
        assert kind in ("best", "safest", "rule"), name
        assert kind == "rule" or goal.worst == (kind == "safest"), name


@pytest.mark.parametrize("level", PLAYERS)
def test_every_level_has_a_rule_whose_title_its_weights_say(level: str) -> None:
    rule = rule_for(player(level))
    assert rule is not None and rule.found["level"] == level
    assert rule.title == rule_sentence(rule.weights, rule.found["depth_m"])
    worst = max(loss[0] for loss in rule.found["loses_in_100"].values())
    assert worst >= 0.05, (
        "the page says against whom it wins fewer points than all that was learned"
    )


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("title = 1\n[weights]\n", "give a text `title`"),
        ('title = "a"\n', "table `weights`"),
        ('title = "a"\nextra = 2\n[weights]\n', "unknown key 'extra'"),
        ('title = "a"\n[weights]\nbisectr = 1.0\n', "bisector"),
        ('title = "a"\n[weights]\nback = 9.0\n', "from -3 to 4"),
        ('title = "a"\n[weights]\nback = "deep"\n', "'deep'"),
        ('title = "a"\n[weights]\nback = true\n', "True"),
        ('title = "a"\n[weights]\nback = nan\n', "nan"),
        ('title = "a"\nfound = 3\n[weights]\n', "give a table"),
        ("title = \n", "line 1"),
    ],
)
def test_a_bad_file_is_refused_with_what_is_wrong(text: str, said: str) -> None:
    with pytest.raises(InputError, match="mine") as error:
        learning_of(text, "mine")
    assert said in str(error.value)


def test_a_missing_file_and_an_unknown_set_are_told(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot be read"):
        Learned(weights=str(tmp_path / "none.toml"))
    with pytest.raises(InputError, match="best-club-adult"):
        Learned(weights="best-club")


def test_the_search_finds_the_place_that_it_is_paid_for() -> None:
    """On a bowl whose lowest point is known, no rally played."""
    plan = dataclasses.replace(PLAN, rounds=60, candidates=8)
    wished = {"opponent": 0.1, "back": -1.2}

    def bowl(number: int, points: list[np.ndarray]) -> list[float]:
        found = [numbers_at(plan.knobs, point) for point in points]
        return [-sum((w[n] - wished[n]) ** 2 for n in wished) for w in found]

    *_, last = search(plan, [], bowl)
    assert last.weights == pytest.approx(wished, abs=0.01)


def test_weights_stay_in_their_ranges() -> None:
    plan = dataclasses.replace(PLAN, rounds=40)

    def farther(number: int, points: list[np.ndarray]) -> list[float]:
        return [numbers_at(plan.knobs, p)["back"] for p in points]

    *_, last = search(plan, [], farther)
    assert last.weights["back"] == pytest.approx(MEANING["back"].high, abs=0.05)
    assert last.weights["back"] <= MEANING["back"].high


def test_the_global_generator_is_left_alone() -> None:
    np.random.seed(5)
    before = np.random.get_state()[1].tolist()  # type: ignore[index, union-attr]
    evolution([knob("back", 0.0)], 4, 1).ask()
    assert np.random.get_state()[1].tolist() == before  # type: ignore[index, union-attr]


def test_a_stopped_search_goes_on_to_the_same_end(tmp_path: Path) -> None:
    whole = [r.values for r in rounds_of(PLAN, Diary(tmp_path / "whole", PLAN), 1)]
    half = Diary(tmp_path / "half", PLAN)
    halfway = rounds_of(PLAN, half, 1)
    assert next(halfway).values == whole[0]
    halfway.close()
    with (tmp_path / "half").open("a") as file:
        file.write("[0.1, 0.")  # a line that was being written
    assert half.read() == whole[:1]
    assert [r.values for r in rounds_of(PLAN, half, 1)] == whole
    assert half.read() == whole


def test_a_diary_of_another_search_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "diary"
    assert Diary(path, PLAN).read() == [] and not path.exists()  # nothing is left by a mere look
    Diary(path, PLAN).write([])
    before = path.read_bytes()
    with pytest.raises(InputError, match="another search"):
        Diary(path, dataclasses.replace(PLAN, seed=8)).read()
    path.write_bytes(b"\xff\xfe a file of somebody's")
    with pytest.raises(InputError, match="diary"):
        Diary(path, PLAN).read()
    assert path.read_bytes() != before


def test_judged_beside_the_middle_on_points_that_the_search_never_saw() -> None:
    found = judged(PLAN, {"opponent": 0.0}, 200)
    (row,) = found.rows
    assert row.more["learned"].value == 0.0 and row.more["learned"].high == 0.0
    assert row.over_shade.value == pytest.approx(-row.more["shade"].value)
    assert 20.0 < row.middle < 80.0


def test_the_worst_case_is_the_least_of_the_hitters() -> None:
    goal = Goal("club-adult", ("habit", "open-court"), points=40)
    values = goal.values(Bisector(), 1)
    assert goal.of(values) == pytest.approx(values.mean())
    assert dataclasses.replace(goal, worst=True).of(values) == values.min()


def test_a_goal_over_worlds_plays_each_of_them() -> None:
    goal = Goal("college-man", points=80, worlds=2)
    assert len(goal.table(Bisector(), "habit", 1, 0)) == 80
    plain = dataclasses.replace(goal, worlds=0)
    ours, theirs = (g.table(Bisector(), "habit", 1, 0)[:40, 4] for g in (goal, plain))
    assert not np.array_equal(ours, theirs)


@pytest.mark.parametrize("bad", [{"points": 10}, {"hitters": ()}, {"hitters": ("nobody",)}])
def test_a_goal_that_cannot_be_played_is_refused(bad: dict[str, object]) -> None:
    with pytest.raises(InputError):
        dataclasses.replace(GOAL, **bad)  # type: ignore[arg-type]


def test_the_command_writes_a_policy_for_every_other_command(tmp_path: Path) -> None:
    out = tmp_path / "mine.toml"
    small = "--rounds 1 --candidates 4 --points 40 --held-out 40 --seed 3 --workers 1 --quiet"
    words = f"learn {small} --out {out}"
    told = CliRunner().invoke(main, words.split())
    assert told.exit_code == 0, told.output
    assert f"learned,weights={out}" in told.output and "stop on pain" in told.output
    assert not out.with_name("mine.toml.partial").exists()
    learning = read_learning(str(out))
    assert learning.found["seed"] == 3 and learning.found["hitters"] == ["habit"]
    shown = CliRunner().invoke(
        main, f"spot --policy learned,weights={out} --balls 100 --seed 1 --all".split()
    )
    assert shown.exit_code == 0 and "mine" in shown.output, shown.output
    again = CliRunner().invoke(main, words.split())
    assert again.exit_code != 0 and "there already" in again.output


def test_the_file_is_read_back_as_it_was_learned(tmp_path: Path) -> None:
    found = learned(PLAN, Diary(tmp_path / "d", PLAN), 1, 40, lambda: None)
    back = learning_of(file_text(found), "back")
    assert {k: v for k, v in back.weights.items() if v} == {
        k: v for k, v in found.weights.items() if v
    }
    assert goal_of(back, PLAN.goal.points) == PLAN.goal


def rule(loss: float, **weights: float) -> Rule:
    one = Difference(loss, loss, loss, 0.0, 10, 10.0, 0.0, 0.0)
    return Rule(weights, {"habit": one})


def test_the_shortest_rule_that_loses_little_is_taught() -> None:
    learning = read_learning("best-club-adult")
    rules = (
        rule(0.02, opponent=0.3),
        rule(0.004, opponent=0.3, back=1.0),
        rule(0.001, opponent=0.3, back=1.0, back_weak=-2.0),
    )
    found = Distilled(learning, GOAL, rules, {"habit": 50.0}, 25, 100, 1)
    assert found.shortest is rules[1]
    assert Distilled(learning, GOAL, rules[:1], {"habit": 50.0}, 25, 100, 1).shortest is rules[0]


def test_of_the_safest_a_loss_where_most_is_won_does_not_count() -> None:
    """By hand: the least falls from 48 to 47.5, whatever is lost against the other."""
    goal = Goal("club-adult", ("habit", "pressing"), worst=True, points=40)
    one = rule(0.005, opponent=0.3)
    other = Difference(0.03, 0.03, 0.03, 0.0, 10, 10.0, 0.0, 0.0)
    rules = (Rule(one.weights, {**one.loss, "pressing": other}),)
    won = {"habit": 48.0, "pressing": 60.0}
    learning = read_learning("safest-club-adult")
    found = Distilled(learning, goal, rules, won, 25, 100, 1)
    assert found.lost(rules[0]) == pytest.approx(0.5)
    mean = Distilled(learning, dataclasses.replace(goal, worst=False), rules, won, 25, 100, 1)
    assert mean.lost(rules[0]) == pytest.approx(1.75)


def test_a_rule_is_said_in_one_sentence() -> None:
    """The depths by hand: 1.3 m and a move, bent by the room of 5.1 m behind and 3.3 m in front."""
    assert rule_sentence({"opponent": 0.3, "back": 1.0, "back_weak": -2.0}, 1.3) == (
        "for each metre that your opponent is off the middle, recover 30 cm to the other side;"
        " wait 2.3 m behind the baseline; come in as your opponent is stretched, in full stretch to"
        " 0.3 m behind the baseline"
    )
    assert rule_sentence({"back": -1.35}, 1.3).endswith("wait 0.1 m behind the baseline")
    assert rule_sentence({}, 1.3) == "recover to the middle"
