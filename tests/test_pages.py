"""README and the pages by question: made from the stored folders, and held to them."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

import pandas as pd
import pytest

from experiments.claims import pages
from experiments.claims.book import Book
from experiments.claims.facts import Counts, Facts, Number, by_verdict, listed, runs, span
from experiments.claims.pages import NAMES, PAGES, made, question, write_pages
from experiments.statistics.comparison import AS_GOOD, LOSES, NOT_DECIDED, NOT_IN_ALL, WINS
from experiments.study.folder_files import held
from sim.errors import InputError

ROOT = Path(__file__).resolve().parent.parent
RESULTS = ROOT / "results"
MOST_WORDS = 1500
MOST_IN_ALL = 14_400  # README and the pages by question
LINK = re.compile(r"\]\(([^)\s]+)\)|(?:src|href)=\"([^\"]+)\"")
FENCED = re.compile(r"^```.*?^```", re.MULTILINE | re.DOTALL)
MORE = "points_more_than_middle_per_100"


@pytest.fixture(scope="module")
def texts() -> dict[str, str]:
    return made(ROOT)


def test_the_stored_pages_are_made_again_from_the_stored_folders(texts: dict[str, str]) -> None:
    for path, text in texts.items():
        assert (ROOT / path).read_text("utf-8") == text, path
    assert {p.name for p in (ROOT / PAGES).iterdir()} == {f"{name}.md" for name in NAMES}


def test_readme_is_short_and_so_are_the_pages(texts: dict[str, str]) -> None:
    count = {path: len(text.split()) for path, text in texts.items()}
    assert count["README.md"] <= MOST_WORDS
    by_question = [n for path, n in count.items() if path.startswith((PAGES, "README.md"))]
    assert len(by_question) == 1 + len(NAMES) and sum(by_question) <= MOST_IN_ALL


def test_every_page_is_in_both_indexes(texts: dict[str, str]) -> None:
    for name in NAMES:
        assert f"[{question(name)}](results/pages/{name}.md)" in texts["README.md"]
        assert f"[{question(name)}](pages/{name}.md)" in texts["results/README.md"]
    for path in ("results/against.md", "results/gallery/index.html", f"{PAGES}/claims.md"):
        assert f"]({path})" in texts["README.md"]


def anchors(text: str) -> set[str]:
    """The anchors of a page's headings, as GitHub makes them."""
    heads = re.findall(r"^#+ (.*)$", FENCED.sub("", text), re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", head.lower()).replace(" ", "-") for head in heads}


def test_links_lead_somewhere(texts: dict[str, str]) -> None:
    found = 0
    for path, text in texts.items():
        for link in (a or b for a, b in LINK.findall(FENCED.sub("", text))):
            if link.startswith("https://"):
                continue
            file, _, anchor = link.partition("#")
            target = (ROOT / path).parent / file if file else ROOT / path
            found += 1
            assert target.exists(), f"{path}: {link}"
            assert not anchor or anchor in anchors(target.read_text("utf-8")), f"{path}: {link}"
    assert found > 80


def test_the_answer_leads_with_whole_points(texts: dict[str, str]) -> None:
    """Both intervals of each level, found again in the table of cells; the share in time beside."""
    answer = texts["README.md"].partition("## The answer")[2].partition("## For a coach")[0]
    assert answer.index("whole points") < answer.index("own stroke") < answer.index("first ball")
    cells = pd.read_csv(RESULTS / "whole-points" / "cells.csv")
    cells = cells[(cells["policy"] == "bisector") & (cells["opponent"] == "attentive")]
    for level in ("professional-man", "college-man", "club-adult"):
        for setting in ("serving", "returning"):
            here = cells[(cells["level"] == level) & (cells["setting"] == setting)]
            more = here[here["outcome"] == MORE].iloc[0]
            chance = "{:.1f} ({:.1f} to {:.1f})".format(*more[["estimate", "low", "high"]])
            worlds = "{:.1f} to {:.1f}".format(*more[["world_low", "world_high"]])
            assert f"| {chance} | {worlds} |".replace("-", "\u2212") in answer
        in_time = cells[(cells["level"] == level) & (cells["setting"] == "serving")]
        in_time = in_time[in_time["outcome"] == "share_in_time"]["estimate"].iloc[0]
        assert f"| {100 * in_time:.1f} (" in answer


def changed(folder: Path, rows: dict[str, str], **values: float | str) -> None:
    """Give the cells with these labels other values."""
    path = held(folder, "cells.csv")
    table = pd.read_csv(path)
    wanted = pd.Series(True, index=table.index)
    for name, value in rows.items():
        wanted &= table[name] == value
    assert wanted.any()
    for name, value in values.items():
        table.loc[wanted, name] = value
    table.to_csv(path, index=False)
    manifest = folder / "manifest.json"
    said = json.loads(manifest.read_text("utf-8"))
    del said["files"]["cells.csv"]  # a changed table would be refused
    manifest.write_text(json.dumps(said), "utf-8")


def test_words_follow_the_numbers_and_what_no_longer_holds_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where the bisector loses, tables and verdicts say so; conclusions are told, all at once, and
    nothing is written."""
    monkeypatch.setattr(pages, "NAMES", ("middle",))
    shutil.copytree(RESULTS, tmp_path / "results")
    loses = {"outcome": MORE, "policy": "bisector"}
    worse = dict(estimate=-2.0, low=-3.0, high=-1.0, verdict=LOSES)
    whole = tmp_path / "results" / "whole-points"
    in_worlds = dict(world_low=-3.0, world_high=-1.0, world_verdict=LOSES)
    changed(whole, {**loses, "setting": "serving"}, **worse, **in_worlds)
    changed(
        tmp_path / "results" / "main", {"outcome": MORE, "policy": "linear-shade 0.30"}, **worse
    )
    readme = Book(tmp_path / "results").page("README.md", {"index": ()})
    assert "Serving it loses to the middle for professional men, college men and" in readme
    assert "\u22122.0 (\u22123.0 to \u22121.0) | \u22123.0 to \u22121.0 |" in readme
    with pytest.raises(InputError) as told:
        write_pages(tmp_path)
    assert "middle.md: So a moderate shade" in str(told.value)
    assert "against.md: What holds against every hitter tried" in str(told.value)
    assert not (tmp_path / "README.md").exists()
    against = tmp_path / "results" / "against.md"
    assert against.read_bytes() == (RESULTS / "against.md").read_bytes()


def test_a_sentence_measured_once_holds_for_its_edition_alone() -> None:
    book = Book(RESULTS)
    assert book.text('{{ measured(edition, "As measured.") }}', "a page") == "As measured."
    book.require_all()
    assert book.text('{{ measured(edition - 1, "As it was.") }}', "a page") == "As it was."
    with pytest.raises(InputError, match=r"1 sentences .*\n- a page: As it was\."):
        book.require_all()


# --- words ------------------------------------------------------------------------------------


def number(value: float, verdict: str = WINS, **more: float | str) -> Number:
    return Number(
        {"estimate": value, "low": value - 1, "high": value + 1, "verdict": verdict, **more}
    )


def test_verdicts_pick_the_words() -> None:
    named = {"a": number(2.0), "b": number(3.0), "c": number(0.1, NOT_DECIDED)}
    assert by_verdict(named) == "wins for a and b; it cannot be told from the middle for c"
    assert by_verdict({"a": number(-2.0, LOSES)}) == "loses to the middle for a"
    both = number(2.0, world_verdict=WINS + NOT_IN_ALL, world_low=-0.3, world_high=2.72)
    assert not both.wins and both.in_worlds == "\u22120.3 to 2.7"
    assert by_verdict({"a": both}) == "wins by the default values but not in all worlds for a"
    with pytest.raises(InputError, match="no interval of worlds"):
        _ = number(1.0).worlds


def test_counts_and_stretches_in_words() -> None:
    assert str(Counts({WINS: 4})) == "wins in all 4 cells"
    counts = Counts({NOT_DECIDED: 2, WINS: 38, AS_GOOD: 8})
    assert str(counts) == "wins in 38 of 48 cells, is as good in 8 and is not decided in 2"
    assert str(Counts({LOSES: 1, NOT_DECIDED: 1})) == (
        "is not decided in 1 of 2 cells and loses in 1"
    )
    line = [(9, WINS), (14, WINS), (26, NOT_DECIDED), (58, LOSES)]
    assert runs(line) == (
        "wins from 9 to 14, cannot be told from the middle at 26 and loses to the middle at 58"
    )
    assert span([3.04, -1.26]) == "\u22121.3 to 3.0" and span([0.31, 0.29]) == "0.3"
    assert listed(["a"]) == "a" and listed("abc") == "a, b and c"


def test_numbers_are_those_with_the_labels_and_one_alone() -> None:
    facts = Facts(RESULTS)
    labels = {"level": "college-man", "opponent": "habit", "policy": "bisector"}
    found = facts.number("main", place="corner", **labels)
    cells = pd.read_csv(held(RESULTS / "main", "cells.csv")).query(
        "setting == 'rally' and place == 'corner' and level == 'college-man' and"
        f" opponent == 'habit' and policy == 'bisector' and outcome == '{MORE}'"
    )
    assert [found.value] == cells["estimate"].tolist()
    with pytest.raises(InputError, match="name one of them"):
        facts.number("main", **labels)
    with pytest.raises(InputError, match="no row"):
        facts.number("main", **labels, place="moon")
    assert facts.count("main", **labels).total() == 4  # all places together left out
