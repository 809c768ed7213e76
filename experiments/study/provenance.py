"""What a result comes from: the code, the packages and the machine."""

from __future__ import annotations

import functools
import hashlib
import os
import platform
import subprocess
from importlib import metadata
from pathlib import Path

PACKAGES = ("numpy", "scipy", "numba", "simpy", "pandas", "pyarrow", "matplotlib", "pydantic")
ROOT = Path(__file__).resolve().parents[2]


def source_hash() -> str:
    """SHA-256 over the source of the three packages."""
    digest = hashlib.sha256()
    for package in ("sim", "strategies", "experiments"):
        for path in sorted((ROOT / package).rglob("*")):
            if path.suffix in (".py", ".toml", ".html"):
                digest.update(path.relative_to(ROOT).as_posix().encode())
                digest.update(path.read_bytes())
    return digest.hexdigest()


def commit() -> str | None:
    """The commit of the checkout that the code runs from, None outside a checkout."""
    if not (ROOT / ".git").exists():
        return None
    try:
        done = subprocess.run(
            ["git", "rev-parse", "HEAD"], cwd=ROOT, capture_output=True, text=True, timeout=10
        )
    except (OSError, subprocess.TimeoutExpired):
        return None
    return done.stdout.strip() or None


def versions() -> dict[str, str]:
    """Versions of the packages that results depend on."""
    return {name: metadata.version(name) for name in PACKAGES}


def system() -> dict[str, str]:
    """The operating system and the processor that this process runs on."""
    return {
        "operating system": platform.platform(),
        "machine": platform.machine(),
        "processor": processor_name(),
        "processors": str(os.cpu_count()),
    }


@functools.cache
def processor_name() -> str:
    """The processor's name as the system gives it."""
    try:
        lines = Path("/proc/cpuinfo").read_text("utf-8", "replace").splitlines()
    except OSError:
        lines = []
    names = [line.partition(":")[2].strip() for line in lines if line.startswith("model name")]
    return names[0] if names else platform.processor() or platform.machine()
