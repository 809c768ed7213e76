"""One way to ask: options to a scene, run, say, draw, save.

A command's own function takes what was asked and its own options, and returns what it says. Files
that are to be written are tried when the options are read, and written only after the answer was
said, so that what was computed is not lost if a disk fails after all.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from experiments.output.terminal import say
from experiments.scene.told_units import METRIC, told_in

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.figure import Figure

    from experiments.scene.scene import Scene

Option = Callable[[Any], Any]
OF_SCENE = (
    *("opponent", "height", "player", "opponent_player", "hand", "opponent_hand"),
    *("surface", "ball", "depth", "hitter", "balls", "seed", "least_in", "nearest_landing"),
    "without",
)


@dataclass(frozen=True)
class Said:
    """What a command answers: a text, the same as numbers, and what can be drawn or written of it.

    digits: decimals of the numbers, None for all of them. more: other files, by option: what each
    is called, and what writes it to a path.
    """

    text: str | Callable[[], str]
    numbers: Callable[[], Any] | None = None
    figure: Callable[[], Figure] | None = None
    table: Callable[[], pd.DataFrame] | None = None
    digits: int | None = 6
    more: dict[str, tuple[str, Callable[[Path], object]]] = field(default_factory=dict)


@dataclass(frozen=True)
class Asked:
    """The options that commands share, as they were given."""

    values: dict[str, Any]

    def scene(self, **fixed: Any) -> Scene:
        """The scene that the options describe, with what the command itself fixes."""
        from experiments.scene.scene import scene_of

        return scene_of(**{k: v for k, v in self.values.items() if k in OF_SCENE} | fixed)

    @property
    def seed(self) -> int:
        """The seed given, else a fresh one."""
        from sim.chance import fresh_seed

        seed = self.values.get("seed")
        return fresh_seed() if seed is None else int(seed)

    def check_table(self, columns: Sequence[str]) -> None:
        """Refuse a table's place that holds another one, before any work."""
        from experiments.output.tables import require_table

        if (path := self.values.get("csv")) is not None:
            require_table(path, columns)

    @contextmanager
    def progress(self, steps: int, shown: bool | None = None) -> Iterator[Callable[[], object]]:
        """Something to call `steps` times; a bar on the error stream unless --quiet."""
        from experiments.output.progress import progress_of

        shown = not self.values.get("quiet", False) if shown is None else shown
        progress = progress_of(steps, 0, shown)
        try:
            yield progress.update
        finally:
            progress.close()

    def tell(self, said: Said) -> None:
        """Say the answer, then write the files that were asked for and say where they are."""
        as_json = self.values.get("as_json", False)
        if as_json and said.numbers is not None:
            from experiments.output.numbers import json_text

            say(json_text(said.numbers(), said.digits))
        else:
            say(said.text() if callable(said.text) else said.text)
        written = [f"{name}: {path}" for name, path in self._written(said)]
        if written and not as_json:
            say("\n" + "\n".join(written))

    def _written(self, said: Said) -> Iterator[tuple[str, Path]]:
        writers: dict[str, tuple[str, Callable[[Path], object]]] = dict(said.more)
        if said.table is not None:
            writers["csv"] = ("Table", functools.partial(_write_table, said.table))
        if said.figure is not None:
            writers["figure"] = ("Picture", functools.partial(_draw, said.figure))
        for option, (name, write) in writers.items():
            if (path := self.values.get(option)) is not None:
                write(path)
                yield name, path


def _write_table(table: Callable[[], pd.DataFrame], path: Path) -> None:
    from experiments.output.tables import write_table

    write_table(table(), path)


def _draw(figure: Callable[[], Figure], path: Path) -> None:
    from experiments.drawing.style import save

    save(figure(), path)


def asks(
    *shared: Option, saves: Sequence[Option] = (), name: str | None = None
) -> Callable[[Callable[..., Said]], click.Command]:
    """Make a command of a function that takes what was asked and its own options.

    `shared` are options of `experiments.command.options`: the function finds them in what was
    asked. `saves` are those of files and of how the answer is shown; they stand last in the help.
    """

    def command(function: Callable[..., Said]) -> click.Command:
        own = getattr(function, "__click_params__", [])
        names = _names(shared) | _names(saves)

        def run(**values: Any) -> None:
            asked = Asked({key: value for key, value in values.items() if key in names})
            rest = {key: value for key, value in values.items() if key not in names}
            with told_in(asked.values.get("units", METRIC)):
                asked.tell(function(asked, **rest))

        run.__doc__ = function.__doc__
        params = [*reversed(_params(saves)), *own, *reversed(_params(shared))]
        run.__click_params__ = params  # type: ignore[attr-defined]
        return click.command(name or function.__name__)(run)

    return command


def _params(options: Sequence[Option]) -> list[click.Parameter]:
    """The parameters that some options add to a command, in their order."""

    def nothing() -> None:
        pass

    for option in reversed(options):
        option(nothing)
    return list(reversed(getattr(nothing, "__click_params__", [])))


def _names(options: Sequence[Option]) -> set[str]:
    return {str(param.name) for param in _params(options)}
