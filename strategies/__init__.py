"""Decisions: where to recover to, and where to hit.

- `POLICIES`, `make_policy`: recovery policies by name; one from words, a table or a file's name.
- `SHOT_MODELS`, `make_shot_model`: the same of shot models, what a hitter plays.
- `summary`, `allowed_parameters`: what one of them says of itself, and what it takes.
"""

from sim.public import fetcher

_HOMES = dict.fromkeys(
    (
        "POLICIES",
        "SHOT_MODELS",
        "allowed_parameters",
        "make_policy",
        "make_shot_model",
        "summary",
    ),
    "catalogue",
)
__all__ = tuple(_HOMES)
__getattr__ = fetcher(__name__, _HOMES)


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
