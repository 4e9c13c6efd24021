"""The bench, as a real browser shows it: what it says of a stone is held against the service's own answers.

All stones are invented. Contrast: the formula and the 4.5 are those of the W3C's Web Content Accessibility
Guidelines 2.2 (1.4.3); quoting for a shell: a real shell runs the command; text on paper: read out of the PDF
by the mapping to Unicode that each of its fonts brings along (ISO 32000-1, 9.10.3).
"""

import asyncio
import json
import os
import re
import shutil
import subprocess
import unicodedata
import zlib
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final
from urllib.parse import urlsplit

import httpx
import pytest
from fastapi import FastAPI
from playwright.sync_api import Browser, Error, Page, Route, expect, sync_playwright
from playwright.sync_api import Request as Sent

from gradefloor.rules.catalog import Catalog
from gradefloor.trade.stones import Context, Stone
from gradefloor.web import bench
from gradefloor.web.service import Service
from running import running_server

ASSETS: Final = Path(__file__).parents[2] / "service/gradefloor/web/assets"
SCRIPTS: Final = sorted([*ASSETS.glob("bench*.js"), ASSETS / "stone-form.js"])
WIDTHS: Final = (1280, 360)
ARGUMENTS: Final = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
NETWORK: Final = re.compile("Failed to load resource")
HOSTILE: Final = "<img src=x onerror=document.title='taken'><script>document.title='taken'</script>"
MARKING: Final = (
    "innerHTML", "outerHTML", "insertAdjacentHTML", "document.write", "eval(", "new Function",
    "createContextualFragment", "DOMParser", "setHTML", "srcdoc",
)  # fmt: skip
WORDS: Final = {"pass": "Pass", "ask": "Ask", "fail": "Fail"}

# What the page serves.


def test_the_page_has_no_code_or_style_of_its_own(client: httpx.Client) -> None:
    response = client.get("/bench")
    assert response.status_code == 200
    assert response.headers["content-security-policy"].startswith("default-src 'none'")
    assert re.findall(r"<script(?![^>]*\ssrc=\"/assets/)", response.text) == []
    assert re.findall(r"<style|\sstyle=|\son[a-z]+=|javascript:", response.text) == []
    addresses = re.findall(r'(?:src|href)="([^"]*)"', response.text)
    assert [address for address in addresses if not address.startswith(("/", "#"))] == []


def test_without_script_the_page_says_so_and_leads_to_the_contract(client: httpx.Client) -> None:
    (said,) = re.findall(r"<noscript>(.*?)</noscript>", client.get("/bench").text, re.DOTALL)
    assert "script" in said
    assert 'href="/docs"' in said


def leaves(model: Any, path: str) -> Iterator[str]:
    """Dotted paths of everything in a model's schema that is no object."""
    schema = model.model_json_schema()

    def walk(part: dict[str, Any], at: str) -> Iterator[str]:
        options = [one for one in part.get("anyOf", [part]) if one.get("type") != "null"]
        (found,) = options[:1]
        if "$ref" in found:
            found = schema["$defs"][found["$ref"].rpartition("/")[2]]
        if "properties" not in found:
            yield at
        for name, member in found.get("properties", {}).items():
            yield from walk(member, f"{at}.{name}")

    yield from walk(schema, path)


def test_the_form_has_every_field_of_a_stone_and_of_its_context(client: httpx.Client) -> None:
    paths = re.findall(r'data-path="([^"]+)"', client.get("/bench").text)
    wire = {*leaves(Stone, "stone"), *leaves(Context, "context"), "ruleset", "as_of"}
    assert len(paths) == len(set(paths))
    assert {path for path in paths if not path.startswith("finger.")} == wire


def test_the_rule_sets_to_choose_from_are_those_about_stones(client: httpx.Client) -> None:
    (chosen,) = re.findall(r'<select id="ruleset".*?</select>', client.get("/bench").text, re.DOTALL)
    offered = set(re.findall(r'value="([^"]+)"', chosen))
    for entry in client.get("/v1/rulesets").json()["rulesets"]:
        exact = {f"{entry['name']}@{version['version']}" for version in entry["versions"]}
        assert (exact <= offered) is (entry["name"] != "wording")
    for reference in offered:
        stone = {"stone": {"shape": "oval"}, "ruleset": reference}
        assert client.post("/v1/evaluations", json=stone).status_code == 200


def test_the_page_follows_the_catalogue(catalog: Catalog) -> None:
    service = Service(Catalog({"house": catalog.releases["house"][:1]}))
    app = FastAPI()
    bench.routes(app, service)

    async def served() -> str:
        async with httpx.AsyncClient(transport=httpx.ASGITransport(app), base_url="http://bench") as client:
            return (await client.get("/bench")).text

    assert 'value="strict"' not in asyncio.run(served())
    service.adopt(catalog, datetime.now(UTC))
    assert 'value="strict"' in asyncio.run(served())


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda path: path.name)
def test_no_script_reads_text_as_mark_up(script: Path) -> None:
    text = script.read_text(encoding="utf-8")
    assert [way for way in MARKING if way in text] == []
    assert len(text.splitlines()) <= 400


