"""The first function that a cluster's worker runs. It is sent as code, not by its name.

A worker without this package, or with another version of it, can so answer with an error; Dask ends
a worker that cannot read the task itself, and then the next one. It may import the standard library
alone, within the function.
"""

from __future__ import annotations


def call(payload: bytes) -> bytes:
    """Do the pickled (job, task).

    Raises:
        ImportError: this worker's rally-recovery is missing or another one.
    """
    import pickle

    try:
        job, task = pickle.loads(payload)
    except (ImportError, AttributeError, TypeError) as error:
        raise ImportError(str(error)) from None
    result: bytes = job(*task)
    return result
