"""Pages for people: the contract to read, and what each problem means. No script, nothing from elsewhere."""

import re
from typing import Any, Final

import orjson
from fastapi import FastAPI
from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape
from markupsafe import Markup, escape
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from gradefloor import __version__
from gradefloor.web import contract
from gradefloor.web.problems import KINDS, ProblemError

_HEADERS: Final = {
    "Content-Security-Policy": "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'",
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
}
_TEMPLATES: Final = Environment(
    loader=PackageLoader("gradefloor.web"),
    autoescape=select_autoescape(["html"]),
    undefined=StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
)
_TEMPLATES.filters["json"] = lambda value: orjson.dumps(value, option=orjson.OPT_INDENT_2).decode()


def _inline(text: str) -> Markup:
    """Backticks are the only mark-up that the contract's sentences use."""
    marked = re.sub(r"`([^`]+)`", r"<code>\1</code>", str(escape(text)))
    return Markup(marked)  # noqa: S704 - escaped before it was marked


_TEMPLATES.filters["inline"] = _inline


def routes(app: FastAPI, document: dict[str, Any]) -> None:
    """Pages are made once, at start."""
    served = contract.as_bytes(document)
    docs = _page("docs.html", document=document, operations=_operations(document))
    problems = {code: _page("problem.html", kind=kind) for code, kind in KINDS.items()}
    index = _page("problems.html", kinds=KINDS.values())

    async def get_contract(_request: Request) -> Response:
        return Response(served, media_type="application/json")

    async def get_docs(_request: Request) -> Response:
        return HTMLResponse(docs, headers=_HEADERS)

    async def get_problems(_request: Request) -> Response:
        return HTMLResponse(index, headers=_HEADERS)

    async def get_problem(request: Request) -> Response:
        page = problems.get(request.path_params["code"])
        return ProblemError("not_found").response() if page is None else HTMLResponse(page, headers=_HEADERS)

    app.add_route("/openapi.json", get_contract, methods=["GET"])
    app.add_route("/", get_docs, methods=["GET"])
    app.add_route("/docs", get_docs, methods=["GET"])
    app.add_route("/problems", get_problems, methods=["GET"])
    app.add_route("/problems/{code}", get_problem, methods=["GET"])


def _page(template: str, **values: Any) -> str:
    return _TEMPLATES.get_template(template).render(version=__version__, **values)


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
