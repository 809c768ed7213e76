"""The report: it opens offline, escapes what people typed, and says what it must."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from fixture_folder import write_folder

from experiments.report import in_two, write_report
from experiments.report_tables import (
    merged,
    number,
    outcome_tables,
    parameter_table,
    short_table,
    verdict_counts,
)
from experiments.result_folder import ResultFolder
from sim.errors import InputError
from sim.parameter import ParameterRow

VOID = {"meta", "img", "link", "br", "hr"}
SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9"></svg>'
NASTY = "<script>alert('Müller & Söhne')</script>"


class Page(HTMLParser):
    """What a page holds: images, links, ids and text; fails on tags that do not pair up."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.images: list[dict[str, str]] = []
        self.links: list[str] = []
        self.ids: list[str] = []
        self.tags: list[str] = []
        self.text = ""
        self._open: list[str] = []
        self.feed(text)
        assert self._open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = {name: value or "" for name, value in attrs}
        self.tags.append(tag)
        if tag not in VOID:
            self._open.append(tag)
        if tag == "img":
            self.images.append(found)
        if "href" in found:
            self.links.append(found["href"])
        if "id" in found:
            self.ids.append(found["id"])

    def handle_endtag(self, tag: str) -> None:
        assert self._open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self._open and self._open[-1] != "style":
            self.text += data


def page_of(path: Path, **choices: Any) -> tuple[str, Page]:
    """The report of a fixture folder with stand-ins for its figures."""
    folder = write_folder(path, **choices)
    (folder / "figures").mkdir()
    names = ["court", "missed-rally", "points-rally", "yardstick-placed", "extra"]
    for name in names:
        (folder / "figures" / f"{name}.svg").write_text(SVG, "utf-8")
    text = write_report(folder).read_text("utf-8")
    return text, Page(text)


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> tuple[str, Page]:
    return page_of(tmp_path_factory.mktemp("report") / "study")


def test_the_page_needs_nothing_from_outside(whole: tuple[str, Page]) -> None:
    text, page = whole
    assert not {"script", "link", "iframe", "object", "base"} & set(page.tags)
    assert "http:" not in text and "https:" not in text and "@import" not in text
    assert "url(" not in text
    assert all(image["src"].startswith("data:image/svg+xml;base64,") for image in page.images)
    assert all(link.startswith("#") for link in page.links)


def test_the_contents_lead_to_every_section(whole: tuple[str, Page]) -> None:
    _, page = whole
    assert [link[1:] for link in page.links] == page.ids
    assert page.ids[0] == "findings"


def test_every_picture_says_what_it_shows(whole: tuple[str, Page]) -> None:
    _, page = whole
    alts = {image["alt"] for image in page.images}
    assert len(page.images) == len(alts) == 5
    court = page.images[0]["alt"]
    assert "middle at the middle; bisector 1.1 m to the left" in court
    missed = next(alt for alt in alts if "missed per 100" in alt and alt.startswith("Dot"))
    assert "habit: middle 9.2, bisector 4.0" in missed


def test_names_that_people_gave_are_escaped(tmp_path: Path) -> None:
    text, page = page_of(
        tmp_path / "a",
        title=NASTY,
        levels=["college-man"],
        opponents=["habit"],
        settings=["rally"],
    )
    assert "<script" not in text
    assert NASTY in page.text
    assert "Müller" in text


def test_names_in_the_cells_are_escaped(tmp_path: Path) -> None:
    folder = write_folder(tmp_path / "a", levels=["college-man"], settings=["placed"])
    summary = folder / "summary.json"
    summary.write_text(summary.read_text("utf-8").replace('"habit"', '"<b>\\" onload=x"'), "utf-8")
    (folder / "figures").mkdir()
    (folder / "figures" / "missed-placed.svg").write_text(SVG, "utf-8")
    text = write_report(folder).read_text("utf-8")
    page = Page(text)
    assert "b" not in page.tags
    assert set(page.images[0]) == {"src", "alt"}
    assert '<b>" onload=x' in page.images[0]["alt"]


def test_it_says_that_results_are_a_models_and_to_take_care(whole: tuple[str, Page]) -> None:
    words = re.sub(r"\s+", " ", whole[1].text)
    for phrase in (
        "results of a model, not measurements on a court",
        "Warm up first",
        "build up over weeks",
        "stop on pain",
        "Ask a coach",
        "a physician",
        "rally-recovery study study.toml --out again",
        "hold what chance leaves open, not what the assumptions may have wrong",
    ):
        assert phrase in words


def test_assumed_parameters_and_limits_are_listed(whole: tuple[str, Page]) -> None:
    text, _ = whole
    limits = text[text.index('<section id="angle">') : text.index('<section id="parameters">')]
    assert "nearest landing to the net" in limits and "6 m" in limits
    listed = text[text.index('<section id="parameters">') : text.index('<section id="left-out">')]
    assert listed.count("<td>assumed</td>") > 30
    assert "club-adult 0.26; college-man 0.2; professional-man 0.18 s" in listed
    assert "drag coefficient of the ball" in listed


