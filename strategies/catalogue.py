"""All recovery policies and shot models by name, and how to make one from words or a table."""

from __future__ import annotations

import dataclasses
import inspect
from collections.abc import Mapping
from typing import Any, cast

from sim.belief import Belief
from sim.contracts import RecoveryPolicy, ShotModel
from sim.errors import InputError, unknown_name
from strategies.recovery.best_for_belief import BestForBelief
from strategies.recovery.biased import Biased
from strategies.recovery.bisector import Bisector
from strategies.recovery.guard import Guard
from strategies.recovery.linear_shade import LinearShade
from strategies.recovery.middle import Middle
from strategies.recovery.safest import Safest
from strategies.recovery.stay import Stay
from strategies.recovery.time_balanced import TimeBalanced
from strategies.shots.any_allowed import AnyAllowed
from strategies.shots.attentive import Attentive
from strategies.shots.charted import Charted
from strategies.shots.habit import Habit
from strategies.shots.open_court import OpenCourt
from strategies.shots.pressing import Pressing
from strategies.shots.script import Script
from strategies.user_file import is_user_file, user_object

POLICIES: dict[str, type[RecoveryPolicy]] = {
    "stay": Stay,
    "middle": Middle,
    "bisector": Bisector,
    "biased": Biased,
    "time-balanced": TimeBalanced,
    "linear-shade": LinearShade,
    "best-for-belief": BestForBelief,
    "safest": Safest,
    "guard": Guard,
}

SHOT_MODELS: dict[str, type[ShotModel]] = {
    "any-allowed": AnyAllowed,
    "habit": Habit,
    "charted": Charted,
    "attentive": Attentive,
    "pressing": Pressing,
    "open-court": OpenCourt,
    "script": Script,
}


def make_policy(words: str | Mapping[str, Any]) -> RecoveryPolicy:
    """A recovery policy from `name`, `name,parameter=value,...` or a table with the key `name`.

    The name is one of POLICIES, or `path/to/file.py:Name` for a user's own class or object.

    Raises:
        InputError: an unknown name or parameter, a bad value, or a file that does not give one.
    """
    made = _make("recovery policy", POLICIES, words)
    if not isinstance(made, RecoveryPolicy) or not _is_named(made) or not callable(made.spots):
        raise _unfit(words, made, "recovery policy", "a text `name` and a method `spots(seen)`")
    return made


def make_shot_model(words: str | Mapping[str, Any]) -> ShotModel:
    """A shot model from `name`, `name,parameter=value,...` or a table with the key `name`.

    The name is one of SHOT_MODELS, or `path/to/file.py:Name` for a user's own class or object.

    Raises:
        InputError: an unknown name or parameter, a bad value, or a file that does not give one.
    """
    made = _make("shot model", SHOT_MODELS, words)
    fits = isinstance(made, ShotModel) and _is_named(made) and callable(made.intents)
    if not fits or not isinstance(made.draws, int) or made.draws < 0:
        needs = "a text `name`, a whole number `draws`, `sees_receiver` and `intents(seen, chance)`"
        raise _unfit(words, made, "shot model", needs)
    return cast(ShotModel, made)


def summary(decision: Any) -> str:
    """The first line of what a policy, a shot model or its class says about itself."""
    return (inspect.getdoc(decision) or "").partition("\n")[0]


def allowed_parameters(kind: type) -> str:
    """The parameters of a policy or shot model with units and sensible ranges, in one line."""
    parts = [_allowed(f) for f in _fields(kind).values()]
    return ", ".join(parts) if parts else "none"


def _make(kind: str, catalogue: Mapping[str, type], words: str | Mapping[str, Any]) -> Any:
    name, given = _split(kind, words)
    if is_user_file(name):
        thing = user_object(name)
        if not isinstance(thing, type):
            if given:
                raise InputError(f"{name} is an object, made already: it takes no parameters")
            return thing
    elif name in catalogue:
        thing = catalogue[name]
    else:
        raise unknown_name(kind, name, catalogue)
    return _construct(name, thing, given)


