"""What the commands of learning share: whose points, against whom, as it was asked for."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from experiments.command import options

if TYPE_CHECKING:
    from experiments.command.ask import Asked
    from experiments.learning.training.goal import Goal

PLAYERS = (options.player_option, options.hand_option, options.opponent_hand_option)


def goal_asked(asked: Asked, hitters: tuple[str, ...], **more: Any) -> Goal:
    """The goal of the options PLAYERS and --surface, against these hitters.

    Raises:
        InputError: an unknown name, or what cannot be played.
    """
    from experiments.learning.training.goal import Goal

    given = asked.values
    return Goal(
        given["player"],
        hitters,
        surface=given["surface"],
        hand=given["hand"] or "right",
        opponent_hand=given["opponent_hand"] or "right",
        **more,
    )
