"""What each policy loses against each opponent, and where the best place is, from the folder that
`rally-recovery opponents --out` writes."""

from __future__ import annotations

from pathlib import Path

from experiments.claims.facts import Number, listed
from experiments.claims.register import stored
from experiments.claims.tables import markdown

FOLDER = "against-whom"
POLICIES = ("middle", "bisector", "best-for-belief", "safest", "guard")


def losses(results: Path, policy: str, place: str = "corner") -> dict[str, Number]:
    """Balls in 100 that do not come back, more than from the best place, by opponent.

    Raises:
        InputError: the folder holds no such rows.
    """
    rows = stored(results / FOLDER, "losses.csv", policy=policy, place=place)
    names = {"returned_per_100": "estimate", "returned_low": "low", "returned_high": "high"}
    found = rows.rename(columns=names).to_dict("records")
    return {str(row["opponent"]): Number(row) for row in found}


def losses_table(results: Path, place: str = "corner") -> str:
    """The losses of the policies that its page shows: a row a policy, a column an opponent."""
    heads: list[str] = []
    rows = []
    for policy in POLICIES:
        found = losses(results, policy, place)
        heads = list(found)
        rows.append([policy, *map(str, found.values())])
    return markdown(["", *heads], rows)


def best_places(results: Path, place: str = "corner") -> dict[str, float]:
    """How far over the best place lies, away from the opponent, by opponent (m)."""
    rows = stored(results / FOLDER, "spots.csv", place=place)
    return {str(row["opponent"]): -float(row["x_m"]) for _, row in rows.iterrows()}


def best_against(results: Path, policy: str, place: str = "corner") -> str:
    """The opponents against whom a policy loses least of those shown, in words."""
    tables = {name: losses(results, name, place) for name in POLICIES}
    won = [
        who
        for who, number in tables[policy].items()
        if all(number.value < tables[p][who].value for p in POLICIES if p != policy)
    ]
    return listed(won) if won else "none"
