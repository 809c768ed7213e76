"""One page that a coach gives to a player: what is measured for it and what it says."""
