"""Balls met from many places: the grid of places, the best of them, and what another one loses."""
