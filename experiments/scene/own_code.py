"""A user's own policies, shot models, charts and players: the files that names lead to."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

from experiments.scene.player_file import is_player_file
from strategies.catalogue import make_policy as policy_of
from strategies.catalogue import make_shot_model as shot_model_of
from strategies.charts.reading import DEMO
from strategies.learned.reading import SHIPPED

__all__ = ["DATA", "code_files", "located", "map_file", "policy_of", "shot_model_of", "split_own"]

CODE = re.compile(r"((?:^|,\s*\w+\s*=)\s*)([^,]*\.py)(:\w+)")  # what before, the file, the name
DATA = re.compile(r"(,\s*(?:chart|weights)\s*=)([^,]+)")  # a chart, or learned weights


def split_own(text: str) -> tuple[Path | None, str]:
    """The file and what follows it in `path/to/file.py:Name,...`; (None, text) for others."""
    words, comma, parameters = text.partition(",")
    file, colon, name = words.rpartition(":")
    if colon and file.endswith(".py"):
        return Path(file), name + comma + parameters
    return None, text


def located(text: str, folder: Path) -> str:
    """The same name, with a relative own file, chart or weights looked for in `folder`."""
    return map_file(text, lambda file: str(folder / file))


def map_file(text: str, change: Callable[[Path], str]) -> str:
    """The same name, with `change` applied to the file of the user's that it names, if any.

    That is the code in `path/to/file.py:Name,...`, also where that is the value of a parameter, the
    chart in `name,chart=path/to/file.csv`, the weights in `name,weights=path/to/file.toml`, or a
    player file.
    """
    if is_player_file(text) and not DATA.search(text):
        return change(Path(text))
    text = CODE.sub(lambda found: f"{found[1]}{change(Path(found[2]))}{found[3]}", text)

    def changed(found: re.Match[str]) -> str:
        file = found[2].strip()
        ours = file in (DEMO, *SHIPPED)
        return found[0] if ours else f"{found[1]}{change(Path(file))}"

    return DATA.sub(changed, text)


def code_files(text: str) -> list[Path]:
    """The files of code that a name makes run."""
    return [Path(found[2]) for found in CODE.finditer(text)]