# In a browser.


@dataclass
class Visit:
    """A page, and what it did."""

    page: Page
    origin: str
    faults: list[str] = field(default_factory=list)
    sent: list[Sent] = field(default_factory=list)

    def judged(self, request: dict[str, Any] | None = None) -> dict[str, Any]:
        """The service's own answer to what the form asks, or to another request."""
        asked = self.request() if request is None else request
        response = httpx.post(f"{self.origin}/v1/evaluations", json=asked)
        assert response.status_code == 200, response.text
        answer: dict[str, Any] = response.json()
        return answer

    def request(self) -> dict[str, Any]:
        request: dict[str, Any] = json.loads(self.page.locator("#json").input_value())
        return request

    def settled(self) -> dict[str, Any]:
        """Wait until the page shows what the service says of what the form holds now."""
        self.page.wait_for_timeout(300)  # longer than the pause in typing that the page waits for
        expect(self.page.locator("#verdict")).not_to_have_attribute("aria-busy", "true")
        answer = self.judged()
        expect(self.page.locator("#word")).to_have_text(WORDS[answer["verdict"]])
        return answer

    def keep(self, shape: str, length: str, width: str) -> None:
        self.page.select_option("#stone-shape", shape)
        self.page.fill("#stone-length_mm", length)
        self.page.fill("#stone-width_mm", width)
        self.settled()
        self.page.click("#keep")

    def paste(self, text: str) -> None:
        if self.page.locator("#paste").get_attribute("open") is None:
            self.page.click("#paste > summary")
        self.page.fill("#pasted", text)
        self.page.click("#read")


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    program = shutil.which("chromium")
    if program is None:
        if os.environ.get("GRADEFLOOR_BROWSER") == "required":
            pytest.fail("a browser is required and there is no chromium")
        pytest.skip("there is no chromium to show the pages with")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=program, args=ARGUMENTS)
        yield browser
        browser.close()


@contextmanager
def visiting(
    browser: Browser, origin: str, *, width: int = 1280, fragment: str = "", **options: Any
) -> Iterator[Visit]:
    """A visit by a browser that knows nothing yet; a fault of the page's script fails the test."""
    context = browser.new_context(viewport={"width": width, "height": 900}, **options)
    page = context.new_page()
    visit = Visit(page, origin)
    page.on("pageerror", lambda error: visit.faults.append(str(error)))
    page.on("request", lambda request: visit.sent.append(request))  # noqa: PLW0108 - it marks what it is given
    page.on(
        "console",
        lambda said: (
            None
            if said.type not in {"error", "warning"} or NETWORK.search(said.text)
            else visit.faults.append(said.text)
        ),
    )
    try:
        page.goto(f"{origin}/bench{fragment}")
        expect(page.locator("#word")).not_to_have_text("Judging…")
        yield visit
        assert visit.faults == []
    finally:
        context.close()


@pytest.mark.parametrize("width", WIDTHS)
def test_the_example_is_judged_and_says_that_it_is_invented(
    browser: Browser, server: str, width: int
) -> None:
    with visiting(browser, server, width=width) as visit:
        answer = visit.settled()
        assert visit.request()["stone"]["clarity"] == "VS2"
        expect(visit.page.locator("#invented")).to_contain_text("invented")
        reasons = visit.page.locator("#findings .reason, #quiet-findings .reason").all_text_contents()
        assert reasons == [finding["reason"] for finding in answer["findings"]]
        questions = visit.page.locator("#questions > li > p:first-child").all_text_contents()
        assert questions == [question["ask"] for question in answer["questions"]]
        assert visit.page.locator("#notice").text_content() == answer["notice"]
        hosts = {urlsplit(request.url).netloc for request in visit.sent}
        assert hosts == {urlsplit(server).netloc}


def test_a_stone_of_ones_own_is_not_called_invented(browser: Browser, server: str) -> None:
    with visiting(browser, server) as visit:
        visit.page.fill("#stone-carat", "1.51")
        visit.settled()
        expect(visit.page.locator("#invented")).to_be_hidden()


def test_measures_are_those_of_the_answer(browser: Browser, server: str) -> None:
    with visiting(browser, server) as visit:
        answer = visit.settled()
        shown = visit.page.locator("#measures > div:visible").evaluate_all(
            "(rows) => rows.map((row) => [row.dataset.measure, row.querySelector('dd').textContent])"
        )
        assert {
            name: float(text) if re.fullmatch("[-0-9.]+", text) else text for name, text in shown
        } == answer["measures"]


