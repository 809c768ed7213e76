"""A race: which policies can still be the best of a cell, and when the choice is made.

All policies that are left play the same replicates, and at each look (n, 2n, 4n, ...) those that
cannot be the best any more are put out: successive elimination (Even-Dar, Mannor and Mansour 2006,
J. Mach. Learn. Res. 7, 1079-1105), or a race (Maron and Moore 1994, Adv. Neural Inf. Process. Syst.
6, 59-66). The interval of each difference is the one that verdicts rest on: paired, by Student at
the level of a boundary for repeated looks (the significance level approach of Jennison and Turnbull
2000, Group Sequential Methods with Applications to Clinical Trials), shared by Sidak among
as many comparisons as one policy has. That many are enough, though all pairs are looked at: to lose
the best, one of the intervals of its own differences must miss the truth, at some look. That the
product of the levels holds for looks and policies together is the Gaussian correlation inequality
(Royen 2014, Far East J. Theor. Stat. 48, 139-145).

Why not intervals for any time at all, as confidence sequences (Howard et al. 2021, Ann. Stat. 49,
1055-1080) or empirical Bernstein bounds: they hold at every replicate, and here one looks at a few
sizes fixed beforehand, for which the boundary is narrower; and they would know nothing of pairing's
small variances where points are counted. The price: at small sizes Student's quantile is relied on.

So with 95 %, where the choice is made, the leader is the best or, by the zone in which one is
indifferent (Bechhofer 1954, Ann. Math. Stat. 25, 16-39), within so many in 100 of it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from experiments.statistics.comparison import NOT_DECIDED, verdict, written
from experiments.statistics.estimates import Difference

More = Callable[[str, str], Difference]


@dataclass(frozen=True)
class Standing:
    """How a cell stands at a look.

    leader: the best as far as is seen; left: those that can be the best still, the leader among
    them; chosen: nobody left can be better than the leader by more than is disregarded; open: those
    without a verdict against the reference.
    """

    leader: str
    left: tuple[str, ...]
    chosen: bool
    open: tuple[str, ...]

    def going_on(self, verdicts: bool) -> set[str]:
        """Who plays on: nobody once the choice is made and all who are left have a verdict, with
        `verdicts` all policies; else those who are left, and with `verdicts` whoever has none."""
        left, wanted = set(self.left), set(self.open)
        wanted = wanted if verdicts else wanted & left
        return left | wanted if wanted or not self.chosen else set()


def standing(policies: Sequence[str], reference: str, more: More, within: float) -> Standing:
    """How those policies stand that played all replicates so far, the reference among them.

    `more(a, b)` is what a has more than b, in 100, with the interval that holds together. Out is
    whoever has less than another one for certain; `within`, in 100, is what the choice disregards.
    """
    leader = max(policies, key=lambda p: more(p, policies[0]).value)
    left = tuple(p for p in policies if not any(more(q, p).low > 0 for q in policies if q != p))
    chosen = all(more(p, leader).high <= within for p in left if p != leader)
    compared = {p: more(p, reference) for p in policies if p != reference}
    ends = {p: (written(d.low), written(d.high)) for p, d in compared.items()}
    no_verdict = tuple(p for p in ends if verdict(*ends[p]) == NOT_DECIDED)
    return Standing(leader, left, chosen, no_verdict)


def surest(policy: str, rivals: Sequence[str], more: More) -> str:
    """The rival that has more than the policy most surely, by the lower end."""
    return max(rivals, key=lambda q: more(q, policy).low)
