"""The scene of an answer: who plays where, on what, how deep, and by which chance."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from experiments.output.in_a_line import InALine
from experiments.scene.defaults import (
    BALLS,
    CONTACT_HEIGHT_M,
    CORNER_M,
    HITTER,
    LEVEL,
    OPPONENT_POLICY,
    SURFACE,
)
from experiments.scene.own_code import policy_of, shot_model_of
from experiments.scene.people import (
    given,
    left_out,
    limits_of,
    opponent_json,
    opponent_words,
    players_of,
    waiting_depth_m,
    world_of,
)
from experiments.scene.sides import NEAR_MIDDLE_M
from experiments.scene.told_units import length
from sim.additions import player_without
from sim.belief import Belief
from sim.chance import checked_seed, fresh_seed
from sim.contracts import ShotModel
from sim.court import HALF_LENGTH_M, RUN_OFF_BACK_M
from sim.envelope import DriveLimits
from sim.errors import InputError
from sim.exchange import Game, Place, Side, opening_contact
from sim.players import Player
from sim.records import WINGS
from sim.world import TABULATED, World
from strategies.recovery.middle import Middle

FEWEST_BALLS, MOST_BALLS = 100, 1_000_000
CONTACT = "opponent's contact"


@dataclass(frozen=True, repr=False)
class Scene(InALine):
    """One contact place of the opponent, who plays on what, and how many balls by which seed.

    place: the ball at the opponent's contact; an answer about several places puts each in turn.
    hitter: what the opponent plays. depth_m: where the player waits, metres behind the baseline.
    limits: which drives count for the angle. belief: what the player holds of the opponent's
    directions. without: the additions (sim.additions) that both players are made to do without.

    Raises:
        InputError: a depth that is not behind the baseline and inside the run-off, or a number of
            balls or a seed out of range.
    """

    place: Place
    player: Player
    opponent: Player
    world: World
    hitter: ShotModel
    depth_m: float
    balls: int
    seed: int
    limits: DriveLimits = field(default_factory=DriveLimits)
    belief: Belief = field(default_factory=Belief)
    without: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if not (math.isfinite(self.depth_m) and 0 <= self.depth_m <= RUN_OFF_BACK_M):
            raise InputError(
                f"depth is {self.depth_m:g} m; it is metres behind the baseline,"
                f" from 0 to {RUN_OFF_BACK_M:g}"
            )
        require_count("balls", self.balls, FEWEST_BALLS, MOST_BALLS)
        checked_seed(self.seed)

    @property
    def game(self) -> Game:
        """The game of the scene; both recover to the middle until somebody says otherwise."""
        limits = self.limits
        studied = Side(self.player, Middle(), self.hitter, self.depth_m, self.belief, limits)
        other = Side(self.opponent, Middle(), self.hitter, limits=limits)
        return Game(studied, other, self.world, self.seed)

    def rallies(self, own_shots: str = HITTER, opponent_policy: str = OPPONENT_POLICY) -> Game:
        """The game of whole rallies: what the player hits, and where the opponent recovers to."""
        game = self.game
        studied = dataclasses.replace(game.studied, shots=shot_model_of(own_shots))
        other = dataclasses.replace(game.opponent, policy=policy_of(opponent_policy))
        return dataclasses.replace(game, studied=studied, opponent=other)

    def contest(self, own_shots: str = HITTER, opponent_policy: str = OPPONENT_POLICY) -> Game:
        """The same of two who are named each: the opponent waits where such a player does there."""
        game = self.rallies(own_shots, opponent_policy)
        depth_m = waiting_depth_m(self.opponent, self.world.surface.name)
        return dataclasses.replace(
            game, opponent=dataclasses.replace(game.opponent, depth_m=depth_m)
        )

    @property
    def line_m(self) -> float:
        """The waiting line, metres from the net."""
        return HALF_LENGTH_M + self.depth_m

    @property
    def looks(self) -> bool:
        """Whether the hitter looks at the receiver, so that each place meets balls of its own."""
        return self.hitter.sees_receiver

    def at(self, place: Place) -> Scene:
        """The same scene with the opponent's contact elsewhere."""
        return dataclasses.replace(self, place=place)

    def against(self, what: str | None = None) -> str:
        """Who the opponent is, and `what` is hit: the hitter's name where nothing is said."""
        hits = what or self.hitter.name
        return opponent_words(self.opponent, hits, self.world.ball, self.without)

    def against_whom(self, what: str | None = None) -> str:
        """The same to go on a sentence, such as `against one like Anna, right-handed, habit`."""
        one = "one " if self.opponent.name.startswith("like ") else ""
        return f"against {one}{self.against(what)}"

    @property
    def text(self) -> str:
        """Who strikes from where, and who waits how deep on which court."""
        place = self.place
        behind = place.y_m - HALF_LENGTH_M
        depth = f"{length(abs(behind))} {'behind' if behind > 0 else 'inside'} the far baseline"
        depth = "at the far baseline" if abs(behind) < NEAR_MIDDLE_M else depth
        across = "on the centre line"
        if abs(place.x_m) >= NEAR_MIDDLE_M:
            across = f"{length(abs(place.x_m))} to your {'left' if place.x_m < 0 else 'right'}"
        return (
            f"Your opponent ({self.against()}) strikes\n"
            f"{across} with the {self.their_wing}, {depth}, ball {length(place.z_m)} high.\n"
            f"You ({self.player.name}, {self.player.hand}-handed) wait {length(self.depth_m)}"
            f" behind the baseline on a {self.world.surface.name} court."
        )

    @property
    def their_wing(self) -> str:
        """The wing that the opponent strikes with, unhurried."""
        return WINGS[opening_contact(self.place, self.game.opponent, 1)["wing"][0]]

    @property
    def numbers(self) -> dict[str, Any]:
        """The same for JSON: the first keys of every answer."""
        return {
            "opponent_contact_m": [self.place.x_m, self.place.y_m, self.place.z_m],
            **self.who,
            "hitter": self.hitter.name,
            "surface": self.world.surface.name,
            "depth_m": self.depth_m,
            "seed": self.seed,
        }

    @property
    def who(self) -> dict[str, Any]:
        """Both players, for JSON."""
        return {
            "player": self.player.name,
            "hand": self.player.hand,
            **opponent_json(self.opponent, self.world.ball, self.without),
        }


