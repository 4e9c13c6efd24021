"""The application: routes put together, and everything that is no route answered as a problem."""

from collections.abc import Callable
from contextlib import AbstractAsyncContextManager

from fastapi import FastAPI
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from gradefloor.web import (
    annotations,
    bench,
    changes,
    comparisons,
    contract,
    deprecation,
    docs,
    drawings,
    evaluations,
    health,
    leads,
    pages,
    pairings,
    readings,
    rulebook,
    rulesets,
    shortlists,
    specifications,
    streams,
    telemetry,
    vocabulary,
    wording,
)
from gradefloor.web.front import Front, Spans
from gradefloor.web.problems import ProblemError
from gradefloor.web.route import JsonRoute
from gradefloor.web.service import Service

Lifespan = Callable[[object], AbstractAsyncContextManager[None]]


def create_app(service: Service, lifespan: Lifespan | None = None, tracer: Spans | None = None) -> FastAPI:
    """One application; `lifespan` is what goes on beside answering, as long as it runs."""
    app = FastAPI(
        title="gradefloor",
        docs_url=None,
        redoc_url=None,
        openapi_url=None,
        redirect_slashes=False,
        lifespan=lifespan,
        # What is told of a request is told by the front, and by the tracer where one is wanted.
        telemetry={"tracing": False, "metrics": False, "logs": False},
        separate_input_output_schemas=False,
    )
    app.router.route_class = JsonRoute
    evaluations.routes(app.router, service)
    streams.routes(app.router, service)
    readings.routes(app.router, service)
    pairings.routes(app.router, service)
    for advice in (specifications, shortlists, comparisons, leads):
        advice.routes(app.router, service)
    annotations.routes(app.router, service)
    drawings.routes(app.router, service)
    wording.routes(app.router, service)
    changes.routes(app.router, service)  # before the versions, of which "changes" is none
    rulesets.routes(app.router, service)
    vocabulary.routes(app.router)
    health.routes(app.router, service)
    docs.routes(app)
    bench.routes(app, service)
    rulebook.routes(app, service)
    pages.serve_assets(app)
    counts = telemetry.Telemetry()
    telemetry.routes(app, service, counts)
    annotations.serve_script(app)
    app.add_exception_handler(HTTPException, _http_problem)
    operations = [route for route in app.routes if isinstance(route, JsonRoute)]
    deprecation.check_known([route.operation_id for route in operations])
    straight = {
        (method, route.path): route
        for route in operations
        if not route.param_convertors
        for method in route.methods or ()
    }
    app.add_middleware(Front, service=service, telemetry=counts, tracer=tracer, straight=straight)
    app.state.load = service.load
    return app


async def _http_problem(request: Request, error: Exception) -> Response:
    """Unknown paths and methods, found out by the router."""
    if isinstance(error, HTTPException) and error.status_code == 405:  # noqa: PLR2004 - RFC 9110, 15.5.6
        allow = ", ".join(contract.allowed_methods(request.app.routes, dict(request.scope)))
        return ProblemError("method_not_allowed", headers={"Allow": allow}).response()
    return ProblemError("not_found").response()
