"""Factors of a study: what is varied, by which design, and the points that follow.

A factor is one parameter of the players, the drives, the world or the place. A design turns the
factors into points: each point is the study with other values of them, played on the same chance.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from functools import lru_cache
from typing import Annotated, Any, Literal

import numpy as np
from pydantic import BaseModel, ConfigDict, Field, PrivateAttr, Strict, model_validator

from experiments.study.factor_names import (
    NAMED,
    OF_POLICIES,
    OF_SIDES,
    SURFACE,
    Stated,
    every_parameter,
)
from sim.errors import InputError, unknown_name

Number = Annotated[float, Strict()]
Whole = Annotated[int, Strict()]
DESIGNS = ("grid", "one-at-a-time", "latin-hypercube", "sobol", "sobol-indices")
GRID, ONE, HYPERCUBE, SOBOL, INDICES = DESIGNS
SAMPLED = (HYPERCUBE, SOBOL, INDICES)
MOST_POINTS = 100_000


class Factor(BaseModel):
    """One thing that is varied.

    Give its values (`levels`), or differences from the usual value (`plus`), or shares of it
    (`times`), or a range (`low` and `high`, with `steps` in a grid); with none of these, the range
    that `rally-recovery list players --parameters` states. `of` says whose: for what belongs to
    players.
    """

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)
    name: str = Field(json_schema_extra={"enum": list(NAMED)})
    of: Literal["studied", "opponent", "both"] = "both"
    levels: tuple[Number | str, ...] = ()
    plus: tuple[Number, ...] = ()
    times: tuple[Number, ...] = ()
    low: Number | None = None
    high: Number | None = None
    steps: Whole | None = Field(default=None, ge=2, le=1000)

    @model_validator(mode="after")
    def _one_way(self) -> Factor:
        given = [k for k in ("levels", "plus", "times") if getattr(self, k)]
        given += ["low and high"] if self.low is not None or self.high is not None else []
        if len(given) > 1:
            raise InputError(f"factor {self.name!r}: {' and '.join(given)} exclude each other")
        if (self.low is None) != (self.high is None):
            raise InputError(f"factor {self.name!r}: a range needs both low and high")
        if self.low is not None and self.high is not None and self.low >= self.high:
            raise InputError(f"factor {self.name!r}: low {self.low:g} is not below high")
        if self.name not in NAMED:
            raise unknown_name("factor", self.name, NAMED)
        if self.of != "both" and self.name not in OF_SIDES:
            raise InputError(f"factor {self.name!r} belongs to no side; leave out `of`")
        if self.name in OF_POLICIES and self.of != "opponent":
            raise InputError(
                f"factor {self.name!r}: the study names the studied player's policies with their"
                ' parameters; for the opponent\'s, give of = "opponent"'
            )
        wanted = str if self.name == SURFACE else float
        if (self.name == SURFACE and not self.levels) or not all(
            isinstance(v, wanted) for v in self.levels
        ):
            raise InputError(
                f"factor {self.name!r}: give names of surfaces as levels; all other factors are"
                " numbers"
            )
        return self

    @property
    def label(self) -> str:
        """The name of its column: whose, where that is one side, and the name."""
        return self.name if self.of == "both" else f"{self.of} {self.name}"

    @property
    def listed(self) -> int:
        """How many values are listed, 0 for a range."""
        return len(self.levels or self.plus or self.times)

    def value(self, coordinate: float, stated: Stated) -> float | str:
        """The value at a coordinate: an index of the list, or a share of the range from low."""
        if self.levels:
            return self.levels[int(coordinate)]
        if self.plus:
            return stated.value + self.plus[int(coordinate)]
        if self.times:
            return stated.value * self.times[int(coordinate)]
        low, high = self.range(stated)
        return low + coordinate * (high - low)

    def range(self, stated: Stated) -> tuple[float, float]:
        """The ends of the range: those given, else those stated.

        Raises:
            InputError: none are given and none are stated.
        """
        if self.low is not None and self.high is not None:
            return self.low, self.high
        if stated.low is None or stated.high is None:
            raise InputError(
                f"factor {self.name!r} has no stated range; give levels, or low and high"
            )
        return stated.low, stated.high


class Factors(BaseModel):
    """The factors of a study and the design that turns them into points.

    Designs: every combination (`grid`); each factor at the ends of its range or at its listed
    values, the others as they are (`one-at-a-time`); `points` points of a Latin hypercube or of a
    Sobol sequence; or the (factors + 2) x `points` points from which Sobol's indices of first and
    total order are estimated (`sobol-indices`, Saltelli et al. 2010, Comput. Phys. Commun. 181).
    `every_parameter` adds all parameters with a stated range that rallies depend on (of serves too,
    in a study whose points open with one), but for those in `leave_out`. Points are drawn with
    `sample_seed`, apart from the seed of the rallies.
    """

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)
    design: str = Field(default=GRID, json_schema_extra={"enum": list(DESIGNS)})
    points: Whole | None = Field(default=None, ge=2, le=MOST_POINTS)
    sample_seed: Whole = Field(default=1, ge=0, le=2**63 - 1)
    every_parameter: bool = False
    leave_out: tuple[str, ...] = ()
    outcomes: tuple[str, ...] = ()
    vary: tuple[Factor, ...] = ()
    _serves: bool = PrivateAttr(default=False)

    @model_validator(mode="after")
    def _sound(self) -> Factors:
        if self.design not in DESIGNS:
            raise unknown_name("design", self.design, DESIGNS)
        if (self.design in SAMPLED) != (self.points is not None):
            need = "needs" if self.design in SAMPLED else "has no"
            raise InputError(f"design {self.design!r} {need} `points`")
        if self.design in (SOBOL, INDICES) and self.points and self.points & (self.points - 1):
            raise InputError(
                f"points is {self.points}; a Sobol sequence is even over powers of two, so give one"
            )
        for name in self.leave_out:
            if name not in NAMED:
                raise unknown_name("factor to leave out", name, NAMED)
        if not self.all:
            raise InputError("no factor to vary; add [[factors.vary]] or every_parameter = true")
        labels = [f.label for f in self.all]
        twice = [name for name in labels if labels.count(name) > 1]
        if twice:
            raise InputError(f"factor {twice[0]!r} stands twice; give each once")
        for factor in self.all:
            self._fits(factor)
        if len(self.coordinates) > MOST_POINTS:
            raise InputError(f"{len(self.coordinates)} points; allowed: up to {MOST_POINTS}")
        return self

    def _fits(self, factor: Factor) -> None:
        if self.design == GRID and not factor.listed and factor.steps is None:
            raise InputError(
                f"factor {factor.name!r}: a grid needs levels, plus or times, or steps of its range"
            )
        if self.design != GRID and factor.steps is not None:
            raise InputError(f"factor {factor.name!r}: steps are for a grid")

    def with_serves(self, serves: bool) -> Factors:
        """The factors of a study whose points open with a serve, or of one whose points do not."""
        if serves == self._serves:
            return self
        out = self.model_copy()
        out._serves = serves
        return out

    @property
    def all(self) -> tuple[Factor, ...]:
        """The factors, those given first."""
        return _all(self)

    @property
    def coordinates(self) -> np.ndarray:
        """The points (n, factors): see `Factor.value`; NaN where a factor stays as it is."""
        return _points(self)[1]

    @property
    def roles(self) -> list[str]:
        """What each point is for: see `_one_by_one` and `_saltelli`; "" in grids and samples."""
        return _points(self)[0]

    def rows(self) -> list[tuple[str, Any]]:
        """The points made anew: (role, coordinates)."""
        made = {GRID: self._grid, ONE: self._one_by_one, INDICES: self._saltelli}
        if self.design in made:
            return list(made[self.design]())
        return [("", row) for row in self._listed(self._sample(len(self.all)))]

    def _grid(self) -> Iterator[tuple[str, Any]]:
        axes = [
            np.arange(f.listed) if f.listed else np.linspace(0.0, 1.0, f.steps or 2)
            for f in self.all
        ]
        for row in itertools.product(*axes):
            yield "", row

    def _one_by_one(self) -> Iterator[tuple[str, Any]]:
        """Each factor by itself; roles are its label."""
        for i, factor in enumerate(self.all):
            for coordinate in range(factor.listed) if factor.listed else (0.0, 1.0):
                row = np.full(len(self.all), np.nan)
                row[i] = coordinate
                yield factor.label, row

    def _saltelli(self) -> Iterator[tuple[str, Any]]:
        """Samples A and B, then for each factor A with that factor's column from B."""
        d = len(self.all)
        both = self._sample(2 * d)
        a, b = self._listed(both[:, :d]), self._listed(both[:, d:])
        for role, sample in (("A", a), ("B", b)):
            for row in sample:
                yield role, row
        for i, factor in enumerate(self.all):
            mixed = a.copy()
            mixed[:, i] = b[:, i]
            for row in mixed:
                yield factor.label, row

    def _sample(self, dimensions: int) -> np.ndarray:
        from scipy.stats import qmc  # slow to import

        rng = np.random.default_rng(self.sample_seed)
        if self.design == HYPERCUBE:
            return qmc.LatinHypercube(dimensions, rng=rng).random(self.points or 0)
        return qmc.Sobol(dimensions, scramble=True, rng=rng).random(self.points or 0)

    def _listed(self, unit: np.ndarray) -> np.ndarray:
        """The sample with listed factors turned to indices."""
        out = unit.copy()
        for i, factor in enumerate(self.all):
            if factor.listed:
                out[:, i] = np.minimum(unit[:, i] * factor.listed, factor.listed - 1) // 1
        return out


# Worked out once in each process, and not kept in the models, which travel with every task.
@lru_cache(maxsize=16)
def _all(factors: Factors) -> tuple[Factor, ...]:
    given = {f.name for f in factors.vary}
    names = every_parameter(factors._serves) if factors.every_parameter else ()
    more = (Factor(name=n) for n in names if n not in given and n not in factors.leave_out)
    return (*factors.vary, *more)


@lru_cache(maxsize=16)
def _points(factors: Factors) -> tuple[list[str], np.ndarray]:
    rows = factors.rows()
    coordinates = np.array([row for _, row in rows]).reshape(-1, len(factors.all))
    return [role for role, _ in rows], coordinates