def scene_of(
    opponent: tuple[float, float] = CORNER_M,
    height: float = CONTACT_HEIGHT_M,
    *,
    player: str = LEVEL,
    opponent_player: str | None = None,
    hand: str | None = None,
    opponent_hand: str | None = None,
    surface: str = SURFACE,
    ball: str | None = None,
    depth: float | None = None,
    hitter: str | ShotModel = HITTER,
    balls: int = BALLS,
    seed: int | None = None,
    least_in: float | None = None,
    nearest_landing: float | None = None,
    belief: Belief | None = None,
    without: str | Iterable[str] | None = None,
) -> Scene:
    """The scene that words and numbers describe, as the options of the commands are named.

    `opponent` (x, y) and `height` are the ball at the opponent's contact, in m. Players are levels
    or player files, an opponent who is not named one like the player; a hand, a ball, a depth (m
    behind the baseline) or a seed that is not given is the player's own or a fresh one. Both play
    `without` these additions (sim.additions): names, one text of them with commas, or "all".

    Raises:
        InputError: a name that is not known, or a value out of range.
    """
    names = left_out(without)
    people = players_of(player, opponent_player, hand, opponent_hand)
    me, other = (player_without(someone, names) for someone in people)
    return Scene(
        place=Place(CONTACT, *opponent, height),
        player=me,
        opponent=other,
        world=world_of(surface, me, ball, flight=TABULATED),
        hitter=shot_model_of(hitter) if isinstance(hitter, str) else hitter,
        depth_m=waiting_depth_m(me, surface) if depth is None else depth,
        balls=balls,
        seed=fresh_seed() if seed is None else seed,
        limits=limits_of(least_in, nearest_landing),
        without=names,
        **given(belief=belief),
    )


def require_count(what: str, count: int, fewest: int, most: int) -> None:
    """Refuse a number of balls, rallies or strokes that is out of range."""
    if not fewest <= count <= most:
        raise InputError(f"{what} is {count}; allowed: {fewest} to {most}")
