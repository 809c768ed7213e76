"""The headline cells of a study: those of which each ball or rally is kept, one row each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from pydantic import BaseModel, ConfigDict

from experiments.study.setting_table import SERVE
from sim.errors import unknown_name

LABEL_OF = {
    "settings": "setting",
    "places": "place",
    "levels": "level",
    "opponents": "opponent",
    "own_strokes": "own_stroke",
}


class Headline(BaseModel):
    """The cells of which each ball or rally is kept, in `rallies.parquet`, and of whose points is
    said where they come from, in `where.csv`.

    By the names that results show; a key that is left out stands for all of the study.
    """

    model_config = ConfigDict(extra="forbid", frozen=True, use_attribute_docstrings=True)
    settings: tuple[str, ...] = ()
    """Settings."""
    places: tuple[str, ...] = ()
    """Places, where a setting has some."""
    levels: tuple[str, ...] = ()
    """Levels."""
    opponents: tuple[str, ...] = ()
    """Opponents."""
    own_strokes: tuple[str, ...] = ()
    """Own strokes before a recovery."""
    policies: tuple[str, ...] = ()
    """Policies; the reference is kept with them."""

    def require_among(self, names: Mapping[str, Sequence[str]]) -> None:
        """Refuse names that the study does not have; `names` are those that it has, by key.

        Raises:
            InputError: there is one, with those that are allowed.
        """
        for key, known in names.items():
            for name in getattr(self, key):
                if name not in known:
                    raise unknown_name(f"name in the headline's {key}", name, known)

    def holds(self, scenario: Any) -> bool:
        """Whether a scenario, all but the policy, is one of these cells; as the study stands."""
        if scenario.choice is not None or scenario.point is not None:
            return False
        return all(
            value in (None, SERVE) or self._has(key, value)
            for key, value in ((key, getattr(scenario, at)) for key, at in LABEL_OF.items())
        )

    def keeps(self, policy: str) -> bool:
        """Whether the balls or rallies of a policy are kept, that is not the reference."""
        return self._has("policies", policy)

    def _has(self, key: str, name: str) -> bool:
        wanted = getattr(self, key)
        return not wanted or name in wanted
