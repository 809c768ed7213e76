"""What `rally-recovery rule` says: the rules, what each loses, and the one to teach."""

from __future__ import annotations

from typing import Any

import tomli_w

from experiments.learning.training.answer import HEAD
from experiments.learning.training.rule import CANDIDATES, WITHIN, Distilled, Rule
from experiments.own_packages import own_version
from experiments.scene.rule_words import rule_sentence
from experiments.statistics.estimates import Difference


def rule_text(found: Distilled) -> str:
    """The whole answer."""
    one = found.shortest
    near = found.lost(one) <= WITHIN
    lines = [
        f"The rule: {rule_sentence(one.weights, found.goal.study.depth_m)}.",
        f"It loses {found.lost(one):.1f} points in 100 to the learned policy"
        + ("" if near else f", more than the {WITHIN:g} that a rule may lose")
        + ".",
        "",
        f"Points in 100 that a rule loses to {found.learning.title!r}",
        f"(95 %, all together; {found.points} points held out against each hitter):",
        *(line for rule in found.rules for line in _rule(rule)),
        "",
        "A model's result, for this level and these hitters. Try a new spot easy first; stop on"
        " pain.",
    ]
    return "\n".join(lines)


def _rule(rule: Rule) -> list[str]:
    told = f"  {len(rule.weights)} number{'s' if len(rule.weights) > 1 else ''}: "
    head = told + ", ".join(f"{name} {value:g}" for name, value in rule.weights.items())
    return [head, *(f"     {hitter:<16}{_said(loss)}" for hitter, loss in rule.loss.items())]


def _said(loss: Difference) -> str:
    value, low, high = _numbers(loss)
    return f"{value:+.1f} ({low:+.1f} to {high:+.1f})"


def _numbers(loss: Difference) -> list[float]:
    return [round(100.0 * v, 2) + 0.0 for v in (loss.value, loss.low, loss.high)]


def rule_json(found: Distilled) -> dict[str, Any]:
    """The same as numbers."""
    return {
        "of": found.learning.title,
        "rule": found.shortest.weights,
        "sentence": rule_sentence(found.shortest.weights, found.goal.study.depth_m),
        "depth_m": found.goal.study.depth_m,
        "loss_per_100": found.lost(found.shortest),
        "rules": [
            {
                "weights": rule.weights,
                "loss_per_100": found.lost(rule),
                "loss_by_hitter_per_100": {h: _numbers(d) for h, d in rule.loss.items()},
            }
            for rule in found.rules
        ],
        "points": found.points,
        "seed": found.seed,
    }


def rule_file(found: Distilled) -> str:
    """The file of weights of the shortest good rule, with how it was found."""
    one = found.shortest
    kept = {k: v for k, v in found.learning.found.items() if k not in ("held_out", "rounds")}
    what = {
        "title": rule_sentence(one.weights, found.goal.study.depth_m),
        "weights": one.weights,
        "found": {
            **kept,
            "rule_of": found.learning.title,
            "depth_m": found.goal.study.depth_m,
            "rounds": found.rounds,
            "candidates": CANDIDATES,
            "points": found.goal.points,
            "seed": found.seed,
            "version": own_version(),
            "loses_in_100": {h: _numbers(d) for h, d in one.loss.items()},
        },
    }
    return HEAD + tomli_w.dumps(what)
