"""What the commands share: kinds of options, and each option that several take, said once."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import Any

import click

from experiments.output.files import require_picture_suffix, require_writable
from experiments.scene.defaults import (
    BALLS,
    CONTACT_HEIGHT_M,
    CORNER_M,
    HEIGHTS_M,
    HITTER,
    LEVEL,
    SURFACE,
)
from experiments.scene.own_texts import ENGLISH, LANGUAGES, language
from experiments.scene.told_units import METRIC, UNITS
from experiments.scene.units import number, point


class Measure(click.ParamType):
    """A number with a unit: plain in `unit`, or with one of its own."""

    name = "number"

    def __init__(
        self, what: str, unit: str, low: float, high: float, plain_most: float | None = None
    ) -> None:
        self.what, self.unit, self.low, self.high = what, unit, low, high
        self.plain_most = plain_most

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        if not isinstance(value, str):
            return value
        return number(self.what, value, self.unit, self.low, self.high, self.plain_most)

    def get_metavar(self, param: click.Parameter, ctx: click.Context | None = None) -> str:
        return self.unit.upper() if self.unit != "1" else "NUMBER"


class Point(click.ParamType):
    """A point in metres, `names` holding one letter a coordinate."""

    name = "point"

    def __init__(self, what: str, names: str, limit_m: float = 40.0) -> None:
        self.what, self.names, self.limit_m = what, names, limit_m

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        if not isinstance(value, str):
            return value
        return point(self.what, value, self.names, -self.limit_m, self.limit_m)

    def get_metavar(self, param: click.Parameter, ctx: click.Context | None = None) -> str:
        return ",".join(self.names.upper())


class Target(click.ParamType):
    """A file to write, which is tried when the command begins; `check` looks at its suffix."""

    name = "path"

    def __init__(self, check: Callable[[Path], object] | None = None) -> None:
        self.check = check

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        path = Path(value)
        if self.check is not None:
            self.check(path)
        require_writable(path)
        return path


HEIGHT = Measure("--height", "m", *HEIGHTS_M)
DEPTH = Measure("--depth (metres behind the baseline)", "m", 0, 6.4)


def listed(option: str, words: str | None) -> list[str]:
    """The names of a list by comma, each once; none where the option is not given.

    A part with an equals sign belongs to the name before it: `habit,never=middle,pressing` are two.

    Raises:
        InputError: it is given and holds no name.
    """
    out: list[str] = []
    for part in (p.strip() for p in (words or "").split(",")):
        if "=" in part and out:
            out[-1] += f",{part}"
        elif part:
            out.append(part)
    if words is not None and not out:
        from sim.errors import InputError

        raise InputError(f"{option} is {words!r}; give at least one name")
    return list(dict.fromkeys(out))


shown = partial(click.option, show_default=True)  # an option whose default the help states

# Options that several commands take, each said once.
opponent_option = shown(
    "--opponent",
    type=Point("--opponent", "xy"),
    default=",".join(str(v) for v in CORNER_M),
    help="The ball when your opponent strikes it.",
)
height_option = shown(
    "--height", type=HEIGHT, default=str(CONTACT_HEIGHT_M), help="Height of that ball."
)
player_option = shown(
    "--player",
    default=LEVEL,
    help="You: a level, or a player file that `rally-recovery player` wrote.",
)
opponent_player_option = click.option(
    "--opponent-player",
    help="The same of your opponent.  [default: your level; for a player file, one like you]",
)
hand_option = click.option(
    "--hand", help="Yours: right or left.  [default: right, or as your player file says]"
)
opponent_hand_option = click.option("--opponent-hand", help="[default: right]")
hitter_option = shown("--hitter", default=HITTER, help="What your opponent hits.")


def _surface(ctx: click.Context, param: click.Parameter, value: str | None) -> str | None:
    """The surface's own name, however it was written."""
    from sim.surface import surface

    return None if value is None else surface(value).name


surface_option = shown("--surface", default=SURFACE, callback=_surface)
ball_option = click.option("--ball", help="One of `list balls`.  [default: your level's]")
depth_option = click.option(
    "--depth",
    type=DEPTH,
    help="Where you wait, metres behind the baseline.  [default: the level's]",
)
seed_option = click.option(
    "--seed", type=int, help="Repeats a run.  [default: a fresh one, printed]"
)
language_option = shown(
    "--language",
    default=ENGLISH,
    callback=lambda ctx, param, value: language(value),
    help=f"Of what is written: {', '.join(LANGUAGES)}. All but English are translations that nobody"
    " has reviewed.",
)
figure_option = click.option(
    "--figure", type=Target(require_picture_suffix), help="Also draw it: .png, .svg or .pdf."
)
levels_option = click.option(
    "--levels", help="Levels by comma, each against its like, in place of --player."
)
surfaces_option = click.option("--surfaces", help="Surfaces by comma, in place of --surface.")
hitters_option = click.option(
    "--hitters", help="What opponents hit, by comma, in place of --hitter."
)
page_option = click.option(
    "--page",
    type=Target(require_picture_suffix),
    help="Also one A4 page for a coach: .pdf, .png or .svg.",
)
balls_option = shown("--balls", default=BALLS)
csv_option = click.option("--csv", type=Target(), help="Also write the numbers: a CSV.")
allow_code_option = click.option(
    "--allow-code", is_flag=True, help="Let a study file run code from outside its own folder."
)
quiet_option = click.option("--quiet", is_flag=True, help="No progress.")
units_option = shown(
    "--units",
    type=click.Choice(UNITS, case_sensitive=False),
    default=METRIC,
    help="Of lengths and speeds in the text: m and km/h, or feet, inches and mph.",
)
json_option = click.option("--json", "as_json", is_flag=True, help="Numbers instead of text.")


def _left_out(ctx: click.Context, param: click.Parameter, value: str | None) -> object:
    from experiments.scene.people import left_out

    return None if value is None else left_out(value)


without_option = click.option(
    "--without",
    metavar="NAMES",
    callback=_left_out,
    help="Leave these strokes out, for both: names of `list additions` with commas, or all.",
)

least_in_option = click.option(
    "--least-in",
    type=float,
    help="How often a shot must land in to count for the angle, 0 to 1.  [default: 0.7]",
)
nearest_landing_option = click.option(
    "--nearest-landing",
    type=Measure("--nearest-landing", "m", 0, 11),
    help="Count no error for the angle, but no drive that lands nearer to the net.",
)

policy_option = click.option(
    "--policy", "own", multiple=True, help="One more policy: path/to/file.py:Name or a listed name."
)

# The options that together make a scene (experiments.scene.scene.scene_of), and parts of them.
CONTACT = (opponent_option, height_option)
PLAYERS = (
    *(player_option, opponent_player_option, hand_option, opponent_hand_option),
    without_option,
)
COURT = (surface_option, ball_option, depth_option)
LIMITS = (least_in_option, nearest_landing_option)
CHANCE = (balls_option, seed_option)
SCENE = (*CONTACT, *PLAYERS, *COURT, hitter_option)


def require_one_cell(page: Path | None, questions: Sequence[object]) -> None:
    """Refuse a coach's page of several answers: it has room for one.

    Raises:
        InputError: more than one question.
    """
    if page is not None and len(questions) > 1:
        from sim.errors import InputError

        raise InputError(
            f"--page holds one answer, and this asks {len(questions)}; leave out --levels,"
            " --surfaces and --hitters"
        )