def test_each_finding_names_its_source_and_leads_to_its_rule(browser: Browser, server: str) -> None:
    with visiting(browser, server) as visit:
        answer = visit.settled()
        rules = answer["ruleset"]
        links = visit.page.locator(".finding a").evaluate_all(
            "(all) => all.map((a) => a.getAttribute('href'))"
        )
        assert links == [
            f"/rules/{rules['name']}/{rules['version']}#{finding['rule']}" for finding in answer["findings"]
        ]
        first = visit.page.locator("#findings .finding").first
        expect(first.get_by_text(answer["findings"][0]["source"])).to_be_hidden()
        first.locator("summary").click()
        expect(first.get_by_text(answer["findings"][0]["source"])).to_be_visible()


@pytest.mark.parametrize("width", WIDTHS)
def test_by_keyboard_alone_a_better_clarity_moves_the_verdict(
    browser: Browser, server: str, width: int
) -> None:
    with visiting(browser, server, width=width) as visit:
        before = visit.settled()["verdict"]
        for _ in range(30):
            visit.page.keyboard.press("Tab")
            if visit.page.evaluate("document.activeElement.id") == "stone-clarity":
                break
        visit.page.keyboard.type("VS1")
        answer = visit.settled()
        assert visit.request()["stone"]["clarity"] == "VS1"
        assert (before, answer["verdict"]) == ("ask", "pass")
        expect(visit.page.locator("#moves")).to_have_text("Clarity: VS2 ask → VS1 pass")
        expect(visit.page.locator("[role=status]#heard")).to_have_text("Verdict: pass, before: ask.")


def test_a_step_changes_one_grade_and_ends_with_the_scale(browser: Browser, server: str) -> None:
    with visiting(browser, server) as visit:
        better = visit.page.get_by_role("button", name="Color one grade better")
        better.focus()
        for _ in range(5):
            visit.page.keyboard.press("Enter")
        expect(visit.page.locator("#stone-color")).to_have_value("D")
        expect(better).to_have_attribute("aria-disabled", "true")
        visit.settled()
        expect(better).to_be_focused()


def test_a_range_goes_out_as_a_range(browser: Browser, server: str) -> None:
    with visiting(browser, server) as visit:
        visit.page.click("#rest > summary")
        visit.page.select_option("#stone-color-to", "H")
        visit.settled()
        assert visit.request()["stone"]["color"] == "G-H"


def test_a_question_is_answered_where_it_stands(browser: Browser, server: str) -> None:
    with visiting(browser, server) as visit:
        about = visit.settled()["questions"][0]["about"]
        assert about == "stone.observations.eye_clean"
        visit.page.locator("#questions").get_by_role("button", name="Yes").click()
        answer = visit.settled()
        assert visit.request()["stone"]["observations"] == {"eye_clean": True}
        assert about not in [question["about"] for question in answer["questions"]]
        assert visit.page.evaluate("document.activeElement !== document.body")


def put(request: dict[str, Any], path: str, value: Any) -> None:
    *names, last = path.split(".")
    for name in names:
        request = request.setdefault(name, {})
    request[last] = value


@pytest.mark.parametrize("clarity", ["VS2", "SI2"])
def test_a_finding_is_turned_by_its_change_and_put_back(browser: Browser, server: str, clarity: str) -> None:
    with visiting(browser, server) as visit:
        visit.page.select_option("#stone-clarity", clarity)
        before = visit.settled()
        stated = visit.request()
        finding = before["findings"][0]
        assert finding["topic"] == "clarity"
        visit.page.locator("#findings .finding").first.locator(".suppose").click()
        after = visit.settled()
        promised = json.loads(json.dumps(stated))
        for change in finding["change"]:
            put(promised, change["field"], change["value"])
        assert visit.request() == promised
        now = next(one for one in after["findings"] if one["rule"] == finding["rule"])
        assert now["verdict"] != finding["verdict"]
        moves = visit.page.locator("#moves")
        expect(moves).to_contain_text("Had ")
        expect(moves).to_contain_text(f"{before['verdict']} → {after['verdict']}")
        expect(moves).to_contain_text(f"clarity {finding['verdict']} → {now['verdict']}")
        expect(moves).to_be_focused()
        expect(visit.page.locator("#supposed")).to_contain_text("Supposed, not stated")
        visit.page.click("#put-back")
        visit.settled()
        assert visit.request() == stated
        expect(visit.page.locator("#supposed")).to_be_hidden()


def test_what_is_refused_is_said_at_its_field(browser: Browser, server: str) -> None:
    with visiting(browser, server) as visit:
        visit.settled()
        visit.page.fill("#stone-carat", "-3")
        fault = visit.page.locator("#stone-carat-fault")
        expect(fault).to_be_visible()
        refused = httpx.post(f"{server}/v1/evaluations", json=visit.request())
        assert refused.status_code == 422
        (error,) = refused.json()["errors"]
        assert error["pointer"] == "/stone/carat"
        expect(fault).to_contain_text(error["allowed"])
        field_of_carat = visit.page.locator("#stone-carat")
        expect(field_of_carat).to_have_attribute("aria-invalid", "true")
        expect(field_of_carat).to_have_accessible_description(re.compile(re.escape(error["allowed"])))
        expect(visit.page.locator("#word")).to_have_text("No verdict")
        expect(visit.page.locator("#findings li")).to_have_count(0)
        visit.page.fill("#stone-carat", "1.52")
        visit.settled()
        expect(fault).to_be_hidden()


