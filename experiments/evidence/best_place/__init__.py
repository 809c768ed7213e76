"""Does a factor change the best place? Best shade and depth by point, and how far they move."""
