"""The bench, as a real browser shows it: what it says of a stone is held against the service's own answers.

All stones are invented. Quoting for a shell: a real shell runs the command.
"""

import asyncio
import json
import re
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final
from urllib.parse import urlsplit

import httpx
import pytest
from fastapi import FastAPI
from playwright.sync_api import Browser, Error, Route, expect

from at_the_bench import HOSTILE, WORDS, visiting
from browsing import CHANNELS, chromium, faint, fits, texts_of
from gradefloor.rules.catalog import Catalog
from gradefloor.trade.stones import Context, Stone
from gradefloor.web import bench
from gradefloor.web.bench_words import SPELLINGS
from gradefloor.web.service import Service
from running import ASK, running_server

ASSETS: Final = Path(__file__).parents[2] / "service/gradefloor/web/assets"
SCRIPTS: Final = sorted([*ASSETS.glob("bench*.js"), ASSETS / "stone-form.js"])
WIDTHS: Final = (1280, pytest.param(360, marks=pytest.mark.long))
MARKING: Final = (
    "innerHTML", "outerHTML", "insertAdjacentHTML", "document.write", "eval(", "new Function",
    "createContextualFragment", "DOMParser", "setHTML", "srcdoc",
)  # fmt: skip

# What the page serves.


@pytest.mark.long
def test_the_page_has_no_code_or_style_of_its_own(client: httpx.Client) -> None:
    response = client.get("/bench")
    assert response.status_code == 200
    assert response.headers["content-security-policy"].startswith("default-src 'none'")
    assert re.findall(r"<script(?![^>]*\ssrc=\"/assets/)", response.text) == []
    assert re.findall(r"<style|\sstyle=|\son[a-z]+=|javascript:", response.text) == []
    addresses = re.findall(r'(?:src|href)="([^"]*)"', response.text)
    assert [address for address in addresses if not address.startswith(("/", "#"))] == []


@pytest.mark.long
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


@pytest.mark.long
def test_the_form_has_every_field_of_a_stone_and_of_its_context(client: httpx.Client) -> None:
    paths = re.findall(r'data-path="([^"]+)"', client.get("/bench").text)
    wire = {*leaves(Stone, "stone"), *leaves(Context, "context"), "ruleset", "as_of"}
    assert len(paths) == len(set(paths))
    assert {path for path in paths if not path.startswith("finger.")} == wire


@pytest.mark.long
def test_the_rule_sets_to_choose_from_are_those_about_stones(client: httpx.Client) -> None:
    (chosen,) = re.findall(r'<select id="ruleset".*?</select>', client.get("/bench").text, re.DOTALL)
    offered = set(re.findall(r'value="([^"]+)"', chosen))
    for entry in client.get("/v1/rulesets").json()["rulesets"]:
        exact = {f"{entry['name']}@{version['version']}" for version in entry["versions"]}
        assert (exact <= offered) is (entry["name"] != "wording")
    for reference in offered:
        stone = {"stone": {"shape": "oval"}, "ruleset": reference}
        assert client.post("/v1/evaluations", json=stone).status_code == 200


@pytest.mark.long
def test_the_page_follows_the_catalogue(catalog: Catalog) -> None:
    service = Service(Catalog({"house": catalog.releases["house"][:1]}))
    app = FastAPI()
    bench.routes(app, service)

    async def served() -> str:
        async with httpx.AsyncClient(transport=httpx.ASGITransport(app), base_url="http://bench") as client:
            return (await client.get("/bench")).text

    assert 'value="strict"' not in asyncio.run(served())
    service.renew(catalog, None)
    assert 'value="strict"' in asyncio.run(served())


