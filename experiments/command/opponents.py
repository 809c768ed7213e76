"""The command `rally-recovery opponents`. Heavy libraries are imported only where needed."""

from __future__ import annotations

from pathlib import Path

import click

from experiments.command import options
from experiments.command.ask import Asked, Said, asks
from experiments.output.files import require_new_folder

balls_option = options.shown("--balls", default=2000, help="At each spot.")
out_option = click.option(
    "--out", type=click.Path(path_type=Path), help="A new folder for CSVs and picture."
)


@asks(
    *(*options.PLAYERS, options.surface_option, balls_option, options.seed_option),
    saves=(out_option, options.quiet_option, options.json_option),
)
@options.shown("--chart", default="demo", help="Of the charted opponent: a CSV.")
@options.policy_option
@options.shown("--rallies", default=400, help="Each pair, each place.")
def opponents(asked: Asked, chart: str, own: tuple[str, ...], rallies: int) -> Said:
    """What each policy loses to whom, and a round robin of policies and opponents."""
    from experiments.answers.opponents.answer import OPPONENTS, Field, answer_of, steps_of
    from experiments.answers.opponents.words import answer_text, opponents_json, write_tables
    from experiments.balls.spots import with_own
    from experiments.output.files import new_folder
    from experiments.scene.own_code import policy_of
    from strategies.catalogue import make_shot_model
    from strategies.shots.charted import Charted

    if (out := asked.values["out"]) is not None:
        require_new_folder(out)
    hitters = [Charted(chart=chart) if w == "charted" else make_shot_model(w) for w in OPPONENTS]
    policies = with_own([policy_of(text) for text in own])
    field = Field(asked.scene(), rallies, policies=policies, opponents=hitters)
    with asked.progress(steps_of(field)) as done:
        found = answer_of(field, done)

    def write(out: Path) -> None:
        from experiments.answers.opponents.picture import robin_figure
        from experiments.drawing.style import save

        with new_folder(out) as folder:
            write_tables(found, folder)
            save(robin_figure(found), folder / "round-robin.png")

    return Said(
        answer_text(found),
        lambda: opponents_json(found),
        more={"out": ("Tables and picture", write)},
    )
