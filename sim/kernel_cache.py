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
import platform
import shutil
import tempfile
import uuid
from collections.abc import Callable
from pathlib import Path
from typing import Any

import llvmlite
import numba
import numpy
import platformdirs
from llvmlite import binding
from numba.core.caching import CompileResultCacheImpl, FunctionCache

# A kernel may call kernels of its own layer and of those below it: all of these make up its key.
LAYERS = ("sim", "strategies", "experiments")
VERSIONS_KEPT = 3


def cache_root() -> Path:
    """The folder that holds the cache: RALLY_RECOVERY_CACHE, or else the user's cache folder.

    Raises:
        OSError: there is neither.
    """
    chosen = os.environ.get("RALLY_RECOVERY_CACHE")
    if chosen:
        return Path(chosen).absolute()
    root = Path(platformdirs.user_cache_dir("rally-recovery", appauthor=False))
    if not root.is_absolute():  # "~/..." remains for a user without a home folder
        raise OSError(f"there is no user's cache folder: {root}")
    return root


def source_files(layer: str) -> list[Path]:
    """Every source file of a layer and of the layers below it, in a fixed order."""
    here = Path(__file__).parent.parent
    packages = LAYERS[: LAYERS.index(layer) + 1]
    return [path for package in packages for path in sorted((here / package).rglob("*.py"))]


def cache_key(layer: str) -> str:
    """Hash of everything that the machine code of a layer's kernels depends on."""
    digest = hashlib.sha256()
    for path in source_files(layer):
        content = path.read_bytes()
        name = path.relative_to(Path(__file__).parent.parent).as_posix()
        digest.update(f"{name} {len(content)}\n".encode() + content)
    digest.update(repr(_circumstances()).encode())
    return digest.hexdigest()[:24]


def _circumstances() -> list[Any]:
    """Versions, the processor, and numba's settings (such as its optimisation level)."""
    versions = [module.__version__ for module in (numba, llvmlite, numpy)]
    processor = [binding.get_host_cpu_name(), binding.get_host_cpu_features().flatten()]
    settings = sorted(item for item in os.environ.items() if item[0].startswith("NUMBA_"))
    python = [platform.python_implementation(), platform.python_version(), platform.machine()]
    return [versions, python, processor, settings]


@functools.cache
def cache_folder(layer: str) -> Path | None:
    """The folder for the kernels of a layer as the source is now; None where nothing can be kept.

    It is made if need be, and then the oldest folders of the layer are removed.
    """
    try:
        folder = cache_root() / f"{layer}-{cache_key(layer)}"
        is_new = not folder.is_dir()
        folder.mkdir(parents=True, exist_ok=True)
        tempfile.TemporaryFile(dir=folder).close()
        os.utime(folder)
        if is_new:
            _prune(folder.parent, layer)
    except OSError:
        return None
    return folder


def _prune(root: Path, layer: str) -> None:
    """Remove all but the last used folders of a layer; a run that uses one compiles again."""
    with contextlib.suppress(FileNotFoundError):  # another process is removing the same ones
        folders = sorted(root.glob(f"{layer}-*"), key=lambda path: path.stat().st_mtime)
        for folder in folders[:-VERSIONS_KEPT]:
            shutil.rmtree(folder, ignore_errors=True)


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


class KernelCache(FunctionCache):
    """numba's cache of one kernel, moved to our folder and made safe for several processes.

    It never stops a run: what cannot be read is compiled again, what cannot be written (a full
    disk, a folder that is gone) is not kept.
    """

    _impl_class = _Files

    def load_overload(self, sig: Any, target_context: Any) -> Any:
        try:
            return super().load_overload(sig, target_context)
        except Exception:  # a damaged file raises whatever its bytes happen to mean
            with contextlib.suppress(OSError):
                self.flush()
            return None

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
        folder = Path(self.cache_path).parent.name
        layer = folder.partition("-")[0]
        return folder == f"{layer}-{cache_key(layer)}"


def kernel_cache(function: Callable[..., Any]) -> KernelCache | None:
    """The cache for a kernel; None where there is no writable folder or no complete key.

    A function from outside the project's packages has none: what it calls is not known here.
    """
    layer = function.__module__.partition(".")[0]
    if layer not in LAYERS or cache_folder(layer) is None:
        return None
    return KernelCache(function)
