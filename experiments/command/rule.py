"""The command `rally-recovery rule`. Heavy libraries are imported only where it needs them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from experiments.command import options
from experiments.command.ask import Asked, Said, asks

out_option = click.option(
    "--out", type=options.Target(), help="A new file for the shortest good rule's weights: .toml."
)


@asks(
    options.seed_option,
    saves=(out_option, options.figure_option, options.quiet_option, options.json_option),
)
@click.argument("weights")
@options.shown("--rounds", type=int, default=25, help="Of the search for each rule.")
@options.shown("--points", type=int, default=4000, help="Played by each, a hitter and round.")
@options.shown("--held-out", type=int, default=40000, help="Points that judge, a hitter.")
@click.option("--workers", type=click.IntRange(1, 256), help="Processes.  [default: one a core]")
def rule(
    asked: Asked, weights: str, rounds: int, points: int, held_out: int, workers: int | None
) -> Said:
    """Say a learned policy in one, two or three numbers, and what each rule loses to it.

    WEIGHTS: the name of a set that comes with the program, or a file of `learn`.
    """
    from experiments.learning.training.rule import RULES, distilled
    from experiments.learning.training.rule_words import rule_file, rule_json, rule_text
    from experiments.output.files import require_new_file, write_new
    from experiments.study.workers import default_workers
    from strategies.learned.reading import read_learning

    if (out := asked.values["out"]) is not None:
        require_new_file(Path(out))
    learning = read_learning(weights)
    steps = len(RULES) * (rounds + 1) + 1
    with asked.progress(steps) as done:
        found = distilled(
            learning, rounds, points, held_out, asked.seed, workers or default_workers(), done
        )

    def figure() -> Any:
        from experiments.learning.training.picture import rule_figure

        return rule_figure(found)

    more: dict[str, Any] = {"out": ("Rule", lambda path: write_new(path, rule_file(found)))}
    return Said(rule_text(found), lambda: rule_json(found), figure, more=more)
