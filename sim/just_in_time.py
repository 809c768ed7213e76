"""Compiling a kernel on the user's machine, where none was shipped that fits.

This is the only place that imports the compiler (numba) for a run.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from typing import Any

# A vector maths library would give the last rows of a batch other bits than the first ones. numba
# decides about it once, when it is imported, so this line must come before that.
os.environ["NUMBA_DISABLE_INTEL_SVML"] = "1"
# Records have named fields in compiled code only, so uncompiled kernels cannot run.
os.environ.pop("NUMBA_DISABLE_JIT", None)

import numba
from numba.extending import typeof_impl

from sim.compiled import Kernel
from sim.kernel_cache import kernel_cache
from sim.native.load import is_fresh, library, listed

numba.core.config.reload_config()  # whoever imported numba before may have had them otherwise
if getattr(numba.config, "USING_SVML", False):
    raise ImportError(
        "numba was imported before sim, with Intel's vector maths library (SVML) switched on; "
        "results would then depend on how a batch is split. "
        "Import sim first, or set NUMBA_DISABLE_INTEL_SVML=1."
    )


@typeof_impl.register(Kernel)
def _(kernel: Kernel, context: Any) -> Any:
    """A kernel that is met in the code of another one is what the compiler made of it."""
    return typeof_impl(kernel.just_in_time, context)


def dispatcher(function: Callable[..., Any]) -> Any:
    """numba's function for a kernel: strict arithmetic, cached (see `sim.kernel_cache`)."""
    # Nobody calls a kernel from C: without that entry it compiles a twentieth faster.
    options: dict[str, Any] = {"nogil": True, "error_model": "numpy", "no_cfunc_wrapper": True}
    compiled: Any = numba.njit(**options)(function)
    cache = kernel_cache(function)
    if cache is not None:
        compiled._cache = cache
    return compiled


def why_here(layer: str) -> str:
    """Why kernels of a layer are compiled on this machine."""
    if not listed():
        return "none were shipped"
    if not is_fresh(layer):
        return "those shipped are of another version of the source"
    if library() is None:
        return f"none are shipped for this machine ({sys.platform})"
    return "these were not foreseen"
