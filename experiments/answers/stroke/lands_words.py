"""What `rally-recovery stroke --lands` says of one drive that lands deep and short."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Any

from experiments.answers.stroke.answer import BEST, difference
from experiments.answers.stroke.lands import LandsAt, LandsQuestion, met
from experiments.answers.stroke.words import (
    NAMES,
    REFERENCE,
    after_json,
    asked_json,
    listed,
    scene_text,
    short_side,
)
from experiments.scene.page import caution, filled
from experiments.statistics.comparison import AS_GOOD, LOSES, WINS
from experiments.statistics.estimates import Estimate
from experiments.statistics.signed_words import amount, verdict_on_loss
from experiments.statistics.words import estimate_json, said

SHOWN_ALWAYS = (BEST, REFERENCE, "middle")


def lands_text(question: LandsQuestion, found: Sequence[LandsAt]) -> str:
    """The page for a player or coach."""
    parts = [scene_text(question.asked, found[0].after.stroke), "\n".join(_balls(question, found))]
    reached = met(found)
    if reached:
        parts += ["\n".join(_angles(reached))]
        parts += ["\n".join(_policies(reached)), "\n".join(_points(reached))]
    parts += ["\n".join(filled(s) for s in sentences(question, found)), _small_print(question)]
    return "\n\n".join(parts)


def _balls(question: LandsQuestion, found: Sequence[LandsAt]) -> Iterator[str]:
    yield f"your {NAMES[question.drive]}"
    yield (
        f"{'lands':>6}  {'speed':>8}  {'over net':>8}  {'opponent meets it':>32}  {'way':>5}"
        f"  {'quality':>7}  {'time':>6}"
    )
    for one in found:
        s = one.after.stroke
        head = f"{_metres(one)} m  {s.speed_m_s:4.1f} m/s  {s.net_gap_m:6.2f} m"
        if s.meets is None:
            yield f"{head}  {'does not reach it':>32}"
            continue
        x, y, z = s.meets_m
        where = f"{short_side(x)}, {y:.1f} from net, {z:.1f} high"
        quality = float(s.meets["quality"][0])
        yield f"{head}  {where:>32}  {_way_m(one):3.1f} m  {quality:7.2f}  {s.time_s:4.2f} s"


def _angles(reached: Sequence[LandsAt]) -> Iterator[str]:
    yield f"{'lands':>6}  {'angle':>6}  {'bisector':>9}  {'best aim':>9}  {'from':>9}  {'to':>9}"
    for one in reached:
        best = one.after.best
        assert best is not None
        places = one.after.by_name[REFERENCE].spot_m[0], best.top_x_m, best.low_m, best.high_m
        aims = "  ".join(f"{short_side(v):>9}" for v in places)
        yield f"{_metres(one)} m  {one.angle_deg:4.1f} \N{DEGREE SIGN}  {aims}"


def _way_m(one: LandsAt) -> float:
    """From where the opponent waits to the ball that it meets."""
    return math.dist(one.after.stroke.waits_m, one.after.stroke.meets_m[:2])


def _metres(one: LandsAt) -> str:
    return f"{one.lands_m:4.4g}"


def _policies(reached: Sequence[LandsAt]) -> Iterator[str]:
    names = sorted(
        reached[0].after.by_name,
        key=lambda n: SHOWN_ALWAYS.index(n) if n in SHOWN_ALWAYS else len(SHOWN_ALWAYS),
    )
    width = max(10, *map(len, names))
    yield (
        f"{'lands':>6}  {'recover to':<{width}}  {'of the way':>10}  {'missed per 100':>18}"
        f"  {'not returned':>18}  {'more than the deepest':>21}"
    )
    for name in names:
        for one in reached:
            p = one.after.by_name[name]
            more = "" if one is reached[0] else said(_more_lost(one, reached[0], name))
            yield (
                f"{_metres(one)} m  {name:<{width}}  {100 * p.share_of_way:8.0f} %"
                f"  {said(p.lost()):>18}  {said(p.lost('not_returned')):>18}  {more:>21}".rstrip()
            )


def _more_lost(one: LandsAt, deepest: LandsAt, name: str = BEST) -> Estimate:
    """Balls in 100 that do not come back after one depth, more than after the deepest."""
    return difference(one.after.by_name[name], deepest.after.by_name[name], "not_returned")


def _points(reached: Sequence[LandsAt]) -> Iterator[str]:
    yield f"{'lands':>6}  {'points won of 100':>20}  {'fewer than the deepest':>22}"
    for one in reached:
        fewer = "" if one is reached[0] else said(one.fewer_points(reached[0]))
        yield f"{_metres(one)} m  {said(one.points):>20}  {fewer:>22}".rstrip()


def sentences(question: LandsQuestion, found: Sequence[LandsAt]) -> Iterator[str]:
    """The answer: what each metre shorter gives the opponent and costs, as far as is decided."""
    reached = met(found)
    winners = [_metres(one).strip() for one in found if one not in reached]
    name = NAMES[question.drive]
    if winners:
        lands = f"{listed(winners)} m from the net"
        yield f"Your opponent does not reach the {name} that lands {lands}."
    if len(reached) < 2:
        yield "So there are not two depths to compare."
        return
    deep, short = reached[0], reached[-1]
    span = deep.lands_m - short.lands_m
    opens = (short.angle_deg - deep.angle_deg) / span
    way = "opens" if opens >= 0 else "narrows"
    yield (
        f"Each metre shorter, from {deep.lands_m:g} to {short.lands_m:g} m, {way} your opponent's"
        f" angle by {abs(opens):.1f} degrees. From the best place it"
        f" {_costs(_more_lost(short, deep), span, 'balls')} (not returned); with the bisector"
        f" throughout it {_costs(short.fewer_points(deep), span, 'points')}."
    )
    if len(reached) > 2:
        steps = "; ".join(
            f"{a.lands_m:g} to {b.lands_m:g} m {amount(_more_lost(b, a), '')}"
            for a, b in pairwise(reached)
        )
        yield f"Step by step, balls in 100 not returned from the best place: {steps}."
    nearer = deep.after.stroke.meets_m[1] - short.after.stroke.meets_m[1]
    later = short.after.stroke.time_s - deep.after.stroke.time_s
    yield (
        f"The ball that lands {short.lands_m:g} m from the net is met"
        f" {abs(nearer):.1f} m {'nearer to' if nearer >= 0 else 'farther from'} the net than the"
        f" one that lands {deep.lands_m:g} m from it, {abs(later):.2f} s"
        f" {'later' if later >= 0 else 'sooner'}, {_way_m(short):.1f} m from where your opponent"
        f" waits (the other {_way_m(deep):.1f} m)."
    )


def _costs(cost: Estimate, metres: float, noun: str) -> str:
    """What a cost over so many metres allows to be said of one metre."""
    each, outcome = cost.scaled(1.0 / metres), verdict_on_loss(cost)
    if outcome == LOSES:
        return f"costs {said(each)} {noun} in 100"
    if outcome == WINS:
        return f"gains {said(each.scaled(-1.0))} {noun} in 100"
    much = amount(each, f"{noun} in 100 lost")
    judged = "makes no difference" if outcome == AS_GOOD else "may cost or not (not decided)"
    return f"{judged}: {much}"


def _small_print(question: LandsQuestion) -> str:
    q = question.asked
    scene = q.scene
    balls = (
        f"Model results from {scene.balls} balls of the opponent after each depth, of 100 that land"
        f" in, and {question.rallies} rallies from the opponent's strike on, in which you recover"
        " to the bisector; with 95 % intervals, differences on the same chance; seed"
        f" {scene.seed}. Angle: between the two outermost drives of the opponent that count. Best:"
        " by balls that do not come back; from, to: within half a ball in 100 of it."
    )
    own = (
        "Your drive lands as meant: your errors are not counted in it. It has your usual speed and"
        " topspin, less speed where it would not clear the net by your usual margin. Your opponent"
        " is at rest until you strike, may come in behind a short ball or play a drop shot, and"
        f" takes the ball after its bounce by the rule {q.opponent_takes!r}; quality of that"
        " contact: 1 unhurried, 0 stretched."
    )
    return "\n".join([filled(balls), filled(own), caution("you practise it hard")])


def lands_json(question: LandsQuestion, found: Sequence[LandsAt]) -> dict[str, Any]:
    """All numbers of an answer; differences from the deepest ball that the opponent reaches."""
    deepest = next(iter(met(found)), None)
    return {
        **asked_json(question.asked),
        "stroke": question.drive,
        "rallies": question.rallies,
        "lands": [_one_json(one, deepest) for one in found],
    }


def _one_json(one: LandsAt, deepest: LandsAt | None) -> dict[str, Any]:
    out = {"lands_m": one.lands_m, **after_json(one.after)}
    if deepest is None or one.angle is None:
        return out
    lost = {name: _more_lost(one, deepest, name) for name in one.after.by_name}
    return out | {
        "angle_deg": one.angle_deg,
        "bisector_x_m": one.angle.bisector_x_m,
        "more_not_returned_per_100": {name: estimate_json(e) for name, e in lost.items()},
        "points_per_100": estimate_json(one.points),
        "fewer_points_per_100": estimate_json(one.fewer_points(deepest)),
    }
