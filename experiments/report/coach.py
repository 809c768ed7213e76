"""The answer of a study as a coach would say it: where to stand, what that is worth, how surely."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

import pandas as pd

from experiments.report.glossary import along, opponent_words, policy_words
from experiments.report.pictures import MISSED
from experiments.report.summary import View, best_shades, counted, ranged
from experiments.report.tables import number as signed
from experiments.scene.sides import NEAR_MIDDLE_M, side, steps, wing
from experiments.statistics.comparison import AS_GOOD, LOSES, NOT_IN_ALL, WINS, verdict_by_both
from experiments.statistics.signed_words import amount, claim, ends_of
from experiments.study.outcome_names import fewer_missed, more_points
from experiments.study.result_folder import ALL_PLACES, ResultFolder
from experiments.study.setting_table import SERVE, is_served
from sim.players import PLAYERS

MOST_LEVELS = 4  # that fit the first screen
USUAL = ("habit", "attentive")  # who is told of first, if the study has one
Cell = dict[Any, Any]


@dataclass(frozen=True)
class Coached:
    """The first screen: where to stand, when that holds, for whom, what it is worth, how surely."""

    stand: str
    when: str
    who: str
    worth: list[str]
    sure: str


def coached(results: ResultFolder) -> Coached | None:
    """The answer for a coach, of the view that the summary speaks of; None where nothing is
    compared."""
    view = View.of(results)
    if view is None:
        return None
    compared = Compared.of(view)
    if compared is None:
        return None
    return Coached(
        stand(compared),
        " ".join(when(compared)),
        who(compared),
        [*worth(compared), *others(compared)],
        sure(view),
    )


@dataclass(frozen=True)
class Compared:
    """The view's policy against its reference, against one opponent from the view's place: the
    differences in points and in balls missed, either of which may be missing."""

    view: View
    opponent: str
    points: Cell | None
    balls: Cell | None

    @classmethod
    def of(cls, view: View) -> Compared | None:
        """Against a usual opponent, else the one whose difference is the middle one of all; None
        without a number."""
        ranked = _ranked(view)
        if not ranked:
            return None
        held = [str(cell["opponent"]) for cell in ranked]
        opponent = next((o for o in USUAL if o in held), held[(len(held) - 1) // 2])
        reference = view.results.reference
        points, balls = (
            next((c for c in _ranked(view, name(reference)) if c["opponent"] == opponent), None)
            for name in (more_points, fewer_missed)
        )
        return cls(view, opponent, points, balls)

    @property
    def verdict(self) -> str:
        """WINS or LOSES if points or balls say so and neither says the opposite, AS_GOOD if both
        do; else "not decided", here ""."""
        said = {verdict_by_both(c) for c in (self.points, self.balls) if c is not None}
        if said == {AS_GOOD}:
            return AS_GOOD
        one_sided = said & {WINS, LOSES}
        return one_sided.pop() if len(one_sided) == 1 else ""


def _ranked(view: View, outcome: str = "") -> list[Cell]:
    """The differences from the view's place, an opponent each, the least first."""
    cells = view.cells(
        policy=view.policy, outcome=outcome or view.outcome, level=view.level, place=view.place
    ).drop_duplicates("opponent")
    return cells.sort_values("estimate", kind="stable").to_dict("records")


def stand(of: Compared) -> str:
    """The advice in one line."""
    policy, reference = _place(of, of.view.policy), _place(of, of.view.results.reference)
    if of.verdict == WINS:
        return f"Stand {policy}."
    if of.verdict == LOSES:
        return f"Stand {reference}, not {policy}."
    if of.verdict == AS_GOOD:
        return f"It makes no difference: {policy}, or {reference}."
    return f"Not decided: {policy}, or {reference}."


def _place(of: Compared, policy: str) -> str:
    """Where a policy stands against that opponent, in metres and steps; in words where it has no
    place of its own."""
    view = of.view
    cells = view.results.pick(
        outcome="spot_x_m", policy=policy, level=view.level, place=view.results.corner or ""
    )
    if cells.empty:
        return policy_words(policy)
    same = cells[cells["opponent"] == of.opponent]
    x = float((same if len(same) else cells)["estimate"].iloc[0])
    if abs(x) < NEAR_MIDDLE_M:
        return side(x)
    return f"{side(x)} of the centre mark ({steps(x)} to your {wing(x, _hand(view))} side)"


def _hand(view: View) -> str:
    with suppress(ValueError):  # a level that is not known any more
        return str(view.results.sides(view.level)[0].hand)
    return str(view.results.study.get("hand", "right"))


def when(of: Compared) -> Iterator[str]:
    """Where the opponent strikes, how deep one waits, what the policy's place is, and the range of
    the places tried that won most."""
    view, at = of.view, of.view.results.places.get(of.view.results.corner or "")
    if at is not None:
        yield (
            f"When the opponent strikes {side(at[0])} of the centre as you face the net,"
            f" {along(at[1])}, and you wait {view.results.depth_m:g} m behind the baseline."
        )
    yield f"This is “{view.policy}”: {policy_words(view.policy)}."
    shades = best_shades(view).get(of.opponent)
    if at is not None and view.place != SERVE and shades is not None:
        ends = sorted((-shade * at[0] for shade in shades), key=abs)
        most = "won most points" if view.unit == "points" else "missed fewest balls"
        where = " to ".join(dict.fromkeys(map(side, ends)))
        yield f"Of the places tried, {where} {most}."


