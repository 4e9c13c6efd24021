"""What the service is held against: the same models and the same bytes without rules, in three ways.

`gate` is our own way in and out, with one validation, the id of the evaluation and one serialisation, behind
the same front. `idiomatic` is what the framework's tutorial writes: model in, model out. `constant` answers
ready bytes. None of them judges anything. Run as `peers.py WHICH PORT`.
"""

import gc
import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from typing import Any, Final

import orjson
import uvicorn
from fastapi import FastAPI
from pydantic import BaseModel
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from asked import DAY, FEW, REQUEST, ROOT
from engine_rules import reduced
from gradefloor.judge.findings import Evaluation
from gradefloor.judge.stones import Judged, evaluation_id
from gradefloor.rules.catalog import Catalog, load
from gradefloor.rules.tables import CompiledRules
from gradefloor.trade.stones import Context, Stone
from gradefloor.web import gate
from gradefloor.web.app import create_app
from gradefloor.web.evaluations import Batch, BatchRequest, EvaluationRequest
from gradefloor.web.lists import read_each
from gradefloor.web.problems import ProblemError
from gradefloor.web.protocol import protocol_of
from gradefloor.web.route import Answer, LongList
from gradefloor.web.service import Service

SINGLE: Final = "/without-rules"
MANY: Final = "/without-rules/batch"


def ready(rules: CompiledRules) -> Evaluation:
    """One evaluation as it is answered."""
    asked = gate.validate(EvaluationRequest, gate.read_json(REQUEST))
    return Judged(rules, asked.stone, asked.context, DAY).evaluation


class _Idiomatic(BaseModel):
    """A stone to judge, as one would write it."""

    stone: Stone
    context: Context | None = None
    ruleset: str | None = None
    as_of: date | None = None


class _IdiomaticBatch(BaseModel):
    stones: list[Stone]
    context: Context | None = None
    ruleset: str | None = None
    as_of: date | None = None


def with_few(catalog: Catalog) -> Catalog:
    """And a name under which the house's floors and windows answer alone."""
    release = catalog.releases["house"][-1]
    few = replace(release, name=FEW)
    few.__dict__["_compiled"] = (reduced(release.compiled), [])
    return Catalog({**catalog.releases, FEW: (few,)}, catalog.listed)


def gated(service: Service) -> FastAPI:
    """The service itself, with two routes beside its own that do all but judge."""
    app = create_app(service)
    rules = service.resolve("house", DAY)[0].compiled
    answer = ready(rules)

    def unjudged(stone: Stone, context: Context | None) -> bytes:
        identity = evaluation_id(rules.digest, stone, context, DAY)
        return orjson.dumps({**answer, "evaluation_id": identity, "stone_id": stone.id})

    async def single(request: EvaluationRequest) -> Answer:
        service.resolve(request.ruleset, request.as_of)
        return Answer(unjudged(request.stone, request.context), verdict="pass")

    async def many(request: BatchRequest) -> Answer:
        service.resolve(request.ruleset, request.as_of)
        results = []
        async for _, stone in read_each(Stone, request.stones, "stones"):
            if isinstance(stone, ProblemError):
                raise stone
            results.append(unjudged(stone, request.context))
        return Answer(LongList({"results": [], "counts": {"pass": len(results)}}, "results", results))

    app.router.add_api_route(SINGLE, single, methods=["POST"], response_model=Evaluation)
    app.router.add_api_route(MANY, many, methods=["POST"], response_model=Batch)
    # Found as the service's own are found.
    (front,) = app.user_middleware
    straight: Any = front.kwargs["straight"]
    straight.update(
        {("POST", path): route for path, route in zip((SINGLE, MANY), app.router.routes[-2:], strict=True)}
    )
    return app


def idiomatic(service: Service) -> FastAPI:
    app = FastAPI()
    answer = ready(service.resolve("house", DAY)[0].compiled)
    around = {key: answer[key] for key in ("ruleset", "as_of", "service_version")}

    @app.post(SINGLE)
    async def single(request: _Idiomatic) -> Evaluation:
        return {**answer, "stone_id": request.stone.id}

    @app.post(MANY)
    async def many(request: _IdiomaticBatch) -> Batch:
        results = [{**answer, "stone_id": stone.id} for stone in request.stones]
        counts = {"pass": len(results), "ask": 0, "fail": 0, "problem": 0}
        return {**around, "results": results, "counts": counts}  # type: ignore[typeddict-item]

    return app


def constant(service: Service) -> Starlette:
    content = orjson.dumps(ready(service.resolve("house", DAY)[0].compiled))

    async def single(request: Request) -> Response:
        await request.body()
        return Response(content, media_type="application/json")

    return Starlette(routes=[Route(SINGLE, single, methods=["POST"])])


PEERS: Final[dict[str, Callable[[Service], Any]]] = {
    "gate": gated,
    "idiomatic": idiomatic,
    "constant": constant,
}


def main() -> None:
    which, port = sys.argv[1], int(sys.argv[2])
    service = Service(with_few(load(ROOT / "rulesets")))
    app = PEERS[which](service)
    http = protocol_of(service.load) if which == "gate" else "httptools"
    gc.freeze()  # as `gradefloor serve` does
    uvicorn.run(app, host="127.0.0.1", port=port, http=http, ws="none", access_log=False, log_level="error")


if __name__ == "__main__":
    main()
