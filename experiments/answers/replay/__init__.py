"""One rally as plain values over time, its time line and its film."""
