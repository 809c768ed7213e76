"""Pictures of the offline page for the gallery.

    python tests/benchmarks/shoot_page.py [FOLDER]

Chromium without a network, as large as a phone, a tablet and a desktop, and a phone in the dark: a
club woman against a college man, then page-*.png in FOLDER (results/gallery).
"""

from __future__ import annotations

import io
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from page_browser import DESKTOP, PHONE, TABLET, Opened, a_browser, opened
from PIL import Image

from experiments.drawing.palette import with_palette
from experiments.page.build import page_html

CASE = "at=3.6,11.3,1&who=club-woman&against=college-man"
SCREENS = {
    "page-phone": (PHONE, "light", ()),
    "page-tablet": (TABLET, "light", ("see",)),
    "page-desktop": (DESKTOP, "light", ()),
    "page-dark": (PHONE, "dark", ("fan",)),
}
MOMENTS = 12  # tenths of a second after the strike that the moving picture shows


def shoot(one: Opened, sections: tuple[str, ...]) -> bytes:
    """The screen as PNG of few colours; a section that is folded out begins it."""
    for name in sections:
        one.fold_out(name)
        if name == "see":
            one.page.locator("#see-whole", has_text="balls that land in").wait_for()
            for _ in range(MOMENTS):
                one.page.locator("#see-step").click()
        one.page.evaluate("(name) => document.getElementById(name).scrollIntoView()", name)
    picture = Image.open(io.BytesIO(one.page.screenshot())).convert("RGB")
    out = io.BytesIO()
    picture.save(out, "PNG", dpi=(96, 96))
    return with_palette(out.getvalue())


def main(folder: Path) -> None:
    with tempfile.TemporaryDirectory() as made, a_browser() as browser:
        file = Path(made) / "page.html"
        file.write_text(page_html(), encoding="utf-8")
        for name, (size, scheme, sections) in SCREENS.items():
            how = {"color_scheme": scheme, "reduced_motion": "reduce"}
            with opened(browser, file, CASE, size, **how) as one:
                (folder / f"{name}.png").write_bytes(shoot(one, sections))
                print(folder / f"{name}.png")


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "results/gallery"))
