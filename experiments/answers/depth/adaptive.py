"""Depth: policies that choose their own depth, against the best fixed place, held out.

The fixed place is chosen on training rallies out of depths and lateral rules; it and the policies
are judged on the others. Each meets the short balls that pay against it, chosen in training too.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from experiments.answers.depth.answer import Depth
from experiments.answers.depth.rallies import Played
from experiments.answers.depth.short_balls import PAYS, ShortBalls, paying, with_short_balls
from experiments.balls.spots import placed_situation, spot_of
from experiments.scene.own_code import policy_of
from experiments.scene.scene import Scene
from experiments.statistics.estimates import Difference, Estimate
from sim.contracts import RecoveryPolicy
from sim.errors import InputError
from strategies.catalogue import POLICIES

ALL = "all"
LATERAL = (
    "middle",
    "bisector",
    "linear-shade,shade_m_per_m=0.2",
    "linear-shade,shade_m_per_m=0.3",
)
SHORT_LIST = 6  # fixed places that meet all short balls tried, not only those of their depth


@dataclass(frozen=True, eq=False)
class Adapted:
    """A policy on the judged rallies. points_more, reached_more: than the best fixed place's.

    depth_m: the mean depth at the opponent's strokes; fixed_depth_m: of a fixed place, else None.
    """

    policy: str
    fixed_depth_m: float | None
    short: ShortBalls
    depth_m: float
    points: Estimate
    points_more: Difference
    reached: Estimate
    reached_more: Difference


def policies_of(words: Sequence[str], scene: Scene) -> list[RecoveryPolicy]:
    """The policies of these words; "all" is every one of the catalogue that chooses its depth.

    Raises:
        InputError: an unknown policy, one without a spot at the start of a rally, none that
            chooses its depth, or two of one name.
    """
    found: list[RecoveryPolicy] = []
    for word in words:
        more = own_depth() if word == ALL else [policy_of(word)]
        if not more:
            raise InputError(
                "no policy of the catalogue chooses its own depth; give --adaptive a name or"
                " path/to/file.py:Name"
            )
        found += [policy for policy in more if policy not in found]
    names = [policy.name for policy in found]
    if len(set(names)) < len(names):
        raise InputError(f"two policies have one name: {', '.join(names)}; leave one out")
    for policy in found:
        spot_of(policy, placed_situation(scene))
    return found


def own_depth() -> list[RecoveryPolicy]:
    """The catalogue's policies that choose their own depth."""
    return [kind() for kind in POLICIES.values() if getattr(kind, "chooses_depth", False)]


def adapted(
    found: Depth, policies: Sequence[RecoveryPolicy], done: Callable[[], object] = lambda: None
) -> list[Adapted]:
    """The best fixed place, then the policies; `done` is called as often as `adaptive_steps`."""
    question = found.question
    fixed, depth_m, short, best = _best_fixed(found, done)
    out = [_row(fixed.name, depth_m, short, best, best)]
    for policy in policies:
        short, game, _ = paying(question.at(question.scene.depth_m, policy), question.train)
        out.append(_row(policy.name, None, short, question.judge(game), best))
        done()
    return out


def adaptive_steps(policies: Sequence[RecoveryPolicy]) -> int:
    """How often `adapted` calls `done`."""
    return len(LATERAL) + SHORT_LIST + len(policies)


def _best_fixed(
    found: Depth, done: Callable[[], object]
) -> tuple[RecoveryPolicy, float, ShortBalls, Played]:
    """The lateral rule and depth that win most in training, what they meet, and how they do."""
    question = found.question
    tried = []
    for rule in map(policy_of, LATERAL):
        for row in found.answer.rows:
            game = question.at(row.depth_m, rule)
            if found.answer.name == PAYS:
                game = with_short_balls(game, row.short)
            tried.append((question.train(game), rule, row.depth_m))
        done()
    order = np.argsort([-points for points, _, _ in tried], kind="stable")[:SHORT_LIST]
    met = []
    for k in order:
        _, rule, depth_m = tried[k]
        met.append((*paying(question.at(depth_m, rule), question.train), rule, depth_m))
        done()
    short, game, _, rule, depth_m = max(met, key=lambda one: one[2])
    return rule, depth_m, short, question.judge(game)


def _row(name: str, fixed_m: float | None, short: ShortBalls, one: Played, best: Played) -> Adapted:
    return Adapted(
        name,
        fixed_m,
        short,
        one.ratio("waited_m", "opponent_strokes").value,
        one.share("points"),
        one.less(best, "points"),
        one.share("reached", "balls"),
        one.less(best, "reached", "balls"),
    )
