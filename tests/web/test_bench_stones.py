"""Stones at the bench: pasted, kept beside each other, and printed. All of them are invented.

Text on paper is read out of the PDF by the mapping to Unicode that each of its fonts brings along
(ISO 32000-1, 9.10.3); margins are those that the PDF clips its pages to.
"""

import json
import re
import unicodedata
import zlib
from collections.abc import Iterator
from typing import Any, Final

import pytest
from playwright.sync_api import Browser, expect

from at_the_bench import HOSTILE, Visit, visiting
from browsing import chromium, fits
from running import ASK

WIDTHS: Final = (1280, pytest.param(360, marks=pytest.mark.long))


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as browser:
        yield browser


@pytest.fixture(scope="module")
def counter(browser: Browser, server: str) -> Iterator[Visit]:
    """One visit for many rows."""
    with visiting(browser, server) as visit:
        yield visit


@pytest.fixture
def empty(counter: Visit) -> Visit:
    """The bench without any stone."""
    counter.page.click("#clear")
    counter.quiet()
    return counter


# Pasted.

ROW: Final = "emerald, 1.02 ct, F, VS1, 6.52 x 4.81 x 3.10"
TABLE: Final = (
    "Shape\tCarat\tColor\tClarity\tMeasurements\tPolish\tStock\n"
    "oval\t1.31\tG\tSI1\t8.61 x 6.02 x 3.70\tVG\tX-1"
)


@pytest.mark.parametrize(
    "text", [ROW, ROW.replace(",", ""), TABLE.replace("\t", ";"), TABLE, TABLE.replace("\t", ",")]
)
def test_a_row_is_read_into_the_form(empty: Visit, text: str) -> None:
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
    empty.paste(text)
    expect(empty.page.locator("#reading")).to_contain_text("Read into the form")
    empty.settled()
    assert empty.request()["stone"].items() >= expected.items()
    assert empty.request()["context"] == {"jewelry": "ring"}


@pytest.mark.long
def test_what_stays_open_is_said(empty: Visit) -> None:
    empty.paste("Shape,Color,Clarity,Remarkable\noval,G,VVVS,yes")
    said = empty.page.locator("#reading")
    expect(said).to_contain_text("VVVS")
    expect(said).to_contain_text("Which clarity grade does the report state?")
    expect(said).to_contain_text("Remarkable “yes”")
    assert "clarity" not in empty.request()["stone"]


@pytest.mark.long
def test_of_several_rows_a_person_chooses(empty: Visit) -> None:
    empty.paste("Shape,Carat,Color,Clarity\noval,1.01,G,VS1\npear,1.02,H,VS2")
    empty.page.get_by_role("button", name="2: pear 1.02 H VS2").click()
    empty.settled()
    assert empty.request()["stone"]["shape"] == "pear"


@pytest.mark.long
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
@pytest.mark.long
def test_hostile_text_stays_text(browser: Browser, server: str, text: str) -> None:
    with visiting(browser, server) as visit:
        visit.paste(text)
        expect(visit.page.locator("#reading")).to_contain_text("onerror")
        visit.page.wait_for_timeout(500)
        assert visit.page.title() == "gradefloor: the bench"
        assert visit.page.locator("img[src=x], main script").count() == 0


@pytest.mark.long
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
@pytest.mark.long
def test_an_address_that_holds_nothing_readable_is_passed_over(
    browser: Browser, server: str, fragment: str
) -> None:
    with visiting(browser, server, fragment=fragment) as visit:
        visit.settled()
        expect(visit.page.locator("#invented")).to_be_visible()


FREE_ROWS: Final[list[tuple[str, dict[str, Any], list[str]]]] = [
    (
        "oval 1.11ct G/VS1 EX VG EX NONE GIA 1234567890 8.00x5.80x3.77 lab grown",
        {
            "color": "G", "clarity": "VS1", "polish": "very_good", "symmetry": "excellent",
            "cut_grade": "excellent", "fluorescence": "none", "origin": "laboratory_grown",
            "report": {"issuer": "GIA", "number": "1234567890"}, "width_mm": 5.8,
        },
        [],
    ),
    (
        "round 1,02 ct H-I VS 3X NON IGI eyeclean 6,45-6,48x3,98",
        {
            "carat": 1.02, "color": "H-I", "clarity": "VS1-VS2", "cut_grade": "excellent",
            "polish": "excellent", "symmetry": "excellent", "fluorescence": "none", "length_mm": 6.45,
            "width_mm": 6.48, "depth_mm": 3.98, "report": {"issuer": "IGI"},
            "observations": {"eye_clean": True, "seen_by": "supplier"},
        },
        [],
    ),
    ("round VS1 3X 1.02 ct", {"clarity": "VS1", "carat": 1.02, "polish": "excellent"}, []),
    ("round 1.01 ct G VS1 6.5mm", {"length_mm": 6.5, "width_mm": 6.5}, []),
    ("oval 1.01 ct G VS1 CVD", {"origin": "laboratory_grown"}, []),
    ("oval, 1.01 ct, LGD, VS1", {"origin": "laboratory_grown"}, []),
    ("oval, 1.01 ct, lab, VS1", {"origin": "laboratory_grown"}, []),
    ("oval 1.01 ct fracture filled", {"treatments": ["fracture_filled"]}, []),
    ("oval 1.01 ct clarity enhanced", {"treatments": ["other"]}, ["clarity enhanced"]),
    ("oval 1.01 ct lab grown HPHT", {"origin": "laboratory_grown", "treatments": ["hpht"]}, ["HPHT"]),
    ("oval; 1.01 ct; moissanite", {"material": "moissanite"}, []),
]  # fmt: skip


