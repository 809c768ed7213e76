"""A trial on court: how many fed balls show a foretold difference, their sheet, what it says."""
