"""Compilation of the numerical kernels."""

from __future__ import annotations

import os
from collections.abc import Callable
from typing import Any

# A vector maths library would give the last rows of a batch other bits than the first ones. numba
# decides about it once, when it is imported, so this line must come before that.
os.environ["NUMBA_DISABLE_INTEL_SVML"] = "1"
# Equal operations on neighbouring numbers go into one instruction: the same bits, sooner.
os.environ["NUMBA_SLP_VECTORIZE"] = "1"
# Records have named fields in compiled code only, so uncompiled kernels cannot run.
os.environ.pop("NUMBA_DISABLE_JIT", None)

import numba

from sim.kernel_cache import kernel_cache

numba.core.config.reload_config()  # whoever imported numba before may have had them otherwise
if getattr(numba.config, "USING_SVML", False):
    raise ImportError(
        "numba was imported before sim, with Intel's vector maths library (SVML) switched on; "
        "results would then depend on how a batch is split. "
        "Import sim first, or set NUMBA_DISABLE_INTEL_SVML=1."
    )


def kernel(function: Callable[..., Any]) -> Callable[..., Any]:
    """Compile a function to machine code: strict arithmetic, no parallel reduction, cached.

    Strict means neither fast-math nor a parallel loop, so that row i of a batch has the same bits
    as that row alone. Division by zero follows IEEE 754 (inf or nan), as in numpy. See
    `sim.kernel_cache` for where the compiled code is kept.
    """
    # Nobody calls a kernel from C: without that entry it compiles a twentieth faster.
    options: dict[str, Any] = {"nogil": True, "error_model": "numpy", "no_cfunc_wrapper": True}
    compiled: Any = numba.njit(**options)(function)
    cache = kernel_cache(function)
    if cache is not None:
        compiled._cache = cache
    return compiled
