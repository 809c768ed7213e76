"""From tallies to cells: one estimate with its interval per policy, scenario and outcome."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from experiments.scene.own_code import policy_of
from experiments.statistics.comparison import (
    NOTHING,
    compared,
    level_together,
    shared,
    written,
)
from experiments.statistics.estimates import (
    INDEX,
    LEVEL,
    Difference,
    Estimate,
    mean_difference,
    mean_of,
    paired,
    ratio,
    share,
)
from experiments.statistics.group_sequential import level_each_look
from experiments.statistics.tally import Tally
from experiments.study.choices import choice_row
from experiments.study.design import ALL_PLACES, Study, placeable
from experiments.study.design_points import values_at
from experiments.study.factor_names import changed_place, stated_of
from experiments.study.outcome_names import fewer_missed, more_points, more_returned, more_time
from experiments.study.setting_table import is_rally, is_served
from experiments.study.settings import Scenario
from experiments.study.world_cells import HalfSums, Seen, sums_of, world_columns

Tallies = dict[Scenario, dict[str, Tally]]
SCENE = ("place", "level", "opponent", "setting", "own_stroke")
SAME_DEPTH_M = 1e-6
OF_ONE_PLACE = ("spot_x_m", "spot_y_m", "reached_x_m", "shade_m_per_m")
SHARES = ("missed_per_100", "not_returned_per_100", "set_per_100", "share_in_time")


def estimates(
    tally: Tally,
    place_x_m: float | None,
    rally: bool,
    than: str | None,
    level: float = LEVEL,
    on_line: bool = True,
) -> dict[str, Estimate]:
    """All outcomes of one cell by name; `than` names the reference, None for that itself.

    One that is not `on_line` waits at a depth of its own, and so comes to no shade. Without a place
    (None) the first ball comes from none, and nothing is said of the spot that it finds one at.
    """
    missed = share(tally, "missed", "balls", level)
    out = {
        "missed_per_100": missed.scaled(100),
        "share_in_time": missed.complement,
        "set_per_100": share(tally, "set", "balls", level).scaled(100),
        "not_returned_per_100": share(tally, "not_returned", "balls", level).scaled(100),
        "time_to_spare_s": ratio(tally, "spare_s", "balls", level),
        "run_m": ratio(tally, "run_m", "balls", level),
    }
    if place_x_m is not None:
        out["spot_x_m"] = ratio(tally, "spot_x_m", "one", level)
        out["reached_x_m"] = ratio(tally, "reached_x_m", "one", level)
    if place_x_m is not None and not on_line:
        out["spot_y_m"] = ratio(tally, "spot_y_m", "one", level)
    elif place_x_m:
        spot = out["spot_x_m"]
        value, se = -spot.value / place_x_m, spot.se / abs(place_x_m)
        low, high = sorted((-spot.low / place_x_m, -spot.high / place_x_m))
        out["shade_m_per_m"] = replace(spot, value=value, low=low, high=high, se=se)
    if rally:
        out["points_won_per_100"] = share(tally, "points", "one", level).scaled(100)
        out["strokes_per_rally"] = ratio(tally, "strokes", "one", level)
    if than is not None:
        out[fewer_missed(than)] = paired(tally, "missed", "balls", level).scaled(-100)
        out[more_returned(than)] = paired(tally, "not_returned", "balls", level).scaled(-100)
        out[more_time(than)] = paired(tally, "spare_s", "balls", level)
        if rally:
            out[more_points(than)] = paired(tally, "points", "one", level).scaled(100)
    return out


def has_depth_of_reference(tally: Tally) -> bool:
    """Whether policy and reference wait at one depth, on average over the first strokes."""
    k = INDEX["spot_y_m"]
    apart = float(tally.own[0, k] - tally.reference[0, k])
    return abs(apart) <= SAME_DEPTH_M * float(tally.own[0, 0])


def cells(study: Study, tallies: Tallies, sums: HalfSums | None = None) -> Iterator[dict[str, Any]]:
    """The cells of a study in a fixed order, then those over all places with equal weights, but for
    settings without places.

    Where there may be several looks, the intervals of all looks hold together; in a race, those
    over all places hold wherever each place stopped.
    Modelling choices and the points of factors have tables of their own. For a study over worlds,
    whose sums over halves are `sums`, each cell has the columns of its worlds too.
    """
    x_of: dict[str, float | None] = {p.name: p.x_m for p in study.places}
    reference = policy_of(study.reference).name
    groups: dict[tuple[str, ...], list[dict[str, Estimate]]] = {}
    in_worlds: dict[tuple[str, ...], list[dict[str, Seen]]] = {}
    for scenario, by_policy in tallies.items():
        if scenario.choice is not None or scenario.point is not None:
            continue
        x_m = x_of.get(scenario.place)
        for policy, found, together in _found(study, reference, scenario, x_m, by_policy):
            labels = (scenario.level, scenario.opponent, scenario.setting)
            key = (policy, *labels, scenario.own_stroke or "")
            groups.setdefault(key, []).append(found)
            seen: dict[str, Seen] = {}
            if study.worlds is not None and sums is not None:
                halves = sums_of(study, sums, scenario, policy)
                seen = {name: Seen.of(halves, name, reference, x_m or 0.0) for name in found}
                in_worlds.setdefault(key, []).append(seen)
            for outcome, estimate in found.items():
                row = cell(policy, scenario, outcome, estimate, together)
                yield row | _beside(row, estimate, seen.get(outcome))
    if len(study.places) > 1:
        policies = Counter(key[1:] for key in groups)
        for of, parts in groups.items():
            policy, level, opponent, setting, own = of
            if is_served(setting):
                continue
            scenario = Scenario(setting, ALL_PLACES, level, opponent, own or None)
            alone, together = _levels_over(study, setting, len(parts), policies[of[1:]] - 1)
            for outcome in parts[0]:
                if outcome in OF_ONE_PLACE:
                    continue
                estimate = overall(outcome, parts, alone, study.race is not None)
                row = cell(policy, scenario, outcome, estimate, together)
                of_places = [p[outcome] for p in in_worlds.get(of, [])]
                yield row | _beside(row, estimate, Seen.mean(of_places) if of_places else None)


def _levels_over(study: Study, setting: str, places: int, comparisons: int) -> tuple[float, float]:
    """The levels of intervals over all places: of one, and of each of so many comparisons.

    In a race the intervals of the places must hold together, too (estimates.mean_of).
    """
    looks, places = study.looks_allowed(setting), 1 if study.race is None else places
    together = level_together(comparisons * places, looks)
    return level_each_look(looks, shared(LEVEL, places)), together


def _beside(row: dict[str, Any], estimate: Estimate, seen: Seen | None) -> dict[str, Any]:
    """The columns of worlds beside a cell, none where it was played in none."""
    return {} if seen is None else world_columns(row, seen.spread(estimate.value))


def _found(
    study: Study,
    reference: str,
    scenario: Scenario,
    x_m: float | None,
    by_policy: dict[str, Tally],
) -> Iterator[tuple[str, dict[str, Estimate], float]]:
    """Each policy with its outcomes, and the level of each interval of those that hold together."""
    looks = study.looks_allowed(scenario.setting)
    level, together = level_each_look(looks, LEVEL), level_together(len(by_policy) - 1, looks)
    choosing = {p.name for p in map(policy_of, study.policies) if placeable(p)}
    for policy, tally in by_policy.items():
        than = None if policy == reference else reference
        on_line = policy not in choosing or has_depth_of_reference(tally)
        found = estimates(tally, x_m, is_rally(scenario.setting), than, level, on_line)
        yield policy, found, together


def choice_rows(study: Study, tallies: Tallies) -> list[dict[str, Any]]:
    """A row for each modelling choice that the study tried."""
    reference = policy_of(study.reference).name
    return [
        choice_row(scenario.choice, by_policy, reference)
        for scenario, by_policy in tallies.items()
        if scenario.choice is not None
    ]


def designed_rows(study: Study, tallies: Tallies) -> Iterator[dict[str, Any]]:
    """A row for each point of the factors, scenario, policy and outcome to keep: its cell.

    The values of the factors stand in the table of points (`design_points.point_rows`).
    """
    if study.factors is None:
        return
    place_of = {p.name: p.place for p in study.places}
    reference = policy_of(study.reference).name
    kept = study.factors.outcomes
    texts = zip(study.level_names(), study.levels, strict=True)
    games = {v: study.game(text, study.opponents[0], study.reference, 0) for v, text in texts}
    usual = {
        (v, n): stated_of(games[v], place, "studied")
        for v in games
        for n, place in place_of.items()
    }
    for scenario, by_policy in tallies.items():
        if scenario.point is None:
            continue
        x_m = None
        if scenario.place in place_of:
            at = scenario.level, scenario.place
            values = values_at(study.factors, scenario.point, usual[at], "studied")
            x_m = changed_place(place_of[scenario.place], values).x_m
        for policy, found, together in _found(study, reference, scenario, x_m, by_policy):
            for outcome, estimate in found.items():
                if not kept or outcome in kept:
                    row = cell(policy, scenario, outcome, estimate, together)
                    yield {"point": scenario.point, **row}


def overall(
    outcome: str, parts: list[dict[str, Estimate]], level: float = LEVEL, stopped: bool = False
) -> Estimate:
    """Mean over the places with equal weights; in a race these are `stopped` one by one."""
    values = [p[outcome] for p in parts]
    if outcome in SHARES or outcome == "points_won_per_100":
        factor = 1.0 if outcome == "share_in_time" else 100.0
        shares = [v.scaled(1 / factor) for v in values]
        return mean_of(shares, True, level, stopped).scaled(factor)
    if differences := [v for v in values if isinstance(v, Difference)]:
        return mean_difference(differences, level, stopped)
    return mean_of(values, False, level, stopped)


def cell(
    policy: str, scenario: Scenario, outcome: str, estimate: Estimate, level_together: float
) -> dict[str, Any]:
    """One row of cells.csv, numbers to six digits; one that does not exist is null.

    `level_together` is that of each interval of those that hold together.
    """
    verdict = NOTHING
    if isinstance(estimate, Difference):
        verdict = compared(estimate, level_together, outcome.endswith("_per_100"))
    return {
        "policy": policy,
        **{label: getattr(scenario, label) for label in SCENE},
        "outcome": outcome,
        "estimate": written(estimate.value),
        "low": written(estimate.low),
        "high": written(estimate.high),
        "n": int(estimate.n),
        **verdict,
    }
