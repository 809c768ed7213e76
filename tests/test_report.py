"""The report: it opens offline, escapes what people typed, and says what it must."""

from __future__ import annotations

import json
import re
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from fixture_folder import pages_of, rows_of, write_folder, write_rows

from experiments.report.method import checklist
from experiments.report.page import in_two, write_report
from experiments.report.parameters import MIXED, merged, parameter_table, status_counts, statuses_of
from experiments.report.pictures import pictures
from experiments.report.run import show_again
from experiments.report.summary import answer
from experiments.report.tables import (
    number,
    outcome_tables,
    pairing,
    short_table,
    turned,
    verdict_counts,
)
from experiments.study.folder_files import file_hashes, listed
from experiments.study.result_folder import ResultFolder
from sim.errors import InputError
from sim.parameter import STATUSES, ParameterRow

VOID = {"meta", "img", "link", "br", "hr"}
SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9"></svg>'
NASTY = "<script>alert('Müller & Söhne')</script>"


class Page(HTMLParser):
    """What a page holds: images, links, ids and text; fails on tags that do not pair up."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.images: list[dict[str, str]] = []
        self.links: list[str] = []
        self.sections: list[str] = []
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
            if tag == "section":
                self.sections.append(found["id"])

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


def details_of(folder: Path) -> str:
    """The page of details beside the report."""
    return (folder / "details.html").read_text("utf-8")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("report") / "study"
    page_of(path)
    return path


@pytest.fixture(scope="module")
def whole(folder: Path) -> tuple[str, Page]:
    text = (folder / "report.html").read_text("utf-8")
    return text, Page(text)


@pytest.fixture(scope="module")
def details(folder: Path) -> tuple[str, Page]:
    text = details_of(folder)
    return text, Page(text)


def test_the_pages_need_nothing_from_outside(
    whole: tuple[str, Page], details: tuple[str, Page]
) -> None:
    for text, page in (whole, details):
        assert not {"script", "link", "iframe", "object", "base"} & set(page.tags)
        assert "http:" not in text and "https:" not in text and "@import" not in text
        assert "url(" not in text
        assert all(image["src"].startswith("data:image/svg+xml;base64,") for image in page.images)


def test_every_link_leads_to_a_section_of_one_of_the_two_pages(
    whole: tuple[str, Page], details: tuple[str, Page]
) -> None:
    pages = {"report.html": whole[1], "details.html": details[1]}
    for name, page in pages.items():
        assert len(page.ids) == len(set(page.ids))
        for link in page.links:
            file, _, place = link.partition("#")
            assert not place or place in pages[file or name].ids, link
    heads = {"details.html", *(f"#{i}" for i in ("words", "found", "pictures", "trust"))}
    assert heads <= set(whole[1].links)
    deep = [i for i in details[1].sections if not i.startswith("stress-")]
    assert {f"#{i}" for i in deep} <= set(details[1].links)


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
    names = {"habit": '<b>" onload=x'}
    rows = [r | {"opponent": names.get(r["opponent"], r["opponent"])} for r in rows_of(folder)]
    write_rows(folder, rows)
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
        "in brackets hold what chance leaves open, not what the assumptions may have wrong",
    ):
        assert phrase in words


def test_assumed_parameters_and_limits_are_listed(details: tuple[str, Page]) -> None:
    text, _ = details
    limits = text[text.index('<section id="angle">') : text.index('<section id="parameters">')]
    assert "chance to land in that a drive must have" in limits and "0.7" in limits
    listed = text[text.index('<section id="parameters">') : text.index('<section id="validation">')]
    assert listed.count('<td data-label="status">assumed</td>') > 30
    assert "club-adult 0.26; college-man 0.2; professional-man 0.18 s" in listed
    assert "drag coefficient of the ball" in listed


def test_where_it_comes_from_is_named(details: tuple[str, Page]) -> None:
    text, _ = details
    origin = text[text.index('<section id="origin">') :]
    assert "numpy" in origin and "own/mine.py" in origin and "ab" * 32 in origin
    assert "commit" not in origin  # null in the fixture's manifest


def test_subsets_leave_out_what_they_do_not_hold(tmp_path: Path) -> None:
    few = {"levels": ["club-adult"], "opponents": ["habit"], "settings": ["placed"]}
    page_of(tmp_path / "a", places=["middle"], policies=["middle"], **few)
    page = Page(text := details_of(tmp_path / "a"))
    assert "points" not in page.ids and "against" not in page.ids
    assert "yardstick is the family" not in text
    page_of(tmp_path / "b", places=["corner"], policies=["middle", "bisector"], **few)
    assert "against" in Page(details_of(tmp_path / "b")).ids
    folder = write_folder(tmp_path / "c", **few)
    (folder / "manifest.json").unlink()
    write_report(folder)
    assert "This folder has no manifest." in details_of(folder)


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


def with_verdicts(folder: Path, verdict: str, gains: tuple[float, ...]) -> Path:
    """The fixture's cells with stored verdicts and gains, as a study writes them."""
    rows = rows_of(folder)
    for k, row in enumerate(rows):
        is_difference = "_than_" in row["outcome"]
        row["verdict"] = verdict if is_difference else None
        row["pairing_gain"] = gains[k % len(gains)] if is_difference else None
        row["low_together"], row["high_together"] = row["low"] - 9, row["high"] + 9
    write_rows(folder, rows)
    return folder