def level_words(level: str) -> str:
    """A level without its hyphens; a player from a file by the own name."""
    return level.replace("-", " ") if level in PLAYERS else level


def who(of: Compared) -> str:
    """Who waits, against whom."""
    view = of.view
    return (
        f"{level_words(view.level)}, {_hand(view)}-handed, against one like that"
        f" {opponent_words(of.opponent)}; {view.results.study.get('surface', 'hard')} court."
    )


def worth(of: Compared) -> Iterator[str]:
    """What the place brings in points and in balls against the reference's."""
    other = f"the {of.view.results.reference}"
    if of.points is not None and (e := ends_of(of.points)) is not None:
        said = claim(verdict_by_both(of.points), e, other, "points of 100", "wins")
        served = f"whole points, {of.view.setting}"
        which = served if is_served(of.view.setting) else "of those that begin there"
        yield f"Points: {_with_worlds(said, of.points)}, {which}."
    yield from _whole_points(of)
    if of.balls is not None and (e := ends_of(of.balls)) is not None:
        much = claim(verdict_by_both(of.balls), e, other, "balls of 100", "misses", "fewer", "more")
        yield f"Balls: {_with_worlds(much, of.balls)}{_missed(of)}."


def _whole_points(of: Compared) -> Iterator[str]:
    """What the policy wins in whole points, serve and return included, if these were played."""
    view, said = of.view, list[str]()
    for setting in filter(is_served, view.results.names("setting")):
        cells = view.results.pick(
            setting=setting,
            outcome=more_points(view.results.reference),
            policy=view.policy,
            level=view.level,
            opponent=of.opponent,
        )
        if len(cells) and setting != view.setting:
            cell = cells.iloc[0].to_dict()
            e = ends_of(cell)
            said += [f"{setting}, {_with_worlds(amount(e, ''), cell)}"] if e is not None else []
    if said:
        yield f"Whole points, of 100: {'; '.join(said)}."


def _with_worlds(said: str, cell: Cell) -> str:
    """With what other values that fit the record make of a difference, where they were played."""
    ends = [cell.get(name) for name in ("world_low", "world_high")]
    if any(end is None or end != end for end in ends):
        return said
    but = ", but not for sure" if verdict_by_both(cell).endswith(NOT_IN_ALL) else ""
    low, high = (signed(float(end)) for end in ends if end is not None)
    return f"{said}{but} ({low} to {high} with other sensible values of the model)"


def _missed(of: Compared) -> str:
    """How many of 100 both miss."""
    view = of.view
    labels = {"outcome": MISSED, "level": view.level, "place": view.place, "opponent": of.opponent}
    cells = [
        view.cells(policy=policy, **labels) for policy in (view.policy, view.results.reference)
    ]
    if any(c.empty for c in cells):
        return ""
    mine, others = (ranged(c.iloc[0]) for c in cells)
    return f": {mine}, from the {view.results.reference} {others}"


def others(of: Compared) -> Iterator[str]:
    """The least and the greatest difference over the other opponents tried."""
    ranked = [c for c in _ranked(of.view) if c["opponent"] != of.opponent]
    unit = "points" if of.view.unit == "points" else "balls"
    more, fewer = ("more", "fewer") if unit == "points" else ("fewer missed", "more missed")
    ends = [ranked[i] for i in ((0, -1) if len(ranked) > 1 else (0,) if ranked else ())]
    parts = [
        f"{amount(e, '', more, fewer)} against one {opponent_words(str(cell['opponent']))}"
        for cell in ends
        if (e := ends_of(cell)) is not None
    ]
    if parts:
        yield f"Other opponents, {unit} of 100: {'; to '.join(parts)}."


def sure(view: View) -> str:
    """In how many of the cases tried it is better, worse, as good, or cannot be told; and for whom
    it is better or worse, where few levels were tried."""
    cells = view.cells(policy=view.policy, outcome=view.outcome)
    cells = cells[cells["place"] != ALL_PLACES]
    said = counted(cells, by_both=True)
    total = sum(said.values())
    counts = {"better": said[WINS], "worse": said[LOSES], "as good": said[AS_GOOD]}
    parts = [f"{words} in {count or 'none'}" for words, count in counts.items()]
    left = total - sum(counts.values())
    served = is_served(view.setting)
    tried = f"players, opponents; {view.setting}" if served else "players, opponents, places"
    text = f"Of {total} case{'s' * (total != 1)} tried ({tried}) it is"
    text += f" {', '.join(parts)}; in {left or 'none'} the study cannot tell."
    levels = view.results.names("level")
    return text if not 1 < len(levels) <= MOST_LEVELS else f"{text} {_by_level(cells, levels)}"


def _by_level(cells: pd.DataFrame, levels: list[str]) -> str:
    parts = []
    for level in levels:
        said = counted(cells[cells["level"] == level], by_both=True)
        worse = f", worse in {said[LOSES]}" if said[LOSES] else ""
        parts.append(f"{level_words(level)} {said[WINS]} of {sum(said.values())}{worse}")
    return f"Better for: {'; '.join(parts)}."
