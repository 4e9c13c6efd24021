"""The quick way to an answer held against the plain one, byte for byte.

Answers are put together from findings that were made and written before: at load, or for an earlier stone.
The plain way, below, makes every finding for its own request, from facts that each rule reads for itself, and
writes the whole at the end. What both must be by the rules, `test_naive_judge` and the golden cases say.
"""

import hashlib
import time
from collections.abc import Iterator
from datetime import date
from itertools import islice
from typing import Any, Final

import httpx
import orjson
import pytest
import rfc8785

from gradefloor.judge import floors, windows
from gradefloor.judge.stones import Judged, evaluate, questions, worst_verdict
from gradefloor.rules import said as saying
from gradefloor.rules.catalog import Catalog
from gradefloor.rules.facts import Case
from gradefloor.rules.findings import Finding
from gradefloor.rules.said import Said
from gradefloor.rules.tables import CompiledRules
from gradefloor.trade.stones import Context, Stone
from naive_judge import read_whole
from naive_stones import Request, Stones
from samples import RULESETS

VERSIONS: Final = (("house", "1.0.0"), ("house", "1.4.0"), ("strict", "1.4.0"))
SHORT: Final = 700
LONG: Final = 34_000  # of each version, so more than 100,000
MEMOS: Final = (floors._graded, floors._in_any_head, floors._unstated, saying._observing, windows.look_of)  # noqa: SLF001


def compiled_rules(catalog: Catalog, name: str, version: str) -> CompiledRules:
    release = catalog.find(name, version)
    assert release is not None
    return release.compiled


def models(request: Request) -> tuple[Stone, Context | None, date]:
    context = None if request.context is None else Context.model_validate(request.context)
    return Stone.model_validate(request.stone), context, request.as_of


def requests(name: str, version: str, seed: int) -> Iterator[Request]:
    stones = Stones(read_whole(RULESETS, name, version), seed)
    while True:
        yield stones.request()


def plain_findings(rules: CompiledRules, case: Case) -> list[tuple[int, Finding, tuple[str, ...]]]:
    """Every finding made for this request alone."""
    for memo in MEMOS:
        memo.cache_clear()
    tables, material = rules.shapes[case.stone.shape], case.stone.material or "diamond"
    found = []
    for guard in tables.guards[material, case.position].every:
        if guard.ratio is not None and (case.figures.ratio is None or case.figures.ratio not in guard.ratio):
            continue
        said = guard.cells[tuple([read(case) for read in guard.reads])]
        if said is not None:
            finding = said.finding.copy()
            quoted = [word for quote in guard.quotes if (word := quote(case))]
            if quoted:
                finding["observed"] = f"{finding['observed']} ({', '.join(quoted)})"
            found.append((said.place, finding, said.asks))
    others: list[Said | None] = []
    if material == "diamond":
        of_grades = tables.floors[case.position, case.stone.origin or "natural"]
        others.append(floors.clarity(of_grades.clarity, case))
        others.append(floors.color(of_grades.color["white"], of_grades.color["warm"], case))
    others += [windows.in_window(window, case) for window in tables.windows[material]]
    if tables.look is not None:
        others.append(windows.look_of(tables.look, case.stone.shape, case.figures.ratio)[0])
    found += [(one.place, one.finding.copy(), one.asks) for one in others if one is not None]
    return sorted(found, key=lambda one: one[0])


def plain_id(digest: str, request: Request) -> str:
    """As the contract tells anybody to work it out, by a library for RFC 8785."""
    asked: dict[str, Any] = {"as_of": request.as_of.isoformat(), "digest": digest, "stone": request.stone}
    if request.context is not None:
        asked["context"] = request.context
    return hashlib.sha256(rfc8785.dumps(asked)).hexdigest()


def plainly(rules: CompiledRules, request: Request) -> bytes:
    stone, context, day = models(request)
    found = plain_findings(rules, Case(stone, context or Context(), day, rules.issuers))
    said = [Said(place, finding, asks) for place, finding, asks in found]
    whole = dict(evaluate(rules, stone, context, day))
    whole["evaluation_id"] = plain_id(rules.digest, request)
    whole["verdict"] = worst_verdict(said)
    whole["findings"] = [finding for _, finding, _ in found]
    whole["questions"] = questions(rules, said)
    return orjson.dumps(whole)


