"""Printing for modules that are run by `python -m`."""

from __future__ import annotations

import os
import sys


def show(text: str) -> None:
    """Print a text; quietly where its reader has gone, as with `| head`."""
    try:
        print(text, flush=True)
    except BrokenPipeError:
        # What is left in the buffer would be tried again at the end, and fail again.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
