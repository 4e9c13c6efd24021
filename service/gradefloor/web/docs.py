"""Pages about the contract: how to ask, and what each problem means."""

from functools import cache
from typing import Any

from fastapi import FastAPI
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from gradefloor.web import contract
from gradefloor.web.pages import render, respond
from gradefloor.web.problems import KINDS, ProblemError


def routes(app: FastAPI) -> None:
    """Pages are made once: those of the contract when they are first asked for, for they take a while."""
    document = cache(lambda: contract.build(app))
    served = cache(lambda: contract.as_bytes(document()))
    docs = cache(lambda: render("docs.html", document=document(), operations=_operations(document())))
    problems = {code: render("problem.html", kind=kind) for code, kind in KINDS.items()}
    index = render("problems.html", kinds=KINDS.values())

    async def get_contract(_request: Request) -> Response:
        return Response(await run_in_threadpool(served), media_type="application/json")

    async def get_docs(request: Request) -> Response:
        return respond(request, await run_in_threadpool(docs))

    async def get_problems(request: Request) -> Response:
        return respond(request, index)

    async def get_problem(request: Request) -> Response:
        page = problems.get(request.path_params["code"])
        return ProblemError("not_found").response() if page is None else respond(request, page)

    app.add_route("/openapi.json", get_contract, methods=["GET"])
    app.add_route("/docs", get_docs, methods=["GET"])
    app.add_route("/problems", get_problems, methods=["GET"])
    app.add_route("/problems/{code}", get_problem, methods=["GET"])


def _operations(document: dict[str, Any]) -> list[dict[str, Any]]:
    """Operations in the contract's order, each with its path, method, shapes and examples."""
    found = []
    for path, methods in document["paths"].items():
        for method, operation in methods.items():
            media_type, takes = _content(operation.get("requestBody", {}))
            found.append({
                **operation,
                "path": path,
                "method": method.upper(),
                "media_type": media_type,
                "lines": "x-line-schema" in takes,
                "takes": takes.get("x-line-schema", takes.get("schema")),
                "gives": _gives(operation),
                "examples": list(takes.get("examples", {}).values()),
            })  # fmt: skip
    return found


def _gives(operation: dict[str, Any]) -> dict[str, Any]:
    _, gives = _content(operation["responses"]["200"])
    schema: dict[str, Any] = gives.get("x-line-schema", gives["schema"])
    return schema


def _content(part: dict[str, Any]) -> tuple[str | None, dict[str, Any]]:
    return next(iter(part.get("content", {}).items()), (None, {}))