@pytest.mark.parametrize(("row", "read", "warned"), FREE_ROWS, ids=[row for row, _, _ in FREE_ROWS])
@pytest.mark.long
def test_what_suppliers_write_for_short_is_read(
    empty: Visit, row: str, read: dict[str, Any], warned: list[str]
) -> None:
    empty.paste(row)
    empty.settled()
    stone = empty.request()["stone"]
    if row.startswith("oval") and "EX" in row:  # the service says itself that ovals have no such grade
        read = {name: value for name, value in read.items() if name in stone or name != "cut_grade"}
    assert {name: stone.get(name) for name in read} == read
    expect(empty.page.locator("#reading")).not_to_contain_text("not read")
    warnings = empty.page.locator("#warned li")
    expect(warnings).to_have_count(len(warned))
    for words in warned:
        expect(warnings.filter(has_text=words)).to_contain_text("?")


@pytest.mark.parametrize("word", ["LG", "VS", "M", "thin", "pointed", "medium"])
def test_a_cell_without_header_never_tells_of_culet_or_girdle(empty: Visit, word: str) -> None:
    empty.paste(f"oval, 1.01 ct, {word}, 8.00 x 5.80 x 3.77")
    stone = empty.settled() and empty.request()["stone"]
    assert stone["length_mm"] == 8
    assert not {"culet", "girdle_min", "girdle_max"} & stone.keys()


@pytest.mark.parametrize(
    ("row", "told", "about"),
    [
        ("oval 1.01 ct G VS1 LG", "“LG” (word 6)", "Natural or laboratory-grown?"),
        ("oval, 1.01 ct, LG, G, VS1", "“LG” (cell 3)", "Natural or laboratory-grown?"),
        ("oval 1.01 ct G VS1 8.00 x 5.80 fracture", "“fracture” (word 9)", "treated"),
        ("oval 1.01 ct natural CVD", "“CVD” (word 5)", "Natural or laboratory-grown?"),
        ("oval 1.01 ct pinkish VS1", "“pinkish” (word 4)", "fancy color"),
        ("oval 1.01 ct HPHT", "“HPHT”", "Grown in a laboratory, or mined and treated?"),
        ("Shape\tType\noval\tLab Grown", "Type “Lab Grown”", "Natural or laboratory-grown?"),
        ('{"shape": "oval", "enhanced": "yes"}', "enhanced", "treated"),
    ],
)
def test_a_weighty_word_left_unread_stands_above_the_verdict(
    empty: Visit, row: str, told: str, about: str
) -> None:
    empty.paste(row if "{" not in row else row.replace('"oval"', '"oval", "color": "G"'))
    empty.quiet()
    warning = empty.page.locator("#warned li").filter(has_text=told)
    expect(warning).to_contain_text(about)
    boxes = [empty.page.locator(place).bounding_box() for place in ("#warned", "#verdict")]
    assert boxes[0] is not None
    assert boxes[1] is not None
    assert boxes[0]["y"] + boxes[0]["height"] <= boxes[1]["y"]
    expect(empty.page.locator("#sense")).to_contain_text("without what is warned of above")


@pytest.mark.long
def test_a_warning_stays_over_a_reload_and_on_the_card_until_it_is_settled(
    browser: Browser, server: str
) -> None:
    with visiting(browser, server) as visit:
        visit.paste("oval 1.01 ct G VS1 LG fracture")
        visit.quiet()
        visit.page.click("#keep")
        expect(visit.page.locator("#beside .card")).to_contain_text("“LG” (word 6)")
        visit.page.reload()
        visit.quiet()
        expect(visit.page.locator("#beside .card")).to_contain_text("“LG” (word 6)")
        warnings = visit.page.locator("#warned li")
        expect(warnings).to_have_count(2)
        visit.page.select_option("#stone-origin", "laboratory_grown")
        expect(warnings).to_have_count(1)
        expect(warnings).to_contain_text("fracture")
        warnings.get_by_role("button").click()
        expect(visit.page.locator("#warned")).to_be_hidden()


