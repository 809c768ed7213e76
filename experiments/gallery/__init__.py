"""A page with one picture for each result, each beside the command that draws it."""
