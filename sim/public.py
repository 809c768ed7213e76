"""Public names of a module that live elsewhere, each fetched when it is first asked for."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from importlib import import_module


def fetcher(
    module: str, homes: Mapping[str, str], within: str | None = None
) -> Callable[[str], object]:
    """The `__getattr__` of a module (PEP 562) for names that live where `homes` says.

    Homes are modules within the package `within`, or else within `module` itself. So importing it
    costs nothing, and compiles nothing, before a name is used.
    """
    package = within or module

    def fetch(name: str) -> object:
        if name not in homes:
            raise AttributeError(f"module {module!r} has no attribute {name!r}")
        return getattr(import_module(f"{package}.{homes[name]}"), name)

    return fetch
