"""What `rally-recovery study` says when it is done: a small table, the findings, the files."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from experiments.report.findings import Cell, Cells, findings
from experiments.report.worlds import sentences
from experiments.study.precision import sentences_of
from experiments.study.result_folder import ALL_PLACES, ResultFolder

NARROW, GAP = 7, 2


def study_text(folder: Path, seed: int) -> str:
    """Tables and findings of a result folder, from its cells alone, what its worlds are, if it was
    played in some, and where all is."""
    results = ResultFolder.read(folder)
    cells = results.rows
    said = [*findings(cells), *sentences(results)]
    parts = ["\n".join(tables(cells)), "\n".join(f"- {f}" for f in said)]
    return "\n\n".join([*parts, where(folder, seed)])


def where(folder: Path, seed: int) -> str:
    """How exact the results are, if a precision was wished, where they are, how to get them."""
    exact = "".join(f"{said}\n" for said in sentences_of(folder))
    return (
        f"{exact}Results (seed {seed}): {folder}\n"
        f"Read {folder / 'report.html'}; all numbers are in cells.csv, with intervals, the main"
        " ones in summary.json.\n"
        f"The same again: rally-recovery study {folder / 'study.toml'} --out OTHER-FOLDER"
    )


def tables(cells: list[Cell]) -> Iterator[str]:
    """A table for each level: policies down, opponents across."""
    found = Cells(cells)
    settings = found.values("setting")
    setting = "rally" if "rally" in settings else settings[0]
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
    if setting == "rally":
        out.append(("points", places[-1], "points_won_per_100"))
    return out


def table(found: Cells, setting: str, level: str, columns: list[Column]) -> Iterator[str]:
    """The lines of one level's table."""
    opponents, policies = found.values("opponent"), found.values("policy")
    width = max(len(level), *(len(p) for p in policies))
    block = len(columns) * (NARROW + GAP)
    yield f"{level:<{width}}" + "".join(f"{o[: block - GAP]:>{block}}" for o in opponents)
    heads = "".join(f"{head:>{NARROW + GAP}}" for head, _, _ in columns)
    yield " " * width + heads * len(opponents)
    for policy in policies:
        values = [
            number(found.get(setting, level, opponent, place, policy, outcome))
            for opponent in opponents
            for _, place, outcome in columns
        ]
        if any(v != "-" for v in values):
            yield f"{policy:<{width}}" + "".join(f"{v:>{NARROW + GAP}}" for v in values)


def number(cell: Cell | None) -> str:
    """An estimate with one decimal, or a dash."""
    return "-" if cell is None or cell["estimate"] is None else f"{cell['estimate']:.1f}"
