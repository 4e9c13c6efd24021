"""The rule book: what it shows is what judges, and anybody can read it. All stones are invented.

Contrast: the formula and the 4.5 are those of the W3C's Web Content Accessibility Guidelines 2.2 (1.4.3);
320 CSS pixels without scrolling sideways are those of its 1.4.10. Headings, captions and scopes follow the
HTML standard's sections on them.
"""

import asyncio
import os
import re
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from decimal import Decimal
from html.parser import HTMLParser
from itertools import pairwise
from typing import Any, Final
from urllib.parse import urlsplit

import httpx
import pytest
from fastapi import FastAPI
from playwright.sync_api import Browser, Page, expect, sync_playwright

from gradefloor.rules.catalog import Catalog, Release
from gradefloor.rules.changes import differences
from gradefloor.rules.format import RULE_KINDS, Guard
from gradefloor.rules.ring_format import Pairing
from gradefloor.rules.tables import CompiledFloor
from gradefloor.trade.shapes import SHAPES
from gradefloor.web import pages, rulebook
from gradefloor.web.rulebook_words import place_told, plain_told
from gradefloor.web.service import Service
from samples import Tree, write_tiny
from test_embedding import ARGUMENTS, NETWORK, TEXTS, contrast

NOW: Final = datetime(2026, 11, 26, 12, tzinfo=UTC)
VOID: Final = {"meta", "link", "img", "br", "hr", "input"}
TITLES: Final = {shape.title: name for name, shape in SHAPES.items()}
ORIGINS: Final = {"natural": "natural", "laboratory_grown": "laboratory-grown"}


# A page as a browser would read it.


@dataclass
class Node:
    tag: str
    attributes: dict[str, str | None] = field(default_factory=dict)
    children: "list[Node | str]" = field(default_factory=list)

    def walk(self) -> "Iterator[Node]":
        yield self
        for child in self.children:
            if isinstance(child, Node):
                yield from child.walk()

    def all(self, tag: str, style: str = "") -> "list[Node]":
        return [node for node in self.walk() if node.tag == tag and (not style or style in node.styles)]

    @property
    def styles(self) -> list[str]:
        return (self.attributes.get("class") or "").split()

    @property
    def text(self) -> str:
        return " ".join("".join(self.texts()).split())

    def texts(self) -> Iterator[str]:
        for child in self.children:
            if isinstance(child, str):
                yield child
            else:
                yield from child.texts()
                if child.tag in {"p", "li", "td", "th", "dt", "dd", "tr", "small", "caption"}:
                    yield " "


class Reader(HTMLParser):
    """Builds the tree, and refuses a tag that closes anything but the one that is open."""

    def __init__(self) -> None:
        super().__init__()
        self.root = Node("root")
        self.open = [self.root]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        assert len(dict(attrs)) == len(attrs), f"an attribute twice in {tag}"
        node = Node(tag, dict(attrs))
        self.open[-1].children.append(node)
        if tag not in VOID:
            self.open.append(node)

    def handle_endtag(self, tag: str) -> None:
        assert self.open[-1].tag == tag, f"</{tag}> closes <{self.open[-1].tag}>"
        self.open.pop()

    def handle_data(self, data: str) -> None:
        self.open[-1].children.append(data)


def parse(html: str) -> Node:
    reader = Reader()
    reader.feed(html)
    reader.close()
    assert reader.open == [reader.root]
    return reader.root


def app_of(service: Service) -> FastAPI:
    app = FastAPI()
    pages.serve_assets(app)
    rulebook.routes(app, service)
    return app


def get(app: FastAPI, path: str, **headers: str) -> httpx.Response:
    async def ask() -> httpx.Response:
        transport = httpx.ASGITransport(app)
        async with httpx.AsyncClient(transport=transport, base_url="http://book") as client:
            return await client.get(path, headers=headers)

    return asyncio.run(ask())


def page_of(app: FastAPI, path: str) -> Node:
    answer = get(app, path)
    assert answer.status_code == 200, answer.text
    return parse(answer.text)