def test_a_number_that_nobody_can_tell_is_not_guessed(browser: Browser, server: str) -> None:
    with visiting(browser, server) as visit:
        visit.page.fill("#stone-length_mm", "8,1")
        visit.settled()
        assert visit.request()["stone"]["length_mm"] == 8.1
        visit.page.fill("#stone-length_mm", "1,234")
        expect(visit.page.locator("#stone-length_mm-fault")).to_be_visible()


# Pasted.

ROW: Final = "emerald, 1.02 ct, F, VS1, 6.52 x 4.81 x 3.10"
TABLE: Final = (
    "Shape\tCarat\tColor\tClarity\tMeasurements\tPolish\tStock\n"
    "oval\t1.31\tG\tSI1\t8.61 x 6.02 x 3.70\tVG\tX-1"
)


@pytest.mark.parametrize(
    "text", [ROW, ROW.replace(",", ""), TABLE.replace("\t", ";"), TABLE, TABLE.replace("\t", ",")]
)
def test_a_row_is_read_into_the_form(browser: Browser, server: str, text: str) -> None:
    emerald = {"shape": "emerald", "carat": 1.02, "color": "F", "clarity": "VS1", "length_mm": 6.52}
    oval = {
        "shape": "oval",
        "carat": 1.31,
        "color": "G",
        "clarity": "SI1",
        "length_mm": 8.61,
        "width_mm": 6.02,
    }
    expected = emerald if "emerald" in text else {**oval, "polish": "very_good"}
    with visiting(browser, server) as visit:
        visit.paste(text)
        expect(visit.page.locator("#reading")).to_contain_text("Read into the form")
        visit.settled()
        assert visit.request()["stone"].items() >= expected.items()
        assert visit.request()["context"] == {"metal": "platinum"}


def test_what_stays_open_is_said(browser: Browser, server: str) -> None:
    with visiting(browser, server) as visit:
        visit.paste("Shape,Color,Clarity,Remarkable\noval,G,VVVS,yes")
        said = visit.page.locator("#reading")
        expect(said).to_contain_text("VVVS")
        expect(said).to_contain_text("Which clarity grade does the report state?")
        expect(said).to_contain_text("Remarkable “yes”")
        assert "clarity" not in visit.request()["stone"]


def test_of_several_rows_a_person_chooses(browser: Browser, server: str) -> None:
    with visiting(browser, server) as visit:
        visit.paste("Shape,Carat,Color,Clarity\noval,1.01,G,VS1\npear,1.02,H,VS2")
        visit.page.get_by_role("button", name="2: pear 1.02 H VS2").click()
        visit.settled()
        assert visit.request()["stone"]["shape"] == "pear"


def test_a_request_as_json_fills_the_form_and_what_it_cannot_hold_is_said(
    browser: Browser, server: str
) -> None:
    stone = {
        "shape": "pear",
        "color": "G-H",
        "treatments": ["hpht"],
        "report": {"issuer": "Invented Laboratory", "comments": ["One line.", "Another."]},
        "observations": {"eye_clean": False, "inclusion": {"type": "cloud", "size_mm": 0.2}},
    }
    request = {"stone": stone, "context": {"metal": "rose_gold"}, "ruleset": "strict"}
    with visiting(browser, server) as visit:
        visit.paste(json.dumps({**request, "stone": {**stone, "sparkle": 9}}))
        expect(visit.page.locator("#reading")).to_contain_text("stone.sparkle")
        visit.settled()
        assert visit.request() == request


@pytest.mark.parametrize(
    "text", [HOSTILE, f"Shape\tColor\n{HOSTILE}\tG", json.dumps({"shape": HOSTILE}), HOSTILE * 1000]
)
def test_hostile_text_stays_text(browser: Browser, server: str, text: str) -> None:
    with visiting(browser, server) as visit:
        visit.paste(text)
        expect(visit.page.locator("#reading")).to_contain_text("onerror")
        visit.page.wait_for_timeout(500)
        assert visit.page.title() == "gradefloor: the bench"
        assert visit.page.locator("img[src=x], main script").count() == 0


