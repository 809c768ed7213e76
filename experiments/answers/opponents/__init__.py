"""Every policy against every kind of opponent: what each place costs, and whole rallies."""
