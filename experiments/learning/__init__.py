"""Learners: the game as a training ground, and what finds a recovery policy in it."""