@pytest.fixture(scope="module")
def app(catalog: Catalog) -> FastAPI:
    return app_of(Service(catalog, lambda: NOW))


@pytest.fixture(scope="module")
def shelf(app: FastAPI, catalog: Catalog) -> dict[str, Node]:
    """Every page of the committed rules by its path."""
    books = [f"/rules/{release.name}/{release.version}" for release in catalog]
    return {path: page_of(app, path) for path in ("/", *(f"/rules/{n}" for n in catalog.releases), *books)}


@pytest.fixture(scope="module")
def books(shelf: dict[str, Node], catalog: Catalog) -> list[tuple[Release, Node]]:
    """Every version in the catalogue with its page."""
    return [(release, shelf[f"/rules/{release.name}/{release.version}"]) for release in catalog]


def by_id(page: Node) -> dict[str, Node]:
    return {str(node.attributes["id"]): node for node in page.walk() if "id" in node.attributes}


def rules_of(release: Release) -> Iterator[tuple[str, Any]]:
    return ((kind, rule) for kind in RULE_KINDS for rule in getattr(release.rules, kind))


# Every rule with its reason.


def test_every_rule_stands_with_its_reason_source_and_disagreement(books: list[tuple[Release, Node]]) -> None:
    for release, page in books:
        places = by_id(page)
        sources = {source.id: source for source in release.rules.sources}
        for _, rule in rules_of(release):
            place = places[rule.id]
            source = sources[rule.source]
            assert place.tag == "article"
            assert " ".join(rule.title.split()) in place.text
            assert " ".join(rule.because.split()) in place.text
            assert f"Source: {source.title}; checked {source.checked.isoformat()}" in place.text
            assert f"Disagreement {rule.disagreement}:" in place.text
            data = f"/v1/rulesets/{release.name}/{release.version}/rules/{rule.id}"
            assert data in [link.attributes.get("href") for link in place.all("a")]


def test_a_rule_that_replaces_another_says_why(books: list[tuple[Release, Node]]) -> None:
    told = 0
    for release, page in books:
        places = by_id(page)
        for _, rule in rules_of(release):
            if rule.instead_because is not None:
                assert " ".join(rule.instead_because.split()) in places[rule.id].text
                told += 1
    assert told > 20


def test_every_row_of_a_guard_or_pairing_is_told(books: list[tuple[Release, Node]]) -> None:
    for release, page in books:
        places = by_id(page)
        questions = {question.about: question.ask for question in release.rules.questions}
        rules: list[Guard | Pairing] = [*release.rules.guards, *release.rules.pairings]
        for rule in rules:
            text = places[rule.id].text
            (table,) = places[rule.id].all("table", "verdicts")
            assert len(table.all("tr")) == 1 + len(rule.rows)
            for row in rule.rows:
                for said in (row.says, row.remedy, row.ask and questions[row.ask]):
                    assert said is None or " ".join(said.split()) in text


def test_every_provision_of_a_policy_is_told(books: list[tuple[Release, Node]]) -> None:
    known = {"text": "the text was read", "report": "an account of it was read", "memory": "from memory"}
    told = 0
    for release, page in books:
        places = by_id(page)
        titles = {source.id: source.title for source in release.rules.sources}
        for policy in release.rules.policies:
            (table,) = places[policy.id].all("table", "grid")
            rows = [row.text for row in table.all("tr")[1:]]
            for row, provision in zip(rows, policy.provisions, strict=True):
                assert provision.section in row
                assert titles[provision.source or policy.source] in row
                assert known[provision.known_from] in row
                told += 1
    assert told > 100


def test_words_of_lexicons_are_only_counted(books: list[tuple[Release, Node]]) -> None:
    for release, page in books:
        places = by_id(page)
        for lexicon in release.rules.lexicons:
            count = sum(map(len, lexicon.words.values()))
            assert f"{count} for {len(lexicon.words)} meanings" in places[lexicon.id].text


# What is shown is what judges.


@dataclass(frozen=True)
class Shown:
    """One cell of a table of floors: points from and to, both inside."""

    first: int
    last: float
    paper: str
    seen: str
    rule: str


