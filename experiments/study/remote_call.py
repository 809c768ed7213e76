"""The first function that a cluster's worker runs. It is sent as code, not by its name.

A worker without this package, or with another version of it, can so answer with an error; Dask ends
a worker that cannot read the task itself, and then the next one, and the run would wait for ever.
"""

from __future__ import annotations

from collections.abc import Callable


def envoy() -> Callable[[bytes], bytes]:
    """A function that does a pickled (job, task).

    It raises ImportError where the worker's rally-recovery is missing or another one. Being local
    to this one it has no name to be found by, so Dask (cloudpickle) sends its code; it may use the
    standard library alone, imported within.
    """

    def call(payload: bytes) -> bytes:
        import pickle

        try:
            job, task = pickle.loads(payload)
        except (ImportError, AttributeError, TypeError) as error:
            raise ImportError(str(error)) from None
        result: bytes = job(*task)
        return result

    return call
