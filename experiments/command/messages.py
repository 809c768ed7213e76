"""One place that turns errors into messages on the error stream and exit codes."""

from __future__ import annotations

import difflib
import errno
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import click

from sim.errors import InputError
from sim.plain_text import cited

OUT_OF_MEMORY = "out of memory. Close other programs, ask for fewer balls or rallies"
LITTLE_MEMORY = ("map segment", "allocate memory", "start new thread", "load shared object")
BAD_INPUT, FAILED, INTERRUPTED = 2, 1, 130


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
        vars(error)["message"] = cited(error.message) + parted(error)
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


def parted(error: click.ClickException) -> str:
    """What to do where one value came as several words: PowerShell takes a comma for a list."""
    if not isinstance(error, click.UsageError) or "unexpected extra argument" not in error.message:
        return ""
    return ' A value that holds a comma or a space belongs in quotes: "3.1,11.9".'


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
