"""The element for shop pages, as a real browser shows it. All stones are invented.

Layout shift is that of the W3C's Layout Instability draft as the browser itself measures it, names and roles
are those that the browser's own accessibility tree tells.
"""

import json
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext
from dataclasses import dataclass
from typing import Any, Final
from urllib.parse import parse_qsl, urlsplit

import pytest
from playwright.sync_api import Browser, BrowserContext, Locator, Page, expect

import browsing
from browsing import chromium, contrast, faint, fits, luminance, opened, texts_of
from embed.servers import SCRIPT, Reply, StandIn, agreed, page_of, serving
from gradefloor.trade.stones import Context, Stone
from running import free_port, running_server

PAGES: Final = ("shop.html", "crm.html")
NARROW: Final = 360
TALL: Final = 4000  # shows a page whole, so that no scrolling can hide what moves
SHIFTS: Final = """
self.shifts = [];
new PerformanceObserver((list) => self.shifts.push(...list.getEntries().map((entry) => entry.value)))
  .observe({ type: "layout-shift", buffered: true });
"""
ADD: Final = """([attributes, words]) => {
  const note = document.createElement("stone-note");
  for (const [name, value] of attributes) note.setAttribute(name, value);
  note.append(words);
  document.querySelector("main").prepend(note);
}"""
OVAL: Final = {"data-shape": "oval", "data-carat": "1.31", "data-color": "G", "data-market": "UK"}


@dataclass(frozen=True)
class Site:
    """Where the example pages are, and the service that they name."""

    origin: str
    service: str


@contextmanager
def site_with(service_for: Callable[[str], AbstractContextManager[str]]) -> Iterator[Site]:
    named: list[str] = []  # the pages' address must be known before the service's
    with serving(lambda request: page_of(named[0], request)) as origin, service_for(origin) as address:
        named.append(address)
        yield Site(origin, address)


@contextmanager
def site_of(stand_in: StandIn) -> Iterator[Site]:
    with site_with(lambda _: serving(stand_in.answer)) as site:
        yield site


class Visit(browsing.Visit):
    """A page of a shop and what it did."""

    @property
    def asked(self) -> list[str]:
        """Addresses of stones that were asked for."""
        return [request.url for request in self.sent if urlsplit(request.url).path == "/v1/annotations"]

    @property
    def notes(self) -> list[Locator]:
        return self.page.locator("stone-note").all()

    def read_all(self) -> None:
        """Scroll by every note, so that all are asked for and shown."""
        for note in self.notes:
            note.scroll_into_view_if_needed()
            expect(note.locator(".note")).to_be_visible()

    def open_all(self) -> None:
        for note in self.notes:
            note.locator("summary").click()

    def shift(self) -> float:
        """Sum of layout shifts so far, after what was done has been painted."""
        frames = "new Promise((go) => requestAnimationFrame(() => requestAnimationFrame(go)))"
        self.page.evaluate(frames)
        self.page.wait_for_timeout(100)
        return float(self.page.evaluate("self.shifts.reduce((sum, value) => sum + value, 0)"))

    def add(self, attributes: dict[str, str], words: str = "The page's own words.") -> Locator:
        """A further note, the first in its page."""
        self.page.evaluate(ADD, [list(attributes.items()), words])
        return self.page.locator("stone-note").first


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as browser:
        yield browser


@pytest.fixture(scope="module")
def site() -> Iterator[Site]:
    with site_with(lambda origin: running_server("--allow-origin", origin)) as site:
        yield site


@contextmanager
def visiting(
    browser: Browser, site: Site, name: str, *, width: int = 1280, height: int = 800, **options: Any
) -> Iterator[Visit]:
    """A visit to one of the example pages."""
    address, cookies = f"{site.origin}/{name}", options.pop("cookies", [])

    def prepare(context: BrowserContext) -> None:
        context.add_cookies(cookies)
        context.add_init_script(SHIFTS)

    with opened(browser, address, Visit, size=(width, height), prepare=prepare, **options) as visit:
        yield visit