def test_hostile_text_in_an_address_stays_text(browser: Browser, server: str) -> None:
    stone = {"shape": "oval", "id": "x", "color": HOSTILE, "__proto__": {"taken": 1}}
    with visiting(browser, server) as visit:
        visit.page.evaluate(
            """async ([stone, words]) => {
              const address = await import("/assets/bench-address.js");
              const item = (letter) => ({ letter, stone, supposed: [words] });
              const kept = [item("A"), item("B"), item(words), null, 7];
              location.hash = address.write({ now: { stone }, kept });
            }""",
            [stone, HOSTILE],
        )
        expect(visit.page.locator("#beside .card")).to_have_count(2)
        expect(visit.page.locator("#beside")).to_contain_text("<img src=x")
        expect(visit.page.locator("#stone-color-fault")).to_be_visible()
        assert visit.page.title() == "gradefloor: the bench"
        assert visit.page.locator("img[src=x], main script").count() == 0


@pytest.mark.parametrize("fragment", ["#%00%ff", "#AAAA", "#" + "A" * 70_000, "#bnVsbA", "#W10"])
def test_an_address_that_holds_nothing_readable_is_passed_over(
    browser: Browser, server: str, fragment: str
) -> None:
    with visiting(browser, server, fragment=fragment) as visit:
        visit.settled()
        expect(visit.page.locator("#invented")).to_be_visible()


# Beside each other.

KEPT: Final = [
    ("emerald", "8.0", "5.8"),
    ("oval", "8.6", "6.3"),
    ("pear", "9.4", "6.0"),
    ("round", "7.3", "7.35"),
]


def compared(visit: Visit, stones: list[dict[str, Any]]) -> dict[str, Any]:
    around = {name: value for name, value in visit.request().items() if name != "stone"}
    response = httpx.post(f"{visit.origin}/v1/comparisons", json={**around, "stones": stones})
    assert response.status_code == 200
    answer: dict[str, Any] = response.json()
    return answer


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("count", [2, 4])
def test_kept_stones_lie_beside_each_other(browser: Browser, server: str, width: int, count: int) -> None:
    with visiting(browser, server, width=width) as visit:
        stones = []
        for index, (shape, length, across) in enumerate(KEPT[:count]):
            visit.keep(shape, length, across)
            expect(visit.page.locator("#beside .card")).to_have_count(index + 1)
            stones.append(visit.request()["stone"])
        answer = compared(visit, stones)
        cards = visit.page.locator("#beside .card .head .verdict-word")
        expect(cards).to_have_text([told["verdict"] for told in answer["stones"]])
        for difference in [*answer["visible"], *answer["on_paper"]]:
            line = visit.page.locator("#beside .lines li").filter(has_text=difference["says"]).first
            for place, value in zip(difference["between"], difference["values"], strict=True):
                expect(line).to_contain_text(f"{'ABCD'[place]} {value}")
        for told, card in zip(answer["stones"], visit.page.locator("#beside .card").all(), strict=True):
            shared = [
                finding
                for finding in told["telling"]
                if all(
                    (finding["rule"], finding["verdict"], finding["observed"])
                    in {(one["rule"], one["verdict"], one["observed"]) for one in other["telling"]}
                    for other in answer["stones"]
                )
            ]
            assert card.locator(".lines a").count() == len(told["telling"]) - len(shared)
        image = visit.page.locator("[data-figure=beside] img")
        expect(image).to_be_visible()
        assert (
            image.get_attribute("alt") == f"Stones {', '.join('ABCD'[:count])} beside each other at one scale"
        )
        assert visit.page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_a_fifth_stone_is_refused_kindly_and_stays_in_the_form(browser: Browser, server: str) -> None:
    with visiting(browser, server) as visit:
        for shape, length, across in KEPT:
            visit.keep(shape, length, across)
        visit.keep("marquise", "10.0", "5.0")
        expect(visit.page.locator("#tray-said")).to_contain_text("4 stones are kept, which is all that fit.")
        expect(visit.page.locator("#beside .card")).to_have_count(4)
        expect(visit.page.locator("#stone-shape")).to_have_value("marquise")


def test_the_same_stone_is_kept_once(browser: Browser, server: str) -> None:
    with visiting(browser, server) as visit:
        visit.settled()
        visit.page.click("#keep")
        visit.page.click("#keep")
        expect(visit.page.locator("#tray-said")).to_have_text("This stone is kept already, as A.")
        expect(visit.page.locator("#beside .card")).to_have_count(1)


def test_a_kept_stone_comes_back_and_goes(browser: Browser, server: str) -> None:
    with visiting(browser, server) as visit:
        for shape, length, across in KEPT[:2]:
            visit.keep(shape, length, across)
        visit.page.get_by_role("button", name="Bring A back to the form").click()
        visit.settled()
        assert visit.request()["stone"]["shape"] == "emerald"
        visit.page.get_by_role("button", name="Take A out").click()
        expect(visit.page.locator("#beside .card")).to_have_count(1)
        expect(visit.page.locator("#tray-title")).to_be_focused()


