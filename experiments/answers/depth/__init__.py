"""Depth: how far behind the baseline to wait, in points of whole rallies and in balls reached."""
