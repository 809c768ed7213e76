"""The command `rally-recovery chart`. Heavy libraries are imported only where it needs them."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import click

from experiments.command.messages import Commands
from experiments.command.options import (
    Measure,
    Target,
    answer,
    balls_option,
    depth_option,
    figure_option,
    hand_option,
    height_option,
    json_option,
    opponent_option,
    opponent_player_option,
    player_option,
    seed_option,
    surface_option,
)
from experiments.output.terminal import say
from experiments.scene.defaults import LEVEL


@click.group(cls=Commands)
def chart() -> None:
    """Strokes of one opponent, charted courtside: an empty chart, a check, and what it advises."""


@chart.command()
@click.argument("file", type=Target())
@click.option("--unit", default="m", show_default=True, help="Of places: m or ft.")
@click.option("--speed-unit", default="m_s", show_default=True, help="m_s, km_h or mph.")
def new(file: Path, unit: str, speed_unit: str) -> None:
    """Write an empty chart to FILE and say how to fill it in."""
    from experiments.answers.chart.template import header
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
@click.argument("file", type=Target())
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


@chart.command()
@click.argument("file")
@opponent_option
@height_option
@player_option
@opponent_player_option
@hand_option
@surface_option
@depth_option
@click.option(
    "--prior-strokes",
    type=Measure("--prior-strokes", "1", 0.1, 1000),
    default="8",
    show_default=True,
    help="What the usual habit counts for against strokes seen.",
)
@balls_option
@click.option("--resamples", type=int, default=400, show_default=True)
@seed_option
@figure_option
@json_option
def spot(
    file: str,
    opponent: tuple[float, float],
    height: float,
    player: str,
    opponent_player: str | None,
    hand: str | None,
    surface: str,
    depth: float | None,
    prior_strokes: float,
    balls: int,
    resamples: int,
    seed: int | None,
    figure: Path | None,
    as_json: bool,
) -> None:
    """Where to stand against the hitter of a chart, and how exact that is. FILE may be demo."""
    from experiments.answers.chart.answer import ChartQuestion, advise
    from experiments.answers.chart.words import advice_json, advice_text
    from experiments.answers.spot.question import waiting_depth_m, with_own
    from experiments.scene.people import players_of, world_of
    from sim.chance import fresh_seed
    from sim.exchange import Place
    from strategies.shots.charted import Charted

    hitter = Charted(chart=file, prior_strokes=prior_strokes)
    me, other = players_of(player, opponent_player, hand, hitter.strokes.hand)
    question = ChartQuestion(
        place=Place("opponent's contact", *opponent, height),
        player=me,
        opponent=other,
        world=world_of(surface),
        hitter=hitter,
        policies=with_own([]),
        depth_m=waiting_depth_m(me, surface) if depth is None else depth,
        balls=balls,
        seed=fresh_seed() if seed is None else seed,
        resamples=resamples,
    )
    advice = advise(question)

    def draw(path: Path) -> None:
        from experiments.answers.chart.picture import advice_figure
        from experiments.drawing.style import save

        save(advice_figure(advice), path)

    if as_json:
        answer(_json(advice_json(advice)), figure, draw, None)
    else:
        answer(advice_text(advice), figure, draw)


@chart.command("stood")
@click.argument("file")
@click.option(
    "--player",
    default=LEVEL,
    show_default=True,
    help="Who stood: a level or a player file.",
)
@click.option("--opponent-player", help="The same of the hitter.  [default: that level]")
@click.option("--hand", help="Of who stood.  [default: right, or as the player file says]")
@surface_option
@seed_option
@figure_option
@json_option
def stood_command(
    file: str,
    player: str,
    opponent_player: str | None,
    hand: str | None,
    surface: str,
    seed: int | None,
    figure: Path | None,
    as_json: bool,
) -> None:
    """Where the receivers of a chart really stood, beside each policy. FILE may be demo."""
    from dataclasses import asdict

    from experiments.answers.chart.stood import stood, stood_text
    from experiments.answers.spot.question import waiting_depth_m, with_own
    from experiments.scene.people import opponent_json, opponent_words, players_of, world_of
    from sim.chance import fresh_seed
    from sim.world import TABULATED
    from strategies.charts.reading import read_chart

    read = read_chart(file)
    me, other = players_of(player, opponent_player, hand, read.hand)
    found = stood(
        read,
        with_own([]),
        (me, other),
        world_of(surface, flight=TABULATED),
        waiting_depth_m(me, surface),
        fresh_seed() if seed is None else seed,
    )

    def draw(path: Path) -> None:
        from experiments.answers.chart.stood_picture import stood_figure
        from experiments.drawing.style import save

        save(stood_figure(found), path)

    if as_json:
        rows = [asdict(d) for d in found.differences]
        numbers = {"player": me.name, **opponent_json(other), "seed": found.seed, "rows": rows}
        answer(_json(numbers), figure, draw, None)
    else:
        against = f"{me.name} against {opponent_words(other, 'as charted')}."
        answer(f"{against}\n{stood_text(found)}", figure, draw)


def _json(values: Any) -> str:
    return json.dumps(values, indent=1, allow_nan=False)
