"""How close the model is to the published record: one row a figure, none tuned away."""
