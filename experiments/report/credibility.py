"""How far the model can be trusted: a self-assessment after the factors of NASA-STD-7009A (2016).

`python -m experiments.report.credibility > results/credibility.md` writes it as a page. The words
stand in `data/credibility.toml`; the numbers in them are worked out here, from the stored
validations, the parameters and the modelling choices.
"""

from __future__ import annotations

import tomllib
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib import resources

from experiments.evidence.validation.rows import AGREES, DISAGREES, NOT_TESTABLE, stored_record
from experiments.output.terminal import show
from experiments.scene.parameters import parameters
from experiments.study.choices import AS_IT_IS, CHOICES
from sim.parameter import STATUSES

LEVELS = 5
SOURCE = (
    "After the credibility factors of NASA-STD-7009A (2016), Standard for Models and Simulations:"
    " eight factors, each from level 0 to 4; people qualifications is a factor of the first edition"
    " (2008). The steps are in our own words, from memory of the standard. A factor has the level"
    " that all of its parts reach. Levels are not added up: the lowest ones say where to doubt."
    " It is the authors' own judgement; nobody independent has made it."
)


@dataclass(frozen=True)
class Evidence:
    """Where a claim can be checked: a test file, a command or a file of the checkout."""

    kind: str
    at: str
    says: str


@dataclass(frozen=True)
class Factor:
    """One factor: its level of 0 to 4, what the levels ask for, why this one, what is missing."""

    name: str
    part: str
    level: int
    steps: list[str]
    why: str
    missing: str
    evidence: list[Evidence]

    @property
    def reached(self) -> str:
        """What the claimed level asks for."""
        return self.steps[self.level]


@cache
def factors() -> tuple[Factor, ...]:
    """All factors, with the numbers of today's model in their words."""
    text = resources.files("experiments.data").joinpath("credibility.toml").read_text("utf-8")
    rows, known = tomllib.loads(text)["factor"], facts()
    for row in rows:
        row["why"] = row["why"].format_map(known)
        row["evidence"] = [Evidence(**e) for e in row["evidence"]]
    return tuple(Factor(**row) for row in rows)


def facts() -> dict[str, int]:
    """The numbers that the words name."""
    record = stored_record()
    verdicts = record.verdicts
    status = Counter(row.status for row in parameters(None))
    seen = {(row["source"], row["status"]) for row in record.rows}
    return {
        "rows": len(record.rows),
        "checks": record.checks,
        "agree": verdicts[AGREES],
        "disagree": verdicts[DISAGREES],
        "unclear": verdicts[NOT_TESTABLE],
        "rallies": record.rallies,
        "sources": len(seen),
        "published_sources": sum(how == "published" for _, how in seen),
        "parameters": status.total(),
        **{name: status[name] for name in STATUSES},
        "choices": len(CHOICES) - (AS_IT_IS in CHOICES),
    }


def page() -> Iterator[str]:
    """The assessment as lines of Markdown."""
    yield from ("# How far the model can be trusted", "", SOURCE, "")
    yield from ("| factor | level | what that level asks for |", "|---|---|---|")
    for f in factors():
        yield f"| {f.name} ({f.part}) | {f.level} of {LEVELS - 1} | {f.reached} |"
    for f in factors():
        yield from ("", f"## {f.name}: {f.level} of {LEVELS - 1}", "", f.why, "")
        yield f"Missing: {f.missing}"
        if f.evidence:
            yield ""
        for e in f.evidence:
            yield f"- {e.kind} `{e.at}`: {e.says}"


if __name__ == "__main__":
    show("\n".join(page()))