def chosen_from(service: Service) -> dict[str, str]:
    """The rule sets that the page offers, by the word that is sent."""
    app = FastAPI()
    bench.routes(app, service)

    async def served() -> str:
        async with httpx.AsyncClient(transport=httpx.ASGITransport(app), base_url="http://bench") as client:
            return (await client.get("/bench")).text

    (select,) = re.findall(r'<select id="ruleset".*?</select>', asyncio.run(served()), re.DOTALL)
    return dict(re.findall(r'<option value="([^"]+)"[^>]*>([^<]*)<', select))


@pytest.mark.parametrize(
    ("day", "newest", "exact"),
    [
        ("2025-12-31", None, "house 1.0.0 (from 2026-01-01)"),
        ("2026-01-01", "house, newest in force", "house 1.0.0"),
    ],
)
@pytest.mark.long
def test_what_is_not_in_force_yet_is_offered_by_its_version_with_its_first_day(
    catalog: Catalog, day: str, newest: str | None, exact: str
) -> None:
    now = datetime.fromisoformat(f"{day}T12:00:00+00:00")
    offered = chosen_from(Service(catalog, clock=lambda: now))
    assert offered.get("house") == newest
    assert offered["house@1.0.0"] == exact
    assert offered["house@1.1.0"] == "house 1.1.0 (from 2026-11-25)"


@pytest.mark.long
def test_the_list_of_rule_sets_follows_the_day(catalog: Catalog) -> None:
    days = iter([datetime(2025, 12, 31, 12, tzinfo=UTC), datetime(2026, 1, 1, 12, tzinfo=UTC)])
    today = [next(days)]
    service = Service(catalog, clock=lambda: today[0])
    assert "house" not in chosen_from(service)
    today[0] = next(days)
    assert "house" in chosen_from(service)


@pytest.mark.long
def test_systems_of_sizes_have_names_of_their_own(client: httpx.Client) -> None:
    (select,) = re.findall(r'<select id="finger-system".*?</select>', client.get("/bench").text, re.DOTALL)
    shown = re.findall(r"<option[^>]*>([^<]*)<", select)
    assert len(shown) == len(set(shown)) == 6
    assert {"UK (metric letters)", "UK (older inch letters)"} < set(shown)


@pytest.mark.long
def test_the_page_has_a_mark_of_its_own(client: httpx.Client) -> None:
    (address,) = re.findall(r'<link rel="icon" href="([^"]*)"', client.get("/bench").text)
    mark = client.get(address)
    assert (mark.status_code, mark.headers["content-type"]) == (200, "image/svg+xml")


@pytest.mark.long
def test_no_word_of_a_row_stands_for_two_fields() -> None:
    words = [word for words in SPELLINGS.values() for word in words]
    assert len(words) == len(set(words))
    assert "LG" not in words
    assert not {"culet", "girdle"} & SPELLINGS.keys()


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda path: path.name)
@pytest.mark.long
def test_no_script_reads_text_as_mark_up(script: Path) -> None:
    text = script.read_text(encoding="utf-8")
    assert [way for way in MARKING if way in text] == []
    assert len(text.splitlines()) <= 400


# In a browser.


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as browser:
        yield browser


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


@pytest.mark.long
def test_a_stone_of_ones_own_is_not_called_invented(browser: Browser, server: str) -> None:
    with visiting(browser, server) as visit:
        visit.page.fill("#stone-carat", "1.51")
        visit.settled()
        expect(visit.page.locator("#invented")).to_be_hidden()


@pytest.mark.long
def test_measures_are_those_of_the_answer(browser: Browser, server: str) -> None:
    with visiting(browser, server) as visit:
        answer = visit.settled()
        shown = visit.page.locator("#measures > div:visible").evaluate_all(
            "(rows) => rows.map((row) => [row.dataset.measure, row.querySelector('dd').textContent])"
        )
        assert {
            name: float(text) if re.fullmatch("[-0-9.]+", text) else text for name, text in shown
        } == answer["measures"]


@pytest.mark.long
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
@pytest.mark.long
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


@pytest.mark.long
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


