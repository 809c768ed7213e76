"""Train a recovery policy by weights: what is wanted of it, the search, the judgement."""
