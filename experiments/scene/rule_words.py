"""A short rule of weights as one sentence that a coach can say, in our languages, and the rule that
comes with the program for a level.

The words are those of `data/rule_texts*.toml`; the texts of page and handout hold them, too, so
that people can put their own in their place.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from functools import cache
from importlib import resources

import numpy as np

from experiments.scene.own_texts import ENGLISH, flat, unbroken
from experiments.scene.sides import NEAR_MIDDLE_M
from experiments.scene.told_units import in_imperial, inches, length
from experiments.scene.units import YARD_M
from sim.contracts import bodies_at, contacts_at
from sim.court import HALF_LENGTH_M
from sim.envelope import EXTREME
from sim.players import Player
from sim.records import FOREHAND
from strategies.learned.reading import SHIPPED, Learning, read_learning
from strategies.recovery.learned import Weighted, stand_as_learned


def rule_template(language: str = ENGLISH) -> str:
    """The table of a rule's texts in one of LANGUAGES, as a file of texts has it."""
    name = "rule_texts.toml" if language == ENGLISH else f"rule_texts_{language}.toml"
    return resources.files("experiments.data").joinpath(name).read_text("utf-8")


@cache
def _english() -> Mapping[str, str]:
    return dict(flat(tomllib.loads(rule_template()))) | {"decimal": "."}


def rule_for(me: Player) -> Learning | None:
    """The short rule that comes with the program for who is of that player's level, if any."""
    name = f"rule-{me.base_level}"
    return read_learning(name) if name in SHIPPED else None


def rule_told(
    rule: Learning, texts: Mapping[str, str], named: Callable[[str], str]
) -> tuple[str, str]:
    """A rule that comes with the program as a sentence, and how it was found and where it fails, in
    `texts` by key; `named` says what a level, a hitter or a surface is called. A text may be ""."""
    found = rule.found
    sentence = unbroken(rule_sentence(rule.weights, found["depth_m"], texts))
    hitter, loss = max(found["loses_in_100"].items(), key=lambda item: item[1][0])
    where = {"level": named(found["level"]), "surface": named(found["surface"])}
    where |= {"count": str(len(found["hitters"])), "hitter": named(hitter)}
    about = texts["learned.found"].format(**where, loss=_number(loss[0], texts))
    return f"{sentence[:1].upper()}{sentence[1:]}." if sentence else "", unbroken(about)


def rule_sentence(
    weights: Mapping[str, float], depth_m: float, texts: Mapping[str, str] | None = None
) -> str:
    """The rule of the weights `opponent`, `back` and `back_weak` (those not named are 0), for who
    was trained from a waiting depth `depth_m` behind the baseline; in English where no `texts` by
    key are given. Lengths are told in the units that are told (`scene.told_units`)."""
    texts = _english() if texts is None else texts
    away, back, weak = (weights.get(name, 0.0) for name in ("opponent", "back", "back_weak"))
    key = "other_side" if away > 0 else "same_side" if away < 0 else "middle"
    key += "_yard" if away and in_imperial() else ""
    share = {"cm": f"{abs(100 * away):.0f}", "inches": inches(abs(away) * YARD_M)}
    parts = [texts[f"learned.{key}"].format(**share)]
    if back or weak:
        full = _behind(depth_of(weights, depth_m, 1.0), texts)
        parts.append(texts["learned.wait"].format(where=full))
    if weak:
        stretched = _behind(depth_of(weights, depth_m, 0.0), texts)
        key = "come_in" if weak < 0 else "go_back"
        parts.append(texts[f"learned.{key}"].format(where=stretched))
    return "; ".join(filter(None, parts))


def _behind(depth_m: float, texts: Mapping[str, str]) -> str:
    near = abs(depth_m) < NEAR_MIDDLE_M
    key = "at" if near else "behind" if depth_m > 0 else "inside"
    return texts[f"learned.{key}"].format(metres=_length(abs(depth_m), texts))


def _length(metres: float, texts: Mapping[str, str]) -> str:
    told = length(metres).replace(".", texts["decimal"])
    return told.replace(" ", "\u00a0") if in_imperial() else told


def _number(value: float, texts: Mapping[str, str]) -> str:
    return f"{value:.1f}".replace(".", texts["decimal"])


def depth_of(weights: Mapping[str, float], depth_m: float, quality: float) -> float:
    """How far behind the baseline the rule waits against a contact of that quality (m)."""
    out, one = np.empty((1, 3)), np.ones(1)
    line = HALF_LENGTH_M + depth_m
    contact = contacts_at(0.0 * one, HALF_LENGTH_M * one, one, np.array([FOREHAND]), quality)
    body, extremes = bodies_at(0.0 * one, -line * one), np.zeros((1, 2), EXTREME)
    numbers = Weighted("rule", weights).numbers
    stand_as_learned(body, contact, np.inf * one, extremes, depth_m, 1.0, numbers, out)
    return float(-out[0, 1] - HALF_LENGTH_M)