def points(text: str) -> tuple[int, float]:
    """`1.00 to 1.99 ct` in points, both ends inside."""
    numbers = [int(Decimal(number) * 100) for number in re.findall(r"\d+\.\d\d", text)]
    if text == "any weight":
        return 0, float("inf")
    if text.startswith("under "):
        return 0, numbers[0] - 1
    return (numbers[0], float("inf")) if text.endswith("and over") else (numbers[0], numbers[1])


def named(text: str) -> list[str]:
    return [TITLES[title] for title in re.split(r", | and ", text)]


def places_of(title: str) -> list[tuple[str, str]]:
    """Positions and origins that a group of rows is for."""
    found = []
    for part in title.split("; "):
        where, _, origins = part.partition(", ")
        positions = [position for position in ("center", "side", "melee") if position in where]
        kinds = [name for name, word in ORIGINS.items() if word in re.split(r" and ", origins)]
        assert positions
        assert kinds
        found += [(position, origin) for position in positions for origin in kinds]
    return found


def read_floors(table: Node, shapes: list[list[str]]) -> dict[tuple[str, str, str, str], list[Shown]]:
    """Cells by shape, grade, position and origin; `shapes` are those of each column."""
    found: dict[tuple[str, str, str, str], list[Shown]] = {}
    for body in table.all("tbody"):
        group, *rows = body.all("tr")
        grade, _, where = group.text.partition(": ")
        for row in rows:
            first, last = points(row.all("th")[0].text)
            for column, cell in zip(shapes, row.all("td"), strict=True):
                (button,) = cell.all("button")
                paper = button.all("span")[0].children[0]
                more = [small.text.removeprefix("seen ") for small in button.all("small")]
                assert isinstance(paper, str)
                rule = str(button.attributes["popovertarget"]).removeprefix("why-")
                shown = Shown(first, last, paper, more[0] if more else paper, rule)
                for shape in column:
                    for position, origin in places_of(where):
                        found.setdefault((shape, grade, position, origin), []).append(shown)
    return found


def judged(release: Release) -> dict[tuple[str, str, str, str], CompiledFloor]:
    floors = {}
    for shape, rules in release.compiled.shapes.items():
        for (position, origin), found in rules.floors.items():
            floors[shape, "Clarity", position, origin] = found.clarity
            floors[shape, "Color in white heads", position, origin] = found.color["white"]
            floors[shape, "Color in yellow or rose heads", position, origin] = found.color["warm"]
    return floors


def assert_as_judged(
    shown: dict[tuple[str, str, str, str], list[Shown]], floors: dict[Any, CompiledFloor]
) -> None:
    """The same grade by the same rule on both sides of every end of a band, and one cell only for each."""
    for key, floor in floors.items():
        ends = {band.from_points for band in floor.bands} | {cell.first for cell in shown[key]} | {5000}
        for weight in sorted(ends | {end - 1 for end in ends if end}):
            (cell,) = (cell for cell in shown[key] if cell.first <= weight <= cell.last)
            band = floor.band(weight)
            grades = floor.scale.grades
            assert (cell.paper, cell.seen) == (grades[band.on_paper], grades[band.if_seen]), (key, weight)
            assert cell.rule == floor.stamp.rule


def test_floors_across_shapes_are_those_that_judge(books: list[tuple[Release, Node]]) -> None:
    for release, page in books:
        shown: dict[tuple[str, str, str, str], list[Shown]] = {}
        for region in page.all("div", "floors-table"):
            (table,) = region.all("table")
            heads = table.all("thead")[0].all("th")[1:]
            columns = [named(head.text) for head in heads]
            assert len(columns) <= 10, "shapes that are judged alike share a column"
            shown |= read_floors(table, columns)
        floors = judged(release)
        assert shown.keys() == floors.keys()
        assert_as_judged(shown, floors)


def test_floors_of_one_shape_are_those_that_judge(books: list[tuple[Release, Node]]) -> None:
    for release, page in books:
        places = by_id(page)
        floors = judged(release)
        for shape in release.compiled.shapes:
            shown = read_floors(places[f"shape-{shape}"].all("table")[0], [[shape]])
            assert_as_judged(shown, {key: floor for key, floor in floors.items() if key[0] == shape})


