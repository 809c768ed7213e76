"""Entry point of the command: checks the packages before anything of theirs is imported."""

from __future__ import annotations

import sys

from experiments.own_packages import require_own_packages


def main() -> None:
    """Run the command line; exit with a message if a foreign package stands in for ours."""
    try:
        require_own_packages()
    except ImportError as error:
        sys.exit(f"rally-recovery: {error}")
    from experiments.command.main import main as command

    command()


if __name__ == "__main__":
    main()
