"""The command line: what it prints, what it refuses, and that it imports late."""

from __future__ import annotations

import dataclasses
import json
import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from fixture_folder import rows_of
from tiny_study import TINY, without_pages

from experiments.answers.spot.answer import find_spot
from experiments.answers.spot.words import spot_text
from experiments.command.main import main
from experiments.scene.scene import scene_of
from sim.players import PLAYERS
from sim.surface import SURFACES
from strategies.catalogue import POLICIES, SHOT_MODELS, make_policy

SPOT = ("spot", "--seed", "4", "--balls", "200")
SHOT = ("shot", "--from", "3,-11.885,1", "--to", "-3,9", "--speed", "30", "--topspin", "2000")


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, [str(a) for a in arguments])


def printed(*arguments: str | Path) -> str:
    """What a command that succeeds prints."""
    done = run(*arguments)
    assert done.exit_code == 0, done.output
    return done.stdout


def refused(*arguments: str | Path, code: int = 2) -> str:
    """The message of a command that fails: one paragraph, no traceback, nothing printed."""
    done = run(*arguments)
    assert done.exit_code == code, done.output
    assert isinstance(done.exception, SystemExit)
    assert done.stdout == ""
    assert "Traceback" not in done.stderr
    assert len(re.findall("^Error: ", done.stderr, re.MULTILINE)) == 1
    return done.stderr


def python(*arguments: str, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, *arguments], capture_output=True, text=True, cwd=cwd)


