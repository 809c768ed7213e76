"""Where policies stand while the opponent strikes, and places on the waiting line."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Sequence

import numpy as np

from experiments.balls.struck import SAME_PLACE_M
from experiments.scene.scene import Scene
from experiments.scene.told_units import length, ranged
from sim.contracts import RecoveryPolicy, Situation, aims_of, bodies_at
from sim.court import HALF_LENGTH_M
from sim.errors import InputError
from sim.exchange import opening_contact, situation
from sim.records import STUDIED
from strategies.catalogue import POLICIES


def with_own(own: Sequence[RecoveryPolicy] = ()) -> list[RecoveryPolicy]:
    """The catalogue's policies that have a spot without an own stroke, and the user's own.

    Those that choose their own depth are left out: of single balls a deeper player reaches more.

    Raises:
        InputError: two different policies of one name.
    """
    out = [
        kind()
        for kind in POLICIES.values()
        if getattr(kind, "placeable", True) and not getattr(kind, "chooses_depth", False)
    ]
    for policy in own:
        same = next((p for p in out if p.name == policy.name), None)
        if same is None:
            out.append(policy)
        elif same != policy:
            raise InputError(
                f"two policies are named {policy.name!r}; give your own one another name"
            )
    return out


def placed_situation(scene: Scene) -> Situation:
    """What the player sees, at rest in the middle with all the time it wants; length one."""
    game = scene.game
    contact = opening_contact(scene.place, game.opponent, 1)
    body = bodies_at(np.zeros(1), np.array([-scene.line_m]))
    return situation(game, STUDIED, body, contact, np.full(1, np.inf))


def spot_of(policy: RecoveryPolicy, seen: Situation) -> np.ndarray:
    """The spot (2,) of one policy.

    Raises:
        InputError: the policy needs an own stroke.
    """
    if not getattr(policy, "placeable", True):
        raise InputError(
            f"policy {policy.name!r} has no spot here: it depends on where the own stroke was"
            " played; try it with `rally-recovery replay` or in a study"
        )
    # A Situation of its own: what it keeps once worked out is not shared with the others.
    return np.asarray(aims_of(policy, dataclasses.replace(seen))[0][0])


def spots_of(policies: Sequence[RecoveryPolicy], seen: Situation) -> np.ndarray:
    """The spots (policies, 2), as `spot_of`."""
    return np.array([spot_of(policy, seen) for policy in policies]).reshape(-1, 2)


def on_the_line(x_m: np.ndarray, line_m: float) -> np.ndarray:
    """Places (k, 2) at those lateral places, `line_m` from the net on the own side."""
    return np.stack([x_m, np.full(len(x_m), -line_m)], axis=1)


def are_on_the_line(places: np.ndarray, line_m: float) -> np.ndarray:
    """Which of the places (k, 2) lie on the waiting line, (k,)."""
    return np.abs(places[:, 1] + line_m) < SAME_PLACE_M


def off_the_line_text(
    named: Iterable[tuple[str, Iterable[Sequence[float] | np.ndarray]]], line_m: float
) -> str:
    """A warning about policies whose spots (x, y) are off the waiting line; "" if there are none.

    `named` gives the name of each policy and its spots, one or many.
    """
    parts = []
    for name, spots in named:
        behind_m = np.array([-y for _, y in spots]) - HALF_LENGTH_M
        if (np.abs(behind_m - (line_m - HALF_LENGTH_M)) >= SAME_PLACE_M).any():
            low, high = (length(value) for value in (behind_m.min(), behind_m.max()))
            parts.append(f"{name} {low if low == high else ranged(low, high)}")
    if not parts:
        return ""
    return (
        f"At a depth of their own, behind the baseline (below 0: inside): {', '.join(parts)}. Of"
        " single balls a deeper place reaches more, which says nothing of points."
    )