@pytest.mark.long
def test_a_range_goes_out_as_a_range(browser: Browser, server: str) -> None:
    with visiting(browser, server) as visit:
        visit.page.click("#rest > summary")
        visit.page.select_option("#stone-color-to", "H")
        visit.settled()
        assert visit.request()["stone"]["color"] == "G-H"


@pytest.mark.long
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


@pytest.mark.long
def test_what_would_be_taken_out_is_not_supposed(browser: Browser, server: str) -> None:
    with visiting(browser, server) as visit:
        answer = visit.settled()
        kept = answer["findings"][0]
        kept["change"] = [{"field": "stone.clarity", "value": None}]
        answer["findings"] = [kept]
        visit.page.route("**/v1/evaluations", lambda route: route.fulfill(json=answer))
        visit.page.fill("#stone-carat", "1.49")
        visit.quiet()
        expect(visit.page.locator("#findings .finding")).to_have_count(1)
        expect(visit.page.locator(".suppose")).to_have_count(0)


@pytest.mark.long
def test_words_are_shown_with_spaces(browser: Browser, server: str) -> None:
    stone = {
        "shape": "round", "length_mm": 7.4, "width_mm": 7.0, "origin": "laboratory_grown",
        "treatments": ["fracture_filled"], "girdle_min": "very_thin", "girdle_max": "extremely_thick",
        "report": {"issuer": "Invented_House"},
    }  # fmt: skip
    with visiting(browser, server) as visit:
        visit.paste(json.dumps(stone))
        answer = visit.settled()
        assert "_" in json.dumps([finding["observed"] for finding in answer["findings"]])
        visit.page.click("#keep")
        expect(visit.page.locator("#beside .card")).to_have_count(1)
        visit.page.evaluate("for (const one of document.querySelectorAll('details')) one.open = true")
        visit.page.evaluate(
            "for (const one of document.querySelectorAll('.finding dl a, option')) one.remove()"
        )
        for media in ("screen", "print"):
            visit.page.emulate_media(media=media)
            assert re.findall(r"\w*[a-z]_[a-z]\w*", visit.page.locator("main").inner_text()) == []


@pytest.mark.long
def test_the_bench_is_for_rings_until_a_person_says_otherwise(browser: Browser, server: str) -> None:
    with visiting(browser, server) as visit:
        visit.page.click("#clear")
        visit.page.select_option("#stone-shape", "oval")
        visit.settled()
        assert visit.request()["context"] == {"jewelry": "ring"}
        visit.page.select_option("#context-jewelry", "")
        visit.settled()
        assert "context" not in visit.request()
        visit.page.click("#clear")
        expect(visit.page.locator("#context-jewelry")).to_have_value("")


def test_what_is_refused_is_said_at_its_field(browser: Browser, server: str) -> None:
    with visiting(browser, server) as visit:
        visit.settled()
        visit.page.fill("#stone-carat", "-3")
        fault = visit.page.locator("#stone-carat-fault")
        expect(fault).to_be_visible()
        refused = ASK.post(f"{server}/v1/evaluations", json=visit.request())
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


@pytest.mark.long
def test_a_number_that_nobody_can_tell_is_not_guessed(browser: Browser, server: str) -> None:
    with visiting(browser, server) as visit:
        visit.page.fill("#stone-length_mm", "8,1")
        visit.settled()
        assert visit.request()["stone"]["length_mm"] == 8.1
        visit.page.fill("#stone-length_mm", "1,234")
        expect(visit.page.locator("#stone-length_mm-fault")).to_be_visible()


# Drawings.


@pytest.mark.long
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


@pytest.mark.long
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


# When the service is gone.


@pytest.mark.long
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


@pytest.mark.long
def test_a_service_that_cannot_answer_now_is_said(browser: Browser, server: str) -> None:
    busy = {"title": "Not ready.", "detail": "Try again.", "status": 503}
    with visiting(browser, server) as visit:
        visit.settled()
        visit.page.route("**/v1/evaluations", lambda route: route.fulfill(status=503, json=busy))
        visit.page.fill("#stone-carat", "1.49")
        expect(visit.page.locator("#trouble")).to_contain_text("(503). Not ready. Try again.")
        expect(visit.page.locator("#stone-carat")).to_have_value("1.49")


