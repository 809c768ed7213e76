"""What a study file says about its precision, and which looks at the data follow from it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field, Strict

from experiments.statistics.group_sequential import looks_within
from sim.errors import InputError

MOST_TIMES = 64  # the cap that holds if the study names none, in first looks


class Reached(BaseModel):
    """Where the looks of one setting ended; a run writes it, so that a re-run plays just that."""

    model_config = ConfigDict(extra="forbid", frozen=True, use_attribute_docstrings=True)
    replicates: Annotated[int, Strict()] = Field(ge=10)
    """Balls or rallies a cell that were played."""
    looks: Annotated[int, Strict()] = Field(ge=1)
    """Looks that were made: at n, 2n, 4n, ..."""
    most_replicates: Annotated[int, Strict()] = Field(ge=10)
    """The cap that held."""


def cap(first: int, most: int | None) -> int:
    """The most replicates that a setting may get which begins with `first`."""
    return MOST_TIMES * first if most is None else most


def require_looks(
    first: Mapping[str, int],
    precision: float | None,
    most: int | None,
    reached: Mapping[str, Reached] | None,
) -> None:
    """Refuse keys that contradict each other; `first` holds each setting's own number.

    Raises:
        InputError: a cap or reached sizes without a precision, a cap below the first look, or
            reached sizes that no looks lead to.
    """
    for name, value in (("most_replicates", most), ("reached", reached)):
        if value is not None and precision is None:
            raise InputError(f"{name} needs the key precision; add it, or leave {name} out")
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


def looks_allowed(first: int, precision: float | None, most: int | None) -> int:
    """How many looks a setting may get: known before the first one, as its intervals need it."""
    return 1 if precision is None else looks_within(first, cap(first, most))


def ranges(first: int, look: int, size: int) -> list[tuple[int, int]]:
    """The replicates that a look adds, as blocks (begin, count) of at most `size`.

    They depend on nothing that comes later, so blocks of earlier looks are kept as they are.
    """
    begin, end = (0, first) if look == 0 else (first * 2 ** (look - 1), first * 2**look)
    return [(at, min(size, end - at)) for at in range(begin, end, size)]
