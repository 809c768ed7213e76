"""The simulated rows of `rally-recovery validate` on a moderate sample, as a statistical test.

A pinned verdict says on which side of the tolerance's edge the model's true figure lies. A row
fails if an interval of level 1 - FALSE_ALARM lies wholly on the other side: if the model still had
its verdicts, each would fail once in ten thousand seeds, and any of some 100 once in 100.
The seed is fixed, so a failure means that something changed. Rows pinned as not testable lie near
an edge and cannot fail.
"""

from __future__ import annotations

import pytest
from pinned_rows import SIMULATED, Pin

from experiments.evidence.validation.published import Sample, rows_of
from experiments.evidence.validation.rows import AGREES, DISAGREES, NOT_TESTABLE, Row, demoted
from experiments.evidence.validation.typical import fitted_figures

FALSE_ALARM = 1e-4
RALLIES, SEED = 4000, 20260
RARE = {k for k in SIMULATED if k[:2] in ("K2", "K3", "K4", "K5", "K6", "K7", "N5", "N6", "N7")}
OTHER = {AGREES: DISAGREES, DISAGREES: AGREES}


@pytest.fixture(scope="module")
def rows() -> dict[str, Row]:
    found = rows_of(Sample(SEED, RALLIES), SIMULATED)
    return {row.key: row for row in demoted(found, fitted_figures())}


def contradicted(row: Row, verdict: str) -> bool:
    """Whether the sample rules the verdict out."""
    return row.verdict(1 - FALSE_ALARM) == OTHER.get(verdict)


def test_every_row_is_there_and_left_to_chance(rows: dict[str, Row]) -> None:
    """But those of happenings so rare that all or none of a few can be one way."""
    assert set(rows) == set(SIMULATED)
    assert {key for key, row in rows.items() if not row.ours.se > 0} <= RARE


@pytest.mark.parametrize("key", SIMULATED)
def test_verdict_is_as_pinned(rows: dict[str, Row], key: str) -> None:
    row, pin = rows[key], SIMULATED[key]
    assert row.published == pin.published
    assert row.accepted == pytest.approx(pin.accepted)
    assert row.kind == pin.kind
    ends = ", ".join(f"{v:.4g}" for v in row.ours.interval(1 - FALSE_ALARM))
    assert not contradicted(row, pin.verdict), f"ours: {row.ours.value:.4g} ({ends})"


def test_the_sample_would_notice_wrong_verdicts(rows: dict[str, Row]) -> None:
    """So the test above can fail: turned verdicts are ruled out for more than half of the rows
    but the rare ones."""
    turned = {
        k: pin for k, pin in SIMULATED.items() if pin.verdict != NOT_TESTABLE and k not in RARE
    }
    noticed = [k for k, pin in turned.items() if contradicted(rows[k], OTHER[pin.verdict])]
    assert len(noticed) > 0.5 * len(turned)


def test_pins_are_of_a_known_verdict() -> None:
    pins: list[Pin] = list(SIMULATED.values())
    assert {pin.verdict for pin in pins} <= {AGREES, DISAGREES, NOT_TESTABLE}
