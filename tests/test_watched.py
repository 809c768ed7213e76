"""Users' own policies and shot models: whatever they do, the run ends in one clear line."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import numpy as np
import pytest
from engine_games import CORNER, HABIT, SEED
from random_situations import recovery_situation, shot_situation

from experiments.balls.spots import placed_situation, spot_of
from experiments.scene.scene import scene_of
from sim.array_engine import play
from sim.contracts import PerRally, bodies_at
from sim.errors import InputError
from sim.event_engine import play_rally
from sim.exchange import Game
from sim.kinds import DRIVE, KINDS, LOB
from sim.meeting import appraisals, meetings
from sim.records import MISSED
from sim.world import World
from strategies.catalogue import make_policy, make_shot_model
from strategies.shots.best_reply import BestReply

OWN = """
import sys
import numpy as np
from sim.contracts import intents_of

class Mute(BaseException):
    def __str__(self):
        raise RuntimeError

class Stands:
    name = "stands"
    def spots(self, seen):
        n = len(seen)
        return ANSWER

class Hits:
    name, draws, sees_receiver = "hits", 1, False
    def intents(self, seen, chance):
        n = len(seen)
        return ANSWER

def fail(error):
    raise error
"""
GAME = Game(HABIT, HABIT, World(), SEED)
HITS = "intents_of([X] * n, [Y] * n, [V] * n, [W] * n, 0.0)"


def own_file(tmp_path: Path, answer: str) -> Path:
    path = tmp_path / "own.py"
    path.write_text(OWN.replace("ANSWER", answer))
    return path


def hits(x: float = 0.0, y: float = 9.0, v: float = 30.0, w: float = 200.0) -> str:
    numbers = {"X": x, "Y": y, "V": v, "W": w}
    return HITS.translate({ord(letter): repr(number) for letter, number in numbers.items()})


@pytest.mark.parametrize(
    ("answer", "parts"),
    [
        ("np.tile([1e300, -1e300], (n, 1))", ["cannot be stood on", "-7.78 to 7.78", "-18.29"]),
        ("np.tile([7.8, -13.0], (n, 1))", ["(7.8, -13)", "run-off"]),
        ("np.tile([0.0, -18.3], (n, 1))", ["(0, -18.3)", "run-off"]),
        ("np.tile([110.0, -1300.0], (n, 1))", ["centimetres", "give (1.1, -13)"]),
        ("np.tile([np.inf, -13.0], (n, 1))", ["cannot be stood on"]),
        ("np.full((n, 2), -13 + 1j)", ["no plain numbers", "complex"]),
        ("((0.0, -13.0) for _ in range(n))", ["no plain numbers", "generator"]),
        ("[['0', '-13']] * n", ["no plain numbers"]),
        ("np.zeros((n + 1, 2))", ["shape"]),
        ("sys.exit()", ["line 14", "SystemExit"]),
        ("fail(SystemExit(0))", ["line 23", "SystemExit: 0"]),
        ("fail(GeneratorExit())", ["line 23", "GeneratorExit"]),
        ("fail(Mute())", ["line 23", "Mute"]),
        ("seen.contact.sort()", ["line 14", "read-only"]),
        ("seen.me.legs.numbers.fill(0)", ["line 14", "read-only"]),
        ("seen.world.fill(0)", ["line 14", "read-only"]),
    ],
)
def test_what_an_own_policy_does_is_told_with_file_and_class(
    tmp_path: Path, answer: str, parts: list[str]
) -> None:
    policy = make_policy(f"{own_file(tmp_path, answer)}:Stands")
    with pytest.raises(InputError) as caught:
        policy.spots(recovery_situation(4))
    for part in ["own.py:Stands", *parts]:
        assert part in str(caught.value)


@pytest.mark.parametrize(
    ("answer", "parts"),
    [
        (hits(v=1e300), ["speed_m_s", "80 m/s"]),
        (hits(v=108.0), ["km/h", "give 30.0"]),
        (hits(x=-1e6), ["target_x_m", "-10 to 10 m"]),
        (hits(y=0.0), ["target_y_m", "beyond the net"]),
        (hits(w=1e9), ["topspin_rad_s", "rad/s"]),
        ("sys.exit()", ["line 20", "SystemExit"]),
        ("seen.receiver.fill(0)", ["line 20", "read-only"]),
    ],
)
def test_what_an_own_shot_model_does_is_told_with_file_and_class(
    tmp_path: Path, answer: str, parts: list[str]
) -> None:
    model = make_shot_model(f"{own_file(tmp_path, answer)}:Hits")
    with pytest.raises(InputError) as caught:
        model.intents(shot_situation(4), np.full((4, 1), 0.5))
    for part in ["own.py:Hits", *parts]:
        assert part in str(caught.value)


@pytest.mark.parametrize(
    ("line", "part"),
    [
        ("__init__ = lambda self: sys.exit()", "cannot be made: SystemExit"),
        ("name = property(lambda self: sys.exit())", "SystemExit"),
        ("placeable = property(lambda self: 1 / 0)", "ZeroDivisionError"),
        ('name = "st\\x1b[31m"', "control character"),
        ('name = "st\\u202e"', "mark of direction"),
    ],
)
def test_a_class_that_cannot_be_used_is_told(tmp_path: Path, line: str, part: str) -> None:
    path = tmp_path / "own.py"
    path.write_text(OWN.replace('name = "stands"', f'name = "stands"\n    {line}'))
    with pytest.raises(InputError, match=part) as caught:
        make_policy(f"{path}:Stands")
    assert "own.py" in str(caught.value) and str(caught.value).isprintable()


def test_an_own_policy_that_the_hitter_reads_is_watched_too(tmp_path: Path) -> None:
    model = BestReply(policy=f"{own_file(tmp_path, 'sys.exit()')}:Stands")
    with pytest.raises(InputError, match=r"own\.py:Stands, line 14: SystemExit"):
        model.intents(shot_situation(4), np.zeros((4, model.draws)))


def test_an_interrupt_stays_an_interrupt(tmp_path: Path) -> None:
    policy = make_policy(f"{own_file(tmp_path, 'fail(KeyboardInterrupt())')}:Stands")
    with pytest.raises(KeyboardInterrupt):
        policy.spots(recovery_situation(4))


@pytest.mark.parametrize("array", ["body", "contact", "time_s", "own_ball", "world"])
def test_engines_hand_out_arrays_that_cannot_be_written(array: str) -> None:
    wrong = []

    def writes(seen: object) -> tuple[float, float]:
        held = getattr(seen, array)
        wrong.append(held is not None and held.flags.writeable)
        return 0.0, -13.0

    side = dataclasses.replace(GAME.studied, policy=PerRally("writes", writes))
    game = dataclasses.replace(GAME, studied=side, opponent=side)
    play(game, CORNER, np.arange(6))
    play_rally(game, CORNER, 0)
    assert len(wrong) > 6 and not any(wrong)


def test_what_one_policy_works_out_and_spoils_is_not_seen_by_the_next() -> None:
    class Spoils:
        name = "spoils"

        def spots(self, seen):  # type: ignore[no-untyped-def]
            seen.bisector_x_m[:] = 3.0
            return seen.spots_at(seen.bisector_x_m)

    seen = placed_situation(scene_of())
    before = spot_of(make_policy("bisector"), seen)
    spot_of(Spoils(), seen)
    assert np.array_equal(spot_of(make_policy("bisector"), seen), before)


@pytest.mark.parametrize("far", [1e10, 1e300, -1e300, np.inf, np.nan])
def test_kernels_survive_places_that_nobody_can_stand_on(far: float) -> None:
    from ordinary_drives import drives_from_corner

    balls, paths = drives_from_corner(4)
    legs = GAME.studied.player.legs
    spare, grade = appraisals(
        balls, paths, np.full(3, far), np.full(3, -13.0), legs.numbers, legs.times
    )
    assert (grade == MISSED).all() and not (spare > 0).any()
    bodies = bodies_at(np.full(4, far), np.full(4, far))
    assert (meetings(balls, paths, bodies, legs.numbers, legs.times)["grade"] == MISSED).all()


@pytest.mark.parametrize("kind", [-1, len(KINDS), 999])
def test_a_kind_of_stroke_that_is_none_is_told(tmp_path: Path, kind: int) -> None:
    path = own_file(tmp_path, hits().replace("0.0)", f"0.0, kind={kind})"))
    own = make_shot_model(f"{path}:Hits")
    with pytest.raises(InputError, match=rf"own\.py.*kind of an intent is {kind}; .*9 lob"):
        own.intents(shot_situation(4), np.zeros((4, 1)))


def test_the_kind_of_an_own_shot_model_is_played(tmp_path: Path) -> None:
    path = own_file(tmp_path, hits().replace("0.0)", f"0.0, kind={LOB})"))
    side = dataclasses.replace(GAME.opponent, shots=make_shot_model(f"{path}:Hits"))
    strokes = play(dataclasses.replace(GAME, opponent=side), CORNER, np.arange(20))
    first = strokes[strokes["stroke"] == 0]
    assert set(first["kind"]) == {LOB} and DRIVE in strokes["kind"]