def shown(note: Locator) -> dict[str, Any]:
    """What a note shows, in the words of the contract."""
    labels = note.locator(".labels li").evaluate_all("(all) => all.map((li) => li.lastChild.textContent)")
    return {
        "labels": labels,
        "cautions": note.locator(".cautions li").all_text_contents(),
        "short": note.locator(".short").text_content(),
        "long": note.locator(".more > p").first.text_content(),
        "notice": note.locator(".notice").text_content(),
    }


def stated(note: Locator) -> dict[str, str]:
    """The data that a note carries, in the words of the contract."""
    pairs = note.evaluate("(note) => [...note.attributes].map(({ name, value }) => [name, value])")
    return {name.removeprefix("data-").replace("-", "_"): value for name, value in pairs}


def query_of(address: str) -> dict[str, str]:
    """The data of a stone that an address asks about; what fits is never asked for."""
    query = dict(parse_qsl(urlsplit(address).query, strict_parsing=True))
    assert query.pop("fits") == "false"
    return query


# What is shown.


@pytest.mark.parametrize("name", PAGES)
def test_every_note_shows_what_the_service_says_of_its_stone(browser: Browser, site: Site, name: str) -> None:
    with visiting(browser, site, name) as visit:
        visit.read_all()
        answers = [
            (query_of(response.url), response.json()["results"][0])
            for response in visit.responses
            if urlsplit(response.url).path == "/v1/annotations"
        ]
        assert any(result["labels"] for _, result in answers)
        for note in visit.notes:
            (result,) = (result for query, result in answers if query == stated(note))
            assert shown(note) == {
                "labels": [label["text"] for label in result["labels"]],
                **{name: result[name] for name in ("cautions", "short", "long", "notice")},
            }
        assert visit.faults == []


@pytest.mark.long
def test_the_long_words_wait_until_they_are_wanted(browser: Browser, site: Site) -> None:
    with visiting(browser, site, "shop.html") as visit:
        visit.read_all()
        note = visit.notes[0]
        expect(note.locator(".short")).to_be_visible()
        expect(note.locator(".notice")).to_be_visible()
        expect(note.locator(".more")).to_be_hidden()
        visit.open_all()
        expect(note.locator(".more")).to_be_visible()


@pytest.mark.long
def test_a_note_has_names_and_tells_tones_in_words(browser: Browser) -> None:
    with site_of(StandIn()) as site, visiting(browser, site, "shop.html") as visit:
        visit.read_all()
        lines = [line.strip() for line in visit.notes[0].aria_snapshot().splitlines()]
        assert lines[:6] == [
            '- group "Note on this stone":',
            '- list "Labels of this stone":',
            "- listitem: Usual outline",
            '- listitem: "Good: Color hard to see in this metal"',
            '- listitem: "Worth a look: Wide for its weight"',
            '- listitem: "To be asked: Eye-clean: ask"',
        ]
        marks = visit.notes[0].locator(".mark").all_text_contents()
        assert marks == ["+", "!", "?"]


@pytest.mark.long
def test_nothing_is_announced_by_itself(browser: Browser, site: Site) -> None:
    with visiting(browser, site, "shop.html") as visit:
        visit.read_all()
        expect(visit.page.locator("[aria-live], [role=alert], [role=status], [role=log]")).to_have_count(0)


@pytest.mark.long
def test_a_note_is_in_the_language_that_was_asked_for(browser: Browser, site: Site) -> None:
    with visiting(browser, site, "crm.html") as visit:
        visit.read_all()
        for note in visit.notes:
            assert note.locator(".room").get_attribute("lang") == "fr"
            assert note.locator("summary").text_content() == "En savoir plus sur cette pierre"


@pytest.mark.long
def test_a_note_is_in_the_language_that_the_answer_names(browser: Browser) -> None:
    french = Reply(json.dumps(agreed()).encode(), headers={"Content-Language": "fr"})
    with site_of(StandIn(lambda _: french)) as site, visiting(browser, site, "shop.html") as visit:
        visit.read_all()
        assert visit.notes[0].locator(".room").get_attribute("lang") == "fr"


@pytest.mark.long
def test_a_note_is_busy_exactly_while_it_is_asked_for(browser: Browser) -> None:
    slow = Reply(json.dumps(agreed()).encode(), seconds=0.7)
    with site_of(StandIn(lambda _: slow)) as site, visiting(browser, site, "shop.html") as visit:
        room = visit.notes[0].locator(".room")
        expect(room).to_have_attribute("aria-busy", "true")
        expect(visit.page.get_by_text("A lively oval")).to_be_visible()
        expect(visit.notes[0].locator(".note")).to_be_visible()
        assert room.get_attribute("aria-busy") is None
        expect(visit.page.get_by_text("A lively oval")).to_be_hidden()


