"""What judging costs, counted in function calls: the same on a busy machine and on an idle one.

Seconds are measured by the benchmark, by hand. Here only the shape of the cost is held, with wide margins: no
rule that cannot apply is touched, no answer is validated again, no list costs more than its stones alone.
"""

import asyncio
import cProfile
import pstats
from collections.abc import Callable
from typing import Any, Final

import orjson
import pytest
from starlette.types import ASGIApp, Message

import growth
from asked import CONTEXT, DAY, REQUEST, batch
from gradefloor.judge.stones import Judged
from gradefloor.rules.catalog import Catalog, Release
from gradefloor.rules.tables import CompiledRules
from gradefloor.web.app import create_app
from gradefloor.web.service import Service

STONES: Final = growth.STONES[:20]


def calls(work: Callable[[], object]) -> int:
    """How many functions are called; what is kept for the next time is kept before."""
    work()
    profile = cProfile.Profile()
    profile.runcall(work)
    return int(pstats.Stats(profile).total_calls)  # type: ignore[attr-defined] # the stubs lack it


def judging(rules: CompiledRules) -> int:
    """Calls a stone, from the model to the bytes of its answer."""
    return calls(lambda: [Judged(rules, one, growth.AROUND, DAY).written for one in STONES]) // len(STONES)


@pytest.fixture(scope="module")
def release(catalog: Catalog) -> Release:
    return catalog.resolve("house", DAY, growth.NOW)


def test_a_stone_is_judged_in_a_few_hundred_calls(release: Release) -> None:
    """Some 260 with eighteen findings; 520 before findings were made once and facts read once."""
    assert judging(release.compiled) < 380


def test_rules_that_cannot_apply_cost_nothing(release: Release) -> None:
    count = sum(len(getattr(release.rules, kind)) for kind in growth.KINDS)
    grown = growth.with_more(release, 9 * count, {"materials": ["quartz"]}, release.rules.guards)
    assert len(grown.rules) == len(release.compiled.rules) + 9 * count
    assert judging(grown) == judging(release.compiled)


def test_four_times_the_findings_cost_less_than_twice(release: Release) -> None:
    plain = Judged(release.compiled, STONES[0], growth.AROUND, DAY)
    speaking = [guard for guard in release.rules.guards if guard.id == "material.kind"]
    talkative = growth.with_more(release, 3 * len(plain.said), {}, speaking)
    assert len(Judged(talkative, STONES[0], growth.AROUND, DAY).said) == 4 * len(plain.said)
    assert judging(talkative) < 2 * judging(release.compiled)


def test_a_rule_set_is_found_as_quickly_among_many(catalog: Catalog, release: Release) -> None:
    crowded = growth.crowded(catalog, release)
    assert len(crowded.releases) == 20 * len(catalog.releases)
    assert calls(lambda: crowded.resolve("house", DAY, growth.NOW)) == calls(
        lambda: catalog.resolve("house", DAY, growth.NOW)
    )


def asked(app: ASGIApp, path: str, body: bytes) -> bytes:
    """One POST, answered in this process."""
    scope: dict[str, Any] = {
        "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": "POST", "path": path,
        "raw_path": path.encode(), "query_string": b"", "root_path": "", "scheme": "http", "state": {},
        "server": ("127.0.0.1", 80), "client": None,
        "headers": [(b"host", b"bench"), (b"content-type", b"application/json")],
    }  # fmt: skip
    sent: list[bytes] = []

    async def receive() -> Message:
        return {"type": "http.request", "body": body, "more_body": False}

    async def send(message: Message) -> None:
        sent.append(message.get("body", b""))

    async def answer() -> None:
        await app(scope, receive, send)

    asyncio.run(answer())
    return b"".join(sent)


def test_lists_cost_no_more_a_stone_than_single_requests(catalog: Catalog, release: Release) -> None:
    app = create_app(Service(catalog, clock=lambda: growth.NOW))
    release.make()
    single = calls(lambda: asked(app, "/v1/evaluations", REQUEST))
    many = calls(lambda: asked(app, "/v1/evaluations/batch", batch(200))) / 200
    assert orjson.loads(asked(app, "/v1/evaluations", REQUEST))["ruleset"]["name"] == "house"
    assert many < single
    # All that stands around one stone: the loop, the front, the gate, one validation, the answer.
    assert single < judging(release.compiled) + 1200


def test_the_context_of_the_benchmark_is_one_of_the_contract() -> None:
    assert growth.AROUND.model_dump(exclude_none=True) == CONTEXT
