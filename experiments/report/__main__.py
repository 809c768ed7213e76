"""`python -m experiments.report FOLDER ...`: summary, figures and report again, from the tables."""

from __future__ import annotations

import sys
from pathlib import Path

from experiments.output.terminal import told
from experiments.report.run import show_again


def main(folders: list[str]) -> str:
    """Show result folders again; returns where their reports are."""
    return "\n".join(str(show_again(Path(folder))) for folder in folders)


if __name__ == "__main__":
    sys.exit(told(lambda: main(sys.argv[1:])))
