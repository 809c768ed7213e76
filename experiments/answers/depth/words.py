"""What `rally-recovery depth` says: how far back to wait, what it rests on, and why."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from textwrap import fill

from experiments.answers.depth.adaptive import Adapted
from experiments.answers.depth.answer import STOPPED, Case, Depth
from experiments.answers.depth.rallies import LOST_BY
from experiments.answers.depth.short_balls import APPROACHES, DROPS, NO_SHORT, PAYS, USUAL
from experiments.scene.sides import behind
from experiments.statistics.comparison import AS_GOOD, NOT_DECIDED, verdict
from experiments.statistics.signed_words import claim, verdict_on_loss
from experiments.statistics.words import said

WIDTH = 100
EDGES, EDGE_M = ("farther in", "farther back"), 0.051
CASE_WORDS = {
    NO_SHORT: "no drop shots, no approaches",
    USUAL: "short balls as usual",
    PAYS: "short balls when they pay",
}
WAY_WORDS = {
    "you_missed": "balls that you do not reach",
    "you_did_not_return": "balls that you reach and do not get back",
    "your_error": "your own errors",
    "opponent_missed": "balls of yours that your opponent does not reach",
    "opponent_did_not_return": "balls of yours that your opponent does not get back",
    "opponent_error": "your opponent's errors",
}


def depth_text(answers: Sequence[Depth], adaptive: Sequence[Sequence[Adapted]] = ()) -> str:
    """The whole answer: one cell at length, several as a table."""
    parts = list(_one(answers[0])) if len(answers) == 1 else [_cells(answers)]
    if adaptive:
        parts += [_policies(one, rows) for one, rows in zip(answers, adaptive, strict=True)]
    return "\n\n".join([*parts, _small_print(answers[0])])


def metres(depth_m: float) -> str:
    """A depth as a number, with a real minus."""
    return f"{round(depth_m, 1) + 0.0:.1f}".replace("-", "\u2212")


def range_words(case: Case) -> str:
    """The interval of the best depth, and the depths about as good."""
    best = case.best
    low, high = best.interval_m
    return (
        f"(95 %: {metres(low)} to {metres(high)} m); within half a point in 100 of the best from"
        f" {metres(best.low_m)} to {metres(best.high_m)} m"
    )


def edge_words(case: Case) -> str:
    """A warning where the best depth is the first or the last that was tried."""
    top_m, ends = case.best.top_m, (case.rows[0].depth_m, case.rows[-1].depth_m)
    which = [w for w, end in zip(EDGES, ends, strict=True) if abs(top_m - end) < EDGE_M]
    return f" No depth {which[0]} was tried, so the best may lie there." if which else ""


def loss_words(case: Case) -> str:
    """What the usual depth loses to the best, as far as the interval allows."""
    loss = case.usual_loses
    outcome = verdict_on_loss(loss)
    if outcome == AS_GOOD:
        return f"is as good as the best depth: it loses {said(loss)} points in 100"
    if outcome == NOT_DECIDED:
        return f"cannot be told from the best depth: it loses {said(loss)} points in 100"
    return f"loses {said(loss)} points in 100 to the best depth"


def _one(found: Depth) -> Iterator[str]:
    question, case = found.question, found.answer
    scene = question.scene
    yield (
        f"{scene.text}\nRallies open from there, its mirror image and the middle, with equal"
        f" weights. You recover by\n{question.policy.name} and hit {question.own_shots}."
    )
    yield fill(
        f"Best depth, by points of whole rallies against {CASE_WORDS[case.name]}:"
        f" {behind(case.best.depth_m)} {range_words(case)}. Your usual"
        f" {metres(case.usual_m)} m {loss_words(case)}.{edge_words(case)}",
        WIDTH,
    )
    yield "\n".join(_cases(found))
    yield "\n".join(_rows(case))
    yield fill(why_words(case), WIDTH)
    if case.name != NO_SHORT:
        yield fill(f"Without short balls: {why_words(found.cases[NO_SHORT])}", WIDTH)


def _cases(found: Depth) -> Iterator[str]:
    yield "how far that rests on short balls (metres behind the baseline)"
    heads = f"{'best (95 %)':>22}{'about as good':>16}{'usual loses':>22}"
    yield f"  {'your opponent plays':<30}{heads}"
    for name, case in found.cases.items():
        best = case.best
        low, high = map(metres, best.interval_m)
        yield (
            f"  {CASE_WORDS[name]:<30}{f'{metres(best.depth_m)} ({low} to {high})':>22}"
            f"{f'{metres(best.low_m)} to {metres(best.high_m)}':>16}{said(case.usual_loses):>22}"
        )
    if PAYS not in found.cases:
        yield f"  {found.question.scene.hitter.name} cannot be made to play more short balls: so"
        yield "  nothing is known of an opponent who does when you stand far back."


def _rows(case: Case) -> Iterator[str]:
    yield f"against {CASE_WORDS[case.name]}, of 100:"
    yield (
        f"{'metres':>8}{'points (95 %)':>22}{'more than usual':>24}{'reached':>10}{'back':>8}"
        f"{'their ease':>12}{'their drops':>13}"
    )
    for row in case.rows:
        mark = "*" if abs(row.depth_m - case.usual_m) < 1e-6 else ""
        yield (
            f"{metres(row.depth_m) + mark:>8}{said(row.points):>22}{said(row.more):>24}"
            f"{row.reached.value:>10.1f}{row.returned.value:>8.1f}"
            f"{row.quality.value:>12.2f}{row.drops.value:>13.1f}"
        )
    yield ""
    yield (
        "how rallies end, of 100: you miss; reach it but it does not come back; your error | your"
    )
    yield "opponent misses; reaches it but it does not come back; opponent's error"
    for row in case.rows:
        shares = [f"{row.ways[way].value:>8.1f}" for way in WAY_WORDS]
        yield f"{metres(row.depth_m):>8}{''.join(shares[:3])}   |{''.join(shares[3:])}"
    if any(row.ways[STOPPED].value > 0.05 for row in case.rows):
        yield "  (the rest were stopped at the stroke limit and count half)"


def why_words(case: Case) -> str:
    """Why the share of balls reached alone misleads: what most balls reached cost, and by what."""
    most, best = case.rows[case.most_reached], case.rows[case.best_row]
    start = (
        f"Most balls are reached {behind(most.depth_m)}: {most.reached.value:.1f} of 100, beside"
        f" {best.reached.value:.1f} at {metres(best.depth_m)} m."
    )
    if case.most_reached == case.best_row:
        return f"{start} That is the best depth by points, too."
    loss = case.most_reached_loses
    outcome = verdict_on_loss(loss)
    if outcome in (AS_GOOD, NOT_DECIDED):
        as_good = "is as good as" if outcome == AS_GOOD else "cannot be told from"
        cost = f"In points it {as_good} the best depth: it loses {said(loss)} in 100."
    else:
        cost = f"Standing there costs {said(loss)} points in 100."
    return " ".join([start, cost, *_reasons(case)])


def _reasons(case: Case) -> Iterator[str]:
    """What grows and what shrinks there, of what the intervals allow."""
    worse: list[str] = []
    better: list[str] = []
    for way, more in case.instead.items():
        if more.low <= 0.0 <= more.high:
            continue
        up = more.value > 0
        words = f"{abs(more.value):.1f} {'more' if up else 'fewer'} end with {WAY_WORDS[way]}"
        (worse if up == (way in LOST_BY) else better).append(words)
    if worse:
        yield f"Of 100 rallies {_listed(worse)}" + ("." if not better else ";")
    if better:
        yield f"{'in your favour' if worse else 'Of 100 rallies'} {_listed(better)}."
    a, b = case.rows[case.most_reached].quality, case.rows[case.best_row].quality
    if a.low > b.high:
        yield (
            f"Your opponent meets your balls with more ease ({a.value:.2f} instead of"
            f" {b.value:.2f} of 1): a ball that is reached from farther back takes less from them."
        )


def _listed(parts: Sequence[str]) -> str:
    return " and ".join([", ".join(parts[:-1]), parts[-1]] if len(parts) > 1 else parts)


def _cells(answers: Sequence[Depth]) -> str:
    lines = ["best depth by points, metres behind the baseline (95 %), range within half a point"]
    for one in answers:
        scene = one.question.scene
        lines.append(
            f"\n{scene.player.name}, {scene.world.surface.name},"
            f" {scene.against_whom()}; usual {metres(scene.depth_m)} m"
        )
        lines += list(_cases(one))[1:]
        lines.append(
            fill(why_words(one.answer), WIDTH, initial_indent="  ", subsequent_indent="  ")
        )
    return "\n".join(lines)


def _policies(found: Depth, rows: Sequence[Adapted]) -> str:
    """The adaptive policies beside the best fixed place."""
    scene, fixed = found.question.scene, rows[0]
    lines = [
        f"policies that choose their depth, {scene.player.name} on {scene.world.surface.name}"
        f" against {scene.hitter.name}, on rallies held out",
        fill(
            f"The best fixed place of the training rallies: {fixed.policy}, waiting"
            f" {behind(fixed.fixed_depth_m or 0.0)}: {said(fixed.points)} points and"
            f" {said(fixed.reached)} balls reached of 100.",
            WIDTH,
        ),
    ]
    for row in rows[1:]:
        more = row.points_more
        words = claim(
            verdict(more.low, more.high), more, "the best fixed place", "points in 100", "wins"
        )
        lines.append(
            fill(
                f"{row.policy} (mean depth {metres(row.depth_m)} m): {words}; balls reached"
                f" {said(row.reached_more)} of 100 against its.",
                WIDTH,
            )
        )
    return "\n".join(lines)


def _small_print(found: Depth) -> str:
    question = found.question
    drops, approaches = ("/".join(f"{v:g}" for v in tried) for tried in (DROPS, APPROACHES))
    pays = (
        f" When they pay: the opponent adds drop shots ({drops}) and approaches ({approaches}) of"
        " the strokes that allow them, as wins most against each depth on other rallies; an"
        " opponent who learns where you stand, but not one who changes the rest of their game."
        if PAYS in question.cases
        else ""
    )
    return fill(
        f"Model results, from whole rallies: {question.each * 3} at each depth, the same chance at"
        f" all; seed {question.scene.seed}. Negative metres are inside the court; * your usual"
        " depth. Reached: of balls that landed in, in time; back: expected to come back. Their"
        " ease: quality of your opponent's contact with your ball, 0 to 1. The best depth is"
        " that of the smoothed curve, its interval from resampled rallies; what the usual depth"
        " loses counts the choice of the best depth in its interval."
        f"{pays}",
        WIDTH,
    )
