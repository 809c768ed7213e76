"""This package: its version, and whether `sim` and `strategies` are those that belong to it."""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import Path


def own_version() -> str:
    """The version of this package, or that it runs from a checkout without being installed."""
    from importlib import metadata  # slow to import

    try:
        return metadata.version("rally-recovery")
    except metadata.PackageNotFoundError:
        return "not installed"


def require_own_packages() -> None:
    """Check that `sim` and `strategies` are the ones that came with this package.

    Both are common names: a file or folder in the working folder, or another installed package,
    may come first on Python's path. They are looked up without being imported.

    Raises:
        ImportError: another package, or none, would be imported; says which and what to do.
    """
    home = Path(__file__).resolve().parent.parent
    for name in ("sim", "strategies"):
        spec = find_spec(name)
        found = Path(spec.origin).resolve() if spec is not None and spec.origin else None
        if found != home / name / "__init__.py":
            raise ImportError(
                f"rally-recovery needs its own package '{name}' from {home / name}, but Python "
                f"finds {found or 'none'}. Rename or uninstall the other '{name}', start from "
                "another folder, or install rally-recovery into a virtual environment of its own."
            )
