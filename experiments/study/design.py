"""A study: what to play, checked before anything runs."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from itertools import product
from pathlib import Path
from typing import Annotated, Any

import tomli_w
from pydantic import BaseModel, ConfigDict, Field, Strict, field_validator, model_validator

from experiments.scene.defaults import CORNER_M, HITTER, OPPONENT_POLICY
from experiments.scene.own_code import code_files, policy_of, shot_model_of
from experiments.scene.people import left_out, world_of
from experiments.scene.player_file import is_player_file, name_of, opponent_of, player_of
from experiments.study.design_points import game_at, point_rows, side_of, usual_of
from experiments.study.factor_names import NOT_HERE
from experiments.study.factors import Factor, Factors
from experiments.study.headline import Headline
from experiments.study.looks import (
    Cell,
    Raced,
    Reached,
    looks_allowed,
    require_looks,
    require_raced,
)
from experiments.study.outcome_names import outcome_names
from experiments.study.setting_table import (
    SERVE,
    SETTINGS,
    USUAL,
    any_served,
    is_rally,
    is_served,
)
from experiments.study.worlds import (
    FEWEST,
    DesignOfWorlds,
    basis_of,
    design_of,
    replicates_in_world,
    stopped_at,
)
from sim.additions import ADDITIONS, player_without
from sim.envelope import DriveLimits
from sim.errors import InputError, unknown_name
from sim.exchange import Game, Place, Side
from sim.meeting import RULES
from sim.plain_text import checked_line
from sim.players import Player
from strategies.user_file import code_runs

OWN_STROKES = ("crosscourt", "down-the-line", "middle")
ALL_PLACES = "all places"
OWN_CODE_MANY = ("policies", "opponents", "levels")
OWN_CODE_ONE = ("reference", "own_shots", "opponent_policy")
OWN_IN_CHOICES = ("level", "opponent")
# A number given as text, or true for 1, is a slip of the pen: say so rather than guess.
Number = Annotated[float, Strict()]
Whole = Annotated[int, Strict()]
SettingName = Annotated[str, Field(json_schema_extra={"enum": list(SETTINGS)})]


class StudyPlace(BaseModel):
    """An opponent contact place: the ball at contact, in the studied player's frame."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)
    name: str = Field(min_length=1, max_length=60)
    x_m: Number
    y_m: Number
    z_m: Number = 1.0

    @model_validator(mode="after")
    def _playable(self) -> StudyPlace:
        if self.name == ALL_PLACES:
            raise InputError(f"{ALL_PLACES!r} is the name of the mean over places; choose another")
        _ = self.place
        return self

    @property
    def place(self) -> Place:
        return Place(self.name, self.x_m, self.y_m, self.z_m)


CORNER = StudyPlace(name="corner", x_m=CORNER_M[0], y_m=CORNER_M[1])


