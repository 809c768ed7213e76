"""Maps of the court: every place to stand, and two policies for every place of the opponent."""
