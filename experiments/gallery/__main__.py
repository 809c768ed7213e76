"""`python -m experiments.gallery [FOLDER]`: draw all pictures and write their page."""

from __future__ import annotations

import sys
from pathlib import Path

from experiments.gallery.page import write_gallery
from sim.errors import InputError


def main(arguments: list[str]) -> int:
    """Write the gallery and say where it is."""
    folder = Path(arguments[0] if arguments else "results/gallery")
    try:
        print(f"Gallery: {write_gallery(folder)}")
    except InputError as error:
        print(f"Error: {error}", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        print("Error: interrupted; pictures drawn so far are in place", file=sys.stderr)
        return 130
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