def test_stored_verdicts_count_and_not_the_shown_interval(tmp_path: Path) -> None:
    plain = write_folder(tmp_path / "a", settings=["placed"], levels=["club-adult"])
    results = ResultFolder.read(with_verdicts(plain, "not decided", (2.0, 3.0, 9.0)))
    counts = verdict_counts(outcome_tables(results, "missed_fewer_than_middle_per_100", True))
    assert all(set(count) == {"not decided"} for _, _, count in counts)
    assert "and in 6 the study cannot tell" in answer(results)[0]
    write_report(plain)
    text = words_of(details_of(plain))
    assert "hold together, with 95 %, for all policies compared" in text
    assert "would still look decided" not in text


def test_the_gain_from_pairing_is_shown(tmp_path: Path) -> None:
    folder = write_folder(tmp_path / "a", settings=["placed"], levels=["club-adult"])
    assert pairing(ResultFolder.read(folder), "missed_fewer_than_middle_per_100") is None
    with_verdicts(folder, "wins", (2.5,))
    results = ResultFolder.read(folder)
    found = pairing(results, "missed_fewer_than_middle_per_100")
    assert found is not None and (found.median, found.least, found.greatest) == ("2.5",) * 3
    write_report(folder)
    text = words_of(details_of(folder))
    assert "the middle cell would need 2.5 times the replicates" in text


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
    write_report(folder)
    assert "its source is kept in this folder" in details_of(folder)


def test_statuses_are_counted_and_add_up(tmp_path: Path) -> None:
    groups = parameter_table(ResultFolder.read(write_folder(tmp_path / "a")))
    counts = status_counts(groups)
    assert all(sum(found.values()) == total for _, total, found in counts)
    name, total, found = counts[-1]
    assert name == "All" and total == sum(len(rows) for _, rows in groups)
    assert found["assumed"] > found["published"] > 0 and found[MIXED] > 0
    assert statuses_of(counts) == [*STATUSES, MIXED]
    assert statuses_of([("Players", 3, {"measured": 1, MIXED: 2})])[4:] == ["measured", MIXED]


def test_a_long_list_in_a_finding_is_shown_on_demand() -> None:
    assert in_two("Short: and sweet.") == ("Short: and sweet.", "")
    assert in_two("In 9 cells: " + "x; " * 200) == ("In 9 cells", "x; " * 200)