# Keyboard.


def focused(page: Page) -> str:
    """Where the keyboard is: an element's address for a link, its stone's for what a note holds."""
    place: str = page.evaluate("""() => {
      let inner = document.activeElement;
      while (inner.shadowRoot?.activeElement) inner = inner.shadowRoot.activeElement;
      const card = document.activeElement.closest("li[id]");
      return `${inner.localName} ${card?.id}`;
    }""")
    return place


@pytest.mark.parametrize("name", PAGES)
def test_tab_goes_through_links_and_notes_as_they_stand(browser: Browser, site: Site, name: str) -> None:
    with visiting(browser, site, name) as visit:
        visit.read_all()
        cards = visit.page.locator("li[id]").evaluate_all("(all) => all.map((card) => card.id)")
        visit.page.evaluate("scrollTo(0, 0)")
        way = []
        for _ in range(2 * len(cards)):
            visit.page.keyboard.press("Tab")
            if focused(visit.page).startswith("div"):  # a room whose note does not fit is a stop of its own
                visit.page.keyboard.press("Tab")
            way.append(focused(visit.page))
        assert way == [f"{element} {card}" for card in cards for element in ("a", "summary")]


@pytest.mark.long
def test_enter_opens_and_closes(browser: Browser, site: Site) -> None:
    with visiting(browser, site, "shop.html") as visit:
        visit.read_all()
        more = visit.notes[0].locator(".more")
        visit.notes[0].locator("summary").focus()
        visit.page.keyboard.press("Enter")
        expect(more).to_be_visible()
        visit.page.keyboard.press("Enter")
        expect(more).to_be_hidden()


def test_what_does_not_fit_is_reached_by_keyboard(browser: Browser, site: Site) -> None:
    with visiting(browser, site, "shop.html") as visit:
        visit.read_all()
        room = visit.notes[0].locator(".room")
        size = "(note, size) => note.style.setProperty('--stone-note-block-size', size)"
        visit.notes[0].evaluate(size, "40rem")  # whatever the fonts of this machine
        expect(room).not_to_have_attribute("tabindex", "0")
        visit.notes[0].evaluate(size, "4rem")
        expect(room).to_have_attribute("tabindex", "0")
        expect(room).to_have_role("group")
        expect(room).to_have_accessible_name("Note on this stone")
        room.focus()
        expect(visit.notes[0].locator(".notice")).not_to_be_in_viewport()
        visit.page.keyboard.press("End")
        expect(visit.notes[0].locator(".notice")).to_be_in_viewport()


@pytest.mark.long
def test_an_opened_note_takes_the_room_it_needs(browser: Browser, site: Site) -> None:
    with visiting(browser, site, "shop.html", width=NARROW) as visit:
        visit.read_all()
        visit.open_all()
        for note in visit.notes:
            assert note.locator(".room").evaluate("(room) => room.scrollHeight <= room.clientHeight")


# Color, motion, room.


@pytest.mark.long
def test_contrast_is_computed_as_published() -> None:
    """Black on white has 21 by definition; #767676 is widely published as the lightest grey to pass, 4.54."""
    assert contrast([0, 0, 0], [255, 255, 255]) == pytest.approx(21)
    assert contrast([118, 118, 118], [255, 255, 255]) == pytest.approx(4.54, abs=0.005)


@pytest.mark.parametrize("name", PAGES)
@pytest.mark.parametrize("scheme", ["light", pytest.param("dark", marks=pytest.mark.long)])
def test_every_text_stands_out_from_its_ground(browser: Browser, name: str, scheme: str) -> None:
    options: dict[str, Any] = {"color_scheme": scheme, "reduced_motion": "reduce"}
    with site_of(StandIn()) as site, visiting(browser, site, name, **options) as visit:
        visit.read_all()
        visit.open_all()
        texts = texts_of(visit.page)
        inked = {text for text, _, _ in texts}
        (result,) = agreed()["results"]
        assert inked >= {label["text"] for label in result["labels"]} | {
            result["long"],
            result["notice"],
            "?",
        }
        assert faint(texts) == {}
        assert (luminance(texts[0][2]) < 0.1) is (scheme == "dark")


