"""Two places to recover to, beside each other on the same balls: which balls show the usual case.

Chosen by a rule and not by eye. The first balls of the first LOOKED_AT rallies that land in are
sorted by how much more time to spare the second place leaves than the first, and cut into PARTS
equal parts. Of each part the ball is shown that is nearest to its medians, of that gain and of the
time to spare from the first place: each stands for as many. Then, where there are any, one of the
balls that one place alone misses, the place that does so more often: the middle one by how late.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from experiments.answers.replay.answer import Replay
from experiments.answers.replay.track import RallyTrack, StrokeTrack, track_of
from experiments.scene.page import filled
from experiments.statistics.tally import SETTLED_OFF_S
from sim.array_engine import play
from sim.contracts import RecoveryPolicy
from sim.errors import InputError
from sim.exchange import with_policy
from sim.records import IN, MISSED

LOOKED_AT = 1000
PARTS = 3
FILM_S, REST_S, LEAST_REST_S = 10.0, 1.6, 0.4  # rest: after each ball


@dataclass(frozen=True)
class Shown:
    """One ball met from both places: the number of its rally, what it stands for, both rallies."""

    number: int
    stands_for: str
    tracks: tuple[RallyTrack, RallyTrack]

    @property
    def strokes(self) -> tuple[StrokeTrack, StrokeTrack]:
        return self.tracks[0].strokes[0], self.tracks[1].strokes[0]

    @property
    def lasts_s(self) -> float:
        """Until both have met it, or it has bounced twice."""
        return max(stroke.end_s for stroke in self.strokes)

    @property
    def gain_s(self) -> float:
        """How much more time to spare the second place leaves."""
        first, second = (settled(np.array([s.spare_s]))[0] for s in self.strokes)
        return float(second - first)


@dataclass(frozen=True)
class Beside:
    """Two places on the same balls.

    names: of the policies. landed: of LOOKED_AT balls, those that landed in; missed: how many of
    these from each. shown: a ball of each part, from the least gain to the largest, and one that
    one place alone misses. rest_s: after each of them.
    """

    replay: Replay
    names: tuple[str, str]
    landed: int
    missed: tuple[int, int]
    shown: tuple[Shown, ...]
    rest_s: float

    @property
    def end_s(self) -> float:
        """How long the film lasts at true speed."""
        return sum(ball.lasts_s + self.rest_s for ball in self.shown)


def beside_of(replay: Replay, other: RecoveryPolicy) -> Beside:
    """The policy of a replay and another one on the same balls.

    Raises:
        InputError: the same policy twice, a point that opens with a serve, or no ball landed in.
    """
    first = replay.game.studied.policy
    if replay.serving or replay.place.serve is not None:
        raise InputError("--beside compares places to recover to; a serve is met where it is met")
    if first.name == other.name:
        raise InputError(f"--beside is {other.name!r}, as --policy is; name another one")
    both = replay, replace(replay, game=with_policy(replay.game, other))
    rows = [_first_strokes(one) for one in both]
    landed = np.flatnonzero((rows[0]["outcome"] == IN) & (rows[1]["outcome"] == IN))
    if len(landed) == 0:
        raise InputError("not one ball landed in, so there is nothing to compare; choose another")
    first_s, second_s = (settled(r["time_to_spare_s"][landed]) for r in rows)
    missed = [r["grade"][landed] == MISSED for r in rows]
    names = (first.name, other.name)
    gain_s = second_s - first_s
    usual = enumerate(typical(gain_s, first_s))
    chosen = [(at, part_words(k, float(gain_s[at]), names[1])) for k, at in usual]
    alone = [missed[k] & ~missed[1 - k] for k in (0, 1)]
    who = int(alone[1].sum() > alone[0].sum())
    if alone[who].any():
        count = int(alone[who].sum())
        of = "the only one" if count == 1 else f"one of the {count}"
        words = f"{of} of {len(landed)} that {names[who]} alone misses"
        chosen.append((middle_of(alone[who], (first_s, second_s)[who]), words))
    shown = tuple(_shown(both, int(landed[k]), words) for k, words in chosen)
    rest = (FILM_S - sum(ball.lasts_s for ball in shown)) / len(shown)
    counts = int(missed[0].sum()), int(missed[1].sum())
    return Beside(replay, names, len(landed), counts, shown, min(max(rest, LEAST_REST_S), REST_S))


def typical(gain_s: np.ndarray, spare_s: np.ndarray, parts: int = PARTS) -> list[int]:
    """Of each of so many equal parts of balls (n,), sorted by gain, the one nearest to its medians.

    Nearest by the sum of both distances in seconds, of gain and of time to spare.
    """
    order = np.argsort(gain_s, kind="stable")
    out = []
    for part in np.array_split(order, min(parts, len(order))):
        away = sum(np.abs(v[part] - np.median(v[part])) for v in (gain_s, spare_s))
        out.append(int(part[np.argmin(away)]))
    return out


def middle_of(which: np.ndarray, spare_s: np.ndarray) -> int:
    """Of some balls (a mask, (n,)) the middle one by time to spare."""
    at = np.flatnonzero(which)
    return int(at[np.argsort(spare_s[at], kind="stable")[len(at) // 2]])


def settled(spare_s: np.ndarray) -> np.ndarray:
    """Time to spare, cut at -3 s, which also stands for a ball that nobody can play."""
    return np.maximum(np.nan_to_num(spare_s, nan=-SETTLED_OFF_S), -SETTLED_OFF_S)


def _first_strokes(replay: Replay) -> np.ndarray:
    rallies = replay.first_replicate + np.arange(LOOKED_AT)
    strokes = play(replay.played, replay.place, rallies)
    return strokes[strokes["stroke"] == 0]


def _shown(both: tuple[Replay, Replay], number: int, stands_for: str) -> Shown:
    first, second = (track_of(replace(one, number=number)) for one in both)
    return Shown(number, stands_for, (first, second))


def part_words(k: int, gain_s: float, other: str) -> str:
    """Which part of the balls, sorted by the other place's gain, the k-th shown one stands for.

    Its own gain says whether the other place gains or loses time there.
    """
    hundredths = round(100 * gain_s)
    which = "the middle third," if k == 1 else "the third"
    if hundredths == 0:
        return f"{which} where {other} gains no time"
    amounts = ("the least ", "", "the most ")
    if hundredths > 0:
        return f"{which} where {other} gains {amounts[k]}time"
    return f"{which} where {other} loses {amounts[PARTS - 1 - k]}time"


def rule_words(beside: Beside) -> str:
    """How the balls were chosen."""
    return (
        f"{beside.landed} balls sorted by the time that {beside.names[1]} gains or loses; of each"
        " third the one nearest to its medians."
    )


def beside_text(beside: Beside) -> str:
    """What the film shows and how its balls were chosen."""
    replay, (first, second) = beside.replay, beside.names
    same = "the same balls" if not _looks(replay) else "balls on the same chance"
    lines = [
        f"{replay.title}; beside it {second}. Seed {replay.game.seed}.",
        filled(
            f"Chosen by rule: the first balls of rallies 0 to {LOOKED_AT - 1} that land in"
            f" ({beside.landed}), sorted by how much more time to spare {second} leaves than"
            f" {first}, in {PARTS} equal parts; of each the one is shown that is nearest to its"
            " medians of that gain and of the time to spare. Then, if any, the middle one of those"
            f" that one place alone misses. Both meet {same}, waiting at rest. Of all"
            f" {beside.landed} {first} misses {beside.missed[0]}, {second} {beside.missed[1]}."
            " Model results."
        ),
    ]
    for k, ball in enumerate(beside.shown, 1):
        both = zip(beside.names, ball.strokes, strict=True)
        said = "; ".join(f"{name} {outcome_words(stroke)}" for name, stroke in both)
        gain = f"{ball.gain_s:+.2f} s".replace("-", "\u2212")
        lines.append(f"{k}. {ball.stands_for} (rally {ball.number}): {said} ({gain})")
    return "\n".join(lines)


def outcome_words(stroke: StrokeTrack) -> str:
    """How the ball was met."""
    if not stroke.met:
        late = "" if np.isnan(stroke.spare_s) else f", {-stroke.spare_s:.2f} s late"
        return f"misses it{late}"
    return f"reaches it, {stroke.spare_s:.2f} s to spare"


def _looks(replay: Replay) -> bool:
    return bool(replay.game.opponent.shots.sees_receiver)
