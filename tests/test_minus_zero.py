"""What rounds to nothing is shown as 0, without a sign of its own."""

from __future__ import annotations

import io
import json

import numpy as np
from experiments.answers.angle.fan import Fan, FanQuestion, fan_json, fan_text
from experiments.answers.spot.question import SpotQuestion
from fuzz_oracle import MINUS_ZERO

from experiments.answers.chart.stood import Difference, StoodAnswer, stood_text
from experiments.answers.map.answer import contact_table
from experiments.answers.map.contacts import ContactMap, Contrast
from experiments.answers.opponents.answer import rows_of
from experiments.statistics.estimates import Estimate
from sim.exchange import Place
from sim.players import player
from sim.world import World
from strategies.catalogue import make_shot_model
from strategies.charts.reading import Chart

TINY = -1e-9
NOTHING = Estimate(TINY, TINY, -TINY, 0.0, 10)


def spot_question() -> SpotQuestion:
    me, habit = player("club-adult"), make_shot_model("habit")
    return SpotQuestion(Place("there", 0.0, 11.885), me, me, World(), habit, [], 1.0, 100, 1)


def test_the_fan() -> None:
    question = FanQuestion(Place("there", 0.0, 11.885), player("club-adult"), World(), 13.0, 0.7)
    one, two = np.full(1, TINY), np.full((1, 2), TINY)
    fan = Fan(question, one, np.ones(1), two, two, np.ones(1), (1, 1))
    assert not MINUS_ZERO.search(fan_text(fan))
    assert not MINUS_ZERO.search(json.dumps(fan_json(fan)))


def test_where_receivers_stood() -> None:
    row = Difference("middle", "all contacts", 9, TINY, TINY, TINY, TINY, TINY)
    found = StoodAnswer(
        Chart("mine", "right", ()),
        1,
        0,
        np.zeros(9),
        np.zeros(9),
        np.zeros((9, 1)),
        ("middle",),
        (row,),
    )
    assert not MINUS_ZERO.search(stood_text(found))


def test_tables() -> None:
    contrast = Contrast(TINY, 12.0, (TINY, -13.0), (0.0, -13.0), 5.0, 5.0, NOTHING)
    found = ContactMap(spot_question(), "one", "other", np.zeros(1), np.full(1, 12.0), (contrast,))
    text = io.StringIO()
    contact_table(found).to_csv(text, index=False)
    assert not MINUS_ZERO.search(text.getvalue())
    assert ",10," in text.getvalue()  # balls stay whole numbers
    assert not MINUS_ZERO.search(json.dumps(rows_of([contrast])))
