"""A visit to the bench: what it asks, what the service itself answers, and when the page is done."""

import json
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, Final

from playwright.sync_api import Browser, expect

import browsing
from browsing import opened
from running import ASK

WORDS: Final = {"pass": "Pass", "ask": "Ask", "fail": "Fail"}
HOSTILE: Final = "<img src=x onerror=document.title='taken'><script>document.title='taken'</script>"


@dataclass
class Visit(browsing.Visit):
    """The bench, and the service behind it."""

    origin: str = ""

    def judged(self, request: dict[str, Any] | None = None) -> dict[str, Any]:
        """The service's own answer to what the form asks, or to another request."""
        asked = self.request() if request is None else request
        response = ASK.post(f"{self.origin}/v1/evaluations", json=asked)
        assert response.status_code == 200, response.text
        answer: dict[str, Any] = response.json()
        return answer

    def request(self) -> dict[str, Any]:
        request: dict[str, Any] = json.loads(self.page.locator("#json").input_value())
        return request

    def quiet(self) -> None:
        """Wait until the page has shown what came of the last change of the form."""
        verdict = self.page.locator("#verdict")
        expect(verdict).to_have_attribute("data-answered", verdict.get_attribute("data-asked") or "never")

    def settled(self) -> dict[str, Any]:
        """Wait until the page shows what the service says of what the form holds now."""
        self.quiet()
        answer = self.judged()
        expect(self.page.locator("#word")).to_have_text(WORDS[answer["verdict"]])
        return answer

    def keep(self, shape: str, length: str, width: str) -> None:
        self.page.select_option("#stone-shape", shape)
        self.page.fill("#stone-length_mm", length)
        self.page.fill("#stone-width_mm", width)
        self.quiet()
        self.page.click("#keep")

    def paste(self, text: str) -> None:
        """Paste and wait until it was read, or could not be."""
        if self.page.locator("#paste").get_attribute("open") is None:
            self.page.click("#paste > summary")
        self.page.fill("#pasted", text)
        self.page.click("#read")
        expect(self.page.locator("#reading")).not_to_have_text("Reading…")
        self.quiet()


@contextmanager
def visiting(
    browser: Browser, origin: str, *, width: int = 1280, fragment: str = "", **options: Any
) -> Iterator[Visit]:
    """A visit by a browser that knows nothing yet; a fault of the page's script fails the test."""
    address = f"{origin}/bench{fragment}"
    with opened(
        browser, address, lambda page: Visit(page, origin=origin), size=(width, 900), **options
    ) as visit:
        expect(visit.page.locator("#word")).not_to_have_text("Judging…")
        yield visit
        assert visit.faults == []
