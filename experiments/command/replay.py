"""The command `rally-recovery replay`. Heavy libraries are imported only where it needs them."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from experiments.command import options
from experiments.command.ask import Asked, Said, asks
from experiments.scene.defaults import CONTACT_HEIGHT_M, HITTER, LEVEL, OPPONENT_POLICY, SURFACE

if TYPE_CHECKING:
    from experiments.answers.replay.answer import Replay


def require_film(path: Path) -> None:
    """Check the name of a film before a rally is played.

    Raises:
        InputError: a kind of film that cannot be written.
    """
    from experiments.answers.replay import film

    film.require_film(path)


animation_option = click.option(
    "--animation",
    type=options.Target(require_film),
    help="Also film it from above: .gif, or .mp4 where ffmpeg is installed.",
)


@asks(saves=(options.figure_option, animation_option))
@options.shown("--number", default=0, help="Which rally, from 0.")
@click.option(
    "--seed",
    type=int,
    help="Of the run to replay; for a first film any whole number, such as 1: the same one brings"
    " the same balls. Needed, unless --study holds one.",
)
@click.option(
    "--study", type=click.Path(path_type=Path), help="A study file or a result folder: its rally."
)
@click.option("--setting", help="Of the study: rally, returning or serving.  [default: rally]")
@click.option(
    "--place",
    help="A place of the study; or X,Y of the first ball, or serve-right or serve-left; or, to"
    " serve yourself, own-serve-right or own-serve-left.  [default: corner]",
)
@click.option(
    "--player",
    help=f"A level or a player file.  [default: the study's first, else {LEVEL}]",
)
@click.option(
    "--policy", help="Where you recover to.  [default: the study's reference, else middle]"
)
@click.option(
    "--hitter", help=f"What your opponent hits.  [default: the study's first, else {HITTER}]"
)
@click.option(
    "--beside",
    help="Another place to recover to, beside --policy's on the same balls, chosen by a rule; with"
    " --seed, and --animation for the film.",
)
@options.opponent_player_option
@click.option("--opponent-policy", help=f"[default: {OPPONENT_POLICY}]")
@click.option("--own-shots", help=f"What you hit.  [default: {HITTER}]")
@options.hand_option
@options.opponent_hand_option
@click.option("--surface", help=f"[default: {SURFACE}]")
@click.option("--depth", type=options.DEPTH, help="Where you wait.  [default: the level's]")
@click.option(
    "--height",
    type=options.HEIGHT,
    help=f"Height of the first ball.  [default: {CONTACT_HEIGHT_M}]",
)
@options.without_option
@click.option("--world", type=int, help="In this world of those that fit the record, from 0.")
@options.allow_code_option
@click.option(
    "--slowed",
    type=options.Measure("--slowed", "1", 1, 20),
    help="How many times slower the film is.  [default: 1, true speed]",
)
def replay(
    asked: Asked,
    number: int,
    seed: int | None,
    study: Path | None,
    setting: str | None,
    place: str | None,
    player: str | None,
    policy: str | None,
    hitter: str | None,
    beside: str | None,
    allow_code: bool,
    slowed: float | None,
    **more: Any,
) -> Said:
    """One rally, event by event: of a study, or of two players.

    With --study, the options --setting, --place, --player, --hitter and --policy name the cell.
    --figure draws its time line: what both players do, where the ball is, and the time to spare.
    With --beside, a few first balls are shown in place of a rally, met from two places.
    """
    from experiments.answers.replay.answer import replay_of_players, replay_of_study, replay_text
    from experiments.scene.people import given
    from sim.errors import InputError

    if slowed is not None and asked.values["animation"] is None:
        raise InputError(
            "--slowed is the film's; give --animation FILE.gif with it, or leave it out"
        )
    if study is not None:
        fixed = [f"--{name.replace('_', '-')}" for name in given(**more)]
        if fixed:
            raise InputError(f"the study fixes {', '.join(fixed)}; leave it out, or --study")
        found = replay_of_study(
            study, number, place, player, hitter, policy, seed, allow_code, setting
        )
    elif setting is not None:
        raise InputError("--setting is a study's; give --study with it, or leave it out")
    else:
        named = given(place=place, player=player, policy=policy, hitter=hitter, **more)
        found = replay_of_players(number, seed, **named)

    if beside is not None:
        if number or asked.values["figure"] is not None:
            raise InputError(
                "--beside chooses its balls and has only a film; leave out --number and --figure"
            )
        return two_places(found, beside, slowed or 1.0)

    @cache
    def track() -> Any:
        from experiments.answers.replay.track import track_of

        return track_of(found)

    def film(path: Path) -> None:
        from experiments.answers.replay.film import write_film

        write_film(track(), path, slowed or 1.0)

    def figure() -> Any:
        from experiments.answers.replay.picture import time_line_figure

        return time_line_figure(track())

    text = replay_text(found)
    return Said(text, figure=figure, more={"animation": (film_words(slowed or 1.0), film)})


def film_words(slowed: float) -> str:
    """What the film is called where it is said to be written."""
    return "Film, at true speed" if slowed == 1.0 else f"Film, {slowed:g} times slower"


def two_places(found: Replay, other: str, slowed: float) -> Said:
    """The policy of a replay and another one on the same balls."""
    from experiments.answers.replay.beside import beside_of, beside_text
    from experiments.scene.own_code import policy_of

    beside = beside_of(found, policy_of(other))

    def film(path: Path) -> None:
        from experiments.answers.replay.beside_film import write_beside

        write_beside(beside, path, slowed)

    return Said(beside_text(beside), more={"animation": (film_words(slowed), film)})
