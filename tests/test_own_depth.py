"""A study of a policy that chooses its own depth and how hard it runs there."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner
from tiny_study import TINY

from experiments.answers.stroke.answer import recovery_to, time_needed_s
from experiments.answers.stroke.strokes import StrokeQuestion, own_stroke
from experiments.command.main import main
from experiments.report.figures import court_figure
from experiments.report.pictures import depth_of
from experiments.scene.scene import scene_of
from experiments.study.result_folder import ResultFolder
from strategies.catalogue import make_policy

DEEP = '''
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Deep:
    """Follows the bisector, deeper, at a stated effort."""

    back_m: float = 1.5
    effort: float = 0.8
    name: str = "deep"

    def spots(self, seen):
        y = np.full(len(seen), -(seen.line_m + self.back_m))
        return np.stack([seen.bisector_x_m, y, np.full(len(seen), self.effort)], axis=1)
'''


@pytest.fixture(scope="module")
def folders(tmp_path_factory: pytest.TempPathFactory) -> dict[int, Path]:
    """The same study played by one worker and by two."""
    place = tmp_path_factory.mktemp("depth")
    (place / "deep.py").write_text(DEEP)
    study = place / "study.toml"
    study.write_text(TINY.replace('"bisector"', f'"bisector", "{place}/deep.py:Deep"'))
    out = {workers: place / f"by-{workers}" for workers in (1, 2)}
    for workers, folder in out.items():
        words = ["study", str(study), "--out", str(folder), "--workers", str(workers)]
        told = CliRunner().invoke(main, [*words, "--seed", "3", "--quiet"])
        assert told.exit_code == 0, told.output
    return out


def test_workers_change_no_byte(folders: dict[int, Path]) -> None:
    for name in ("cells.csv", "strokes.parquet", "columns.csv"):
        assert (folders[1] / name).read_bytes() == (folders[2] / name).read_bytes()


def test_its_cells_tell_the_depth_and_no_shade(folders: dict[int, Path]) -> None:
    cells = pd.read_csv(folders[1] / "cells.csv")
    of_depth = cells[cells["outcome"] == "spot_y_m"]
    assert set(of_depth["policy"]) == {"deep"}
    assert set(of_depth["setting"]) == {"placed", "recovery", "rally"}
    assert of_depth["estimate"].to_numpy() == pytest.approx(-(11.885 + 1.3 + 1.5))
    assert "deep" not in set(cells[cells["outcome"] == "shade_m_per_m"]["policy"])
    assert "bisector" in set(cells[cells["outcome"] == "shade_m_per_m"]["policy"])


def test_its_strokes_tell_the_effort(folders: dict[int, Path]) -> None:
    strokes = pd.read_parquet(folders[1] / "strokes.parquet")
    recovered = strokes[strokes["setting"] == "recovery"]
    deep = recovered["policy"] == "deep"
    assert recovered[deep]["recovery_effort"].to_numpy() == pytest.approx(0.8)
    assert (recovered[~deep]["recovery_effort"] == 0.0).all()


def test_the_report_draws_and_says_where_it_waits(folders: dict[int, Path]) -> None:
    results = ResultFolder.read(folders[1])
    assert results.own_depth == ["deep"]
    ax = court_figure(results).axes[0]
    y = {line.get_gid(): line.get_ydata()[0] for line in ax.lines if line.get_gid()}
    assert y["spot deep"] == pytest.approx(y["spot bisector"] - 1.5)
    assert depth_of(results, "deep") == " (2.8 m behind the baseline)"
    assert depth_of(results, "bisector") == ""
    page = (folders[1] / "report.html").read_text()
    assert "for every policy and level but deep, which" in " ".join(page.split())


def test_a_policy_that_sprints_needs_less_time_and_may_wait_across_the_net(tmp_path: Path) -> None:
    (tmp_path / "deep.py").write_text(DEEP)
    scene = scene_of(player="college-man", balls=100, seed=1)
    needs = []
    for effort in (0.3, 1.0):
        policy = make_policy(f"{tmp_path}/deep.py:Deep,effort={effort}")
        question = StrokeQuestion(scene, (3.0, -12.4, 1.0), (policy,), opponent_policy=policy)
        stroke = own_stroke(question, "crosscourt")
        assert stroke.waits_m[1] == pytest.approx(11.885 + scene.depth_m + 1.5)
        run = recovery_to(question, stroke, policy)
        needs.append(time_needed_s(question, stroke, run))
    assert np.isfinite(needs).all() and needs[1] < needs[0]
