"""The command `rally-recovery learn`. Heavy libraries are imported only where it needs them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from experiments.command import options
from experiments.command.ask import Asked, Said, asks
from experiments.command.goal import PLAYERS, goal_asked
from experiments.scene.defaults import HITTER

out_option = click.option(
    "--out",
    type=options.Target(),
    required=True,
    help="A new file for the weights: .toml. Beside it FILE.partial holds the rounds so far; the"
    " same command goes on from there.",
)


@asks(
    *(*PLAYERS, options.surface_option, options.seed_option),
    saves=(out_option, options.quiet_option, options.json_option),
)
@options.shown("--hitters", default=HITTER, help="What opponents hit, by comma.")
@click.option(
    "--worst", is_flag=True, help="Maximise the points won against the worst of them, not the mean."
)
@options.shown("--worlds", type=int, default=0, help="Also over so many worlds that fit.")
@click.option("--weights", help="Which weights are learned, by comma.  [default: all but effort]")
@options.shown("--rounds", type=int, default=60)
@options.shown("--candidates", type=int, default=12, help="Tried in each round.")
@options.shown("--points", type=int, default=2000, help="Played by each, a hitter and round.")
@options.shown("--held-out", type=int, default=40000, help="Points that judge, a hitter.")
@click.option("--workers", type=click.IntRange(1, 256), help="Processes.  [default: one a core]")
def learn(
    asked: Asked,
    hitters: str,
    worst: bool,
    worlds: int,
    weights: str | None,
    rounds: int,
    candidates: int,
    points: int,
    held_out: int,
    workers: int | None,
) -> Said:
    """Let the computer look for a place to recover to, and judge what it found.

    An evolution strategy moves the weights of a policy (where sideways, how far back, by what is
    seen) so that more whole points are won. The file is a policy for every other command:
    learned,weights=FILE.
    """
    from experiments.learning.training.answer import Diary, file_text, learned
    from experiments.learning.training.goal import FEWEST_POINTS
    from experiments.learning.training.search import USUAL, Plan
    from experiments.learning.training.words import learned_json, learned_text
    from experiments.output.files import require_new_file, write_new
    from experiments.study.workers import default_workers
    from sim.errors import InputError

    out = Path(asked.values["out"])
    if out.suffix.lower() != ".toml":
        raise InputError(f"--out is {str(out)!r}; give a file that ends with .toml")
    require_new_file(out)
    if held_out < FEWEST_POINTS:
        raise InputError(f"--held-out is {held_out}; give {FEWEST_POINTS} or more")
    against = tuple(options.listed("--hitters", hitters))
    goal = goal_asked(asked, against, worst=worst, worlds=worlds, points=points)
    named = tuple(options.listed("--weights", weights)) or USUAL
    plan = Plan(goal, named, rounds, candidates, asked.seed)
    diary = Diary(out.with_name(out.name + ".partial"), plan)
    with asked.progress(rounds + len(goal.hitters)) as done:
        found = learned(plan, diary, workers or default_workers(), held_out, done)

    def write(path: Path) -> None:
        write_new(path, file_text(found))
        diary.path.unlink(missing_ok=True)

    text = learned_text(found, str(out))
    more: dict[str, Any] = {"out": ("Weights", write)}
    return Said(text, lambda: learned_json(found), more=more)
