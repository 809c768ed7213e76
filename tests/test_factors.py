"""Factors of a study: names, designs, points, and what a point does to the game."""

from __future__ import annotations

import dataclasses
import math
from typing import Any

import numpy as np
import pytest
from scipy.stats import qmc
from tiny_study import only, tiny_study

from experiments.study.design import Study, points_table
from experiments.study.design_points import game_at
from experiments.study.factor_names import NAMED, every_parameter, stated_of
from experiments.study.factors import Factors
from sim.errors import InputError
from sim.exchange import Game, Place
from sim.repertoire import Repertoire

SPEED = "legs.top_speed_m_s"


def factors(*vary: dict[str, Any], **more: Any) -> Factors:
    return Factors.model_validate({"vary": vary, **more})


def corner(study: Study) -> tuple[Game, Place]:
    return study.game("club-adult", "habit", "middle", 1), study.places[1].place


def test_a_grid_is_every_combination_in_order() -> None:
    made = factors(
        {"name": SPEED, "of": "studied", "plus": [-0.5, 0.5]},
        {"name": "surface", "levels": ["hard", "clay"]},
        {"name": "place.x_m", "low": 0.0, "high": 4.0, "steps": 3},
    )
    rows = points_table(tiny_study(factors=made))
    assert len(rows) == 2 * 2 * 3
    assert [r["place.x_m"] for r in rows[:3]] == [0.0, 2.0, 4.0]
    assert {r[f"studied {SPEED}"] for r in rows} == {5.7, 6.7}
    assert [r["surface"] for r in rows[:6]] == ["hard"] * 3 + ["clay"] * 3


def test_one_at_a_time_moves_one_factor_and_leaves_the_others() -> None:
    made = factors({"name": SPEED}, {"name": "legs.tau_s"}, design="one-at-a-time")
    rows = points_table(tiny_study(factors=made))
    # The ranges of a club player: movement table of the project's shared figures, in sim.players.
    assert [r[SPEED] for r in rows] == [5.2, 6.8, None, None]
    assert [r["legs.tau_s"] for r in rows] == [None, None, 0.8, 1.1]
    assert [r["role"] for r in rows] == [SPEED, SPEED, "legs.tau_s", "legs.tau_s"]


def test_samples_are_scipys_and_keep_to_the_range() -> None:
    wide = {"name": SPEED, "low": 5.0, "high": 8.0}, {"name": "air.altitude_m", "levels": [0, 2000]}
    for design, sampler in (("sobol", qmc.Sobol), ("latin-hypercube", qmc.LatinHypercube)):
        made = factors(*wide, design=design, points=16, sample_seed=5)
        kind: Any = sampler
        unit = kind(2, rng=np.random.default_rng(5)).random(16)
        np.testing.assert_array_equal(made.coordinates[:, 0], unit[:, 0])
        rows = points_table(tiny_study(factors=made))
        np.testing.assert_allclose([r[SPEED] for r in rows], 5.0 + 3.0 * unit[:, 0])
        # Both halves of the unit interval hold eight of sixteen even points.
        assert [r["air.altitude_m"] for r in rows].count(2000.0) == 8


def test_saltellis_points_mix_two_samples_column_by_column() -> None:
    """Saltelli et al. 2010: AB of factor i is A with column i of B."""
    made = factors({"name": SPEED}, {"name": "legs.tau_s"}, design="sobol-indices", points=8)
    rows, roles = made.coordinates, made.roles
    a, b = rows[:8], rows[8:16]
    assert roles == ["A"] * 8 + ["B"] * 8 + [SPEED] * 8 + ["legs.tau_s"] * 8
    np.testing.assert_array_equal(rows[16:24], np.column_stack([b[:, 0], a[:, 1]]))
    np.testing.assert_array_equal(rows[24:], np.column_stack([a[:, 0], b[:, 1]]))
    assert (a != b).all()


def test_points_do_not_depend_on_how_many_follow() -> None:
    few, many = (factors({"name": SPEED}, design="sobol", points=n).coordinates for n in (8, 32))
    np.testing.assert_array_equal(few, many[:8])


def test_every_parameter_of_all_levels_makes_a_game_at_both_ends() -> None:
    made = Factors(design="one-at-a-time", every_parameter=True)
    assert len(made.all) == len(every_parameter()) > 60
    for level in ("club-adult", "college-man", "professional-woman"):
        tiny_study(levels=[level], factors=made)


def test_a_point_changes_the_side_that_it_names() -> None:
    study = tiny_study()
    game, place = corner(study)
    made = factors(
        {"name": SPEED, "of": "studied", "levels": [5.5]},
        {"name": "hitter.stroke_speed_share", "of": "opponent", "levels": [1.1]},
        {"name": "waiting_depth_m", "of": "studied", "levels": [2.0]},
        {"name": "repertoire.slice_share", "of": "opponent", "levels": [0.4]},
        {"name": "drives.least_in", "levels": [0.8]},
        {"name": "surface", "levels": ["clay"]},
        {"name": "surface.friction", "times": [1.1]},
        {"name": "air.altitude_m", "levels": [1500.0]},
        {"name": "place.x_m", "plus": [-1.0]},
    )
    changed, there = game_at(made, 0, game, place)
    assert (changed.studied.player.legs.top_speed_m_s, changed.studied.depth_m) == (5.5, 2.0)
    assert changed.opponent.player.legs == game.opponent.player.legs
    usual = game.opponent.player.hitter.forehand_speed_m_s
    assert changed.opponent.player.hitter.forehand_speed_m_s == pytest.approx(1.1 * usual)
    assert changed.opponent.player.hitter.repertoire.slice_share == 0.4
    assert changed.studied.player.hitter == game.studied.player.hitter
    assert {s.limits.least_in for s in (changed.studied, changed.opponent)} == {0.8}
    assert changed.world.surface.name == "clay"
    assert changed.world.density_kg_m3 < game.world.density_kg_m3
    assert there.x_m == pytest.approx(2.115)
    # A share is one of the study's own value: here of the hard court's friction.
    assert changed.world.surface.friction == pytest.approx(1.1 * game.world.surface.friction)