def hold(rules: CompiledRules, name: str, version: str, count: int) -> int:
    """How many answers were the same; fails at the first that is not."""
    same = 0
    for request in islice(requests(name, version, seed=29), count):
        expected = plainly(rules, request)
        for _ in range(2):  # with memos empty, and then full
            assert Judged(rules, *models(request)).written == expected, request
        assert orjson.dumps(evaluate(rules, *models(request))) == expected, request
        same += 1
    return same


@pytest.mark.parametrize(("name", "version"), VERSIONS)
def test_an_answer_is_the_same_whichever_way_it_is_made(catalog: Catalog, name: str, version: str) -> None:
    assert hold(compiled_rules(catalog, name, version), name, version, SHORT) == SHORT


@pytest.mark.long
@pytest.mark.parametrize(("name", "version"), VERSIONS)
def test_so_it_is_for_a_hundred_thousand(catalog: Catalog, name: str, version: str) -> None:
    began = time.perf_counter()
    same = hold(compiled_rules(catalog, name, version), name, version, LONG)
    took = time.perf_counter() - began
    print(f"{name}@{version}: {same:,} answers the same, {took:.0f} s")  # noqa: T201 - what it is run for


def test_a_finding_that_was_handed_out_may_be_changed(catalog: Catalog) -> None:
    rules = compiled_rules(catalog, *VERSIONS[1])
    request = next(requests(*VERSIONS[1], seed=31))
    before = Judged(rules, *models(request)).written
    for finding in evaluate(rules, *models(request))["findings"]:
        finding["reason"] = "something else"
    assert Judged(rules, *models(request)).written == before


@pytest.mark.parametrize("text", ['"findings":[]', '","findings":[],"x":"', '\\"findings\\":[]', "findings"])
def test_a_reference_that_looks_like_the_answer_changes_nothing_of_it(catalog: Catalog, text: str) -> None:
    rules = compiled_rules(catalog, *VERSIONS[1])
    asked = Stone(shape="oval", id=text), Context(metal="platinum"), date(2026, 11, 26)
    assert orjson.loads(Judged(rules, *asked).written) == evaluate(rules, *asked)
    assert evaluate(rules, *asked)["stone_id"] == text


def test_memos_do_not_grow_without_bound() -> None:
    assert all(memo.cache_info().maxsize is not None for memo in MEMOS)


def over_http(client: httpx.Client, rules: CompiledRules, count: int, size: int) -> int:
    """Lists, streams and single requests answer with the bytes of the judge alone; how many were compared."""
    reference, day = f"{rules.name}@{rules.version}", date(2026, 11, 26)
    around = {"ruleset": reference, "as_of": day.isoformat()}
    context, compared = {"metal": "rose_gold", "jewelry": "ring"}, 0
    at = requests(rules.name, rules.version, seed=37)
    while compared < count:
        stones = [request.stone for request in islice(at, size)]
        written = [
            Judged(rules, Stone.model_validate(stone), Context.model_validate(context), day).written
            for stone in stones
        ]
        listed = client.post("/v1/evaluations/batch", json={"stones": stones, "context": context, **around})
        assert b'"results":[' + b",".join(written) + b"]," in listed.content
        streamed = client.post(
            "/v1/evaluations/stream",
            params={**context, **around},
            content=b"".join(orjson.dumps(stone) + b"\n" for stone in stones),
            headers={"Content-Type": "application/x-ndjson"},
        )
        assert streamed.content == b"".join(
            b'{"line":%d,"evaluation":%b}\n' % line for line in enumerate(written, start=1)
        )
        one = client.post("/v1/evaluations", json={"stone": stones[0], "context": context, **around})
        assert one.content == written[0]
        compared += size
    return compared


def test_lists_streams_and_single_requests_answer_alike(catalog: Catalog, client: httpx.Client) -> None:
    assert over_http(client, compiled_rules(catalog, *VERSIONS[1]), 600, 200) == 600


@pytest.mark.long
def test_so_they_do_for_a_hundred_thousand(catalog: Catalog, client: httpx.Client) -> None:
    assert over_http(client, compiled_rules(catalog, *VERSIONS[1]), 100_000, 10_000) == 100_000
