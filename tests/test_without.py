"""Additions left out by name: at the command line, in scripts, in studies and among the choices."""

from __future__ import annotations

import dataclasses
import json

import pytest
from click.testing import CliRunner
from tiny_study import tiny_study

from experiments.command.listing import STROKES, lines
from experiments.command.main import main
from experiments.notebook import scene
from experiments.scene.people import left_out, opponent_words
from experiments.scene.scene import scene_of
from experiments.study.choices import CHOICES
from experiments.study.file import changed_study
from sim.additions import ADDITIONS, player_without
from sim.errors import InputError
from sim.kinds import KINDS
from sim.players import changed_parts, player

ASKED = ("spot", "--balls", "100", "--seed", "1")


def said(*arguments: str) -> str:
    done = CliRunner().invoke(main, arguments)
    assert done.exit_code == 0, done.output
    return done.stdout


def test_what_is_left_out_is_undone_for_both_players() -> None:
    at = scene_of(without="Low Ball,slice", seed=1)
    assert at.without == ("low-ball", "slice")
    for someone in (at.player, at.opponent):
        own = someone.hitter.repertoire
        assert own.scoop_height_m == own.slice_share == own.late_slice_weight == 0.0
        assert own.block_weight > 0.0
    assert at.game.studied.player is at.player


def test_all_stands_for_all_and_nothing_for_nothing() -> None:
    assert left_out("all") == tuple(ADDITIONS) == left_out(["ALL"])
    assert left_out(None) == left_out(()) == ()
    assert scene(without=["all"], seed=1).player == player_without(player("club-adult"), ADDITIONS)
    assert scene(seed=1).player == player("club-adult")


@pytest.mark.parametrize(
    ("names", "words"),
    [("slise", "Did you mean 'slice'"), ("", "Valid: all,"), ("lob,lob", "'lob' stands twice")],
)
def test_a_name_that_is_none_is_refused(names: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        left_out(names)
    done = CliRunner().invoke(main, [*ASKED, "--without", names])
    assert done.exit_code == 2 and words in done.output and "Traceback" not in done.output


def test_an_answer_says_what_was_left_out() -> None:
    assert "both without lob, slice" in said(*ASKED, "--without", "lob,slice")
    assert "both with drives alone" in said(*ASKED, "--without", "all")
    assert "without" not in said(*ASKED)
    told = json.loads(said(*ASKED, "--without", "lob", "--json"))
    assert told["without"] == ["lob"]
    assert "without" not in json.loads(said(*ASKED, "--json"))
    assert "both without block" in said("replay", "--seed", "1", "--without", "block")
    world = scene_of(seed=1).world
    assert opponent_words(player("club-adult"), "habit", world.ball, ("lob",)).endswith("lob")


def test_the_balls_without_slices_are_those_of_a_player_who_plays_none() -> None:
    both = [scene_of(seed=1, without=names) for names in ((), "slice")]
    none = {"repertoire": {"slice_share": 0.0, "late_slice_weight": 0.0}}
    assert both[1].player == changed_parts(both[0].player, none) != both[0].player


def test_a_study_plays_without_what_it_names() -> None:
    study = changed_study(tiny_study(), "the study", without=("Slice",))
    assert study.without == ("slice",)
    game = study.game("club-adult", "habit", "middle", 3)
    plain = tiny_study().game("club-adult", "habit", "middle", 3)
    for side, other in ((game.studied, plain.studied), (game.opponent, plain.opponent)):
        assert side == dataclasses.replace(other, player=player_without(other.player, ["slice"]))
    with pytest.raises(InputError, match=r"without: .*Did you mean 'lob'"):
        changed_study(study, "the study", without=("lop",))


def test_what_a_study_does_without_cannot_be_varied() -> None:
    vary = {"design": "one-at-a-time", "vary": [{"name": "repertoire.slice_share"}]}
    assert changed_study(tiny_study(), "x", factors=vary, without=("lob",)).without == ("lob",)
    with pytest.raises(InputError, match=r"repertoire\.slice_share.*does without slice"):
        changed_study(tiny_study(), "x", factors=vary, without=("slice",))


def test_each_addition_is_a_modelling_choice_and_all_together_are_one() -> None:
    game = tiny_study().game("club-adult", "habit", "middle", 3)
    tried = [name for name in CHOICES if name.startswith("without ")]
    assert sorted(name.removeprefix("without ") for name in tried) == sorted(ADDITIONS)
    plain = CHOICES["only drives, without all of these"](game)
    for name in tried:
        game = CHOICES[name](game)
    assert game == plain


def test_strokes_and_additions_are_listed() -> None:
    assert tuple(STROKES) == KINDS
    told = list(lines("strokes"))
    assert len(told) == len(KINDS) and told[1].split()[:2] == ["slice", "with"]
    names = [line.split()[0] for line in lines("additions")]
    assert names == list(ADDITIONS)
    assert "late_slice_weight = 0" in next(iter(lines("additions")))
