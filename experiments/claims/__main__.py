"""`python -m experiments.claims`: the table of claims from results/; with a folder, its tables."""

from __future__ import annotations

import sys
from pathlib import Path

from experiments.claims.register import claims_table
from experiments.claims.tables import all_tables
from experiments.output.terminal import show
from experiments.study.result_folder import CELLS
from sim.errors import InputError


def main(arguments: list[str]) -> int:
    """Print the claims of a folder of result folders, or the tables of one result folder."""
    folder = Path(arguments[0] if arguments else "results")
    try:
        show(all_tables(folder) if (folder / CELLS).exists() else claims_table(folder))
    except InputError as error:
        show(f"Error: {error}", error=True)
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