@pytest.mark.long
def test_labels_differ_in_dark_and_light(browser: Browser) -> None:
    grounds = []
    with site_of(StandIn()) as site:
        for scheme in ("light", "dark"):
            with visiting(browser, site, "shop.html", color_scheme=scheme) as visit:
                visit.read_all()
                label = visit.notes[0].locator(".ask")
                grounds.append(label.evaluate("(label) => getComputedStyle(label).backgroundColor"))
    assert len(set(grounds)) == 2


@pytest.mark.long
def test_nothing_moves_for_those_who_want_no_motion(browser: Browser, site: Site) -> None:
    with visiting(browser, site, "shop.html", reduced_motion="reduce") as visit:
        visit.read_all()
        styles = "(note) => getComputedStyle(note).animationName"
        assert {note.locator(".note").evaluate(styles) for note in visit.notes} == {"none"}


@pytest.mark.long
def test_labels_keep_a_border_where_colors_are_forced(browser: Browser) -> None:
    with site_of(StandIn()) as site, visiting(browser, site, "shop.html", forced_colors="active") as visit:
        visit.read_all()
        for label in visit.notes[0].locator(".labels li").all():
            style = label.evaluate(
                "(label) => { const s = getComputedStyle(label); return [s.borderTopWidth, s.borderTopColor,"
                " s.backgroundColor] }"
            )
            assert style[0] == "1px"
            assert style[1] != style[2]


@pytest.mark.parametrize("width", [NARROW, pytest.param(1280, marks=pytest.mark.long)])
@pytest.mark.parametrize("name", PAGES)
def test_nothing_is_moved_by_answers(browser: Browser, site: Site, name: str, width: int) -> None:
    with visiting(browser, site, name, width=width, height=TALL) as visit:
        visit.read_all()
        assert visit.shift() == 0


@pytest.mark.parametrize("name", PAGES)
@pytest.mark.long
def test_nothing_is_moved_by_a_late_script(browser: Browser, name: str) -> None:
    with site_of(StandIn(script_seconds=0.7)) as site, visiting(browser, site, name, height=TALL) as visit:
        visit.read_all()
        assert visit.shift() == 0


@pytest.mark.parametrize("name", PAGES)
@pytest.mark.long
def test_nothing_is_moved_by_a_failure(browser: Browser, name: str) -> None:
    stand_in = StandIn(lambda _: Reply(status=500, seconds=0.3))
    with site_of(stand_in) as site, visiting(browser, site, name, height=TALL) as visit:
        wait_until_refused(visit)
        assert visit.shift() == 0


@pytest.mark.long
def test_the_measure_of_shifts_sees_one(browser: Browser, site: Site) -> None:
    with visiting(browser, site, "shop.html", height=TALL) as visit:
        visit.read_all()
        visit.add(OVAL)
        assert visit.shift() > 0


@pytest.mark.parametrize("name", PAGES)
def test_a_narrow_screen_scrolls_one_way_only(browser: Browser, site: Site, name: str) -> None:
    with visiting(browser, site, name, width=NARROW) as visit:
        visit.read_all()
        visit.open_all()
        assert fits(visit.page)
        for note in visit.notes:
            assert note.locator(".room").evaluate("(room) => room.scrollWidth <= room.clientWidth")


# What leaves the page.


@pytest.mark.parametrize("name", PAGES)
def test_requests_go_to_the_two_servers_and_tell_nothing_of_the_visitor(
    browser: Browser, site: Site, name: str
) -> None:
    cookies = [
        {"name": "visitor", "value": "0417", "url": address} for address in (site.origin, site.service)
    ]
    with visiting(browser, site, name, cookies=cookies) as visit:
        visit.read_all()
        hosts = {"{0.scheme}://{0.netloc}".format(urlsplit(request.url)) for request in visit.sent}
        assert hosts == {site.origin, site.service}
        to_service = [request for request in visit.sent if request.url.startswith(site.service)]
        assert len(to_service) == 1 + len(visit.notes)
        for request in to_service:
            assert request.method == "GET"
            assert request.all_headers().keys().isdisjoint({"cookie", "authorization"})
        for request in to_service[1:]:
            assert "referer" not in request.all_headers()


