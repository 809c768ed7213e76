"""Place against shot as a two-player zero-sum game."""
