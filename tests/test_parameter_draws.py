"""Whole parameter sets drawn from the stated ranges."""

from __future__ import annotations

import dataclasses
import math
from itertools import pairwise

import numpy as np
import pytest

from experiments.evidence.validation.typical import typical
from experiments.study import parameter_draws
from experiments.study.parameter_draws import METHODS, RULES, ParameterSet, draw_sets, draw_table
from sim.array_engine import play
from sim.errors import InputError
from sim.players import PLAYERS, player
from sim.surface import SURFACES
from sim.world import TABULATED, World
from strategies.shots.serve import serve_places

CLAY = World(surface=SURFACES["clay"], flight=TABULATED)
SIDES = (player("club-adult", "left"), player("professional-man"))


@pytest.fixture(scope="module", params=METHODS)
def sets(request: pytest.FixtureRequest) -> list[ParameterSet]:
    return draw_sets(SIDES, CLAY, 128, 5, method=request.param)


def test_every_value_lies_in_its_range_and_fills_it(sets: list[ParameterSet]) -> None:
    table = draw_table(sets)
    assert len(sets) == table["set"].nunique() == 128
    assert ((table.low <= table.value) & (table.value <= table.high)).all()
    share = (table.value - table.low) / (table.high - table.low)
    spread = share.groupby([table.owner, table.parameter]).agg(["min", "max"])
    assert (spread["min"] < 0.2).all() and (spread["max"] > 0.8).all()
    assert set(table.columns) >= {"set", "owner", "parameter", "value", "unit"}
    assert (table.unit != "").all()


def test_players_keep_level_hand_and_rules(sets: list[ParameterSet]) -> None:
    for s in sets:
        assert [p.name for p in s.players] == ["club-adult", "professional-man"]
        assert s.players[0].hand == "left"
        assert (s.world.surface.name, s.world.flight) == ("clay", TABULATED)
        assert all(keeps(p) for p in s.players for _, keeps in RULES)
        club, professional = s.players
        assert club.hitter.forehand_speed_m_s < professional.hitter.forehand_speed_m_s
        assert 0.70 <= s.world.surface.friction <= 0.85


@pytest.mark.parametrize("method", METHODS)
def test_set_k_depends_on_the_seed_and_on_nothing_else(method: str) -> None:
    few = draw_sets(SIDES, CLAY, 3, 5, method=method)
    assert draw_sets(SIDES, CLAY, 70, 5, method=method)[:3] == few
    assert draw_sets(SIDES, CLAY, 3, 6, method=method) != few


def test_sobol_covers_more_evenly_than_chance() -> None:
    """Means over 128 sets: of uniform draws they miss the middle by about 1/sqrt(12 * 128)."""
    missed = {}
    for method in METHODS:
        table = draw_table(draw_sets((PLAYERS["college-man"],), World(), 128, 9, method=method))
        share = (table.value - table.low) / (table.high - table.low)
        means = share.groupby([table.owner, table.parameter]).mean()
        missed[method] = float(np.sqrt(((means - 0.5) ** 2).mean()))
    assert missed["uniform"] == pytest.approx(1 / math.sqrt(12 * 128), rel=0.4)
    assert missed["sobol"] < 0.5 * missed["uniform"]


def test_rules_pass_points_over(monkeypatch: pytest.MonkeyPatch) -> None:
    kept = draw_sets(SIDES, CLAY, 64, 5)
    monkeypatch.setattr(parameter_draws, "RULES", ())
    every = draw_sets(SIDES, CLAY, 64, 5)
    broken = [s for s in every if not all(keeps(p) for p in s.players for _, keeps in RULES)]
    assert 0 < len(broken) < 32
    good = [s for s in every if s not in broken]
    assert [dataclasses.replace(s, number=0) for s in kept[: len(good)]] == [
        dataclasses.replace(s, number=0) for s in good
    ]
    assert [b.number - a.number for a, b in pairwise(kept)] == [1] * 63


def test_only_the_named_parameters_change() -> None:
    (one,) = draw_sets(SIDES, CLAY, 1, 5, only=("reaction_s", "friction"))
    assert one.players[0].hitter == SIDES[0].hitter
    assert one.players[0].legs != SIDES[0].legs
    same = dataclasses.replace(one.players[0].legs, reaction_s=SIDES[0].legs.reaction_s)
    assert same == SIDES[0].legs
    assert one.players[0].legs.reaction_s != one.players[1].legs.reaction_s
    assert one.world == dataclasses.replace(CLAY, surface=one.world.surface)


def test_the_repertoire_is_drawn_too() -> None:
    (one,) = draw_sets(SIDES, CLAY, 1, 5, only=("slice_share",))
    own, drawn = SIDES[0].hitter, one.players[0].hitter
    share = drawn.repertoire.slice_share
    assert share != own.repertoire.slice_share
    repertoire = dataclasses.replace(own.repertoire, slice_share=share)
    assert drawn == dataclasses.replace(own, repertoire=repertoire)


def test_drawn_sets_play() -> None:
    game, place = typical("professional-man", "hard", 3), serve_places()[0]
    for s in draw_sets((player("professional-man"),), game.world, 2, 8):
        side = dataclasses.replace(game.studied, player=s.players[0])
        drawn = dataclasses.replace(game, studied=side, opponent=side, world=s.world)
        strokes = play(drawn, place, np.arange(20))
        assert np.isfinite(strokes["strike_time_s"]).all()


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"count": 0}, "0 parameter sets"),
        ({"seed": -1}, "seed is -1"),
        ({"method": "sobl"}, "Did you mean 'sobol'"),
        ({"only": ("reaction",)}, "Did you mean 'reaction_s'"),
    ],
)
def test_bad_input(change: dict[str, object], says: str) -> None:
    asked = {"count": 2, "seed": 1} | change
    with pytest.raises(InputError, match=says):
        draw_sets(SIDES, CLAY, **asked)  # type: ignore[arg-type]


def test_rules_that_cannot_be_kept_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(parameter_draws, "RULES", (("never", lambda p: False),))
    with pytest.raises(InputError, match=r"hardly hold a set .*never"):
        draw_sets(SIDES, CLAY, 2, 1)
