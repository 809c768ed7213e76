"""The command `rally-recovery`. Heavy libraries are imported only where a command needs them."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from experiments import own_version
from experiments.command.angle import angle
from experiments.command.benchmark import benchmark
from experiments.command.chart import chart
from experiments.command.footspeed import footspeed
from experiments.command.game import game
from experiments.command.handout import handout
from experiments.command.map import maps
from experiments.command.opponents import opponents
from experiments.command.options import (
    FAILED,
    INTERRUPTED,
    Commands,
    Measure,
    Message,
    Point,
    allow_code_option,
    answer,
    balls_option,
    depth_option,
    figure_option,
    height_option,
    hitter_option,
    json_option,
    lacks_memory,
    limits_options,
    opponent_option,
    players_options,
    seed_option,
    surface_option,
)
from experiments.command.player import player
from experiments.command.replay import replay
from experiments.command.side import side
from experiments.command.stroke import stroke
from experiments.command.validate import validate
from experiments.output.terminal import say

if TYPE_CHECKING:
    from experiments.study.design import Study

WIDTH = 100
MOST_WORKERS = 256


def _show_version(ctx: click.Context) -> None:
    click.echo(f"rally-recovery, version {own_version()}")
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


main.add_command(chart)
main.add_command(angle)
main.add_command(game)
main.add_command(opponents)
main.add_command(player)
main.add_command(replay)
main.add_command(maps)
main.add_command(side)
main.add_command(footspeed)
main.add_command(stroke)
main.add_command(handout)


@main.command()
@click.option(
    "--from", "start", type=Point("--from", "xyz"), required=True, help="Ball at contact."
)
@click.option("--to", "target", type=Point("--to", "xy"), help="Where it shall land.")
@click.option(
    "--angle", type=Measure("--angle", "degrees", -89, 89), help="Launch above horizontal."
)
@click.option(
    "--heading",
    type=Measure("--heading", "degrees", -89, 89),
    help="With --angle: from straight along the court, positive to the hitter's right.",
)
@click.option("--speed", type=Measure("--speed", "m/s", 1, 100, plain_most=75), required=True)
@click.option("--topspin", type=Measure("--topspin", "rpm", -10_000, 10_000), default="0")
@click.option(
    "--sidespin",
    type=Measure("--sidespin", "rpm", -10_000, 10_000),
    default="0",
    help="Positive curves to the hitter's left.",
)
@surface_option
@click.option("--high", is_flag=True, help="The higher of the two ways to hit the target.")
@click.option("--drag-coefficient", type=Measure("--drag-coefficient", "1", 0, 2))
@click.option("--air-density", type=Measure("--air-density", "kg/m3", 0, 1.99))
@click.option("--ball-mass", type=Measure("--ball-mass", "kg", 0.01, 0.2))
@click.option("--ball-diameter", type=Measure("--ball-diameter", "m", 0.03, 0.15))
@click.option("--altitude", type=Measure("--altitude", "m", -500, 6000), help="Of the court.")
@click.option("--temperature", type=Measure("--temperature", "deg C", -20, 50))
@click.option("--wind", type=Point("--wind", "xyz"), help="In m/s along x, y and z.")
@figure_option
@json_option
def shot(
    start: tuple[float, float, float],
    target: tuple[float, float] | None,
    angle: float | None,
    heading: float | None,
    speed: float,
    topspin: float,
    sidespin: float,
    high: bool,
    figure: Path | None,
    as_json: bool,
    **surroundings: Any,
) -> None:
    """One shot: launch, net clearance, landing, bounce and second bounce.

    Give a target (--to) or a launch angle (--angle). All times count from the strike.
    """
    from experiments.answers.shot.question import ShotQuestion, play_shot, shot_text
    from experiments.scene.people import world_of
    from sim.errors import InputError

    if target is not None and (angle is not None or heading is not None):
        raise InputError("--to already fixes the launch; leave out --angle and --heading")
    question = ShotQuestion(
        start_m=start,
        speed_m_s=speed,
        world=world_of(**surroundings),
        target_m=target,
        launch_angle_deg=angle,
        heading_deg=heading or 0.0,
        topspin_rpm=topspin,
        sidespin_rpm=sidespin,
        high=high,
    )
    result = play_shot(question)

    def draw(path: Path) -> None:
        from experiments.answers.side.picture import flight_figure
        from experiments.answers.side.question import shot_flight
        from experiments.drawing.style import save

        save(flight_figure(shot_flight(question)), path)

    if as_json:
        answer(_json(result.as_json()), figure, draw, None)
    else:
        answer(shot_text(question, result), figure, draw)


@main.command()
@opponent_option
@height_option
@players_options
@surface_option
@depth_option
@hitter_option
@click.option(
    "--policy", "own", multiple=True, help="One more policy: path/to/file.py:Name or a listed name."
)
@balls_option
@limits_options
@seed_option
@figure_option
@json_option
def spot(
    opponent: tuple[float, float],
    height: float,
    depth: float | None,
    surface: str,
    hitter: str,
    own: tuple[str, ...],
    balls: int,
    least_in: float | None,
    nearest_landing: float | None,
    seed: int | None,
    figure: Path | None,
    as_json: bool,
    **names: Any,
) -> None:
    """Where to stand while your opponent strikes from one place."""
    from experiments.answers.spot.question import SpotQuestion, find_spot, waiting_depth_m, with_own
    from experiments.answers.spot.words import spot_json, spot_text
    from experiments.scene.own_code import policy_of, shot_model_of
    from experiments.scene.people import limits_of, players_of, world_of
    from sim.chance import fresh_seed
    from sim.exchange import Place
    from sim.world import TABULATED

    me, other = players_of(**names)
    question = SpotQuestion(
        place=Place("opponent's contact", *opponent, height),
        player=me,
        opponent=other,
        world=world_of(surface, flight=TABULATED),
        hitter=shot_model_of(hitter),
        policies=with_own([policy_of(text) for text in own]),
        depth_m=waiting_depth_m(me, surface) if depth is None else depth,
        balls=balls,
        seed=fresh_seed() if seed is None else seed,
        limits=limits_of(least_in, nearest_landing),
    )
    result = find_spot(question)
    shown, text = spot_json(result), spot_text(result)
    if me.ranges:  # late, since it needs the tables library
        from experiments.answers.player.legs_range import legs_range, legs_text

        if legs := legs_range(result):
            shown["over_measured_legs"] = legs.as_json()
            text += f"\n\n{legs_text(legs)}"

    def draw(path: Path) -> None:
        from experiments.answers.spot.above import above_of
        from experiments.answers.spot.picture import above_figure
        from experiments.drawing.style import save

        save(above_figure(above_of(result)), path)

    if as_json:
        answer(_json(shown), figure, draw, None)
    else:
        answer(text, figure, draw)


@main.command()
@click.argument("file", required=False, type=click.Path(path_type=Path))
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=Path("study-results"),
    show_default=True,
    help="The result folder; an existing one is not replaced unless asked.",
)
@click.option("--seed", type=int, help="Repeats a run.  [default: the study's, else a fresh one]")
@click.option(
    "--precision",
    type=float,
    help="Play on until each interval of balls missed fewer is within so many in 100.",
)
@click.option(
    "--most-replicates", type=int, help="With a precision: no look beyond.  [default: 64 x first]"
)
@click.option(
    "--workers", type=int, help="Processes.  [default: up to one a processor, by the work]"
)
@click.option("--cluster", help="Or the workers of the Dask scheduler at this address.")
@click.option("--resume", is_flag=True, help="Go on with an interrupted run; FILE may be left out.")
@click.option("--overwrite", is_flag=True, help="Replace the result folder.")
@click.option("--quiet", is_flag=True, help="No progress and no table.")
@allow_code_option
@click.option("--check", is_flag=True, help="Only say what would be run, and about how long.")
@click.option("--schema", is_flag=True, help="Only print the JSON Schema of study files.")
def study(
    file: Path | None,
    out: Path,
    seed: int | None,
    workers: int | None,
    cluster: str | None,
    resume: bool,
    overwrite: bool,
    quiet: bool,
    allow_code: bool,
    check: bool,
    schema: bool,
    **wished: Any,
) -> None:
    """Compare policies over places, levels and opponents; writes a result folder.

    FILE is a study file or the name of a bundled study (`list studies`); without it, `first` is
    run, a few cells of `main` that take less time. The numbers do not depend on who plays them, nor
    on interruptions. With a precision, sizes double until the intervals are narrow
    enough; they stay valid though they are looked at again and again.
    """
    from experiments.report.run import run_study
    from experiments.report.study_text import study_text, where
    from experiments.scene.people import given
    from experiments.study.file import study_schema
    from experiments.study.plan import plan_text
    from sim.chance import fresh_seed
    from sim.errors import InputError
    from strategies.user_file import code_not_run

    if schema:
        say(_json(study_schema()))
        return
    if check:
        with code_not_run():
            say(plan_text(_wished(file, allow_code, **wished), workers))
        return
    if workers is not None and cluster is not None:
        raise InputError("--workers and --cluster exclude each other; leave one out")
    if workers is not None and not 1 <= workers <= MOST_WORKERS:
        raise InputError(f"--workers is {workers}; it must be from 1 to {MOST_WORKERS}")
    if resume and file is None and given(**wished):
        raise InputError("a run keeps the precision that it began with; leave the option out")
    plan = None if resume and file is None else _wished(file, allow_code, **wished)
    if plan is not None and not resume:
        seed = next(s for s in (seed, plan.seed, fresh_seed()) if s is not None)
    options: dict[str, Any] = {"seed": seed, "workers": workers, "cluster": cluster}
    options |= {"overwrite": overwrite, "resume": resume, "progress": not quiet}
    try:
        folder = run_study(plan, out, **options)
    except KeyboardInterrupt:
        why = "interrupted"
        raise Message(_how_to_go_on(why, out, seed, overwrite), INTERRUPTED) from None
    except (MemoryError, RuntimeError) as error:
        if not lacks_memory(error):
            raise
        why = "out of memory; close other programs or ask for fewer --workers"
        raise Message(_how_to_go_on(why, out, seed, overwrite), FAILED) from None
    seed = int(json.loads((folder / "manifest.json").read_text("utf-8"))["seed"])
    say(where(folder, seed) if quiet else study_text(folder, seed))


def _wished(
    file: Path | None, allow_code: bool, precision: float | None, most_replicates: int | None
) -> Study:
    """The study asked for, with the precision of the command line; it then looks anew."""
    from experiments.scene.people import given
    from experiments.study.file import changed_study, first_study, load_study

    study = first_study() if file is None else load_study(file, allow_code)
    values = given(precision=precision, most_replicates=most_replicates)
    if not values:
        return study
    return changed_study(study, "--precision and --most-replicates", reached=None, **values)


def _how_to_go_on(why: str, out: Path, seed: int | None, overwrite: bool) -> str:
    replacing = " --overwrite" if overwrite and out.exists() else ""
    anew = "" if seed is None else f" --seed {seed}"
    return (
        f"{why}. What was finished stays in {out.with_name(out.name + '.partial')};"
        f" go on with it: rally-recovery study --resume --out {out}{replacing}"
        f" (or begin again:{anew} --overwrite)."
    )


@main.command("list")
@click.argument("what", required=False)
@click.option("--parameters", is_flag=True, help="Values with unit, range, status and source.")
def list_names(what: str | None, parameters: bool) -> None:
    """Policies, shot models, players, surfaces and bundled studies, one line each.

    WHAT is one of: policies, shots, players, surfaces, studies; without it, all of them.
    """
    from experiments.command.listing import lines, parameter_lines

    say("\n".join(parameter_lines(what) if parameters else lines(what)))


main.add_command(benchmark)
main.add_command(validate)


def _json(values: Any) -> str:
    return json.dumps(values, indent=1, allow_nan=False)
