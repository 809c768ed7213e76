"""`python -m experiments.evidence.same_digits`: the table of all forms of the kernels.

Builds objects for other processors (the extra `kernels`), compiles just in time for them, and runs
the WebAssembly module in Node.js: about ten minutes.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from pathlib import Path

from experiments.evidence.same_digits.forms import (
    PROCESSORS,
    Form,
    build_for,
    built,
    just_in_time,
    web,
)
from experiments.evidence.same_digits.table import recorded, row_of, table_json, table_text
from experiments.output.numbers import json_text
from experiments.output.terminal import say, told

SITUATIONS, SEED = 2000, 2026


def forms(objects: Path) -> list[Form]:
    """All that are compared with the shipped object; `objects` holds those built for the others."""
    compiled = [just_in_time(name) for name in (None, *PROCESSORS)]
    return [*compiled, *(built(objects, name) for name in PROCESSORS), web()]


def main(arguments: list[str]) -> str:
    parser = argparse.ArgumentParser(prog="python -m experiments.evidence.same_digits")
    parser.add_argument("--situations", type=int, default=SITUATIONS)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--json", action="store_true", help="numbers in place of a table")
    asked = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        found = recorded(folder, asked.situations, asked.seed)
        say(f"{found.calls} calls recorded.", error=True)
        build_for(PROCESSORS, folder / "objects")
        rows = []
        for form in forms(folder / "objects"):
            rows.append(row_of(form, folder, found))
            say(f"{form.name}: {rows[-1].differing} numbers differ.", error=True)
    return json_text(table_json(found, rows)) if asked.json else table_text(found, rows)


if __name__ == "__main__":
    sys.exit(told(lambda: main(sys.argv[1:])))
