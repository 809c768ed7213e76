"""What a study file says about its precision or its race, and which looks at the data follow."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field, Strict

from experiments.statistics.group_sequential import looks_within
from sim.errors import InputError

MOST_TIMES = 64  # the cap that holds if the study names none, in first looks

Cell = tuple[str, str, str, str, str | None]  # setting, place, level, opponent, own stroke


class Reached(BaseModel):
    """Where the looks of one setting ended; a run writes it, so that a re-run plays just that."""

    model_config = ConfigDict(extra="forbid", frozen=True, use_attribute_docstrings=True)
    replicates: Annotated[int, Strict()] = Field(ge=10)
    """Balls or rallies a cell that were played."""
    looks: Annotated[int, Strict()] = Field(ge=1)
    """Looks that were made: at n, 2n, 4n, ..."""
    most_replicates: Annotated[int, Strict()] = Field(ge=10)
    """The cap that held."""


class Raced(BaseModel):
    """Where the race of one cell ended; a run writes it, so that a re-run plays just that."""

    model_config = ConfigDict(extra="forbid", frozen=True, use_attribute_docstrings=True)
    setting: str
    place: str
    level: str
    opponent: str
    own_stroke: str | None = None
    looks: dict[str, Annotated[int, Strict(), Field(ge=1)]] = Field(min_length=1)
    """Looks that each policy played to: at n, 2n, 4n, ..."""

    @property
    def cell(self) -> Cell:
        """The labels of the cell."""
        return self.setting, self.place, self.level, self.opponent, self.own_stroke


def cap(first: int, most: int | None) -> int:
    """The most replicates that a setting may get which begins with `first`."""
    return MOST_TIMES * first if most is None else most


def require_looks(
    first: Mapping[str, int],
    precision: float | None,
    race: float | None,
    most: int | None,
    reached: Mapping[str, Reached] | None,
) -> None:
    """Refuse keys that contradict each other; `first` holds each setting's own number.

    Raises:
        InputError: precision and race at once, a cap without one of the two, reached sizes without
            a precision, a cap below the first look, or reached sizes that no looks lead to.
    """
    if race is not None and precision is not None:
        raise InputError(
            "race and precision exclude each other: one stops by what is decided, the other by how"
            " exact it is; leave one of the two out"
        )
    if most is not None and precision is None and race is None:
        raise InputError(
            "most_replicates needs the key precision or the key race; add one, or leave"
            " most_replicates out"
        )
    if reached is not None and precision is None:
        raise InputError("reached needs the key precision; add it, or leave reached out")
    for setting, number in first.items():
        if cap(number, most) < number:
            raise InputError(
                f"most_replicates is {most}, below the {number} of the first look in the setting"
                f" {setting!r}; raise it, or lower that number"
            )
    if reached is None:
        return
    if set(reached) != set(first):
        raise InputError(
            f"reached must name the study's settings ({', '.join(first)}), as a run wrote it; leave"
            " it out to look anew"
        )
    for setting, at in reached.items():
        allowed, number = cap(first[setting], most), first[setting]
        size = number * 2 ** (at.looks - 1)
        if (at.replicates, at.most_replicates) != (size, allowed) or size > allowed:
            raise InputError(
                f"reached in the setting {setting!r} is not what {at.looks} looks lead to that"
                f" begin with {number} and may go to {allowed}; leave it out to look anew"
            )


def require_raced(
    raced: Sequence[Raced] | None, cells: Mapping[Cell, Sequence[str]], allowed: Mapping[str, int]
) -> None:
    """Refuse a race written down that is not one of these cells, with these policies each, the
    reference first, or goes beyond the looks that are `allowed` in a setting.

    Raises:
        InputError: it is not; which cell.
    """
    if raced is None:
        return
    end = "; it is not as a run wrote it: leave raced out to race anew"
    if len(raced) != len(cells) or {found.cell for found in raced} != set(cells):
        raise InputError(f"raced must hold each cell of the study once{end}")
    for found in raced:
        names, most = cells[found.cell], max(found.looks.values())
        where = ", ".join(filter(None, found.cell))
        if set(found.looks) != set(names):
            raise InputError(f"raced, {where}: looks must name {', '.join(names)}{end}")
        if most > allowed[found.setting] or found.looks[names[0]] < most:
            raise InputError(
                f"raced, {where}: allowed are up to {allowed[found.setting]} looks, and as many"
                f" for {names[0]!r} as for anyone{end}"
            )


def looks_allowed(first: int, by_looks: bool, most: int | None) -> int:
    """How many looks a setting may get, `by_looks` if it is played look by look: known before the
    first one, as its intervals need it."""
    return looks_within(first, cap(first, most)) if by_looks else 1


def ranges(first: int, look: int, size: int) -> list[tuple[int, int]]:
    """The replicates that a look adds, as blocks (begin, count) of at most `size`.

    They depend on nothing that comes later, so blocks of earlier looks are kept as they are.
    """
    begin, end = (0, first) if look == 0 else (first * 2 ** (look - 1), first * 2**look)
    return [(at, min(size, end - at)) for at in range(begin, end, size)]