def test_a_reload_and_a_link_keep_the_tray_and_the_form(browser: Browser, server: str) -> None:
    with visiting(browser, server) as visit:
        for shape, length, across in KEPT[:2]:
            visit.keep(shape, length, across)
        visit.page.select_option("#stone-clarity", "SI1")
        visit.settled()
        held, address = visit.request(), visit.page.url
        visit.page.reload()
        visit.settled()
        assert visit.request() == held
        expect(visit.page.locator("#beside .card")).to_have_count(2)
        assert all(
            "#" not in request.url and address.partition("#")[2] not in request.url
            for request in visit.sent[1:]
            if request.resource_type != "document"
        )
        stored = "[localStorage.length, sessionStorage.length, document.cookie]"
        assert visit.page.evaluate(stored) == [0, 0, ""]
    with visiting(browser, server, fragment=f"#{address.partition('#')[2]}") as other:
        other.settled()
        assert other.request() == held
        expect(other.page.locator("#beside .card")).to_have_count(2)


# Drawings.


def test_drawings_have_words_and_a_box_that_stays(browser: Browser, server: str) -> None:
    with visiting(browser, server) as visit:
        visit.settled()
        box = visit.page.locator("[data-figure=finger] .box")
        image = box.locator("img")
        expect(image).to_be_visible()
        expect(image).to_have_attribute("alt", re.compile("Emerald cut, 8 × 5.8 mm, .*finger of size 6"))
        expect(visit.page.locator("[data-figure=side] img")).to_be_visible()
        before = box.bounding_box()
        visit.page.fill("#stone-width_mm", "")
        expect(image).to_be_hidden()
        expect(box).to_contain_text("Not drawn: width is missing.")
        visit.page.evaluate("scrollTo(0, 0)")
        after = box.bounding_box()
        assert before is not None
        assert after is not None
        assert before["height"] == after["height"]


# The same by machine.


def test_the_copied_command_gives_the_same_verdict(browser: Browser, server: str) -> None:
    if shutil.which("curl") is None:
        pytest.skip("there is no curl to run the command with")
    issuer = 'Invented "Lab" of O\'Hara $(touch taken) `id` \\ & ; é'
    with visiting(browser, server) as visit:
        visit.page.click("#rest > summary")
        visit.page.fill("#stone-report-issuer", issuer)
        answer = visit.settled()
        visit.page.context.grant_permissions(["clipboard-read", "clipboard-write"], origin=server)
        visit.page.click("#machine > summary")
        visit.page.get_by_role("button", name="Copy the command").click()
        expect(visit.page.get_by_text("Copied.")).to_be_visible()
        command = visit.page.evaluate("navigator.clipboard.readText()")
        assert command == visit.page.locator("#command").input_value()
        assert visit.request()["stone"]["report"]["issuer"] == issuer
    ran = subprocess.run(["/bin/sh", "-c", command], capture_output=True, check=True, timeout=60)
    assert json.loads(ran.stdout) == answer


def test_a_refused_clipboard_leaves_the_command_selected(browser: Browser, server: str) -> None:
    with visiting(browser, server) as visit:
        visit.page.evaluate(
            "Object.defineProperty(navigator, 'clipboard', { value: undefined });"
            "document.execCommand = () => false"
        )
        visit.page.click("#machine > summary")
        visit.page.get_by_role("button", name="Copy the command").click()
        expect(visit.page.get_by_text("It is selected")).to_be_visible()
        assert visit.page.evaluate("getSelection().toString() === document.getElementById('command').value")


# Paper.


def stream_of(body: bytes) -> str:
    raw = body.split(b"stream", 1)[1].lstrip(b"\r\n").rsplit(b"endstream", 1)[0]
    return (zlib.decompressobj().decompress(raw) if b"FlateDecode" in body else raw).decode("latin-1")


def letters_of(font: bytes, objects: dict[int, bytes]) -> dict[int, str]:
    """What each glyph of a font stands for."""
    reference = re.search(rb"/ToUnicode (\d+) 0 R", font)
    if reference is None:
        return {}
    cmap, found = stream_of(objects[int(reference[1])]), {}
    for first, last, start in re.findall(r"<(\w{4})> <(\w{4})> <(\w{4})>", cmap):
        for offset in range(int(last, 16) - int(first, 16) + 1):
            found[int(first, 16) + offset] = chr(int(start, 16) + offset)
    for glyph, letters in re.findall(r"^<(\w{4})> <(\w+)>$", cmap, re.MULTILINE):
        found[int(glyph, 16)] = bytes.fromhex(letters).decode("utf-16-be")
    return found


def text_of(pdf: bytes) -> str:
    """The text of a PDF as this browser writes it: hexadecimal glyphs, mapped by each font's table."""
    objects = {int(number): body for number, body in re.findall(rb"(\d+) 0 obj(.*?)endobj", pdf, re.DOTALL)}
    fonts = {
        name.decode(): letters_of(objects[int(number)], objects)
        for body in objects.values()
        for name, number in re.findall(rb"/(F\d+) (\d+) 0 R", body)
    }
    text: list[str] = []
    for body in objects.values():
        if b"FlateDecode" not in body or b"/Subtype" in body or b"/Length1" in body:
            continue
        font: dict[int, str] = {}
        for name, shown in re.findall(r"/(F\d+) [\d.]+ Tf|(?:<((?:\w{4})+)>)", stream_of(body)):
            font = fonts.get(name, {}) if name else font
            text += [font.get(int(shown[at : at + 4], 16), "") for at in range(0, len(shown), 4)]
    return "".join(text)


