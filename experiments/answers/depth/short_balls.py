"""Depth: what the opponent does about a player who is far back.

Three cases: no short balls at all, the hitter's own shares, and as many more as pay.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import product

from sim.additions import player_without
from sim.contracts import ShotModel
from sim.exchange import Game
from strategies.aim import AimedShots
from strategies.shots.best_reply import BestReply

NO_SHORT, USUAL, PAYS = "no short balls", "usual", "when they pay"
LEFT_OUT = ("drop-shot", "approach")
DROPS, APPROACHES = (0.0, 0.15, 0.4, 0.8), (0.0, 0.5)


@dataclass(frozen=True)
class ShortBalls:
    """Shares of drop shots and of approaches added against who is too far back for them."""

    drop: float = 0.0
    approach: float = 0.0


TRIED = tuple(ShortBalls(*pair) for pair in product(DROPS, APPROACHES))


def cases_of(hitter: ShotModel) -> tuple[str, ...]:
    """The cases that a hitter allows, the one that answers the question last."""
    return (NO_SHORT, USUAL, PAYS) if isinstance(hitter, AimedShots) else (NO_SHORT, USUAL)


def plain(game: Game) -> Game:
    """The game in which the opponent plays neither drop shots nor approaches."""
    player = player_without(game.opponent.player, LEFT_OUT)
    return _with_opponent(game, player=player)


def with_short_balls(game: Game, short: ShortBalls) -> Game:
    """The game in which the opponent, an aimed hitter, adds those shares."""
    hitter = game.opponent.shots
    assert isinstance(hitter, AimedShots)
    added = {"drop_when_far": short.drop, "approach_when_far": short.approach}
    return _with_opponent(game, shots=dataclasses.replace(hitter, **added))


def meant(game: Game) -> Game:
    """The game with a best reply, if one is played, to the studied player's own policy."""
    hitter = game.opponent.shots
    if isinstance(hitter, BestReply):
        return _with_opponent(game, shots=BestReply(game.studied.policy, hitter.look_ahead_s))
    return game


def paying(
    game: Game, points: Callable[[Game], float], tried: Sequence[ShortBalls] = TRIED
) -> tuple[ShortBalls, Game, float]:
    """The short balls that leave the studied player fewest `points`; of equal ones the fewest.

    Returns them, the game with them and the points; a hitter that cannot add any plays as it does.
    """
    if not isinstance(game.opponent.shots, AimedShots):
        return ShortBalls(), game, points(game)
    games = [with_short_balls(game, short) for short in tried]
    found = [points(one) for one in games]
    k = min(range(len(tried)), key=found.__getitem__)
    return tried[k], games[k], found[k]


def _with_opponent(game: Game, **changes: object) -> Game:
    opponent = dataclasses.replace(game.opponent, **changes)  # type: ignore[arg-type]
    return dataclasses.replace(game, opponent=opponent)
