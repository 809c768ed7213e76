"""Records: named values, fields with units, codes with names."""

from __future__ import annotations

import numpy as np
import pytest

from sim import records
from sim.records import record, record_type

TYPES = {
    name: getattr(records, name)
    for name in ("WORLD", "CONTACT", "INTENT", "BALL", "BODY", "MEETING")
}
UNITS = ("_m", "_s", "_m_s", "_m_s2", "_rad_s", "_per_m")
# Pure numbers.
WITHOUT_UNIT = {
    "drag_coefficient",
    "lift_slope",
    "lift_offset",
    "inertia_factor",
    "restitution",
    "friction",
    "grip_rebound",
    "quality",
    "reply_chance",
    "stretch",
}
# Codes and counts.
COUNTED = {"wing", "outcome", "points", "grade", "tabulated", "kind", "volley"}


@pytest.mark.parametrize("name", sorted(TYPES))
def test_every_field_carries_its_unit_or_is_a_pure_number(name: str) -> None:
    for field in TYPES[name].names:
        assert field.endswith(UNITS) or field in WITHOUT_UNIT | COUNTED, field


@pytest.mark.parametrize("name", sorted(TYPES))
def test_fields_are_of_eight_bytes_and_counted_ones_are_integers(name: str) -> None:
    for field, (kind, *_) in TYPES[name].fields.items():
        assert kind == (np.int64 if field in COUNTED else np.float64), field


def test_record_takes_every_field_by_name() -> None:
    place = record_type("x_m", "count", integers=("count",))
    made = record(place, x_m=1.5, count=3)
    assert made.shape == (1,)
    assert made[0]["x_m"] == 1.5
    assert made[0]["count"] == 3


@pytest.mark.parametrize("values", [{"x_m": 1.0}, {"x_m": 1.0, "y_m": 2.0, "z_m": 3.0}])
def test_missing_or_strange_field_is_named(values: dict[str, float]) -> None:
    strange = "y_m" if len(values) == 1 else "z_m"
    with pytest.raises(TypeError, match=strange):
        record(record_type("x_m", "y_m"), **values)


def test_codes_number_their_names() -> None:
    assert records.OUTCOMES[records.IN] == "in"
    assert records.OUTCOMES[records.NET] == "net"
    assert records.OUTCOMES[records.LONG] == "long"
    assert records.OUTCOMES[records.WIDE] == "wide"
    assert records.GRADES[records.MISSED] == "missed"
    assert records.GRADES[records.STRETCHED] == "stretched"
    assert records.GRADES[records.SET] == "set"
    assert records.WINGS == {records.FOREHAND: "forehand", records.BACKHAND: "backhand"}
