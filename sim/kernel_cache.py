"""Where compiled kernels are kept between runs, and when they are thrown away.

numba's own cache looks only at the file that a kernel stands in. It goes on using machine code
into which an older version of a function from another file was compiled. Here each version of the
whole source has a folder of its own instead, so that code of another version is never seen.
"""

from __future__ import annotations

import contextlib
import functools
import hashlib
import os
import pickle
import platform
import uuid
from collections.abc import Callable
from pathlib import Path
from typing import Any

import llvmlite
import numba
import numpy
from llvmlite import binding
from numba.core.caching import CompileResultCacheImpl, FunctionCache, IndexDataCacheFile

from sim.cache_folder import folder_of
from sim.source import LAYERS, hash_now, source_hash
from sim.whole_file import read_sealed, sealed, write_whole


def cache_key(layer: str) -> str:
    """Hash of everything that the machine code of a layer's kernels depends on."""
    told = source_hash(layer) + repr(_circumstances())
    return hashlib.sha256(told.encode()).hexdigest()[:24]


def _circumstances() -> list[Any]:
    """Versions, the processor, and numba's settings (such as its optimisation level)."""
    versions = [module.__version__ for module in (numba, llvmlite, numpy)]
    processor = [binding.get_host_cpu_name(), binding.get_host_cpu_features().flatten()]
    settings = sorted(item for item in os.environ.items() if item[0].startswith("NUMBA_"))
    python = [platform.python_implementation(), platform.python_version(), platform.machine()]
    return [versions, python, processor, settings]


@functools.cache
def cache_folder(layer: str) -> Path | None:
    """The folder for the kernels of a layer as the source is now; None where there can be none."""
    return folder_of(layer, cache_key(layer))


class _Place:
    """Tells numba where one kernel's code goes: a folder for each module, a file for each line."""

    def __init__(self, function: Callable[..., Any], folder: Path) -> None:
        self._folder = folder / function.__module__
        self._line = function.__code__.co_firstlineno

    def get_cache_path(self) -> str:
        return str(self._folder)

    def ensure_cache_path(self) -> None:
        self._folder.mkdir(parents=True, exist_ok=True)

    def get_source_stamp(self) -> str:
        return ""  # the name of the folder already says which source it is

    def get_disambiguator(self) -> str:
        return str(self._line)

    @classmethod
    def from_function(cls, function: Callable[..., Any], _file: str) -> _Place | None:
        folder = cache_folder(function.__module__.partition(".")[0])
        return None if folder is None else cls(function, folder)


class _Files(CompileResultCacheImpl):
    _locator_classes: list[type[object]] = [_Place]  # noqa: RUF012 (numba declares it so)


class _SealedFiles(IndexDataCacheFile):
    """The index and the machine code of one kernel, sealed: damaged code would end the process."""

    def _load_index(self) -> dict[Any, str]:
        content = read_sealed(Path(self._index_path))
        return {} if content is None else pickle.loads(content)

    def _save_index(self, overloads: dict[Any, str]) -> None:
        write_whole(Path(self._index_path), sealed(self._dump(overloads)))

    def _load_data(self, name: str) -> Any:
        content = read_sealed(Path(self._data_path(name)))
        return None if content is None else pickle.loads(content)

    def _save_data(self, name: str, data: Any) -> None:
        write_whole(Path(self._data_path(name)), sealed(self._dump(data)))


class KernelCache(FunctionCache):
    """numba's cache of one kernel, moved to our folder and made safe for several processes.

    It never stops a run: what is not there whole is compiled again, what cannot be written (a full
    disk, a folder that is gone or read-only) is not kept.
    """

    _impl_class = _Files

    def __init__(self, function: Callable[..., Any], say: Callable[[str], None]) -> None:
        super().__init__(function)
        self._say, self._layer = say, function.__module__.partition(".")[0]
        stamp = self._impl.locator.get_source_stamp()
        self._cache_file = _SealedFiles(self._cache_path, self._impl.filename_base, stamp)

    def load_overload(self, sig: Any, target_context: Any) -> Any:
        found = super().load_overload(sig, target_context)
        if found is None:
            self._say(self._layer)
        return found

    def save_overload(self, sig: Any, data: Any) -> None:
        # numba numbers a kernel's files. Two processes that save different signatures at the same
        # moment would take the same number, and one's index would lead to the other's code.
        files = self._cache_file
        files._data_name_pattern = f"{self._impl.filename_base}.{uuid.uuid4().hex}.{{number}}.nbc"
        with contextlib.suppress(OSError):
            if self._source_is_unchanged():
                super().save_overload(sig, data)

    def _source_is_unchanged(self) -> bool:
        """False if a source file was edited since this process chose its folder."""
        return hash_now(self._layer) == source_hash(self._layer)


def kernel_cache(function: Callable[..., Any], say: Callable[[str], None]) -> KernelCache | None:
    """The cache for a kernel; None where there is no folder or no complete key.

    `say` is told the kernel's layer before it is compiled.
    A function from outside the project's packages has none: what it calls is not known here.
    """
    layer = function.__module__.partition(".")[0]
    if layer not in LAYERS or cache_folder(layer) is None:
        return None
    return KernelCache(function, say)
