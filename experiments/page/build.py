"""The offline page: one HTML file with all that it shows and computes with.

It loads nothing: its content policy allows its own style and script by their hashes, a worker and
pictures that it makes itself, and no connection at all. Whatever people wrote is escaped where it
stands in the page, and set as plain text where the script shows it.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Sequence
from importlib import resources
from pathlib import Path

from experiments.drawing import style
from experiments.edition import this_edition
from experiments.output.files import write_output
from experiments.output.templates import engine_of
from experiments.page.facts import facts
from experiments.page.script import harmless_json, modules_text, script_text
from experiments.page.texts import page_texts
from experiments.scene.own_texts import ENGLISH
from experiments.scene.rule_words import rule_for, rule_told
from sim.errors import InputError
from sim.players import PLAYERS

MOST_BYTES = 1_000_000
SCREEN = Path(__file__).resolve().parent / "screen"
COLOURS = {
    name.lower(): getattr(style, name)
    for name in ("ORANGE", "SKY", "GREEN", "BLUE", "VERMILLION", "INK", "SOFT", "FAINT", "GROUND")
}


def page_html(
    files: Sequence[str] = (), texts_file: Path | None = None, language: str = ENGLISH
) -> str:
    """The page for all levels and the players of some files, the first of whom waits at first, in
    one of our languages.

    Raises:
        InputError: a file that cannot be used, two players of one name, or too many players.
    """
    people = list(dict.fromkeys([*PLAYERS, *files]))
    known = facts(people, *files[:1])
    texts = page_texts(texts_file, [person["name"] for person in known["people"]], language)
    css, script = _style(), _script()

    def named(name: str) -> str:
        return texts.get(f"names.{name}", name.replace("-", " "))

    rules = {level: rule_for(PLAYERS[level]) for level in PLAYERS}
    page = (
        engine_of("experiments.page", "screen")
        .get_template("page.html")
        .render(
            t=texts,
            facts=known,
            named=named,
            rules={k: rule_told(rule, texts, named) for k, rule in rules.items() if rule},
            policy=_policy(css, script),
            css=css,
            script=script,
            computing=script_text(people),
            facts_json=harmless_json(known),
            texts_json=harmless_json(texts),
            edition=this_edition(),
        )
    )
    if (size := len(page.encode())) > MOST_BYTES:
        raise InputError(
            f"the page would have {size:,} bytes, of at most {MOST_BYTES:,}; give fewer players"
        )
    return page


def write_page(path: Path, page: str) -> Path:
    """Write a page whole or not at all, over nothing but one of ours; returns its path.

    Raises:
        InputError: something else is there, or it cannot be written.
    """
    return write_output(path, page.encode(), "page")


def _style() -> str:
    """The style, with the colours of all our pictures."""
    named = "".join(f" --{name}: {colour};" for name, colour in COLOURS.items())
    text = resources.files("experiments.page").joinpath("screen", "page.css").read_text("utf-8")
    return f":root {{{named} }}\n{text}"


def _script() -> str:
    """The script that shows: its modules in one scope."""
    return f'"use strict";\n{{\n{modules_text(SCREEN / "main.mjs")}\nshow();\n}}\n'


def _policy(css: str, script: str) -> str:
    """The content policy of a page with this one style and this one script."""
    return "; ".join(
        (
            "default-src 'none'",
            f"script-src {_hash(script)} 'wasm-unsafe-eval'",
            "worker-src blob:",
            f"style-src {_hash(css)}",
            "img-src blob: data:",
            "base-uri 'none'",
            "form-action 'none'",
        )
    )


def _hash(text: str) -> str:
    digest = hashlib.sha256(text.encode()).digest()
    return f"'sha256-{base64.b64encode(digest).decode('ascii')}'"
