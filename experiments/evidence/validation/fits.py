"""The register of fits: which parameter was fitted to which figure."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator

from experiments.evidence.validation.typical import SERVE, SHOTS
from experiments.scene.parameters import parameters
from sim.parameter import parameter_rows


@dataclasses.dataclass(frozen=True)
class Fit:
    """A fitted parameter and one figure that it was fitted to (a row's key, or words)."""

    owner: str
    name: str
    figure: str


def fits() -> Iterator[Fit]:
    """Every fit that the parameters record, those of the typical game's strokes included."""
    typical = (r for part in (SHOTS, SERVE) for r in parameter_rows("typical strokes", part))
    rows = [*parameters(None), *typical]
    for row in rows:
        for figure in filter(None, (part.strip() for part in row.fitted_to.split(";"))):
            yield Fit(row.owner, row.name, figure)


def fitted_figures() -> set[str]:
    """The figures that set something in the model, and so cannot check it."""
    return {fit.figure for fit in fits()}
