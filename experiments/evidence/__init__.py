"""What results mean: sensitivity and validation."""
