"""The one mechanism for every JSON route: raw bytes, the gate, one validation, the endpoint, bytes out.

The contract still comes from the endpoint's own signature, because FastAPI reads that; only the handling
of a request is ours, so that no answer is validated a second time.
"""

import asyncio
import hashlib
import inspect
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import nullcontext
from dataclasses import dataclass, field
from functools import cache
from typing import Any, Final, get_type_hints

import orjson
from fastapi.params import Query
from fastapi.routing import APIRoute
from pydantic import BaseModel
from starlette.requests import Request
from starlette.responses import Response
from starlette.types import Receive, Scope, Send

from gradefloor.web import gate
from gradefloor.web.deprecation import Handler, announced
from gradefloor.web.journal import record
from gradefloor.web.problems import ProblemError
from gradefloor.web.unread import read_list

_NOTHING: Final = nullcontext()
_AT_ONCE: Final = 256 * 1024


@dataclass(frozen=True, slots=True)
class Answer:
    """An answer with headers of its own.

    Its body may be JSON already, whole or the items of its list; the verdict that is logged of it is then
    told here, or stands around the list.
    """

    body: Any
    headers: dict[str, str] = field(default_factory=dict)
    verdict: str | None = None


@dataclass(frozen=True, slots=True)
class LongList:
    """An answer with one long list of what is JSON already, which never becomes one piece of memory.

    `around` is the whole answer with that member empty.
    """

    around: Mapping[str, Any]
    member: str
    items: Sequence[bytes]

    def pieces(self) -> Iterator[bytes]:
        """Its bytes, in pieces of about the size that is handed over at once."""
        # Quotation marks inside of values are escaped, so this is the member and nothing that somebody sent.
        opened = b'"%b":[' % self.member.encode()
        before, _, after = orjson.dumps(self.around).partition(opened)
        piece, size, comma = [before, opened], 0, b""
        for item in self.items:
            piece += (comma, item)
            size += len(item)
            comma = b","
            if size >= _AT_ONCE:
                yield b"".join(piece)
                piece, size = [], 0
        yield b"".join([*piece, after])

    @property
    def length(self) -> int:
        """How many bytes they are in all."""
        commas = max(len(self.items) - 1, 0)
        return len(orjson.dumps(self.around)) + sum(map(len, self.items)) + commas


class JsonRoute(APIRoute):
    """One JSON operation.

    The endpoint takes path parameters as text, at most one model as the body, and at most one model as the
    query; or the request itself, if it reads the body in its own way. FastAPI reads the contract from it and
    is then passed over: what it puts around a handler serves dependencies, of which there are none here, and
    would be a fifth of what a request costs.
    """

    def __init__(self, path: str, endpoint: Callable[..., Any], **options: Any) -> None:
        super().__init__(path, endpoint, **options)
        handle = announced(self.operation_id, _handler(endpoint, cacheable="GET" in (self.methods or ())))

        async def app(scope: Scope, receive: Receive, send: Send) -> None:
            response = await handle(Request(scope, receive))
            await response(scope, receive, send)

        self.app = app


def _handler(endpoint: Callable[..., Any], *, cacheable: bool) -> Handler:
    """From a request to its answer."""
    body_name, body_model, query_name, query_model = _models(endpoint)
    request_name = next((n for n, hint in get_type_hints(endpoint).items() if hint is Request), None)
    limit = getattr(body_model, "body_limit", gate.SINGLE_LIMIT)
    takes_list = limit > gate.SINGLE_LIMIT
    listed: str | None = getattr(body_model, "listed", None)

    async def handle(request: Request) -> Response:
        try:
            arguments: dict[str, Any] = dict(request.path_params)
            text = request.scope["query_string"]
            query = gate.read_query(text, query_readers(query_model)) if text else {}
            if query_model is not None and query_name is not None:
                arguments[query_name] = gate.validate(query_model, query, code="query_invalid")
            if body_model is not None and body_name is not None:
                body = await gate.read_body(request, limit)
                if listed is not None and len(body) > gate.SINGLE_LIMIT:
                    value = read_list(body, listed)
                else:
                    value = gate.read_json(body)
                arguments[body_name] = gate.validate(body_model, value)
            if request_name is not None:
                arguments[request_name] = request
            with request.app.state.load if takes_list else _NOTHING:
                result = await endpoint(**arguments)
        except ProblemError as error:
            return error.response()
        if isinstance(result, Response):
            return result
        return _respond(request, result, cacheable=cacheable)

    return handle


