"""A chart's header, and a demo chart: an invented player's strokes, simulated and seen by eye."""

from __future__ import annotations

import csv
import io

import numpy as np

from sim.additions import ADDITIONS, player_without
from sim.belief import Belief
from sim.chance import EXECUTION, SHOT, normals, uniforms
from sim.contracts import ShotSituation, bodies_at, contacts_at, turned
from sim.errors import InputError
from sim.players import player
from sim.records import BACKHAND, FOREHAND, NET, OUTCOMES
from sim.stroke import ERROR_DRAWS, strike
from sim.world import World
from strategies.charts import columns
from strategies.charts.columns import LENGTHS, QUANTITIES, SPEEDS, WORDS
from strategies.shots.habit import Habit

DEMO_STROKES, DEMO_SEED = 40, 7
DEMO_LEVEL = "college-man"
# Wren Tallow, invented: right-handed, from the backhand corner seldom down the line.
DEMO_HABIT = Habit(
    belief=Belief(from_middle=(0.4, 0.2, 0.38, 0.02), from_corner=(0.68, 0.12, 0.12, 0.08))
)
PLACE, RECEIVER = 101, 102  # purposes of chance, beside those of sim.chance
CONTACT_SD_M, RECEIVER_SD_M = 2.2, 0.8
BY_EYE_M = 0.5  # to what a watcher rounds a place


def header(length: str = "m", speed: str = "m_s") -> list[str]:
    """The header of a chart in those units.

    Raises:
        InputError: a unit that charts do not know.
    """
    if length not in LENGTHS or speed not in SPEEDS:
        raise InputError(
            f"units are {length!r} and {speed!r}; allowed: {', '.join(LENGTHS)} for places,"
            f" {', '.join(SPEEDS)} for speed"
        )
    wanted = {length, speed, "rpm"}
    numbers = [next(h for h in q.headers if h[len(q.name) + 1 :] in wanted) for q in QUANTITIES]
    return [*numbers, *(w.name for w in WORDS)]


def demo_chart(
    seed: int = DEMO_SEED,
    count: int = DEMO_STROKES,
    level: str = DEMO_LEVEL,
    habit: Habit = DEMO_HABIT,
    x_m: float | None = None,
) -> str:
    """The CSV text of a demo chart: `count` strokes of the invented player, drives alone.

    `x_m` fixes the lateral place of all contacts, in the hitter's own frame.
    """
    hitter, world = player_without(player(level), ADDITIONS), World().numbers
    contacts = demo_contacts(seed, count)
    if x_m is not None:
        contacts["x_m"], contacts["wing"] = x_m, FOREHAND if x_m >= 0 else BACKHAND
    chance = uniforms(seed, np.arange(count), SHOT, 0, habit.draws)
    errors = uniforms(seed, np.arange(count), EXECUTION, 0, ERROR_DRAWS)
    receiver = demo_receivers(seed, contacts)
    seen = ShotSituation(hitter, hitter, world, contacts, turned(receiver))
    intents = habit.intents(seen, chance)
    balls, _ = strike(contacts, intents, errors, hitter.hitter.numbers, world)
    return chart_text(contacts, balls, receiver)


def demo_contacts(seed: int, count: int) -> np.ndarray:
    """CONTACT records in the hitter's frame, about the baseline, both corners and the middle."""
    drawn = normals(uniforms(seed, np.arange(count), PLACE, 0, 2))
    x = np.clip(CONTACT_SD_M * drawn[:, 0], -5.0, 5.0)
    y = -np.clip(12.0 + 1.2 * drawn[:, 1], 7.0, 15.0)
    wing = np.where(x >= 0, 1, -1)
    return contacts_at(x, y, np.ones(count), wing)


def demo_receivers(seed: int, contacts: np.ndarray) -> np.ndarray:
    """BODY records in the receiver's frame: a receiver who shades a little, not exactly."""
    drawn = normals(uniforms(seed, np.arange(len(contacts)), RECEIVER, 0, 2))
    return bodies_at(0.2 * contacts["x_m"] + RECEIVER_SD_M * drawn[:, 0], -13.1 + 0.4 * drawn[:, 1])


def chart_text(contacts: np.ndarray, balls: np.ndarray, receiver: np.ndarray) -> str:
    """The CSV text of strokes as a watcher writes them down: places to BY_EYE_M, no speeds."""
    buffer = io.StringIO()
    names = [n for n in header("m") if n not in ("speed_m_s", "topspin_rpm", "kind")]
    out = csv.DictWriter(buffer, names, lineterminator="\n")
    out.writeheader()
    for contact, ball, body in zip(turned(contacts), balls, receiver, strict=True):
        in_net = ball["outcome"] == NET
        known = OUTCOMES[ball["outcome"]]
        out.writerow(
            {
                "contact_x_m": _seen(contact["x_m"]),
                "contact_y_m": _seen(contact["y_m"]),
                "bounce_x_m": "" if in_net else _seen(ball["landing_x_m"]),
                "bounce_y_m": "" if in_net else _seen(ball["landing_y_m"]),
                "wing": "forehand" if contact["wing"] == FOREHAND else "backhand",
                "outcome": columns.NET if in_net else columns.IN if known == "in" else columns.OUT,
                "hand": "right",
                "receiver_x_m": _seen(body["x_m"]),
                "receiver_y_m": _seen(body["y_m"]),
            }
        )
    return buffer.getvalue()


def _seen(metres: float) -> str:
    return f"{round(float(metres) / BY_EYE_M) * BY_EYE_M + 0.0:g}"
