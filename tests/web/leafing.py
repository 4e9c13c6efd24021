"""The rule book as a browser would read it, and which of its pages the tests leaf through."""

import asyncio
import shutil
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime
from html.parser import HTMLParser
from typing import Any, Final

import httpx
from fastapi import FastAPI

from gradefloor.rules.catalog import Catalog, Release
from gradefloor.rules.format import RULE_KINDS
from gradefloor.web import pages, rulebook
from gradefloor.web.service import Service
from samples import Tree

NOW: Final = datetime(2026, 11, 26, 12, tzinfo=UTC)
VOID: Final = {"meta", "link", "img", "br", "hr", "input"}
Books = list[tuple[Release, "Node"]]


@dataclass
class Node:
    tag: str
    attributes: dict[str, str | None] = field(default_factory=dict)
    children: "list[Node | str]" = field(default_factory=list)
    named: "dict[str, Node] | None" = None

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


def chosen(catalog: Catalog, *, every: bool) -> list[Release]:
    """Every version, or only the newest released one of each name."""
    if every:
        return list(catalog)
    return [
        [release for release in releases if not release.draft][-1] for releases in catalog.releases.values()
    ]


def path_of(release: Release) -> str:
    return f"/rules/{release.name}/{release.version}"


class Shelf:
    """Pages of the committed rules, each fetched and read once."""

    def __init__(self, catalog: Catalog) -> None:
        self.app = app_of(Service(catalog, lambda: NOW))
        self.read: dict[str, Node] = {}

    def page(self, path: str) -> Node:
        if path not in self.read:
            self.read[path] = page_of(self.app, path)
        return self.read[path]


_SHELVES: dict[int, tuple[Catalog, Shelf]] = {}


def shelf_of(catalog: Catalog) -> Shelf:
    """The same shelf for the same catalogue, so that several files of tests read a page once."""
    if id(catalog) not in _SHELVES:
        _SHELVES[id(catalog)] = catalog, Shelf(catalog)
    return _SHELVES[id(catalog)][1]


def books_of(catalog: Catalog, *, every: bool) -> Books:
    """Versions with their pages."""
    return [(release, shelf_of(catalog).page(path_of(release))) for release in chosen(catalog, every=every)]


def by_id(page: Node) -> dict[str, Node]:
    """Every element that has an id; looked for once, because a book has thousands."""
    if page.named is None:
        page.named = {str(node.attributes["id"]): node for node in page.walk() if "id" in node.attributes}
    return page.named


def rules_of(release: Release) -> Iterator[tuple[str, Any]]:
    return ((kind, rule) for kind in RULE_KINDS for rule in getattr(release.rules, kind))


def next_version(tree: Tree, old: str, new: str) -> Catalog:
    """House 1.0.0 and a next version in which one place reads otherwise."""
    folder = tree.root / "house" / "1.0.1"
    shutil.copytree(tree.root / "house" / "1.0.0", folder)
    file = folder / "ruleset.yaml"
    text = file.read_text().replace('version: "1.0.0"', 'version: "1.0.1"')
    assert old in text
    file.write_text(text.replace(old, new, 1))
    return tree.load()
