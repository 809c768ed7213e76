"""What `rally-recovery stroke` says: tables and plain sentences, or the numbers as JSON."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from experiments.answers.stroke.answer import BEST, THERE_M, AfterStroke, Recovered, difference
from experiments.answers.stroke.strokes import HIGH, HIGH_DEPTH_M, OwnStroke, StrokeQuestion
from experiments.balls.places import FARTHEST_X_M
from experiments.balls.spots import off_the_line_text
from experiments.scene.page import caution, filled
from experiments.scene.sides import NEAR_MIDDLE_M, side
from experiments.statistics.comparison import AS_GOOD, NOT_DECIDED
from experiments.statistics.estimates import Estimate
from experiments.statistics.signed_words import amount, verdict_on_loss
from experiments.statistics.words import estimate_json, said
from sim.court import HALF_LENGTH_M

REFERENCE = "bisector"
NAMES = {
    "crosscourt": "crosscourt drive",
    "middle": "drive to the middle",
    "down-the-line": "drive down the line",
    HIGH: "high slow ball",
}


def stroke_text(question: StrokeQuestion, found: Sequence[AfterStroke]) -> str:
    """The page for a player or coach."""
    parts = [scene_text(question, found[0].stroke), "\n".join(_strokes_table(found))]
    parts += ["\n".join(_policies_table(one)) for one in found if one.policies]
    parts += ["\n".join(filled(s) for s in sentences(found))]
    spots: dict[str, list[tuple[float, float]]] = {}
    for p in (p for one in found for p in one.policies):
        spots.setdefault(p.name, []).append(p.spot_m)
    off_the_line = off_the_line_text(spots.items(), question.scene.line_m)
    parts += [filled(off_the_line)] * bool(off_the_line) + [_small_print(question)]
    return "\n\n".join(parts)


def scene_text(q: StrokeQuestion, stroke: OwnStroke) -> str:
    """Who strikes where, and who waits for it."""
    (x, y, z), scene = q.contact_m, q.scene
    me, waits = scene.player, stroke.waits_m
    you = (
        f"You ({me.name}, {me.hand}-handed) strike {side(x)}, {_depth(-y)}, ball"
        f" {z:.1f} m high, on a {scene.world.surface.name} court; your own waiting line is"
        f" {scene.depth_m:.1f} m behind the baseline."
    )
    other = (
        f"Your opponent ({scene.against()}) waits"
        f" {side(waits[0])}, {_depth(waits[1])} ({q.opponent_policy.name})."
    )
    return f"{filled(you)}\n{filled(other)}"


def _depth(from_net_m: float) -> str:
    behind = from_net_m - HALF_LENGTH_M
    return f"{abs(behind):.1f} m {'behind' if behind >= 0 else 'inside'} the baseline"


def _strokes_table(found: Sequence[AfterStroke]) -> Iterator[str]:
    yield (
        f"{'own stroke':<19}  {'speed':>8}  {'over net':>8}  {'lands':>20}"
        f"  {'opponent meets it':>34}  {'quality':>7}  {'time':>6}"
    )
    for one in found:
        s = one.stroke
        lands = f"{short_side(s.bounce_m[0])}, {s.bounce_m[1]:.1f} deep"
        head = f"{NAMES[s.name]:<19}  {s.speed_m_s:4.1f} m/s  {s.net_gap_m:6.1f} m  {lands:>20}"
        if s.meets is None:
            yield f"{head}  {'does not reach it':>34}  {'':>7}  {'':>6}"
            continue
        x, y, z = s.meets_m
        where = f"{short_side(x)}, {short_depth(y)}, {z:.1f} high"
        quality = float(s.meets["quality"][0])
        yield f"{head}  {where:>34}  {quality:7.2f}  {s.time_s:4.2f} s"


def short_side(x_m: float) -> str:
    if abs(x_m) < NEAR_MIDDLE_M:
        return "0.0"
    return f"{abs(x_m):.1f} {'left' if x_m < 0 else 'right'}"


def short_depth(from_net_m: float) -> str:
    behind = from_net_m - HALF_LENGTH_M
    return f"{abs(behind):.1f} {'behind' if behind >= 0 else 'inside'}"


def _policies_table(one: AfterStroke) -> Iterator[str]:
    width = max(10, *(len(p.name) for p in one.policies))
    yield (
        f"after the {NAMES[one.stroke.name]}, {one.stroke.time_s:.2f} s\n"
        f"{'recover to':<{width}}  {'aim':>9}  {'get to':>9}  {'of the way':>10}  {'short':>6}"
        f"  {'speed left':>10}  {'missed per 100':>18}  {'not returned':>18}"
    )
    for p in one.policies:
        yield (
            f"{p.name:<{width}}  {short_side(p.spot_m[0]):>9}  {short_side(p.reached_m[0]):>9}"
            f"  {100 * p.share_of_way:8.0f} %  {p.short_m:4.1f} m  {p.speed_left_m_s:6.1f} m/s"
            f"  {said(p.lost()):>18}  {said(p.lost('not_returned')):>18}"
        )
    assert one.best is not None
    yield (
        f"Aiming anywhere from {short_side(one.best.low_m)} to {short_side(one.best.high_m)} is"
        " within half a ball in 100 of the best."
    )


def sentences(found: Sequence[AfterStroke]) -> Iterator[str]:
    """The answer: which stroke buys time, whether that is enough, and what it costs."""
    for one in found:
        if not one.policies:
            yield f"Your opponent does not reach the {NAMES[one.stroke.name]} if it lands as meant."
    played = [one for one in found if one.policies]
    if played:
        yield _most_time(played)
        yield _who_gets_there(played)
        yield _fewest_lost(played)


def _most_time(played: Sequence[AfterStroke]) -> str:
    order = sorted(played, key=lambda one: -one.stroke.time_s)
    most = order[0].stroke
    rest = ", ".join(
        f"{most.time_s - one.stroke.time_s:.2f} s more than the {NAMES[one.stroke.name]}"
        for one in order[1:]
    )
    text = f"The {NAMES[most.name]} leaves you most time: {most.time_s:.2f} s"
    return f"{text}, {rest}." if rest else f"{text}."


def _who_gets_there(played: Sequence[AfterStroke]) -> str:
    """After which strokes there is time to recover to the bisector, and what is short else."""
    parts = []
    for one in played:
        at, time = one.by_name[REFERENCE], one.stroke.time_s
        text = (
            f"After the {NAMES[one.stroke.name]} you need {at.needs_s:.2f} s and have {time:.2f} s"
        )
        if not _has_time(one):
            text += f": {100 * at.share_of_way:.0f} % of the way, {at.short_m:.1f} m short"
        parts.append(f"{text}.")
    enough = [f"the {NAMES[one.stroke.name]}" for one in played if _has_time(one)]
    names = listed(enough) if enough else "none of these strokes"
    return f"There is time to recover to the bisector after {names}. {' '.join(parts)}"


def listed(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _has_time(one: AfterStroke) -> bool:
    return one.by_name[REFERENCE].needs_s <= one.stroke.time_s


def _fewest_lost(played: Sequence[AfterStroke]) -> str:
    """The stroke after which most balls come back, and how much worse the others are."""
    best = min(played, key=lambda one: one.by_name[BEST].lost("not_returned").value)
    own = best.by_name[BEST]
    text = (
        f"From the best place fewest balls are lost after the {NAMES[best.stroke.name]}:"
        f" {said(own.lost())} of 100 missed, {said(own.lost('not_returned'))} not returned."
    )
    for one in played:
        if one is not best:
            text += f" After the {NAMES[one.stroke.name]} {_more(_lost_more(one, best))}."
    return f"{text} {_trade(played, best)}"


def _lost_more(one: AfterStroke, other: AfterStroke) -> Estimate:
    """Balls in 100 that do not come back after one stroke, more than after the other."""
    return difference(one.by_name[BEST], other.by_name[BEST], "not_returned")


def _more(more: Estimate) -> str:
    outcome, much = verdict_on_loss(more), amount(more, "")
    if outcome == AS_GOOD:
        return f"it is as good, {much} not returned"
    undecided = " (not decided)" if outcome == NOT_DECIDED else ""
    return f"{much} do not come back{undecided}"


def _trade(played: Sequence[AfterStroke], best: AfterStroke) -> str:
    """Whether the stroke that buys most time gives the better next ball, as far as is decided."""
    most = max(played, key=lambda one: one.stroke.time_s)
    buys = f"The {NAMES[most.stroke.name]} buys time"
    if most is best:
        said = {verdict_on_loss(_lost_more(one, best)) for one in played if one is not best}
        if AS_GOOD in said:
            return f"{buys}, and the next ball after it is as good as any."
        undecided = ", as far as is decided" if NOT_DECIDED in said else ""
        return f"{buys}, and it pays{undecided}."
    said_of_most = verdict_on_loss(_lost_more(most, best))
    if said_of_most == AS_GOOD:
        return f"{buys}, and the next ball is as good as after the {NAMES[best.stroke.name]}."
    if said_of_most == NOT_DECIDED:
        return f"{buys}; whether the next ball is worse for it is not decided."
    pair = [float(one.stroke.meets["quality"][0]) for one in (most, best)]  # type: ignore[index]
    text = f"{buys}, but not the better next ball: the {NAMES[best.stroke.name]} does"
    if pair[0] > pair[1]:
        text += (
            f", because it leaves your opponent less, too (quality of the contact {pair[1]:.2f},"
            f" not {pair[0]:.2f})"
        )
    return f"{text}."


def _small_print(q: StrokeQuestion) -> str:
    scene = q.scene
    hurried = "" if q.quality == 1 else f" Your own contact has quality {q.quality:g}."
    balls = (
        f"Model results from {scene.balls} balls of the opponent after each stroke, of 100 that"
        f" land in, with 95 % intervals; seed {scene.seed}. Best: by balls that do not come back,"
        f" looked for on others among aims up to {FARTHEST_X_M:g} m to each side; no policy here is"
        f" better. Needed: until {100 * THERE_M:.0f} cm are left."
    )
    own = (
        f"Your own strokes land as meant: your errors are not counted.{hurried} Drives have your"
        " usual speed and topspin and the margins that your errors ask for; the high slow ball goes"
        f" {q.high_to}, lands {HIGH_DEPTH_M:g} m from the net and clears it by {q.high_gap_m:g} m"
        " (both assumed). Your opponent is at rest until you strike and takes the ball after its"
        f" bounce by the rule {q.opponent_takes!r}; quality of that contact: 1 unhurried, 0"
        " stretched."
    )
    return "\n".join([filled(balls), filled(own), caution("you practise it hard")])


def stroke_json(question: StrokeQuestion, found: Sequence[AfterStroke]) -> dict[str, Any]:
    """All numbers of an answer."""
    after = {one.stroke.name: after_json(one) for one in found}
    return {**asked_json(question), "strokes": after}


def asked_json(question: StrokeQuestion) -> dict[str, Any]:
    """What was asked."""
    q, scene = question, question.scene
    return {
        "own_contact_m": q.contact_m,
        "own_contact_quality": q.quality,
        **scene.who,
        "opponent_policy": q.opponent_policy.name,
        "opponent_takes": q.opponent_takes,
        "hitter": scene.hitter.name,
        "surface": scene.world.surface.name,
        "depth_m": scene.depth_m,
        "high_over_m": q.high_gap_m,
        "high_to": q.high_to,
        "seed": scene.seed,
        "balls": scene.balls,
    }


def after_json(one: AfterStroke) -> dict[str, Any]:
    """The numbers of one own stroke and what follows."""
    out, best = _stroke_json(one.stroke), one.best
    if best is not None:
        out |= {
            "start_m": one.start_m,
            "opponent_in_per_100": one.in_per_100,
            "policies": {p.name: _policy_json(p) for p in one.policies},
            "best_aim_m": best.top_x_m,
            "plateau_m": (best.low_m, best.high_m),
            "not_returned_per_100_by_aim": list(
                zip(one.aims_x_m, 100 * one.aims_lost, strict=True)
            ),
        }
    return out


def _stroke_json(s: OwnStroke) -> dict[str, Any]:
    return {
        "speed_m_s": s.speed_m_s,
        "over_net_m": s.net_gap_m,
        "bounce_m": s.bounce_m,
        "path_m": s.path_m,
        "opponent_waits_m": s.waits_m,
        "opponent_reaches_it": s.meets is not None,
        "opponent_contact_m": None if s.meets is None else s.meets_m,
        "opponent_quality": None if s.meets is None else s.meets["quality"][0],
        "time_s": s.time_s,
    }


def _policy_json(p: Recovered) -> dict[str, Any]:
    names = ("spot_m", "reached_m", "share_of_way", "short_m", "speed_left_m_s", "needs_s")
    return {
        **{name: getattr(p, name) for name in names},
        "missed_per_100": estimate_json(p.lost()),
        "not_returned_per_100": estimate_json(p.lost("not_returned")),
        "time_to_spare_s": p.time_to_spare_s,
    }
