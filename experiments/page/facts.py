"""What the page's screen knows before anything is computed: people, court, steps, charts' columns.

As `state` hands the engine's records to the script that computes, this hands constants of the
modules that own them to the script that shows.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields
from typing import Any

from experiments.balls.best import PLATEAU
from experiments.balls.spots import with_own
from experiments.drawing.court import CENTRE_MARK_M, DOUBLES_HALF_WIDTH_M
from experiments.scene import defaults, sides
from experiments.scene.people import waiting_depth_m
from experiments.scene.player_file import is_player_file, player_of
from experiments.scene.rule_words import rule_for
from experiments.scene.scene import MOST_BALLS
from sim import court
from sim.chance import LARGEST_SEED
from sim.errors import InputError
from sim.legs import Legs
from sim.players import PLAYERS, Player
from sim.records import MISSED
from sim.surface import SURFACES
from strategies.catalogue import SHOT_MODELS
from strategies.charts import columns, reading
from strategies.charts.columns import QUANTITIES, WORDS
from strategies.charts.typed_rows import SEPARATORS

SEED = 1  # of the page's balls until its address says another


def facts(people: Sequence[str], first: str = defaults.LEVEL) -> dict[str, Any]:
    """All of it as plain values, for names of levels and paths of player files; `first` waits until
    another is chosen.

    Raises:
        InputError: a name or file that cannot be used, or two people of one name.
    """
    found = [(text, player_of(text)) for text in people]
    names = [someone.name for _, someone in found]
    if repeated := {name for name in names if names.count(name) > 1}:
        raise InputError(
            f"two players of the page are called {min(repeated)!r}; change the name in a file"
        )
    speed = next(f.metadata for f in fields(Legs) if f.name == "top_speed_m_s")
    return {
        "people": [_person(text, someone) for text, someone in found],
        "first": list(people).index(first),
        "hitters": {key: kind().sees_receiver for key, kind in SHOT_MODELS.items()},
        "surfaces": list(SURFACES),
        "policies": [policy.name for policy in with_own()],
        "court": {
            "half_length_m": court.HALF_LENGTH_M,
            "half_width_m": court.HALF_WIDTH_M,
            "service_line_m": court.SERVICE_LINE_M,
            "net_support_x_m": court.NET_SUPPORT_X_M,
            "doubles_half_width_m": DOUBLES_HALF_WIDTH_M,
            "centre_mark_m": CENTRE_MARK_M,
        },
        "usual": {
            "hitter": defaults.HITTER,
            "surface": defaults.SURFACE,
            "balls": defaults.BALLS,
            "seed": SEED,
            "contact_m": [*defaults.CORNER_M, defaults.CONTACT_HEIGHT_M],
        },
        "step_m": sides.STEP_M,
        "near_middle_m": sides.NEAR_MIDDLE_M,
        "as_good_per_100": 100 * PLATEAU,
        "depth_m": [0, court.RUN_OFF_BACK_M],
        "height_m": defaults.HEIGHTS_M,
        "top_speed_m_s": [speed["low"], speed["high"]],
        "most_balls": MOST_BALLS,
        "largest_seed": str(LARGEST_SEED),
        "missed": MISSED,
        "chart": _chart(),
    }


def _person(text: str, me: Player) -> dict[str, Any]:
    return {
        "name": me.name,
        "level": text in PLAYERS,
        "hands": [me.hand] if is_player_file(text) else ["right", "left"],
        "top_speed_m_s": me.legs.top_speed_m_s,
        "reaction_s": me.legs.reaction_s,
        "forehand_speed_m_s": me.hitter.forehand_speed_m_s,
        "backhand_speed_m_s": me.hitter.backhand_speed_m_s,
        "rule": me.base_level if rule_for(me) else None,
        "waits_behind_m": {surface: waiting_depth_m(me, surface) for surface in SURFACES},
    }


def _chart() -> dict[str, Any]:
    """The columns of a chart, and what is allowed in them (strategies.charts)."""
    return {
        "quantities": [
            {
                "name": q.name,
                "units": q.units,
                "low": q.low,
                "high": q.high,
                "needed": q.needed,
            }
            for q in QUANTITIES
        ],
        "words": [
            {"name": w.name, "words": list(w.words), "aliases": dict(w.aliases)} for w in WORDS
        ],
        "separators": list(SEPARATORS),
        "by_eye_m": reading.BY_EYE_M,
        "serves": list(reading.SERVE_NAMES),
        "most_strokes": reading.MOST_STROKES,
        "most_bytes": reading.MOST_BYTES,
        "in": columns.IN,
        "out": columns.OUT,
        "net": columns.NET,
    }