def window_cells(release: Release, shape: str) -> list[tuple[str, list[Decimal]]]:
    return [
        (
            window.stamp.rule,
            [window.comfort.from_, window.comfort.to, window.tolerated.from_, window.tolerated.to],
        )
        for window in release.compiled.shapes[shape].windows["diamond"]
    ]


def read_windows(cells: list[Node]) -> list[tuple[str, list[Decimal]]]:
    found = []
    for cell in cells:
        for button in cell.all("button"):
            comfort, more = button.all("span")[0].children[0], button.all("small")[0].text
            numbers = re.findall(r"−?\d+(?:\.\d+)?", f"{comfort} {more}")
            values = [Decimal(number.replace("−", "-")) for number in numbers]
            found.append((str(button.attributes["popovertarget"]).removeprefix("why-"), values))
    return found


def test_windows_are_those_that_judge(books: list[tuple[Release, Node]]) -> None:
    for release, page in books:
        across = set()
        for region in page.all("div", "windows-table"):
            for row in region.all("tbody")[0].all("tr"):
                shown = read_windows(row.all("td"))
                for shape in named(row.all("th")[0].text):
                    across.add(shape)
                    assert shown == window_cells(release, shape)
        assert across == set(release.compiled.shapes)
        for shape in release.compiled.shapes:
            view = by_id(page)[f"shape-{shape}"]
            tables = [
                table for table in view.all("table") if table.all("caption")[0].text.endswith("measures")
            ]
            shown = [cell for table in tables for cell in read_windows(table.all("td"))]
            assert shown == window_cells(release, shape)


def test_looks_are_drawn_and_told_for_every_center_shape(books: list[tuple[Release, Node]]) -> None:
    for release, page in books:
        drawn = {
            str(image.attributes["src"]): str(image.attributes["alt"])
            for article in page.all("article")
            for image in article.all("img")
        }
        centers = [s for s in release.compiled.shapes if SHAPES[s].role == "center"]
        base = "/v1/drawings/ratios/{}.svg?ruleset={}@{}"
        assert set(drawn) == {base.format(shape, release.name, release.version) for shape in centers}
        for look in release.rules.looks:
            (table,) = by_id(page)[look.id].all("table", "grid")
            rows = table.all("tbody")[0].all("tr")
            for row, band in zip(rows, look.bands, strict=True):
                assert row.all("th")[0].text == band.look.replace("_", " ")
                numbers = [Decimal(n) for n in re.findall(r"\d+\.\d+", row.all("td")[0].text)]
                ends = [band.from_, band.below if band.from_ is None or band.below is None else
                        band.below - Decimal("0.01")]  # fmt: skip
                assert numbers == [end for end in ends if end is not None]


def test_companions_are_those_that_judge(books: list[tuple[Release, Node]]) -> None:
    checked = 0
    for release, page in books:
        for region in page.all("div", "companions-table"):
            sides = [TITLES[head.text] for head in region.all("thead")[0].all("th")[1:]]
            for row in region.all("tbody")[0].all("tr"):
                cells = dict(zip(sides, (cell.text for cell in row.all("td")), strict=True))
                head = re.sub(r" by rule \d+$", "", row.all("th")[0].text)
                for center in named(head):
                    rule = release.compiled.rings.centers[center].companions
                    assert rule is not None
                    ranked = {int(re.sub(r"\D", "", text)): side for side, text in cells.items()
                              if text[0].isdigit()}  # fmt: skip
                    assert tuple(ranked[place] for place in sorted(ranked)) == rule.best
                    words = {"note": "taste", "ask": "seldom"}
                    clashes = {side: words[verdict] for side, (verdict, _) in rule.clashes.items()}
                    assert {s: t for s, t in cells.items() if t in words.values()} == clashes
                    checked += 1
    assert checked > 50


