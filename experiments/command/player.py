"""The command `rally-recovery player`. Heavy libraries are imported only where it needs them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from experiments.command.ask import Asked, Said, asks
from experiments.command.options import DEPTH, Measure, Target, json_option, shown, units_option
from experiments.scene.defaults import LEVEL
from experiments.scene.units import number
from sim.errors import InputError, named


class TimeOver(click.ParamType):
    """A distance and a time, as METRES:SECONDS; units work in both."""

    name = "time"

    def __init__(self, option: str) -> None:
        self.option = option

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        distance, colon, time = value.partition(":")
        if not colon:
            raise InputError(
                f'{self.option} is {value!r}; give METRES:SECONDS, such as 10:2.05 or "10 m:2.05 s"'
            )
        return (
            number(f"distance of {self.option}", distance, "m", 1, 100),
            number(f"time of {self.option}", time, "s", 0.1, 60),
        )

    def get_metavar(self, param: click.Parameter, ctx: click.Context | None = None) -> str:
        return "METRES:SECONDS"


# Nobody's usual stroke is faster than 38 m/s (137 km/h): a plain number above that is in km/h.
SPEED = Measure("the usual speed", "m/s", 5, 55, plain_most=38)

file_argument = click.argument("file", required=False, type=Target())


@asks(saves=(file_argument, units_option, json_option))
@shown("--name", default="me", help="Of the player, as results show it.")
@shown("--level", default=LEVEL, help="For all that is not measured.")
@shown("--hand", type=click.Choice(["right", "left"], case_sensitive=False), default="right")
@shown(
    "--backhand",
    type=click.Choice(["one-handed", "two-handed"], case_sensitive=False),
    default="two-handed",
)
@click.option(
    "--sprint",
    "sprints",
    type=TimeOver("--sprint"),
    multiple=True,
    help="Straight, from standing close behind the start, best over 5, 10 and 20 m. May be given"
    " several times; times over one distance are averaged.",
)
@click.option(
    "--shuttle",
    "shuttles",
    type=TimeOver("--shuttle"),
    multiple=True,
    help="From a foot on one line sideways to a second line that many metres away, touch it with"
    " a foot, and back until the chest is over the first. 4 m is a good distance.",
)
@shown(
    "--timing",
    default="gates",
    help="How times were taken: gates, or hand (the watch started at the first movement).",
)
@click.option(
    "--timing-error",
    type=Measure("--timing-error", "s", 0.001, 1),
    help="Of one time, standard deviation.  [default: 0.02 gates, 0.1 hand]",
)
@click.option(
    "--start-offset",
    metavar="LOW,HIGH",
    help="Seconds from the push-off to the clock's start.  [default: 0.2,0.3 gates, 0.2,0.35 hand]",
)
@click.option("--height", type=Measure("--height", "m", 0.9, 2.4), help="Body height.")
@click.option("--forehand-speed", type=SPEED, help='Usual speed off the racket: "95 km/h".')
@click.option("--backhand-speed", type=SPEED)
@click.option("--waits", type=DEPTH, help="Where the player waits, metres behind the baseline.")
@click.option("--overwrite", is_flag=True, help="Replace FILE.")
def player(
    asked: Asked,
    sprints: tuple[tuple[float, float], ...],
    shuttles: tuple[tuple[float, float], ...],
    timing_error: float | None,
    start_offset: str | None,
    height: float | None,
    forehand_speed: float | None,
    backhand_speed: float | None,
    waits: float | None,
    overwrite: bool,
    **plain: str,
) -> Said:
    """Your own legs: from sprint times and the like to a player file with its uncertainty.

    FILE (.toml) is what every command takes where it takes a level; without it, the estimate is
    only shown. Warm up before sprints, build up, and stop on any pain; children and whoever is
    injured or unwell ask a coach or a physician first.
    """
    from experiments.answers.player.answer import TIMINGS, Measures, estimate
    from experiments.answers.player.words import player_json, player_text
    from experiments.scene.player_file import require_new, write_player_file
    from sim.players import PLAYERS

    if (file := asked.values["file"]) is not None:
        require_new(file, overwrite)
    plain["level"] = named("player", plain["level"], PLAYERS)
    plain["timing"] = named("way of timing", plain["timing"], TIMINGS)
    measures = Measures(
        **plain,
        sprints=_by_distance(sprints),
        shuttles=_by_distance(shuttles),
        timing_error_s=timing_error,
        start_offset_s=None if start_offset is None else _offset(start_offset),
        height_m=height,
        forehand_speed_m_s=forehand_speed,
        backhand_speed_m_s=backhand_speed,
        waits_behind_m=waits,
    )
    found = estimate(measures)

    def write(path: Path) -> None:
        write_player_file(found.file, path, overwrite)

    text = player_text(found, None if file is None else str(file))
    return Said(text, lambda: player_json(found), more={"file": ("Player file", write)})


def _by_distance(times: tuple[tuple[float, float], ...]) -> dict[float, list[float]]:
    out: dict[float, list[float]] = {}
    for distance, time in times:
        out.setdefault(distance, []).append(time)
    return out


def _offset(text: str) -> tuple[float, float]:
    """The two ends of --start-offset."""
    ends = text.split(",")
    if len(ends) != 2:
        raise InputError(f"--start-offset is {text!r}; give LOW,HIGH in seconds, such as 0.2,0.3")
    low, high = (number("--start-offset", end, "s", 0, 1) for end in ends)
    return low, high
