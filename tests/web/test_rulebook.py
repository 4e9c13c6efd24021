"""The rule book: what it shows is what judges, and anybody can read it. All stones are invented."""

import re
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final

import pytest

from gradefloor.drawing.plans import DRAWN
from gradefloor.rules.catalog import Catalog, Release
from gradefloor.rules.facts import FACTS
from gradefloor.rules.format import Guard
from gradefloor.rules.lead_facts import LEAD_FACTS, LEAD_MEASURES
from gradefloor.rules.listing_facts import LISTING_FACTS
from gradefloor.rules.listing_format import SLOTS as LISTING_SLOTS
from gradefloor.rules.measures import MEASURES
from gradefloor.rules.ring_facts import RING_FACTS
from gradefloor.rules.ring_format import Pairing
from gradefloor.rules.ring_measures import RING_MEASURES
from gradefloor.rules.tables import CompiledFloor
from gradefloor.rules.wording_facts import WORDING_FACTS
from gradefloor.rules.wording_format import SLOTS as WORDING_SLOTS
from gradefloor.trade.shapes import SHAPES
from gradefloor.web.rulebook_words import SLOTS, TITLES, conditions
from leafing import Books, Node, books_of, by_id, rules_of

SHAPE_NAMES: Final = {shape.title: name for name, shape in SHAPES.items()}
ORIGINS: Final = {"natural": "natural", "laboratory_grown": "laboratory-grown"}


@pytest.fixture(scope="module", params=["newest", pytest.param("every", marks=pytest.mark.long)])
def books(request: pytest.FixtureRequest, catalog: Catalog) -> Books:
    """Versions with their pages: the newest of each name, or all."""
    return books_of(catalog, every=request.param == "every")


# Every rule with its reason.


def test_every_rule_stands_with_its_reason_source_and_disagreement(books: Books) -> None:
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


def test_a_rule_that_replaces_another_says_why(books: Books) -> None:
    told = 0
    for release, page in books:
        places = by_id(page)
        for _, rule in rules_of(release):
            if rule.instead_because is not None:
                assert " ".join(rule.instead_because.split()) in places[rule.id].text
                told += 1
    assert told > 3


def test_every_row_of_a_guard_or_pairing_is_told(books: Books) -> None:
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


def test_rules_are_numbered_in_the_order_of_printing(books: Books) -> None:
    for _, page in books:
        numbers = [int(article.all("span", "number")[0].text) for article in page.all("article", "rule")]
        assert numbers == list(range(1, len(numbers) + 1))


def test_a_row_without_words_has_the_rules_reason_unless_it_passes(books: Books) -> None:
    told = 0
    for release, page in books:
        rules: list[Guard | Pairing] = [*release.rules.guards, *release.rules.pairings]
        for rule in rules:
            (table,) = by_id(page)[rule.id].all("table", "verdicts")
            for row in table.all("tbody")[0].all("tr"):
                _, verdict, said = row.all("td")
                if verdict.text == "says nothing":
                    assert said.text == ""
                elif verdict.text == "pass":
                    own = [" ".join(each.says.split()) for each in rule.rows if each.says]
                    assert said.text in {"", f"Passes: {rule.threshold}", *own}
                else:
                    assert said.text
                    assert not said.text.startswith(("Remedy", "Asks"))
                    told += 1
    assert told > 100


def test_no_token_or_slot_of_the_data_stands_in_a_rule(books: Books) -> None:
    """Ids of rules and grades apart, a reader sees words."""
    for release, page in books:
        places = by_id(page)
        for kind, rule in rules_of(release):
            told = " ".join(
                node.text for node in places[rule.id].walk() if node.tag in {"dd", "td", "th", "dt"}
            )
            assert re.findall(r"\b[a-z0-9]+_[a-z0-9_]+\b|\{[a-z_]+\}|`", told) == [], (kind, rule.id)
            assert "laboratory grown" not in told


def test_slots_are_words_in_angle_marks_with_a_legend(books: Books) -> None:
    checked = 0
    for release, page in books:
        for section in page.all("section", "chapter"):
            used = {
                mark for article in section.all("article") for mark in re.findall("‹[a-z ]+›", article.text)
            }
            legends = section.all("p", "slots")
            told = set(re.findall("(‹[a-z ]+›) stands for", legends[0].text)) if legends else set()
            assert used == told, release.name
            checked += len(used)
    assert checked > 10


def test_every_slot_has_a_word_and_no_other() -> None:
    assert set(SLOTS) == {*LISTING_SLOTS, *WORDING_SLOTS}
    assert len({word for word, _ in SLOTS.values()}) == len(SLOTS)


def test_the_only_row_of_a_table_holds_in_every_case() -> None:
    assert conditions("guards", {}, alone=True) == ["In every case"]
    assert conditions("guards", {}, alone=False) == ["In every other case"]
    assert conditions("guards", {"polish": ["good"]}, alone=True) == ["polish: good"]


@pytest.mark.parametrize(
    ("kind", "known"),
    [
        ("guards", {*FACTS, *MEASURES}),
        ("windows", {*FACTS, *MEASURES}),
        ("pairings", {*RING_FACTS, *RING_MEASURES}),
        ("clashes", {*LEAD_FACTS, *LEAD_MEASURES}),
        ("tags", {*LEAD_FACTS, *LEAD_MEASURES}),
        ("policies", {*WORDING_FACTS}),
        ("captions", {*LISTING_FACTS}),
    ],
)
def test_every_fact_has_a_title_and_no_other(kind: str, known: set[str]) -> None:
    assert set(TITLES[kind]) == known
    assert all(title and "_" not in title and title.endswith(tuple("abcdefghijklmnopqrstuvwxyz0123456789"))
               for title in TITLES[kind].values())  # fmt: skip


def test_facts_of_one_kind_have_different_titles() -> None:
    for titles in TITLES.values():
        assert len(set(titles.values())) == len(titles)


def test_every_provision_of_a_policy_is_told(books: Books) -> None:
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
    assert told > 20


def test_words_of_lexicons_are_only_counted(books: Books) -> None:
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
    return [SHAPE_NAMES[title] for title in re.split(r", | and ", text)]


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


def test_floors_across_shapes_are_those_that_judge(books: Books) -> None:
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


def test_floors_of_one_shape_are_those_that_judge(books: Books) -> None:
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


def test_windows_are_those_that_judge(books: Books) -> None:
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


def test_looks_are_told_and_drawn_for_every_center_shape_with_an_outline(books: Books) -> None:
    for release, page in books:
        drawn = {
            str(image.attributes["src"]): str(image.attributes["alt"])
            for article in page.all("article")
            for image in article.all("img")
        }
        centers = [s for s in release.compiled.shapes if SHAPES[s].role == "center" and s in DRAWN]
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


def test_companions_are_those_that_judge(books: Books) -> None:
    checked = 0
    for release, page in books:
        for region in page.all("div", "companions-table"):
            sides = [SHAPE_NAMES[head.text] for head in region.all("thead")[0].all("th")[1:]]
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
    assert checked > 20


def test_settings_that_suit_best_are_those_that_are_recommended(books: Books) -> None:
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
    assert checked > 20


def test_how_well_a_shape_serves_a_taste_is_told(books: Books) -> None:
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