def test_settings_that_suit_best_are_those_that_are_recommended(books: list[tuple[Release, Node]]) -> None:
    checked = 0
    for release, page in books:
        for region in page.all("div", "styles-table"):
            rules = [str(b.attributes["popovertarget"])[4:] for b in region.all("thead")[0].all("button")]
            for row in region.all("tbody")[0].all("tr"):
                best = {rule for rule, cell in zip(rules, row.all("td"), strict=True) if cell.text == "best"}
                for center in named(row.all("th")[0].text):
                    styles = release.compiled.rings.centers[center].styles
                    assert best == {style.stamp.rule for style in styles if style.fits_best}
                    checked += 1
    assert checked > 50


def test_how_well_a_shape_serves_a_taste_is_told(books: list[tuple[Release, Node]]) -> None:
    checked = 0
    for release, page in books:
        for region in page.all("div", "characters-table"):
            tastes = [head.text.replace(" ", "_") for head in region.all("thead")[0].all("th")[1:]]
            for row in region.all("tbody")[0].all("tr"):
                (shape,) = named(re.sub(r" by rule \d+$", "", row.all("th")[0].text))
                told = [cell.text.replace("−", "-") for cell in row.all("td")]
                serves = {t: int(v) for t, v in zip(tastes, told, strict=True) if v[-1].isdigit()}
                assert serves == release.compiled.advice.characters[shape][1].serves
                checked += 1
    assert checked > 20


# What changed.


def test_what_changed_lists_every_difference(books: list[tuple[Release, Node]], catalog: Catalog) -> None:
    for release, page in books:
        versions = catalog.releases[release.name]
        older = [found for found in versions if found.key < release.key]
        (section,) = (s for s in page.all("section") if s.attributes.get("aria-labelledby") == "changes")
        if not older:
            assert "This is the first version." in section.text
            continue
        found = differences(older[-1].rules, release.rules)

        def linked(node: Node) -> list[str]:
            return [str(link.attributes["href"]).rpartition("#")[2] for link in node.all("a")]

        added = [rule for each in section.all("ul", "added") for rule in linked(each)]
        removed = [rule for each in section.all("ul", "removed") for rule in linked(each)]
        altered = [
            (linked(each)[0], len(each.all("tbody")[0].all("tr"))) for each in section.all("div", "altered")
        ]
        assert added == [rule["rule"] for rule in found["added"]]
        assert removed == [rule["rule"] for rule in found["removed"]]
        assert altered == [(rule["rule"], len(rule["parts"])) for rule in found["altered"]]


def next_version(tree: Tree, old: str, new: str) -> Catalog:
    """House 1.0.0 and a next version in which one place reads otherwise."""
    folder = tree.root / "house" / "1.0.1"
    shutil.copytree(tree.root / "house" / "1.0.0", folder)
    file = folder / "ruleset.yaml"
    text = file.read_text().replace('version: "1.0.0"', 'version: "1.0.1"')
    assert old in text
    file.write_text(text.replace(old, new, 1))
    return tree.load()


def test_an_altered_part_is_told_before_and_after(tree: Tree) -> None:
    old = "{carat: {from: 1.00, below: 3.00}, on_paper: VS1, if_seen: VS2}"
    catalog = next_version(tree, old, old.replace("if_seen: VS2", "if_seen: SI1"))
    page = page_of(app_of(Service(catalog, lambda: NOW)), "/rules/house/1.0.1")
    (altered,) = page.all("div", "altered")
    (row,) = altered.all("tbody")[0].all("tr")
    assert altered.all("a")[0].attributes["href"] == "#clarity.steps"
    assert [cell.text for cell in row.all("th") + row.all("td")] == ["band 2, once seen", "VS2", "SI1"]
    assert "0 added, 0 removed, 1 altered" in page.text


