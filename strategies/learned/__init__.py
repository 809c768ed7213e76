"""What learners found: weights of a recovery policy, and the files they stand in."""
