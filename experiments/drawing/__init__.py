"""Primitives of pictures: court, marks, style, text boxes. Axes in, artists out, in one style."""
