"""Who plays whom: the opponents, the policies and the three contact places."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass, field

from experiments.balls.spots import with_own
from experiments.scene.defaults import OPPONENT_POLICY
from experiments.scene.scene import FEWEST_BALLS, MOST_BALLS, Scene, require_count
from sim.contracts import RecoveryPolicy, ShotModel
from sim.errors import InputError
from sim.exchange import Game, Place, Side
from strategies.catalogue import SHOT_MODELS, make_policy, make_shot_model
from strategies.shots.best_reply import BestReply

PLACES = (
    Place("corner", 3.115, 11.885),
    Place("wide", 5.115, 11.885),
    Place("short wide", 4.8, 6.9),
)
OPPONENTS = tuple(name for name in SHOT_MODELS if name != "script")  # which aims at nobody
OTHER_SHOTS = "habit"


@dataclass(frozen=True)
class Field:
    """What is tried: policies against opponents from places.

    scene: the players, and the balls struck at every spot for the losses; its own place and hitter
    play no part. rallies: for each policy, opponent and place.

    Raises:
        InputError: numbers out of range, or two opponents of one name.
    """

    scene: Scene
    rallies: int = 400
    places: Sequence[Place] = PLACES
    policies: Sequence[RecoveryPolicy] = field(default_factory=with_own)
    opponents: Sequence[ShotModel] = field(
        default_factory=lambda: [make_shot_model(word) for word in OPPONENTS]
    )

    def __post_init__(self) -> None:
        require_count("rallies", self.rallies, FEWEST_BALLS, MOST_BALLS)
        names = [o.name for o in self.opponents]
        if len(set(names)) < len(names):
            raise InputError(f"two opponents have one name: {', '.join(names)}; leave one out")

    def at(self, place: Place, hitter: ShotModel) -> Scene:
        """One opponent at one place."""
        return dataclasses.replace(self.scene, place=place, hitter=hitter)

    def game(self, policy: RecoveryPolicy, hitter: ShotModel) -> Game:
        """Rallies of a policy against an opponent; a best reply is one to that very policy."""
        if isinstance(hitter, BestReply):
            hitter = BestReply(policy, hitter.look_ahead_s)
        scene = self.scene
        studied = Side(scene.player, policy, make_shot_model(OTHER_SHOTS), scene.depth_m)
        other = Side(scene.opponent, make_policy(OPPONENT_POLICY), hitter)
        return Game(studied, other, scene.world, scene.seed)
