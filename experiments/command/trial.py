"""The command `rally-recovery trial`. Heavy libraries are imported only where it needs them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click
from click.core import ParameterSource

from experiments.command import options
from experiments.command.ask import Asked, Said, asks
from experiments.output.files import require_picture_suffix

SHOWN_FROM = 40_000  # balls; below, a run takes seconds
csv_option = click.option(
    "--csv", type=options.Target(), help="A new CSV to type the results into, for --read."
)
page_option = click.option(
    "--page",
    type=options.Target(require_picture_suffix),
    help="The score sheet, A4, a page a session: .pdf; one session also .png or .svg.",
)


@asks(
    *(*options.SCENE, *options.LIMITS, *options.CHANCE),
    saves=(
        csv_option,
        page_option,
        options.figure_option,
        options.quiet_option,
        options.json_option,
    ),
)
@options.shown(
    "--policy", default="bisector", help="The cone is at its spot: listed or FILE.py:Name."
)
@options.shown(
    "--counts",
    metavar="WORD",
    default="reached",
    help="One of two words, reached or returned: what a ball is judged by.",
)
@click.option(
    "--places", help="Numbers of the places to feed from, by comma.  [default: yours, its mirror]"
)
@options.shown("--power", default=0.8, help="The chance to see what is foretold.")
@options.shown("--false-alarm", default=0.05, help="The chance to see what is not there.")
@click.option("--session-balls", type=int, help="At most so many a session.  [default: by age]")
@click.option("--most-balls", type=int, help="At most so many in all.  [default: ten sessions]")
@click.option(
    "--read",
    "filled",
    type=click.Path(path_type=Path),
    help="Judge a filled CSV instead; what the other options say is not looked at.",
)
@click.option(
    "--totals",
    metavar="KEPT/BALLS,KEPT/BALLS",
    help="Judge balls counted without a sheet instead, from the middle first, then from the cone:"
    " 31/40,35/40. A sheet shows more.",
)
def trial(asked: Asked, filled: Path | None, totals: str | None, **how: Any) -> Said:
    """Test it on court: how many fed balls show cone against middle, a score sheet, its reading."""
    if totals is not None:
        return counted(totals, how["counts"])
    if filled is not None:
        return read(asked, filled)
    from experiments.answers.trial.answer import PLACES, plan_trial
    from experiments.answers.trial.plan_words import plan_json, plan_text
    from experiments.answers.trial.sheet import sheet_text
    from experiments.output.files import require_new_file, write_new

    csv, page = asked.values["csv"], asked.values["page"]
    if csv is not None:
        require_new_file(csv)
    question = question_of(asked, **how)
    with asked.progress(PLACES, question.scene.balls >= SHOWN_FROM) as done:
        found = plan_trial(question, done)
    text = sheet_text(found) if csv is not None else ""
    more: dict[str, Any] = {"csv": ("Sheet to fill in", lambda path: write_new(path, text))}
    if page is not None:
        from experiments.answers.trial.sheet_page import sheet_pages
        from experiments.drawing.sheet import DPI
        from experiments.drawing.style import require_pages, save_pages

        pages = sheet_pages(found)
        require_pages(page, len(pages))
        more["page"] = ("Score sheet", lambda path: save_pages(pages, path, DPI))

    def figure() -> Any:
        from experiments.answers.trial.picture import power_figure

        return power_figure(found)

    return Said(lambda: plan_text(found), lambda: plan_json(found), figure, more=more)


def question_of(
    asked: Asked,
    policy: str,
    counts: str,
    places: str | None,
    power: float,
    false_alarm: float,
    session_balls: int | None,
    most_balls: int | None,
) -> Any:
    """The question that the options describe.

    Raises:
        InputError: a name that is not known, or a number out of range.
    """
    from experiments.answers.trial.answer import TrialQuestion
    from experiments.answers.trial.practice import practice_of
    from experiments.scene.own_code import policy_of

    scene = asked.scene()
    return TrialQuestion(
        scene,
        policy_of(policy),
        practice_of(scene.player, session_balls, most_balls),
        what_counts(counts),
        _numbers(places),
        power,
        false_alarm,
    )


def what_counts(counts: str) -> str:
    """What a ball is judged by.

    Raises:
        InputError: none of the two words; says where counts go, if there are any.
    """
    from experiments.answers.trial.foretold import LOST
    from experiments.answers.trial.totals import EXAMPLE
    from sim.errors import LONGEST_NAME, InputError, named

    if any(letter.isdigit() for letter in counts):
        raise InputError(
            f"--counts is {counts[:LONGEST_NAME]!r}; it takes a word, {' or '.join(LOST)}: what a"
            " ball is judged by. Your counts go elsewhere: totals from the middle and the cone to"
            f" {EXAMPLE}, a filled sheet to --read FILE.csv"
        )
    return named("what counts", counts, LOST)


def counted(text: str, counts: str) -> Said:
    """What two totals say that were counted without a sheet.

    Raises:
        InputError: no such totals, or other options are given that say nothing of them.
    """
    from experiments.answers.trial.totals import totals_of
    from experiments.answers.trial.totals_words import totals_json, totals_text
    from sim.errors import InputError

    if others := _given_beside("totals", "counts", "as_json", "quiet"):
        raise InputError(
            "--totals judges balls that are counted already, and takes --counts and --json alone;"
            f" leave out {', '.join(others)}, or --totals to plan a trial or read a sheet"
        )
    found = totals_of(text, what_counts(counts))
    return Said(lambda: totals_text(found), lambda: totals_json(found))


def _given_beside(*names: str) -> list[str]:
    """The options of the command line but these, as they are written."""
    context = click.get_current_context()
    return [
        max(param.opts, key=len)
        for param in context.command.params
        if param.name not in names
        and context.get_parameter_source(str(param.name)) is ParameterSource.COMMANDLINE
    ]


def _numbers(places: str | None) -> tuple[int, ...]:
    from sim.errors import InputError

    names = options.listed("--places", places)
    for name in names:
        if not (name.isascii() and name.isdecimal() and len(name) < 3):
            raise InputError(f"--places holds {name!r}; give numbers by comma, such as 1,5")
    return tuple(map(int, names))


def read(asked: Asked, filled: Path) -> Said:
    """What a filled sheet says.

    Raises:
        InputError: the file is no filled sheet, or something is to be drawn or written of it.
    """
    from experiments.answers.trial.reading import read_sheet
    from experiments.answers.trial.result import judge
    from experiments.answers.trial.result_words import result_json, result_text
    from sim.errors import InputError

    for option in ("csv", "page", "figure"):
        if asked.values[option] is not None:
            raise InputError(f"--read judges a filled sheet and writes none; leave out --{option}")
    found = judge(read_sheet(filled))
    return Said(result_text(found), lambda: result_json(found))