def squeezed(text: str) -> str:
    """Without spaces, and ligatures as their letters: where a line is broken says nothing."""
    return re.sub(r"\s+", "", unicodedata.normalize("NFKC", text))


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_paper_has_the_stone_the_verdict_and_the_notice(browser: Browser, server: str, scheme: Any) -> None:
    with visiting(browser, server, color_scheme=scheme) as visit:
        answer = visit.settled()
        printed = squeezed(text_of(visit.page.pdf(format="A4")))
        wanted = [
            "Ask something has to be learned first.",
            "VS2",
            "is invented",
            answer["notice"],
            *(finding["reason"] for finding in answer["findings"]),
            *(question["ask"] for question in answer["questions"]),
            answer["findings"][0]["source"],
        ]
        assert [words for words in wanted if squeezed(words) not in printed] == []
        assert squeezed("one grade better") not in printed
        assert squeezed("All other fields") not in printed


# When the service is gone.


def test_a_service_that_does_not_answer_can_be_asked_again(browser: Browser, server: str) -> None:
    with visiting(browser, server) as visit:
        visit.settled()
        visit.page.route("**/v1/**", lambda route: route.abort())
        visit.page.fill("#stone-carat", "1.49")
        expect(visit.page.locator("#trouble")).to_contain_text("The service does not answer.")
        expect(visit.page.locator("#word")).to_have_text("No verdict")
        expect(visit.page.locator("#findings li")).to_have_count(0)
        expect(visit.page.locator("#stone-carat")).to_have_value("1.49")
        visit.page.unroute("**/v1/**")
        visit.page.click("#again")
        visit.settled()
        expect(visit.page.locator("#trouble")).to_be_hidden()


def test_a_stopped_service_is_said_and_the_form_kept(browser: Browser) -> None:
    with running_server() as origin:
        context = browser.new_context()
        page = context.new_page()
        page.goto(f"{origin}/bench")
        expect(page.locator("#word")).to_have_text("Ask")
    page.fill("#stone-carat", "1.49")
    expect(page.locator("#trouble")).to_contain_text("The service does not answer.")
    expect(page.locator("#stone-carat")).to_have_value("1.49")
    context.close()


def test_a_service_that_cannot_answer_now_is_said(browser: Browser, server: str) -> None:
    busy = {"title": "Not ready.", "detail": "Try again.", "status": 503}
    with visiting(browser, server) as visit:
        visit.settled()
        visit.page.route("**/v1/evaluations", lambda route: route.fulfill(status=503, json=busy))
        visit.page.fill("#stone-carat", "1.49")
        expect(visit.page.locator("#trouble")).to_contain_text("(503). Not ready. Try again.")
        expect(visit.page.locator("#stone-carat")).to_have_value("1.49")


def test_a_late_answer_to_an_earlier_question_is_not_shown(browser: Browser, server: str) -> None:
    with visiting(browser, server) as visit:
        visit.settled()
        late: list[Route] = []
        visit.page.route("**/v1/evaluations", lambda route: late.append(route), times=1)  # noqa: PLW0108
        visit.page.select_option("#stone-clarity", "I3")
        visit.page.wait_for_timeout(400)
        earlier = visit.judged()
        assert (len(late), earlier["verdict"]) == (1, "fail")
        visit.page.select_option("#stone-clarity", "VS1")
        answer = visit.settled()
        with suppress(Error):  # nobody waits for it any more
            late[0].fulfill(json=earlier)
        visit.page.wait_for_timeout(200)
        expect(visit.page.locator("#word")).to_have_text(WORDS[answer["verdict"]])
        assert answer["verdict"] == "pass"


def test_words_that_the_page_does_not_know_are_shown_as_they_are(browser: Browser, server: str) -> None:
    with visiting(browser, server) as visit:
        answer = visit.settled()
        answer["verdict"] = "undecided"
        answer["findings"][0] |= {"verdict": "doubt", "topic": HOSTILE}
        answer["measures"] |= {"sparkle": 9.5}
        visit.page.route("**/v1/evaluations", lambda route: route.fulfill(json=answer))
        visit.page.fill("#stone-carat", "1.49")
        expect(visit.page.locator("#word")).to_have_text("undecided")
        expect(visit.page.locator("#findings .head").first).to_contain_text(f"doubt{HOSTILE}")
        expect(visit.page.locator("[data-measure=sparkle]")).to_have_text("sparkle9.5")
        assert visit.page.title() == "gradefloor: the bench"


# Color and room.