@pytest.mark.parametrize(
    ("value", "told"),
    [
        (None, "nothing"),
        (True, "yes"),
        (1234567.5, "1234567.5"),
        ([], "nothing"),
        (["pear", "half_moon"], "pear, half moon"),
        ("not_stated", "not stated"),
        ("VS1", "VS1"),
        ({"carat": {"below": 3.0}, "on_paper": "SI1"}, "carat below 3; on paper SI1"),
        ({"carat": {}, "on_paper": "SI1"}, "carat any; on paper SI1"),
        ({"below": 3.0}, "below 3"),
        ({"about": "gem", "ask": "Is the green gem meant?"}, "Is the green gem meant?"),
    ],
)
def test_a_part_of_a_rule_is_told_in_words(value: Any, told: str) -> None:
    assert plain_told(value) == told


@pytest.mark.parametrize(
    ("at", "told"),
    [
        ("bands[1].on_paper", "band 2, on paper"),
        ("sizes_mm[0][1]", "sizes mm 1 2"),
        ("rows[11].when.girdle_min", "row 12, when, girdle at its thinnest"),
        ("because", "reason"),
    ],
)
def test_a_place_in_a_rule_is_told_in_words(at: str, told: str) -> None:
    assert place_told(at) == told


# Well made.


def test_ids_are_unique_and_every_link_in_the_page_arrives(shelf: dict[str, Node]) -> None:
    for path, page in shelf.items():
        ids = [str(node.attributes["id"]) for node in page.walk() if "id" in node.attributes]
        assert len(ids) == len(set(ids)), path
        for node in page.walk():
            href = node.attributes.get("href") or ""
            wanted = [href[1:]] if href.startswith("#") else []
            wanted += [str(node.attributes[name]) for name in ("popovertarget", "aria-labelledby")
                       if name in node.attributes]  # fmt: skip
            assert set(wanted) <= set(ids), (path, wanted)


def test_links_to_other_books_arrive(shelf: dict[str, Node]) -> None:
    known = {*shelf, "/bench", "/docs", "/problems", "/openapi.json"}
    for page in shelf.values():
        for link in page.all("a"):
            address = urlsplit(str(link.attributes["href"]))
            outside = address.scheme == "https" and address.netloc != ""
            assert outside or address.path in known or address.path.startswith("/v1/rulesets/") or (
                address.path == "" and address.fragment
            )  # fmt: skip


def test_headings_do_not_skip_a_level(shelf: dict[str, Node]) -> None:
    for path, page in shelf.items():
        levels = [int(n.tag[1]) for n in page.walk() if re.fullmatch("h[1-6]", n.tag)]
        assert levels.count(1) == 1
        assert levels[0] == 1
        assert all(after <= before + 1 for before, after in pairwise(levels)), path


def test_every_table_has_a_caption_and_heads_with_a_scope(shelf: dict[str, Node]) -> None:
    for page in shelf.values():
        for table in page.all("table"):
            assert table.all("caption")[0].text
            assert all(head.attributes.get("scope") for head in table.all("th"))


def test_there_is_no_script_or_style_within_the_page(shelf: dict[str, Node]) -> None:
    for page in shelf.values():
        assert not page.all("style")
        assert [script.attributes.get("src") for script in page.all("script")] in (
            [],
            ["/assets/rulebook.js"],
        )
        for node in page.walk():
            assert "style" not in node.attributes
            assert not any(name.startswith("on") for name in node.attributes)


def test_regions_that_scroll_can_be_reached_and_have_a_name(shelf: dict[str, Node]) -> None:
    for page in shelf.values():
        regions = page.all("div", "scroll")
        assert all(r.attributes.get("tabindex") == "0" for r in regions)
        names = [r.attributes.get("aria-label") for r in regions]
        assert all(names)
        assert len(set(names)) == len(names)


def test_text_of_a_rule_stays_text(tree: Tree) -> None:
    tree.edit("Long open facets mirror", '<b>Long</b> open facets & "mirrors" {{ 7 * 7 }} mirror')
    app = app_of(Service(tree.load(), lambda: NOW))
    html = get(app, "/rules/house/1.0.0").text
    assert "<b>Long" not in html
    place = by_id(parse(html))["clarity.steps"]
    assert '<b>Long</b> open facets & "mirrors" {{ 7 * 7 }} mirror' in place.text


