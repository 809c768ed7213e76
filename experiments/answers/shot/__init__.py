"""One shot: launch, flight, bounce."""
