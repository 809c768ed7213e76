"""The source of the project's own layers, and a hash of it."""

from __future__ import annotations

import functools
import hashlib
from pathlib import Path

# A kernel may call kernels of its own layer and of those below it: all of these make up its key.
LAYERS = ("sim", "strategies", "experiments")


def source_files(layer: str) -> list[Path]:
    """Every source file of a layer and of the layers below it, in a fixed order."""
    here = Path(__file__).parent.parent
    packages = LAYERS[: LAYERS.index(layer) + 1]
    return [path for package in packages for path in sorted((here / package).rglob("*.py"))]


@functools.cache
def source_hash(layer: str) -> str:
    """Hash of the source that the kernels of a layer are compiled from, as this process met it."""
    return hash_now(layer)


def hash_now(layer: str) -> str:
    """That hash as the files are now."""
    digest = hashlib.sha256()
    for path in source_files(layer):
        content = path.read_bytes().replace(b"\r\n", b"\n")
        name = path.relative_to(Path(__file__).parent.parent).as_posix()
        digest.update(f"{name} {len(content)}\n".encode() + content)
    return digest.hexdigest()