@cache
def query_readers(model: type[BaseModel] | None) -> dict[str, Callable[[str], Any]]:
    """How the text of each query parameter is read, after the type that the contract gives it.

    Made when somebody first asks in this way: for all routes it would be a twentieth of the start.
    """
    properties = {} if model is None else model.model_json_schema()["properties"]
    return {name: _reader(schema) for name, schema in properties.items()}


def _reader(schema: dict[str, Any]) -> Callable[[str], Any]:
    types = {option.get("type") for option in schema.get("anyOf", [schema])}
    return gate.number if "number" in types else gate.boolean if "boolean" in types else str


def _models(
    endpoint: Callable[..., Any],
) -> tuple[str | None, type[BaseModel] | None, str | None, type[BaseModel] | None]:
    body: tuple[str | None, type[BaseModel] | None] = (None, None)
    query: tuple[str | None, type[BaseModel] | None] = (None, None)
    hints = get_type_hints(endpoint, include_extras=True)
    for name in inspect.signature(endpoint).parameters:
        hint = hints[name]
        model = getattr(hint, "__origin__", hint)
        if isinstance(model, type) and issubclass(model, BaseModel):
            in_query = any(isinstance(extra, Query) for extra in getattr(hint, "__metadata__", ()))
            if in_query:
                query = name, model
            else:
                body = name, model
    return *body, *query


def _respond(request: Request, result: Any, *, cacheable: bool) -> Response:
    answer = result if isinstance(result, Answer) else Answer(result)
    if (asked := record.get()) is not None:
        if answer.verdict is not None:
            asked.count(answer.verdict)
        else:
            asked.tell(answer.body.around if isinstance(answer.body, LongList) else answer.body)
    headers = dict(answer.headers)
    if isinstance(answer.body, LongList):
        return _Long(answer.body.pieces(), answer.body.length, headers)
    content = answer.body if isinstance(answer.body, bytes) else orjson.dumps(answer.body)
    if cacheable:
        tag = f'"{hashlib.sha256(content).hexdigest()[:32]}"'
        headers["ETag"] = tag
        headers.setdefault("Cache-Control", "no-cache")
        if matches(request.headers.getlist("if-none-match"), tag):
            return Response(status_code=304, headers=headers)
    if len(content) > _AT_ONCE:
        pieces = (content[at : at + _AT_ONCE] for at in range(0, len(content), _AT_ONCE))
        return _Long(pieces, len(content), headers)
    return Response(content, media_type="application/json", headers=headers)


class _Long(Response):
    """An answer of megabytes, handed over piece by piece, so that others are answered in between."""

    def __init__(self, pieces: Iterable[bytes], length: int, headers: dict[str, str]) -> None:
        super().__init__(media_type="application/json", headers={**headers, "Content-Length": str(length)})
        self._pieces = pieces

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        del scope, receive
        await send({"type": "http.response.start", "status": self.status_code, "headers": self.raw_headers})
        for piece in self._pieces:
            await send({"type": "http.response.body", "body": piece, "more_body": True})
            await asyncio.sleep(0)
        await send({"type": "http.response.body", "body": b"", "more_body": False})


def matches(if_none_match: list[str], tag: str) -> bool:
    """RFC 9110, 13.1.2: a star or any listed tag, compared weakly."""
    listed = [part.strip().removeprefix("W/") for line in if_none_match for part in line.split(",")]
    return "*" in listed or tag in listed
