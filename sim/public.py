"""The public names of a package, each fetched from its home when it is first asked for."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from importlib import import_module


def fetcher(package: str, homes: Mapping[str, str]) -> Callable[[str], object]:
    """The `__getattr__` of a package whose names live in the modules that `homes` gives.

    So that importing the package costs nothing, and compiles nothing, before a name is used.
    """

    def fetch(name: str) -> object:
        if name not in homes:
            raise AttributeError(f"module {package!r} has no attribute {name!r}")
        return getattr(import_module(f"{package}.{homes[name]}"), name)

    return fetch