@pytest.mark.long
def test_a_service_gets_no_cookie_and_no_preflight(browser: Browser) -> None:
    stand_in = StandIn()
    with site_of(stand_in) as site:
        cookie = {"name": "visitor", "value": "0417", "url": site.service}
        with visiting(browser, site, "shop.html", cookies=[cookie]) as visit:
            visit.read_all()
            assert visit.page.evaluate("document.cookie") == "visitor=0417"
    assert {request.method for request in stand_in.log} == {"GET"}
    assert not any(request.headers.keys() & {"cookie", "authorization"} for request in stand_in.log)


@pytest.mark.long
def test_the_closed_list_is_that_of_the_service(browser: Browser, site: Site) -> None:
    with visiting(browser, site, "shop.html") as visit:
        visit.read_all()
        observed = visit.page.evaluate("customElements.get('stone-note').observedAttributes")
    flat = (Stone.model_fields.keys() | Context.model_fields.keys()) - {
        "id",
        "treatments",
        "report",
        "observations",
    }
    fields = flat | {"eye_clean", "market", "language", "ruleset", "wording_ruleset", "as_of"}
    assert observed == sorted(f"data-{name.replace('_', '-')}" for name in fields)


@pytest.mark.long
def test_attributes_outside_the_list_stay_in_the_page(browser: Browser) -> None:
    outside = {"data-email": "a@b.example", "data-id": "0417", "title": "Mrs Invented", "carat": "9"}
    with site_of(StandIn()) as site, visiting(browser, site, "shop.html") as visit:
        note = visit.add({**outside, **OVAL, "data-length-mm": "8.1", "data-ruleset": "house@1.4.0"})
        expect(note.locator(".note")).to_be_visible()
        (address,) = (address for address in visit.asked if "1.31" in address)
    assert urlsplit(address).query == (
        "fits=false&carat=1.31&color=G&length_mm=8.1&market=UK&ruleset=house%401.4.0&shape=oval"
    )


@pytest.mark.parametrize(
    "attributes",
    [
        pytest.param({**OVAL, "data-origin": "a@b.example"}, id="a mail address for a word"),
        pytest.param({**OVAL, "data-color": "white as wished for"}, id="a sentence for a word"),
        pytest.param({**OVAL, "data-shape": ""}, id="no shape"),
        pytest.param({**OVAL, "data-market": " "}, id="no market"),
    ],
)
@pytest.mark.long
def test_what_cannot_be_a_stone_is_not_asked_for(browser: Browser, attributes: dict[str, str]) -> None:
    with site_of(StandIn()) as site, visiting(browser, site, "shop.html") as visit:
        visit.add(attributes)
        expect(visit.notes[1].locator(".note")).to_be_visible()
        assert not any("1.31" in address for address in visit.asked)
        expect(visit.page.get_by_text("The page's own words.")).to_be_visible()


@pytest.mark.long
def test_twins_are_asked_for_once(browser: Browser) -> None:
    with site_of(StandIn()) as site, visiting(browser, site, "shop.html") as visit:
        visit.add(OVAL)
        visit.add(dict(reversed(OVAL.items())))
        visit.read_all()
        assert sum("1.31" in address for address in visit.asked) == 1


@pytest.mark.long
def test_a_note_far_below_is_asked_for_when_it_comes_near(browser: Browser, site: Site) -> None:
    with visiting(browser, site, "shop.html", width=NARROW) as visit:
        expect(visit.notes[0].locator(".note")).to_be_visible()
        assert not any("cushion" in address for address in visit.asked)
        visit.notes[-1].scroll_into_view_if_needed()
        expect(visit.notes[-1].locator(".note")).to_be_visible()
        assert any("cushion" in address for address in visit.asked)


