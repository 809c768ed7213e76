"""What a study would run and about how long it would take: for `study --check`."""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Iterator
from textwrap import wrap

import numpy as np

from experiments.scene.own_code import policy_of
from experiments.scene.people import ball_words
from experiments.scene.player_file import name_of, player_of
from experiments.study.design import Study, points_table
from experiments.study.factors import Factor, Factors
from experiments.study.setting_table import is_served, units_of
from experiments.study.settings import Block, Scenario, blocks, evaluate, replicates_of, scenarios
from experiments.study.workers import workers_for
from experiments.study.worlds import EXTRAPOLATED, OF_RECORD, basis_of
from sim.players import ball_of
from strategies.user_file import code_runs

WIDTH, HEAD = 100, 14
FEW, MANY = 20, 120  # replicates timed: from both follow the time of a start and of one more
TIMED = 3  # scenarios of each kind
WRITING_S = 15.0  # tables, figures and report; assumed
PARALLEL_SHARE = 0.85  # what a second process brings over the first one; assumed


def plan_text(study: Study, workers: int | None) -> str:
    """The study in plain words, its size, and a guess of its time on that many processes.

    Without a number, on as many as a run would choose. Plays a few replicates of some scenarios to
    find out how long they take; inside strategies.user_file.code_not_run not of a study with users'
    code.
    """
    everything = scenarios(study)
    lines = [study.title, *wrap(study.question, WIDTH), "", *described(study)]
    lines += ["", *sizes(study, everything), ""]
    lines += code_lines(study) or [guess(study, everything, workers)]
    return "\n".join(lines)


def code_lines(study: Study) -> list[str]:
    """What code a run would run, where users' code is not run now; nothing else is said then."""
    files = [] if code_runs() else study.code_files()
    lines = [f"Code, not run by --check: {str(file.resolve())!r}" for file in files]
    return [*lines, "So no guess of the time: a run runs that code."] if files else []


def described(study: Study) -> Iterator[str]:
    """What is compared, against whom, from where."""
    yield from row("settings", study.settings)
    balls = (ball_words(ball_of(player_of(text))) for text in study.levels)
    who = zip(study.level_names(), balls, strict=True)
    yield from row("players", [f"{name} {ball}".rstrip() for name, ball in who])
    yield from row("opponents", study.opponent_names())
    if not all(map(is_served, study.settings)):
        yield from row("places", [f"{p.name} ({p.x_m:g}, {p.y_m:g})" for p in study.places])
    if "recovery" in study.settings:
        yield from row("own strokes", study.own_strokes)
    policies = [policy_of(text).name for text in study.policies]
    reference = policy_of(study.reference).name
    yield from row("policies", [f"{p} (reference)" if p == reference else p for p in policies])
    yield from row("world", [study.surface, f"{study.flight} flight"])
    if study.without:
        yield from row("without", study.without)
    if study.headline is not None:
        kept = sum(study.headline.holds(scenario) for scenario in scenarios(study))
        said = "1 cell" if kept == 1 else f"{kept} cells"
        yield from row("headline", [f"{said}, of which a row is kept for each ball or rally"])
    if study.choices is not None:
        at = study.choices
        yield from row(
            "choices", [f"each modelling choice: {name_of(at.level)}, {at.opponent}, {at.place}"]
        )
    if study.factors is not None:
        yield from factor_lines(study, study.factors)
    yield from world_lines(study)
    if study.precision is not None:
        yield from row("precision", [precision_words(study)])
    if study.race is not None:
        yield from row("race", [race_words(study)])
    seed = "a fresh one" if study.seed is None else str(study.seed)
    yield from row("seed", [seed])


def precision_words(study: Study) -> str:
    """What a wished precision makes of the numbers, which are those of the first look."""
    if study.reached is not None:
        return f"{study.precision:g} in 100 was wished; the sizes that a run came to"
    return f"{study.precision:g} in 100: {_looks_words(study)}"


def race_words(study: Study) -> str:
    """What a race makes of the numbers, which are those of the first look."""
    if study.raced is not None:
        return f"to within {study.race:g} in 100 of the best; at most the sizes that a run came to"
    return (
        f"to within {study.race:g} in 100 of the best: {_looks_words(study)}; policies that cannot"
        f" be the best any more{' and have a verdict' if study.race_verdicts else ''} stop, cell by"
        " cell"
    )


def _looks_words(study: Study) -> str:
    """The sizes of a study that is played look by look."""
    most = [study.first_replicates(s) * 2 ** (study.looks_allowed(s) - 1) for s in study.settings]
    ends = ", ".join(f"{s} {n:,}" for s, n in zip(study.settings, most, strict=True))
    return f"first as below, then twice as many; at most {ends}"


