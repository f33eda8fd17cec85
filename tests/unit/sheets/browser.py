"""A browser for the tests of the review page: Debian's Chromium, without a network."""

from __future__ import annotations

import base64
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray
    from playwright.sync_api import Browser, Page

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
# No window, no sandbox (the tests may run as root), and no service that calls home.
_SWITCHES = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--autoplay-policy=no-user-gesture-required",
]


@contextmanager
def a_browser() -> Iterator[Browser]:
    """Open a browser with an empty profile; skip the test where there is none."""
    if CHROMIUM is None:
        pytest.skip("there is no chromium here (Debian: apt-get install chromium)")
    sync = pytest.importorskip("playwright.sync_api", reason="the package playwright is missing")
    with sync.sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, headless=True, args=_SWITCHES)
        try:
            yield browser
        finally:
            browser.close()


@contextmanager
def a_page(browser: Browser, file: Path, **wishes: Any) -> Iterator[Page]:  # noqa: ANN401
    """Open a file with the network off; a word on the console or a request is a failure."""
    context = browser.new_context(offline=True, **wishes)
    page = context.new_page()
    said: list[str] = []
    page.on("console", lambda message: said.append(f"{message.type}: {message.text}"))
    page.on("pageerror", lambda error: said.append(f"error: {error}"))
    page.on("request", lambda request: said.append(request.url) if _is_far(request.url) else None)
    try:
        page.goto(file.as_uri())
        yield page
    finally:
        context.close()
    assert said == []


def _is_far(url: str) -> bool:
    return not url.startswith(("file:", "data:", "about:"))


def wait_until(page: Page, condition: str) -> None:
    """Wait until an expression holds.

    The driver's own way to wait evaluates text inside the page, which the page's policy forbids.
    """
    for _ in range(100):
        if page.evaluate(condition):
            return
        page.wait_for_timeout(50)
    pytest.fail(f"not within 5 s: {condition}")


def samples_of(page: Page, wishes: dict[str, Any]) -> NDArray[np.float32]:
    """Return what the page renders, at 44,100 samples a second."""
    import numpy as np

    text: str = page.evaluate(
        """async (wishes) => {
          const samples = await window.review.render(wishes);
          const bytes = new Uint8Array(samples.buffer, samples.byteOffset, samples.byteLength);
          let text = "";
          for (let at = 0; at < bytes.length; at += 32768) {
            text += String.fromCharCode(...bytes.subarray(at, at + 32768));
          }
          return btoa(text);
        }""",
        wishes,
    )
    return np.frombuffer(base64.b64decode(text), dtype="<f4")


def axe_source() -> str:
    """Return axe-core, the rules of accessibility, as a package carries it."""
    spec = find_spec("axe_playwright_python")
    if spec is None or not spec.submodule_search_locations:
        pytest.skip("the package axe-playwright-python is missing")
    folder = Path(next(iter(spec.submodule_search_locations)))
    return (folder / "axe.min.js").read_text(encoding="utf-8")
