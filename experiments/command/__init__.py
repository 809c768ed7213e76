"""The command line: one table of commands, shared options, one way to ask."""
