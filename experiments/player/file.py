"""Player files: written whole or not at all, and read wherever a level's name is."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

from experiments.plain_words import all_plain
from sim.errors import InputError
from sim.people_files import read_bytes, toml_table
from sim.players import PLAYERS, Player, player

if TYPE_CHECKING:
    from experiments.player.schema import PlayerFile

SUFFIX = ".toml"
MOST_BYTES = 100_000
HEAD = """\
# A player file of rally-recovery: model estimates from what was measured, each value with its
# 90 % range. All that does not stand here is the level's. You may change values, or add others that
# `rally-recovery list players --parameters` names.

"""


def is_player_file(text: str) -> bool:
    """Whether a text that stands for a player names a player file rather than a level."""
    return text.endswith(SUFFIX)


def player_of(text: str, hand: str | None = None) -> Player:
    """The player of a level's name, or of the player file that `text` names.

    A file says the hand itself; a level is right-handed where no hand is given.

    Raises:
        InputError: no such level or file, a file that cannot be used, or a hand other than its own.
    """
    if not is_player_file(text):
        try:
            return player(text, "right" if hand is None else hand)
        except InputError as error:
            raise InputError(f"{error} Or a player file, which ends in {SUFFIX}.") from None
    from experiments.player.schema import made

    file = read_player_file(Path(text))
    if hand is not None and hand != file.hand:
        raise InputError(
            f"player file {text!r} says {file.hand}-handed and {hand!r} was asked for; leave the"
            " hand out, or change the file"
        )
    try:
        return made(file, PLAYERS[file.level])
    except InputError as error:
        raise InputError(f"player file {text!r}: {error}") from None


def opponent_of(text: str, hand: str | None = None) -> Player:
    """Who plays against that player where nothing else is said: the level, or the file's level."""
    level = read_player_file(Path(text)).level if is_player_file(text) else text
    return player_of(level, hand)


def name_of(text: str) -> str:
    """The name that results show: a level's, or the one in the player file."""
    return read_player_file(Path(text)).name if is_player_file(text) else text


def read_player_file(path: Path) -> PlayerFile:
    """Read and check a player file.

    Raises:
        InputError: it cannot be read, is not TOML, or a key is wrong (each is named).
    """
    where = f"player file {str(path)!r}"
    try:
        text = read_bytes(path, where, MOST_BYTES).decode("utf-8")
    except FileNotFoundError:
        raise InputError(
            f"{where} does not exist; check the path, or make it with `rally-recovery player`"
        ) from None
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(f"{where} cannot be read: {error}") from None
    return checked(toml_table(text, where), where)


def checked(table: dict[str, Any], where: str) -> PlayerFile:
    """A player file from a table; `where` names it in messages."""
    from pydantic import ValidationError

    from experiments.player.schema import PlayerFile, explain

    try:
        return PlayerFile.model_validate(table)
    except ValidationError as error:
        # A list whose items are all wrong is also called too short.
        wrong = [e for e in error.errors() if not (e["type"] == "too_short" and e["input"])]
        raise InputError(f"{where}: {all_plain(wrong, explain)}") from None


def player_toml(file: PlayerFile) -> str:
    """The text of a player file, which reads back to an equal one."""
    import tomli_w

    head = file.model_dump(mode="json", exclude_none=True, include={"name", "level"})
    head |= {"hand": file.hand, "backhand": file.backhand}
    measured = file.measured.model_dump(mode="json", exclude_none=True, exclude_defaults=True)
    parts = [HEAD + tomli_w.dumps(head)]
    if measured:
        parts.append(tomli_w.dumps({"measured": measured}))
    for group in ("legs", "hitter", "waiting"):
        if ranges := getattr(file, group):
            lines = (
                f"{n} = {{ value = {r.value!r}, low = {r.low!r}, high = {r.high!r} }}\n"
                for n, r in ranges.items()
            )
            parts.append(f"[{group}]\n{''.join(lines)}")
    return "\n".join(parts)


def require_new(path: Path, overwrite: bool) -> None:
    """Refuse a place that a player file cannot be written to, before any work.

    Raises:
        InputError: another suffix, or a file that is there and shall not be replaced.
    """
    if path.suffix != SUFFIX:
        raise InputError(f"{str(path)!r} is no name for a player file; it must end in {SUFFIX}")
    if path.is_dir() or (path.exists() and not overwrite):
        raise InputError(f"{path} is there already; choose another name, or say --overwrite")


def write_player_file(file: PlayerFile, path: Path, overwrite: bool = False) -> None:
    """Write a player file, whole or not at all.

    Raises:
        InputError: there is one already (without `overwrite`), or it cannot be written.
    """
    require_new(path, overwrite)
    try:
        handle, part = tempfile.mkstemp(prefix=".", suffix=".partial", dir=path.parent)
    except OSError as error:
        raise InputError(f"cannot write {path}: {error.strerror}; choose another place") from None
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as stream:
            stream.write(player_toml(file))
        os.chmod(part, 0o644)
        if overwrite:
            os.replace(part, path)
        else:
            os.link(part, path)
    except FileExistsError:
        raise InputError(f"{path} is there already; choose another name, or --overwrite") from None
    except OSError as error:
        raise InputError(f"cannot write {path}: {error.strerror}; choose another place") from None
    finally:
        Path(part).unlink(missing_ok=True)
