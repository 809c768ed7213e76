"""How far a run is: a bar with the time that remains on a terminal, plain lines in a log."""

from __future__ import annotations

import sys
import time
from typing import Protocol

from tqdm import tqdm

LINE_EVERY_S = 15.0


class Progress(Protocol):
    """Counts the blocks that are done."""

    def update(self) -> object:
        """One more block is done."""

    def close(self) -> object:
        """No more will come."""


def progress_of(total: int, before: int, shown: bool) -> Progress:
    """The progress of a run of `total` blocks, `before` of which an earlier one did."""
    if shown and not sys.stderr.isatty():
        return Lines(total, before)
    return tqdm(total=total, initial=before, unit="block", desc="playing", disable=not shown)


class Lines:
    """A line on the error stream at the start, every LINE_EVERY_S seconds and at the end."""

    def __init__(self, total: int, before: int) -> None:
        self._total, self._before, self._done = total, before, before
        self._start = self._last = time.monotonic()
        self._say()

    def update(self) -> None:
        self._done += 1
        if time.monotonic() - self._last >= LINE_EVERY_S or self._done == self._total:
            self._say()

    def close(self) -> None:
        pass

    def _say(self) -> None:
        self._last = time.monotonic()
        gone, done = self._last - self._start, self._done - self._before
        left = f", about {_clock(gone / done * (self._total - self._done))} left" if done else ""
        share = 100 * self._done // max(self._total, 1)
        text = f"playing: {self._done} of {self._total} blocks ({share} %)"
        print(f"{text}, {_clock(gone)} gone{left}", file=sys.stderr, flush=True)


def _clock(seconds: float) -> str:
    hours, rest = divmod(round(seconds), 3600)
    return f"{hours}:{rest // 60:02d}:{rest % 60:02d}"
