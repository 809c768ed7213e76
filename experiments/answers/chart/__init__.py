"""Charts at the command line: empty, demo and checked ones, and what a filled one advises."""
