"""Good values for the options of all commands, and which of the bad ones each of them gets."""

from __future__ import annotations

from collections.abc import Callable

import click
import fuzz_bad_values as bad
import numpy as np
from fuzz_bad_values import EITHER, FINE, Value, Values

from experiments.answers.opponents.answer import OPPONENTS
from experiments.command.options import Measure, Point
from experiments.scene.parameters import KINDS as LIST_KINDS
from sim.ball import BALLS
from sim.players import PLAYERS
from sim.surface import SURFACES
from strategies.catalogue import POLICIES
from strategies.learned.reading import SHIPPED

Maker = Callable[[np.random.Generator], Value]
PICTURES = (".png", ".svg", ".pdf")


def of(*texts: str, comes: str = FINE) -> Maker:
    """One of these."""
    return lambda rng: Value(texts[rng.integers(len(texts))], comes)


def one_of(*makers: Maker) -> Maker:
    """A value of one of these makers."""
    return lambda rng: makers[rng.integers(len(makers))](rng)


def within(low: float, high: float) -> Maker:
    """A number between these ends, which are met too."""
    return lambda rng: Value(f"{rng.choice([low, high, *rng.uniform(low, high, 4)]):.4g}")


def whole(low: int, high: int) -> Maker:
    return lambda rng: Value(str(rng.integers(low, high, endpoint=True)))


def place(*ends_m: tuple[float, float]) -> Maker:
    """A point in metres, in feet now and then."""

    def make(rng: np.random.Generator) -> Value:
        numbers = [rng.choice([*end, *rng.uniform(*end, 4)]) for end in ends_m]
        if rng.random() < 0.1:
            return Value(",".join(f"{n / 0.3048:.4f} ft" for n in numbers))
        return Value(",".join(f"{n:.3f}" for n in numbers))

    return make


def new_file(*suffixes: str) -> Maker:
    """A file that is not there, of any of these kinds."""

    def make(rng: np.random.Generator) -> Value:
        stems = ("new", "Ännes Bild", "new file", "$x_1$", "a" * 60, "mine/new")
        name = str(rng.choice(stems)) + str(rng.choice(suffixes))
        return Value(name, FINE, name)

    return make


LEVELS, PLAYER_FILES = of(*PLAYERS), of("anna.toml", "child.toml")
SOMEBODY = one_of(LEVELS, PLAYER_FILES), bad.PLAYERS
PLACEABLE = [name for name, kind in POLICIES.items() if getattr(kind, "placeable", True)]
POLICY = (
    of(*PLACEABLE, "own.py:Slow", "linear-shade,shade_m_per_m=0.3", "own.py:Slow,shift_m=0.5"),
    bad.POLICIES,
)
BESIDE = "linear-shade,shade_m_per_m=0.1", "own.py:Slow,shift_m=0.25"  # none of POLICY
HITTER = (
    of(*OPPONENTS, "pressing,speed_share=1.1", "charted,chart=chart.csv", "shots.py:Deep"),
    bad.HITTERS,
)
CHART = of("chart.csv", "demo", "bom.csv"), bad.CHARTS
STUDY = (of("tiny.toml", "mine/study.toml", "own-study.toml", "player-study.toml"), bad.STUDIES)
FOLDER = of("new", "mine/new", "deep/er/new", "Änne 1", "$x_1$"), bad.FOLDERS
WORDS = (of("Änne & <b>Bob</b>", "Anna", "$x_1$ costs \\$5", "100 %", "{name}"), bad.TEXTS)
DEPTHS = bad.wrong("0,9,1", "-5,2,1", "3,1,1", "0,5,0", "0,5", "a,b,c", "0,1,5", "nan,1,1")
NEW_CSV = new_file(".csv"), bad.no_file(".csv")

