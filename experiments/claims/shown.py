"""A stored study shown by `python -m`: its table printed and, if asked for, its picture drawn."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

import click
from matplotlib.figure import Figure

from experiments.drawing import style
from experiments.output.terminal import told

Read = TypeVar("Read")


def command(
    folder: str,
    about: str,
    read: Callable[[Path], Read],
    table: Callable[[Read], str],
    draw: Callable[[Read], Figure],
) -> click.Command:
    """The command for a kind of study: what it reads of a `folder`, says and draws."""

    @click.command(help=about)
    @click.argument("folder", type=click.Path(path_type=Path), default=Path(folder))
    @click.option("--figure", type=click.Path(path_type=Path), help="Also draw it.")
    def main(folder: Path, figure: Path | None) -> None:
        def shown() -> str:
            found = read(folder)
            if figure is not None:
                style.save(draw(found), figure)
            return table(found)

        sys.exit(told(shown))

    return main