def world_lines(study: Study) -> Iterator[str]:
    """In how many worlds the study is played besides, from which file, and for whom they fit."""
    if study.worlds is None or study.varied is None:
        return
    file = "the file that came with the program" if study.worlds_file is None else study.worlds_file
    yield from row("worlds", [f"{study.worlds} from {file} of {len(study.varied.all)} factors"])
    stopped: Counter[str] = Counter()
    for point in points_table(study):
        stopped[point["level"]] += point["stopped"]
    for level in study.level_names():
        said = f"{level}: {basis_of(level)}"
        if basis_of(level) == EXTRAPOLATED:
            said += f" by relation to {OF_RECORD}; {stopped[level]} values stopped at a range's end"
        yield from row("", [said])


def factor_lines(study: Study, factors: Factors) -> Iterator[str]:
    """The design, its points and what each factor does over them."""
    count = len(factors.coordinates)
    yield from row("design", [f"{factors.design}: {count} points of {len(factors.all)} factors"])
    table = points_table(study)
    for factor in factors.all:
        values = [r[factor.label] for r in table if r[factor.label] is not None]
        yield from row("", [f"{factor.label}: {_span(factor, values)}"])
    kept = factors.outcomes or ("all outcomes",)
    yield from row("kept of each", kept)


def _span(factor: Factor, values: list[float | str]) -> str:
    if factor.listed:
        return ", ".join(dict.fromkeys(v if isinstance(v, str) else f"{v:.4g}" for v in values))
    numbers = [float(v) for v in values]
    return f"{min(numbers):.4g} to {max(numbers):.4g}"


def row(head: str, items: tuple[str, ...] | list[str]) -> Iterator[str]:
    """A head and its items, wrapped."""
    for i, line in enumerate(wrap(", ".join(items), WIDTH - HEAD, break_on_hyphens=False)):
        yield f"{head if i == 0 else '':<{HEAD}}{line}"


def sizes(study: Study, everything: list[Scenario]) -> Iterator[str]:
    """How many scenarios, and balls or rallies in each."""
    policies = len(study.policies)
    counted = Counter(_kind(study, s) for s in everything)
    for kind, count in counted.items():
        each = max(replicates_of(study, s) for s in everything if _kind(study, s) == kind)
        what = f"{each} {units_of(kind[0])}"
        yield f"{kind[0]}{kind[1]}: {count} scenarios x {policies} policies x {what}"
    yield f"{len(blocks(study))} blocks of work"


def _kind(study: Study, scenario: Scenario) -> tuple[str, str]:
    points = ", at the points" if study.worlds is None else ", in the worlds"
    if scenario.choice is not None:
        return scenario.setting, ", modelling choices"
    return scenario.setting, "" if scenario.point is None else points


def guess(study: Study, everything: list[Scenario], workers: int | None) -> str:
    """About how long it takes, from a few replicates of some scenarios."""
    total = 0.0
    for kind in dict.fromkeys(_kind(study, s) for s in everything):
        own = [s for s in everything if _kind(study, s) == kind]
        some = [own[i] for i in np.unique(np.linspace(0, len(own) - 1, TIMED).astype(int))]
        total += len(own) * float(np.mean([_seconds(study, scenario) for scenario in some]))
    workers = workers or workers_for(total)
    share = 1.0 + PARALLEL_SHARE * (workers - 1)
    processes = "1 process" if workers == 1 else f"{workers} processes"
    anew = study.precision or study.race
    first = ", the first look alone" if anew and not (study.reached or study.raced) else ""
    return (
        f"About {_said(total / share + WRITING_S)} on {processes}"
        f"{first}: a guess from up to {FEW + MANY} replicates of up to {TIMED}"
        " scenarios of each kind."
    )


def _seconds(study: Study, scenario: Scenario) -> float:
    """The time of one scenario: what it takes to start, and then by its replicates."""
    evaluate(study, 0, Block(scenario, 0, 2))  # compiles
    spent = []
    for first, count in ((0, FEW), (FEW, MANY)):
        start = time.perf_counter()
        evaluate(study, 0, Block(scenario, first, count))
        spent.append(time.perf_counter() - start)
    each = max(spent[1] - spent[0], 0.0) / (MANY - FEW)
    start_s = max(spent[0] - FEW * each, 0.0)
    return start_s + each * replicates_of(study, scenario)


def _said(seconds: float) -> str:
    if seconds < 90:
        return f"{seconds:.0f} s"
    return f"{seconds / 60:.0f} min" if seconds < 5400 else f"{seconds / 3600:.1f} h"
