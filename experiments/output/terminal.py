"""What is said on a terminal: the one way there, so that nobody's text can do anything to it."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable

import click

from sim.errors import InputError
from sim.plain_text import visible


def say(text: str, error: bool = False, end: str = "\n") -> None:
    """Print a text; characters that are not seen, or that the terminal lacks, as their escapes."""
    encoding = (sys.stderr if error else sys.stdout).encoding or "utf-8"
    shown = visible(text).encode(encoding, "backslashreplace").decode(encoding)
    click.echo(f"{shown}{end}", err=error, nl=False)


def show(text: str, error: bool = False) -> None:
    """`say` for modules run by `python -m`: quiet where the reader has gone, as with `| head`."""
    try:
        say(text, error)
    except BrokenPipeError:
        # What is left in the buffer would be tried again at the end, and fail again.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def told(work: Callable[[], str], interrupted: str = "nothing is half-written") -> int:
    """Do the work of a module run by `python -m`, say what it returns or what is wrong; returns
    the exit code."""
    try:
        show(work())
    except InputError as error:
        show(f"Error: {error}", error=True)
        return 2
    except KeyboardInterrupt:
        show(f"Error: interrupted; {interrupted}", error=True)
        return 130
    return 0
