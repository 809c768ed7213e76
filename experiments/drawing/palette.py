"""Pictures of few colours: a PNG with a palette is a third of one in true colour."""

from __future__ import annotations

import io

import numpy as np
from PIL import Image, PngImagePlugin

EXACT, BLENDED = 64, 64


def with_palette(png: bytes) -> bytes:
    """An opaque PNG again, with a palette; its texts and its resolution stay.

    The EXACT most frequent colours stay what they are, those of our style among them; the others,
    nearly all of them at the edges of lines and letters, become the nearest in the palette.
    """
    picture = Image.open(io.BytesIO(png))
    out = io.BytesIO()
    texts = PngImagePlugin.PngInfo()
    for key, text in picture.info.items():
        if isinstance(key, str) and isinstance(text, str):
            texts.add_text(key, text)
    few = _reduced(picture.convert("RGB"))
    few.save(out, "PNG", optimize=True, pnginfo=texts, dpi=picture.info["dpi"])
    return out.getvalue()


def _reduced(picture: Image.Image) -> Image.Image:
    """The picture with its palette."""
    from scipy.spatial import cKDTree  # slow to import

    pixels = np.asarray(picture).astype(np.uint32) @ np.array([65536, 256, 1], np.uint32)
    counts = np.bincount(pixels.ravel(), minlength=1 << 24)
    colours = np.flatnonzero(counts)
    often = colours[np.lexsort((colours, -counts[colours]))]
    parts = np.stack([often >> 16, often >> 8 & 255, often & 255], axis=1).astype(np.uint8)
    palette, rest = parts[:EXACT], parts[EXACT:]
    if len(rest):
        blended = Image.fromarray(rest[None]).quantize(BLENDED, Image.Quantize.MEDIANCUT)
        palette = np.vstack([palette, np.array(blended.getpalette()).reshape(-1, 3)])
    index = np.zeros(1 << 24, np.uint8)
    index[often] = cKDTree(palette).query(parts)[1]
    few = Image.fromarray(index[pixels])
    few.putpalette(palette.astype(np.uint8).tobytes())
    return few
