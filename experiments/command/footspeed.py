"""The command `rally-recovery footspeed`. Heavy libraries are imported only where needed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from experiments.command import options
from experiments.command.ask import Asked, Said, asks

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
def footspeed(asked: Asked, vary: str, levels: str | None, surfaces: str | None) -> Said:
    """Where to stand with slower or faster legs, and what faster legs buy.

    The best place, how far off it costs one ball in a hundred, and what the middle costs, over top
    speed, acceleration, reaction and reach.
    """
    from experiments.answers.footspeed.answer import footspeed_of, steps_of
    from experiments.answers.footspeed.words import footspeed_json, footspeed_text

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