# --- methods ----------------------------------------------------------------------------------


def item_texts(text: str) -> dict[str, str]:
    """What each item of the methods text says, without its heading."""
    found = re.findall(
        r'<section class="item" id="stress-([\d.]+)">\s*<h4>(.*?)</h4>(.*?)</section>', text, re.S
    )
    return {n: words_of(body) for n, _, body in found}


def words_of(text: str) -> str:
    """The words of a piece of the page, tags taken for spaces."""
    return re.sub(r"(<[^>]*>|\s)+", " ", text).strip()


def test_every_item_of_the_checklist_is_answered_in_order(details: tuple[str, Page]) -> None:
    said = item_texts(details[0])
    assert list(said) == list(checklist())
    short = {number for number, text in said.items() if len(text.split()) < 10}
    assert not short


def test_the_checklist_is_the_published_one() -> None:
    """Numbers of the items as published (Monks et al. 2019, Journal of Simulation 13(1), 55-67)."""
    sizes = {"1": 3, "2": 9, "3": 4, "4": 3, "5": 4, "6": 1}
    numbers = list(checklist())
    assert {k: sum(n.startswith(f"{k}.") for n in numbers) for k in sizes} == sizes
    assert len(numbers) == sum(sizes.values()) == 24
    assert numbers == sorted(numbers, key=lambda n: [int(part) for part in n.split(".")])


def test_an_item_that_is_left_out_is_noticed(details: tuple[str, Page]) -> None:
    start = details[0].index('<section class="item" id="stress-4.1">')
    end = details[0].index('<section class="item" id="stress-4.2">')
    assert list(item_texts(details[0][:start] + details[0][end:])) != list(checklist())


def test_the_methods_text_holds_the_numbers_of_the_study(tmp_path: Path) -> None:
    folder = write_folder(tmp_path / "a", levels=["club-adult"], settings=["rally", "placed"])
    study = folder / "study.toml"
    sizes = "placed_balls = 1234\nrallies = 567\nstroke_limit = 44\n"
    study.write_text(sizes + study.read_text("utf-8").replace("seed = 1", "seed = 987"), "utf-8")
    manifest = {"python": "3.99", "packages": {"numpy": "2.0"}, "wall_s": 12.5, "workers": 7}
    manifest["system"] = {"operating system": "Some-OS-1", "processor": "a-chip", "processors": "2"}
    (folder / "manifest.json").write_text(json.dumps(manifest), "utf-8")
    write_report(folder)
    said = item_texts(details_of(folder))
    # 2 opponents x 3 places, 6 policies
    assert "rally 6 6 567 20,412" in said["4.3"] and "placed 6 6 1,234 44,424" in said["4.3"]
    assert "at most 44 strokes" in said["4.2"] and "44 strokes" in said["2.5.5"]
    assert "987" in said["5.2"]
    assert "Some-OS-1" in said["5.1"] and "3.99" in said["5.1"] and "numpy 2.0" in said["5.1"]
    assert "12.5 s on 7 processes" in said["5.4"] and "a-chip" in said["5.4"]
    assert "short wide 4.8 6.9 1" in said["1.3"]


def test_a_wished_precision_is_told_with_what_it_reached(tmp_path: Path) -> None:
    folder = write_folder(tmp_path / "a", levels=["club-adult"], settings=["rally"])
    with (folder / "study.toml").open("a", encoding="utf-8") as file:
        file.write("[reached.rally]\nreplicates = 4321\nlooks = 3\nmost_replicates = 9999\n")
    study = (folder / "study.toml").read_text("utf-8")
    (folder / "study.toml").write_text(f"precision = 0.25\nrallies = 7\n{study}", "utf-8")
    write_report(folder)
    said = item_texts(details_of(folder))["4.3"]
    assert "A precision of 0.25 in 100 was wished" in said and "4,321" in said


# --- summary and pictures ---------------------------------------------------------------------


