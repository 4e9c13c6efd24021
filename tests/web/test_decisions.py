"""What is kept of evaluations, and spans: by their ids, with nothing of the stone. All stones are invented.

Span attributes: OpenTelemetry semantic conventions for HTTP; `traceparent`: W3C Trace Context.
"""

import asyncio
import json
import os
import time
from pathlib import Path
from typing import Any, Final

import httpx
import pytest

from gradefloor.rules.catalog import Catalog
from gradefloor.web.app import create_app
from gradefloor.web.journal import Journal
from gradefloor.web.service import Service
from processes import first_version, running

CANARY: Final = "qzcanary99"
STONE: Final = {"shape": "oval", "id": CANARY}


def test_every_evaluation_is_kept_by_its_id_without_the_stone(tmp_path: Path) -> None:
    file = tmp_path / "decisions.ndjson"
    stones = [STONE, {"shape": "no"}, STONE]
    with (
        running(tmp_path, first_version(tmp_path), "--decisions", str(file)) as service,
        httpx.Client(base_url=service.address) as client,
    ):
        one = client.post("/v1/evaluations", json={"stone": STONE}).json()
        many = client.post("/v1/evaluations/batch", json={"stones": stones}).json()
        page = client.get("/v1/evaluations?shape=oval").json()
        lines = client.post(
            "/v1/evaluations/stream",
            content=json.dumps(STONE) + "\nno\n",
            headers={"Content-Type": "application/x-ndjson"},
        ).text.splitlines()
    answers = [one, many["results"][0], many["results"][2], page, json.loads(lines[0])["evaluation"]]
    kept = [json.loads(line) for line in file.read_text().splitlines()]
    assert [line["evaluation_id"] for line in kept] == [answer["evaluation_id"] for answer in answers]
    first = kept[0]
    assert (first["verdict"], first["ruleset"]) == ("ask", "house@1.0.0")
    assert first["digest"] == one["ruleset"]["digest"]
    assert first["findings"] == {finding["rule"]: finding["verdict"] for finding in one["findings"]}
    assert CANARY not in file.read_text()


def test_a_journal_that_nobody_reads_drops_lines_and_counts_them() -> None:
    reading, writing = os.pipe()

    async def write() -> Journal:
        journal = Journal(writing)
        began = time.monotonic()
        for _ in range(100):
            journal.write(b"x" * 99_999 + b"\n")
        assert time.monotonic() - began < 1
        await journal.close(0.2)
        return journal

    journal = asyncio.run(write())
    assert journal.dropped > 50
    os.close(reading)
    os.close(writing)


def test_a_journal_that_cannot_write_counts_what_is_lost() -> None:
    reading, writing = os.pipe()
    os.close(reading)

    async def write() -> int:
        journal = Journal(writing)
        journal.write(b"one\n")
        journal.write(b"two\n")
        await journal.close()
        return journal.dropped

    assert asyncio.run(write()) == 2
    os.close(writing)


def test_a_request_is_one_span_in_its_caller_s_trace(catalog: Catalog) -> None:
    memory = pytest.importorskip("opentelemetry.sdk.trace.export.in_memory_span_exporter")
    export = pytest.importorskip("opentelemetry.sdk.trace.export")
    from gradefloor.web.tracing import Tracer  # noqa: PLC0415 - an extra

    exporter = memory.InMemorySpanExporter()
    app = create_app(Service(catalog), tracer=Tracer(export.SimpleSpanProcessor(exporter)))
    trace = "0af7651916cd43dd8448eb211c80319c"

    async def ask() -> None:
        headers = {"traceparent": f"00-{trace}-b7ad6b7169203331-01", "Authorization": CANARY}
        transport = httpx.ASGITransport(app)
        async with httpx.AsyncClient(transport=transport, base_url="http://test", headers=headers) as client:
            await client.post("/v1/evaluations", json={"stone": STONE, "ruleset": "house@1.0.0"})
            await client.get(f"/v1/evaluations?shape={CANARY}")

    asyncio.run(ask())
    fine, refused = exporter.get_finished_spans()
    assert f"{fine.context.trace_id:032x}" == trace
    attributes: dict[str, Any] = dict(fine.attributes)
    assert attributes.pop("gradefloor.request_id")
    assert attributes == {
        "http.request.method": "POST",
        "http.route": "/v1/evaluations",
        "http.response.status_code": 200,
        "gradefloor.ruleset": "house@1.0.0",
        "gradefloor.verdicts.ask": 1,
    }
    assert fine.name == "POST /v1/evaluations"
    assert refused.attributes["http.response.status_code"] == 422
    assert CANARY not in fine.to_json() + refused.to_json()
