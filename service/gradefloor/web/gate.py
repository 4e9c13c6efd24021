"""The strict gate for request bodies and queries: bytes in, one validated model out, or a problem.

Refuses what readers of JSON disagree about before anything is validated. Knows nothing of stones.
"""

import re
from collections.abc import Callable, Iterator
from typing import Any, Final, TypeVar
from urllib.parse import parse_qsl

import jiter
from pydantic import BaseModel, ValidationError
from starlette.requests import Request

from gradefloor.web.problems import FieldError, ProblemError, explain

MAX_DEPTH: Final = 32
SINGLE_LIMIT: Final = 64 * 1024
LIST_LIMIT: Final = 16 * 1024 * 1024

M = TypeVar("M", bound=BaseModel)

_JSON_NUMBER: Final = re.compile(r"-?(0|[1-9][0-9]*)(\.[0-9]+)?([eE][+-]?[0-9]+)?")


async def read_body(request: Request, limit: int) -> bytes:
    """The whole body, if it is uncompressed application/json and no larger than `limit`."""
    headers = request.headers
    media_type, *parameters = headers.get("content-type", "").split(";")
    charset = "".join(parameters).strip().lower()
    if media_type.strip().lower() != "application/json" or charset not in {
        "", "charset=utf-8", 'charset="utf-8"',
    }:  # fmt: skip
        raise ProblemError("media_type_unsupported", headers={"Accept": "application/json"})
    if headers.get("content-encoding", "identity").lower() != "identity":
        raise ProblemError("encoding_unsupported", headers={"Accept-Encoding": "identity"})
    length = headers.get("content-length", "0")
    if length.isdecimal() and int(length) > limit:
        raise ProblemError("body_too_large")
    body = bytearray()
    async for chunk in request.stream():
        body += chunk
        if len(body) > limit:
            raise ProblemError("body_too_large")
    return bytes(body)


def read_json(body: bytes) -> Any:
    """I-JSON (RFC 7493) only: no NaN, no duplicate names, no lone surrogates, at most 32 levels."""
    try:
        value = jiter.from_json(body, catch_duplicate_keys=True, allow_inf_nan=False)
    except ValueError as error:
        # The reader's sentence may repeat a name from the body; its position is enough.
        reason = str(error)
        place = reason[reason.rfind(" at line ") :] if " at line " in reason else ""
        if "duplicate key" in reason:
            raise ProblemError(
                "json_duplicate_key", detail=f"Send each name once; the second{place}."
            ) from None
        if "recursion limit" in reason:
            raise ProblemError("json_too_deep") from None
        raise ProblemError("json_invalid", detail=f"It stops being JSON{place}.") from None
    # A body with few brackets cannot be deep, and most have few.
    if body.count(b"[") + body.count(b"{") > MAX_DEPTH and _too_deep(value):
        raise ProblemError("json_too_deep")
    return value


def _too_deep(value: Any) -> bool:
    level = [value]
    for _ in range(MAX_DEPTH):
        level = [inner for outer in level for inner in _inside(outer)]
        if not level:
            return False
    return True


def _inside(value: Any) -> Iterator[Any]:
    """Containers directly inside a container."""
    values = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    return (inner for inner in values if isinstance(inner, dict | list))


def validate(model: type[M], value: Any, *, code: str = "request_invalid", prefix: str = "") -> M:
    """The value as a model, or a problem that lists every faulty place."""
    try:
        return model.model_validate(value)
    except ValidationError as error:
        raise ProblemError(code, explain(error, model, prefix)) from None


def read_query(query: bytes, readers: dict[str, Callable[[str], Any]]) -> dict[str, Any]:
    """Each known parameter once, read as the contract types it; the values are not validated yet."""
    errors: list[FieldError] = []
    values: dict[str, Any] = {}
    try:
        pairs = parse_qsl(
            query.decode("ascii"), keep_blank_values=True, strict_parsing=bool(query), errors="strict"
        )
    except ValueError:
        raise ProblemError("query_invalid", detail="Write the query as name=value, in UTF-8.") from None
    for name, text in pairs:
        if name not in readers:
            known = name if len(name) <= MAX_DEPTH and name.isidentifier() else "?"
            errors.append({"pointer": f"/{known}", "found": "an unknown parameter", "allowed": "a known one"})
        elif name in values:
            errors.append({"pointer": f"/{name}", "found": "a second value", "allowed": "each name once"})
        else:
            try:
                values[name] = readers[name](text)
            except ValueError as error:
                errors.append({"pointer": f"/{name}", "found": "text", "allowed": str(error)})
    if errors:
        raise ProblemError("query_invalid", errors)
    return values


def number(text: str) -> float:
    """A number as JSON writes it."""
    if not _JSON_NUMBER.fullmatch(text):
        raise ValueError("a number, written as in JSON")
    return float(text)


def boolean(text: str) -> bool:
    if text not in {"true", "false"}:
        raise ValueError("true or false")
    return text == "true"
