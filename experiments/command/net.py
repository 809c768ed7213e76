"""The command `rally-recovery net`. Heavy libraries are imported only where needed."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from experiments.command import options
from experiments.command.ask import Asked, Said, asks
from experiments.output.files import require_new_folder
from experiments.scene.defaults import APPROACH_FROM, APPROACH_TO, OPPONENT_POLICY

if TYPE_CHECKING:
    from experiments.answers.net.approach import NetQuestion

balls_option = options.shown("--balls", default=2000, help="At each aim, each played on.")
out_option = click.option(
    "--out", type=click.Path(path_type=Path), help="A new folder for CSVs and pictures."
)


@asks(
    *(*options.PLAYERS, *options.COURT, *options.LIMITS, options.hitter_option),
    *(balls_option, options.seed_option),
    saves=(
        *(out_option, options.csv_option, options.figure_option, options.page_option),
        *(options.quiet_option, options.json_option),
    ),
)
@options.shown(
    "--from",
    "start",
    type=options.Point("--from", "xy"),
    default=APPROACH_FROM,
    help="The ball when you strike the approach; your side is at y below 0.",
)
@options.height_option
@options.shown(
    "--to",
    "lands",
    type=options.Point("--to", "xy"),
    default=APPROACH_TO,
    help="Where it lands, on the far side.",
)
@options.shown("--opponent-policy", default=OPPONENT_POLICY, help="Where your opponent waits.")
@options.levels_option
@options.surfaces_option
@options.hitters_option
def net(asked: Asked, **how: Any) -> Said:
    """Where to stand at the net after an approach.

    The line, the middle of the angle, the centre or the other side, and how close: balls reached
    and returned, against passing shots and lobs, and points won. And how far from the net the
    best side turns round.
    """
    from experiments.answers.net.answer import net_answer, steps_of
    from experiments.answers.net.tables import aims_frame, write_tables
    from experiments.answers.net.words import net_json, net_text
    from experiments.output.files import new_folder

    if (out := asked.values["out"]) is not None:
        require_new_folder(out)
    questions = questions_of(asked, **how)
    options.require_one_cell(asked.values["page"], questions)
    with asked.progress(sum(steps_of(q) for q in questions)) as done:
        found = [net_answer(q, done) for q in questions]

    def figure() -> Any:
        from experiments.answers.net.picture import turning_figure

        return turning_figure(found[0])

    def write(out: Path) -> None:
        from experiments.answers.net.picture import net_figure, turning_figure
        from experiments.drawing.style import save

        with new_folder(out) as folder:
            write_tables(found, folder)
            save(turning_figure(found[0]), folder / "turning.png")
            save(net_figure(found[0]), folder / "net.png")

    def write_page(path: Path) -> None:
        from experiments.answers.net.page import net_page
        from experiments.drawing.sheet import DPI
        from experiments.drawing.style import save

        save(net_page(found[0]), path, DPI)

    return Said(
        "\n\n".join(net_text(answer) for answer in found),
        lambda: net_json(found),
        figure,
        lambda: aims_frame(found),
        more={"out": ("Tables and pictures", write), "page": ("Page", write_page)},
    )


def questions_of(
    asked: Asked,
    start: tuple[float, float],
    height: float,
    lands: tuple[float, float],
    opponent_policy: str,
    levels: str | None,
    surfaces: str | None,
    hitters: str | None,
) -> list[NetQuestion]:
    """A question for each level, surface and hitter.

    Raises:
        InputError: an unknown name, a number out of range, or two options that exclude each other.
    """
    from experiments.answers.net.approach import NetQuestion
    from experiments.scene.own_code import policy_of
    from sim.errors import InputError

    if levels is not None and asked.values["opponent_player"] is not None:
        raise InputError("--levels sets each level against its like; leave out --opponent-player")
    policy, seed = policy_of(opponent_policy), asked.seed
    return [
        NetQuestion(
            asked.scene(player=level, surface=surface, hitter=hitter, seed=seed),
            (*start, height),
            lands,
            policy,
        )
        for level in options.listed("--levels", levels) or [asked.values["player"]]
        for surface in options.listed("--surfaces", surfaces) or [asked.values["surface"]]
        for hitter in options.listed("--hitters", hitters) or [asked.values["hitter"]]
    ]
