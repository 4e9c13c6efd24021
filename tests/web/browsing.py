"""A real browser for tests of pages: what a page did, whether its texts stand out, whether it fits.

Contrast: the formula and the 4.5 are those of the W3C's Web Content Accessibility Guidelines 2.2 (1.4.3).
"""

import os
import re
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any, Final, TypeVar

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Response, sync_playwright
from playwright.sync_api import Request as Sent

_ARGUMENTS: Final = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
# What the browser itself says about a request that failed; no page can keep it from that.
_NETWORK: Final = re.compile("Failed to load resource|blocked by CORS policy")
_ENOUGH: Final = 4.5


@dataclass
class Visit:
    """A page, and what it did."""

    page: Page
    faults: list[str] = field(default_factory=list)
    sent: list[Sent] = field(default_factory=list)
    failed: list[Sent] = field(default_factory=list)
    responses: list[Response] = field(default_factory=list)


V = TypeVar("V", bound=Visit)


@contextmanager
def chromium() -> Iterator[Browser]:
    program = shutil.which("chromium")
    if program is None:
        if os.environ.get("GRADEFLOOR_BROWSER") == "required":
            pytest.fail("a browser is required and there is no chromium")
        pytest.skip("there is no chromium to show the pages with")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=program, args=_ARGUMENTS)
        yield browser
        browser.close()


@contextmanager
def opened(
    browser: Browser,
    address: str,
    kind: Callable[[Page], V],
    *,
    size: tuple[int, int] = (1280, 900),
    prepare: Callable[[BrowserContext], None] | None = None,
    **options: Any,
) -> Iterator[V]:
    """A visit by a browser that knows nothing yet; `prepare` is called before the page is opened."""
    context = browser.new_context(viewport={"width": size[0], "height": size[1]}, **options)
    if prepare is not None:
        prepare(context)
    page = context.new_page()
    visit = kind(page)
    page.on("pageerror", lambda error: visit.faults.append(str(error)))
    page.on("request", lambda request: visit.sent.append(request))  # noqa: PLW0108 - it marks what it is given
    page.on("requestfailed", lambda request: visit.failed.append(request))  # noqa: PLW0108
    page.on("response", lambda response: visit.responses.append(response))  # noqa: PLW0108
    page.on(
        "console",
        lambda said: (
            None
            if said.type not in {"error", "warning"} or _NETWORK.search(said.text)
            else visit.faults.append(said.text)
        ),
    )
    try:
        page.goto(address)
        yield visit
    finally:
        context.close()


def fits(page: Page) -> bool:
    """Whether nothing is wider than the window."""
    found: bool = page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    return found


Color = list[float]
Text = tuple[str, Color, Color]

# Red, green, blue and opacity of whatever color a style names, mixed ones as well.
CHANNELS: Final = """
  const probe = document.createElement("canvas").getContext("2d", { willReadFrequently: true });
  const channels = (color) => {
    probe.clearRect(0, 0, 1, 1);
    probe.fillStyle = color;
    probe.fillRect(0, 0, 1, 1);
    const [r, g, b, a] = probe.getImageData(0, 0, 1, 1).data;
    return [r, g, b, a / 255];
  };"""
_TEXTS: Final = f"""() => {{
  {CHANNELS}
  const over = (top, below) => below.map((channel, at) => top[at] * top[3] + channel * (1 - top[3]));
  const parent = (node) => node.assignedSlot ?? node.parentNode ?? node.host;
  const found = [];
  const put = (words, element) => {{
    const grounds = [];
    for (let at = element; at; at = parent(at))
      if (at.nodeType === Node.ELEMENT_NODE) grounds.push(channels(getComputedStyle(at).backgroundColor));
    const ground = grounds.reverse().reduce((below, top) => over(top, below), [255, 255, 255]);
    found.push([words, over(channels(getComputedStyle(element).color), ground), ground]);
  }};
  const walk = (node) => {{
    const around = node.parentElement;
    if (node.nodeType === Node.TEXT_NODE && node.data.trim() !== "" && around?.checkVisibility()) {{
      const range = document.createRange();
      range.selectNodeContents(node);
      const silent = around.closest("option, script, noscript");
      if (range.getClientRects().length > 0 && !silent) put(node.data.trim(), around);
    }}
    if (node.matches?.("input, select, textarea") && node.checkVisibility()) put(node.id, node);
    for (const child of node.shadowRoot?.childNodes ?? []) walk(child);
    for (const child of node.childNodes) walk(child);
  }};
  walk(document.body);
  return found;
}}"""


def texts_of(page: Page) -> list[Text]:
    """Every text that is shown, its color and that of its ground."""
    return [(text, ink, ground) for text, ink, ground in page.evaluate(_TEXTS)]


def luminance(color: Color) -> float:
    linear = [v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in (c / 255 for c in color)]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: Color, other: Color) -> float:
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


def faint(texts: list[Text]) -> dict[str, float]:
    """The texts that do not stand out enough, with their contrast."""
    return {text: contrast(ink, ground) for text, ink, ground in texts if contrast(ink, ground) < _ENOUGH}
