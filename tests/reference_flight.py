"""The independent flight and bounce of the table of checks, under a short name for the tests."""

from __future__ import annotations

from experiments.evidence.validation.reference_flight import (
    RPM,
    Shot,
    bounce_by_reference,
    fly_by_reference,
    planar_bounce,
    random_shots,
)

__all__ = [
    "RPM",
    "Shot",
    "bounce_by_reference",
    "fly_by_reference",
    "planar_bounce",
    "random_shots",
]
