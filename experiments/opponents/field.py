"""Who plays whom: the opponents, the policies and the three contact places."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from experiments.options import OPPONENT_POLICY
from experiments.spot import SpotQuestion, with_own
from sim.chance import checked_seed
from sim.contracts import RecoveryPolicy, ShotModel
from sim.errors import InputError
from sim.exchange import Game, Place, Side
from sim.players import Player
from sim.world import World
from strategies.catalogue import SHOT_MODELS, make_policy, make_shot_model
from strategies.shots.best_reply import BestReply

PLACES = (
    Place("corner", 3.115, 11.885),
    Place("wide", 5.115, 11.885),
    Place("short wide", 4.8, 6.9),
)
OPPONENTS = tuple(name for name in SHOT_MODELS if name != "script")  # which aims at nobody
OTHER_SHOTS = "habit"
FEWEST, MOST = 100, 1_000_000


@dataclass(frozen=True)
class Field:
    """What is tried: policies against opponents from places.

    balls: struck at every spot for the losses. rallies: for each policy, opponent and place.

    Raises:
        InputError: numbers out of range, or two opponents of one name.
    """

    player: Player
    opponent: Player
    world: World
    depth_m: float
    seed: int
    balls: int = 2000
    rallies: int = 400
    places: Sequence[Place] = PLACES
    policies: Sequence[RecoveryPolicy] = field(default_factory=lambda: with_own([]))
    opponents: Sequence[ShotModel] = field(
        default_factory=lambda: [make_shot_model(word) for word in OPPONENTS]
    )

    def __post_init__(self) -> None:
        for what, count in (("balls", self.balls), ("rallies", self.rallies)):
            if not FEWEST <= count <= MOST:
                raise InputError(f"{what} is {count}; allowed: {FEWEST} to {MOST}")
        names = [o.name for o in self.opponents]
        if len(set(names)) < len(names):
            raise InputError(f"two opponents have one name: {', '.join(names)}; leave one out")
        checked_seed(self.seed)

    def asked(self, place: Place, hitter: ShotModel) -> SpotQuestion:
        """The question where to stand against one opponent at one place."""
        who = self.player, self.opponent, self.world, hitter, self.policies
        return SpotQuestion(place, *who, self.depth_m, self.balls, self.seed)

    def game(self, policy: RecoveryPolicy, hitter: ShotModel) -> Game:
        """Rallies of a policy against an opponent; a best reply is one to that very policy."""
        if isinstance(hitter, BestReply):
            hitter = BestReply(policy, hitter.look_ahead_s)
        studied = Side(self.player, policy, make_shot_model(OTHER_SHOTS), self.depth_m)
        other = Side(self.opponent, make_policy(OPPONENT_POLICY), hitter)
        return Game(studied, other, self.world, self.seed)
