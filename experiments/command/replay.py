"""The command `rally-recovery replay`. Heavy libraries are imported only where it needs them."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from experiments.command.options import (
    DEPTH,
    HEIGHT,
    Measure,
    Target,
    allow_code_option,
    figure_option,
    hand_option,
    opponent_hand_option,
    opponent_player_option,
)
from experiments.output.terminal import say
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


@click.command()
@click.option("--number", type=int, default=0, show_default=True, help="Which rally, from 0.")
@click.option("--seed", type=int, help="Needed, unless --study holds one.")
@click.option(
    "--study", type=click.Path(path_type=Path), help="A study file or a result folder: its rally."
)
@click.option(
    "--place",
    help="A place of the study; or X,Y of the first ball, or serve-right or serve-left."
    "  [default: corner]",
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
@opponent_player_option
@click.option("--opponent-policy", help=f"[default: {OPPONENT_POLICY}]")
@click.option("--own-shots", help=f"What you hit.  [default: {HITTER}]")
@hand_option
@opponent_hand_option
@click.option("--surface", help=f"[default: {SURFACE}]")
@click.option("--depth", type=DEPTH, help="Where you wait.  [default: the level's]")
@click.option(
    "--height", type=HEIGHT, help=f"Height of the first ball.  [default: {CONTACT_HEIGHT_M}]"
)
@allow_code_option
@figure_option
@click.option(
    "--animation",
    type=Target(require_film),
    help="Also film it from above: .gif, or .mp4 where ffmpeg is installed.",
)
@click.option(
    "--slowed",
    type=Measure("--slowed", "1", 1, 20),
    help="How many times slower the film is.  [default: 1, true speed]",
)
def replay(
    number: int,
    seed: int | None,
    study: Path | None,
    place: str | None,
    player: str | None,
    policy: str | None,
    hitter: str | None,
    allow_code: bool,
    figure: Path | None,
    animation: Path | None,
    slowed: float | None,
    **more: Any,
) -> None:
    """One rally, event by event: of a study, or of two players.

    With --study, the options --place, --player, --hitter and --policy name the cell. --figure
    draws its time line: what both players do, where the ball is, and the time to spare.
    """
    from experiments.answers.replay.answer import replay_of_players, replay_of_study, replay_text
    from experiments.scene.people import given
    from sim.errors import InputError

    if slowed is not None and animation is None:
        raise InputError(
            "--slowed is the film's; give --animation FILE.gif with it, or leave it out"
        )
    if study is not None:
        fixed = [f"--{name.replace('_', '-')}" for name in given(**more)]
        if fixed:
            raise InputError(f"the study fixes {', '.join(fixed)}; leave it out, or --study")
        found = replay_of_study(study, number, place, player, hitter, policy, seed, allow_code)
    else:
        named = given(place=place, player=player, policy=policy, hitter=hitter, **more)
        found = replay_of_players(number, seed, **named)
    say(replay_text(found))
    if figure is not None or animation is not None:
        draw_pictures(found, figure, animation, 1.0 if slowed is None else slowed)


def draw_pictures(found: Replay, figure: Path | None, film: Path | None, slowed: float) -> None:
    """Draw the film and the time line of a rally, as far as files for them are given.

    The film comes first: whoever interrupts it is left with no file.
    """
    from experiments.answers.replay.track import track_of

    track = track_of(found)
    say("")
    if film is not None:
        from experiments.answers.replay.film import write_film

        speed = "at true speed" if slowed == 1.0 else f"{slowed:g} times slower"
        say(f"Film, {speed}: {write_film(track, film, slowed)}")
    if figure is not None:
        from experiments.answers.replay.picture import time_line_figure
        from experiments.drawing.style import save

        say(f"Time line: {save(time_line_figure(track), figure)}")
