"""The own approach without error, and how the opponent meets it."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass, field
from functools import cached_property

from experiments.answers.stroke.strokes import OwnStroke, StrokeQuestion, met_stroke, waiting_spot
from experiments.balls.own_drive import OWN_SPEED_SHARES, own_contact, own_drive
from experiments.scene.defaults import OPPONENT_POLICY
from experiments.scene.own_code import policy_of
from experiments.scene.scene import Scene, require_count
from sim.contracts import RecoveryPolicy, ShotModel
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M
from sim.errors import InputError
from sim.exchange import Game
from sim.kinds import APPROACH, KINDS
from sim.records import IN

FEWEST_BALLS, MOST_BALLS = 200, 100_000
LEAST_DEPTH_M = 2.0
FROM_NET_M, APART_M = (1.5, 2.0, 2.8, 3.5, 4.5, 6.0), 0.3
AS_HITTER, WHERE_YOU_ARE_NOT = "as the hitter passes", "where you are not"


@dataclass(frozen=True)
class NetQuestion:
    """An approach in a scene, whose own contact place plays no part.

    contact_m: the ball (x, y, z) when it is struck, y < 0; lands_m: (x, y) where it lands, y > 0.
    Every one of the scene's balls is played on to the end of its point.

    Raises:
        InputError: a number out of range.
    """

    scene: Scene
    contact_m: tuple[float, float, float]
    lands_m: tuple[float, float]
    opponent_policy: RecoveryPolicy = field(default_factory=lambda: policy_of(OPPONENT_POLICY))

    def __post_init__(self) -> None:
        x, y = self.lands_m
        inside = abs(x) <= HALF_WIDTH_M and LEAST_DEPTH_M <= y <= HALF_LENGTH_M
        if not (math.isfinite(x) and math.isfinite(y) and inside):
            raise InputError(
                f"your approach is to land at {x:g},{y:g}; allowed: x from {-HALF_WIDTH_M:g} to"
                f" {HALF_WIDTH_M:g} m and y from {LEAST_DEPTH_M:g} to {HALF_LENGTH_M:g} m"
            )
        require_count("balls", self.scene.balls, FEWEST_BALLS, MOST_BALLS)
        _ = self.own  # which checks the contact

    @cached_property
    def own(self) -> StrokeQuestion:
        """The same own contact as a question about strokes."""
        return StrokeQuestion(self.scene, self.contact_m, (), self.opponent_policy)

    @property
    def game(self) -> Game:
        return self.own.game

    @cached_property
    def own_m(self) -> float:
        """How near to the net the player goes as a rule."""
        return self.scene.player.legs.net_distance_m

    @cached_property
    def distances_m(self) -> tuple[float, ...]:
        """The distances from the net that are tried, the player's own among them."""
        others = (d for d in FROM_NET_M if abs(d - self.own_m) >= APART_M)
        return tuple(sorted([*others, self.own_m]))


def passing(hitter: ShotModel) -> dict[str, ShotModel]:
    """The hitter as it is, and one that passes where the player is not; one where they are one."""
    out = {AS_HITTER: hitter}
    if getattr(hitter, "pass_away", 1.0) < 1.0:
        out[WHERE_YOU_ARE_NOT] = dataclasses.replace(hitter, pass_away=1.0)  # type: ignore[type-var]
    return out


def approach(question: NetQuestion) -> OwnStroke:
    """The approach: the own drive at the share of speed of the player's approaches, slowed as far
    as the net asks for, to where it is to land; met by an opponent at rest at its policy's spot.

    Raises:
        InputError: no ball from there lands there, or the opponent does not get to it.
    """
    game, own = question.game, own_contact(question.game, *question.contact_m)
    share = question.scene.player.hitter.repertoire.approach_speed_share
    ball, path = own_drive(game, own, *question.lands_m, speed_shares=share * OWN_SPEED_SHARES)
    x, y = question.lands_m
    if ball["outcome"][0] != IN:
        raise InputError(
            f"no approach from there lands at {x:g},{y:g}; give a place farther from the net or"
            " another place to land"
        )
    ball["kind"] = APPROACH
    spot = waiting_spot(game, own)
    found = met_stroke(question.own, KINDS[APPROACH], own, spot, ball, path)
    if found.meets is None:
        raise InputError(
            f"your opponent does not reach an approach to {x:g},{y:g}, so it wins the point and"
            " there is nothing to wait for; let it land nearer to the opponent"
        )
    return found
