"""How well numbers are known: tallies, estimates, comparisons, and how they are said."""