def test_the_answer_gives_the_difference_and_what_speaks_against_it(tmp_path: Path) -> None:
    said = answer(ResultFolder.read(write_folder(tmp_path / "a", settings=["rally"])))
    # Made-up numbers: missed 9.25 from the middle and 4.0 from the bisector, in every cell.
    assert "won more points than recovering to the middle in 18 of 18 cells" in said[0]
    assert "fewer in none" in said[0]
    assert "against any-allowed the bisector wins 5.2 (" in said[1]
    assert "more points in 100" in said[1]
    assert "misses 9.2 (" in said[2] and "to the middle and 4.0 (3.6 to 4.4) when" in said[2]
    assert "0.2 to 0.3 against habit" in said[3] and "The bisector comes to 0.35" in said[3]
    assert said[-1] == "The middle beats none of the policies tried in any cell, by points."


def test_a_loss_to_the_reference_is_told(tmp_path: Path) -> None:
    folder = write_folder(tmp_path / "a", settings=["placed"], levels=["club-adult"])
    rows = rows_of(folder)
    for row in rows:
        if row["outcome"].startswith("missed_fewer") and row["policy"] == "bisector":
            row |= {"estimate": -2.0, "low": -2.5, "high": -1.5}
    write_rows(folder, rows)
    said = answer(ResultFolder.read(folder))
    assert "missed fewer balls than recovering to the middle in 0 of 6" in said[0]
    assert "and more in 6" in said[0]
    assert "The middle beats, by balls missed: bisector in 6 of 6 cells." in said


def test_any_reference_is_compared_with(tmp_path: Path) -> None:
    folder = write_folder(tmp_path / "a", settings=["placed"], levels=["club-adult"])
    text = (folder / "cells.csv").read_text("utf-8")
    text = text.replace("than_middle", "than_lazy").replace("\nmiddle,", "\nlazy,")
    (folder / "cells.csv").write_text(text, "utf-8")
    results = ResultFolder.read(folder)
    assert results.reference == "lazy"
    assert "than recovering to the lazy in 6 of 6" in answer(results)[0]


def test_a_study_of_one_policy_compares_nothing(tmp_path: Path) -> None:
    folder = write_folder(tmp_path / "a", policies=["middle"], levels=["club-adult"])
    assert answer(ResultFolder.read(folder)) == [
        "This study compares nothing: it holds one policy, or no differences."
    ]
    assert "compares nothing" in write_report(folder).read_text("utf-8")


def test_other_pictures_bring_their_captions(tmp_path: Path) -> None:
    folder = write_folder(tmp_path / "a", levels=["club-adult"], settings=["placed"])
    (folder / "figures").mkdir()
    (folder / "figures" / "tornado.svg").write_text(SVG, "utf-8")
    (folder / "figures" / "map.png").write_bytes(b"not read")
    captions = {"tornado": {"caption": NASTY, "alt": 'What "matters"'}}
    (folder / "figures" / "captions.json").write_text(json.dumps(captions), "utf-8")
    shown = {p.name: p for p in pictures(ResultFolder.read(folder))}
    assert list(shown) == ["map", "tornado"]
    assert shown["map"].uri.startswith("data:image/png;base64,")
    page = Page(write_report(folder).read_text("utf-8"))
    assert NASTY in page.text and "script" not in page.tags
    assert {i["alt"] for i in page.images} == {shown["map"].alt, 'What "matters"'}
    (folder / "figures" / "captions.json").write_text('{"tornado": "no"}', "utf-8")
    with pytest.raises(InputError, match="list of captions"):
        write_report(folder)


def test_a_large_vector_picture_gives_way_to_pixels(tmp_path: Path) -> None:
    folder = write_folder(tmp_path / "a", levels=["club-adult"], settings=["placed"])
    (folder / "figures").mkdir()
    (folder / "figures" / "map.svg").write_text(SVG + " " * 700, "utf-8")
    (folder / "figures" / "map.png").write_bytes(b"small")
    (one,) = pictures(ResultFolder.read(folder))
    assert one.uri.startswith("data:image/png")


