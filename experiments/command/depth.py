"""The command `rally-recovery depth`. Heavy libraries are imported only where needed."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from experiments.command import options
from experiments.command.ask import Asked, Said, asks
from experiments.output.files import require_new_folder
from experiments.scene.defaults import DEPTH_RALLIES, DEPTHS_M, HITTER, OPPONENT_POLICY

if TYPE_CHECKING:
    from experiments.answers.depth.answer import DepthQuestion

STEPS, FARTHEST_M = ("start", "end", "step"), 100.0
out_option = click.option(
    "--out", type=click.Path(path_type=Path), help="A new folder for CSVs and picture."
)


@asks(
    *(*options.CONTACT, *options.PLAYERS, *options.COURT, options.hitter_option),
    options.seed_option,
    saves=(
        *(options.figure_option, options.page_option, options.csv_option, out_option),
        *(options.quiet_option, options.json_option),
    ),
)
@options.shown(
    "--depths",
    default=",".join(f"{v:g}" for v in DEPTHS_M),
    help="From, to and step, metres behind the baseline; below 0 inside the court.",
)
@options.shown("--policy", default="bisector", help="Where to, sideways, you recover.")
@options.shown("--own-shots", default=HITTER, help="What you hit.")
@options.shown("--opponent-policy", default=OPPONENT_POLICY, help="Where your opponent recovers.")
@options.shown("--rallies", default=DEPTH_RALLIES, help="At each depth.")
@options.levels_option
@options.surfaces_option
@options.hitters_option
@click.option(
    "--adaptive",
    multiple=True,
    help="Also hold this policy against the best fixed place: a name, path/to/file.py:Name, or all"
    " listed ones that choose their own depth.",
)
def depth(asked: Asked, adaptive: tuple[str, ...], **how: Any) -> Said:
    """How far back to wait, by points won in whole rallies.

    The best depth with its range and interval, what your usual depth loses to it, how far that
    rests on your opponent's drop shots and approaches, and why balls reached alone mislead.
    """
    from experiments.answers.depth.adaptive import adapted, adaptive_steps, policies_of
    from experiments.answers.depth.answer import depth_of, steps_of
    from experiments.answers.depth.tables import depth_json, depth_table, tables_of, write_tables
    from experiments.answers.depth.words import depth_text
    from experiments.output.files import new_folder

    if (out := asked.values["out"]) is not None:
        require_new_folder(out)
    questions = questions_of(asked, **how)
    options.require_one_cell(asked.values["page"], questions)
    policies = policies_of(adaptive, questions[0].scene)
    steps = steps_of(questions) + len(questions) * adaptive_steps(policies) * bool(policies)
    with asked.progress(steps) as done:
        found = [depth_of(question, done) for question in questions]
        beside = [adapted(one, policies, done) for one in found] if policies else []

    def figure() -> Any:
        from experiments.answers.depth.picture import depth_figure, multiples_figure

        return depth_figure(found[0]) if len(found) == 1 else multiples_figure(found)

    def write(out: Path) -> None:
        from experiments.drawing.style import save

        with new_folder(out) as folder:
            write_tables(tables_of(found, beside), folder)
            save(figure(), folder / "depth.png")

    def write_page(path: Path) -> None:
        from experiments.answers.depth.page import depth_page
        from experiments.drawing.sheet import DPI
        from experiments.drawing.style import save

        save(depth_page(found[0]), path, DPI)

    return Said(
        depth_text(found, beside),
        lambda: depth_json(found, beside),
        figure,
        lambda: depth_table(found),
        more={"out": ("Tables and picture", write), "page": ("Page", write_page)},
    )


def questions_of(
    asked: Asked,
    depths: str,
    policy: str,
    levels: str | None,
    surfaces: str | None,
    hitters: str | None,
    **rallies: Any,
) -> list[DepthQuestion]:
    """The questions of the options: one for each level, surface and hitter.

    Raises:
        InputError: an unknown name, a number out of range, or options that exclude each other.
    """
    from experiments.answers.depth.answer import DepthQuestion, depths_of
    from experiments.scene.own_code import policy_of
    from sim.errors import InputError

    if levels is not None and asked.values["opponent_player"] is not None:
        raise InputError("--levels sets each level against its like; leave out --opponent-player")
    tried = depths_of(*_numbers(depths))
    recovery, values, seed = policy_of(policy), asked.values, asked.seed
    return [
        DepthQuestion(
            asked.scene(player=name, surface=where, hitter=hits, seed=seed),
            recovery,
            tried,
            **rallies,
        )
        for name in options.listed("--levels", levels) or [values["player"]]
        for where in options.listed("--surfaces", surfaces) or [values["surface"]]
        for hits in options.listed("--hitters", hitters) or [values["hitter"]]
    ]


def _numbers(depths: str) -> tuple[float, float, float]:
    from experiments.scene.units import number
    from sim.errors import InputError

    parts = depths.split(",")
    if len(parts) != len(STEPS):
        raise InputError(f"--depths is {depths!r}; give from, to and step in metres: -2,6,0.5")
    start, end, step = (
        number(f"{name} of --depths", part, "m", -FARTHEST_M, FARTHEST_M)
        for name, part in zip(STEPS, parts, strict=True)
    )
    return start, end, step
