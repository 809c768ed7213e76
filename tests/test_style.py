"""Saved pictures: the same bytes whatever Matplotlib's digests."""

from __future__ import annotations

import re

from experiments.drawing.style import with_plain_names

SVG = b"""<clipPath id="p%s"><rect/></clipPath><path id="m0123456789"/>
<use xlink:href="#m0123456789" clip-path="url(#p%s)"/><path style="fill: #d5d9dc"/>"""


def test_digests_of_parts_are_replaced_by_numbers() -> None:
    one, other = (with_plain_names(SVG % (d, d)) for d in (b"79c6349bf6", b"faaf3e2eb5"))
    assert one == other and b"#d5d9dc" in one
    names = re.findall(rb'id="([^"]*)"', one)
    used = re.findall(rb'#([^")]*)["\)]', one)
    assert len(set(names)) == 2 and set(used) == {*names, b"d5d9dc"}


def test_parts_that_differ_keep_names_that_differ() -> None:
    found = with_plain_names(SVG % (b"79c6349bf6", b"faaf3e2eb5"))
    assert len(set(re.findall(rb"[(\"#](p\d+-part)", found))) == 2
