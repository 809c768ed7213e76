"""A measured player: from sprint times and the like to a player file with its uncertainty."""
