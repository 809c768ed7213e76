"""The game of place against shot: payoffs by hand, by symmetry, and both orders solved."""

from __future__ import annotations

import dataclasses
import json
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from experiments.answers.game.answer import (
    GameQuestion,
    Grid,
    NextBall,
    earned_by_hitter,
    next_ball_of,
    not_returned,
    payoffs_of,
    solve_game,
)
from experiments.answers.game.picture import game_figure
from experiments.answers.game.words import game_json, game_text
from experiments.command.main import main
from experiments.scene.scene import scene_of
from sim.contracts import bodies_at
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M
from sim.errors import InputError
from sim.exchange import Place
from sim.meeting import meetings
from sim.players import player
from sim.records import (
    IN,
    MISSED,
    STRETCHED,
    STROKE,
    STROKE_LIMIT,
    UNFORCED_ERROR,
    WINNER,
)
from sim.stroke import strike

COLLEGE = player("college-man").with_equal_wings()
SMALL = Grid(places=13, across=7, along=5, speed_shares=(0.85, 1.15))
CORNER, CENTRE = Place("corner", 3.115, 11.885), Place("middle", 0.0, 11.885)
RUN = ("game", "--seed", "3", "--strokes", "20")


def asked(place: Place = CORNER, grid: Grid = SMALL, errors: int = 64) -> GameQuestion:
    scene = dataclasses.replace(scene_of(depth=1.2, seed=5), player=COLLEGE, opponent=COLLEGE)
    return GameQuestion(scene.at(place), grid, errors)


def test_payoff_is_won_less_lost_ball_by_ball() -> None:
    """One shot and one place worked out again, through the meeting of the engines."""
    from sim.chance import EXECUTION, uniforms
    from sim.contracts import intents_of
    from strategies.even_draws import even_uniforms

    q, j, k = asked(), 7, 33
    found = payoffs_of(q)
    x, y, share = q.grid.shots[k]
    contact = np.repeat(q.contact, q.errors)
    ones, hitter = np.ones(q.errors), COLLEGE.hitter
    speed = share * hitter.speed_m_s(contact["wing"])
    intents = intents_of(x * ones, y * ones, speed, hitter.topspin_rad_s(contact["wing"]))
    shift = uniforms(q.scene.seed, np.array([0]), EXECUTION, 0, 3)[0]
    errors, world = even_uniforms(shift, q.errors), q.scene.world.numbers
    balls, paths = strike(contact, intents, errors, hitter.numbers, world)
    bodies = bodies_at(q.grid.place_x_m[j] * ones, -(HALF_LENGTH_M + q.scene.depth_m) * ones)
    legs = COLLEGE.legs
    met = meetings(balls, paths, bodies, legs.numbers, legs.times)
    landed = balls["outcome"] == IN
    won = (landed & (met["grade"] == MISSED)).sum()
    assert found.payoff[j, k] == pytest.approx((won - (~landed).sum()) / q.errors)
    assert found.lands[k] == pytest.approx(landed.mean())


def test_lines_have_their_price() -> None:
    """Aimed at the line half of the balls are out, whatever the place."""
    q = asked()
    lands = payoffs_of(q).lands
    on_line = np.abs(q.grid.shots[:, 0]) == HALF_WIDTH_M
    assert (lands[on_line] < 0.6).all()
    assert lands[~on_line].max() > 0.95


def test_from_the_middle_the_game_is_symmetric() -> None:
    """Equal wings, the middle: the safest place is the middle, both mixes lie evenly about it."""
    answer = solve_game(asked(CENTRE, errors=256))
    grid = answer.question.grid
    assert abs(answer.safest_x_m) <= grid.place_x_m[1] - grid.place_x_m[0] + 1e-9
    assert abs(float(answer.hidden.rows @ grid.place_x_m)) < 0.8


def test_orders_and_checks_of_a_solved_game() -> None:
    answer = solve_game(asked())
    assert answer.disguise >= 0.0
    assert answer.seen.value >= answer.hidden.value
    assert answer.breach < 1e-9
    assert answer.safest_x_m < 0.0  # away from the opponent, toward the wider angle
    found = game_json(answer)
    assert sum(p["share"] for p in found["places"]) == pytest.approx(1.0, abs=0.1)
    text = game_text(answer, "balls not reached in time")
    assert f"is worth {100 * answer.seen.value:.1f}" in text


