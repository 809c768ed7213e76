"""Settings that must hold before a test module is imported."""

from __future__ import annotations

import os

# Pictures are drawn to files; the processes that tests start need no display either.
os.environ["MPLBACKEND"] = "Agg"
