"""The offline page's script in Node.js: its numbers are those of the engine, to the last digit."""

from __future__ import annotations

import dataclasses
import json
import os
import shutil
import subprocess
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner
from tiny_study import tiny_study

from experiments import page
from experiments.answers.spot.answer import find_spot
from experiments.answers.spot.words import spot_json
from experiments.balls.spots import with_own
from experiments.balls.struck import counted
from experiments.command.main import main
from experiments.output.numbers import json_text, plain
from experiments.page.script import IMPORT, module_order, script_text
from experiments.scene.scene import scene_of
from experiments.statistics.tally import Tally
from experiments.study.cells import estimates
from experiments.study.settings import REPLICATES_A_PLACE, blocks, evaluate
from sim.contracts import RecoveryPolicy
from sim.errors import InputError
from sim.exchange import opening_contact
from sim.native.load import is_fresh
from sim.players import PLAYERS
from sim.surface import SURFACES
from strategies.catalogue import SHOT_MODELS
from strategies.charts.reading import read_chart
from strategies.directions import hand_of

ANSWERS = Path(__file__).with_name("page_answers.mjs")
# Policies whose spots are worked out from losses, which takes half a second for each contact.
SLOW = ("best-for-belief", "safest", "guard")
QUICK = [policy for policy in with_own() if policy.name not in SLOW]
REPLIES = ["best-reply"]  # whose losses take longest to work out
OTHERS = [name for name in SHOT_MODELS if name not in REPLIES]
HANDS = ("right", "left")
MIA = """
name = "Mia"
level = "under-12"
hand = "left"
backhand = "one-handed"

[legs]
top_speed_m_s = { value = 4.4, low = 4.1, high = 4.7 }

[hitter]
forehand_speed_m_s = { value = 15.0, low = 14.0, high = 16.0 }

[waiting]
waits_behind_m = { value = 0.9, low = 0.6, high = 1.2 }
"""


def not_here(reason: str) -> None:
    """Skip, or fail where the comparison of the kernels' forms is required."""
    if os.environ.get("RALLY_RECOVERY_FORMS") == "required":
        pytest.fail(reason)
    pytest.skip(reason)


