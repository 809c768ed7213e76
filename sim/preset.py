"""Presets: what a named level, surface or ball says of itself, one record each."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, TypeVar

from sim.parameter import ParameterRow, require_status


@dataclass(frozen=True)
class Own:
    """A value of a preset with what the preset says of it.

    An end of the range that is left out follows from the preset's spread about the value, else it
    is the general one. Where no status is given, source and status are the general ones.
    """

    value: float
    low: float | None = None
    high: float | None = None
    source: str = ""
    status: str = ""
    fitted_to: str = ""

    def __post_init__(self) -> None:
        if self.status:
            require_status(self.status, self.fitted_to)
        elif self.source or self.fitted_to:
            raise ValueError(f"a source without a status: {self.source or self.fitted_to!r}")


@dataclass(frozen=True)
class Preset:
    """Values by parameter; `spread` is the share of a value to both sides of it, by parameter.

    All else that a thing of this preset needs is the default of its class.
    """

    name: str
    own: Mapping[str, Own]
    spread: Mapping[str, float] = field(default_factory=dict)

    def values_of(self, kind: type) -> dict[str, Any]:
        """The values of the parameters that a dataclass has."""
        names = {f.name for f in dataclasses.fields(kind)}
        return {name: float(own.value) for name, own in self.own.items() if name in names}

    def row(self, general: ParameterRow) -> ParameterRow:
        """A row of the parameter table with the range, source and status that fit this preset.

        The range lies about the preset's value and not the row's, so that a thing that a study
        changed keeps it.
        """
        own = self.own.get(general.name)
        if own is None:
            return general
        low, high = self._range(general, own)
        row = dataclasses.replace(general, low=low, high=high)
        if not own.status:
            return row
        return dataclasses.replace(
            row, source=own.source, status=own.status, fitted_to=own.fitted_to
        )

    def _range(self, general: ParameterRow, own: Own) -> tuple[float, float]:
        low, high, share = general.low, general.high, self.spread.get(general.name)
        if share is not None:
            low, high = max(low, own.value * (1 - share)), min(high, own.value * (1 + share))
        return low if own.low is None else own.low, high if own.high is None else own.high


NamedPreset = TypeVar("NamedPreset", bound=Preset)


def by_name(*presets: NamedPreset) -> dict[str, NamedPreset]:
    """Presets by their names, in the order given.

    Raises:
        ValueError: two of one name, a mistake of the code.
    """
    found = {preset.name: preset for preset in presets}
    if len(found) < len(presets):
        raise ValueError(f"two presets of one name among {[p.name for p in presets]}")
    return found


def preset(name: str, **values: float | Own) -> Preset:
    """A preset of these values, without a spread."""
    return Preset(name, owned(values))


def owned(values: Mapping[str, float | Own]) -> dict[str, Own]:
    """The values of a preset; a plain number says nothing of itself."""
    return {name: v if isinstance(v, Own) else Own(float(v)) for name, v in values.items()}
