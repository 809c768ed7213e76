"""Cover the favourite without giving away the rest."""

from __future__ import annotations

from dataclasses import dataclass

from sim.parameter import parameter, require_finite_parameters
from strategies.naming import described
from strategies.recovery.best_for_belief import BestForBelief
from strategies.recovery.standing import require_shares


@dataclass(frozen=True)
class Guard(BestForBelief):
    """Stand where the believed mix and the best reply, weighed together, cost least.

    Between the best place for the belief (`worst_share` 0) and the safest place (1): the favourite
    is covered, and what it gives away is limited.

    Source: the compromise of Hodges and Lehmann 1952 (Annals of Mathematical Statistics 23, 396;
    from memory) between a known mix and the worst one. Parameters: `worst_share`, and `chart` as
    in the best place for a belief.
    It should lose to the best place for a belief where the belief is right, and to the safest
    place against one who sees it, by less than these two lose to each other.

    Raises:
        InputError: a share that is not from 0 to 1, or a chart with problems.
    """

    worst_share: float = parameter(
        0.3, "1", "weight of the best reply against the belief", low=0.0, high=1.0
    )

    def __post_init__(self) -> None:
        super().__post_init__()
        require_finite_parameters(self)
        require_shares(self, "worst_share")

    @property
    def name(self) -> str:
        return described("guard", self)

    @property
    def weighs_worst(self) -> float:
        return self.worst_share
