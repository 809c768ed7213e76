"""The offline page in Chromium, without a network: what its tests and its figures share."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

BROWSERS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
PHONE, TABLET, DESKTOP = (360, 740), (820, 1180), (1440, 900)
SECONDS = 60_000  # milliseconds that a slow machine may take for an answer


def not_here(reason: str) -> None:
    """Skip, or fail where the browser is required."""
    if os.environ.get("RALLY_RECOVERY_BROWSER") == "required":
        pytest.fail(reason)
    pytest.skip(reason)


@contextmanager
def a_browser() -> Iterator[Any]:
    """Chromium as the system has it."""
    path = next(filter(None, map(shutil.which, BROWSERS)), None)
    if path is None:
        not_here(f"none of {', '.join(BROWSERS)} is on the PATH")
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        not_here("Playwright is not installed (extra test)")
    with sync_playwright() as started:
        browser = started.chromium.launch(executable_path=path, args=["--no-sandbox"])
        yield browser
        browser.close()


@dataclass
class Opened:
    """A page of ours that is open: what it asked of the network, and what went wrong in it."""

    page: Any
    file: Path
    asked: list[str] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)

    def ask(self, address: str) -> None:
        """Go to a case, and wait for its whole answer."""
        self.page.evaluate(
            """(address) => new Promise((done) => {
                addEventListener("hashchange", () => setTimeout(done), { once: true });
                location.hash = address;
            })""",
            address,
        )
        self.wait()

    def wait(self) -> None:
        """Wait until the answer rests on all balls, or there is none."""
        ends = self.page.locator("html[data-answer=whole], html[data-answer=none]")
        ends.wait_for(state="attached", timeout=SECONDS)

    def text(self, name: str) -> str:
        return str(self.page.locator(f"#{name}").text_content()).replace("\u00a0", " ")

    def fold_out(self, *names: str) -> None:
        for name in names:
            details = self.page.locator(f"#{name}")
            if details.get_attribute("open") is None:
                details.locator("> summary").click()
        shown = "() => new Promise((done) => requestAnimationFrame(() => setTimeout(done, 20)))"
        self.page.evaluate(shown)

    def place(self, name: str, x: float, y: float) -> tuple[float, float]:
        """Where on the screen a place of a court is, (pixels, pixels)."""
        self.page.locator(f"#{name}").scroll_into_view_if_needed()
        found = self.page.evaluate(
            """([name, x, y]) => {
                const matrix = document.getElementById(name).getScreenCTM();
                const { x: across, y: down } = new DOMPoint(x, -y).matrixTransform(matrix);
                return [across, down];
            }""",
            [name, x, y],
        )
        return found[0], found[1]

    def tap(self, name: str, x: float, y: float) -> None:
        self.page.mouse.click(*self.place(name, x, y))


@contextmanager
def opened(
    browser: Any,
    file: Path,
    address: str = "",
    size: tuple[int, int] = PHONE,
    before: str = "",
    **context: Any,
) -> Iterator[Opened]:
    """A page in a window of its own without a network; `before` is a script that runs first.

    Whatever it asks of anything but itself, and every error of its scripts, fails the test.
    """
    viewport = {"width": size[0], "height": size[1]}
    window = browser.new_context(viewport=viewport, offline=True, **context)
    page = window.new_page()
    one = Opened(page, file)
    page.on("request", lambda request: one.asked.append(request.url))
    page.on("pageerror", lambda error: one.errors.append(str(error)))
    page.on("console", lambda m: one.errors.append(m.text) if m.type == "error" else None)
    if before:
        page.add_init_script(before)
    page.goto(f"{file.as_uri()}#{address}" if address else file.as_uri())
    one.wait()
    yield one
    if one.page.is_closed():
        return
    own = (file.as_uri(), "blob:", "data:")
    assert [url for url in one.asked if not url.startswith(own)] == []
    assert one.errors == []
    window.close()