def test_where_it_comes_from_is_named(whole: tuple[str, Page]) -> None:
    text, _ = whole
    origin = text[text.index('<section id="origin">') :]
    assert "numpy" in origin and "own/mine.py" in origin and "ab" * 32 in origin
    assert "commit" not in origin  # null in the fixture's manifest


def test_subsets_leave_out_what_they_do_not_hold(tmp_path: Path) -> None:
    few = {"levels": ["club-adult"], "opponents": ["habit"], "settings": ["placed"]}
    text, page = page_of(tmp_path / "a", places=["middle"], policies=["middle"], **few)
    assert "points" not in page.ids and "against" not in page.ids
    assert "yardstick is the family" not in text
    _, page = page_of(tmp_path / "b", places=["corner"], policies=["middle", "bisector"], **few)
    assert "against" in page.ids
    folder = write_folder(tmp_path / "c", **few)
    (folder / "manifest.json").unlink()
    assert "This folder has no manifest." in write_report(folder).read_text("utf-8")


def test_writing_again_gives_the_same_bytes(tmp_path: Path) -> None:
    folder = write_folder(tmp_path / "a", levels=["club-adult"])
    first = write_report(folder).read_bytes()
    assert write_report(folder).read_bytes() == first


def test_a_folder_that_no_study_wrote_gets_no_report(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="not a whole result folder"):
        write_report(tmp_path)
    assert not list(tmp_path.iterdir())


def test_a_report_that_cannot_be_written_is_one_message(tmp_path: Path) -> None:
    folder = write_folder(tmp_path / "a", levels=["club-adult"])
    (folder / "report.html").mkdir()
    with pytest.raises(InputError, match="cannot write the report"):
        write_report(folder)
    assert not list(folder.glob(".report*"))


# --- tables -----------------------------------------------------------------------------------


def test_tables_hold_the_cells_with_their_intervals(tmp_path: Path) -> None:
    results = ResultFolder.read(write_folder(tmp_path / "a"))
    tables = outcome_tables(results, "missed_per_100", False)
    assert len(tables) == 3 * (1 + 2 + 1)  # levels; placed, two own strokes, rally
    (shown,) = [t for t in tables if t.is_open]
    assert shown.caption == "rally: college-man"
    policy, values = shown.groups[0].rows[1]
    assert policy == "bisector"
    assert (values[1].estimate, values[1].interval) == ("4.0", "3.6 to 4.4")


def test_verdicts_are_counted_without_the_mean_over_places(tmp_path: Path) -> None:
    results = ResultFolder.read(write_folder(tmp_path / "a", settings=["placed"]))
    counts = verdict_counts(outcome_tables(results, "missed_fewer_than_middle_per_100", True))
    assert ("placed", "bisector", {"wins": 3 * 2 * 3}) in counts


def test_the_table_at_a_glance_sets_missed_beside_points(tmp_path: Path) -> None:
    table = short_table(ResultFolder.read(write_folder(tmp_path / "a")))
    assert table.places == [
        "balls missed, corner",
        "balls missed, all places",
        "points more, corner",
        "points more, all places",
    ]
    rows = dict(table.groups[0].rows)
    assert list(rows) == ["middle", "bisector"]
    assert [v.estimate for v in rows["bisector"]] == ["4.0", "4.0", "+5.2", "+5.2"]
    assert rows["bisector"][2].verdict == "wins"
    assert rows["middle"][2].estimate == "\N{EN DASH}"


@pytest.mark.parametrize(
    ("value", "signed", "text"),
    [
        (-0.04, True, "0.0"),
        (1.25, True, "+1.2"),
        (-3.0, False, "\N{MINUS SIGN}3.0"),
        (0, False, "0.0"),
    ],
)
def test_numbers_have_one_decimal_and_no_signed_zero(value: float, signed: bool, text: str) -> None:
    assert number(value, signed) == text


def test_a_parameter_of_several_owners_is_one_line() -> None:
    def row(owner: str, value: float, status: str) -> ParameterRow:
        return ParameterRow(owner, "speed", value, "m/s", 1.0, value + 1, status, "", "how fast")

    line = merged([row("a", 2.0, "assumed"), row("b", 3.0, "published")])
    assert (line.values, line.bounds) == ("a 2; b 3", "1 to 4")
    assert line.status == "assumed (a); published (b)" and line.is_assumed
    assert merged([row("a", 2.0, "published")] * 2).values == "2"


def test_parameters_of_a_users_own_policy_are_not_loaded(tmp_path: Path) -> None:
    folder = write_folder(tmp_path / "a", levels=["club-adult"], policies=["middle", "bisector"])
    study = folder / "study.toml"
    study.write_text(study.read_text("utf-8").replace('"bisector"', '"own/gone.py:Mine"'), "utf-8")
    results = ResultFolder.read(folder)
    assert [name for name, rows in parameter_table(results) if rows]
    assert "its source is kept in this folder" in write_report(folder).read_text("utf-8")


def test_a_long_list_in_a_finding_is_shown_on_demand() -> None:
    assert in_two("Short: and sweet.") == ("Short: and sweet.", "")
    assert in_two("In 9 cells: " + "x; " * 200) == ("In 9 cells", "x; " * 200)
