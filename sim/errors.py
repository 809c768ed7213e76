"""Errors that a user can mend."""

from __future__ import annotations

import difflib
from collections.abc import Iterable


class InputError(ValueError):
    """Input from outside that cannot be used.

    The message says what was wrong, the value, what is allowed and what to do; the command line
    prints it alone and exits with a code that is not 0.
    """


def unknown_name(kind: str, name: str, valid: Iterable[str]) -> InputError:
    """Error for a name that is not in a catalogue, with the nearest match and all valid names."""
    names = sorted(valid)
    near = difflib.get_close_matches(name, names, n=1, cutoff=0.4)
    hint = f" Did you mean {near[0]!r}?" if near else ""
    return InputError(f"unknown {kind} {name!r}.{hint} Valid: {', '.join(names)}.")
