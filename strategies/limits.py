"""What an intended shot may be, in the hitter's own frame: beyond this nobody can mean it."""

FARTHEST_X_M, FARTHEST_Y_M, FASTEST_M_S, MOST_SPIN_RPM = 10.0, 20.0, 80.0, 10_000.0
