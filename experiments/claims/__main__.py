"""`python -m experiments.claims`: the table of claims from results/; with a folder, its tables."""

from __future__ import annotations

import sys
from pathlib import Path

from experiments.claims.register import claims_table
from experiments.claims.tables import all_tables
from experiments.output.terminal import told
from experiments.study.folder_files import CELLS, held

HEAD = """# Tables of a study

From `{folder}`, by `python -m experiments.claims {folder}`. The pages explain the columns."""


def main(arguments: list[str]) -> str:
    """The claims of a folder of result folders, or the tables of one result folder."""
    folder = Path(arguments[0] if arguments else "results")
    if not held(folder, CELLS).exists():
        return claims_table(folder)
    return f"{HEAD.format(folder=folder.as_posix())}\n\n{all_tables(folder)}"


if __name__ == "__main__":
    sys.exit(told(lambda: main(sys.argv[1:])))
