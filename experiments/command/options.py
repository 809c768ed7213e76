"""What the commands share: kinds of options, and one place that turns errors into messages."""

from __future__ import annotations

import difflib
import errno
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import click

from experiments.output.files import require_picture_suffix, require_writable
from experiments.output.terminal import say
from experiments.scene.defaults import (
    BALLS,
    CONTACT_HEIGHT_M,
    CORNER_M,
    HITTER,
    LEVEL,
    SURFACE,
)
from experiments.scene.units import number, point
from sim.errors import InputError
from sim.plain_text import cited

OUT_OF_MEMORY = "out of memory. Close other programs, ask for fewer balls or rallies"
LITTLE_MEMORY = ("map segment", "allocate memory", "start new thread", "load shared object")
BAD_INPUT, FAILED, INTERRUPTED = 2, 1, 130


class Measure(click.ParamType):
    """A number with a unit: plain in `unit`, or with one of its own."""

    name = "number"

    def __init__(
        self, what: str, unit: str, low: float, high: float, plain_most: float | None = None
    ) -> None:
        self.what, self.unit, self.low, self.high = what, unit, low, high
        self.plain_most = plain_most

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        if not isinstance(value, str):
            return value
        return number(self.what, value, self.unit, self.low, self.high, self.plain_most)

    def get_metavar(self, param: click.Parameter, ctx: click.Context | None = None) -> str:
        return self.unit.upper() if self.unit != "1" else "NUMBER"


class Point(click.ParamType):
    """A point in metres, `names` holding one letter a coordinate."""

    name = "point"

    def __init__(self, what: str, names: str, limit_m: float = 40.0) -> None:
        self.what, self.names, self.limit_m = what, names, limit_m

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        if not isinstance(value, str):
            return value
        return point(self.what, value, self.names, -self.limit_m, self.limit_m)

    def get_metavar(self, param: click.Parameter, ctx: click.Context | None = None) -> str:
        return ",".join(self.names.upper())


class Target(click.ParamType):
    """A file to write, which is tried when the command begins; `check` looks at its suffix."""

    name = "path"

    def __init__(self, check: Callable[[Path], object] | None = None) -> None:
        self.check = check

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        path = Path(value)
        if self.check is not None:
            self.check(path)
        require_writable(path)
        return path


HEIGHT = Measure("--height", "m", 0.1, 3.2)
DEPTH = Measure("--depth (metres behind the baseline)", "m", 0, 6.4)

# Options that several commands take, each said once.
opponent_option = click.option(
    "--opponent",
    type=Point("--opponent", "xy"),
    default=",".join(str(v) for v in CORNER_M),
    show_default=True,
    help="The ball when your opponent strikes it.",
)
height_option = click.option(
    "--height",
    type=HEIGHT,
    default=str(CONTACT_HEIGHT_M),
    show_default=True,
    help="Height of that ball.",
)
player_option = click.option(
    "--player",
    default=LEVEL,
    show_default=True,
    help="You: a level, or a player file that `rally-recovery player` wrote.",
)
opponent_player_option = click.option(
    "--opponent-player",
    help="The same of your opponent.  [default: your level; for a player file, one like you]",
)
hand_option = click.option(
    "--hand", help="Yours: right or left.  [default: right, or as your player file says]"
)
opponent_hand_option = click.option("--opponent-hand", help="[default: right]")
hitter_option = click.option(
    "--hitter", default=HITTER, show_default=True, help="What your opponent hits."
)


def _surface(ctx: click.Context, param: click.Parameter, value: str | None) -> str | None:
    """The surface's own name, however it was written."""
    from sim.surface import surface

    return None if value is None else surface(value).name


surface_option = click.option("--surface", default=SURFACE, show_default=True, callback=_surface)
depth_option = click.option(
    "--depth",
    type=DEPTH,
    help="Where you wait, metres behind the baseline.  [default: the level's]",
)
seed_option = click.option(
    "--seed", type=int, help="Repeats a run.  [default: a fresh one, printed]"
)
figure_option = click.option(
    "--figure", type=Target(require_picture_suffix), help="Also draw it: .png, .svg or .pdf."
)
balls_option = click.option("--balls", type=int, default=BALLS, show_default=True)
csv_option = click.option("--csv", type=Target(), help="Also write the numbers: a CSV.")
allow_code_option = click.option(
    "--allow-code", is_flag=True, help="Let a study file run code from outside its own folder."
)
quiet_option = click.option("--quiet", is_flag=True, help="No progress.")
json_option = click.option("--json", "as_json", is_flag=True, help="Numbers instead of text.")