class StudyChoices(BaseModel):
    """Where to try the modelling choices (experiments.study.choices): in whole rallies."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)
    level: str
    opponent: str
    place: str
    rallies: Whole = Field(default=500, ge=10, le=10_000_000)


class Study(BaseModel):
    """A study: factors, policies and how many balls and rallies a cell gets.

    Policies and shot models are catalogue names, with parameters after commas, or
    `path/to/file.py:Name`. Levels are names, or player files: then the player of the file, with the
    file's hand, plays against one like that player.
    """

    model_config = ConfigDict(
        extra="forbid", frozen=True, allow_inf_nan=False, use_attribute_docstrings=True
    )
    title: str = Field(default="A study of recovery", max_length=200)
    """What the report is headed with."""
    question: str = Field(default="", max_length=400)
    """The question that the study shall answer."""
    settings: tuple[SettingName, ...] = Field(default=USUAL, min_length=1)
    """placed (waits at the spot), recovery (gets there after an own stroke), rally, returning
    (points that the opponent opens with a serve), serving (points that the player opens)."""
    levels: tuple[str, ...] = Field(min_length=1)
    """Players: names of levels, or player files (against one like that player)."""
    opponents: tuple[str, ...] = Field(min_length=1)
    """What the opponent hits: shot models."""
    own_strokes: tuple[str, ...] = Field(default=OWN_STROKES, min_length=1)
    """Own strokes before a recovery: crosscourt, down-the-line, middle."""
    policies: tuple[str, ...] = Field(min_length=1)
    """Recovery policies to compare."""
    reference: str = "middle"
    """The policy that the others are compared with, on the same balls."""
    own_shots: str = HITTER
    """What the studied player hits: a shot model."""
    opponent_policy: str = OPPONENT_POLICY
    """Where the opponent recovers to."""
    surface: str = "hard"
    """The surface; to vary it, see factors."""
    flight: str = "tabulated"
    """tabulated (fast) or integrated; choose integrated if the air or the ball is varied much."""
    hand: str = "right"
    """The studied player's: right or left."""
    opponent_hand: str = "right"
    """The opponent's: right or left."""
    depth_m: Number = Field(default=1.3, ge=0.0, le=6.4)
    """Where both wait, metres behind the baseline."""
    rule: str = "balanced"
    """Where on its path a ball is met."""
    stroke_limit: Whole = Field(default=60, ge=2, le=1000)
    """Strokes after which a rally is stopped and counts half a point for each side."""
    placed_balls: Whole = Field(default=2000, ge=10, le=10_000_000)
    """Balls a cell in the setting placed."""
    recovery_balls: Whole = Field(default=2000, ge=10, le=10_000_000)
    """Balls a cell in the setting recovery."""
    rallies: Whole = Field(default=600, ge=10, le=10_000_000)
    """Rallies or points a cell in the settings rally, returning and serving."""
    precision: Number | None = Field(default=None, gt=0.0, le=100.0)
    """Play on until each interval of the balls missed fewer than by the reference is within
    plus and minus so many in 100: looks at the numbers above, twice, four times as many, and so on,
    setting by setting."""
    race: Number | None = Field(default=None, gt=0.0, le=100.0)
    """Let the policies race, cell by cell: at looks at the numbers above, twice, four times as many
    and so on, those that cannot be the best any more stop. A cell stops once nobody left can be
    better than the leader by more than so many in 100, and all left have a verdict. By points won,
    by balls missed where none are played. Excludes precision and factors."""
    race_verdicts: Annotated[bool, Strict()] | None = None
    """With race: whether policies that cannot be the best play on until they have a verdict."""
    most_replicates: Whole | None = Field(default=None, ge=10, le=1_000_000_000)
    """With precision or race: no look beyond so many a cell; without it, 64 times the numbers
    above."""
    reached: dict[str, Reached] | None = None
    """Written by a run with a precision: where its looks ended. A re-run plays just that."""
    raced: tuple[Raced, ...] | None = None
    """Written by a run with a race: where each cell and policy ended. A re-run plays just that."""
    stroke_rows_per_cell: Whole = Field(default=50, ge=0)
    """Replicates of each cell whose strokes are kept, row by row."""
    headline: Headline | None = None
    """The cells of which each ball or rally is kept, a row each, so that anybody can redo them."""
    seed: Whole | None = Field(default=None, ge=0, le=2**63 - 1)
    """Root of all chance; without one, a fresh one is made and recorded."""
    places: tuple[StudyPlace, ...] = Field(default=(CORNER,), min_length=1)
    """Where the opponent strikes the first ball; points that open with a serve have no place."""
    without: tuple[str, ...] = ()
    """Strokes that both do without: names of `rally-recovery list additions`, or "all"."""
    limits: dict[str, Number] = Field(default_factory=dict)
    """Limits of the drives whose extremes make the angle, where not the usual ones."""
    choices: StudyChoices | None = None
    """Where to try the modelling choices."""
    factors: Factors | None = None
    """What else to vary, and by which design; the study as it stands is played beside it."""
    worlds: Whole | None = Field(default=None, ge=FEWEST)
    """In how many worlds that fit the professional record all cells are played besides: every
    outcome then gets an interval of worlds beside that of chance. Excludes factors."""
    world_rallies: Whole | None = Field(default=None, ge=10)
    """Balls or rallies a cell in each world; without it, so many that all worlds together cost
    about as much as the study itself, at least 20."""
    worlds_file: str | None = None
    """A file of worlds in place of the one that comes with the program."""

    @field_validator("title", "question")
    @classmethod
    def _line(cls, value: str, info: Any) -> str:
        return checked_line(f"the {info.field_name}", " ".join(value.split()))

    @field_validator("settings", "own_strokes")
    @classmethod
    def _known(cls, value: tuple[str, ...], info: Any) -> tuple[str, ...]:
        valid = tuple(SETTINGS) if info.field_name == "settings" else OWN_STROKES
        for name in value:
            if name not in valid:
                raise unknown_name(info.field_name[:-1].replace("_", " "), name, valid)
        return value

    @field_validator("without")
    @classmethod
    def _left_out(cls, value: tuple[str, ...]) -> tuple[str, ...]:
        return left_out(value)

    @field_validator("factors")
    @classmethod
    def _of_serves(cls, value: Factors | None, info: Any) -> Factors | None:
        """Every parameter takes in those of serves where points open with one."""
        return value and value.with_serves(any_served(info.data.get("settings", ())))

    @field_validator("limits")
    @classmethod
    def _limits(cls, value: dict[str, float]) -> dict[str, float]:
        valid = [f.name for f in dataclasses.fields(DriveLimits)]
        for name in value:
            if name not in valid:
                raise unknown_name("limit of the drives", name, valid)
        DriveLimits(**value)
        return value

    @model_validator(mode="after")
    def _buildable(self) -> Study:
        if self.rule not in RULES:
            raise unknown_name("meeting rule", self.rule, RULES)
        if self.reference not in self.policies:
            raise InputError(
                f"reference policy {self.reference!r} is not among the policies; add it"
            )
        names = {"policies": [policy_of(p).name for p in self.policies]}
        names["opponents"] = self.opponent_names()
        names["places"] = [p.name for p in self.places]
        names["levels"] = self.level_names()
        for key in ("settings", "own_strokes"):
            names[key] = list(getattr(self, key))
        for key, shown in names.items():
            twice = [name for name in shown if shown.count(name) > 1]
            if twice:
                own = self.code_files() and key in ("policies", "opponents")
                more = "; in own code put what differs into its `name`" if own else ""
                raise InputError(f"{key}: {twice[0]!r} stands twice; give each once{more}")
        if self.headline is not None and (code_runs() or not self.code_files()):
            self.headline.require_among(names)
        if any_served(self.settings) and SERVE in names["places"]:
            raise InputError(
                f"{SERVE!r} names where points open with a serve, so no place can have that name in"
                " this study; rename it"
            )
        if "placed" in self.settings and not placeable(policy_of(self.reference)):
            raise InputError(
                f"reference policy {self.reference!r} has no spot in the setting 'placed';"
                " choose another reference, or leave that setting out"
            )
        for level in self.levels:
            self.game(level, self.opponents[0], self.reference, 0)
        if self.choices is not None:
            if self.level_text(name_of(self.choices.level)) != self.choices.level:
                raise InputError("the level of the choices has the name of another one; rename it")
            self.game(self.choices.level, self.choices.opponent, self.reference, 0)
            if self.choices.place not in names["places"]:
                raise unknown_name("place of the choices", self.choices.place, names["places"])
        self._worlds_sound()
        if self.varied is not None:
            self._points_playable(self.varied)
        self._looks_sound()
        return self

    def __repr__(self) -> str:
        kinds = ("settings", "levels", "opponents", "places", "policies")
        counts = ", ".join(f"{len(getattr(self, kind))} {kind}" for kind in kinds)
        return f"Study({self.title!r}: {counts}, seed {self.seed})"

    def first_replicates(self, setting: str) -> int:
        """Balls or rallies a cell at the first look: all, unless a precision is wished."""
        return int(getattr(self, SETTINGS[setting].size_key))

    def world_replicates(self, setting: str) -> int:
        """Balls or rallies a cell in each world; 0 for a study without worlds."""
        first = self.first_replicates(setting)
        if self.worlds is None:
            return 0
        return replicates_in_world(first, self.worlds, self.world_rallies)

    @property
    def varied(self) -> Factors | None:
        """What the points of the study vary: its factors, or all factors of its worlds."""
        if self.worlds is None:
            return self.factors
        return design_of(self.worlds_file, self.worlds, self.without)

    def _worlds_sound(self) -> None:
        """Worlds exclude factors; what is said of worlds needs some."""
        if self.worlds is None:
            for key in ("world_rallies", "worlds_file"):
                if getattr(self, key) is not None:
                    raise InputError(f"{key} needs the key worlds; add it, or leave {key} out")
            return
        if self.factors is not None:
            raise InputError(
                "worlds and factors exclude each other, since both vary the same numbers; leave"
                " one of the two out"
            )
        for setting in self.settings:
            first = self.first_replicates(setting)
            if self.world_rallies is not None and self.world_rallies > first:
                raise InputError(
                    f"world_rallies is {self.world_rallies}; a world plays a part of what the study"
                    f" plays, in the setting {setting!r} {first} at most: lower it, or raise that"
                )

    def _looks_sound(self) -> None:
        """What is played look by look compares something, and its keys agree."""
        for key in ("precision", "race"):
            if getattr(self, key) is not None and len(self.policies) == 1:
                raise InputError(f"{key} needs a policy to compare with the reference; add one")
        first = {s: self.first_replicates(s) for s in self.settings}
        require_looks(first, self.precision, self.race, self.most_replicates, self.reached)
        if self.race is not None and self.factors is not None:
            raise InputError(
                "race and factors exclude each other, since points of factors are compared with one"
                " another and so played alike; leave one of the two out"
            )
        for key in ("raced", "race_verdicts"):
            if getattr(self, key) is not None and self.race is None:
                raise InputError(f"{key} needs the key race; add it, or leave {key} out")
        names = {s: self.policies_in(s) for s in self.settings}
        allowed = {s: self.looks_allowed(s) for s in self.settings}
        require_raced(self.raced, {cell: names[cell[0]] for cell in self.cells()}, allowed)

    def cells(self) -> Iterator[Cell]:
        """The cells of the study as it stands, in a fixed order."""
        for setting in self.settings:
            for level, opponent, place in product(
                self.level_names(), self.opponent_names(), self.places_of(setting)
            ):
                for own in self.own_strokes if setting == "recovery" else (None,):
                    yield setting, place, level, opponent, own

    def places_of(self, setting: str) -> list[str]:
        """The places that a setting is crossed with; SERVE alone where points open with a serve."""
        return [SERVE] if SETTINGS[setting].is_served else [p.name for p in self.places]

    def policies_in(self, setting: str) -> list[str]:
        """Display names of the policies that play in a setting, the reference first."""
        found = map(policy_of, sorted(self.policies, key=lambda text: text != self.reference))
        return [p.name for p in found if setting != "placed" or placeable(p)]

    def looks_allowed(self, setting: str) -> int:
        """How many looks the setting may get, known beforehand."""
        by_looks = self.race is not None or self.precision is not None
        return looks_allowed(self.first_replicates(setting), by_looks, self.most_replicates)

    def looks_made(self) -> dict[str, int]:
        """Looks by setting: those that a run made, else the first one."""
        reached = self.reached or {}
        return {s: reached[s].looks if s in reached else 1 for s in self.settings}

    def _points_playable(self, factors: Factors) -> None:
        """Every point must make a game, and the outcomes to keep must exist; what own code makes of
        that is seen where it is run."""
        if self.code_files() and not code_runs():
            return
        known = outcome_names(
            any(map(is_rally, self.settings)),
            policy_of(self.reference).name,
            not all(map(is_served, self.settings)),
        )
        for name in factors.outcomes:
            if name not in known:
                raise unknown_name("outcome", name, known)
        in_worlds = isinstance(factors, DesignOfWorlds)  # some of which are nobody's here
        for factor in () if in_worlds else factors.all:
            self._somebodys(factor)
            self._not_left_out(factor)
        for level in self.levels:
            game = self.game(level, self.opponents[0], self.reference, 0)
            place = self.places[0].place
            usual = usual_of(game, place)
            for point in range(len(factors.coordinates)):
                try:
                    game_at(factors, point, game, place, usual)
                except InputError as error:
                    which = f"world {point}" if in_worlds else f"point {point} of the factors"
                    end = ", leave out that level or take other worlds" if in_worlds else ""
                    raise InputError(f"{which}, {name_of(level)}: {error}{end}") from None

    def _somebodys(self, factor: Factor) -> None:
        """A factor of shot models or policies must be one of those that the study plays."""
        place, level = self.places[0].place, self.levels[0]
        for opponent in self.opponents:
            usual = usual_of(self.game(level, opponent, self.reference, 0), place)
            if usual[side_of(factor, usual)][factor.name] is not NOT_HERE:
                return
        whose = "the opponents" if factor.of == "opponent" else "the players"
        raise InputError(f"factor {factor.name!r}: nothing that {whose} of this study do has it")

    def _not_left_out(self, factor: Factor) -> None:
        """What the study does without cannot be varied."""
        part, _, name = factor.name.partition(".")
        for addition in self.without:
            if name in ADDITIONS[addition].get(part, {}):
                raise InputError(
                    f"factor {factor.name!r}: the study does without {addition}; leave out one of"
                    " the two (with every_parameter, name the factor in leave_out)"
                )

    def code_files(self) -> list[Path]:
        """The files of code that the study runs, each once."""
        texts = [t for key in OWN_CODE_MANY for t in getattr(self, key)]
        texts += [getattr(self, key) for key in OWN_CODE_ONE]
        texts += [getattr(self.choices, key) for key in OWN_IN_CHOICES if self.choices]
        return list(dict.fromkeys(file for text in texts for file in code_files(text)))

    def opponent_names(self) -> list[str]:
        """Display names of the opponents' shot models, in order: the labels of results."""
        return [shot_model_of(text).name for text in self.opponents]

    def level_names(self) -> list[str]:
        """Names of the levels and of the players of files, in order: the labels of results."""
        return [name_of(text) for text in self.levels]

    def level_text(self, name: str) -> str:
        """The text of a level, of the cells or of the choices, by the name that results show."""
        texts = [*self.levels, *([self.choices.level] if self.choices else [])]
        return next(text for text in texts if name_of(text) == name)

    def opponent_text(self, name: str) -> str:
        """The text of an opponent, of the cells or of the choices, by its display name."""
        texts = [*self.opponents, *([self.choices.opponent] if self.choices else [])]
        return next(text for text in texts if shot_model_of(text).name == name)

    def game(self, level: str, opponent: str, policy: str, seed: int) -> Game:
        """The game of one cell: both sides of that level, the opponent with that shot model.

        For a player file, the opponent is one like that player.
        """
        limits = DriveLimits(**self.limits)

        def side(who: Player, policy: str, shots: str) -> Side:
            who = player_without(who, self.without)
            return Side(who, policy_of(policy), shot_model_of(shots), self.depth_m, limits=limits)

        who = player_of(level, None if is_player_file(level) else self.hand)
        other = opponent_of(level, self.opponent_hand)
        studied = side(who, policy, self.own_shots)
        across = side(other, self.opponent_policy, opponent)
        world = world_of(self.surface, who, flight=self.flight)
        return Game(studied, across, world, seed, RULES.index(self.rule), self.stroke_limit)

    def toml(self) -> str:
        """The study as a TOML text that `study_file.load_study` reads back to an equal study."""
        return tomli_w.dumps(self.model_dump(mode="json", exclude_none=True))


def points_table(study: Study) -> list[dict[str, Any]]:
    """The points of what is varied with their values for each level, around the first place.

    Of worlds also what they are for the level, and how many of the studied player's values were
    stopped at an end of the level's stated range.
    """
    factors, place, out = study.varied, study.places[0].place, []
    if factors is None:
        return []
    for level in study.levels:
        game = study.game(level, study.opponents[0], study.reference, 0)
        rows = list(point_rows(factors, name_of(level), game, place))
        if isinstance(factors, DesignOfWorlds):
            stated = usual_of(game, place)["studied"]
            for row in rows:
                row["basis"] = basis_of(level)
                row["stopped"] = stopped_at(factors, row["point"], stated)
        out += rows
    return out


def placeable(policy: Any) -> bool:
    """Whether a policy has a spot without an own stroke before (all but staying do)."""
    return bool(getattr(policy, "placeable", True))
