"""What `rally-recovery study` says when it is done: a small table, the findings, the files."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

from experiments.evidence.best_place.words import sentences as best_place_sentences
from experiments.report.apart import NUMBERS, POINTS, PURPOSE, Figure, apart_sentences, figures
from experiments.report.findings import Cell, Cells, findings
from experiments.report.where import where_level, where_sentences
from experiments.report.worlds import sentences
from experiments.study.race import looks_sentences
from experiments.study.result_folder import ALL_PLACES, ResultFolder
from experiments.study.setting_table import SERVE, is_rally, nearest_to_play

NARROW, GAP = 7, 2


def study_text(folder: Path, seed: int) -> str:
    """Tables and findings of a result folder, from its cells alone, what its worlds are, if it was
    played in some, how far the points move the best place, and where all is."""
    results = ResultFolder.read(folder)
    cells = results.rows
    said = [*apart_sentences(cells), *findings(cells), *sentences(results)]
    if not results.where.empty:
        said += where_sentences(results, where_level(results))
    said += best_place_sentences(folder)
    parts = ["\n".join(all_tables(cells)), "\n".join(f"- {f}" for f in said)]
    return "\n\n".join([*parts, where(folder, seed)])


def where(folder: Path, seed: int) -> str:
    """How exact the results are, if a precision was wished, where they are, how to get them."""
    exact = "".join(f"{said}\n" for said in looks_sentences(folder))
    return (
        f"{exact}Results (seed {seed}): {folder}\n"
        f"Read {folder / 'report.html'}; all numbers are in cells.csv, with intervals, the main"
        " ones in summary.json.\n"
        f"The same again: rally-recovery study {folder / 'study.toml'} --out OTHER-FOLDER"
    )


def all_tables(cells: list[Cell]) -> Iterator[str]:
    """The tables of a study; of whole points that open with a serve, those of three numbers."""
    apart = figures(found := Cells(cells))
    if not apart:
        yield from tables(cells)
    for number, of in apart.items():
        points = "points won of 100, and " if any(f.outcome == POINTS for f in of) else ""
        if number != next(iter(apart)):
            yield ""
        where = ", ".join(dict.fromkeys(f.place for f in of if f.place != SERVE))
        settings = ", ".join(dict.fromkeys(f.setting for f in of))
        yield (
            f"{NUMBERS[number]} ({settings}{f'; {where}' if where else ''}):"
            f" {points}balls reached in time of 100."
        )
        yield f"This is {PURPOSE[number]}."
        for level in found.values("level"):
            yield ""
            yield from apart_table(found, level, of)


def apart_table(found: Cells, level: str, of: list[Figure]) -> Iterator[str]:
    """The lines of one level's table of one number."""
    wide = max(len(f.head) for f in of) + GAP

    def value(policy: str, opponent: str, f: Figure) -> str:
        cell = found.get(f.setting, level, opponent, f.place, policy, f.outcome, f.own_stroke)
        return number(cell, f.factor)

    yield from rows_of(found, level, [f.head for f in of], wide, lambda p, o, i: value(p, o, of[i]))


def tables(cells: list[Cell]) -> Iterator[str]:
    """A table for each level: policies down, opponents across."""
    found = Cells(cells)
    settings = found.values("setting")
    setting = nearest_to_play(settings)
    columns = columns_of(found, setting)
    heads = [head for head, _, _ in columns]
    yield f"Setting: {setting}. {LEGEND if len(heads) > 2 else LEGEND_MISSED}"
    for level in found.values("level"):
        yield ""
        yield from table(found, setting, level, columns)


LEGEND_MISSED = (
    "Missed of 100 balls that landed in: from the corner, and over all places (the mean)."
)
LEGEND = LEGEND_MISSED + " Points won of 100 over all places."
Column = tuple[str, str, str]  # head, place, outcome


def columns_of(found: Cells, setting: str) -> list[Column]:
    """What the cells allow to show for each opponent."""
    held = found.values("place")
    places = [p for p in ("corner", ALL_PLACES) if p in held] or held[:1]
    out = [("corner" if p == "corner" else "overall", p, "missed_per_100") for p in places]
    if ALL_PLACES not in held and "corner" not in held:
        out = [(places[0][:NARROW], places[0], "missed_per_100")]
    if is_rally(setting):
        out.append(("points", places[-1], "points_won_per_100"))
    return out


def table(found: Cells, setting: str, level: str, columns: list[Column]) -> Iterator[str]:
    """The lines of one level's table."""

    def value(policy: str, opponent: str, column: int) -> str:
        _, place, outcome = columns[column]
        return number(found.get(setting, level, opponent, place, policy, outcome))

    yield from rows_of(found, level, [head for head, _, _ in columns], NARROW + GAP, value)


def rows_of(
    found: Cells, level: str, heads: list[str], wide: int, value: Callable[[str, str, int], str]
) -> Iterator[str]:
    """Policies down, and for each opponent these heads across; `value` of policy, opponent and
    column."""
    opponents, policies = found.values("opponent"), found.values("policy")
    width = max(len(level), *(len(p) for p in policies))
    block = len(heads) * wide
    yield f"{level:<{width}}" + "".join(f"{o[: block - GAP]:>{block}}" for o in opponents)
    yield " " * width + "".join(f"{head:>{wide}}" for head in heads) * len(opponents)
    for policy in policies:
        values = [value(policy, o, i) for o in opponents for i in range(len(heads))]
        if any(v != "-" for v in values):
            yield f"{policy:<{width}}" + "".join(f"{v:>{wide}}" for v in values)


def number(cell: Cell | None, factor: float = 1.0) -> str:
    """An estimate with one decimal, or a dash."""
    if cell is None or cell["estimate"] is None:
        return "-"
    return f"{factor * cell['estimate']:.1f}"
