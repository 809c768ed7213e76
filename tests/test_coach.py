"""The first screen of a study's report: a coach's answer, and the words that the report uses."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from fixture_folder import pages_of, rows_of, write_folder, write_rows
from page_browser import a_browser

from experiments.report.apart import named
from experiments.report.coach import coached
from experiments.report.glossary import explained, glossary, opponent_words, policy_words
from experiments.report.page import write_report
from experiments.report.summary import View
from experiments.scene.sides import wing
from experiments.statistics.comparison import NOT_DECIDED, WINS
from experiments.statistics.signed_words import ends_of
from experiments.study.result_folder import ResultFolder
from experiments.study.setting_table import SETTINGS
from sim.players import PLAYERS
from strategies.catalogue import POLICIES, SHOT_MODELS

MOST_WORDS = 8_000
PHONE = {"width": 390, "height": 844}


def read(path: Path, **choices: Any) -> ResultFolder:
    return ResultFolder.read(write_folder(path, **choices))


def with_differences(folder: Path, value: float, half: float) -> ResultFolder:
    """The fixture with this difference, plus and minus half, in every cell."""
    rows = rows_of(folder)
    for row in rows:
        if "_than_" in row["outcome"]:
            row |= {"estimate": value, "low": value - half, "high": value + half}
    write_rows(folder, rows)
    return ResultFolder.read(folder)


def test_a_coach_is_told_where_to_stand_and_what_it_is_worth(tmp_path: Path) -> None:
    found = coached(read(tmp_path / "a", settings=["rally"]))
    assert found is not None
    # Made-up: a shade of 0.35 from 3.115 m; missed 9.25 from the middle, 4.0 from the bisector.
    assert found.stand == ("Stand 1.1 m left of the centre mark (1.5 steps to your backhand side).")
    assert (
        "strikes 3.1 m right of the centre as you face the net, at the far baseline" in found.when
    )
    assert "1.3 m behind the baseline" in found.when
    assert "Of the places tried, 0.6 m left to 0.9 m left won most points" in found.when
    assert found.who == (
        "college man, right-handed, against one like that who hits by habit; hard court."
    )
    points, balls, other = found.worth
    assert points.startswith("Points: wins 5.2 (4.5 to 6.0) more points of 100")
    assert balls == (
        "Balls: misses 5.2 (5.0 to 5.5) fewer balls of 100: 4.0 (3.6 to 4.4), from the middle"
        " 9.2 (8.8 to 9.6)."
    )
    assert other.endswith("more against one who may hit any ball.")
    assert "18 cases" in found.sure and "better in 18, worse in none" in found.sure
    assert "club adult 6 of 6" in found.sure


@pytest.mark.parametrize(
    ("value", "half", "start", "said"),
    [
        (-3.0, 1.0, "Stand at the centre mark, not 1.1 m left", "wins 3.0 (2.0 to 4.0) fewer"),
        (0.1, 0.2, "It makes no difference: 1.1 m left", "is as good as the middle"),
        (0.4, 2.0, "Not decided: 1.1 m left", "cannot be told from the middle"),
    ],
)
def test_what_speaks_against_a_place_changes_the_advice(
    tmp_path: Path, value: float, half: float, start: str, said: str
) -> None:
    folder = write_folder(tmp_path / "a", settings=["rally"], levels=["club-adult"])
    found = coached(with_differences(folder, value, half))
    assert found is not None and found.stand.startswith(start)
    assert said in found.worth[0]
    assert "better in none" in found.sure


def test_the_wing_is_that_of_the_players_hand(tmp_path: Path) -> None:
    folder = write_folder(tmp_path / "a", settings=["rally"])
    study = folder / "study.toml"
    study.write_text('hand = "left"\n' + study.read_text("utf-8"), "utf-8")
    found = coached(ResultFolder.read(folder))
    assert found is not None and "to your forehand side" in found.stand
    assert "left-handed" in found.who
    assert [wing(x, "right") for x in (-1.0, 1.0)] == ["backhand", "forehand"]


def test_what_other_values_leave_open_is_told_without_jargon(tmp_path: Path) -> None:
    folder = write_folder(tmp_path / "a", settings=["rally"], levels=["club-adult"])
    rows = rows_of(folder)
    for row in rows:
        is_difference = "_than_" in row["outcome"]
        row |= {"world_low": -0.5 if is_difference else None, "world_high": 7.0}
        row["world_verdict"] = "wins, not in all worlds" if is_difference else None
    write_rows(folder, rows)
    found = coached(ResultFolder.read(folder))
    assert found is not None and found.stand.startswith("Not decided: ")
    assert (
        "but not for sure (\N{MINUS SIGN}0.5 to 7.0 with other sensible values of the model)"
        in found.worth[0]
    )


def test_a_study_that_compares_nothing_tells_no_place(tmp_path: Path) -> None:
    folder = write_folder(tmp_path / "a", policies=["middle"], levels=["club-adult"])
    assert coached(ResultFolder.read(folder)) is None
    assert "compares nothing" in write_report(folder).read_text("utf-8")


def test_an_own_policy_is_spoken_of_first(tmp_path: Path) -> None:
    policies = ["middle", "bisector", "linear-shade 0.30", "halfway 0.50"]
    results = read(tmp_path / "a", policies=policies)
    view = View.of(results)
    assert view is not None and view.policy == "halfway 0.50"
    assert named(["linear-shade 0.30", "biased", "bisector"]) == "bisector"
    assert named(["linear-shade 0.30", "biased"]) == "biased"


def test_an_own_policy_that_is_called_as_a_word_is_explained_as_its_own(tmp_path: Path) -> None:
    results = read(tmp_path / "a", policies=["middle", "shade 0.80"])
    (said,) = explained(["shade 0.80 wins"], results)
    assert said == f"shade 0.80 ({policy_words('shade 0.80')}) wins"
    assert "shade" not in dict(dict(glossary(results))["Words"])


def test_what_is_not_decided_is_told_with_the_interval_that_leaves_it_open() -> None:
    """The one alone would say that it is above 0."""
    cell = {"estimate": 2.7, "low": 0.3, "high": 5.1, "low_together": -0.1, "high_together": 5.5}
    open_still, decided = ({**cell, "verdict": v} for v in (NOT_DECIDED, WINS))
    assert ends_of(open_still) == (2.7, -0.1, 5.5)
    assert ends_of(decided) == (2.7, 0.3, 5.1)
    clear = {**open_still, "low": -0.05}
    assert ends_of(clear) == (2.7, -0.05, 5.1)
    assert ends_of({**open_still, "low_together": None}) == (2.7, 0.3, 5.1)


def test_each_word_is_explained_at_its_first_use_alone(tmp_path: Path) -> None:
    results = read(tmp_path / "a", settings=["rally"])
    first, second = explained(
        ["The bisector wins in 3 cells (place, level).", "The bisector, the middle-aged."], results
    )
    assert first == f"The bisector ({policy_words('bisector')}) wins in 3 cells (place, level)."
    assert second == "The bisector, the middle-aged."
    (said,) = explained(["linear-shade 0.30 loses"], results)
    assert said == f"linear-shade 0.30 ({policy_words('linear-shade')}) loses"


def test_all_that_is_shipped_has_words(tmp_path: Path) -> None:
    own = policy_words("halfway 0.50")
    assert "own" in own and all(policy_words(name) != own for name in POLICIES)
    assert all(opponent_words(name).startswith("who ") for name in SHOT_MODELS)
    assert opponent_words("mine") == "who plays as “mine”"
    groups = dict(glossary(read(tmp_path / "a", settings=list(SETTINGS)[:3])))
    assert [name for name, _ in groups["How it is played"]] == ["placed", "recovery", "rally"]


@pytest.fixture(scope="module")
def big(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A study of all levels and hitters in all settings by places."""
    folder = write_folder(
        tmp_path_factory.mktemp("big") / "study",
        levels=list(PLAYERS),
        opponents=list(SHOT_MODELS),
        title="Where to recover to while the opponent gets to the ball",
    )
    write_report(folder)
    return folder


def test_the_report_of_a_big_study_stays_short(big: Path) -> None:
    def words(text: str) -> int:
        text = re.sub(r"<style>.*?</style>", "", text, flags=re.DOTALL)
        return len(re.sub(r"<[^>]*>", " ", text).split())

    page = (big / "report.html").read_text("utf-8")
    assert words(page) <= MOST_WORDS < words(pages_of(big))
    assert "<script" not in page
    assert page.index('class="stand"') < page.index('id="words"') < page.index('id="found"')


def test_the_first_screen_of_a_phone_holds_the_answer(big: Path) -> None:
    with a_browser() as browser:
        page = browser.new_page(viewport=PHONE, java_script_enabled=False)
        page.goto((big / "report.html").as_uri())
        bottom, wide, glossary_height = page.evaluate(
            """[document.querySelector(".coach").getBoundingClientRect().bottom,
                document.documentElement.scrollWidth,
                document.querySelector("#words").getBoundingClientRect().height]"""
        )
        assert bottom <= PHONE["height"] and wide <= PHONE["width"]
        assert glossary_height <= 1.2 * PHONE["height"], "ten hitters at once"
