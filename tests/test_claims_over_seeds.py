"""The stored claims hold from one seed to the next at the rate that their intervals state."""

from __future__ import annotations

import math
from pathlib import Path

from scipy.stats import binom

from experiments.claims.register import CLAIMS
from experiments.claims.seeds import LEFT_OUT, NUMBER, SEEDS, TABLE
from experiments.output.tables import read_table

ROOT = Path(__file__).resolve().parent.parent
STORED = read_table(ROOT / "results" / TABLE)
FALSE_ALARM = 0.001
SEEDED = [claim for claim in CLAIMS if claim.folder not in LEFT_OUT]


def test_every_claim_is_stored_over_five_seeds() -> None:
    for claim in SEEDED:
        rows = STORED[STORED["claim"] == claim.words]
        assert len(rows) == len(set(rows["seed"])) == 1 + len(SEEDS) == 5, claim.words


def test_the_first_seed_is_the_stored_run() -> None:
    first = STORED.groupby("claim", sort=False).first()
    for claim in SEEDED:
        assert first.loc[claim.words, "says"] == claim.value(ROOT / "results" / claim.folder)


def test_intervals_hold_from_seed_to_seed() -> None:
    """Each number beside the others of its claim: their difference leaves its 95 % interval in no
    more than 1 of 20, but for chance (a false alarm in a thousand, claims taken as independent)."""
    outside = count = 0
    for _, rows in STORED.dropna(subset="estimate").groupby("claim"):
        half = (rows["high"] - rows["low"]).to_numpy() / 2
        estimate = rows["estimate"].to_numpy()
        for i in range(len(rows)):
            others = [j for j in range(len(rows)) if j != i]
            weights = [1 / max(half[j], 0.05) ** 2 for j in others]
            pooled = sum(w * estimate[j] for w, j in zip(weights, others, strict=True)) / sum(
                weights
            )
            width = math.hypot(max(half[i], 0.05), 1 / math.sqrt(sum(weights)))
            outside += abs(estimate[i] - pooled) > width
            count += 1
    assert count > 50
    assert outside <= binom.ppf(1 - FALSE_ALARM, count, 0.05)


def test_no_seed_turns_a_verdict_round() -> None:
    for words, rows in STORED.groupby("claim"):
        verdicts = {found[4] for text in rows["says"] if (found := NUMBER.match(text))}
        assert not {"wins", "loses"} <= verdicts, words
