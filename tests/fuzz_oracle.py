"""What must hold after any command, each in one function that returns what is wrong."""

from __future__ import annotations

import csv
import json
import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from xml.etree import ElementTree

from PIL import Image

BEFORE = ("playing: ", "Runs code from ")  # how far a run is, and whose code it runs
MOST_LINES, MOST_CHARACTERS = 12, 3000
NOT_A_NUMBER = re.compile(r"(?<![\w.+])[-+]?(nan|inf|infinity)(?![\w.])", re.IGNORECASE)
MINUS_ZERO = re.compile(r"(?<![\w.])[-\u2212]0(\.0+)?(?![\w.]|\.\d)")
FORMULA = re.compile(r"\s*[=+\-@]")
HIDDEN = {"Cc", "Cf", "Cs", "Zl", "Zp"}  # controls, direction marks, lone surrogates, breaks


@dataclass(frozen=True)
class Outcome:
    """What a command did: `before` and `after` are the contents of its folder and those around."""

    code: int
    out: str
    err: str
    trouble: str | None  # an exception that nobody caught, or a signal
    before: dict[str, bytes | str | None]
    after: dict[str, bytes | str | None]

    @property
    def new(self) -> list[str]:
        return sorted(set(self.after) - set(self.before))


def crash(done: Outcome) -> Iterator[str]:
    """A traceback, an exception that nobody caught, the end of the interpreter."""
    if done.trouble:
        yield f"crash: {done.trouble}"
    elif "Traceback" in done.out + done.err:
        yield "crash: a traceback is shown"


def wrong_message(done: Outcome) -> Iterator[str]:
    """A refusal is one short message in print: Error, or the form of usage."""
    if done.code == 0:
        return
    lines = done.err.splitlines(keepends=True)
    start = next((i for i, s in enumerate(lines) if s.startswith(("Error: ", "Usage: "))), None)
    if start is None:
        yield f"message: exit code {done.code} and no message: {done.err[-300:]!r}"
        return
    if any(not line.startswith(BEFORE) for line in lines[:start]):
        yield f"message: something stands before it: {done.err[:300]!r}"
    said = "".join(lines[start:])
    if said.count("\n") > MOST_LINES or len(said) > MOST_CHARACTERS:
        yield f"message: {said.count(chr(10))} lines, {len(said)} characters: {said[:200]!r}"
    if done.out:
        yield f"message: refused, and printed an answer as well: {done.out[:200]!r}"


def hidden_characters(done: Outcome) -> Iterator[str]:
    """Controls and direction marks reach neither terminal nor tables."""
    shown = {"output": done.out, "message": done.err}
    shown |= {name: _text(done, name) for name in _written(done, ".csv", ".json", ".html", ".toml")}
    for where, text in shown.items():
        found = {c for c in text if c not in "\n" and unicodedata.category(c) in HIDDEN}
        if found:
            yield f"hidden characters: {sorted(map(ascii, found))} in the {where}"


def odd_numbers(done: Outcome) -> Iterator[str]:
    """No answer holds what is no number, or a zero with a minus."""
    shown = {"output": done.out} if done.code == 0 else {}
    shown |= {name: _text(done, name) for name in _written(done, ".csv", ".json")}
    for where, text in shown.items():
        for pattern in (NOT_A_NUMBER, MINUS_ZERO):
            if found := pattern.search(text):
                near = text[max(found.start() - 60, 0) : found.end() + 20]
                yield f"odd number: {found[0]!r} in the {where}: {near!r}"


def formulas(done: Outcome) -> Iterator[str]:
    """No cell of a table is a formula to a spreadsheet."""
    for name in _written(done, ".csv"):
        for cell in (c for row in csv.reader(_text(done, name).splitlines()) for c in row):
            if FORMULA.match(cell) and not _is_number(cell):
                yield f"formula: {cell!r} in {name}"
                break


def left_behind(done: Outcome) -> Iterator[str]:
    """What was there keeps its bytes; a refusal leaves nothing but what its message names."""
    for name, content in done.before.items():
        if name not in done.after:
            yield f"destroyed: {name} has gone"
        elif done.after[name] != content:
            yield f"destroyed: {name} is another"
    if done.code != 0:
        unsaid = [n for n in done.new if _top(n) not in done.err]
        if unsaid:
            yield f"left behind: {unsaid[:5]}"


def missing_result(done: Outcome, promised: tuple[str, ...], as_json: bool) -> Iterator[str]:
    """Exit code 0 means an answer, and each promised file there and readable as what it is."""
    if done.code != 0:
        return
    if not done.out.strip():
        yield "no result: exit code 0 and nothing printed"
    if as_json:
        yield from _unread("the output", ".json", lambda: _strict_json(done.out))
    for name in promised:
        if not any(new == name or new.startswith(name + "/") for new in done.new):
            yield f"no result: exit code 0 and no {name}"
    wanted = {_top(name) for name in promised}
    if extra := [name for name in done.new if _top(name) not in wanted]:
        yield f"left behind: {extra[:5]} beside the result"


def unreadable(done: Outcome, above: Path) -> Iterator[str]:
    """Every new file opens as its type says."""
    for name in done.new:
        path = above / name
        if path.is_file():
            yield from _unread(name, path.suffix.lower(), lambda path=path: _open(path))


def broken_rules(
    done: Outcome, above: Path, promised: tuple[str, ...], as_json: bool
) -> Iterator[str]:
    """All that is wrong, one line each."""
    yield from crash(done)
    yield from wrong_message(done)
    yield from hidden_characters(done)
    yield from odd_numbers(done)
    yield from formulas(done)
    yield from left_behind(done)
    yield from missing_result(done, promised, as_json)
    yield from unreadable(done, above)


def _open(path: Path) -> None:
    match path.suffix.lower():
        case ".png" | ".gif":
            with Image.open(path) as image:
                image.load()
        case ".svg":
            ElementTree.parse(path)
        case ".pdf":
            content = path.read_bytes()
            if not (content.startswith(b"%PDF-") and content.rstrip().endswith(b"%%EOF")):
                raise ValueError("no PDF")
        case ".json":
            _strict_json(path.read_text("utf-8"))
        case ".csv":
            with path.open(newline="", encoding="utf-8") as stream:
                rows = list(csv.reader(stream))
            if len({len(row) for row in rows}) != 1:
                raise ValueError("rows of several lengths")


def _strict_json(text: str) -> None:
    def refuse(word: str) -> None:
        raise ValueError(f"JSON holds {word}")

    json.loads(text, parse_constant=refuse)


def _unread(name: str, kind: str, read: object) -> Iterator[str]:
    try:
        read()  # type: ignore[operator]
    except Exception as error:
        yield f"no result: {name} does not read as {kind}: {type(error).__name__}: {error}"


def _written(done: Outcome, *suffixes: str) -> list[str]:
    new = [name for name in done.new if Path(name).suffix.lower() in suffixes]
    return [name for name in new if done.after[name] is not None]


def _text(done: Outcome, name: str) -> str:
    content = done.after[name]
    return content.decode("utf-8", "replace") if isinstance(content, bytes) else ""


def _is_number(cell: str) -> bool:
    try:
        float(cell)
    except ValueError:
        return False
    return True


def _top(name: str) -> str:
    """The entry of the folder that a file belongs to; outside the folder, its whole name."""
    parts = name.split("/")
    return parts[1] if parts[0] == "work" and len(parts) > 1 else name
