"""Files that are whole or absent, and content that says whether it is still what was written."""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
import secrets
from pathlib import Path

HASH_BYTES = hashlib.sha256().digest_size
UNFINISHED = re.compile(r"\.[0-9a-f]{16}\.partial")  # what a writer that was killed leaves


def write_whole(path: Path, content: bytes, new: bool = False) -> None:
    """Write a file, whole or not at all; with `new` only where there is nothing yet.

    It is written beside its place and takes its name in one step, so that a reader finds the old
    file, the new one or none, while several processes write. A link stays: its file is written.

    Raises:
        OSError: it cannot be written (`filename` is the path), or `new` and something is there.
    """
    place = path if new else Path(os.path.realpath(path))
    beside = place.with_name(f".{secrets.token_hex(8)}.partial")
    try:
        with open(beside, "xb") as file:
            file.write(content)
        if new:
            os.link(beside, place)
        else:
            os.replace(beside, place)
    except OSError as error:
        raise OSError(error.errno, error.strerror or str(error), str(path)) from None
    finally:
        with contextlib.suppress(OSError):
            beside.unlink()


def sealed(content: bytes) -> bytes:
    """The content behind its own SHA-256."""
    return hashlib.sha256(content).digest() + content


def unsealed(content: bytes) -> bytes | None:
    """What was sealed; None if these bytes are not what `sealed` made."""
    held = content[HASH_BYTES:]
    return held if hashlib.sha256(held).digest() == content[:HASH_BYTES] else None


def read_sealed(path: Path) -> bytes | None:
    """The content of a sealed file; None if it is not there, cannot be read or is damaged."""
    try:
        return unsealed(path.read_bytes())
    except OSError:
        return None