@pytest.mark.long
def test_six_are_asked_for_at_once_and_the_others_in_turn(browser: Browser) -> None:
    stand_in = StandIn(lambda _: Reply(json.dumps(agreed()).encode(), seconds=0.7))
    with site_of(stand_in) as site, visiting(browser, site, "crm.html") as visit:
        small = "document.documentElement.style.setProperty('--stone-note-block-size', '1rem')"
        visit.page.evaluate(small)
        for carat in range(1, 11):
            visit.add({**OVAL, "data-carat": str(carat)})
        visit.page.wait_for_timeout(300)
        assert len(visit.asked) == 6
        visit.read_all()
        assert len(visit.asked) == len(visit.notes)


@pytest.mark.long
def test_changed_data_are_asked_for_once_and_shown(browser: Browser) -> None:
    def reply(request: Any) -> Reply:
        return Reply(json.dumps(agreed(short=f"A stone of {request.query['carat']} ct.")).encode())

    with site_of(StandIn(reply)) as site, visiting(browser, site, "shop.html") as visit:
        visit.read_all()
        before = len(visit.asked)
        visit.notes[0].evaluate(
            "(note) => Object.assign(note.dataset, { carat: '2.5', lengthMm: '9.9', color: 'D' })"
        )
        expect(visit.notes[0].locator(".short")).to_have_text("A stone of 2.5 ct.")
        assert len(visit.asked) == before + 1


@pytest.mark.long
def test_a_note_that_is_taken_away_is_asked_for_no_longer(browser: Browser) -> None:
    stand_in = StandIn(lambda request: Reply(seconds=30 if request.query["carat"] == "1.31" else 0))
    with site_of(stand_in) as site, visiting(browser, site, "shop.html") as visit:
        note = visit.add(OVAL)
        expect(note.locator(".room")).to_have_attribute("aria-busy", "true")
        with visit.page.expect_event(
            "requestfailed", lambda request: "1.31" in request.url, timeout=2000
        ) as end:
            note.evaluate("(note) => note.remove()")
        assert end.value.failure == "net::ERR_ABORTED"
        assert visit.faults == []


# Failures.


def wait_until_refused(visit: Visit) -> None:
    """Every note has been asked for, in vain."""
    for note in visit.notes:
        note.scroll_into_view_if_needed()
        query = stated(note)
        for _ in range(60):
            if any(query_of(address) == query for address in visit.asked):
                break
            visit.page.wait_for_timeout(50)
        expect(note.locator(".room:not([aria-busy])")).to_be_visible(timeout=7000)
    assert len(visit.asked) == len(visit.notes)


def assert_whole(visit: Visit) -> None:
    """The page's own words are to be seen, nothing else, and nothing complains."""
    for note in visit.notes:
        note.scroll_into_view_if_needed()
        expect(note.locator("> p")).to_be_visible()
    expect(visit.page.locator(".note")).to_have_count(0)
    assert visit.faults == []


@pytest.mark.parametrize("name", PAGES)
def test_a_page_is_whole_without_the_service(browser: Browser, name: str) -> None:
    gone = f"http://127.0.0.1:{free_port()}"
    with site_with(lambda _: nullcontext(gone)) as site, visiting(browser, site, name) as visit:
        assert [urlsplit(request.url).path for request in visit.failed] == ["/embed/stone-note.js"]
        assert_whole(visit)
        assert visit.shift() == 0


def body(**changes: Any) -> Reply:
    return Reply(json.dumps(agreed(**changes)).encode())


RIGHT: Final = json.dumps(agreed()).encode()
LABEL: Final = {"key": "a", "text": "A label", "tone": "plain", "rule": "a"}
REFUSALS: Final = {
    "fault of the service": Reply(RIGHT, 500),
    "problem": Reply(b'{"code":"not_found"}', 404, "application/problem+json"),
    "too many": Reply(RIGHT, 429),
    "no answer": Reply(dropped=True),
    "elsewhere": Reply(status=302, headers={"Location": "/v1/annotations?shape=oval"}),
    "nothing": Reply(b""),
    "no json": Reply(b"<!doctype html>"),
    "half": Reply(RIGHT[:-9]),
    "a page": Reply(RIGHT, content_type="text/html"),
    "like json": Reply(RIGHT, content_type="application/jsonlines"),
    "a problem that succeeds": Reply(RIGHT, content_type="application/problem+json"),
    "null": Reply(b"null"),
    "a list": Reply(b"[]"),
    "no result": Reply(b'{"results":[]}'),
    "null for a result": Reply(b'{"results":[null]}'),
    "a number for a sentence": body(short=1),
    "no sentence": body(short=" "),
    "no long sentences": body(long=None),
    "no notice": body(notice=None),
    "a text for cautions": body(cautions="Points chip."),
    "a number for a caution": body(cautions=[1]),
    "no labels": body(labels=None),
    "null for a label": body(labels=[None]),
    "a list for a label's text": body(labels=[{**LABEL, "text": ["a"]}]),
    "a tone nobody knows": body(labels=[LABEL, {**LABEL, "tone": "loud"}]),
    "a tone that every object has": body(labels=[{**LABEL, "tone": "constructor"}]),
    "a tone that is a list": body(labels=[{**LABEL, "tone": ["plain"]}]),
}


