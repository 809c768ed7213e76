"""The command `rally-recovery headroom`. Heavy libraries are imported only where needed."""

from __future__ import annotations

from experiments.command import options
from experiments.command.ask import Asked, Said, asks
from experiments.command.goal import PLAYERS, goal_asked


@asks(
    *(*PLAYERS, options.surface_option, options.hitter_option, options.seed_option),
    saves=(options.quiet_option, options.json_option),
)
@options.shown("--policy", default="bisector", help="Where you recover to.")
@options.shown("--others", default="middle,bisector", help="Whose states are tried, too.")
@options.shown("--points", type=int, default=40000, help="Whole points played for the value.")
@options.shown("--states", type=int, default=120, help="Decisions looked at, of each policy.")
@options.shown("--shots", type=int, default=400, help="Of the opponent at each of them.")
def headroom(asked: Asked, policy: str, others: str, points: int, states: int, shots: int) -> Said:
    """How much more any way of recovering could win: from what one gets to what none can exceed.

    Whole points against one hitter. At decisions that points come to, places all around are tried
    against the same shots; what the best of them is worth more, added up over a point, bounds what
    any policy can win more. Takes some minutes.
    """
    from experiments.evidence.headroom.answer import Effort, headroom_of
    from experiments.evidence.headroom.words import headroom_json, headroom_text
    from experiments.learning.training.goal import FEWEST_POINTS, game_of
    from experiments.scene.own_code import policy_of

    hitter = asked.values["hitter"]
    goal = goal_asked(asked, (hitter,), points=2 * FEWEST_POINTS)
    effort, seed = Effort(points, states, shots), asked.seed
    own = policy_of(policy)
    theirs = {one.name: one for one in map(policy_of, options.listed("--others", others))}
    theirs.pop(own.name, None)
    game = game_of(goal, hitter, None, seed)
    with asked.progress(3 + len(theirs)) as done:
        found = headroom_of(game, own, list(theirs.values()), effort, done)
    text = headroom_text(found, own.name, goal.level, hitter, effort, seed)
    return Said(text, lambda: headroom_json(found, own.name, effort, seed))
