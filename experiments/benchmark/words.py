"""The words of the benchmark, and the one way in which its results are put into them."""

from __future__ import annotations

import tomllib
from importlib import resources
from typing import Any

from jinja2 import Environment, StrictUndefined

WORDS = tomllib.loads(
    resources.files("experiments.data").joinpath("benchmark.toml").read_text("utf-8")
)
ROWS: dict[str, str] = WORDS["rates"] | WORDS["limits"]


def text_of(name: str, **found: Any) -> str:
    """A text of the file with the numbers found."""
    template = Environment(undefined=StrictUndefined).from_string(WORDS["texts"][name])
    return template.render(found, words=WORDS, rows=ROWS).strip("\n")
