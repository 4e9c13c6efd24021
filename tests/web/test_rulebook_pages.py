"""The rule book: what changed, how its pages are made, and where they are found.

Headings, captions and scopes follow the HTML standard's sections on them.
"""

import re
from dataclasses import replace
from datetime import UTC, date, datetime
from itertools import pairwise
from typing import Any
from urllib.parse import urlsplit

import pytest
from fastapi import FastAPI

from gradefloor.rules.catalog import Catalog, Release
from gradefloor.rules.changes import differences
from gradefloor.web.rulebook_chapters import begins_told
from gradefloor.web.rulebook_words import place_told, plain_told
from gradefloor.web.service import Service
from leafing import (
    NOW,
    Books,
    Node,
    app_of,
    books_of,
    by_id,
    chosen,
    get,
    next_version,
    page_of,
    parse,
    path_of,
    shelf_of,
)
from samples import Tree, write_tiny


@pytest.fixture(scope="module")
def app(catalog: Catalog) -> FastAPI:
    return shelf_of(catalog).app


@pytest.fixture(scope="module", params=["newest", pytest.param("every", marks=pytest.mark.long)])
def books(request: pytest.FixtureRequest, catalog: Catalog) -> Books:
    """Versions with their pages: the newest of each name, or all."""
    return books_of(catalog, every=request.param == "every")


@pytest.fixture(scope="module", params=["newest", pytest.param("every", marks=pytest.mark.long)])
def shelf(request: pytest.FixtureRequest, catalog: Catalog) -> dict[str, Node]:
    """Every kind of page by its path."""
    books = map(path_of, chosen(catalog, every=request.param == "every"))
    return {
        path: shelf_of(catalog).page(path)
        for path in ("/", *(f"/rules/{n}" for n in catalog.releases), *books)
    }


# What changed.


def test_what_changed_lists_every_difference(books: Books, catalog: Catalog) -> None:
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
    assert place_told(at, "guards") == told


def test_the_same_fact_has_the_title_of_its_kind() -> None:
    assert place_told("rows[0].when.metal", "pairings") == "row 1, when, metal of the head"
    assert place_told("when.metal", "tags") == "when, metal wished"
    assert place_told("sources[0].href") == "source 1, address"


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


def test_links_to_other_books_arrive(shelf: dict[str, Node], catalog: Catalog) -> None:
    known = {*map(path_of, catalog), *shelf, "/bench", "/docs", "/problems", "/openapi.json"}
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


def test_a_released_version_is_no_draft(books: Books) -> None:
    assert all(("A draft." in page.text) is release.draft for release, page in books)


@pytest.mark.parametrize(("day", "stale"), [("2027-11-25", False), ("2027-11-26", True)])
def test_a_source_is_stale_after_a_year(catalog: Catalog, day: str, stale: bool) -> None:
    """The committed rules were checked on 2026-11-25."""
    clock = datetime.fromisoformat(f"{day}T12:00:00+00:00")
    page = page_of(app_of(Service(catalog, lambda: clock)), "/rules/house/1.3.0")
    assert ("more than a year ago" in page.text) is stale


# When it begins.


def listed(catalog: Catalog, effective: str, activate_at: datetime | None) -> Release:
    newest = chosen(catalog, every=False)[0]
    return replace(newest, effective=date.fromisoformat(effective), activate_at=activate_at)


@pytest.mark.parametrize(
    ("effective", "activate_at", "told"),
    [
        ("2026-11-26", None, None),
        ("2026-11-27", None, "Not in force yet: until 2026-11-27 it answers only to its exact version."),
        (
            "2026-11-26",
            datetime(2026, 11, 26, 12, 0, 1, tzinfo=UTC),
            "Not in force yet: until 2026-11-26, 12:00:01 UTC it answers only to its exact version.",
        ),
        ("2026-11-26", NOW, "In force since 2026-11-26, 12:00:00 UTC."),
        ("2026-11-26", datetime(2026, 11, 20, tzinfo=UTC), None),
        (
            "2026-11-28",
            datetime(2026, 11, 27, tzinfo=UTC),
            "Not in force yet: until 2026-11-28 it answers only to its exact version.",
        ),
    ],
)
def test_what_is_still_to_come_is_told(
    catalog: Catalog, effective: str, activate_at: datetime | None, told: str | None
) -> None:
    assert begins_told(listed(catalog, effective, activate_at), NOW) == told


def test_a_moment_that_comes_while_serving_is_told_anew(catalog: Catalog) -> None:
    moment = datetime(2026, 11, 26, 12, 30, tzinfo=UTC)
    release = listed(catalog, "2026-11-26", moment)
    now = NOW
    app = app_of(Service(Catalog({release.name: (release,)}), lambda: now))
    assert "Not in force yet: until 2026-11-26, 12:30:00 UTC" in page_of(app, path_of(release)).text
    now = moment
    assert "In force since 2026-11-26, 12:30:00 UTC." in page_of(app, path_of(release)).text


# Addresses.


def test_every_page_of_paper_names_the_version(app: FastAPI, catalog: Catalog) -> None:
    release = chosen(catalog, every=False)[0]
    answer = get(app, f"{path_of(release)}/paper.css")
    assert answer.headers["content-type"] == "text/css; charset=utf-8"
    told = f"{release.name} {release.version}, first day in force {release.effective.isoformat()}"
    assert f'@top-left {{ content: "{told}' in answer.text
    sheets = [link.attributes.get("href") for link in page_of(app, path_of(release)).all("link")]
    assert f"{path_of(release)}/paper.css" in sheets


def test_a_page_is_made_once_and_never_for_another_list_of_rule_sets(catalog: Catalog) -> None:
    """At the front stands what the caller may see; another caller's page is another page."""
    service = Service(catalog, lambda: NOW)
    app = app_of(service)
    assert "/rules/strict" in {link.attributes["href"] for link in page_of(app, "/").all("a")}
    service.renew(catalog.without(frozenset({"strict"})), None)
    assert "/rules/strict" not in {link.attributes["href"] for link in page_of(app, "/").all("a")}


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
        pytest.param("/rules/nobody/1.0.0/paper.css", "ruleset_unknown", id="head of a name"),
        pytest.param("/rules/house/9/paper.css", "version_unknown", id="head of a version"),
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
    service.renew(next_version(tree, "Long open facets mirror", "Long and open facets mirror"), None)
    assert "Long and open facets mirror" in page_of(app, "/rules/house/1.0.1").text
    assert "/rules/house/1.0.1" in get(app, "/rules/house").text
    tree.edit("Long open facets mirror", "Long and open facets mirror")
    service.renew(tree.load(), None)
    assert "Long and open facets mirror" in page_of(app, "/rules/house/1.0.0").text