@pytest.mark.parametrize("reply", REFUSALS.values(), ids=REFUSALS.keys())
@pytest.mark.long
def test_a_page_is_whole_whatever_the_service_answers(browser: Browser, reply: Reply) -> None:
    stand_in = StandIn(lambda _: reply)
    with site_of(stand_in) as site, visiting(browser, site, "crm.html") as visit:
        wait_until_refused(visit)
        assert_whole(visit)


@pytest.mark.long
def test_four_seconds_are_waited_and_no_longer(browser: Browser) -> None:
    stand_in = StandIn(lambda _: Reply(RIGHT, seconds=30))
    with site_of(stand_in) as site, visiting(browser, site, "crm.html") as visit:
        visit.page.wait_for_timeout(3000)
        expect(visit.notes[0].locator(".room")).to_have_attribute("aria-busy", "true")
        wait_until_refused(visit)
        assert_whole(visit)


@pytest.mark.long
def test_one_failure_is_not_remembered(browser: Browser) -> None:
    replies = iter([Reply(status=503), body()])
    stand_in = StandIn(lambda request: next(replies) if "1.31" in request.query.values() else body())
    with site_of(stand_in) as site, visiting(browser, site, "shop.html") as visit:
        with visit.page.expect_response(lambda response: "1.31" in response.url):
            first = visit.add(OVAL)
        expect(first.locator(".room:not([aria-busy])")).to_be_visible()
        second = visit.add(OVAL)
        expect(second.locator(".note")).to_be_visible()


@pytest.mark.long
def test_hostile_text_stays_text(browser: Browser) -> None:
    hostile = '<img src=x onerror="self.hit=1"><script>self.hit=1</script>&lt;b&gt;\u202e</li>'
    told = {"short": hostile, "long": hostile, "notice": hostile, "cautions": [hostile]}
    reply = body(labels=[{**LABEL, "text": hostile, "tone": "ask"}], **told)
    with site_of(StandIn(lambda _: reply)) as site, visiting(browser, site, "shop.html") as visit:
        visit.read_all()
        visit.open_all()
        for note in visit.notes:
            assert shown(note) == {**told, "labels": [hostile]}
        expect(visit.page.locator("stone-note img, stone-note script, stone-note b")).to_have_count(0)
        assert visit.page.evaluate("self.hit === undefined")
        assert visit.faults == []


@pytest.mark.parametrize(
    ("service", "asks"), [("http://stones.example", False), ("https://stones.example", True)]
)
@pytest.mark.long
def test_only_https_or_this_machine_is_asked(browser: Browser, service: str, asks: bool) -> None:
    """The addresses are reserved for examples (RFC 2606), and answered without leaving this machine."""
    anyone = {"Access-Control-Allow-Origin": "*"}
    with site_with(lambda _: nullcontext(service)) as site, visiting(browser, site, "page.css") as visit:
        visit.page.route(
            f"{service}/embed/stone-note.js",
            lambda route: route.fulfill(path=SCRIPT, content_type="text/javascript", headers=anyone),
        )
        visit.page.route(
            f"{service}/v1/annotations?*",
            lambda route: route.fulfill(body=RIGHT, content_type="application/json", headers=anyone),
        )
        visit.page.goto(f"{site.origin}/crm.html")
        expect(visit.notes[0].locator(".room")).to_be_visible()
        if asks:
            visit.read_all()
        else:
            visit.page.wait_for_timeout(300)
            assert_whole(visit)
        assert bool(visit.asked) is asks
