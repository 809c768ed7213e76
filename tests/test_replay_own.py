"""A rally of a study with own code again, named as in the study file or as the results name it."""

from __future__ import annotations

from pathlib import Path

import pytest
from fuzz_folder import SHOTS
from tiny_study import OWN_POLICY, run_tiny, tiny_study, without_pages

from experiments.answers.replay.answer import replay_of_study, replay_text
from experiments.study.file import load_study
from sim.errors import InputError


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("own")
    (place / "slow.py").write_text(OWN_POLICY)
    (place / "deep.py").write_text(SHOTS)
    text = tiny_study(settings=["rally"]).toml()
    text = text.replace('"open-court"', '"deep.py:Deep"').replace('"stay"', '"slow.py:Slow"')
    (place / "mine.toml").write_text(text)
    with pytest.MonkeyPatch.context() as patch:
        without_pages(patch)
        return run_tiny(load_study(place / "mine.toml"), place / "out")


@pytest.mark.parametrize("hitter", ["deep", "deep.py:Deep", "somewhere/deep.py:Deep"])
@pytest.mark.parametrize("policy", ["a step over -0.7", "slow.py:Slow"])
def test_own_code_is_found_by_each_of_its_names(folder: Path, hitter: str, policy: str) -> None:
    told = replay_text(replay_of_study(folder, 3, None, None, hitter, policy, None))
    assert told.splitlines()[0].endswith("a step over -0.7, deep opponent, middle")


def test_what_the_study_does_not_have_is_refused(folder: Path) -> None:
    with pytest.raises(InputError, match="opponent of the study"):
        replay_of_study(folder, 3, None, None, "other.py:Deep", None, None)
