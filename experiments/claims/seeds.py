"""`python -m experiments.claims.seeds`: every stored claim again, from other seeds.

Each stored study is played again with a share of its balls and rallies for each seed, and the
claims are read from that run as they are from the stored one. The table holds, for each claim and
seed, its words and, where it is one number, that number with its interval; the first seed is the
stored run itself.
"""

from __future__ import annotations

import io
import re
import tempfile
from collections.abc import Iterator
from contextlib import redirect_stdout
from pathlib import Path
from typing import Any

import click
import pandas as pd

from experiments.claims.register import CLAIMS, Claim
from experiments.output.tables import write_table
from experiments.report.run import run_study
from experiments.study.file import changed_study, load_study

SEEDS = (2027, 2028, 2029, 2030)
SHARE = 0.02
# Claims about how answers scatter over many worlds or cells of a map: minutes for each seed.
LEFT_OUT = (
    "sensitivity",
    "whole-points",
    "directions",
    "best-place",
    "turning",
    "one-at-a-time",
    "against-whom",
    "learned",
)
FEWEST = 40
SIZES = ("placed_balls", "recovery_balls", "rallies")
TABLE = "seeds.csv"
NUMBER = re.compile(r"^([+-]?[0-9.]+) \(([+-]?[0-9.]+) to ([+-]?[0-9.]+)\)(?:, (.*))?$")


def claimed(claim: Claim, folder: Path, seed: int, size: float) -> dict[str, Any]:
    """What a claim says by one folder: its text and, where it is one number, that number."""
    text = claim.value(folder)
    found = NUMBER.match(text)
    numbers = [float(found[i]) for i in (1, 2, 3)] if found else [None, None, None]
    row = {"claim": claim.words, "folder": claim.folder, "seed": seed, "size": size, "says": text}
    return row | dict(zip(("estimate", "low", "high"), numbers, strict=True))


def again(results: Path, folder: str, seed: int, size: float, out: Path) -> Path:
    """Make a stored folder again from another seed, with a share of its balls and rallies."""
    if not (results / folder / "study.toml").exists():
        return _opponents_again(results / folder, seed, out)
    study = load_study(results / folder / "study.toml")
    sizes = {name: max(FEWEST, round(size * getattr(study, name))) for name in SIZES}
    fewer = changed_study(study, "a smaller run", **sizes, stroke_rows_per_cell=0, choices=None)
    return run_study(fewer, out, seed=seed, progress=False)


def _opponents_again(stored: Path, seed: int, out: Path) -> Path:
    """The losses against each opponent, by the command that makes them."""
    from experiments.command.main import main as command

    arguments = ["opponents", "--player", "college-man", "--seed", str(seed), "--out", str(out)]
    with redirect_stdout(io.StringIO()):
        command([*arguments, "--rallies", "100", "--quiet"], standalone_mode=False)
    return out


def rows(results: Path, seeds: tuple[int, ...], size: float) -> Iterator[dict[str, Any]]:
    """The rows of the table: the stored runs first, then each folder again for each seed."""
    by_folder: dict[str, list[Claim]] = {}
    for claim in (c for c in CLAIMS if c.folder not in LEFT_OUT):
        by_folder.setdefault(claim.folder, []).append(claim)
    for folder, claims in by_folder.items():
        stored = results / folder / "study.toml"
        first = load_study(stored).seed if stored.exists() else 3
        yield from (claimed(c, results / folder, first or 0, 1.0) for c in claims)
        share = size if stored.exists() else 1.0
        for seed in seeds:
            click.echo(f"{folder}, seed {seed}", err=True)
            with tempfile.TemporaryDirectory() as scratch:
                made = again(results, folder, seed, size, Path(scratch) / folder)
                yield from [claimed(c, made, seed, share) for c in claims]


@click.command()
@click.option("--results", type=click.Path(path_type=Path), default=Path("results"))
@click.option("--seeds", default=",".join(map(str, SEEDS)), show_default=True)
@click.option("--size", type=float, default=SHARE, show_default=True, help="Share of the rallies.")
def main(results: Path, seeds: str, size: float) -> None:
    """Every stored claim again from other seeds, into RESULTS/seeds.csv."""
    wanted = tuple(int(seed) for seed in seeds.split(","))
    table = pd.DataFrame(list(rows(results, wanted, size)))
    write_table(table, results / TABLE)
    click.echo(f"{len(table)} rows in {results / TABLE}")


if __name__ == "__main__":
    main()
