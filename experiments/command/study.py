"""The command `rally-recovery study`. Heavy libraries are imported only where it needs them."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from experiments.command.messages import FAILED, INTERRUPTED, Message, lacks_memory
from experiments.command.options import allow_code_option, shown
from experiments.output.terminal import say

if TYPE_CHECKING:
    from experiments.study.design import Study

MOST_WORKERS = 256


@click.command()
@click.argument("file", required=False, type=click.Path(path_type=Path))
@shown(
    "--out",
    type=click.Path(path_type=Path),
    default=Path("study-results"),
    help="The result folder; an existing one is not replaced unless asked.",
)
@click.option("--seed", type=int, help="Repeats a run.  [default: the study's, else a fresh one]")
@click.option(
    "--precision",
    type=float,
    help="Play on until each interval of balls missed fewer is within so many in 100.",
)
@click.option(
    "--race",
    type=float,
    help="Stop who cannot be the best, cell by cell, until one within so many in 100 is found.",
)
@click.option(
    "--most-replicates",
    type=int,
    help="With precision or race: no look beyond.  [default: 64 x first]",
)
@click.option(
    "--worlds", type=int, help="Play it in so many worlds that fit the professional record, too."
)
@click.option("--world-rallies", type=int, help="Balls or rallies a cell in each world.")
@click.option(
    "--worlds-file", type=str, help="A file of worlds.  [default: the one of the program]"
)
@click.option(
    "--workers", type=int, help="Processes.  [default: up to one a processor, by the work]"
)
@click.option("--cluster", help="Or the workers of the Dask scheduler at this address.")
@click.option("--resume", is_flag=True, help="Go on with an interrupted run; FILE may be left out.")
@click.option("--overwrite", is_flag=True, help="Replace the result folder.")
@click.option("--quiet", is_flag=True, help="No progress and no table.")
@allow_code_option
@click.option("--check", is_flag=True, help="Only say what would be run, and about how long.")
@click.option("--schema", is_flag=True, help="Only print the JSON Schema of study files.")
def study(
    file: Path | None,
    out: Path,
    seed: int | None,
    workers: int | None,
    cluster: str | None,
    resume: bool,
    overwrite: bool,
    quiet: bool,
    allow_code: bool,
    check: bool,
    schema: bool,
    **wished: Any,
) -> None:
    """Compare policies over places, levels and opponents; writes a result folder.

    FILE is a study file or the name of a bundled study (`list studies`); without it, `first` is
    run, a few cells of `main` that take less time. The numbers do not depend on who plays them, nor
    on interruptions. With a precision, sizes double until the intervals are narrow
    enough; in a race, policies stop one by one (`first` is one; a precision takes its place). Both
    stay valid though they look again and again. With worlds, every outcome has two intervals: of
    chance, and of the worlds.
    """
    from sim.errors import InputError

    if schema:
        from experiments.output.numbers import json_text
        from experiments.study.file import study_schema

        say(json_text(study_schema()))
        return
    if check:
        from experiments.study.plan import plan_text
        from strategies.user_file import code_not_run

        with code_not_run():
            say(plan_text(_wished(file, allow_code, **wished), workers))
        return
    if workers is not None and cluster is not None:
        raise InputError("--workers and --cluster exclude each other; leave one out")
    if workers is not None and not 1 <= workers <= MOST_WORKERS:
        raise InputError(f"--workers is {workers}; it must be from 1 to {MOST_WORKERS}")
    from experiments.report.run import run_study
    from experiments.report.study_text import study_text, where
    from experiments.scene.people import given
    from sim.chance import fresh_seed

    if resume and file is None and given(**wished):
        raise InputError(
            "a run keeps the precision that it began with, its race and its worlds; leave the"
            " option out"
        )
    plan = None if resume and file is None else _wished(file, allow_code, **wished)
    if plan is not None and not resume:
        seed = next(s for s in (seed, plan.seed, fresh_seed()) if s is not None)
    options: dict[str, Any] = {"seed": seed, "workers": workers, "cluster": cluster}
    options |= {"overwrite": overwrite, "resume": resume, "progress": not quiet}
    try:
        folder = run_study(plan, out, **options)
    except KeyboardInterrupt:
        why = "interrupted"
        raise Message(_how_to_go_on(why, out, seed, overwrite), INTERRUPTED) from None
    except (MemoryError, RuntimeError) as error:
        if not lacks_memory(error):
            raise
        why = "out of memory; close other programs or ask for fewer --workers"
        raise Message(_how_to_go_on(why, out, seed, overwrite), FAILED) from None
    seed = int(json.loads((folder / "manifest.json").read_text("utf-8"))["seed"])
    say(where(folder, seed) if quiet else study_text(folder, seed))


def _wished(file: Path | None, allow_code: bool, **wished: Any) -> Study:
    """The study asked for, with what the command line wishes; with a precision or a race, which
    take each other's place, it looks anew."""
    from experiments.scene.people import given
    from experiments.study.file import changed_study, first_study, load_study

    study = first_study() if file is None else load_study(file, allow_code)
    values = given(**wished)
    if not values:
        return study
    what = " and ".join(f"--{name.replace('_', '-')}" for name in wished if name in values)
    if values.keys() & {"precision", "race", "most_replicates"}:
        values |= {"reached": None, "raced": None}
    if "race" in values:
        values = {"precision": None} | values
    elif "precision" in values:
        values = {"race": None, "race_verdicts": None} | values
    return changed_study(study, what, **values)


def _how_to_go_on(why: str, out: Path, seed: int | None, overwrite: bool) -> str:
    replacing = " --overwrite" if overwrite and out.exists() else ""
    anew = "" if seed is None else f" --seed {seed}"
    return (
        f"{why}. What was finished stays in {out.with_name(out.name + '.partial')};"
        f" go on with it: rally-recovery study --resume --out {out}{replacing}"
        f" (or begin again:{anew} --overwrite)."
    )
