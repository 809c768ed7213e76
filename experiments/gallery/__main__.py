"""`python -m experiments.gallery [FOLDER [NAME ...]]`: draw all pictures, or those named, and write
their page."""

from __future__ import annotations

import sys
from pathlib import Path

from experiments.gallery.page import write_gallery
from experiments.output.terminal import told


def main(arguments: list[str]) -> str:
    """Write the gallery and say where it is."""
    folder, *drawn = arguments or ["results/gallery"]
    return f"Gallery: {write_gallery(Path(folder), drawn=drawn)}"


if __name__ == "__main__":
    sys.exit(told(lambda: main(sys.argv[1:]), "pictures drawn so far are in place"))
