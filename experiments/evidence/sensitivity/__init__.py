"""What the answer rests on and where it turns: read from the tables of a study with factors."""
