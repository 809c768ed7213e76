"""The command `rally-recovery chart`. Heavy libraries are imported only where it needs them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from experiments.command import options
from experiments.command.ask import Asked, Said, asks
from experiments.command.messages import Commands
from experiments.output.terminal import say
from experiments.scene.defaults import LEVEL


@click.group(cls=Commands)
def chart() -> None:
    """Strokes of one opponent, charted courtside: an empty chart, a check, and what it advises."""


@chart.command()
@click.argument("file", type=options.Target())
@options.shown("--unit", default="m", help="Of places: m or ft.")
@options.shown("--speed-unit", default="m_s", help="m_s, km_h or mph.")
def new(file: Path, unit: str, speed_unit: str) -> None:
    """Write an empty chart to FILE and say how to fill it in."""
    from experiments.answers.chart.demo import header
    from experiments.output.files import write_new
    from strategies.charts.columns import guide

    write_new(file, ",".join(header(unit, speed_unit)) + "\n")
    say(f"{file} is ready to fill in.\n\n{guide()}")


@chart.command()
@click.argument("file")
def check(file: str) -> None:
    """Check a filled chart row by row; tells every problem. FILE may be the word demo."""
    from experiments.answers.chart.words import check_text
    from strategies.charts.reading import read_chart

    say(check_text(read_chart(file)))


@chart.command()
@click.argument("file", type=options.Target())
@click.option("--seed", type=int, help="[default: that of the chart named demo]")
@click.option("--strokes", type=click.IntRange(1, 10_000), help="[default: 40]")
def demo(file: Path, **given: int | None) -> None:
    """Write a chart of an invented player, struck by the simulator and seen by eye."""
    from experiments.answers.chart.demo import DEMO_SEED, DEMO_STROKES, demo_chart
    from experiments.output.files import write_new
    from sim.chance import checked_seed

    seed, strokes = given["seed"], given["strokes"]
    seed = checked_seed(DEMO_SEED if seed is None else seed)
    write_new(file, demo_chart(seed, DEMO_STROKES if strokes is None else strokes))
    say(f"{file}: a demo chart (seed {seed}).")


@chart.add_command
@asks(
    *(
        *options.CONTACT,
        options.player_option,
        options.opponent_player_option,
        options.hand_option,
        options.without_option,
        *options.COURT,
        *options.CHANCE,
    ),
    saves=(options.figure_option, options.json_option),
)
@click.argument("file")
@options.shown(
    "--prior-strokes",
    type=options.Measure("--prior-strokes", "1", 0.1, 1000),
    default="8",
    help="What the usual habit counts for against strokes seen.",
)
@options.shown("--resamples", default=400)
def spot(asked: Asked, file: str, prior_strokes: float, resamples: int) -> Said:
    """Where to stand against the hitter of a chart, and how exact that is. FILE may be demo."""
    from experiments.answers.chart.answer import ChartQuestion, advise
    from experiments.answers.chart.words import advice_json, advice_text
    from experiments.balls.spots import with_own
    from strategies.shots.charted import Charted

    hitter = Charted(chart=file, prior_strokes=prior_strokes)
    scene = asked.scene(hitter=hitter, opponent_hand=hitter.strokes.hand)
    advice = advise(ChartQuestion(scene, with_own(), resamples))

    def figure() -> Any:
        from experiments.answers.chart.picture import advice_figure

        return advice_figure(advice)

    return Said(advice_text(advice), lambda: advice_json(advice), figure)


@chart.add_command
@asks(
    options.surface_option, options.seed_option, saves=(options.figure_option, options.json_option)
)
@click.argument("file")
@options.shown("--player", default=LEVEL, help="Who stood: a level or a player file.")
@click.option("--opponent-player", help="The same of the hitter.  [default: that level]")
@click.option("--hand", help="Of who stood.  [default: right, or as the player file says]")
def stood(asked: Asked, file: str, **people: str | None) -> Said:
    """Where the receivers of a chart really stood, beside each policy. FILE may be demo."""
    from experiments.answers.chart.stood import stood as stood_of
    from experiments.answers.chart.stood import stood_json, stood_text
    from experiments.balls.spots import with_own
    from strategies.charts.reading import read_chart

    read = read_chart(file)
    found = stood_of(asked.scene(opponent_hand=read.hand, **people), read, with_own())

    def figure() -> Any:
        from experiments.answers.chart.picture import stood_figure

        return stood_figure(found)

    return Said(stood_text(found), lambda: stood_json(found), figure)
