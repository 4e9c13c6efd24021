"""What judging costs, as ratios within one run. Run by hand: .venv/bin/python tests/bench/evaluation.py

1. In process: parse, judge and write one stone, against parsing the same bytes and writing a ready answer.
2. Over HTTP: `POST /v1/evaluations`, against two routes with the same models that judge nothing: one
   through our own mechanism, one as FastAPI does it by itself (model in, model out).

Rounds are interleaved and medians compared, because the machine is shared. Figures in microseconds are this
machine's; the ratios travel.
"""

import asyncio
import gc
import json
import socket
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Annotated

import orjson
import uvicorn
from fastapi import Body, FastAPI

from gradefloor.judge.findings import Evaluation
from gradefloor.judge.stones import evaluate
from gradefloor.rules.catalog import load
from gradefloor.trade.stones import Context
from gradefloor.web import gate
from gradefloor.web.app import create_app
from gradefloor.web.evaluations import EvaluationRequest
from gradefloor.web.service import Service

ROOT = Path(__file__).parents[2]
DAY = date(2026, 11, 25)
ROUNDS = 9
CONNECTIONS = 8
# An invented stone with about as many fields as a listing has.
REQUEST = json.dumps({
    "stone": {
        "id": "A-17", "shape": "radiant", "origin": "natural", "carat": 2.18, "color": "H", "clarity": "SI1",
        "length_mm": 8.4, "width_mm": 6.56, "depth_mm": 4.4, "table_pct": 66, "polish": "excellent",
        "symmetry": "very_good", "fluorescence": "none", "girdle_min": "medium", "culet": "none",
        "report": {"issuer": "GIA", "number": "0000000000", "date": "2025-03-01"},
        "observations": {"eye_clean": True, "bow_tie": "slight"},
    },
    "context": {"metal": "platinum", "jewelry": "ring"},
    "ruleset": "house@1.0.0",
    "as_of": "2026-11-25",
}).encode()  # fmt: skip
RAW = (
    b"POST %s HTTP/1.1\r\nhost: bench\r\ncontent-type: application/json\r\n"
    b"content-length: " + str(len(REQUEST)).encode() + b"\r\n\r\n" + REQUEST
)


def build() -> FastAPI:
    """The service with two routes beside it that take the same models and judge nothing."""
    service = Service(load(ROOT / "rulesets"))
    app = create_app(service)
    ready = _answer(service)

    async def nothing(request: EvaluationRequest) -> Evaluation:
        del request
        return ready

    app.router.add_api_route("/nothing", nothing, methods=["POST"], response_model=Evaluation)
    plain = FastAPI()

    @plain.post("/nothing")
    async def plain_nothing(request: Annotated[EvaluationRequest, Body()]) -> Evaluation:
        del request
        return ready

    app.mount("/plain", plain)
    gc.freeze()  # as `gradefloor serve` does
    return app


def _answer(service: Service) -> Evaluation:
    request = gate.validate(EvaluationRequest, gate.read_json(REQUEST))
    release, day = service.resolve(request.ruleset, request.as_of)
    return evaluate(release.compiled, request.stone, request.context or Context(), day)


def in_process() -> None:
    service = Service(load(ROOT / "rulesets"))
    ready = _answer(service)

    def judged() -> bytes:
        return orjson.dumps(_answer(service))

    def unjudged() -> bytes:
        gate.validate(EvaluationRequest, gate.read_json(REQUEST))
        return orjson.dumps(ready)

    rules = service.resolve("house@1.0.0", DAY)[0].compiled
    request = gate.validate(EvaluationRequest, gate.read_json(REQUEST))

    def judging() -> object:
        return evaluate(rules, request.stone, request.context, DAY)

    gc.freeze()
    times = _interleaved({"judged": judged, "unjudged": unjudged, "judging alone": judging}, number=2000)
    findings = len(ready["findings"])
    print(f"in process, {findings} findings, {len(judged())} bytes:")
    for name, seconds in times.items():
        print(f"  {name:15} {seconds * 1e6:7.1f} us")
    print(f"  ratio judged / unjudged: {times['judged'] / times['unjudged']:.2f}")


def _interleaved(what: dict[str, Callable[[], object]], number: int) -> dict[str, float]:
    rounds: dict[str, list[float]] = {name: [] for name in what}
    for _ in range(ROUNDS):
        for name, call in what.items():
            start = time.perf_counter()
            for _ in range(number):
                call()
            rounds[name].append((time.perf_counter() - start) / number)
    return {name: statistics.median(found) for name, found in rounds.items()}


async def over_http(port: int) -> None:
    paths = {
        "evaluations": b"/v1/evaluations",
        "ours, judging nothing": b"/nothing",
        "FastAPI's own, judging nothing": b"/plain/nothing",
    }
    latencies: dict[str, list[float]] = {name: [] for name in paths}
    rates: dict[str, list[float]] = {name: [] for name in paths}
    for _ in range(ROUNDS):
        for name, path in paths.items():
            took = await _ask(port, path, 300)
            latencies[name].append(took / 300)
            start = time.perf_counter()
            await asyncio.gather(*(_ask(port, path, 100) for _ in range(CONNECTIONS)))
            rates[name].append(CONNECTIONS * 100 / (time.perf_counter() - start))
    print(f"over HTTP, one worker, client on the other core, {CONNECTIONS} connections for the rate:")
    for name in paths:
        latency, rate = statistics.median(latencies[name]), statistics.median(rates[name])
        print(f"  {name:31} {latency * 1e6:7.0f} us alone, {rate:7.0f} requests/s")
    ours = statistics.median(rates["evaluations"])
    for name in list(paths)[1:]:
        print(f"  ratio of rates, evaluations / {name}: {ours / statistics.median(rates[name]):.2f}")


async def _ask(port: int, path: bytes, count: int) -> float:
    reader, writer = await asyncio.open_connection("127.0.0.1", port)
    message = RAW % path
    start = time.perf_counter()
    for _ in range(count):
        writer.write(message)
        head = await reader.readuntil(b"\r\n\r\n")
        if not head.startswith(b"HTTP/1.1 200"):
            raise RuntimeError(head.decode())
        length = int(head.lower().partition(b"content-length: ")[2].partition(b"\r")[0])
        await reader.readexactly(length)
    took = time.perf_counter() - start
    writer.close()
    return took


def main() -> None:
    if sys.argv[1:]:
        uvicorn.run(build(), host="127.0.0.1", port=int(sys.argv[1]), access_log=False, log_level="error")
        return
    in_process()
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
    with subprocess.Popen([sys.executable, __file__, str(port)]) as server:
        try:
            for _ in range(200):
                try:
                    socket.create_connection(("127.0.0.1", port)).close()
                    break
                except OSError:
                    time.sleep(0.1)
            asyncio.run(over_http(port))
        finally:
            server.terminate()


if __name__ == "__main__":
    main()
