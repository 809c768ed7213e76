"""Recovery against shots: the table, the mixes, the answers of both learners."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Iterator

import numpy as np
import pytest
from click.testing import CliRunner

from experiments.command.main import main
from experiments.learning.duel import answer
from experiments.learning.duel.answer import Duel, Plan, duel, hitter_knobs
from experiments.learning.duel.words import duel_table, duel_text
from experiments.learning.training.goal import Goal
from sim.errors import InputError
from strategies.recovery.learned import Weighted
from strategies.recovery.linear_shade import LinearShade
from strategies.recovery.middle import Middle
from strategies.shots.open_court import OpenCourt

GOAL = Goal("club-adult", ("habit", "open-court"), points=40)
POLICIES = {"middle": Middle(), "shade": LinearShade(shade_m_per_m=0.3)}
PLAN = Plan(GOAL, POLICIES, points=80, tried=40, rounds=1, candidates=4, most=1, seed=3)


@pytest.fixture(scope="module")
def found() -> Iterator[Duel]:
    yield duel(PLAN)


def test_both_sides_answer_and_the_table_grows_by_a_row_and_a_column(found: Duel) -> None:
    assert list(found.policies) == ["middle", "shade", "answer 1"]
    assert list(found.hitters) == ["habit", "open-court", "answer 1"]
    assert found.won.shape == (3, 3) and ((found.won > 0) & (found.won < 100)).all()
    assert isinstance(found.policies["answer 1"], Weighted)
    assert isinstance(found.hitters["answer 1"], OpenCourt)


def test_the_mixes_cannot_be_taken_advantage_of(found: Duel) -> None:
    """Von Neumann's theorem, on the table itself: no row does better, no column worse."""
    assert found.recovery_mix.sum() == pytest.approx(1.0)
    assert (found.won @ found.shots_mix).max() == pytest.approx(found.value, abs=1e-6)
    assert (found.recovery_mix @ found.won).min() == pytest.approx(found.value, abs=1e-6)
    assert found.known >= found.value - 1e-9


def test_the_worst_case_is_the_least_of_a_row(found: Duel) -> None:
    for row, (least, hitter) in zip(found.won, found.worst.values(), strict=True):
        assert least == row.min() and row[list(found.hitters).index(hitter)] == least


def test_the_same_seed_gives_the_same_duel(found: Duel) -> None:
    again = duel(PLAN)
    assert np.array_equal(again.won, found.won)
    assert again.steps == found.steps


def test_the_words_tell_the_worst_case_first_and_whether_it_stands(found: Duel) -> None:
    text = duel_text(found)
    names = [line.split("  ")[0] for line in text.splitlines()[3:7]]
    order = sorted(found.worst, key=lambda name: -found.worst[name][0])
    assert [name for name in names if name in found.worst] == order
    moves = dataclasses.replace(found.steps[-1], recovery_gain=3.0)
    assert "may move further" in duel_text(dataclasses.replace(found, steps=(moves,)))
    still = dataclasses.replace(found.steps[-1], recovery_gain=0.1, shots_gain=-1.0)
    assert "the value stands" in duel_text(dataclasses.replace(found, steps=(still,)))
    assert len(duel_table(found)) == 9


def test_a_hitter_starts_as_the_usual_one_and_stays_in_the_parameters_ranges() -> None:
    assert OpenCourt(**{knob.name: knob.start for knob in hitter_knobs()}) == OpenCourt()
    ranges = {f.name: f.metadata for f in dataclasses.fields(OpenCourt)}
    for knob in hitter_knobs():
        assert (knob.at(-99.0), knob.at(99.0)) == (
            ranges[knob.name]["low"],
            ranges[knob.name]["high"],
        )


def test_a_learner_of_shots_finds_what_it_is_paid_for(monkeypatch: pytest.MonkeyPatch) -> None:
    """Paid for sharpness and short angles alone, the search goes there: no rally is played."""

    def paid(game: object, policy: object, shots: OpenCourt, first: int, points: int) -> float:
        return -10.0 * shots.sharpness_per_m - 100.0 * shots.short_angle_weight

    monkeypatch.setattr(answer, "_played", paid)
    plan = dataclasses.replace(PLAN, rounds=30, candidates=8)
    game = answer.game_of(GOAL, "habit", None, 3)
    mix = answer.solve_hidden(np.zeros((2, 1)))
    learned = answer._shots_answer(game, POLICIES, mix, plan, 1)
    assert learned.sharpness_per_m > 2.5 and learned.short_angle_weight > 0.15


def test_a_learner_of_places_begins_with_the_best_weights_known() -> None:
    policies = {"middle": Middle(), "a": Weighted("a", {"back": 1.0}), "b": Weighted("b", {})}
    mix = answer.solve_hidden(np.zeros((3, 1)))
    mix = dataclasses.replace(mix, rows=np.array([0.6, 0.3, 0.1]))
    assert answer._best_weights(policies, mix) == {"back": 1.0}
    alone = answer.solve_hidden(np.zeros((1, 1)))
    assert answer._best_weights({"middle": Middle()}, alone) == {}


def test_too_little_is_refused() -> None:
    with pytest.raises(InputError, match="40 or more"):
        dataclasses.replace(PLAN, points=3)


def test_the_command() -> None:
    words = "duel --points 80 --tried 40 --rounds 1 --answers 1 --seed 3 --quiet --hitters habit"
    told = CliRunner().invoke(main, [*words.split(), "--policies", "middle", "--json"])
    assert told.exit_code == 0, told.output
    numbers = json.loads(told.output)
    assert set(numbers["worst"]) == {"middle", "answer 1"}
    none = CliRunner().invoke(main, [*words.split(), "--policies", ","])
    assert none.exit_code != 0 and "at least one name" in none.output
