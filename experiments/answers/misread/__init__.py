"""What a spot is worth if the player misjudges the opponent or the own legs."""
