"""What no sentence may say of a difference, whatever its sign and verdict."""

from __future__ import annotations

import re

MINUS = "[-\u2212]"
NUMBER = r"\d+\.\d(?:\s\([^)]*\))?"
NONSENSE = re.compile(
    rf"\b(?:wins?|misses|saves?|reaches)\s(?:\+|{MINUS})\d"  # wins -3.3
    rf"|{MINUS}{NUMBER}\s(?:points?\s|balls?\s)?(?:more|fewer)\b"  # -3.3 points more
    r"|\b(?:wins?|saves?)\s0\.0\b"  # wins 0.0
    r"|\bunreturned\b"
)
