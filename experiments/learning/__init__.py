"""For learners: rallies as an environment. Importing this registers `RallyRecovery-v0` where
Gymnasium is installed (`pip install 'rally-recovery[learn]'`)."""

from __future__ import annotations

from importlib.util import find_spec

ID = "RallyRecovery-v0"


def register() -> None:
    """Make the environment known to Gymnasium, single and batched; a second time changes nothing.

    Raises:
        ImportError: Gymnasium is not installed.
    """
    import gymnasium

    if ID in gymnasium.registry:
        return
    rooms = f"{__name__}.environment"
    gymnasium.register(
        id=ID,
        entry_point=f"{rooms}.single:RallyRecovery",
        vector_entry_point=f"{rooms}.batch:RallyRecoveryBatch",
    )


if find_spec("gymnasium") is not None:
    register()
