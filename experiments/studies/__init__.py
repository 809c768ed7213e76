"""Bundled studies: each a study file that `rally-recovery study NAME` runs."""
