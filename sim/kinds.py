"""The kinds of stroke."""

from __future__ import annotations

DRIVE, SLICE, HIGH_BALL, BLOCK, SCOOP, HALF_VOLLEY = 0, 1, 2, 3, 4, 5
DROP_SHOT, APPROACH, PASSING_SHOT, LOB, VOLLEY, OVERHEAD = 6, 7, 8, 9, 10, 11
FIRST_SERVE, SECOND_SERVE = 12, 13
KINDS = (
    "drive",
    "slice",
    "high ball",
    "block",
    "scoop",
    "half volley",
    "drop shot",
    "approach",
    "passing shot",
    "lob",
    "volley",
    "overhead",
    "first serve",
    "second serve",
)
SERVES = (FIRST_SERVE, SECOND_SERVE)
# After one of these the hitter goes to the net, or stays there.
COMING_IN = (APPROACH, VOLLEY, OVERHEAD)
