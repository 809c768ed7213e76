"""All that Python prepares for the page's script, as plain values and contents of records.

Nothing here is worked out anew: records are those that the engine hands to its kernels, constants
those of the modules that own them. Tables (flight, running times, losses at contacts) are left out;
the script makes them with the same kernels.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from experiments.balls import angle, best, places, struck
from experiments.balls.spots import with_own
from experiments.page.pool import Pool, layout
from experiments.scene import defaults, scene
from experiments.scene.people import waiting_depth_m, world_of
from experiments.scene.player_file import is_player_file, opponent_of, player_of
from experiments.statistics import estimates, tally
from experiments.study.setting_table import SETTINGS
from sim import (
    belief,
    can_play,
    chance,
    court,
    distributions,
    flight,
    handover,
    over_arrays,
    records,
)
from sim.anticipation import fill_starts
from sim.ball import BALLS
from sim.belief import BELIEF, DIRECTIONS, STROKE_SEEN, Belief, fill_beliefs
from sim.climb import CLIMB
from sim.contracts import RecoveryPolicy
from sim.envelope import EXTREME, LIMITS, LINE_MARGIN_M, DriveLimits, fill_bisector, fill_extremes
from sim.flight_table import INPUTS, ROOM, SIZE, TABLE, fill_table
from sim.hitter import HITTER, RPM, fill_usable
from sim.kinds import DRIVE, KINDS
from sim.legs import LEGS, TABLE_NODES, TABLE_STEP_M
from sim.legs import TABLE as TIMES
from sim.meeting import BALANCED, appraise_all, meet
from sim.movement import CHASER
from sim.native.load import listed
from sim.over_arrays import fill_interpolated
from sim.playable import PART
from sim.players import PLAYERS, Player, ball_of
from sim.running_times import fill_times
from sim.stroke import ERROR_DRAWS, fly_exactly, strike_all
from sim.surface import SURFACES
from sim.world import TABULATED
from strategies.aim import AIM, aim_all
from strategies.catalogue import SHOT_MODELS
from strategies.charts import belief as charts
from strategies.charts import columns
from strategies.even_draws import fill_even
from strategies.recovery import biased, place_losses, time_balanced, weighing
from strategies.recovery.best_for_belief import BestForBelief
from strategies.recovery.bisector import Bisector, stand_halfway
from strategies.recovery.linear_shade import LinearShade, shade
from strategies.recovery.middle import Middle, stand_in_the_middle
from strategies.recovery.safest import Safest
from strategies.recovery.standing import toward_backhand
from strategies.shots import best_reply, choosing
from strategies.shots.any_allowed import AnyAllowed, intend_any
from strategies.shots.best_reply import BestReply
from strategies.shots.charted import Charted
from strategies.shots.directed import DirectedShots
from strategies.shots.script import Script, intend_script

KERNELS: tuple[Any, ...] = (
    *(chance.fill_uniforms, chance.fill_normals, can_play.settle_all, strike_all, fly_exactly),
    *(appraise_all, meet, fill_starts, handover.turn_bodies, handover.turn_contacts),
    *(fill_table, fill_times, flight.trace, fill_extremes, fill_bisector, fill_usable),
    *(fill_beliefs, fill_interpolated, fill_even, aim_all),
    *(belief.crosscourt_of, belief.fill_counts, belief.fill_nearness, belief.fill_usual_aims),
    *(over_arrays.fill_exp, over_arrays.fill_log, over_arrays.fill_product),
    *(distributions.beta_quantile, distributions.normal_quantile, distributions.student_quantile),
    *(choosing.intend_all, intend_any, intend_script),
    *(stand_in_the_middle, stand_halfway, shade, biased.stand_biased),
    *(time_balanced.stand_in_balance, weighing.lose, weighing.choose_place),
    *(weighing.mark_missing, weighing.stand_by_table),
)
LAYOUTS = {
    "WORLD": records.WORLD,
    "CONTACT": records.CONTACT,
    "INTENT": records.INTENT,
    "BALL": records.BALL,
    "BODY": records.BODY,
    "MEETING": records.MEETING,
    "HITTER": HITTER,
    "LEGS": LEGS,
    "TIMES": TIMES,
    "TABLE": TABLE,
    "ROOM": ROOM,
    "PART": PART,
    "CLIMB": CLIMB,
    "CHASER": CHASER,
    "EXTREME": EXTREME,
    "LIMITS": LIMITS,
    "AIM": AIM,
    "BELIEF": BELIEF,
    "STROKE_SEEN": STROKE_SEEN,
}


def kernel_list() -> dict[str, Any]:
    """The part of `kernels.json` that the script calls: of a kernel with and without a table of
    flights, the form with it."""
    entries = listed()["entries"]
    out = {}
    for kernel in KERNELS:
        found = {t: e for t, e in entries[kernel.path].items() if ",none" not in t}
        if len(found) != 1:
            raise ValueError(f"{kernel.path} is shipped in {len(found)} forms; the page calls one")
        out[kernel.path] = found
    return {"entries": out}


def constants() -> dict[str, Any]:
    """The numbers of the engine that the script reads, by name."""
    named: dict[str, Any] = {}
    for module, names in (
        (court, ("HALF_LENGTH_M", "HALF_WIDTH_M")),
        (records, ("IN", "MISSED", "SET", "FOREHAND", "PATH_POINTS", "T", "X", "Y", "Z")),
        (chance, ("SHOT", "EXECUTION", "RECEIVE")),
        (places, ("FARTHEST_X_M", "STEP_X_M", "COARSE_STEP_X_M", "FINEST_X_M", "AROUND")),
        (places, ("LOOK_BALLS",)),
        (struck, ("CHUNK", "SAME_PLACE_M", "NOTHING_TO_REACH")),
        (best, ("PLATEAU",)),
        (angle, ("NEAREST_BOUNCE_M", "CLOSE_M")),
        (tally, ("SETTLED_OFF_S", "COLUMNS")),
        (estimates, ("LEVEL", "ROUNDING")),
        (scene, ("FEWEST_BALLS", "MOST_BALLS")),
        (choosing, ("ROOM_ROWS",)),
        (time_balanced, ("PLACES", "FINE_PLACES")),
        (place_losses, ("STROKES", "REPLY_STROKES", "DEVIATE_DRAWS", "NODES")),
        (defaults, ("BALLS", "CONTACT_HEIGHT_M", "CORNER_M", "HITTER", "LEVEL", "SURFACE")),
    ):
        mine = {name: getattr(module, name) for name in names}
        if module is defaults:
            mine = {"DEFAULTS": {name.lower(): value for name, value in mine.items()}}
        named |= mine
    return named | {
        "LARGEST_SEED": str(chance.LARGEST_SEED),  # more than a number of the script's can hold
        "LINE_MARGIN_M": LINE_MARGIN_M,
        "RPM": RPM,
        "BALANCED": BALANCED,
        "ERROR_DRAWS": ERROR_DRAWS,
        "PLACED_BLOCK": SETTINGS["placed"].block_size,
        "DIRECTIONS": len(DIRECTIONS),
        "TABLE_NODES": TABLE_NODES,
        "TABLE_STEP_M": TABLE_STEP_M,
        "TABLE_SIZE": SIZE,
        "TABLE_INPUTS": INPUTS,
    }


@dataclass
class State:
    """The state of a page for some people: names of levels and paths of player files.

    Raises:
        InputError: a name or file that cannot be used.
    """

    texts: Sequence[str] = tuple(PLAYERS)
    pool: Pool = field(default_factory=Pool)
    players: list[Player] = field(default_factory=list)

    def as_json(self) -> dict[str, Any]:
        """All of it; see the modules of the script for what they read."""
        people = [self._person(text) for text in self.texts]  # first: they fill `players`
        return {
            "kernels": kernel_list(),
            "layouts": {name: layout(dtype) for name, dtype in LAYOUTS.items()},
            "numbers": constants(),
            "people": people,
            "players": [self._player(number) for number in range(len(self.players))],
            "worlds": self._worlds(),
            "limits": self.pool.number(DriveLimits().numbers),
            "belief": self._belief(Belief()),
            "hitters": {name: self._hitter(kind()) for name, kind in SHOT_MODELS.items()},
            "policies": [self._policy(policy) for policy in with_own()],
            "losses": self._losses(),
            "charts": self._charts(),
            "pool": self.pool.as_json(),
        }

    def _number(self, someone: Player) -> int:
        """The number of a player, who is added if new, as is the one with the other hand."""
        if someone not in self.players:
            self.players += [someone, _other_hand(someone)]
        return self.players.index(someone)

    def _person(self, text: str) -> dict[str, Any]:
        """Who can be asked about by that text, in which hands, and who plays against them."""
        me, hands = player_of(text), ("right", "left")
        mine = (me.hand,) if is_player_file(text) else hands
        return {
            "name": me.name,
            "hand": me.hand,
            "player": {hand: self._number(me.with_hand(hand)) for hand in mine},
            "opponent": {hand: self._number(opponent_of(text, hand)) for hand in hands},
        }

    def _player(self, number: int) -> dict[str, Any]:
        me = self.players[number]
        return {
            "name": me.name,
            "hand": me.hand,
            "mirrored": self._number(_other_hand(me)),
            "hitter": self.pool.number(me.hitter.numbers),
            "choices": self.pool.number(me.hitter.repertoire.choices),
            "legs": self.pool.number(me.legs.numbers),
            "settled_speed_m_s": float(me.legs.settled_speed_m_s),
            "ball": ball_of(me).name,
            "waits_behind_m": {surface: waiting_depth_m(me, surface) for surface in SURFACES},
        }

    def _worlds(self) -> dict[str, dict[str, int]]:
        """The WORLD records by surface and ball, in the studied player's frame."""
        return {
            surface: {
                ball: self.pool.number(world_of(surface, None, ball, flight=TABULATED).numbers)
                for ball in BALLS
            }
            for surface in SURFACES
        }

    def _belief(self, held: Belief) -> list[int]:
        """A BELIEF record and the STROKE_SEEN records that it rests on."""
        return [self.pool.number(held.numbers), self.pool.number(held.seen_strokes)]

    def _hitter(self, model: Any) -> dict[str, Any]:
        """What a hitter is made of, by the rule that decides for it."""
        told = {"name": model.name, "draws": model.draws, "looks": model.sees_receiver}
        if isinstance(model, DirectedShots):
            shares = [model.shares_of(player) for player in self.players]
            if isinstance(model, Charted):
                told["blank"] = self.pool.number(model.blank.numbers)
            return told | {
                "rule": "directed",
                "aims": self.pool.number(model.numbers),
                "habit_against": [
                    self.pool.number(model.habit_against(receiver)) for receiver in self.players
                ],
                "shares_of": [[self.pool.number(part) for part in parts] for parts in shares],
            }
        if isinstance(model, AnyAllowed):
            return told | {"rule": "any", "allowed": self.pool.number(model.numbers)}
        if isinstance(model, Script):
            return told | {"rule": "script", "shots": self.pool.number(model.numbers)}
        if isinstance(model, BestReply):
            styles = [self.pool.number(style.numbers) for style in best_reply.STYLES]
            return told | {"rule": "reply", "styles": styles}
        raise TypeError(f"the page knows no rule for {model!r}")

    def _policy(self, policy: RecoveryPolicy) -> dict[str, Any]:
        """What a policy is made of, by the rule that decides for it."""
        told = {"name": policy.name}
        if isinstance(policy, Middle | Bisector | LinearShade):
            beside = [toward_backhand(me, policy.toward_backhand_m) for me in self.players]
            rule = {Middle: "middle", Bisector: "bisector", LinearShade: "shade"}[type(policy)]
            shaded = getattr(policy, "shade_m_per_m", None)
            return told | {"rule": rule, "beside_m": beside, "shade_m_per_m": shaded}
        if isinstance(policy, biased.Biased):
            names = ("shift_m", "shift_share", "tie_share")
            own = {name: getattr(policy, name) for name in names}
            biases = [records.record(biased.BIAS, **own, side=policy.side(p)) for p in self.players]
            return told | {"rule": "biased", "bias": [self.pool.number(each) for each in biases]}
        if isinstance(policy, time_balanced.TimeBalanced):
            return told | {"rule": "balance", "fastest": policy.drives == "fastest"}
        if isinstance(policy, BestForBelief | Safest):
            worst = 1.0 if isinstance(policy, Safest) else policy.weighs_worst
            return told | {"rule": "losses", "worst_share": worst}
        raise TypeError(f"the page knows no rule for {policy!r}")

    def _losses(self) -> dict[str, Any]:
        """What losses at the nodes of contacts are worked out from."""
        keep = self.pool.number
        return {
            "nodes": keep(place_losses.nodes()),
            "node_x_m": keep(place_losses.NODE_X_M),
            "node_y_m": keep(place_losses.NODE_Y_M),
            "place_x_m": keep(place_losses.PLACE_X_M),
            "fine_x_m": keep(place_losses.FINE_X_M),
            "styles": [keep(style.numbers) for style in place_losses.STYLES],
        }

    def _charts(self) -> dict[str, Any]:
        """What a belief is made of from a chart (strategies.charts.belief)."""
        blank = Charted().blank
        habit = Belief(blank.from_middle, blank.from_corner)
        return {
            "habit": self.pool.number(habit.numbers),
            "no_strokes": self.pool.number(habit.seen_strokes),
            "rounds": charts.ROUNDS,
            "half_normal_mean": charts.HALF_NORMAL_MEAN,
            "half_normal_sd": charts.HALF_NORMAL_SD,
            "direction_of": charts.DIRECTION_OF,
            "columns": {name.replace("-", "_"): k for k, name in enumerate(DIRECTIONS)},
            "net": columns.NET,
            "from_the_ground": columns.FROM_THE_GROUND,
            "drive": KINDS[DRIVE],
        }


def _other_hand(someone: Player) -> Player:
    return someone.with_hand("left" if someone.hand == "right" else "right")
