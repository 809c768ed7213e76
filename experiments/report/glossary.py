"""What the words of a study mean: a short list, and sentences that explain each at first use."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Sequence
from functools import cache
from importlib import resources

from experiments.page.texts import page_texts
from experiments.scene.sides import NEAR_MIDDLE_M, side
from experiments.study.result_folder import ResultFolder
from sim.court import HALF_LENGTH_M


@cache
def _words() -> dict[str, dict[str, str]]:
    text = resources.files("experiments.data").joinpath("report_words.toml").read_text("utf-8")
    return tomllib.loads(text)


def is_own(policy: str) -> bool:
    """Whether a policy, by its name in results, is one of a user's own."""
    return policy.split(" ")[0] not in _words()["policies"]


def policy_words(policy: str) -> str:
    """Where a way of recovering waits."""
    if is_own(policy):
        return "as its own code has it"
    return _words()["policies"][policy.split(" ")[0]]


def opponent_words(opponent: str) -> str:
    """How an opponent hits, to go on "one"; a user's own by its name."""
    first, _, rest = opponent.partition(" ")
    said = _words()["opponents"].get(first) or page_texts().get(f"names.{first}")
    if said is None:
        return f"who plays as “{opponent}”"
    return f"{said} ({rest})" if rest else said


def along(y_m: float) -> str:
    """Where an opponent strikes, along the court."""
    deep = y_m - HALF_LENGTH_M
    if abs(deep) < NEAR_MIDDLE_M:
        return "at the far baseline"
    return f"{abs(deep):.1f} m {'behind' if deep > 0 else 'inside'} the far baseline"


Entry = tuple[str, str]  # a word, and what it means


def glossary(results: ResultFolder) -> list[tuple[str, list[Entry]]]:
    """The words that a reader of this study meets, under heads."""
    policies = dict.fromkeys(p.split(" ")[0] for p in results.policies)
    settings = _words()["settings"]
    groups = {
        "Words": [(w, m) for w, m in _words()["terms"].items() if w not in policies],
        "Ways of recovering": [(p, policy_words(p)) for p in policies],
        "Opponents, as strong as the player": [
            (o, opponent_words(o)) for o in results.names("opponent")
        ],
        "How it is played": [(s, settings[s]) for s in results.names("setting") if s in settings],
        "Where the opponent strikes": [
            (name, f"{side(x)} as you face the net, {along(y)}")
            for name, (x, y, _) in results.places.items()
        ],
    }
    return [(head, entries) for head, entries in groups.items() if entries]


def explained(sentences: Sequence[str], results: ResultFolder) -> Iterator[str]:
    """The sentences, with the meaning of each word of the glossary in brackets at its first use,
    where no bracket follows already."""
    meanings = dict[str, str]()
    for _, entries in glossary(results):
        for word, meaning in entries:
            meanings.setdefault(word, meaning)
    longest = sorted(meanings, key=len, reverse=True)
    known = re.compile(rf"(?<![\w-])({'|'.join(map(re.escape, longest))})( 0\.\d\d)?(?![\w-])")

    def said(found: re.Match[str]) -> str:
        meaning = meanings.pop(found[1], None)
        follows = found.string[found.end() : found.end() + 2]
        return found[0] if meaning is None or follows == " (" else f"{found[0]} ({meaning})"

    for sentence in sentences:
        yield known.sub(said, sentence)
