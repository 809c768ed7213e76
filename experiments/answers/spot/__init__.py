"""Where to stand while the opponent strikes from one place."""
