"""What must hold of a player beside the ranges of the parameters, which overlap."""

from __future__ import annotations

from collections.abc import Callable

from sim.players import Player

RULES: tuple[tuple[str, Callable[[Player], bool]], ...] = (
    (
        "a comfortable reach below the full one on both sides",
        lambda p: p.legs.comfortable_reach_m < min(p.legs.full_reach_m, p.legs.backhand_reach_m),
    ),
    (
        "playable low, best low, best high, playable high in this order",
        lambda p: (
            p.legs.playable_low_m < p.legs.best_low_m < p.legs.best_high_m < p.legs.playable_high_m
        ),
    ),
    (
        "usual topspin between the least and the most",
        lambda p: (
            p.hitter.least_topspin_rpm
            <= min(p.hitter.forehand_topspin_rpm, p.hitter.backhand_topspin_rpm)
            <= max(p.hitter.forehand_topspin_rpm, p.hitter.backhand_topspin_rpm)
            <= p.hitter.most_topspin_rpm
        ),
    ),
    (
        "a slowest share below the fastest",
        lambda p: p.hitter.slowest_share < p.hitter.fastest_share,
    ),
)
