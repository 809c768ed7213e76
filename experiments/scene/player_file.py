"""Player files: written whole or not at all, and read wherever a level's name is."""

from __future__ import annotations

import dataclasses
import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

from experiments.output.files import not_written
from experiments.scene.file_errors import all_plain
from sim.errors import InputError
from sim.people_files import read_text, toml_table
from sim.players import PLAYERS, Player, checked_hand, player
from sim.whole_file import write_whole

if TYPE_CHECKING:
    from experiments.scene.player_schema import PlayerFile

SUFFIX = ".toml"
MOST_BYTES = 100_000
HEAD = """\
# A player file of rally-recovery: model estimates from what was measured, each value with its
# 90 % range. All that does not stand here is the level's. You may change values, or add others that
# `rally-recovery list players --parameters` names.

"""


def is_player_file(text: str) -> bool:
    """Whether a text that stands for a player names a player file rather than a level."""
    return text.lower().endswith(SUFFIX)


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
    from experiments.scene.player_schema import made

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
    """Who plays against that player where nothing else is said: one like the player.

    For a level that is the level; for a player file one with the same legs and strokes. The hand
    is the right one where none is given.
    """
    if not is_player_file(text):
        return player_of(text, hand)
    me = player_of(text)
    return dataclasses.replace(me.with_hand(checked_hand(hand or "right")), name=f"like {me.name}")


def name_of(text: str) -> str:
    """The name that results show: a level's, or the one in the player file."""
    return read_player_file(Path(text)).name if is_player_file(text) else player(text).name


def read_player_file(path: Path) -> PlayerFile:
    """Read and check a player file.

    Raises:
        InputError: it cannot be read, is not TOML, or a key is wrong (each is named).
    """
    where = f"player file {str(path)!r}"
    try:
        text = read_text(path, where, MOST_BYTES)
    except FileNotFoundError:
        raise InputError(
            f"{where} does not exist; check the path, or make it with `rally-recovery player`"
        ) from None
    except OSError as error:
        raise InputError(f"{where} cannot be read: {error.strerror}") from None
    return checked(toml_table(text, where), where)


def checked(table: dict[str, Any], where: str) -> PlayerFile:
    """A player file from a table; `where` names it in messages."""
    from pydantic import ValidationError

    from experiments.scene.player_schema import PlayerFile, explain

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
    for group in ("legs", "hitter", "repertoire", "waiting"):
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
    if path.suffix.lower() != SUFFIX:
        raise InputError(f"{str(path)!r} is no name for a player file; it must end in {SUFFIX}")
    if not os.path.lexists(path):
        return
    if path.is_dir() or not overwrite:
        raise InputError(f"{path} is there already; choose another name, or say --overwrite")
    try:
        read_player_file(path)
    except InputError as error:
        raise InputError(
            f"{path} is no player file, so it is not replaced; choose another name, or move it"
            f" away ({error})"
        ) from None


def write_player_file(file: PlayerFile, path: Path, overwrite: bool = False) -> None:
    """Write a player file, whole or not at all.

    Raises:
        InputError: there is one already (without `overwrite`), or it cannot be written.
    """
    require_new(path, overwrite)
    try:
        write_whole(path, player_toml(file).encode(), new=not overwrite)
    except FileExistsError:
        raise InputError(f"{path} is there already; choose another name, or --overwrite") from None
    except OSError as error:
        raise not_written(path, "player file", error) from None
