"""Pages from templates: one engine for all, in which a misspelt name is an error."""

from __future__ import annotations

from jinja2 import Environment, PackageLoader, StrictUndefined


def engine_of(package: str, folder: str, escaped: bool = True) -> Environment:
    """The engine for the templates in a folder of a package; values are `escaped` for HTML.

    Lines that hold a block alone leave nothing behind.
    """
    return Environment(
        loader=PackageLoader(package, folder),
        autoescape=escaped,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=not escaped,
    )
