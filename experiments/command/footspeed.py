"""The command `rally-recovery footspeed`. Heavy libraries are imported only where needed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from experiments.command import options
from experiments.command.ask import Asked, Said, asks
from experiments.scene.defaults import FASTER

if TYPE_CHECKING:
    from experiments.answers.footspeed.answer import FootspeedQuestion

ALL = "all"
balls_option = options.shown("--balls", default=8000, help="To find the best places.")


@asks(
    *options.SCENE,
    balls_option,
    options.seed_option,
    saves=(options.figure_option, options.quiet_option, options.json_option),
)
@options.shown(
    "--vary",
    default="top-speed",
    help="top-speed, acceleration, reaction, reach, together, or all of these in turn.",
)
@options.levels_option
@options.surfaces_option
@click.option(
    "--faster",
    type=options.Measure("--faster", "1", *FASTER),
    help="In a sentence: what legs so much faster would be worth, such as 10%.",
)
@click.option("--slower", type=options.Measure("--slower", "1", *FASTER), help="The same, slower.")
@options.shown("--rallies", default=20_000, help="For that sentence, and as many balls.")
def footspeed(
    asked: Asked,
    vary: str,
    levels: str | None,
    surfaces: str | None,
    faster: float | None,
    slower: float | None,
    rallies: int,
) -> Said:
    """Where to stand with slower or faster legs, and what faster legs buy.

    With --faster or --slower: what that would be worth, beside what the place is worth. Else the
    best place, how far off it costs one ball in a hundred, and what the middle costs, over top
    speed, acceleration, reaction and reach.
    """
    from experiments.answers.footspeed.answer import footspeed_of, steps_of
    from experiments.answers.footspeed.varied import TOP_SPEED
    from experiments.answers.footspeed.words import footspeed_json, footspeed_text
    from experiments.answers.footspeed.worth import FEWEST_RALLIES, MOST_RALLIES
    from experiments.scene.scene import require_count
    from sim.errors import InputError

    require_count("rallies", rallies, FEWEST_RALLIES, MOST_RALLIES)
    if faster is not None or slower is not None:
        if faster is not None and slower is not None:
            raise InputError("--faster and --slower exclude each other; give one of them")
        if vary != TOP_SPEED.name or levels or surfaces or asked.values["figure"] is not None:
            raise InputError(
                "--faster and --slower answer in a sentence for one player; leave out --vary,"
                " --levels, --surfaces and --figure"
            )
        return worth(asked, faster if faster is not None else -(slower or 0.0), rallies)
    groups = questions_of(asked, vary, levels, surfaces)
    with asked.progress(steps_of([q for group in groups for q in group])) as done:
        found = [[footspeed_of(q, done) for q in group] for group in groups]

    def figure() -> Any:
        from experiments.answers.footspeed.picture import footspeed_figure, multiples_figure

        return (
            footspeed_figure(found[0])
            if len(found) == 1
            else multiples_figure([g[0] for g in found])
        )

    def numbers() -> Any:
        alone = levels is None and surfaces is None
        return footspeed_json(found[0]) if alone else [footspeed_json(group) for group in found]

    return Said("\n\n".join(footspeed_text(group) for group in found), numbers, figure)


def worth(asked: Asked, more: float, rallies: int) -> Said:
    """What legs that are faster by that share (slower below 0) would be worth."""
    from experiments.answers.footspeed.worth import WorthQuestion, steps_of, worth_of
    from experiments.answers.footspeed.worth_words import worth_json, worth_text

    question = WorthQuestion(asked.scene(), more, rallies)
    with asked.progress(steps_of(question)) as done:
        found = worth_of(question, done)
    return Said(worth_text(found), lambda: worth_json(found))


def questions_of(
    asked: Asked, vary: str, levels: str | None, surfaces: str | None
) -> list[list[FootspeedQuestion]]:
    """The questions of the options: a group for each level and surface, one in it a thing varied.

    Raises:
        InputError: an unknown name, or two options that exclude each other.
    """
    from experiments.answers.footspeed.answer import FootspeedQuestion
    from experiments.answers.footspeed.varied import VARIED, varied
    from sim.errors import InputError

    if levels is not None and asked.values["opponent_player"] is not None:
        raise InputError("--levels sets each level against its like; leave out --opponent-player")
    kinds = list(VARIED.values()) if vary == ALL else [varied(vary)]
    if len(kinds) > 1 and (levels is not None or surfaces is not None):
        raise InputError("with --levels or --surfaces vary one thing, not all")
    seed = asked.seed
    scenes = [
        asked.scene(player=name, surface=where, seed=seed)
        for where in options.listed("--surfaces", surfaces) or [asked.values["surface"]]
        for name in options.listed("--levels", levels) or [asked.values["player"]]
    ]
    return [[FootspeedQuestion(scene, kind) for kind in kinds] for scene in scenes]
