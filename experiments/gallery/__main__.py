"""`python -m experiments.gallery [FOLDER]`: draw all pictures and write their page."""

from __future__ import annotations

import sys
from pathlib import Path

from experiments.gallery.page import write_gallery
from experiments.output.terminal import told


def main(arguments: list[str]) -> str:
    """Write the gallery and say where it is."""
    return f"Gallery: {write_gallery(Path(arguments[0] if arguments else 'results/gallery'))}"


if __name__ == "__main__":
    sys.exit(told(lambda: main(sys.argv[1:]), "pictures drawn so far are in place"))