def test_the_numbers_of_decisions_are_those_of_who_has_them() -> None:
    """Sharpness belongs to the opponent's shot model alone, its speed share to both sides'."""
    study = tiny_study(opponents=["attentive"])
    game, place = study.game("club-adult", "attentive", "middle", 1), study.places[1].place
    made = factors(
        {"name": "shots.sharpness_per_m", "levels": [0.7]},
        {"name": "shots.speed_share", "levels": [0.9]},
        {"name": "recovery.shade_m_per_m", "of": "opponent", "levels": [0.4]},
    )
    changed, _ = game_at(made, 0, game, place)
    other: Any = changed.opponent
    assert (other.shots.sharpness_per_m, other.shots.speed_share) == (0.7, 0.9)
    assert other.policy.shade_m_per_m == 0.4
    own: Any = changed.studied
    assert own.shots.speed_share == 0.9 and own.policy == game.studied.policy
    row = points_table(tiny_study(opponents=["attentive"], factors=made))[0]
    assert row["shots.sharpness_per_m"] == 0.7


def test_equal_players_share_their_tables() -> None:
    """Working out running times is the dear part of a new player."""
    game, place = corner(tiny_study())
    changed, _ = game_at(factors({"name": SPEED, "levels": [6.0]}), 0, game, place)
    assert changed.opponent.player is changed.studied.player


def test_every_name_has_a_usual_value() -> None:
    game, place = corner(tiny_study())
    assert set(stated_of(game, place, "studied")) == set(NAMED)


WRONG: list[tuple[dict[str, Any], str]] = [
    ({"vary": [{"name": "legs.topspeed", "levels": [5.0]}]}, "legs.top_speed_m_s"),
    ({"vary": [{"name": SPEED, "levels": [5.0], "plus": [1.0]}]}, "exclude each other"),
    ({"vary": [{"name": SPEED, "low": 5.0}]}, "both low and high"),
    ({"vary": [{"name": SPEED, "low": 6.0, "high": 6.0, "steps": 2}]}, "not below"),
    ({"vary": [{"name": SPEED}]}, "steps of its range"),
    ({"vary": [{"name": SPEED, "levels": ["fast"]}]}, "all other factors are numbers"),
    ({"vary": [{"name": "surface", "levels": [1.0]}]}, "names of surfaces"),
    ({"vary": [{"name": "surface", "levels": ["ice"]}]}, "ice"),
    ({"vary": [{"name": "world.drag_coefficient", "of": "studied", "times": [1.0]}]}, "no side"),
    ({"vary": [{"name": SPEED, "levels": [5.0]}] * 2}, "stands twice"),
    ({"vary": [{"name": SPEED, "levels": [-1.0]}]}, "point 0 of the factors"),
    ({"vary": [{"name": "place.x_m", "steps": 3}]}, "no stated range"),
    ({"vary": [{"name": "place.y_m", "levels": [-3.0]}]}, "far side of the net"),
    ({"vary": [{"name": SPEED, "steps": 3}], "design": "sobol", "points": 8}, "for a grid"),
    ({"vary": [{"name": SPEED}], "design": "sobol", "points": 12}, "power"),
    ({"vary": [{"name": SPEED}], "design": "sobol"}, "needs `points`"),
    ({"vary": [{"name": SPEED, "steps": 2}], "points": 8}, "has no `points`"),
    ({"vary": [{"name": SPEED}], "design": "cube"}, "Valid: grid"),
    ({"vary": []}, "no factor"),
    ({"vary": [{"name": SPEED, "levels": [5.0]}], "outcomes": ["misses"]}, "missed_per_100"),
    ({"vary": [{"name": SPEED, "levels": [5.0]}], "leave_out": ["legs.tau"]}, "legs.tau_s"),
    ({"vary": [{"name": "legs.full_reach_m", "levels": [0.7]}]}, "comfortable reach"),
    ({"vary": [{"name": "shots.sharpness_per_m", "steps": 2}]}, "nothing that the players"),
    ({"vary": [{"name": "recovery.shade_m_per_m", "steps": 2}]}, 'of = "opponent"'),
]


@pytest.mark.parametrize(("table", "words"), WRONG)
def test_wrong_factors_are_refused_with_words(table: dict[str, Any], words: str) -> None:
    with pytest.raises((InputError, ValueError), match=words):
        only("placed", factors=table)


def test_coordinates_hold_a_number_for_each_factor_or_nothing() -> None:
    made = factors({"name": SPEED, "times": [0.9, 1.1]}, design="one-at-a-time")
    assert made.coordinates.shape == (2, 1)
    assert not math.isnan(made.coordinates[0, 0])


def test_every_value_of_the_repertoire_is_a_factor_and_a_parameter_that_matters() -> None:
    names = {f"repertoire.{f.name}" for f in dataclasses.fields(Repertoire)}
    assert names <= set(NAMED) and names <= set(every_parameter())
