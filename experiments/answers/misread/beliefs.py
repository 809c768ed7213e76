"""What a player can misjudge, by how much that is tried, and the scene that is then believed in."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from experiments.scene.scene import Scene
from sim.contracts import ShotModel

NEAREST_M = 1.0  # believed contacts are no nearer to the net
DIRECTION_GAINS = ("line_gain", "short_gain")  # of hitters of habit (strategies.shots.habit)


@dataclass(frozen=True)
class Misjudged:
    """One thing misjudged: its name, in words, its unit, and the sizes of the error, ascending.

    axis: what a picture calls the size.
    less, more: what an error below and above the truth is called. believed: the scene that is
    believed in with an error of that size. right: the size that is no error.
    """

    name: str
    words: str
    axis: str
    unit: str
    sizes: tuple[float, ...]
    less: str
    more: str
    believed: Callable[[Scene, float], Scene] = dataclasses.field(repr=False)
    right: float = 0.0


def outward(scene: Scene) -> float:
    """The direction away from the centre, on the side of the contact; to the right from there."""
    return -1.0 if scene.place.x_m < 0 else 1.0


def _moved(scene: Scene, across_m: float, back_m: float) -> Scene:
    at = scene.place
    x, y = at.x_m + across_m, at.y_m + back_m
    return scene.at(dataclasses.replace(at, x_m=x + 0.0, y_m=y))


def _wider(scene: Scene, size_m: float) -> Scene:
    return _moved(scene, outward(scene) * size_m, 0.0)


def _deeper(scene: Scene, size_m: float) -> Scene:
    return _moved(scene, 0.0, size_m)


def _with_gain(name: str) -> Callable[[Scene, float], Scene]:
    def believed(scene: Scene, factor: float) -> Scene:
        gain = factor * getattr(scene.hitter, name)
        return with_hitter(scene, dataclasses.replace(scene.hitter, **{name: gain}))  # type: ignore[type-var]

    return believed


def _with_legs(name: str) -> Callable[[Scene, float], Scene]:
    def believed(scene: Scene, percent: float) -> Scene:
        legs = scene.player.legs
        other = dataclasses.replace(legs, **{name: (1 + percent / 100) * getattr(legs, name)})
        return dataclasses.replace(scene, player=dataclasses.replace(scene.player, legs=other))

    return believed


def with_hitter(scene: Scene, hitter: ShotModel) -> Scene:
    """The scene against another hitter of the same level."""
    return dataclasses.replace(scene, hitter=hitter)


ACROSS = Misjudged(
    "contact sideways",
    "Contact misjudged sideways",
    "contact taken for too far out",
    "m",
    (-2.0, -1.5, -1.0, -0.5, 0.0, 0.5, 1.0, 1.5, 2.0),
    "too far in",
    "too far out",
    _wider,
)
IN_DEPTH = Misjudged(
    "contact in depth",
    "Contact misjudged in depth",
    "contact taken for too far back",
    "m",
    (-3.0, -2.0, -1.0, 0.0, 1.0, 2.0, 3.0),
    "too near the net",
    "too far back",
    _deeper,
)
LINE, SHORT = (
    Misjudged(
        f"share {words}",
        f"Opponent believed to go {words}",
        f"share {words}",
        "believed / true",
        (0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0),
        "as often as is true",
        "as often as is true",
        _with_gain(gain),
        1.0,
    )
    for words, gain in zip(("down the line", "short and wide"), DIRECTION_GAINS, strict=True)
)
SPEED = Misjudged(
    "own top speed",
    "Own top speed misjudged",
    "own top speed taken for too fast",
    "%",
    (-30.0, -20.0, -10.0, 0.0, 10.0, 20.0, 30.0),
    "too slow",
    "too fast",
    _with_legs("top_speed_m_s"),
)
REACTION = Misjudged(
    "own reaction",
    "Own reaction time misjudged",
    "own reaction taken for too long",
    "%",
    (-40.0, -20.0, 0.0, 20.0, 40.0),
    "too short",
    "too long",
    _with_legs("reaction_s"),
)


def kinds_of(scene: Scene) -> Iterator[Misjudged]:
    """What can be misjudged in a scene: shares of directions only of a hitter who has them."""
    nearest = NEAREST_M - scene.place.y_m
    yield ACROSS
    depths = tuple(s for s in IN_DEPTH.sizes if s >= min(nearest, 0.0))
    yield dataclasses.replace(IN_DEPTH, sizes=depths)
    if all(hasattr(scene.hitter, name) for name in DIRECTION_GAINS):
        yield from (LINE, SHORT)
    yield from (SPEED, REACTION)


def _as_it_is(scene: Scene, size: float) -> Scene:
    return scene


def _steps(farthest: float, step: float) -> tuple[float, ...]:
    half = round(farthest / step)
    return tuple(step * k for k in range(-half, half + 1))


# Nothing is misjudged: one stands so far off the best place.
OFF_SIDEWAYS = Misjudged(
    "place sideways",
    "Standing off sideways",
    "stood off, + to opponent's side",
    "m",
    _steps(2.0, 0.25),
    "to the far side",
    "to the opponent's side",
    _as_it_is,
)
OFF_IN_DEPTH = Misjudged(
    "place in depth",
    "Standing off in depth (by single balls; points may ask for another depth)",
    "stood off, + too far back",
    "m",
    _steps(1.5, 0.5),
    "too far forward",
    "too far back",
    _as_it_is,
)
