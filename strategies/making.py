"""How a policy or a shot model is made from words or a table."""

from __future__ import annotations

import dataclasses
import inspect
from collections.abc import Mapping
from typing import Any

from sim.belief import Belief
from sim.errors import InputError, unknown_name
from sim.plain_text import checked_line
from strategies.user_file import asked, is_user_file, user_object


def summary(decision: Any) -> str:
    """The first line of what a policy, a shot model or its class says about itself."""
    return (inspect.getdoc(decision) or "").partition("\n")[0]


def allowed_parameters(kind: type) -> str:
    """The parameters of a policy or shot model with units and sensible ranges, in one line."""
    parts = [_allowed(f) for f in _fields(kind).values()]
    return ", ".join(parts) if parts else "none"


def make(kind: str, catalogue: Mapping[str, type], words: str | Mapping[str, Any]) -> Any:
    """What `words` (text or a table) name in a catalogue or a user's file, with its parameters.

    Raises:
        InputError: an unknown name or parameter, a bad value, or a file that does not give one.
    """
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
    return asked(name, lambda: kind(**values), " cannot be made")


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


def fits(words: str | Mapping[str, Any], made: Any, contract: type, method: str) -> bool:
    """Whether it keeps to a contract, has a display name and can be asked by that method.

    Raises:
        InputError: the name cannot be shown as it is, or the user's code fails when asked.
    """
    text = text_of(words)

    def is_right() -> bool:
        name = made.name if isinstance(made, contract) else None  # type: ignore[attr-defined]
        return isinstance(name, str) and bool(name) and callable(getattr(made, method))

    right = asked(text, is_right)
    if right:
        checked_line(f"the name of {text!r}", asked(text, lambda: made.name))
    return right


def text_of(words: str | Mapping[str, Any]) -> str:
    """Words or a table as one text, for messages."""
    if isinstance(words, str):
        return words
    return ",".join(
        [str(words.get("name")), *(f"{k}={v}" for k, v in words.items() if k != "name")]
    )


def unfit(words: object, made: object, kind: str, needs: str) -> InputError:
    """The error for what is no policy or shot model; `needs` says what one has."""
    return InputError(
        f"{words!r} gives {type(made).__name__!r}, which is no {kind}: it needs {needs}."
        f"{_hint(made, kind)}"
    )


def _hint(made: object, kind: str) -> str:
    if inspect.isfunction(made) and kind == "recovery policy":
        return ' A plain function of one rally becomes one by sim.contracts.PerRally("name", it).'
    return ""
