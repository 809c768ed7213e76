"""Random situations for tests of decisions, ordinary and awkward ones mixed."""

from __future__ import annotations

import dataclasses
from typing import Any, TypeVar

import numpy as np

from sim.contracts import ShotSituation, Situation, bodies_at, contacts_at
from sim.players import Player, player
from sim.records import BODY, CONTACT
from sim.world import World

S = TypeVar("S", Situation, ShotSituation)
ROWWISE = ("body", "contact", "time_s", "receiver")
WORLD = World()  # without wind: its mirror image is itself
# x, y, z beside ordinary contacts: near the net, low, very wide, very deep, on the centre line
AWKWARD = (
    (0.0, 11.885, 1.0),
    (0.5, 0.6, 0.9),
    (-3.0, 2.0, 0.25),
    (3.9, 1.2, 2.2),
    (7.5, 11.0, 0.6),
    (-6.5, 5.0, 1.0),
    (8.0, 3.0, 0.4),
    (0.1, 17.5, 0.3),
    (-5.0, 17.0, 1.9),
    (4.115, 6.4, 1.1),
)


def random_contacts(rng: np.random.Generator, count: int) -> np.ndarray:
    """CONTACT records at y > 0, the awkward ones first."""
    x = rng.uniform(-5.5, 5.5, count)
    y, z = rng.uniform(7.0, 15.0, count), rng.uniform(0.4, 1.8, count)
    for i, row in enumerate(AWKWARD[:count]):
        x[i], y[i], z[i] = row
    out = contacts_at(x, y, z, np.where(rng.random(count) < 0.5, 1, -1))
    out["quality"] = rng.uniform(0.0, 1.0, count)
    return out


def random_bodies(rng: np.random.Generator, count: int, side: float) -> np.ndarray:
    """BODY records on the side of the sign of y, moving."""
    out = bodies_at(rng.uniform(-5.0, 5.0, count), side * rng.uniform(9.0, 16.0, count))
    out["vx_m_s"], out["vy_m_s"] = rng.uniform(-5, 5, count), rng.uniform(-2, 2, count)
    return out


def recovery_situation(
    count: int = 60,
    seed: int = 1,
    me: Player | None = None,
    opponent: Player | None = None,
) -> Situation:
    rng = np.random.default_rng(seed)
    return Situation(
        me=me or player("college-man"),
        opponent=opponent or player("professional-man", "left"),
        world=WORLD.numbers,
        depth_m=1.3,
        body=random_bodies(rng, count, -1.0),
        contact=random_contacts(rng, count),
        time_s=rng.uniform(0.6, 2.5, count),
    )


def shot_situation(
    count: int = 60,
    seed: int = 1,
    me: Player | None = None,
    opponent: Player | None = None,
) -> ShotSituation:
    rng = np.random.default_rng(seed)
    contact = random_contacts(rng, count)
    contact["y_m"] = -contact["y_m"]
    return ShotSituation(
        me=me or player("college-man"),
        opponent=opponent or player("professional-man", "left"),
        world=WORLD.turned_numbers,
        contact=contact,
        receiver=random_bodies(rng, count, 1.0),
    )


def picked(seen: S, rows: np.ndarray) -> S:
    """The same situation with only these rows, in this order."""
    names = [f.name for f in dataclasses.fields(seen)]
    arrays = {n: getattr(seen, n)[rows] for n in names if n in ROWWISE}
    return dataclasses.replace(seen, **arrays)


def mirrored(seen: S) -> S:
    """The reflection in x: both players change hands, the wings stay."""
    changes: dict[str, Any] = {
        "me": swapped(seen.me),
        "opponent": swapped(seen.opponent),
    }
    for name in ("body", "contact", "receiver"):
        if hasattr(seen, name):
            changes[name] = reflected(getattr(seen, name))
    return dataclasses.replace(seen, **changes)


def swapped(someone: Player) -> Player:
    return someone.with_hand("left" if someone.hand == "right" else "right")


def reflected(records: np.ndarray) -> np.ndarray:
    """BODY or CONTACT records reflected in x."""
    assert records.dtype in (BODY, CONTACT)
    out = records.copy()
    out["x_m"] = -records["x_m"]
    if records.dtype == BODY:
        out["vx_m_s"] = -records["vx_m_s"]
    return out


def crossings_m(
    x_m: np.ndarray, y_m: np.ndarray, extremes: np.ndarray, line_m: float
) -> np.ndarray:
    """Where straight paths from (x, y) to the targets of drives (n, 2) cross a line; (n, 2)."""
    x, y = np.asarray(x_m)[:, None], np.asarray(y_m)[:, None]
    share = (y + line_m) / (y - extremes["target_y_m"])
    return np.asarray(x + (extremes["target_x_m"] - x) * share)
