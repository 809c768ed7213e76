"""Study files: what to play, checked before anything runs."""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Callable
from importlib import resources
from pathlib import Path
from typing import Any

import tomli_w
from pydantic import BaseModel, ConfigDict, Field, ValidationError, field_validator, model_validator

from sim.envelope import DriveLimits
from sim.errors import InputError, unknown_name
from sim.exchange import Game, Place, Side
from sim.meeting import RULES
from sim.players import player
from sim.surface import surface
from sim.world import World
from strategies.catalogue import make_policy, make_shot_model

SETTINGS = ("placed", "recovery", "rally")
OWN_STROKES = ("crosscourt", "down-the-line", "middle")


class StudyPlace(BaseModel):
    """An opponent contact place: the ball at contact, in the studied player's frame."""

    model_config = ConfigDict(extra="forbid", frozen=True)
    name: str = Field(min_length=1, max_length=60)
    x_m: float
    y_m: float
    z_m: float = 1.0

    @property
    def place(self) -> Place:
        return Place(self.name, self.x_m, self.y_m, self.z_m)


class Study(BaseModel):
    """A study: factors, policies and how many balls and rallies a cell gets.

    Policies and shot models are catalogue names, with parameters after commas, or
    `path/to/file.py:Name`.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)
    title: str = Field(default="A study of recovery", max_length=200)
    question: str = Field(default="", max_length=400)
    settings: tuple[str, ...] = SETTINGS
    levels: tuple[str, ...] = Field(min_length=1)
    opponents: tuple[str, ...] = Field(min_length=1)
    own_strokes: tuple[str, ...] = OWN_STROKES
    policies: tuple[str, ...] = Field(min_length=1)
    reference: str = "middle"
    own_shots: str = "habit"
    opponent_policy: str = "linear-shade,shade_m_per_m=0.15"
    surface: str = "hard"
    hand: str = "right"
    opponent_hand: str = "right"
    depth_m: float = Field(default=1.3, ge=0.0, le=6.4)
    rule: str = "balanced"
    stroke_limit: int = Field(default=60, ge=2, le=1000)
    placed_balls: int = Field(default=2000, ge=10, le=10_000_000)
    recovery_balls: int = Field(default=2000, ge=10, le=10_000_000)
    rallies: int = Field(default=600, ge=10, le=10_000_000)
    stroke_rows_per_cell: int = Field(default=50, ge=0)
    seed: int | None = Field(default=None, ge=0, le=2**63 - 1)
    places: tuple[StudyPlace, ...] = Field(min_length=1)
    limits: dict[str, float] = Field(default_factory=dict)

    @field_validator("settings", "own_strokes")
    @classmethod
    def _known(cls, value: tuple[str, ...], info: Any) -> tuple[str, ...]:
        valid = SETTINGS if info.field_name == "settings" else OWN_STROKES
        for name in value:
            if name not in valid:
                raise unknown_name(info.field_name[:-1].replace("_", " "), name, valid)
        return value

    @model_validator(mode="after")
    def _buildable(self) -> Study:
        for names in (self.policies, self.levels, self.opponents, [p.name for p in self.places]):
            if len(set(names)) != len(names):
                raise InputError(f"a name stands twice in {list(names)}; give each once")
        if self.reference not in self.policies:
            raise InputError(
                f"reference policy {self.reference!r} is not among the policies; add it"
            )
        if self.rule not in RULES:
            raise unknown_name("meeting rule", self.rule, RULES)
        for place in self.places:
            _ = place.place
        for level in self.levels:
            for opponent in self.opponents:
                self.game(level, opponent, self.reference, 0)
        for policy in self.policies:
            make_policy(policy)
        return self

    def game(self, level: str, opponent: str, policy: str, seed: int) -> Game:
        """The game of one cell: both sides of that level, the opponent with that shot model."""
        limits = DriveLimits(**self.limits)
        studied = Side(
            player(level, self.hand),
            make_policy(policy),
            make_shot_model(self.own_shots),
            self.depth_m,
            limits=limits,
        )
        other = Side(
            player(level, self.opponent_hand),
            make_policy(self.opponent_policy),
            make_shot_model(opponent),
            self.depth_m,
            limits=limits,
        )
        world = World(surface=surface(self.surface))
        return Game(studied, other, world, seed, RULES.index(self.rule), self.stroke_limit)

    def toml(self) -> str:
        """The study as a TOML text that `load_study` reads back to an equal study."""
        return tomli_w.dumps(self.model_dump(mode="json", exclude_none=True))


def load_study(path: Path | None = None) -> Study:
    """Read and check a study file; with no path, the bundled main study.

    Raises:
        InputError: the file cannot be read, is not TOML (with the line), or a key is wrong (named).
    """
    if path is None:
        text = resources.files("experiments.data").joinpath("main.toml").read_text("utf-8")
        return parse_study(text, "the bundled main study")
    try:
        text = path.read_text("utf-8")
    except FileNotFoundError:
        raise InputError(f"study file {str(path)!r} does not exist; check the path") from None
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(f"study file {str(path)!r} cannot be read: {error}") from None
    return parse_study(text, str(path))


def own_policy_files(study: Study, folder: Path) -> tuple[Study, dict[str, str]]:
    """Copy the files of the user's own policies and shot models into `folder`/own.

    Returns the study with its names turned to the copies (relative to the folder) and the SHA-256
    of each copy, so that a re-run from the folder plays the same code.
    """
    hashes: dict[str, str] = {}

    def copied(text: str) -> str:
        source, name = split_own(text)
        if source is None:
            return text
        target = folder / "own" / source.name
        target.parent.mkdir(exist_ok=True)
        content = source.read_bytes()
        if target.exists() and target.read_bytes() != content:
            target = target.with_stem(f"{target.stem}-{len(hashes)}")
        target.write_bytes(content)
        hashes[f"own/{target.name}"] = hashlib.sha256(content).hexdigest()
        return f"own/{target.name}:{name}"

    return map_names(study, copied), hashes


def map_names(study: Study, change: Callable[[str], str]) -> Study:
    """The study with `change` applied to each policy and shot model name."""
    many = {f: tuple(change(t) for t in getattr(study, f)) for f in ("policies", "opponents")}
    one = {f: change(getattr(study, f)) for f in ("reference", "own_shots", "opponent_policy")}
    return study.model_copy(update={**many, **one})


def split_own(text: str) -> tuple[Path | None, str]:
    """The file and the name in `path/to/file.py:Name`; (None, text) for a catalogue name."""
    file, colon, name = text.rpartition(":")
    if colon and file.endswith(".py"):
        return Path(file), name
    return None, text


def parse_study(text: str, where: str) -> Study:
    """A study from TOML text; `where` names it in messages."""
    try:
        return Study(**tomllib.loads(text))
    except tomllib.TOMLDecodeError as error:
        raise InputError(f"{where} is not valid TOML: {error}") from None
    except ValidationError as error:
        lines = "; ".join(_explain(e) for e in error.errors())
        raise InputError(f"{where}: {lines}") from None
    except TypeError as error:
        raise InputError(f"{where}: {error}") from None


def _explain(error: Any) -> str:
    key = ".".join(str(part) for part in error["loc"]) or "study"
    message = error["msg"].removeprefix("Value error, ")
    if error["type"] == "extra_forbidden":
        return str(unknown_name("key", key, Study.model_fields))
    if error["type"] in ("missing", "value_error"):
        return f"{key}: {message}"
    return f"{key}: {message} (given: {error['input']!r})"