def test_a_halved_grid_is_part_of_the_whole() -> None:
    whole, half = Grid(), Grid().halved()
    assert set(half.place_x_m.round(9)) < set(whole.place_x_m.round(9))
    assert {tuple(s) for s in half.shots.round(9)} < {tuple(s) for s in whole.shots.round(9)}


def test_game_questions_that_are_refused() -> None:
    with pytest.raises(InputError, match="strokes a target is 3"):
        asked(errors=3)


def strokes_of(*rows: tuple[int, int, int, int, int, float, int]) -> np.ndarray:
    out = np.zeros(len(rows), STROKE)
    for name, column in zip(
        ("replicate", "stroke", "side", "outcome", "grade", "time_to_spare_s", "ending"),
        zip(*rows, strict=True),
        strict=True,
    ):
        out[name] = column
    return out


def test_who_earned_a_stroke() -> None:
    """Side 1 strikes; rally 0 it wins by a winner, 1 it loses by an error, 2 nobody."""
    strokes = strokes_of(
        (0, 0, 1, IN, STRETCHED, 0.1, 0),
        (1, 0, 1, IN, STRETCHED, 0.1, 0),
        (2, 0, 1, IN, STRETCHED, 0.1, STROKE_LIMIT),
        (0, 1, 0, IN, STRETCHED, 0.1, 0),
        (1, 1, 0, IN, STRETCHED, 0.1, 0),
        (0, 2, 1, IN, MISSED, -0.1, WINNER),
        (1, 2, 1, IN + 1, MISSED, 0.0, UNFORCED_ERROR),
    )
    assert earned_by_hitter(strokes).tolist() == [1, -1, 0, -1, 1, 1, -1]


def test_next_ball_by_time_to_spare() -> None:
    """Made up: late balls win for the hitter, early ones lose; missed ones are worth 1."""
    rows = [(i, 0, 1, IN, STRETCHED, 0.1 if i % 2 else 1.0, 0) for i in range(600)]
    ends = [(i, 1, 0, IN + 1, MISSED, 0.0, UNFORCED_ERROR) for i in range(1, 600, 2)]
    ends += [(i, 1, 0, IN, MISSED, -0.1, WINNER) for i in range(0, 600, 2)]
    worth = next_ball_of(strokes_of(*rows, *ends), bins=(0.0, 0.5, 1.0))
    assert isinstance(worth, NextBall)
    spare = np.array([-0.2, 0.0, 0.55, 2.0])
    grade = np.array([MISSED, STRETCHED, STRETCHED, STRETCHED])
    assert worth(spare, grade) == pytest.approx([1.0, 1.0, 0.0, -1.0])
    assert not_returned(spare, grade).tolist() == [1.0, 0.0, 0.0, 0.0]
    with pytest.raises(InputError, match="balls were reached"):
        next_ball_of(strokes_of(*rows[:5]))


def test_picture_holds_the_shots_and_the_places() -> None:
    answer = solve_game(asked())
    figure = game_figure(answer)
    marks = {a.get_gid() for a in figure.axes[0].get_children()}
    assert {"contact", "shot", "safest place", "net"} <= marks


def test_command_prints_numbers_and_refuses(tmp_path: Path) -> None:
    done = CliRunner().invoke(main, [*RUN, "--count", "winners", "--json"])
    assert done.exit_code == 0, done.output
    found = json.loads(done.stdout)
    assert found["seen_value"] >= found["hidden_value"] - 1e-9
    assert found["seed"] == 3
    for bad, says in (
        (("--strokes", "2"), "strokes a target is 2"),
        (("--figure", str(tmp_path / "a.gif")), "a.gif"),
        (("--player", "club-adlt"), "Did you mean 'club-adult'?"),
        (("--depth", "-1"), "metres behind the baseline"),
    ):
        done = CliRunner().invoke(main, [*RUN, *bad])
        assert done.exit_code == 2 and says in done.stderr and "Traceback" not in done.stderr
    assert list(tmp_path.iterdir()) == []
