"""The gallery: its pictures are drawn by the commands that it shows, and its page is harmless."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from experiments.gallery.page import PAGE, Entry, entries, write_gallery
from sim.errors import InputError


def test_each_entry_says_what_it_shows_and_how_it_is_drawn() -> None:
    found = entries()
    assert len({e.name for e in found}) == len(found) > 5
    for e in found:
        assert e.question and len(e.alt) > 30 and e.caption
        assert bool(e.command) != bool(e.stored), e.name
        assert e.stored or ("{file}" in e.command and e.command.startswith("rally-recovery "))


def test_stored_pictures_and_the_page_are_in_results() -> None:
    results = Path(__file__).resolve().parent.parent / "results"
    page = (results / "gallery" / PAGE).read_text("utf-8")
    files = re.findall(r'<img src="([^"]+)"', page)
    assert len(files) == len(entries())
    assert all((results / "gallery" / file).exists() for file in files)


def test_the_page_escapes_what_it_shows(tmp_path: Path) -> None:
    (tmp_path / "x.png").write_bytes(b"")
    odd = Entry(
        "odd", "<script>alert(1)</script>", "M\u00fcller & S\u00f6hne", 'a "b" c', stored="x.png"
    )
    text = write_gallery(tmp_path / "gallery", [odd]).read_text("utf-8")
    assert "<script>" not in text and "M\u00fcller &amp; S" in text and "&#34;b&#34;" in text
    assert "http" not in re.sub(r'http-equiv="[^"]*"', "", text)


def test_a_missing_stored_picture_is_named(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"absent\.png"):
        write_gallery(tmp_path / "gallery", [Entry("a", "q", "c", "alt", stored="absent.png")])


def test_a_picture_is_drawn_by_its_command(tmp_path: Path) -> None:
    drawn = Entry(
        "fan",
        "What can he hit?",
        "The fan.",
        "A fan of shots.",
        "rally-recovery angle --player club-adult --figure {file}",
    )
    page = write_gallery(tmp_path / "gal lery", [drawn])
    assert (page.parent / "fan.png").stat().st_size > 10_000
    assert "angle --player club-adult --figure fan.png" in page.read_text("utf-8")


def test_only_the_named_pictures_are_drawn_again(tmp_path: Path) -> None:
    fan = "rally-recovery angle --player club-adult --figure {file}"
    both = [Entry(name, "q", "c", "alt", fan) for name in ("one", "two")]
    with pytest.raises(InputError, match=r"two\.png.*draw it, too"):
        write_gallery(tmp_path, both, ["one"])
    (tmp_path / "two.png").write_bytes(b"kept")
    page = write_gallery(tmp_path, both, ["one"]).read_text("utf-8")
    assert (tmp_path / "two.png").read_bytes() == b"kept" and "two.png" in page
    assert (tmp_path / "one.png").stat().st_size > 10_000
    with pytest.raises(InputError, match="unknown picture 'tow'"):
        write_gallery(tmp_path, both, ["tow"])
