"""Bundled studies: each a study file that `rally-recovery study NAME` runs."""

from __future__ import annotations

import tomllib
from importlib import resources


def bundled() -> list[str]:
    """Names of the bundled studies."""
    files = resources.files(__name__).iterdir()
    return sorted(f.name.removesuffix(".toml") for f in files if f.name.endswith(".toml"))


def bundled_text(name: str) -> str:
    """The study file of that name."""
    return resources.files(__name__).joinpath(f"{name}.toml").read_text("utf-8")


def bundled_questions() -> dict[str, str]:
    """The bundled studies' names with their questions."""
    return {name: tomllib.loads(bundled_text(name))["question"] for name in bundled()}