least_in_option = click.option(
    "--least-in",
    type=float,
    help="How often a shot must land in to count for the angle, 0 to 1.  [default: 0.7]",
)
nearest_landing_option = click.option(
    "--nearest-landing",
    type=Measure("--nearest-landing", "m", 0, 11),
    help="Count no error for the angle, but no drive that lands nearer to the net.",
)


def limits_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """The options of `scene.people.limits_of`: which drives count for the angle."""
    return least_in_option(nearest_landing_option(command))


def players_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """The four options that experiments.scene.people.players_of takes."""
    options = (player_option, opponent_player_option, hand_option, opponent_hand_option)
    for option in reversed(options):
        command = option(command)
    return command


def answer(
    text: str,
    path: Path | None = None,
    write: Callable[[Path], object] | None = None,
    named: str | None = "\nPicture",
) -> None:
    """Say what was found, and only then write the file that goes with it, if there is one.

    So what was computed is not lost if the file cannot be written after all. `named` is what the
    file is called; None says nothing of it.
    """
    say(text)
    if write is not None:
        also_write(path, write, named)


def also_write(path: Path | None, write: Callable[[Path], object], named: str | None) -> None:
    """Write a file that was asked for, and say that it is there."""
    if path is not None:
        write(path)
        if named is not None:
            say(f"{named}: {path}")


class Message(click.ClickException):
    """One message on the error stream, and the exit code."""

    def __init__(self, text: str, code: int) -> None:
        super().__init__(cited(text))
        setattr(self, "exit_code", code)  # noqa: B010  click declares it for the class


class Commands(click.Group):
    """The group of commands: the one place where errors become messages and exit codes."""

    def make_context(self, *args: Any, **extra: Any) -> click.Context:
        with plain_messages():
            return super().make_context(*args, **extra)

    def invoke(self, ctx: click.Context) -> Any:
        with plain_messages():
            return super().invoke(ctx)

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        name = args[0]
        if not name.startswith("-") and self.get_command(ctx, name) is None:
            valid = self.list_commands(ctx)
            near = difflib.get_close_matches(name, valid, n=1, cutoff=0.4)
            hint = f" Did you mean {near[0]!r}?" if near else ""
            raise click.UsageError(f"unknown command {name!r}.{hint} Valid: {', '.join(valid)}.")
        return super().resolve_command(ctx, args)


@contextmanager
def plain_messages() -> Iterator[None]:
    """Turn errors into messages of plain text with an exit code."""
    try:
        yield
    except click.ClickException as error:
        vars(error)["message"] = cited(error.message)
        raise
    except InputError as error:
        raise Message(str(error), BAD_INPUT) from None
    except KeyboardInterrupt:
        raise Message("interrupted. Nothing was changed.", INTERRUPTED) from None
    except (MemoryError, ImportError, RuntimeError) as error:
        if not lacks_memory(error):
            raise
        raise Message(f"{OUT_OF_MEMORY}, or use fewer workers.", FAILED) from None
    except OSError as error:
        if error.errno == errno.EPIPE:  # the reader of our output has gone: click ends quietly
            raise
        raise Message(said_of(error), FAILED) from None


def lacks_memory(error: Exception) -> bool:
    """Whether it comes from a want of memory, which libraries say in many ways."""
    return isinstance(error, MemoryError) or any(words in str(error) for words in LITTLE_MEMORY)


def said_of(error: OSError) -> str:
    """What an error of the file system means and what to do about it."""
    where = f" {str(error.filename)!r}" if error.filename else ""
    what = error.strerror or str(error)
    if error.errno in (errno.ENOMEM, errno.EAGAIN) or lacks_memory(error):
        return f"{OUT_OF_MEMORY}, or use fewer workers."
    if error.errno == errno.ENOSPC:
        return f"the disk is full ({what}{where}). Free some space or write elsewhere."
    if error.errno in (errno.EACCES, errno.EPERM, errno.EROFS):
        return f"cannot write{where}: {what}. Choose a place that you may write to."
    return f"cannot use{where}: {what}. Check the path."
