"""Compilation of the numerical kernels.

A kernel that was compiled ahead of time (`sim.native`) is called as it is. Another one, or one that
is called with other types, is compiled on this machine (`sim.just_in_time`); only then is the
compiler imported.
"""

from __future__ import annotations

import functools
import os
import sys
from collections.abc import Callable, Hashable
from typing import Any

from numpy import ndarray

from sim.native.load import shipped
from sim.native.notation import key_of
from sim.source import LAYERS, source_hash

# Names a file to which calls that met no shipped kernel are added, for `sim.native.build`.
MET = os.environ.get("RALLY_RECOVERY_KERNELS_MET")


class Kernel:
    """A compiled function; called as the Python one that it is made from, by position.

    Strict arithmetic, without fast-math or parallel loops, so that row i of a batch has the same
    bits as that row alone. Division by zero follows IEEE 754 (inf or nan), as in NumPy.
    """

    def __init__(self, function: Callable[..., Any]) -> None:
        functools.update_wrapper(self, function)
        self.py_func = function
        self.inlined = False
        self._ready: dict[Hashable, Callable[..., Any]] = {}
        layer = function.__module__.partition(".")[0]
        if layer in LAYERS:
            source_hash(layer)  # of what is being imported, not of a later edit

    def __call__(self, *arguments: Any) -> Any:
        key = tuple(  # as of `key_of`, without a call for each array
            [
                (value.dtype, value.ndim, value.flags.c_contiguous)
                if type(value) is ndarray
                else key_of(value)
                for value in arguments
            ]
        )
        call = self._ready.get(key)
        if call is None:
            call = self._ready[key] = self._find(key)
        return call(*arguments)

    def __reduce__(self) -> str:
        return self.py_func.__qualname__

    @property
    def path(self) -> str:
        """Where the kernel is: `module:name`."""
        return f"{self.py_func.__module__}:{self.py_func.__name__}"

    @functools.cached_property
    def just_in_time(self) -> Any:
        """The compiler's function for this kernel, which compiles at the first call."""
        from sim.just_in_time import dispatcher

        return dispatcher(self.py_func, self.inlined)

    @property
    def _numba_type_(self) -> Any:
        """What the compiler takes the kernel for where another one calls it."""
        return self.just_in_time._numba_type_

    def _find(self, key: tuple[Any, ...]) -> Callable[..., Any]:
        found = shipped(self.path, key)
        if found is None and MET is not None:
            self._note(key)
        return self.just_in_time if found is None else found

    def _note(self, key: tuple[Any, ...]) -> None:
        """Add the call to the file of those met, if it is the project's own code that calls."""
        from sim.native.met import note

        caller = sys._getframe(3).f_globals.get("__name__", "").partition(".")[0]
        if caller in LAYERS:
            note(str(MET), self.path, key)


def kernel(function: Callable[..., Any]) -> Callable[..., Any]:
    """Make a kernel of a function: see `Kernel`."""
    return Kernel(function)


def inlined(each: Callable[..., Any]) -> Callable[..., Any]:
    """The same kernel, but put in whole wherever another one calls it.

    For those that innermost loops call: the compiler by itself calls all that are not very short,
    and a call hands its results on through memory. The bits are the same.
    """
    if not isinstance(each, Kernel):
        raise TypeError(f"{each!r} is no kernel; put @inlined above @kernel")
    each.inlined = True
    return each