@pytest.mark.parametrize("status", [401, 403, 429])
@pytest.mark.long
def test_who_may_not_ask_is_told_why(browser: Browser, server: str, status: int) -> None:
    why = {"title": "A key is needed.", "detail": "Send it.", "status": status}
    with visiting(browser, server) as visit:
        visit.settled()
        visit.page.click("#keep")
        visit.page.route(
            "**/v1/**",
            lambda route: route.fulfill(status=status, json=why, content_type="application/problem+json"),
        )
        visit.page.select_option("#context-metal", "silver")
        visit.quiet()
        expect(visit.page.locator("#trouble")).to_contain_text(f"({status}). A key is needed. Send it.")
        expect(visit.page.locator("#word")).to_have_text("No verdict")
        visit.paste("oval 1.01 ct G VS1")
        expect(visit.page.locator("#reading")).to_contain_text("A key is needed. Send it.")
        visit.page.unroute("**/v1/**")
        visit.page.click("#again")
        visit.settled()
        expect(visit.page.locator("#beside .card")).to_have_count(1)


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


@pytest.mark.long
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

MARKS: Final = f"""() => {{
  {CHANNELS}
  return [...document.querySelectorAll(".mark")].filter((mark) => mark.checkVisibility()).map((mark) => {{
    const style = getComputedStyle(mark);
    const before = getComputedStyle(mark, "::before");
    const filled = channels(style.backgroundColor)[3] > 0;
    const ground = filled ? style.backgroundColor : getComputedStyle(document.body).backgroundColor;
    const ink = mark.dataset.verdict === "pass" ? before.borderRightColor : before.color;
    return [`mark of ${{mark.dataset.verdict}}`, channels(ink).slice(0, 3), channels(ground).slice(0, 3)];
  }});
}}"""
SCHEMES: Final = ["light", pytest.param("dark", marks=pytest.mark.long)]


@pytest.mark.parametrize("scheme", SCHEMES)
def test_every_text_stands_out_from_its_ground(browser: Browser, server: str, scheme: Any) -> None:
    with visiting(browser, server, color_scheme=scheme, reduced_motion="reduce") as visit:
        visit.keep("oval", "8.6", "6.3")
        visit.page.select_option("#stone-clarity", "I1")
        visit.settled()
        visit.page.fill("#stone-table_pct", "x")
        expect(visit.page.locator("#stone-table_pct-fault")).to_be_visible()
        refused = texts_of(visit.page)
        visit.page.fill("#stone-table_pct", "64")
        visit.settled()
        visit.page.evaluate("for (const one of document.querySelectorAll('details')) one.open = true")
        marks = [(name, ink, ground) for name, ink, ground in visit.page.evaluate(MARKS)]
        assert {f"mark of {verdict}" for verdict in ("pass", "ask", "fail", "note")} <= {
            name for name, _, _ in marks
        }
        assert faint([*refused, *texts_of(visit.page), *marks]) == {}


@pytest.mark.parametrize(
    "width", [320, *(pytest.param(width, marks=pytest.mark.long) for width in (360, 768, 1280))]
)
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
        assert fits(visit.page)


@pytest.mark.long
def test_the_sign_of_a_note_is_a_letter_in_a_circle(browser: Browser, server: str) -> None:
    with visiting(browser, server) as visit:
        visit.settled()
        visit.page.click("#quiet > summary")
        sign = visit.page.locator(".mark[data-verdict=note]").first
        for media in ("screen", "print"):
            visit.page.emulate_media(media=media)
            expect(sign).to_have_css("border-top-style", "solid")
            expect(sign).to_have_css("border-top-left-radius", "50%")


@pytest.mark.long
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
