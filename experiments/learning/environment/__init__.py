"""Rallies as an environment for learners, which decides where one side, or both, recover to."""
