"""Text from people: what a name may hold, and how any text is shown without doing anything."""

from __future__ import annotations

import re
import unicodedata

from sim.errors import InputError

# Control characters, marks of direction and the like, halves of a pair, ends of line and paragraph.
UNSEEN = frozenset({"Cc", "Cf", "Cs", "Zl", "Zp"})
LONGEST_WORD = 400  # characters without a space that a message still cites whole


def is_unseen(character: str) -> bool:
    """Whether a character shows nothing and may change how what follows is shown."""
    return unicodedata.category(character) in UNSEEN


def checked_line(what: str, text: str) -> str:
    """The text, which may stand in tables, pictures, pages and on terminals as it is.

    Raises:
        InputError: it holds a character that is not seen; `what` names the text.
    """
    if any(map(is_unseen, text)):
        raise InputError(
            f"{what} holds a control character or a mark of direction: {text!a}; give one line"
            " of plain text"
        )
    return text


def visible(text: str, but: str = "\n") -> str:
    """The text with every character that is not seen, save those in `but`, as its escape."""
    return "".join(ascii(c)[1:-1] if c not in but and is_unseen(c) else c for c in text)


def cited(text: str) -> str:
    """A message as it is shown: visible, and of what it cites no word too long to be read."""

    def cut(word: re.Match[str]) -> str:
        return f"{word[0][:100]}... ({len(word[0])} characters) ...{word[0][-50:]}"

    return re.sub(rf"\S{{{LONGEST_WORD},}}", cut, visible(text))
