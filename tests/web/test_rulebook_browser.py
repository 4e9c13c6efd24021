"""The rule book in a real browser: on a screen, on a phone, on paper, by keyboard and without script.

320 CSS pixels without scrolling sideways are those of the W3C's
Web Content Accessibility Guidelines 2.2 (1.4.10).
"""

from collections.abc import Iterator
from contextlib import AbstractContextManager
from typing import Any, Final
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Browser, expect

from browsing import Visit, chromium, faint, opened, texts_of

long: Final = pytest.mark.long


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as found:
        yield found


def visiting(
    browser: Browser, address: str, *, width: int = 1280, **options: Any
) -> AbstractContextManager[Visit]:
    return opened(browser, address, Visit, size=(width, 800), **options)


PATHS: Final = ("/", "/rules/wording/1.0.0", "/rules/house")
OPEN_ALL: Final = "for (const part of document.querySelectorAll('details')) part.open = true"


@pytest.mark.parametrize("path", PATHS)
@pytest.mark.long
def test_no_script_fails_and_nothing_is_asked_of_another_host(
    browser: Browser, server: str, path: str
) -> None:
    with visiting(browser, f"{server}{path}") as visit:
        visit.page.evaluate("scrollTo(0, document.body.scrollHeight)")
        visit.page.wait_for_load_state("networkidle")
        assert visit.faults == []
        assert {urlsplit(sent.url).netloc for sent in visit.sent} == {urlsplit(server).netloc}


@pytest.mark.parametrize("path", PATHS)
@pytest.mark.parametrize("width", [pytest.param(1280, marks=long), pytest.param(360, marks=long), 320])
def test_no_page_scrolls_sideways(browser: Browser, server: str, path: str, width: int) -> None:
    with visiting(browser, f"{server}{path}", width=width) as visit:
        visit.page.evaluate(OPEN_ALL)
        assert visit.page.evaluate("document.documentElement.scrollWidth") == width


@pytest.mark.parametrize("width", [pytest.param(1280, marks=long), 360])
@pytest.mark.long
def test_the_first_column_stays_while_a_table_scrolls(browser: Browser, server: str, width: int) -> None:
    with visiting(browser, server, width=width) as visit:
        table = visit.page.locator(".floors-table").first
        head = table.locator("tbody th[scope=row]").first
        before = head.bounding_box()
        table.evaluate("(region) => { region.scrollLeft = 200 }")
        after = head.bounding_box()
        assert before is not None
        assert after is not None
        assert before["x"] == pytest.approx(after["x"], abs=1)
        scrolls = table.evaluate("(region) => region.scrollLeft > 100")
        assert scrolls is (width == 360)


@pytest.mark.parametrize("width", [pytest.param(1280, marks=long), 360])
def test_the_keyboard_opens_a_reason_and_closes_it(browser: Browser, server: str, width: int) -> None:
    with visiting(browser, server, width=width) as visit:
        page = visit.page
        page.locator(".floors-table").first.focus()
        page.keyboard.press("Tab")
        button = page.locator(":focus")
        rule = str(button.get_attribute("popovertarget"))
        reason = page.locator(f'[id="{rule}"]')
        expect(reason).to_be_hidden()
        page.keyboard.press("Enter")
        expect(reason).to_be_visible()
        expect(reason).to_contain_text("Disagreement")
        box = reason.bounding_box()
        assert box is not None
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= width
        page.keyboard.press("Escape")
        expect(reason).to_be_hidden()
        expect(button).to_be_focused()


def test_a_reason_leads_to_its_rule(browser: Browser, server: str) -> None:
    with visiting(browser, server, width=360) as visit:
        button = visit.page.locator(".floors-table .why-of").first
        button.click()
        rule = str(button.get_attribute("popovertarget")).removeprefix("why-")
        visit.page.locator(f'[id="why-{rule}"] a[href="#{rule}"]').click()
        expect(visit.page.locator(f'[id="why-{rule}"]')).to_be_hidden()
        expect(visit.page.locator(f'[id="{rule}"]')).to_be_in_viewport()


@pytest.mark.long
def test_reasons_open_without_script(browser: Browser, server: str) -> None:
    with visiting(browser, server, java_script_enabled=False) as visit:
        button = visit.page.locator(".floors-table .why-of").first
        button.click()
        expect(visit.page.locator(f'[id="{button.get_attribute("popovertarget")}"]')).to_be_visible()
        visit.page.locator("details.how > summary").first.click()
        expect(visit.page.locator("details.how .lines").first).to_be_visible()


