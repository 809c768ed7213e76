"""One text of the page's modules, of what they read and of the kernels: the script of a worker.

The modules stand in one scope, one after another, each below those that it imports; so no two may
give anything the same name, which `tests/test_page.py` holds them to. The text fetches and evaluates
nothing; what runs it must allow WebAssembly (`wasm-unsafe-eval` in a content policy).
"""

from __future__ import annotations

import base64
import json
import re
from collections.abc import Sequence
from pathlib import Path

from experiments.page.state import State
from sim.native.load import FOLDER
from sim.players import PLAYERS

HERE, ENTRY = Path(__file__).parent, "worker.mjs"
KERNELS_MODULE, WEB = FOLDER / "kernels.mjs", FOLDER / "web.wasm"
IMPORT = re.compile(r'^import \{[^}]*\} from "([^"]+)";\n', re.M)
EXPORT = re.compile(r"^export (?=(async )?(class|const|function))", re.M)


def module_order(entry: Path = HERE / ENTRY) -> list[Path]:
    """The modules that one needs, itself last; of a circle, which only functions may close, the
    order in which they are met."""
    order: list[Path] = []

    def add(path: Path, above: tuple[Path, ...]) -> None:
        if path in order or path in above:
            return
        for name in IMPORT.findall(path.read_text(encoding="utf-8")):
            add((path.parent / name).resolve(), (*above, path))
        order.append(path)

    add(entry.resolve(), ())
    return order


def modules_text() -> str:
    """All modules in one scope."""
    texts = [path.read_text(encoding="utf-8") for path in module_order()]
    return "\n".join(EXPORT.sub("", IMPORT.sub("", text)) for text in texts)


def script_text(people: Sequence[str] = tuple(PLAYERS)) -> str:
    """The whole script for some people: names of levels and paths of player files.

    In a script element of a page it stands as it is: no `</` is in it.

    Raises:
        InputError: a name or file that cannot be used.
    """
    state = json.dumps(State(people).as_json(), separators=(",", ":"), ensure_ascii=True)
    state = state.replace("<", r"\u003c")
    code = base64.b64encode(WEB.read_bytes()).decode("ascii")
    return f'"use strict";\n{{\n{modules_text()}\nserve(self, {state}, "{code}");\n}}\n'
