"""All that was found for one field: the losses to the best places, and the round robin."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from experiments.answers.opponents.field import Field
from experiments.answers.opponents.losses import BestSpot, Loss, losses_of
from experiments.answers.opponents.robin import Meeting, robin_of


@dataclass(frozen=True)
class Answer:
    """All that was found for one field."""

    field: Field
    losses: Sequence[Loss]
    spots: Sequence[BestSpot]
    meetings: Sequence[Meeting]


def steps_of(field: Field) -> int:
    """How many parts the work has."""
    return len(field.opponents) * (len(field.places) + len(field.policies))


def answer_of(field: Field, done: Callable[[], object] = lambda: None) -> Answer:
    """Find everything; `done` is called after every part.

    Raises:
        InputError: a policy that has no spot without an own stroke.
    """
    losses, spots = losses_of(field, done)
    return Answer(field, losses, spots, robin_of(field, done))
