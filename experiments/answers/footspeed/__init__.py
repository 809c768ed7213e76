"""Where to stand, and what the middle costs, as the player's legs get faster or slower."""