def test_a_draft_is_said_to_be_one(tree: Tree) -> None:
    app = app_of(Service(tree.load(), lambda: NOW))
    assert "A draft." in page_of(app, "/rules/house/1.0.0").text
    assert "a draft, first day in force" in page_of(app, "/rules/house").text


def test_a_released_version_is_no_draft(books: list[tuple[Release, Node]]) -> None:
    assert {release.draft for release, _ in books} == {False}
    assert all("A draft." not in page.text for _, page in books)


@pytest.mark.parametrize(("day", "stale"), [("2027-11-25", False), ("2027-11-26", True)])
def test_a_source_is_stale_after_a_year(catalog: Catalog, day: str, stale: bool) -> None:
    """The committed rules were checked on 2026-11-25."""
    clock = datetime.fromisoformat(f"{day}T12:00:00+00:00")
    page = page_of(app_of(Service(catalog, lambda: clock)), "/rules/house/1.3.0")
    assert ("more than a year ago" in page.text) is stale


# Addresses.


def test_the_front_shows_the_newest_version_in_force_and_all_others(
    shelf: dict[str, Node], catalog: Catalog
) -> None:
    page = shelf["/"]
    newest = catalog.resolve("house", NOW.date(), NOW)
    assert f"house {newest.version} ·" in page.text
    (others,) = page.all("aside", "shelf")
    listed = {link.attributes["href"] for link in others.all("a")}
    assert listed >= {f"/rules/{release.name}/{release.version}" for release in catalog}


def test_the_front_shows_what_is_in_force_on_the_day(catalog: Catalog) -> None:
    early = datetime(2026, 3, 1, tzinfo=UTC)
    assert "house 1.0.0 ·" in page_of(app_of(Service(catalog, lambda: early)), "/").text


def test_without_a_house_the_front_lists_what_there_is(tmp_path: Any) -> None:
    write_tiny(tmp_path, "tiny", "1.0.0")
    (tmp_path / "RELEASED").write_text("end 0\n")
    page = page_of(app_of(Service(Tree(tmp_path).load(), lambda: NOW)), "/")
    assert "/rules/tiny/1.0.0" in [link.attributes["href"] for link in page.all("a")]


def test_the_beginning_of_a_version_is_enough(app: FastAPI, catalog: Catalog) -> None:
    newest = catalog.resolve("house", NOW.date(), NOW).version
    assert get(app, "/rules/house/1").text == get(app, f"/rules/house/{newest}").text


@pytest.mark.parametrize(
    ("path", "code"),
    [
        pytest.param("/rules/nobody", "ruleset_unknown", id="name"),
        pytest.param("/rules/nobody/1.0.0", "ruleset_unknown", id="name of a version"),
        pytest.param("/rules/HOUSE/1.0.0", "ruleset_unknown", id="capitals"),
        pytest.param("/rules/house%0A/1.0.0", "ruleset_unknown", id="line end in a name"),
        pytest.param("/rules/h%C3%B6use", "ruleset_unknown", id="another letter"),
        pytest.param("/rules/%3Cscript%3E/1.0.0", "ruleset_unknown", id="mark-up"),
        pytest.param("/rules/" + "a" * 3000, "ruleset_unknown", id="a long name"),
        pytest.param("/rules/house/9", "version_unknown", id="version"),
        pytest.param("/rules/house/1.0.0.0", "version_unknown", id="four numbers"),
        pytest.param("/rules/house/latest", "version_unknown", id="no version at all"),
        pytest.param("/rules/house/1.0.0%0A", "version_unknown", id="line end in a version"),
        pytest.param("/rules/house/01", "version_unknown", id="a zero before"),
        pytest.param("/rules/house/" + "9" * 3000, "version_unknown", id="a long number"),
        pytest.param("/rules/house/%D9%A1", "version_unknown", id="digits of another script"),
    ],
)
def test_what_does_not_exist_is_not_found(app: FastAPI, path: str, code: str) -> None:
    answer = get(app, path)
    assert answer.status_code == 404
    assert answer.headers["content-type"] == "application/problem+json"
    assert answer.json()["code"] == code
    assert "script" not in answer.text