def test_modelling_choices_that_turn_the_finding_are_named(tmp_path: Path) -> None:
    folder = write_folder(tmp_path / "a", levels=["club-adult"], settings=["rally"])
    name = "bisector_points_more_per_100"
    rows = [("as it is", 3, 2, 4), ("slow", -2, -3, -1), ("fast", 9, 8, 10)]
    head = f"choice,reference,{name},{name}_low,{name}_high\n"
    lines = "".join(f"{c},middle,{v},{low},{high}\n" for c, v, low, high in rows)
    (folder / "choices.csv").write_text(head + lines, "utf-8")
    found = turned(ResultFolder.read(folder))
    assert found is not None
    assert (found.least[0], found.greatest[0]) == ("slow", "fast")
    assert [choice for choice, _ in found.against] == ["slow"]


# --- designed studies -------------------------------------------------------------------------


def designed(path: Path, points: int) -> Path:
    """A folder with cells of many design points, the lead falling from point to point."""
    folder = write_folder(path, settings=["rally"], levels=["club-adult"], opponents=["habit"])
    rows = rows_of(folder)
    kept = [r for r in rows if "_more_than_" in r["outcome"] and r["place"] != "all places"]
    out = [
        {"point": p, **r, **{key: r[key] - p for key in ("estimate", "low", "high")}}
        for p in range(points)
        for r in kept
    ]
    pd.DataFrame(out).to_csv(folder / "designed.csv", index=False)
    lines = [f"club-adult,{p},,{6 + 0.01 * p},{'clay' if p % 2 else 'hard'}" for p in range(points)]
    head = "level,point,role,studied legs.top_speed_m_s,surface"
    (folder / "points.csv").write_text("\n".join([head, *lines]) + "\n", "utf-8")
    vary = '[[factors.vary]]\nname = "legs.top_speed_m_s"\nof = "studied"\nlevels = [6.0, 7.0]\n'
    study = folder / "study.toml"
    text = f'levels = ["club-adult"]\n{study.read_text("utf-8")}[factors]\ndesign = "grid"\n{vary}'
    study.write_text(text, "utf-8")
    return folder


def test_a_study_of_many_points_is_told_in_short(tmp_path: Path) -> None:
    write_report(few := designed(tmp_path / "few", 12))
    write_report(many := designed(tmp_path / "many", 120))
    text = details_of(many)
    for name in ("report.html", "details.html"):
        assert (many / name).stat().st_size < (few / name).stat().st_size + 2000
    assert "design" in Page(text).ids
    words = words_of(pages_of(many))
    assert "Design: 120 points, every combination" in words
    assert "legs.top_speed_m_s studied player m/s 6 to 7.19 (120 values) top sprint speed" in words
    assert "surface surroundings hard, clay surface of the court" in words
    assert "range from \N{MINUS SIGN}113.8" in words
    assert "(point 119: club-adult, habit, middle) to +5.2" in words
    assert "rally, design points 360 6" in words
    assert list(item_texts(text)) == list(checklist())


def test_a_folder_is_shown_again_from_its_tables(tmp_path: Path) -> None:
    folder = write_folder(tmp_path / "a", settings=["rally"], levels=["club-adult"])
    assert show_again(folder) == folder / "report.html"
    held = listed(folder)
    made = {"summary.json", "figures/court.png", "figures/court.svg"}
    assert made < set(held) and "not-stored.csv" in held
    there = [name for name in held if (folder / name).exists()]
    assert file_hashes(folder, there) == {name: held[name] for name in there}
    before = (folder / "report.html").read_bytes()
    show_again(folder)
    assert (folder / "report.html").read_bytes() == before
    with pytest.raises(InputError, match="not a whole result folder"):
        show_again(tmp_path)
