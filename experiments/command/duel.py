"""The command `rally-recovery duel`. Heavy libraries are imported only where it needs them."""

from __future__ import annotations

from experiments.command import options
from experiments.command.ask import Asked, Said, asks
from experiments.command.goal import PLAYERS, goal_asked

HITTERS = "habit,pressing,open-court,attentive,down-the-line,weaker-wing"
POLICIES = "middle,bisector,linear-shade,shade_m_per_m=0.3"


@asks(
    *(*PLAYERS, options.surface_option, options.seed_option),
    saves=(options.csv_option, options.quiet_option, options.json_option),
)
@options.shown("--hitters", default=HITTERS, help="What opponents hit, by comma.")
@options.shown("--policies", default=POLICIES, help="Where you recover to, by comma.")
@options.shown("--points", type=int, default=20000, help="Played in each cell of the table.")
@options.shown("--tried", type=int, default=1200, help="Points of each candidate and opponent.")
@options.shown("--rounds", type=int, default=25, help="Of each learner.")
@options.shown("--answers", type=int, default=4, help="Of each side, at most.")
def duel(
    asked: Asked,
    hitters: str,
    policies: str,
    points: int,
    tried: int,
    rounds: int,
    answers: int,
) -> Said:
    """Let learners answer each other: how safe each way of recovering is, and what shots can do.

    A table of points won by policy and hitter, each policy's worst case, the mixes of which
    neither side can be taken advantage of, and what it is worth to the hitter not to be read.
    Takes about half an hour.
    """
    from experiments.learning.duel.answer import Plan
    from experiments.learning.duel.answer import duel as fought
    from experiments.learning.duel.words import duel_json, duel_table, duel_text
    from experiments.output.terminal import say
    from experiments.scene.own_code import policy_of

    asked.check_table(["policy", "hitter", "points_per_100"])
    goal = goal_asked(asked, tuple(options.listed("--hitters", hitters)))
    own = [policy_of(text) for text in options.listed("--policies", policies)]
    plan = Plan(
        goal,
        {policy.name: policy for policy in own},
        points=points,
        tried=tried,
        rounds=rounds,
        most=answers,
        seed=asked.seed,
    )

    def told(text: str) -> None:
        if not asked.values.get("quiet", False):
            say(text, error=True)

    found = fought(plan, told)
    return Said(duel_text(found), lambda: duel_json(found), table=lambda: duel_table(found))