def _split(kind: str, words: str | Mapping[str, Any]) -> tuple[str, dict[str, Any]]:
    """The name and the parameters, whose values are still text where text was given."""
    if isinstance(words, Mapping):
        given = dict(words)
        name = given.pop("name", None)
        if not isinstance(name, str):
            raise InputError(f"a {kind} given as a table needs the key `name`: {dict(words)!r}")
        return name, given
    if not isinstance(words, str):
        raise InputError(f"a {kind} is given as a name or as a table, not as {words!r}")
    name, *parts = words.strip().split(",")
    given = {}
    for part in parts:
        key, equals, value = part.partition("=")
        if not equals or key.strip() in given:
            raise InputError(
                f"{words!r}: after the name give parameter=value, each once; not {part!r}"
            )
        given[key.strip()] = value.strip()
    return name.strip(), given


def _construct(name: str, kind: type, given: dict[str, Any]) -> Any:
    fields = _fields(kind)
    for key in given:
        if key not in fields:
            raise InputError(f"{name} has no parameter {key!r}. It has: {allowed_parameters(kind)}")
    values = {key: _value(name, fields[key], value) for key, value in given.items()}
    try:
        return kind(**values)
    except InputError:
        raise
    except Exception as error:  # a user's own class may raise anything
        raise InputError(f"{name} cannot be made: {type(error).__name__}: {error}") from None


def _fields(kind: type) -> dict[str, dataclasses.Field[Any]]:
    if not dataclasses.is_dataclass(kind):
        return {}
    return {f.name: f for f in dataclasses.fields(kind) if f.init}


def _allowed(field: dataclasses.Field[Any]) -> str:
    m = field.metadata
    if "unit" in m:
        return f"{field.name} ({m['low']:g} to {m['high']:g} {m['unit']})"
    return f"{field.name} ({m['allowed']})" if "allowed" in m else field.name


def _value(name: str, field: dataclasses.Field[Any], given: Any) -> Any:
    """The given value as the field's kind: a number, a text or a table of shares."""
    default = field.default
    if "unit" in field.metadata or field.type in (float, "float"):
        return _number(name, field, given)
    if isinstance(given, Mapping):
        return _belief(name, field, given)
    if isinstance(given, str) != isinstance(default, str) and field.metadata.get("allowed"):
        raise InputError(f"{name}: {field.name} is {given!r}; give {field.metadata['allowed']}")
    return given


def _number(name: str, field: dataclasses.Field[Any], given: Any) -> float:
    try:
        if isinstance(given, bool):
            raise ValueError
        return float(given)
    except (TypeError, ValueError):
        raise InputError(
            f"{name}: {field.name} is {given!r}; give a number, {_allowed(field)}"
        ) from None


def _belief(name: str, field: dataclasses.Field[Any], given: Mapping[str, Any]) -> Belief:
    try:
        rows: dict[str, Any] = {k: tuple(float(s) for s in row) for k, row in given.items()}
        return Belief(**rows)
    except (TypeError, ValueError) as error:
        if isinstance(error, InputError):
            raise
        allowed = field.metadata.get("allowed", "no table")
        raise InputError(f"{name}: {field.name} is {given!r}; give {allowed}") from None


def _is_named(made: Any) -> bool:
    return isinstance(made.name, str) and bool(made.name)


def _unfit(words: object, made: object, kind: str, needs: str) -> InputError:
    return InputError(
        f"{words!r} gives {type(made).__name__!r}, which is no {kind}: it needs {needs}."
        f"{_hint(made, kind)}"
    )


def _hint(made: object, kind: str) -> str:
    if inspect.isfunction(made) and kind == "recovery policy":
        return ' A plain function of one rally becomes one by sim.contracts.PerRally("name", it).'
    return ""
