"""Errors that a user can mend."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

LONGEST_NAME = 80


class InputError(ValueError):
    """Input from outside that cannot be used.

    The message says what was wrong, the value, what is allowed and what to do; the command line
    prints it alone and exits with a code that is not 0.
    """


def named(kind: str, name: str, valid: Iterable[str]) -> str:
    """The valid name that is meant: capital letters, spaces and underscores do not matter.

    Raises:
        InputError: none of the valid ones, or more than one.
    """
    names = list(valid)
    if name in names:
        return name
    meant = [v for v in names if _plain(v) == _plain(name)]
    if len(meant) != 1:
        raise unknown_name(kind, name, names)
    return meant[0]


def _plain(name: str) -> str:
    return name.strip().casefold().replace("_", "-").replace(" ", "-")


def unknown_name(kind: str, name: str, valid: Iterable[str]) -> InputError:
    """Error for a name that is not in a catalogue, with the nearest match and all valid names."""
    names = sorted(valid)
    near = difflib.get_close_matches(name[:LONGEST_NAME], names, n=1, cutoff=0.4)
    hint = f" Did you mean {near[0]!r}?" if near else ""
    shown = name if len(name) <= LONGEST_NAME else f"{name[:LONGEST_NAME]}..."
    return InputError(f"unknown {kind} {shown!r}.{hint} Valid: {', '.join(names)}.")
