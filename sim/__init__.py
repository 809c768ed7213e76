"""The world of a baseline rally: court, ball, flight, players, engines."""

PROJECT = "rally-recovery"