@pytest.mark.long
def test_an_ordinary_word_left_unread_is_told_by_its_place_and_warns_of_nothing(empty: Visit) -> None:
    empty.paste("oval 1.01 ct bargain G VS1")
    expect(empty.page.locator("#reading")).to_contain_text("not read: “bargain” (word 4)")
    expect(empty.page.locator("#warned")).to_be_hidden()


@pytest.mark.long
def test_a_fancy_color_is_not_judged_by_the_letters(browser: Browser, server: str) -> None:
    with visiting(browser, server) as visit:
        visit.settled()
        before = visit.request()
        visit.paste("oval 1.01 ct Fancy Light Yellow VS1")
        expect(visit.page.locator("#reading")).to_contain_text("“Fancy Light Yellow” is a fancy color")
        warned = visit.page.locator("#warned li")
        expect(warned).to_contain_text("did not go into the form")
        assert visit.request() == before
        visit.page.fill("#stone-carat", "1.01")
        expect(warned).to_have_count(0)


@pytest.mark.long
def test_pasting_over_the_example_takes_its_setting_away(browser: Browser, server: str) -> None:
    with visiting(browser, server) as visit:
        visit.paste(ROW)
        visit.settled()
        assert visit.request()["context"] == {"jewelry": "ring"}
        expect(visit.page.locator("#finger-size")).to_have_value("")
        visit.page.select_option("#context-metal", "rose_gold")
        visit.paste(ROW)
        visit.settled()
        assert visit.request()["context"] == {"jewelry": "ring", "metal": "rose_gold"}


@pytest.mark.parametrize("act", ["clear", "shape", "back", "error"])
@pytest.mark.long
def test_what_was_read_and_drawn_of_a_stone_goes_with_it(browser: Browser, server: str, act: str) -> None:
    with visiting(browser, server) as visit:
        visit.quiet()
        visit.page.click("#keep")
        visit.paste(ROW.replace("emerald", "oval"))
        visit.settled()
        visit.page.click("#ratios > summary")
        picture = visit.page.locator("[data-figure=ratios] img")
        expect(picture).to_be_visible()
        drawn = picture.get_attribute("src")
        if act == "clear":
            visit.page.click("#clear")
        elif act == "shape":
            visit.page.select_option("#stone-shape", "pear")
        elif act == "back":
            visit.page.get_by_role("button", name="Bring A back to the form").click()
        else:
            visit.page.fill("#stone-carat", "-1")
        visit.quiet()
        expect(visit.page.locator("#reading")).to_be_empty()
        if act != "shape":
            expect(visit.page.locator("#moves")).to_be_hidden()
        assert picture.get_attribute("src") != drawn
        assert (picture.get_attribute("src") is None) is (act in {"clear", "error"})


# Beside each other.


@pytest.mark.parametrize(
    ("stone", "name"),
    [
        ({"origin": "laboratory_grown"}, "Laboratory-grown diamond, oval 1.3 ct"),
        ({"origin": "natural", "material": "diamond"}, "Natural diamond, oval 1.3 ct"),
        ({}, "Origin not stated, oval 1.3 ct"),
        ({"material": "moissanite"}, "Moissanite, oval 1.3 ct"),
        (
            {"origin": "natural", "treatments": ["fracture_filled", "other"]},
            "Natural diamond, oval, fracture filled, treated 1.3 ct",
        ),
    ],
)
@pytest.mark.long
def test_a_card_begins_with_what_the_stone_is(empty: Visit, stone: dict[str, Any], name: str) -> None:
    empty.paste(json.dumps({"shape": "oval", "carat": 1.3, **stone}))
    empty.quiet()
    empty.page.click("#keep")
    expect(empty.page.locator("#beside .card h3")).to_have_text(f"A {name}")
    empty.page.get_by_role("button", name="Take A out").click()


KEPT: Final = [
    ("emerald", "8.0", "5.8"),
    ("oval", "8.6", "6.3"),
    ("pear", "9.4", "6.0"),
    ("round", "7.3", "7.35"),
]


def compared(visit: Visit, stones: list[dict[str, Any]]) -> dict[str, Any]:
    around = {name: value for name, value in visit.request().items() if name != "stone"}
    response = ASK.post(f"{visit.origin}/v1/comparisons", json={**around, "stones": stones})
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
        assert fits(visit.page)


def test_a_fifth_stone_is_refused_kindly_and_stays_in_the_form(browser: Browser, server: str) -> None:
    with visiting(browser, server) as visit:
        for shape, length, across in KEPT:
            visit.keep(shape, length, across)
        visit.keep("marquise", "10.0", "5.0")
        expect(visit.page.locator("#tray-said")).to_contain_text("4 stones are kept, which is all that fit.")
        expect(visit.page.locator("#beside .card")).to_have_count(4)
        expect(visit.page.locator("#stone-shape")).to_have_value("marquise")