def test_the_first_stop_of_the_keyboard_leads_past_the_header(browser: Browser, server: str) -> None:
    with visiting(browser, server) as visit:
        visit.page.keyboard.press("Tab")
        expect(visit.page.locator(":focus")).to_have_text("Skip to the page")
        expect(visit.page.locator(":focus")).to_be_in_viewport()


@pytest.mark.parametrize("path", [pytest.param("/", marks=long), *PATHS[1:]])
@pytest.mark.parametrize("scheme", ["light", pytest.param("dark", marks=long)])
def test_every_text_stands_out_from_its_ground(browser: Browser, server: str, path: str, scheme: Any) -> None:
    with visiting(browser, f"{server}{path}", color_scheme=scheme) as visit:
        visit.page.evaluate(OPEN_ALL)
        visit.page.evaluate("document.querySelector('.why')?.showPopover()")
        texts = texts_of(visit.page)
        assert len(texts) > 20
        assert faint(texts) == {}
        assert (sum(texts[0][2]) < 200) is (scheme == "dark")


@pytest.mark.long
def test_everything_is_open_on_paper_and_the_way_about_is_not_printed(browser: Browser, server: str) -> None:
    with visiting(browser, f"{server}/rules/house/1.3.0", java_script_enabled=False) as visit:
        visit.page.emulate_media(media="print")
        expect(visit.page.locator(".contents")).to_be_hidden()
        rows = visit.page.locator("details.how .verdicts tbody tr")
        height = (
            "(rows) => rows.filter((row) => !row.checkVisibility({ contentVisibilityAuto: true })).length"
        )
        assert rows.count() > 100
        assert rows.evaluate_all(height) == 0


def sheets(printed: bytes) -> int:
    """Pages of a PDF: each is an object of that type (ISO 32000-1, 7.7.3.3)."""
    return printed.count(b"/Type /Page\n")


def test_one_shape_prints_alone_and_the_next_print_is_whole(browser: Browser, server: str) -> None:
    with visiting(browser, f"{server}/rules/house/1.3.0") as visit:
        page = visit.page
        page.evaluate("() => { window.print = () => { window.printed = (window.printed ?? 0) + 1 } }")
        page.locator("#shape-pear > summary").click()
        page.get_by_role("link", name="Print Pear alone").click()
        drawn = "new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))"
        page.evaluate(drawn)
        assert page.evaluate("window.printed") == 1
        page.emulate_media(media="print")
        expect(page.locator("#only-pear table").first).to_be_visible()
        for hidden in ("#only-oval", "#floors", "#changes", ".title"):
            expect(page.locator(hidden)).to_be_hidden()
        assert sheets(page.pdf(format="A4")) == 1
        page.evaluate("dispatchEvent(new Event('afterprint'))")
        expect(page.locator("#floors")).to_be_visible()


def test_on_a_phone_the_title_comes_first_and_the_contents_are_folded(browser: Browser, server: str) -> None:
    with visiting(browser, server, width=360) as visit:
        link = visit.page.locator(".contents a").first
        expect(visit.page.get_by_role("heading", level=1)).to_be_in_viewport()
        expect(link).to_be_hidden()
        visit.page.locator(".contents summary").click()
        expect(link).to_be_visible()


def test_beside_the_text_the_contents_are_always_open(browser: Browser, server: str) -> None:
    with visiting(browser, server, java_script_enabled=False) as visit:
        expect(visit.page.locator(".contents a").first).to_be_in_viewport()
        title = visit.page.get_by_role("heading", level=1).bounding_box()
        contents = visit.page.locator(".contents").bounding_box()
        assert title is not None
        assert contents is not None
        assert contents["x"] + contents["width"] <= title["x"]


def test_a_table_that_goes_on_to_the_right_says_so_on_a_phone(browser: Browser, server: str) -> None:
    with visiting(browser, server, width=360) as visit:
        expect(visit.page.get_by_text("The table goes on to the right").first).to_be_visible()
        expect(visit.page.locator(".sideways").first).to_be_visible()


@long
def test_the_book_prints(browser: Browser, server: str) -> None:
    with visiting(browser, f"{server}/rules/house/1.3.0") as visit:
        printed = visit.page.pdf(format="A4")
        assert printed.startswith(b"%PDF-")
        assert 20 < sheets(printed) < 110
        assert visit.page.locator("details[open]").count() == 0
