"""How much more any policy could win: a value that a policy gets, and one that none can exceed."""
