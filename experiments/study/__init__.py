"""What is varied and played: design, running, resuming, storing and reading folders."""
