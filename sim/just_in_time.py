"""Compiling a kernel on the user's machine, where none was shipped that fits.

A run imports the compiler (numba) through this module alone.
"""

from __future__ import annotations

import functools
import os
import sys
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
from sim.native.load import SHIPPED_LAYERS, is_fresh, library, listed, platform_name

numba.core.config.reload_config()  # whoever imported numba before may have had them otherwise
if getattr(numba.config, "USING_SVML", False):
    raise ImportError(
        "numba was imported before sim, with Intel's vector maths library (SVML) switched on; "
        "results would then depend on how a batch is split. "
        "Import sim first, or set NUMBA_DISABLE_INTEL_SVML=1."
    )


def dispatcher(function: Callable[..., Any], inlined: bool = False) -> Any:
    """numba's function for a kernel: strict arithmetic, cached (see `sim.kernel_cache`).

    One that is `inlined` is put in whole wherever another one calls it.
    """
    # Nobody calls a kernel from C: without that entry it compiles a twentieth faster.
    options: dict[str, Any] = {"nogil": True, "error_model": "numpy", "no_cfunc_wrapper": True}
    options["forceinline"] = inlined
    compiled: Any = numba.njit(**options)(function)
    cache = kernel_cache(function, say_once)
    if cache is not None:
        compiled._cache = cache
    return compiled


def say_once(layer: str) -> None:
    """Say on the error stream that kernels of a layer are being compiled, and why.

    Those of layers that none are shipped for only measure, and are compiled in a moment.
    """
    if layer not in SHIPPED_LAYERS:
        return
    if not listed():
        _say("none came with this version")
    elif not is_fresh(layer):
        _say("those that came with it are of another version of the source")
    elif library() is None:
        _say(f"none came with it for this machine ({platform_name()})")
    else:
        _say("they were not among those that came with it")


@functools.cache
def _say(why: str) -> None:
    told = f"Compiling kernels, once for this version and machine (up to a minute): {why}."
    print(told, file=sys.stderr, flush=True)
