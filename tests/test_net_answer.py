"""Where to stand at the net: the approach, the aims, the turning point, words and files."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner

from experiments.answers.net.answer import (
    ANGLE,
    CENTRE,
    LINE,
    MEASURES,
    NAMED,
    OTHER,
    named_aims,
    net_answer,
)
from experiments.answers.net.approach import NetQuestion, approach, passing
from experiments.answers.net.turning import DISTANCES_M, crossing_m, turning_of
from experiments.command.main import main
from experiments.scene.scene import scene_of
from sim.errors import InputError
from sim.kinds import APPROACH


def question(**options: object) -> NetQuestion:
    scene = scene_of(**{"balls": 200, "seed": 1, "player": "club-woman", **options})  # type: ignore[arg-type]
    return NetQuestion(scene, (2.0, -7.5, 1.0), (2.4, 9.5))


def test_approach_lands_where_it_is_meant_to() -> None:
    found = approach(question())
    assert found.bounce_m == pytest.approx((2.4, 9.5), abs=0.02)
    assert found.ball["kind"][0] == APPROACH
    assert found.meets_m[1] > 9.5


def test_line_and_middle_by_hand() -> None:
    """Geometry, not a measured source: the line runs from the ball to the corner, and the middle
    of two lanes lies between the line and the centre."""
    asked = question()
    stroke = approach(asked)
    aims = dict(zip(NAMED, named_aims(asked, stroke), strict=True))
    x, y, _ = stroke.meets_m
    d = asked.scene.player.legs.net_distance_m
    assert aims[LINE][0] == pytest.approx(x + (3.8 - x) * (y + d) / (y + 11.885))
    assert 0 == aims[CENTRE][0] < aims[ANGLE][0] < aims[LINE][0]
    assert aims[OTHER][0] == -aims[ANGLE][0]


def test_crossing() -> None:
    assert crossing_m(np.array([1.0, 3.0]), np.array([1.0, -1.0])) == 2.0
    assert np.isnan(crossing_m(np.array([1.0, 3.0]), np.array([1.0, 0.5])))


def test_passing_where_the_player_is_not() -> None:
    assert len(passing(question(hitter="attentive").scene.hitter)) == 2
    assert len(passing(question(hitter="attentive,pass_away=1").scene.hitter)) == 1


def test_refusals() -> None:
    scene = question().scene
    with pytest.raises(InputError, match="land"):
        NetQuestion(scene, (2.0, -7.5, 1.0), (9.0, 9.0))
    with pytest.raises(InputError, match="contact's y"):
        NetQuestion(scene, (2.0, 5.0, 1.0), (2.4, 9.5))
    fast = scene_of(balls=200, seed=1, player="college-man")
    with pytest.raises(InputError, match="does not reach"):
        approach(NetQuestion(fast, (2.0, -7.5, 1.0), (3.2, 10.2)))


def test_answer_is_repeated_and_the_line_reaches_fewer() -> None:
    one, two = (net_answer(question(hitter="attentive,pass_away=1")) for _ in range(2))
    (a,), (b,) = one.passes.values(), two.passes.values()
    assert np.array_equal(a.met.points, b.met.points)
    judged = a.stood.judged("missed", np.arange(a.grid))
    assert judged.loss(a.named(LINE)).low > 0.0


def test_command_writes_all(tmp_path: Path) -> None:
    words = ["net", "--balls", "200", "--seed", "1", "--quiet", "--out", str(tmp_path / "n")]
    found = CliRunner().invoke(main, words)
    assert found.exit_code == 0, found.output
    assert "results of a model" in found.stdout
    names = {path.name for path in (tmp_path / "n").iterdir()}
    assert names == {"net.csv", "places.csv", "turning.csv", "net.png", "turning.png"}
    assert len(pd.read_csv(tmp_path / "n" / "places.csv")) == 2 * len(NAMED)


def test_a_page_for_a_coach(tmp_path: Path) -> None:
    page = tmp_path / "page.pdf"
    words = ["net", "--balls", "200", "--seed", "1", "--quiet"]
    told = CliRunner().invoke(main, [*words, "--page", str(page)])
    assert told.exit_code == 0, told.output
    assert page.read_bytes().startswith(b"%PDF")
    cells = ["--surfaces", "clay,hard", "--page", str(tmp_path / "two.pdf")]
    refused = CliRunner().invoke(main, [*words, *cells])
    assert refused.exit_code != 0
    assert "--page holds one answer" in refused.output


def test_what_may_be_as_good_holds_the_best_and_not_the_line() -> None:
    found = net_answer(NetQuestion(scene_of(seed=2, balls=600), (2.0, -7.5, 1.0), (2.4, 9.5)))
    for at in found.passes.values():
        for measure in MEASURES:
            across = at.across(measure)
            assert across.column in across.as_good
            assert -at.met.aims[across.as_good, 1] == pytest.approx(at.own_m)
            assert at.loss(measure, LINE).value > 0.0


def test_the_mirrored_approach_is_answered_by_the_mirrored_places() -> None:
    """Other chance, the same situation: rates differ by no more than that (500 balls)."""
    asked = {"balls": 500}
    right = NetQuestion(scene_of(seed=4, **asked), (2.0, -7.5, 1.0), (2.4, 9.5))  # type: ignore[arg-type]
    hands = {"hand": "left", "opponent_hand": "left"}
    left = NetQuestion(scene_of(seed=5, **asked, **hands), (-2.0, -7.5, 1.0), (-2.4, 9.5))  # type: ignore[arg-type]
    one, two = net_answer(right), net_answer(left)
    for way, at in one.passes.items():
        other = two.passes[way]
        for k in range(len(NAMED)):
            aim, turned = (x.stood.aims[x.grid + k] for x in (at, other))
            assert (-aim[0], aim[1]) == pytest.approx(turned, abs=0.02)
            a, b = (x.stood.lost_per_100("missed", x.grid + k) for x in (at, other))
            assert abs(a.value - b.value) < 4.0 * np.hypot(a.se, b.se) + 1e-9
        assert other.turning[0].bisector_turns_m == pytest.approx(
            at.turning[0].bisector_turns_m, abs=0.05
        )


def test_the_rule_turns_round_between_net_and_baseline() -> None:
    """Geometry, not a measured source: near the net the extreme shots pass close to the ball's
    straight way, far back the crosscourt one has gone wide."""
    scene = scene_of(balls=400, seed=1, player="college-man", hitter="attentive,pass_away=1")
    stroke = approach(NetQuestion(scene, (2.0, -7.5, 1.0), (2.4, 9.5)))
    corner, _ = turning_of(scene.game, 400, stroke)
    place = {d: corner.side * b.x_m for d, b in zip(DISTANCES_M, corner.best, strict=True)}
    assert min(place[d] for d in DISTANCES_M if d <= 4.5) > 0.0
    assert max(place[d] for d in DISTANCES_M if d >= 7.5) < 0.0
    assert 4.5 < corner.bisector_turns_m < 7.5
    last, first = corner.best_turns_m
    assert 2.8 <= last < first <= 10.5
