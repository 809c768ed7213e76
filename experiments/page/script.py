"""One text of the page's modules, of what they read and of the kernels: the script of a worker.

The modules stand in one scope, one after another, each below those that it imports; so no two may
give anything the same name, or the script does not start. It fetches and evaluates nothing; what
runs it must allow WebAssembly (`wasm-unsafe-eval` in a content policy).
"""

from __future__ import annotations

import base64
import json
import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from experiments.page.state import State
from sim.native.load import FOLDER
from sim.players import PLAYERS

ENTRY = Path(__file__).resolve().with_name("worker.mjs")
IMPORT = re.compile(r'^import \{[^}]*\} from "([^"]+)";\n', re.M)
COMMENT = re.compile(r"/\*\*.*?\*/\n?", re.S)
EXPORT = re.compile(r"^export (?=(async )?(class|const|function))", re.M)


def module_order(module: Path = ENTRY) -> list[Path]:
    """The modules that one needs, each below those that it imports, itself last."""
    order: list[Path] = []
    for name in IMPORT.findall(module.read_text(encoding="utf-8")):
        needed = module_order((module.parent / name).resolve())
        order += [path for path in needed if path not in order]
    return [*order, module]


def modules_text(module: Path = ENTRY) -> str:
    """A module and all that it needs in one scope, without their documentation and types."""
    text = "\n".join(path.read_text(encoding="utf-8") for path in module_order(module))
    for left_out in (COMMENT, IMPORT, EXPORT):
        text = left_out.sub("", text)
    return text


def script_text(people: Sequence[str] = tuple(PLAYERS)) -> str:
    """The whole script for some people: names of levels and paths of player files.

    In a script element of a page it stands as it is: no `</` is in it.

    Raises:
        InputError: a name or file that cannot be used.
    """
    code = base64.b64encode((FOLDER / "web.wasm").read_bytes()).decode("ascii")
    state = harmless_json(State(people).as_json())
    return f'"use strict";\n{{\n{modules_text()}\nserve(self, {state}, "{code}");\n}}\n'


def harmless_json(value: Any) -> str:
    """A value as JSON in plain letters that ends no element of a page."""
    text = json.dumps(value, separators=(",", ":"), ensure_ascii=True)
    return text.replace("<", r"\u003c")
