"""The overview diagram of the model: the life of a stroke, drawn as inline SVG.

Boxes in two lanes, the hitter's and the receiver's; who receives one ball hits the next.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from html import escape

WIDE, TALL = 680, 565
BOX_WIDE = 184
LINE_PX, TIP_PX = 15, 9.0
INK, SOFT, GROUND, BLUE = "#222", "#5d646a", "#f2f5f4", "#005a8d"
LANES = ((15, 217, "Hitter"), (242, 196, "Ball"), (458, 204, "Receiver"))


@dataclass(frozen=True)
class Box:
    """One activity: centre, lines of text, and whether it is an end of the rally."""

    x: int
    y: int
    lines: tuple[str, ...]
    is_end: bool = False

    @property
    def height(self) -> int:
        return 12 + LINE_PX * len(self.lines)


CHOOSE = Box(130, 70, ("chooses target,", "speed and spin"))
ERR = Box(130, 150, ("strikes with an error", "of direction and depth"))
FAULT = Box(130, 255, ("net, long or wide:", "error, point over"), True)
NEXT = Box(130, 465, ("next stroke: the receiver", "hits, the hitter recovers"))
FLY = Box(340, 150, ("flies: gravity,", "drag, lift"))
BOUNCE = Box(340, 320, ("bounces, flies on to", "the second bounce"))
MISS = Box(340, 405, ("winner,", "point over"), True)
UNRETURNED = Box(340, 525, ("not returned,", "point over"), True)
RECOVER = Box(560, 70, ("recovers to the policy's", "spot, slows to be ready"))
REACT = Box(560, 165, ("reacts; later if still", "in motion; may guess"))
CHASE = Box(560, 260, ("runs at full effort,", "reaches out"))
MEET = Box(560, 360, ("meets the ball: missed,", "stretched or set"))
REPLY = Box(560, 465, ("comes back with a chance", "that grows with time"))
BOXES = (
    *(CHOOSE, ERR, FAULT, NEXT, FLY, BOUNCE, MISS, UNRETURNED),
    *(RECOVER, REACT, CHASE, MEET, REPLY),
)
# Arrows: their corners, the word beside them, and where it stands.
ARROWS: tuple[tuple[tuple[tuple[int, int], ...], str, tuple[int, int]], ...] = (
    (((130, 91), (130, 129)), "", (0, 0)),
    (((222, 150), (248, 150)), "", (0, 0)),
    (((290, 171), (222, 234)), "not in", (262, 212)),
    (((340, 171), (340, 299)), "in", (346, 245)),
    (((560, 91), (560, 144)), "", (0, 0)),
    (((560, 186), (560, 239)), "", (0, 0)),
    (((560, 281), (560, 339)), "", (0, 0)),
    (((432, 326), (468, 345)), "", (0, 0)),
    (((468, 374), (432, 394)), "missed", (450, 398)),
    (((560, 381), (560, 444)), "reached", (566, 417)),
    (((468, 465), (222, 465)), "comes back", (300, 459)),
    (((468, 480), (432, 508)), "does not", (456, 506)),
    (((38, 465), (28, 465), (28, 70), (38, 70)), "", (0, 0)),
)
ALT = (
    "Overview of one stroke in three lanes. Hitter: chooses target, speed and spin; strikes with an"
    " error. Ball: flies; in the net, long or wide ends the point; else it bounces and flies on to"
    " its second bounce. Receiver: recovers to the policy's spot and slows; reacts; runs and"
    " reaches; misses, which ends the point, or meets the ball stretched or set; it comes back with"
    " a chance that grows with the time, else the point is over. Then the receiver hits and the"
    " hitter recovers."
)


def diagram() -> str:
    """The diagram as an `<svg>` element, with its description for those who cannot see it."""
    parts = [
        f'<svg viewBox="0 0 {WIDE} {TALL}" role="img" aria-labelledby="stroke-words"'
        ' class="diagram">',
        f'<title id="stroke-words">{escape(ALT)}</title>',
        *lanes(),
        *(line for arrow in ARROWS for line in drawn_arrow(*arrow)),
        *(line for box in BOXES for line in drawn_box(box)),
        "</svg>",
    ]
    return "\n".join(parts)


def lanes() -> Iterator[str]:
    """The lanes with their heads."""
    for x, wide, head in LANES:
        yield (
            f'<rect x="{x}" y="30" width="{wide}" height="{TALL - 36}" rx="8" fill="{GROUND}"/>'
            f'<text x="{x + wide / 2:g}" y="20" text-anchor="middle" font-weight="600"'
            f' font-size="14" fill="{INK}">{head}</text>'
        )


def drawn_arrow(
    corners: tuple[tuple[int, int], ...], label: str, at: tuple[int, int]
) -> Iterator[str]:
    """An arrow along its corners, with a word beside it."""
    points = " ".join(f"{x},{y}" for x, y in corners)
    yield f'<polyline points="{points}" fill="none" stroke="{SOFT}" stroke-width="1.5"/>'
    yield f'<polygon points="{tip(corners[-2], corners[-1])}" fill="{SOFT}"/>'
    if label:
        yield f'<text x="{at[0]}" y="{at[1]}" font-size="12" fill="{SOFT}">{label}</text>'


def tip(start: tuple[int, int], end: tuple[int, int]) -> str:
    """The corners of an arrow's head."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    length = math.hypot(dx, dy)
    ux, uy = TIP_PX * dx / length, TIP_PX * dy / length
    back_x, back_y = end[0] - ux, end[1] - uy
    corners = (end, (back_x - uy / 2, back_y + ux / 2), (back_x + uy / 2, back_y - ux / 2))
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in corners)


def drawn_box(box: Box) -> Iterator[str]:
    """A box with its lines; ends of the rally have a broken outline."""
    top = box.y - box.height / 2
    dash = ' stroke-dasharray="5 3"' if box.is_end else ""
    yield (
        f'<rect x="{box.x - BOX_WIDE / 2:g}" y="{top:g}" width="{BOX_WIDE}" height="{box.height}"'
        f' rx="5" fill="#fff" stroke="{SOFT if box.is_end else BLUE}" stroke-width="1.5"{dash}/>'
    )
    for k, line in enumerate(box.lines):
        y = top + 18 + LINE_PX * k
        yield (
            f'<text x="{box.x}" y="{y:g}" text-anchor="middle" font-size="13" fill="{INK}">'
            f"{escape(line)}</text>"
        )