@pytest.fixture(scope="module")
def script(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The script for all levels, in a file."""
    if shutil.which("node") is None:
        not_here("Node.js (node) is not on the PATH")
    if not (is_fresh("sim") and is_fresh("strategies")):
        not_here("the shipped kernels are of another version of the source")
    path = tmp_path_factory.mktemp("page") / "script.js"
    path.write_text(script_text(), encoding="utf-8")
    return path


def answers(script: Path, messages: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The last answer to each message."""
    lines = "".join(json.dumps(message) + "\n" for message in messages)
    done = subprocess.run(
        ["node", str(ANSWERS), str(script)], input=lines, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    return [json.loads(line) for line in done.stdout.splitlines()]


def some_cases(count: int, seed: int, hitters: Sequence[str]) -> list[dict[str, Any]]:
    """Random options of `spot`: these kinds of hitter in turn, anybody anywhere, in either hand."""
    rng = np.random.default_rng(seed)
    out = []
    for k in range(count):
        level, other = rng.choice(list(PLAYERS), 2).tolist()
        hand, opponent_hand = rng.choice(HANDS, 2).tolist()
        x, y, z = rng.uniform(-7, 7), rng.uniform(2, 18), rng.uniform(0.2, 2.6)
        out.append(
            {
                "player": level,
                "hand": hand,
                "opponent_player": other,
                "opponent_hand": opponent_hand,
                "hitter": hitters[k % len(hitters)],
                "surface": str(rng.choice(list(SURFACES))),
                "opponent": (float(x) if k % 9 else 0.0, float(y)),
                "height": float(z),
                "depth": float(rng.uniform(0, 4)) if k % 5 else None,  # else the usual one
                "balls": int(rng.integers(100, 260)),
                "seed": int(rng.integers(2**62)),
            }
        )
    return out


def asked(case: dict[str, Any]) -> dict[str, Any]:
    """The same question as the script takes it."""
    people = list(PLAYERS)
    x, y = case["opponent"]
    return {
        "player": people.index(case["player"]),
        "hand": case["hand"],
        "opponent": people.index(case["opponent_player"]),
        "opponent_hand": case["opponent_hand"],
        "hitter": case["hitter"],
        "surface": case["surface"],
        "contact_m": [x, y, case["height"]],
        "depth_m": case["depth"],
        "balls": case["balls"],
        "seed": str(case["seed"]),
    }


def shared(said: dict[str, Any], there: dict[str, Any]) -> tuple[dict[str, Any], dict[str, Any]]:
    """What both say, from the numbers of the command and from the script's."""
    both = [key for key in said if key in there and key != "seed"]
    assert len(both) >= 10
    paths = [{k: v for k, v in drive.items() if k != "path"} for drive in there["extremes"]]
    return {key: said[key] for key in both}, {key: there[key] for key in both} | {"extremes": paths}


def compare(script: Path, cases: list[dict[str, Any]], policies: Sequence[RecoveryPolicy]) -> int:
    """Hold the script to the engine in each case; in how many there were balls to reach."""
    names = [policy.name for policy in policies]
    messages = [{"ask": "spot", "scene": asked(case), "policies": names} for case in cases]
    found = 0
    for case, there in zip(cases, answers(script, messages), strict=True):
        try:
            result = find_spot(scene_of(**case), policies)
        except InputError as error:
            assert there["error"] == str(error)
            continue
        mine, its = shared(plain(spot_json(result), None), there["spot"])
        assert its == mine, case
        found += 1
    return found


@pytest.mark.parametrize("hitters", [OTHERS, REPLIES], ids=["others", "best reply"])
def test_spots_have_the_digits_of_the_command(script: Path, hitters: Sequence[str]) -> None:
    """300 random cases, all kinds of hitter, those who look at the receiver among them."""
    count = 280 if hitters is OTHERS else 20
    assert compare(script, some_cases(count, 20, hitters), QUICK) > 0.9 * count


def test_spots_worked_out_from_losses_too(script: Path) -> None:
    cases = some_cases(10, 21, OTHERS)
    assert compare(script, cases, with_own()) == len(cases)


def test_more_balls_than_are_struck_at_once(script: Path) -> None:
    """Seconds to spare are added up as NumPy does it, one column or several, chunk by chunk."""
    corner = {"opponent": (3.1, 12.0), "height": 1.0}
    cases = some_cases(3, 22, ["habit", "attentive", "any-allowed"])
    cases = [
        case | corner | {"balls": n} for case, n in zip(cases, (9000, 4600, 8001), strict=True)
    ]
    assert compare(script, cases, QUICK[:2]) == 3
    assert compare(script, cases[:1], QUICK[:1]) == 1


def test_spots_have_the_digits_that_the_command_prints(script: Path) -> None:
    done = CliRunner().invoke(main, ["spot", "--seed", "5", "--balls", "400", "--json"])
    there = answers(script, [{"ask": "spot", "scene": {"seed": 5, "balls": 400}}])[0]["spot"]
    said, its = shared(json.loads(done.stdout), json.loads(json_text(there)))
    assert its == said and len(said["policies"]) == len(with_own())


def test_own_players_are_asked_about_as_levels_are(script: Path, tmp_path: Path) -> None:
    """A left-handed one, and the opponent who is like her where no other is named."""
    file = tmp_path / "mia.toml"
    file.write_text(MIA, encoding="utf-8")
    own = tmp_path / "script.js"
    own.write_text(script_text(["club-adult", str(file)]), encoding="utf-8")
    messages: list[dict[str, Any]] = [{"ask": "who"}]
    for more in ({}, {"opponent_hand": "left"}, {"hitter": "open-court"}):
        messages.append({"ask": "spot", "scene": {"player": 1, "seed": 2, "balls": 150, **more}})
    who, *found = answers(own, messages)
    assert who["who"]["people"][1] == {"name": "Mia", "hand": "left", "hands": ["left"]}
    for message, there in zip(messages[1:], found, strict=True):
        scene = scene_of(**message["scene"] | {"player": str(file)})
        said, its = shared(plain(spot_json(find_spot(scene, with_own())), None), there["spot"])
        assert its == said


def test_an_own_spot_is_counted_as_those_of_policies_are(script: Path) -> None:
    place = [0.7, -13.4]
    question = {"ask": "spot", "places": [place], "scene": {"seed": 3, "balls": 300}}
    there = answers(script, [question])[0]["spot"]["policies"]["own 1"]
    counts = counted(scene_of(seed=3, balls=300), np.array([place]), 300)
    assert there["share_in_time"] == counts.in_time[0] < 1.0
    # One column is added up in another order than several are.
    assert there["time_to_spare_s"] == pytest.approx(counts.rate("spare_s")[0], rel=1e-14)


@pytest.mark.parametrize(
    "legs", [{"top_speed_m_s": 3.9}, {"backhand_side_speed": 0.95, "backward_speed": 0.8}]
)
@pytest.mark.parametrize("hitter", ["habit", "open-court"])
def test_legs_can_be_others_than_the_level_has(
    script: Path, hitter: str, legs: dict[str, float]
) -> None:
    case = some_cases(1, 23, [hitter])[0] | {"player": "under-12", "height": 1.0}
    scene = scene_of(**case)
    other = dataclasses.replace(scene.player.legs, **legs)  # type: ignore[arg-type]
    slower = dataclasses.replace(scene, player=dataclasses.replace(scene.player, legs=other))
    there = answers(script, [{"ask": "spot", "scene": asked(case) | {"legs": legs}}])[0]["spot"]
    said, its = shared(plain(spot_json(find_spot(slower, with_own())), None), there)
    assert its == said


@pytest.mark.parametrize("hitter", ["pressing", "best-reply"])
def test_strokes_can_be_others_than_the_opponent_has(script: Path, hitter: str) -> None:
    case = some_cases(1, 26, [hitter])[0] | {"height": 1.0}
    scene = scene_of(**case)
    ability = dataclasses.replace(
        scene.opponent.hitter, forehand_speed_m_s=27.0, backhand_speed_m_s=22.5
    )
    opponent = dataclasses.replace(scene.opponent, hitter=ability)
    harder = dataclasses.replace(scene, opponent=opponent)
    strokes = {"forehand_speed_m_s": 27.0, "backhand_speed_m_s": 22.5}
    asked_both = [asked(case), asked(case) | {"strokes": strokes}]
    usual, there = answers(script, [{"ask": "spot", "scene": each} for each in asked_both])
    said, its = shared(plain(spot_json(find_spot(harder, with_own())), None), there["spot"])
    assert its == said
    assert usual["spot"]["policies"] != there["spot"]["policies"]


@pytest.mark.parametrize("level", ["under-12", "professional-man"])
@pytest.mark.parametrize("opponent", ["habit", "open-court"])
def test_balls_met_from_a_spot_are_those_of_a_placed_cell(
    script: Path, level: str, opponent: str
) -> None:
    changes = {"levels": [level], "opponents": [opponent], "placed_balls": 4500}
    study = tiny_study(settings=["placed"], policies=["middle", "bisector"], **changes)
    tallies: dict[str, Tally] = {}
    for block in blocks(study):
        if block.scenario.place == "corner":  # the second one
            for name, tally in evaluate(study, 3, block).tallies.items():
                tallies[name] = tallies[name] + tally if name in tallies else tally
    place = {"contact_m": [3.115, 11.885, 1.0], "depth_m": study.depth_m}
    scene = {**place, "player": list(PLAYERS).index(level), "hitter": opponent, "seed": 3}
    spots = answers(script, [{"ask": "spot", "scene": scene | {"balls": 100}}])[0]["spot"]
    for name, tally in tallies.items():
        spot = spots["policies"][name]
        message = {
            "ask": "met",
            "place": [spot["x_m"], spot["y_m"]],
            "shown": 3,
            "first": REPLICATES_A_PLACE,
        }
        there = answers(script, [{**message, "scene": scene | {"balls": 4500}}])[0]["met"]
        mine = estimates(tally, 3.115, False, None)
        for outcome in ("missed_per_100", "share_in_time", "set_per_100"):
            its, cell = there[outcome], mine[outcome]
            assert its == {"value": cell.value, "low": cell.low, "high": cell.high}, outcome
        assert there["time_to_spare_s"] == mine["time_to_spare_s"].value
        assert there["balls"] == mine["missed_per_100"].n and len(there["shown"]) == 3


def some_chart(rng: np.random.Generator, hand: str, count: int) -> str:
    """A chart as CSV: strokes from both sides, some in the net or out, some with a speed."""
    lines = ["contact_x_m,contact_y_m,bounce_x_m,bounce_y_m,wing,outcome,speed_m_s,kind,hand"]
    for _ in range(count):
        x, y = rng.uniform(-5, 5), rng.uniform(8, 15)
        wing = rng.choice(["", "forehand", "backhand"])
        speed = f"{rng.uniform(15, 30):.2f}" if rng.random() < 0.5 else ""
        kind = rng.choice(["", "drive", "slice", "volley"])
        outcome = rng.choice(["in", "in", "out", "net"])
        bounce = f"{rng.uniform(-4, 4):.2f},{-rng.uniform(3, 11.5):.2f}"
        if outcome == "out":
            bounce = f"{rng.uniform(-4, 4):.2f},{-rng.uniform(12.5, 14):.2f}"
        bounce = "," if outcome == "net" else bounce
        lines.append(f"{x:.2f},{y:.2f},{bounce},{wing},{outcome},{speed},{kind},{hand}")
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize(
    ("hand", "count"), [("right", 1), ("left", 7), ("right", 30), ("left", 60)]
)
def test_a_chart_of_ones_own_is_believed_as_by_the_command(
    script: Path, tmp_path: Path, hand: str, count: int
) -> None:
    file = tmp_path / "chart.csv"
    file.write_text(some_chart(np.random.default_rng(count), hand, count), encoding="utf-8")
    case = some_cases(1, count, [f"charted,chart={file}"])[0] | {"height": 1.0}
    strokes = [
        {k: v for k, v in dataclasses.asdict(stroke).items() if v not in (None, "")}
        for stroke in read_chart(str(file)).strokes
    ]
    chart = {"hand": hand, "strokes": strokes}
    scene = asked(case) | {"hitter": "charted", "chart": chart}
    there = answers(script, [{"ask": "spot", "scene": scene}])[0]["spot"]
    asked_of = scene_of(**case)
    said, its = shared(plain(spot_json(find_spot(asked_of, with_own())), None), there)
    assert its == said
    contact = opening_contact(asked_of.place, asked_of.game.opponent, 1)
    belief = asked_of.hitter.belief_about(asked_of.opponent)  # type: ignore[attr-defined]
    assert there["leans_on_habit"] == belief.lean(contact, hand_of(asked_of.opponent))[0]


@pytest.mark.parametrize(
    ("was", "becomes"),
    [
        ('"PLATEAU":0.005', '"PLATEAU":0.0051'),
        ('"SETTLED_OFF_S":3.0', '"SETTLED_OFF_S":0.5'),
        ('"STEP_X_M":0.1,', '"STEP_X_M":0.125,'),
        ('"EXECUTION":2', '"EXECUTION":3'),
        ('"HALF_WIDTH_M":4.115', '"HALF_WIDTH_M":4.1'),
        ('"LINE_MARGIN_M":0.5', '"LINE_MARGIN_M":0.6'),
        ('"LEVEL":0.95', '"LEVEL":0.951'),
    ],
)
def test_a_constant_that_is_not_the_engines_is_seen(
    script: Path, tmp_path: Path, was: str, becomes: str
) -> None:
    text = script.read_text(encoding="utf-8")
    assert text.count(was) == 1
    other = tmp_path / "script.js"
    other.write_text(text.replace(was, becomes), encoding="utf-8")
    slow = {"player": "under-12", "opponent_player": "professional-man", "opponent": (3.9, 9.0)}
    cases = [case | slow | {"height": 1.1} for case in some_cases(2, 24, ["pressing"])]
    assert compare(script, cases, QUICK) == 2
    with pytest.raises(AssertionError):
        compare(other, cases, QUICK)


def test_a_newer_question_takes_the_place_of_one_that_is_worked_on(script: Path) -> None:
    long = {"ask": "spot", "scene": {"hitter": "open-court", "balls": 100_000, "seed": 1}}
    short = {"ask": "spot", "scene": {"balls": 100, "seed": 1}}
    found = answers(script, [{**long, "hurried": True}, short, short])
    assert [each["id"] for each in found] == [1, 2]
    assert found[0]["spot"] == found[1]["spot"]


@pytest.mark.parametrize(
    ("message", "told"),
    [
        ({"ask": "spot", "scene": {"surface": "mud"}}, "allowed: clay, hard"),
        ({"ask": "spot", "scene": {"hitter": "toString"}}, "allowed: any-allowed, habit"),
        ({"ask": "spot", "scene": {"hand": "both"}}, "allowed: right, left"),
        ({"ask": "spot", "scene": {"balls": 7}}, "balls is 7; allowed: 100"),
        ({"ask": "spot", "scene": {"contact_m": [0, None, 1]}}, "null is no number"),
        ({"ask": "spot", "scene": {"seed": "-1"}}, "seed is -1; it must be"),
        ({"ask": "everything"}, "allowed: who, spot, met, stop"),
    ],
)
def test_what_cannot_be_asked_is_told(script: Path, message: dict[str, Any], told: str) -> None:
    assert told in answers(script, [message])[0]["error"]


def test_the_script_is_small_and_asks_for_nothing(script: Path) -> None:
    text = script.read_text(encoding="utf-8")
    assert len(text) < 700_000  # of the million that the whole page may have
    for word in (
        "</",
        "eval(",
        "Function(",
        "fetch(",
        "import(",
        "importScripts",
        "http:",
        "https:",
    ):
        assert word not in text, word


def test_sums_are_those_of_numpy() -> None:
    """Against NumPy itself: one column, as long as any that is added up at once."""
    if shutil.which("node") is None:
        not_here("Node.js (node) is not on the PATH")
    rng = np.random.default_rng(25)
    columns = [rng.normal(size=n) for n in (1, 7, 8, 9, 127, 128, 129, 1000, 4000, 7, 3999)]
    module = (Path(page.__file__).parent / "sums.mjs").as_uri()
    code = f"""
        import {{ readFileSync }} from "node:fs";
        import {{ byHalves, inOrder, toEven }} from "{module}";
        const columns = JSON.parse(readFileSync(0, "utf8"));
        const halves = columns.map((values) => byHalves(values, values.length));
        const order = columns.map((values) => inOrder(values, values.length));
        console.log(JSON.stringify([halves, order, [0.5, 1.5, 2.5, 2.4, 2.6].map(toEven)]));"""
    done = subprocess.run(
        ["node", "--input-type=module", "-e", code],
        input=json.dumps([column.tolist() for column in columns]),
        capture_output=True,
        text=True,
        check=True,
    )
    halves, order, rounded = json.loads(done.stdout)
    assert halves == [float(column.sum()) for column in columns]
    assert order == [float(np.cumsum(column)[-1]) for column in columns]
    assert rounded == [float(np.round(v)) for v in (0.5, 1.5, 2.5, 2.4, 2.6)]


def test_every_module_stands_below_those_that_it_needs() -> None:
    order = module_order()
    for path in order:
        for name in IMPORT.findall(path.read_text(encoding="utf-8")):
            assert order.index((path.parent / name).resolve()) < order.index(path)
    there = set(Path(page.__file__).parent.glob("*.mjs"))
    assert there <= set(order), "a module that nothing needs"
