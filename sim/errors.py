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


def unknown_name(kind: str, name: str, valid: Iterable[str]) -> InputError:
    """Error for a name that is not in a catalogue, with the nearest match and all valid names."""
    names = sorted(valid)
    near = difflib.get_close_matches(name[:LONGEST_NAME], names, n=1, cutoff=0.4)
    hint = f" Did you mean {near[0]!r}?" if near else ""
    shown = name if len(name) <= LONGEST_NAME else f"{name[:LONGEST_NAME]}..."
    return InputError(f"unknown {kind} {shown!r}.{hint} Valid: {', '.join(names)}.")
