"""A user's own policies, shot models and players: finding their files, telling their mistakes."""

from __future__ import annotations

import re
import traceback
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from experiments.player.file import is_player_file
from sim.contracts import RecoveryPolicy, ShotModel, ShotSituation, Situation
from sim.errors import InputError
from sim.records import INTENT
from strategies.catalogue import make_policy, make_shot_model
from strategies.charts.reading import DEMO

CODE = re.compile(r"((?:^|,\s*\w+\s*=)\s*)([^,]*\.py)(:\w+)")  # what before, the file, the name
CHART = re.compile(r"(,\s*chart\s*=)([^,]+)")


def split_own(text: str) -> tuple[Path | None, str]:
    """The file and what follows it in `path/to/file.py:Name,...`; (None, text) for others."""
    words, comma, parameters = text.partition(",")
    file, colon, name = words.rpartition(":")
    if colon and file.endswith(".py"):
        return Path(file), name + comma + parameters
    return None, text


def located(text: str, folder: Path) -> str:
    """The same name, with a relative own file or chart looked for in `folder`."""
    return map_file(text, lambda file: str(folder / file))


def map_file(text: str, change: Callable[[Path], str]) -> str:
    """The same name, with `change` applied to the file of the user's that it names, if any.

    That is the code in `path/to/file.py:Name,...`, also where that is the value of a parameter, the
    chart in `name,chart=path/to/file.csv`, or a player file.
    """
    if is_player_file(text) and not CHART.search(text):
        return change(Path(text))
    text = CODE.sub(lambda found: f"{found[1]}{change(Path(found[2]))}{found[3]}", text)

    def changed(found: re.Match[str]) -> str:
        chart = found[2].strip()
        return found[0] if chart == DEMO else f"{found[1]}{change(Path(chart))}"

    return CHART.sub(changed, text)


def code_files(text: str) -> list[Path]:
    """The files of code that a name makes run."""
    return [Path(found[2]) for found in CODE.finditer(text)]


def policy_of(text: str) -> RecoveryPolicy:
    """The recovery policy of that name; a user's own is watched."""
    made = make_policy(text)
    return made if split_own(text)[0] is None else WatchedPolicy(made, text)


def shot_model_of(text: str) -> ShotModel:
    """The shot model of that name; a user's own is watched."""
    made = make_shot_model(text)
    return made if split_own(text)[0] is None else WatchedShots(made, text)


@dataclass(frozen=True)
class WatchedPolicy:
    """A user's own policy whose mistakes end the study with a message instead of a traceback."""

    policy: RecoveryPolicy
    text: str

    @property
    def name(self) -> str:
        return self.policy.name

    @property
    def placeable(self) -> bool:
        return bool(getattr(self.policy, "placeable", True))

    def spots(self, seen: Situation) -> np.ndarray:
        spots = _answer(self.text, lambda: np.asarray(self.policy.spots(seen), float))
        if spots.shape != (len(seen), 2):
            raise InputError(
                f"{self.text}: spots has the shape {spots.shape}; give one row of x and y"
                f" for each of the rallies seen, here {(len(seen), 2)}"
            )
        wrong = ~np.isfinite(spots).all(axis=1) | (spots[:, 1] >= 0)
        if wrong.any():
            x, y = spots[wrong][0]
            raise InputError(
                f"{self.text}: the spot ({x:g}, {y:g}) cannot be stood on; x and y must be finite"
                " and y negative, on the own side of the net"
            )
        return spots


@dataclass(frozen=True)
class WatchedShots:
    """A user's own shot model whose mistakes end the study with a message."""

    shots: ShotModel
    text: str

    @property
    def name(self) -> str:
        return self.shots.name

    @property
    def draws(self) -> int:
        return self.shots.draws

    @property
    def sees_receiver(self) -> bool:
        return self.shots.sees_receiver

    def intents(self, seen: ShotSituation, chance: np.ndarray) -> np.ndarray:
        intents = _answer(self.text, lambda: np.asarray(self.shots.intents(seen, chance)))
        if intents.dtype != INTENT or intents.shape != (len(seen),):
            raise InputError(
                f"{self.text}: intents gives {intents.dtype} of shape {intents.shape}; give INTENT"
                f" records (sim.contracts.intents_of makes them) of shape {(len(seen),)}"
            )
        for name in INTENT.names or ():
            if not np.isfinite(intents[name]).all():
                raise InputError(f"{self.text}: {name} of an intent is not a finite number")
        if (intents["speed_m_s"] <= 0).any() or (intents["target_y_m"] <= 0).any():
            raise InputError(
                f"{self.text}: an intent needs a speed above 0 and a target beyond the net, y > 0"
            )
        return intents


def _answer(text: str, ask: Callable[[], np.ndarray]) -> np.ndarray:
    """What the user's code answers; whatever it raises becomes an InputError with its line."""
    try:
        return ask()
    except InputError:
        raise
    except Exception as error:
        file = split_own(text)[0]
        frames = traceback.extract_tb(error.__traceback__)
        lines = [f.lineno for f in frames if file is not None and Path(f.filename) == file]
        where = f", line {lines[-1]}" if lines else ""
        raise InputError(f"{text}{where}: {type(error).__name__}: {error}") from None