@pytest.fixture
def tiny(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A file with the tiny study; pictures and the report page are left out."""
    without_pages(monkeypatch)
    path = tmp_path / "tiny.toml"
    path.write_text(TINY)
    return path


# What the commands print.


def test_spot_json() -> None:
    found = json.loads(printed(*SPOT, "--json"))
    assert len(found["extremes"]) == 2
    for extreme in found["extremes"]:
        assert set(extreme) == {
            "target_m",
            "speed_m_s",
            "topspin_rpm",
            "speed_over_usual",
            "chance_in",
        }
    assert {"middle", "bisector", "time-balanced"} <= set(found["policies"])
    for p in found["policies"].values():
        assert {"x_m", "y_m", "share_in_time", "share_set", "time_to_spare_s"} <= set(p)
        missed = p["missed_per_100"]
        assert missed["low"] <= missed["estimate"] <= missed["high"]
        assert missed["estimate"] == pytest.approx(100 * (1 - p["share_in_time"]), abs=1e-3)
    assert {"x_m", "low_m", "high_m", "share_in_time", "top_x_m"} == set(found["best"])
    assert all(len(pair) == 2 for pair in found["curve"])
    assert found["seed"] == 4
    assert found["drive_limits"]["least_in"] == 0.7
    assert found["policies"]["middle"]["y_m"] == pytest.approx(-11.885 - 0.7)


def test_spot_takes_its_options() -> None:
    found = json.loads(
        printed(
            *(*SPOT, "--json", "--opponent", "-2,10 ft", "--height", "110 cm"),
            *("--player", "college-man", "--opponent-player", "club-adult", "--hand", "left"),
            *("--opponent-hand", "left", "--surface", "clay", "--depth", "2"),
            *("--hitter", "pressing,speed_share=1.1", "--policy", "linear-shade,shade_m_per_m=0.5"),
        )
    )
    assert found["opponent_contact_m"] == pytest.approx([-2, 3.048, 1.1])
    assert (found["player"], found["opponent_player"]) == ("college-man", "club-adult")
    assert (found["hand"], found["opponent_hand"]) == ("left", "left")
    assert (found["surface"], found["depth_m"]) == ("clay", 2.0)
    assert found["hitter"] == "pressing speed_share=1.1"
    own = found["policies"]["linear-shade 0.50"]
    assert (own["x_m"], own["shade_m_per_m"]) == (1.0, 0.5)


def test_spot_without_a_seed_prints_one_that_repeats_the_run() -> None:
    first = printed("spot", "--balls", "200", "--json")
    seed = json.loads(first)["seed"]
    assert printed("spot", "--balls", "200", "--json", "--seed", str(seed)) == first


def test_spot_for_a_coach() -> None:
    text = " ".join(printed(*SPOT).split())  # lines break wherever the words before them end
    assert "3.1 m to your right" in text
    assert re.search(
        r"Stand \d\.\d m left of the centre mark, \d\.\d steps? toward your left", text
    )
    assert "model result" in text
    assert "leaves the singles court" in text
    assert "seed 4" in text


def test_spot_takes_a_policy_from_a_file(tmp_path: Path) -> None:
    file = tmp_path / "own.py"
    file.write_text(
        "import numpy as np\nfrom sim.contracts import PerRally\n"
        "left = PerRally('left of the middle', lambda seen: (-1.0, -13.0))\n"
        "broken = PerRally('broken', lambda seen: 1 / 0)\n"
    )
    assert "left of the middle" in printed(*SPOT, "--policy", f"{file}:left")
    message = refused(*SPOT, "--policy", f"{file}:broken")
    assert "ZeroDivisionError" in message and "line 4" in message


def test_spot_draws_a_picture(tmp_path: Path) -> None:
    picture = tmp_path / "spot.png"
    assert str(picture) in printed(*SPOT, "--figure", picture)
    assert picture.read_bytes().startswith(b"\x89PNG")
    assert "spot.txt" in refused(*SPOT, "--figure", tmp_path / "spot.txt")
    assert "no-folder" in refused(*SPOT, "--figure", tmp_path / "no-folder" / "spot.png")
    assert [p.name for p in tmp_path.iterdir()] == ["spot.png"]


def test_shot_in_words() -> None:
    text = printed(*SHOT)
    assert "The ball is in." in text
    assert "landing          at (-3.00, 9.00) m" in text


def test_list_names_everything() -> None:
    text = printed("list")
    for name in (*POLICIES, *SHOT_MODELS, *PLAYERS, *SURFACES):
        assert re.search(rf"^{name} +\S", text, re.MULTILINE)
    assert set(printed("list", "players").split()) < set(text.split())
    assert len(printed("list", "surfaces").splitlines()) == len(SURFACES)


def test_list_parameters_have_unit_source_and_status() -> None:
    text = printed("list", "--parameters")
    rows = {tuple(line.split()[:2]): line for line in text.splitlines()}
    assert "published" in rows["professional-man", "forehand_speed_m_s"]
    assert "Kovalchik" in rows["professional-man", "forehand_speed_m_s"]
    assert " m/m " in rows["linear-shade", "shade_m_per_m"]
    assert "assumed" in rows["extreme", "drives"]
    assert ("world", "drag_coefficient") in rows
    assert ("clay", "friction") in rows


def test_replay_tells_the_rally_that_the_study_played(tiny: Path, tmp_path: Path) -> None:
    """The trace of rally 3 ends as its stored strokes say."""
    pandas = pytest.importorskip("pandas")
    out = tmp_path / "out"
    printed("study", tiny, "--out", out, "--seed", "8", "--workers", "1", "--quiet")
    strokes = pandas.read_parquet(out / "strokes.parquet")
    rows = strokes[
        (strokes.setting == "rally")
        & (strokes.place == "corner")
        & (strokes.opponent == "open-court")
        & (strokes.policy == "linear-shade 0.20")
        & (strokes.replicate == 3)
    ]
    cell = ("--place", "corner", "--hitter", "open-court", "--policy", "linear-shade 0.20")
    text = printed("replay", "--study", out, "--number", "3", *cell)
    assert f"After {len(rows)} stroke" in text
    assert f"{rows.ending.iloc[-1]}" in text
    assert text.count(" strikes stroke ") == len(rows)
    assert printed("replay", "--study", tiny, "--seed", "8", "--number", "3", *cell) == text


def test_replay_of_two_players() -> None:
    text = printed("replay", "--seed", "2", "--number", "5", "--policy", "bisector")
    assert text == printed("replay", "--seed", "2", "--number", "5", "--policy", "bisector")
    assert text != printed("replay", "--seed", "2", "--number", "6", "--policy", "bisector")
    assert "the point goes to the" in text


def test_study_prints_table_findings_and_files(tiny: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    text = printed("study", tiny, "--out", out, "--seed", "8", "--workers", "1")
    cells = rows_of(out)
    middle = next(
        c["estimate"]
        for c in cells
        if (c["policy"], c["place"], c["opponent"]) == ("middle", "corner", "habit")
        and (c["setting"], c["outcome"]) == ("rally", "missed_per_100")
    )
    line = next(s for s in text.splitlines() if s.startswith("middle"))
    assert line.split()[1] == f"{middle:.1f}"
    assert "- club-adult, habit opponent, with the opponent in the corner" in text
    assert f"seed 8): {out}" in text
    assert "open-court" in text


# What they refuse.


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("spto",), "Did you mean 'spot'?"),
        (("list", "polices"), "Did you mean 'policies'?"),
        ((*SPOT, "--player", "club-adlt"), "Did you mean 'club-adult'?"),
        ((*SPOT, "--opponent-player", "collegeman"), "Did you mean 'college-man'?"),
        ((*SPOT, "--surface", "gras"), "Did you mean 'grass'?"),
        ((*SPOT, "--hitter", "open-cort"), "Did you mean 'open-court'?"),
        ((*SPOT, "--policy", "bisecter"), "Did you mean 'bisector'?"),
        ((*SPOT, "--policy", "no.py:Own"), "there is no file 'no.py'"),
        ((*SPOT, "--policy", "linear-shade,shade_m_per_m=nan"), "nan"),
        ((*SPOT, "--hand", "both"), "'right' or 'left'"),
        ((*SPOT, "--opponent", "3,-11.885"), "far side of the net"),
        ((*SPOT, "--opponent", "nan,3"), "x of --opponent is nan"),
        ((*SPOT, "--opponent", "3"), "give 2 numbers as X,Y"),
        ((*SPOT, "--opponent", "30,11"), "x is 30 m"),
        ((*SPOT, "--height", "9"), "--height is 9 m"),
        ((*SPOT, "--depth", "-1"), "metres behind the baseline"),
        ((*SPOT, "--depth", "inf"), "is inf"),
        ((*SPOT, "--balls", "3"), "balls is 3"),
        ((*SPOT, "--balls", "many"), "'many' is not a valid integer"),
        (("spot", "--seed", "-4"), "seed is -4"),
        ((*SHOT, "--speed", "-30"), "--speed is -30"),
        ((*SHOT, "--speed", "nan"), "--speed is nan"),
        ((*SHOT, "--speed", "30 kg"), "another kind of quantity"),
        ((*SHOT, "--to", "-3,-9"), "opposite signs"),
        ((*SHOT, "--to", "-3,1"), "this shot cannot be hit: net"),
        ((*SHOT, "--angle", "5"), "leave out --angle"),
        ((*SHOT, "--drag-coefficient", "-1"), "--drag-coefficient is -1"),
        ((*SHOT, "--ball-mass", "0"), "--ball-mass is 0 kg"),
        ((*SHOT, "--air-density", "1.2", "--altitude", "500"), "leave out --altitude"),
        ((*SHOT, "--surface", "ice"), "unknown surface 'ice'"),
        (("shot", "--from", "3,-11.885,1", "--to", "-3,9"), "Missing option '--speed'"),
        (("shot", "--from", "3,-11.885,1", "--speed", "30"), "give one of a target"),
        (("replay",), "give --seed"),
        (("replay", "--seed", "1", "--number", "-2"), "rally number is -2"),
        (("replay", "--seed", "1", "--place", "3"), "give 2 numbers"),
        (("replay", "--study", "nowhere.toml", "--seed", "1"), "does not exist"),
        (("study", "nowhere.toml"), "does not exist"),
        (("study", "--workers", "0"), "--workers is 0"),
        (("study", "--workers", "2", "--cluster", "tcp://x:1"), "exclude each other"),
        (("study", "--resume", "--out", "nowhere"), "there is nothing to resume"),
        (("study", "--nosuch"), "--nosuch"),
    ],
)
def test_bad_input(
    arguments: tuple[str, ...], says: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert says in refused(*arguments)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (("levels", "levles"), "Did you mean 'levels'?"),
        (('"club-adult"', '"club-adlt"'), "Did you mean 'club-adult'?"),
        (('"bisector"', '"bisecter"'), "Did you mean 'bisector'?"),
        (("placed_balls = 40", "placed_balls = -40"), "placed_balls"),
        (("y_m = 11.885", "y_m = nan"), "y_m"),
        (("y_m = 11.885", "y_m = -11.885"), "far side of the net"),
        (('levels = ["club-adult"]', 'levels = ["club-adult"'), "line "),
    ],
)
def test_malformed_study_file(tiny: Path, change: tuple[str, str], says: str) -> None:
    tiny.write_text(TINY.replace(*change, 1))
    message = refused("study", tiny, "--out", tiny.parent / "out")
    assert says in message
    assert "tiny.toml" in message
    assert not list(tiny.parent.glob("out*"))


def test_replay_refuses_what_the_study_has_not(tiny: Path) -> None:
    of = ("replay", "--study", tiny, "--seed", "1")
    assert "Did you mean 'corner'?" in refused(*of, "--place", "cornr")
    assert "Valid: club-adult" in refused(*of, "--player", "college-man")
    assert "Valid: habit, open-court" in refused(*of, "--hitter", "pressing")
    assert "the study fixes --surface" in refused(*of, "--surface", "clay")
    assert "names no seed" in refused("replay", "--study", tiny)


def test_result_folder_is_not_replaced_unless_asked(tiny: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    command = ("study", tiny, "--out", out, "--seed", "1", "--workers", "1", "--quiet")
    printed(*command)
    first = (out / "manifest.json").read_bytes()
    assert "--overwrite" in refused(*command)
    assert (out / "manifest.json").read_bytes() == first
    (out / "letter.txt").touch()
    assert "letter.txt" in refused(*command, "--overwrite")
    assert (out / "manifest.json").read_bytes() == first
    (out / "letter.txt").unlink()
    written_ns = (out / "manifest.json").stat().st_mtime_ns
    printed(*command, "--overwrite")
    assert (out / "manifest.json").stat().st_mtime_ns > written_ns
    assert sorted(p.name for p in tmp_path.iterdir() if p.name.startswith("out")) == ["out"]


def test_full_disk_and_interrupt_in_mid_run(
    tiny: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "out"
    command = ("study", tiny, "--out", out, "--seed", "1", "--workers", "1", "--quiet")

    def fail(error: BaseException) -> Any:
        def write(*_: Any) -> None:
            raise error

        monkeypatch.setattr("experiments.study.runner.fill_table", write)

    fail(OSError(28, "No space left on device"))
    assert "No space left on device" in refused(*command)
    assert not out.exists()
    fail(KeyboardInterrupt())
    message = refused(*command, "--overwrite", code=130)
    assert "out.partial" in message and "--seed 1" in message
    assert f"rally-recovery study --resume --out {out} (" in message
    assert not out.exists()
    monkeypatch.undo()
    assert "seed 1" in printed("study", "--resume", "--out", out, "--workers", "1", "--quiet")


def test_interrupt_from_the_terminal(tmp_path: Path) -> None:
    """The workers are interrupted with it, as a terminal does; none of them says a word."""
    study, out = tmp_path / "long.toml", tmp_path / "out"
    study.write_text(TINY.replace("placed_balls = 40", "placed_balls = 1_000_000"))
    command = [sys.executable, "-m", "experiments", "study", str(study), "--out", str(out)]
    running = subprocess.Popen(
        [*command, "--seed", "1", "--workers", "2", "--quiet"],
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
        # What is started in the background of a script ignores interrupts, and so would this.
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    )
    partial = tmp_path / "out.partial"
    try:
        for _ in range(600):
            if (partial / "blocks").exists() or running.poll() is not None:
                break
            time.sleep(0.1)
        time.sleep(3.0)
        os.killpg(running.pid, signal.SIGINT)
        errors = running.communicate(timeout=60)[1]
    finally:
        running.kill()
    assert running.returncode == 130
    assert errors.startswith("Error: interrupted.") and errors.count("\n") == 1
    assert str(partial) in errors
    assert not out.exists()


def test_closed_and_full_output() -> None:
    """`rally-recovery list | head -1` ends quietly; a full disk behind the output is told."""
    script = f"{sys.executable} -m experiments list"
    done = subprocess.run(
        ["bash", "-c", f"{script} | head -1"], capture_output=True, text=True, check=True
    )
    assert done.stdout == "Recovery policies\n"
    assert "Traceback" not in done.stderr
    if Path("/dev/full").exists():
        done = subprocess.run(
            ["bash", "-c", f"{script} > /dev/full"], capture_output=True, text=True
        )
        assert done.returncode == 1
        assert "the disk is full" in done.stderr and "Traceback" not in done.stderr


# How it starts.


def test_version_and_module() -> None:
    assert "rally-recovery, version " in printed("--version")
    done = python("-m", "experiments", "--version")
    assert done.stdout == printed("--version")
    assert "spot" in printed("--help")


def test_hitters_are_listed_by_the_name_of_their_option() -> None:
    run = CliRunner().invoke
    told = run(main, ["list", "hitters"])
    assert told.exit_code == 0 and told.output == run(main, ["list", "shots"]).output


def test_a_range_of_one_place_is_no_range() -> None:
    result = find_spot(scene_of(hitter="best-reply", balls=300, seed=1), [make_policy("middle")])
    best = dataclasses.replace(result.best, low_m=result.best.x_m, high_m=result.best.x_m)
    told = " ".join(spot_text(dataclasses.replace(result, best=best)).split())
    assert "Anywhere" not in told and "costs more than half a ball in 100" in told


def test_many_parameters_are_told_once() -> None:
    told = CliRunner().invoke(main, ["list", "hitters"]).output
    (pressing,) = [line for line in told.splitlines() if line.startswith("pressing ")]
    assert "Takes all that habit takes" in pressing and "speed_share" not in pressing
    (charted,) = [line for line in told.splitlines() if line.startswith("charted ")]
    own = {f.name for f in dataclasses.fields(SHOT_MODELS["charted"])}
    own -= {f.name for f in dataclasses.fields(SHOT_MODELS["habit"])}
    assert own and all(name in charted for name in own)
