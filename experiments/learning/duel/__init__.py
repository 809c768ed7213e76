"""Recovery against shots, both sides learning: what each can be sure of."""