TEXTS: Final = """() => {
  const probe = document.createElement("canvas").getContext("2d", { willReadFrequently: true });
  const channels = (color) => {
    probe.clearRect(0, 0, 1, 1);
    probe.fillStyle = color;
    probe.fillRect(0, 0, 1, 1);
    const [r, g, b, a] = probe.getImageData(0, 0, 1, 1).data;
    return [r, g, b, a / 255];
  };
  const found = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const node = walker.currentNode;
    const parent = node.parentElement;
    const hidden = !parent.checkVisibility() || parent.closest("option, script, noscript");
    if (node.data.trim() === "" || hidden) continue;
    const grounds = [];
    for (let at = node.parentElement; at; at = at.parentElement)
      grounds.push(channels(getComputedStyle(at).backgroundColor));
    const ground = grounds.reverse().reduce(
      (below, top) => below.map((one, at) => top[at] * top[3] + one * (1 - top[3])), [255, 255, 255]);
    found.push([node.data.trim(), channels(getComputedStyle(node.parentElement).color).slice(0, 3), ground]);
  }
  for (const field of document.querySelectorAll("input, select, textarea"))
    if (field.checkVisibility()) {
      const style = getComputedStyle(field);
      found.push([field.id, channels(style.color).slice(0, 3), channels(style.backgroundColor).slice(0, 3)]);
    }
  for (const mark of document.querySelectorAll(".mark"))
    if (mark.checkVisibility()) {
      const style = getComputedStyle(mark);
      const before = getComputedStyle(mark, "::before");
      const filled = channels(style.backgroundColor)[3] > 0;
      const page = channels(getComputedStyle(document.body).backgroundColor).slice(0, 3);
      const ground = filled ? channels(style.backgroundColor).slice(0, 3) : page;
      const ink = mark.dataset.verdict === "pass" ? before.borderRightColor : before.color;
      found.push([`mark of ${mark.dataset.verdict}`, channels(ink).slice(0, 3), ground]);
    }
  return found;
}"""


def luminance(color: list[float]) -> float:
    linear = [v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in (c / 255 for c in color)]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: list[float], other: list[float]) -> float:
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_text_stands_out_from_its_ground(browser: Browser, server: str, scheme: Any) -> None:
    with visiting(browser, server, color_scheme=scheme, reduced_motion="reduce") as visit:
        visit.keep("oval", "8.6", "6.3")
        visit.page.select_option("#stone-clarity", "I1")
        visit.settled()
        visit.page.fill("#stone-table_pct", "x")
        expect(visit.page.locator("#stone-table_pct-fault")).to_be_visible()
        refused = visit.page.evaluate(TEXTS)
        visit.page.fill("#stone-table_pct", "64")
        visit.settled()
        visit.page.evaluate("for (const one of document.querySelectorAll('details')) one.open = true")
        texts = [*refused, *visit.page.evaluate(TEXTS)]
        assert {f"mark of {verdict}" for verdict in ("pass", "ask", "fail", "note")} <= {
            text for text, _, _ in texts
        }
        assert {
            text: contrast(ink, ground) for text, ink, ground in texts if contrast(ink, ground) < 4.5
        } == {}


@pytest.mark.parametrize("width", [320, 360, 768, 1280])
def test_nothing_is_wider_than_the_page(browser: Browser, server: str, width: int) -> None:
    with visiting(browser, server, width=width) as visit:
        visit.page.click("#rest > summary")
        visit.page.fill("#stone-report-issuer", "W" * 60)
        visit.settled()
        visit.page.click("#keep")
        expect(visit.page.locator("#beside .card")).to_have_count(1)
        visit.paste("W" * 3000)
        expect(visit.page.locator("#reading")).to_contain_text("Nothing went into the form")
        visit.page.evaluate("for (const one of document.querySelectorAll('details')) one.open = true")
        assert visit.page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_what_is_touched_is_large_enough(browser: Browser, server: str) -> None:
    with visiting(browser, server, width=360, has_touch=True) as visit:
        visit.settled()
        visit.page.click("#keep")
        visit.page.evaluate("for (const one of document.querySelectorAll('main details')) one.open = true")
        small = visit.page.locator("main").evaluate(
            """(main) => [...main.querySelectorAll(
                "button, select, input:not([type=checkbox]), textarea, summary, .several label")]
              .filter((one) => one.checkVisibility())
              .map((one) => [one.textContent.trim() || one.id, one.getBoundingClientRect().height])
              .filter(([, height]) => height < 40)"""
        )
        assert small == []


def test_everything_has_a_name(browser: Browser, server: str) -> None:
    with visiting(browser, server) as visit:
        visit.settled()
        visit.page.click("#keep")
        visit.page.evaluate("for (const one of document.querySelectorAll('main details')) one.open = true")
        for element in visit.page.locator("main :is(button, select, input, textarea, [role=region])").all():
            if element.is_visible():
                expect(element).to_have_accessible_name(re.compile(r"\S"))