@pytest.mark.long
def test_the_same_stone_is_kept_once(browser: Browser, server: str) -> None:
    with visiting(browser, server) as visit:
        visit.settled()
        visit.page.click("#keep")
        visit.page.click("#keep")
        expect(visit.page.locator("#tray-said")).to_have_text("This stone is kept already, as A.")
        expect(visit.page.locator("#beside .card")).to_have_count(1)


@pytest.mark.long
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


def page_texts(pdf: bytes) -> list[str]:
    """The text of each page as this browser writes it: hexadecimal glyphs, mapped by each font's table."""
    objects = {int(number): body for number, body in re.findall(rb"(\d+) 0 obj(.*?)endobj", pdf, re.DOTALL)}
    fonts = {
        name.decode(): letters_of(objects[int(number)], objects)
        for body in objects.values()
        for name, number in re.findall(rb"/(F\d+) (\d+) 0 R", body)
    }
    texts = []
    for commands in pages_of(pdf):
        text: list[str] = []
        font: dict[int, str] = {}
        for name, shown in re.findall(r"/(F\d+) [\d.]+ Tf|(?:<((?:\w{4})+)>)", commands):
            font = fonts.get(name, {}) if name else font
            text += [font.get(int(shown[at : at + 4], 16), "") for at in range(0, len(shown), 4)]
        texts.append("".join(text))
    return texts


def pages_of(pdf: bytes) -> list[str]:
    """The drawing commands of each page, in order."""
    objects = dict(re.findall(rb"(\d+) 0 obj(.*?)endobj", pdf, re.DOTALL))
    (kids,) = re.findall(rb"/Kids \[([^\]]*)\]", next(o for o in objects.values() if b"/Type /Pages" in o))
    pages = [objects[number] for number in re.findall(rb"(\d+) 0 R", kids)]
    contents = [re.findall(rb"/Contents (\d+) 0 R", page)[0] for page in pages]
    return [stream_of(objects[number]) for number in contents]


def squeezed(text: str) -> str:
    """Without spaces, and ligatures as their letters: where a line is broken says nothing."""
    return re.sub(r"\s+", "", unicodedata.normalize("NFKC", text))


@pytest.mark.parametrize("scheme", ["light", pytest.param("dark", marks=pytest.mark.long)])
def test_paper_has_the_stone_the_verdict_and_the_notice(browser: Browser, server: str, scheme: Any) -> None:
    with visiting(browser, server, color_scheme=scheme) as visit:
        answer = visit.settled()
        for picture in visit.page.locator("#figures img").all():
            expect(picture).to_be_visible()
        printed = squeezed("".join(page_texts(visit.page.pdf(format="A4"))))
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


@pytest.mark.long
def test_figures_keep_off_the_edge_of_the_paper(browser: Browser, server: str) -> None:
    """A clip of `x y width height` in device units, of which 0.24 are a point; 28 points are 10 mm."""
    with visiting(browser, server) as visit:
        visit.settled()
        pages = pages_of(visit.page.pdf(format="A4"))
        for page in pages:
            (scale,) = re.findall(r"^([.\d]+) 0 0 -", page)
            x, y, width, height = (
                float(v) * float(scale) for v in re.findall(r"([-.\d ]+) re\s+W", page)[0].split()
            )
            assert min(x, y, 595 - x - width, 842 - y - height) >= 28


@pytest.mark.long
def test_paper_tells_nothing_of_clicking(browser: Browser, server: str) -> None:
    with visiting(browser, server) as visit:
        visit.settled()
        visit.page.select_option("#stone-clarity", "VS1")
        visit.settled()
        expect(visit.page.locator("#moves")).to_be_visible()
        visit.page.emulate_media(media="print")
        expect(visit.page.locator("#moves")).to_be_hidden()


@pytest.mark.parametrize(
    "lines", [0, 8, *(pytest.param(lines, marks=pytest.mark.long) for lines in (4, 12, 16))]
)
@pytest.mark.long
def test_the_heading_of_kept_stones_stands_on_the_page_of_the_first(
    browser: Browser, server: str, lines: int
) -> None:
    """However much stands before it on its page."""
    with visiting(browser, server) as visit:
        for shape, length, across in KEPT[:2]:
            visit.keep(shape, length, across)
        visit.page.locator("#answered").evaluate(
            "(place, lines) => place.append(...Array(lines).fill().map(() => document.createElement('br')))",
            lines,
        )
        pdf = visit.page.pdf(format="A4")
        (page,) = [text for text in page_texts(pdf) if squeezed("Kept beside each other") in squeezed(text)]
        assert squeezed("All in the setting of the form") in squeezed(page)
        assert squeezed("Natural diamond, emerald cut") in squeezed(page)
