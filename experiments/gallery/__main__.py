"""`python -m experiments.gallery [FOLDER]`: draw all pictures and write their page."""

from __future__ import annotations

import sys
from pathlib import Path

from experiments.gallery.page import write_gallery
from experiments.output.terminal import show
from sim.errors import InputError


def main(arguments: list[str]) -> int:
    """Write the gallery and say where it is."""
    folder = Path(arguments[0] if arguments else "results/gallery")
    try:
        show(f"Gallery: {write_gallery(folder)}")
    except InputError as error:
        show(f"Error: {error}", error=True)
        return 2
    except KeyboardInterrupt:
        show("Error: interrupted; pictures drawn so far are in place", error=True)
        return 130
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
