"""Asks and answers: where should a tennis player recover to while the opponent gets to the ball?

For Python there is one front door, `experiments.notebook`; the command line is
`experiments.command.main`, started by `python -m experiments` or `rally-recovery`.
"""

__all__ = ["notebook"]
