"""The command `rally-recovery`: one table of commands, a file each."""

from __future__ import annotations

import click

from experiments.command.angle import angle
from experiments.command.benchmark import benchmark
from experiments.command.calibrate import calibrate
from experiments.command.chart import chart
from experiments.command.depth import depth
from experiments.command.duel import duel
from experiments.command.footspeed import footspeed
from experiments.command.game import game
from experiments.command.handout import handout
from experiments.command.headroom import headroom
from experiments.command.learn import learn
from experiments.command.list import list_names
from experiments.command.map import maps
from experiments.command.messages import Commands
from experiments.command.misread import misread
from experiments.command.net import net
from experiments.command.opponents import opponents
from experiments.command.page import page
from experiments.command.player import player
from experiments.command.replay import replay
from experiments.command.rule import rule
from experiments.command.shot import shot
from experiments.command.side import side
from experiments.command.spot import spot
from experiments.command.stroke import stroke
from experiments.command.study import study
from experiments.command.trial import trial
from experiments.command.validate import validate
from experiments.own_packages import own_version

WIDTH = 100
COMMANDS: tuple[click.Command, ...] = (
    *(spot, angle, side, shot, maps, footspeed, misread, stroke, depth, net, game, opponents),
    *(chart, handout, page, trial, player, replay, study, list_names, validate, calibrate),
    *(learn, rule, headroom, duel, benchmark),
)


def _show_version(ctx: click.Context) -> None:
    from experiments.edition import this_edition

    made = this_edition()
    click.echo(
        f"rally-recovery, version {own_version()}; edition {made.number} of the model, {made.date}"
    )
    ctx.exit()


@click.group(cls=Commands, context_settings={"max_content_width": WIDTH})
@click.option(
    "--version",
    is_flag=True,
    is_eager=True,
    expose_value=False,
    callback=lambda ctx, _, wanted: _show_version(ctx) if wanted else None,
    help="Show the version and exit.",
)
def main() -> None:
    """Where should a tennis player recover to while the opponent gets to the ball?

    The court's middle is at 0,0 under the net; x runs to your right as you face the net, y along
    the court: you are at y below 0, your opponent above. Lengths in metres, speeds in m/s; other
    units work in quotes, such as "108 km/h" or "3 ft".
    """


for one in COMMANDS:
    main.add_command(one)