# By the name that a command gives to a parameter.
BY_NAME: dict[str, tuple[Maker, Values]] = {
    "opponent": (place((-5.0, 5.0), (4.0, 16.0)), bad.POINTS),
    "start": (place((-4.0, 4.0), (-15.0, -9.0)), bad.POINTS),
    "stand": (place((-4.0, 4.0), (-16.0, -9.0)), bad.wrong("0,3", "0,0") + bad.POINTS),
    "place": (
        one_of(
            of("serve-right", "serve-left"),
            of("own-serve-right", "Own serve left"),
            place((-4, 4), (7.0, 15.0)),
        ),
        bad.POINTS,
    ),
    "wind": (of("0,0,0", "3,-2,0", "-5,5,0"), bad.POINTS),
    "height": (within(0.1, 3.2), bad.NUMBERS),
    "depth": (within(0.0, 6.4), bad.NUMBERS),
    "player": SOMEBODY,
    "opponent_player": SOMEBODY,
    "level": (LEVELS, bad.NAMES),
    "levels": (of("club-adult", "club-adult,college-man", "anna.toml"), bad.PLAYERS),
    "hand": (of("right", "left"), bad.wrong("both") + bad.either("Left ") + bad.NAMES),
    "opponent_hand": (of("right", "left"), bad.NAMES),
    "surface": (of(*SURFACES), bad.either("Clay", "ice") + bad.NAMES),
    "surfaces": (of("clay", "clay,grass"), bad.NAMES),
    "ball": (of(*BALLS), bad.NAMES),
    "policy": POLICY,
    "own": POLICY,
    "beside": POLICY,
    "than": (of(*BESIDE), bad.POLICIES),
    "opponent_policy": POLICY,
    "hitter": HITTER,
    "hitters": (of("habit", "attentive", "habit;pressing"), bad.NAMES),
    "own_shots": HITTER,
    "chart": CHART,
    "shots": (of("crosscourt", "middle", "down-the-line", "short-angle", "high"), bad.NAMES),
    "vary": (of("top-speed", "acceleration", "reaction", "reach", "together"), bad.NAMES),
    "opponent_takes": (of("earliest", "nearest", "most-time", "balanced"), bad.NAMES),
    "high_to": (of("crosscourt", "middle", "down-the-line"), bad.NAMES),
    "lands": (of("10.5,9", "9 m,7.5,6", comes=EITHER), bad.wrong("6", "9,9", "9,x", "2,9", "9,,7")),
    "drive": (of("crosscourt", "middle", "down-the-line"), bad.NAMES),
    "without": (
        of("slice", "lob,drop-shot", "all", "Low Ball"),
        bad.wrong("slise", "lob,lob", "slice,,") + bad.NAMES,
    ),
    "least_in": (within(0.3, 0.9), bad.wrong("1.5", "-0.1", "0") + bad.NUMBERS),
    "unit": (of("m", "ft"), bad.NAMES),
    "speed_unit": (of("m_s", "km_h", "mph"), bad.NAMES),
    "timing": (of("gates", "hand"), bad.NAMES),
    "start_offset": (of("0.2,0.3", "0.1,0.4"), bad.OFFSETS),
    "sprints": (of("10:2.05", "5:1.25", "20:3.6"), bad.TIMES),
    "shuttles": (of("4:2.9", "4 m:3.1 s"), bad.TIMES),
    "forehand_speed": (of("95 km/h", "25", "60 km/h"), bad.either("65") + bad.NUMBERS),
    "backhand_speed": (of("90 km/h", "24"), bad.either("65") + bad.NUMBERS),
    "paper": (of("a4", "letter"), bad.NAMES),
    "language": (of("en", "de", "Spanish", "FR"), bad.NAMES),
    "title": WORDS,
    "name": WORDS,
    "club": WORDS,
    "figure": (new_file(*PICTURES), bad.no_file(".png")),
    "csv": NEW_CSV,
    "animation": (new_file(".gif"), bad.no_file(".gif")),
    "setting": (of("rally", "returning", comes=EITHER), bad.NAMES),
    "slowed": (within(1.0, 1.5), bad.NUMBERS),
    "study": STUDY,
    "precision": (of("60", "99"), bad.wrong("0") + bad.NUMBERS),
    "race": (of("60", "99"), bad.wrong("0") + bad.NUMBERS),
    "most_replicates": (of("100", "1000"), bad.WHOLES),
    "worlds": (of("2", comes=EITHER), bad.wrong("0", "1", "1000000") + bad.WHOLES),
    "world_rallies": (of("10", comes=EITHER), bad.wrong("0", "9", "100000000") + bad.WHOLES),
    "worlds_file": (of("none.csv", comes=EITHER), bad.NAMES),
    "workers": (of("1"), bad.wrong("0", "257") + bad.WHOLES),
    "cluster": (of("tcp://", comes=EITHER), bad.wrong("nonsense", "", "\u202e", "tcp://[")),
    "what": (of(*LIST_KINDS), bad.NAMES),
    "balls": (of("100", "200"), bad.wrong("0", "1") + bad.WHOLES),
    "rallies": (of("100"), bad.wrong("0", "1") + bad.WHOLES),
    "points": (of("100"), bad.wrong("0", "1") + bad.WHOLES),
    "world": (of("0", comes=EITHER), bad.wrong("-2", "1000000") + bad.WHOLES),
    "leave_out": (of("places", "Last Strokes"), bad.NAMES),
    "resamples": (of("20"), bad.wrong("0") + bad.WHOLES),
    "seconds": (of("0.02"), bad.NUMBERS),
    "step": (of("2.0", "1.7"), bad.NUMBERS),
    "counts": (of("reached", "returned"), bad.NAMES),
    "places": (of("1,5", "2", "1,2,3,4,5"), bad.wrong("0", "6", "x", "1;2", "1.0", "")),
    "power": (within(0.5, 0.95), bad.wrong("0", "1", "80") + bad.NUMBERS),
    "false_alarm": (within(0.01, 0.1), bad.wrong("0", "1", "5") + bad.NUMBERS),
    "session_balls": (of("32", "64"), bad.wrong("0", "7", "1000") + bad.WHOLES),
    "most_balls": (of("64", "320"), bad.wrong("0", "7", "4000") + bad.WHOLES),
    "totals": (of("31/40,35/40", "0/8, 8/8"), bad.TOTALS),
    "filled": (of("filled.csv"), bad.wrong("chart.csv") + bad.NO_FILES),
    "number": (whole(0, 50), bad.WHOLES),
    "seed": (whole(0, 2**32), bad.WHOLES),
}
# Where a command gives a name another meaning.
BY_COMMAND: dict[tuple[str, str], tuple[Maker, Values]] = {
    ("study", "file"): STUDY,
    ("study", "out"): FOLDER,
    ("opponents", "out"): FOLDER,
    ("depth", "out"): FOLDER,
    ("depth", "depths"): (of("0,5,2.5", "-0.5,3,1", "1,2,0.5"), DEPTHS),
    ("depth", "rallies"): (of("300"), bad.WHOLES),
    ("depth", "hitters"): (of("habit", "attentive,drop_when_far=0.4,pressing"), bad.HITTERS),
    ("depth", "adaptive"): (of("biased", "own.py:Slow,shift_m=0.5"), bad.POLICIES),
    ("net", "out"): FOLDER,
    ("net", "height"): (within(0.6, 1.4), bad.NUMBERS),
    ("handout", "out"): (new_file(*PICTURES), bad.no_file(".pdf")),
    ("handout", "file"): (of("texts.toml"), bad.wrong("texts-nested.toml") + bad.NO_FILES),
    ("page", "out"): (new_file(".html"), bad.no_file(".html")),
    ("page", "players"): SOMEBODY,
    ("page", "file"): (of("page-texts.toml"), bad.wrong("texts-nested.toml") + bad.NO_FILES),
    ("trial", "page"): (new_file(".pdf"), bad.no_file(".pdf")),
    ("player", "file"): (new_file(".toml"), bad.no_file(".toml")),
    ("player", "height"): (within(1.2, 2.1), bad.NUMBERS),
    ("stroke", "height"): (within(0.1, 2.5), bad.NUMBERS),
    ("chart new", "file"): (new_file(".csv"), bad.wrong("chart.csv") + bad.no_file(".csv")),
    ("chart demo", "file"): (new_file(".csv"), bad.wrong("chart.csv") + bad.no_file(".csv")),
    ("chart check", "file"): CHART,
    ("chart spot", "file"): CHART,
    ("chart stood", "file"): CHART,
    ("shot", "start"): (place((-4.0, 4.0), (-13.0, -10.0), (0.7, 1.3)), bad.POINTS),
    ("shot", "target"): (place((-3.0, 3.0), (7.0, 10.5)), bad.POINTS),
    ("shot", "speed"): (within(24.0, 32.0), bad.NUMBERS),
    ("game", "strokes"): (of("32", "64"), bad.WHOLES),
    ("chart demo", "strokes"): (of("10", "40"), bad.WHOLES),
    ("footspeed", "balls"): (of("1000"), bad.WHOLES),
    ("footspeed", "rallies"): (of("1000"), bad.wrong("0", "999") + bad.WHOLES),
    ("footspeed", "faster"): (of("10%", "0.05", "2.5 %"), bad.wrong("0", "10", "31%", "1 m")),
    ("footspeed", "slower"): (of("10%", "0.3"), bad.wrong("-10%", "0.001", "x", "100%")),
    ("misread", "balls"): (of("1000"), bad.WHOLES),
    ("misread", "taken_for"): (of("habit", "pressing,weaker-wing"), bad.NAMES),
    ("calibrate", "sets"): (of("2"), bad.wrong("0", "1") + bad.WHOLES),
    ("calibrate", "population"): (of("8"), bad.wrong("1", "7") + bad.WHOLES),
    ("calibrate", "moves"): (of("0"), bad.WHOLES),
    ("calibrate", "points"): (of("1000"), bad.wrong("0", "999") + bad.WHOLES),
    ("learn", "out"): (new_file(".toml"), bad.no_file(".toml")),
    ("learn", "rounds"): (of("1"), bad.wrong("0") + bad.WHOLES),
    ("learn", "candidates"): (of("4"), bad.wrong("0", "3") + bad.WHOLES),
    ("learn", "points"): (of("40", "80"), bad.wrong("0", "10") + bad.WHOLES),
    ("learn", "held_out"): (of("40"), bad.wrong("0", "1") + bad.WHOLES),
    ("learn", "worlds"): (of("0"), bad.wrong("1", "1000000") + bad.WHOLES),
    ("learn", "hitters"): (of("habit", "open-court,habit"), bad.NAMES),
    ("learn", "weights"): (of("back", "opponent,back_weak", "bisector"), bad.wrong("back,bck")),
    ("rule", "weights"): (of(*SHIPPED), bad.wrong("best", "nothing.toml", "anna.toml", "")),
    ("rule", "out"): (new_file(".toml"), bad.no_file(".toml")),
    ("rule", "rounds"): (of("1"), bad.wrong("0") + bad.WHOLES),
    ("rule", "points"): (of("40"), bad.wrong("0", "10") + bad.WHOLES),
    ("rule", "held_out"): (of("40"), bad.wrong("0", "1") + bad.WHOLES),
    ("headroom", "others"): (of("middle", "linear-shade,shade_m_per_m=0.1"), bad.POLICIES),
    ("headroom", "points"): (of("400"), bad.wrong("0", "10") + bad.WHOLES),
    ("headroom", "states"): (of("4"), bad.wrong("0", "3") + bad.WHOLES),
    ("headroom", "shots"): (of("20"), bad.wrong("0", "1") + bad.WHOLES),
    ("duel", "points"): (of("40"), bad.wrong("0", "1") + bad.WHOLES),
    ("duel", "tried"): (of("40"), bad.wrong("0", "1") + bad.WHOLES),
    ("duel", "rounds"): (of("1"), bad.wrong("0") + bad.WHOLES),
    ("duel", "answers"): (of("1"), bad.wrong("0") + bad.WHOLES),
    ("duel", "hitters"): (of("habit", "open-court,habit"), bad.NAMES),
    ("duel", "policies"): (of("middle", "middle,bisector"), bad.POLICIES),
}


def values_of(command: str, parameter: click.Parameter) -> tuple[Maker, Values]:
    """The good and the bad values of a parameter; by its kind where its name is new."""
    name, kind = str(parameter.name), parameter.type
    if found := BY_COMMAND.get((command, name)) or BY_NAME.get(name):
        return found
    if isinstance(kind, click.Choice):
        return of(*map(str, kind.choices)), bad.NAMES
    if isinstance(kind, Measure):
        quarter = 0.25 * (kind.high - kind.low)
        return within(kind.low + quarter, kind.high - quarter), bad.NUMBERS
    if isinstance(kind, Point):
        return of(",".join("1" * len(kind.names)), comes=EITHER), bad.POINTS
    if isinstance(kind, click.types.IntParamType):
        return of("1", "100", comes=EITHER), bad.WHOLES
    if isinstance(kind, click.types.FloatParamType):
        return of("0.5", comes=EITHER), bad.NUMBERS
    return of("1", comes=EITHER), bad.NAMES