def test_whoever_has_the_page_is_told_so(app: FastAPI) -> None:
    first = get(app, "/rules/house/1.0.0")
    assert first.headers["cache-control"] == "no-cache"
    again = get(app, "/rules/house/1.0.0", **{"If-None-Match": first.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")


def test_a_catalogue_taken_up_while_serving_is_shown(tree: Tree) -> None:
    service = Service(tree.load(), lambda: NOW)
    app = app_of(service)
    assert "Long and open" not in page_of(app, "/rules/house/1.0.0").text
    assert get(app, "/rules/house/1.0.1").status_code == 404
    service.adopt(next_version(tree, "Long open facets mirror", "Long and open facets mirror"), NOW)
    assert "Long and open facets mirror" in page_of(app, "/rules/house/1.0.1").text
    assert "/rules/house/1.0.1" in get(app, "/rules/house").text
    tree.edit("Long open facets mirror", "Long and open facets mirror")
    service.adopt(tree.load(), NOW)
    assert "Long and open facets mirror" in page_of(app, "/rules/house/1.0.0").text


# As a browser shows it.


@dataclass
class Visit:
    """A page and what it did."""

    page: Page
    faults: list[str] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)


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
def visiting(browser: Browser, address: str, *, width: int = 1280, **options: Any) -> Iterator[Visit]:
    context = browser.new_context(viewport={"width": width, "height": 800}, **options)
    visit = Visit(context.new_page())
    visit.page.on("pageerror", lambda error: visit.faults.append(str(error)))
    visit.page.on("request", lambda request: visit.asked.append(request.url))
    visit.page.on(
        "console",
        lambda said: (
            None
            if said.type not in {"error", "warning"} or NETWORK.search(said.text)
            else visit.faults.append(said.text)
        ),
    )
    try:
        visit.page.goto(address)
        yield visit
    finally:
        context.close()


PATHS: Final = ("/", "/rules/wording/1.0.0", "/rules/house", "/docs")
OPEN_ALL: Final = "for (const part of document.querySelectorAll('details')) part.open = true"


@pytest.mark.parametrize("path", PATHS)
def test_no_script_fails_and_nothing_is_asked_of_another_host(
    browser: Browser, server: str, path: str
) -> None:
    with visiting(browser, f"{server}{path}") as visit:
        visit.page.evaluate("scrollTo(0, document.body.scrollHeight)")
        visit.page.wait_for_load_state("networkidle")
        assert visit.faults == []
        assert {urlsplit(address).netloc for address in visit.asked} == {urlsplit(server).netloc}


@pytest.mark.parametrize("path", PATHS[:-1])
@pytest.mark.parametrize("width", [1280, 360, 320])
def test_no_page_scrolls_sideways(browser: Browser, server: str, path: str, width: int) -> None:
    with visiting(browser, f"{server}{path}", width=width) as visit:
        visit.page.evaluate(OPEN_ALL)
        assert visit.page.evaluate("document.documentElement.scrollWidth") == width


@pytest.mark.parametrize("width", [1280, 360])
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


@pytest.mark.parametrize("width", [1280, 360])
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


@pytest.mark.parametrize("path", PATHS)
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_text_stands_out_from_its_ground(browser: Browser, server: str, path: str, scheme: Any) -> None:
    with visiting(browser, f"{server}{path}", color_scheme=scheme) as visit:
        visit.page.evaluate(OPEN_ALL)
        visit.page.evaluate("document.querySelector('.why')?.showPopover()")
        texts = visit.page.evaluate(TEXTS)
        assert len(texts) > 20
        faint = {text: contrast(ink, ground) for text, ink, ground in texts if contrast(ink, ground) < 4.5}
        assert faint == {}
        assert (sum(texts[0][2]) < 200) is (scheme == "dark")


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


def test_the_book_prints(browser: Browser, server: str) -> None:
    with visiting(browser, f"{server}/rules/house/1.3.0") as visit:
        printed = visit.page.pdf(format="A4")
        assert printed.startswith(b"%PDF-")
        assert 20 < printed.count(b"/Type /Page\n") < 150
        assert visit.page.locator("details[open]").count() == 0
