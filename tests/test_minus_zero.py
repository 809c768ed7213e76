"""What rounds to nothing is shown as 0, without a sign of its own."""

from __future__ import annotations

import io
import json

import numpy as np
from fuzz_oracle import MINUS_ZERO

from experiments.answers.angle.answer import Fan, fan_json, fan_text
from experiments.answers.chart.stood import StoodAnswer, stood_text
from experiments.answers.map.answer import ContactMap, Contrast
from experiments.answers.map.words import contact_table
from experiments.answers.opponents.words import rows_of
from experiments.output.numbers import json_text
from experiments.scene.scene import scene_of
from experiments.statistics.estimates import Estimate
from strategies.charts.reading import Chart

TINY = -1e-9
NOTHING = Estimate(TINY, TINY, -TINY, 0.0, 10)


THERE = scene_of((0.0, 11.885), balls=100, seed=1)


def test_the_fan() -> None:
    one, two = np.full(1, TINY), np.full((1, 2), TINY)
    fan = Fan(THERE, 0.7, one, np.ones(1), two, two, np.ones(1), (1, 1))
    assert not MINUS_ZERO.search(fan_text(fan))
    assert not MINUS_ZERO.search(json_text(fan_json(fan)))


def test_where_receivers_stood() -> None:
    chart, zeros = Chart("mine", "right", ()), np.zeros(9)
    found = StoodAnswer(THERE, chart, 0, zeros, zeros + TINY, zeros[:, None], ("middle",))
    assert found.differences[0].difference_m < 0 and not MINUS_ZERO.search(stood_text(found))


def test_tables() -> None:
    contrast = Contrast(TINY, 12.0, (TINY, -13.0), (0.0, -13.0), 5.0, 5.0, NOTHING)
    found = ContactMap(THERE, "one", "other", np.zeros(1), np.full(1, 12.0), (contrast,))
    text = io.StringIO()
    contact_table(found).to_csv(text, index=False)
    assert not MINUS_ZERO.search(text.getvalue())
    assert ",10," in text.getvalue()  # balls stay whole numbers
    assert not MINUS_ZERO.search(json.dumps(rows_of([contrast])))
