"""The parameters that a study rests on, and the decisions that it names, as rows of text."""

from __future__ import annotations

import dataclasses
from collections import Counter
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from experiments.report.tables import MINUS
from experiments.scene.own_code import located
from experiments.study.result_folder import ResultFolder
from sim.ball import Ball, ball_parameters
from sim.envelope import DriveLimits
from sim.parameter import STATUSES, ParameterRow, parameter_rows
from sim.players import Player, ball_of, player_parameters
from sim.surface import surface
from sim.world import World
from strategies.catalogue import make_policy, make_shot_model, summary
from strategies.user_file import is_user_file

DIGITS = 4
OWN = "The user's own; its source is kept in this folder."


@dataclass(frozen=True)
class Parameter:
    """One parameter, with its value for each owner where they differ."""

    name: str
    about: str
    values: str
    unit: str
    bounds: str
    status: str
    source: str

    @property
    def is_assumed(self) -> bool:
        """Whether the value is chosen without a source, for one owner at least."""
        return "assumed" in self.status


def parameter_table(results: ResultFolder) -> list[tuple[str, list[Parameter]]]:
    """All parameters that the study rests on, in groups: players, limits of the angle, world."""
    study = results.study
    who: dict[str, Player] = {}
    for level in results.names("level"):
        with suppress(ValueError):  # not known any more
            who[level] = results.sides(level)[0]
    players = [list(player_parameters(player)) for player in who.values()]
    world = World(surface=surface(study.get("surface", "hard")))
    balls = [
        [dataclasses.replace(row, owner=level) for row in ball_parameters(ball_of(player))]
        for level, player in who.items()
    ] or [list(ball_parameters(Ball()))]
    around = [
        *([row] for part in (world, world.surface) for row in parameter_rows("", part)),
        *map(list, zip(*balls, strict=True)),
        *([row] for row in parameter_rows("", world.air)),
    ]
    return [
        ("Players", [merged(list(rows)) for rows in zip(*players, strict=True)]),
        ("Limits of the angle", limit_rows(results)),
        ("Ball, air and surface", [merged(rows) for rows in around]),
        ("Policies and shots", decision_parameters(results)),
    ]


def limit_rows(results: ResultFolder) -> list[Parameter]:
    """The limits of the drives between which the angle is drawn."""
    limits = DriveLimits(**results.study.get("limits", {}))
    return [merged([row]) for row in parameter_rows("limits", limits)]


def decisions(results: ResultFolder) -> Iterator[tuple[str, Any]]:
    """Each policy and shot model that the study names: (words, object).

    A user's own, from a file, is not loaded for a report: its object is None. Charts are those of
    the folder.
    """
    study = results.study
    makers = (
        (make_policy, (*study.get("policies", ()), study.get("opponent_policy"))),
        (make_shot_model, (*study.get("opponents", ()), study.get("own_shots"))),
    )
    for make, words in makers:
        for text in dict.fromkeys(w for w in words if w):
            yield str(text), None if is_user_file(text) else make(located(text, results.path))


def decision_words(results: ResultFolder) -> list[tuple[str, str]]:
    """(display names, first sentence) of the policies and shot models, one line a kind."""
    names: dict[str, list[str]] = {}
    for text, made in decisions(results):
        about = OWN if made is None else summary(type(made))
        names.setdefault(about, []).append(text if made is None else made.name)
    return [(", ".join(dict.fromkeys(those)), about) for about, those in names.items()]


def decision_parameters(results: ResultFolder) -> list[Parameter]:
    """Parameters of the shot models and policies, each with its owner's name."""
    known = (made for _, made in decisions(results) if made is not None)
    rows = (row for made in known for row in parameter_rows(made.name, made))
    return [merged([dataclasses.replace(r, about=f"{r.owner}: {r.about}")]) for r in rows]


def merged(rows: list[ParameterRow]) -> Parameter:
    """One line for the same parameter of several owners."""
    first = rows[0]
    values = dict.fromkeys(_short(row.value) for row in rows)
    same = len(values) == 1
    named = "; ".join(f"{row.owner} {_short(row.value)}" for row in rows)
    low, high = min(row.low for row in rows), max(row.high for row in rows)
    return Parameter(
        first.name,
        first.about,
        _short(first.value) if same else named,
        "" if first.unit == "1" else first.unit,
        f"{_short(low)} to {_short(high)}",
        _joined(rows, "status"),
        _joined(rows, "source"),
    )


def _short(value: float) -> str:
    return f"{value:.{DIGITS}g}".replace("-", MINUS)


def _joined(rows: list[ParameterRow], field: str) -> str:
    """A text field of all rows: once if it is the same, else with whom it belongs to."""
    texts = list(dict.fromkeys(getattr(row, field) for row in rows))
    if len(texts) == 1:
        return texts[0]
    parts = []
    for text in texts:
        owners = ", ".join(row.owner for row in rows if getattr(row, field) == text)
        parts.append(f"{text} ({owners})" if text else "")
    return "; ".join(part for part in parts if part)


MIXED = "differs by level"


def status_of(parameter: Parameter) -> str:
    """The status of a parameter, MIXED where it is not the same for all owners."""
    return MIXED if "(" in parameter.status else parameter.status


def status_counts(
    groups: list[tuple[str, list[Parameter]]],
) -> list[tuple[str, int, dict[str, int]]]:
    """For each group of parameters and for all: (name, how many, how many of each status)."""
    counted = [(name, rows) for name, rows in groups if rows]
    counted.append(("All", [row for _, rows in groups for row in rows]))
    return [(name, len(rows), dict(Counter(map(status_of, rows)))) for name, rows in counted]


def statuses_of(counts: list[tuple[str, int, dict[str, int]]]) -> list[str]:
    """All statuses to show, those that every table knows first."""
    found = [name for _, _, those in counts for name in those]
    return list(dict.fromkeys((*STATUSES, *sorted(found, key=MIXED.__eq__))))


def sources(groups: list[tuple[str, list[Parameter]]]) -> list[tuple[str, str, list[str]]]:
    """Where values come from: (source, status, the parameters), each source once, none left out
    but the ones that are assumed without any."""
    found: dict[tuple[str, str], list[str]] = {}
    for _, rows in groups:
        for row in rows:
            if row.source:
                found.setdefault((row.source, row.status), []).append(row.about)
    return [(source, status, names) for (source, status), names in found.items()]
