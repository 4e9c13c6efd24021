"""The strict gate for request bodies and queries: bytes in, one validated model out, or a problem.

Refuses what readers of JSON disagree about before anything is validated. Knows nothing of stones.
"""

import re
from collections.abc import Callable
from typing import Any, Final, TypeVar
from urllib.parse import parse_qsl

import jiter
from pydantic import BaseModel, ValidationError
from starlette.requests import ClientDisconnect, Request

from gradefloor.web.problems import FieldError, ProblemError, explain

JSON: Final = "application/json"
MAX_DEPTH: Final = 32
# Ten thousand stones with all their lists and objects have some 60,000 of these.
MAX_BRACKETS: Final = 200_000
MAX_NAMES: Final = 200
# So many members take more bytes than this: a comma, a name in quotes, a colon, a value.
SMALL: Final = 6 * MAX_NAMES
SINGLE_LIMIT: Final = 64 * 1024
LIST_LIMIT: Final = 16 * 1024 * 1024

M = TypeVar("M", bound=BaseModel)

_BAD_PERCENT: Final = re.compile(rb"%(?![0-9A-Fa-f]{2})")
_JSON_NUMBER: Final = re.compile(r"-?(0|[1-9][0-9]*)(\.[0-9]+)?([eE][+-]?[0-9]+)?")


def check_headers(request: Request, media_type: str) -> None:
    """Refuse a body that is compressed, or not of this media type in UTF-8."""
    if not _is(media_type, _headers(request, b"content-type")):
        raise ProblemError(
            "media_type_unsupported",
            headers={"Accept": media_type},
            detail=f"Set Content-Type to {media_type}.",
        )
    codings = _headers(request, b"content-encoding")
    if any(coding.strip().lower() not in {b"", b"identity"} for coding in codings):
        raise ProblemError("encoding_unsupported", headers={"Accept-Encoding": "identity"})


def _headers(request: Request, name: bytes) -> list[bytes]:
    """Every value of a header, as it came."""
    return [value for found, value in request.scope["headers"] if found == name]


async def read_body(request: Request, limit: int) -> bytes:
    """The whole body, if it is uncompressed application/json and no larger than `limit`."""
    check_headers(request, JSON)
    if any(length.isdigit() and int(length) > limit for length in _headers(request, b"content-length")):
        raise ProblemError("body_too_large")
    chunks, more = bytearray(), True
    while more:
        message = await request.receive()
        if message["type"] == "http.disconnect":
            raise ClientDisconnect
        chunk, more = message.get("body", b""), message.get("more_body", False)
        if len(chunks) + len(chunk) > limit:
            raise ProblemError("body_too_large")
        if not more and not chunks:
            return bytes(chunk)
        chunks += chunk
    return bytes(chunks)


def _is(wanted: str, content_types: list[bytes]) -> bool:
    """One media type, the wanted one, with no parameter but the charset it has anyway."""
    if len(content_types) != 1:
        return False
    media_type, *parameters = (part.strip().lower() for part in content_types[0].split(b";"))
    said = [parameter for parameter in parameters if parameter]
    return media_type == wanted.encode() and said in ([], [b"charset=utf-8"], [b'charset="utf-8"'])


class PartError(ValueError):
    """A part of a body that cannot be read by itself."""


def refuse_many(body: bytes) -> int:
    """How many lists and objects there may be in a body; a problem if no request has so many."""
    brackets = body.count(b"[") + body.count(b"{")
    if brackets > MAX_BRACKETS:
        raise ProblemError("body_too_large", detail="No request has so many lists and objects.")
    return brackets


def read_part(text: bytes, levels: int) -> Any:
    """A part of a body in I-JSON, at most so many levels deep; PartError if it is none."""
    try:
        value = _parse(text)
    except ValueError as error:
        raise PartError from error
    if len(text) > SMALL or text.count(b"[") + text.count(b"{") > levels:
        _refuse_monsters(value, levels)
    return value


def _parse(text: bytes) -> Any:
    return jiter.from_json(text, catch_duplicate_keys=True, allow_inf_nan=False)


def read_json(body: bytes) -> Any:
    """I-JSON (RFC 7493) only: no NaN, no duplicate names, no lone surrogates, at most 32 levels."""
    brackets = refuse_many(body)
    try:
        value = _parse(body)
    except ValueError as error:
        # The reader's sentence may repeat a name from the body; its position is enough.
        reason = str(error)
        place = reason[reason.rfind(" at line ") :] if " at line " in reason else ""
        if "duplicate key" in reason:
            detail = f"Send each name once; the second{place}."
            raise ProblemError("json_duplicate_key", detail=detail) from None
        if "recursion limit" in reason:
            raise ProblemError("json_too_deep") from None
        raise ProblemError("json_invalid", detail=f"It stops being JSON{place}.") from None
    # A small body with few brackets is neither deep nor wide, and most are such.
    if brackets > MAX_DEPTH or len(body) > SINGLE_LIMIT:
        _refuse_monsters(value, MAX_DEPTH)
    return value


def _refuse_monsters(value: Any, levels: int) -> None:
    """Refuse what is nested too deeply, and objects with more names than any validation should look at."""
    level = [value]
    for _ in range(levels):
        if any(len(part) > MAX_NAMES for part in level if type(part) is dict):
            raise ProblemError("request_invalid", detail="No object of a request has so many members.")
        # What a reader of JSON returns is of these very types; this looks at every value of a large body.
        level = [
            inner
            for outer in level
            for inner in (outer.values() if type(outer) is dict else outer if type(outer) is list else ())
            if type(inner) is dict or type(inner) is list
        ]
        if not level:
            return
    raise ProblemError("json_too_deep")


def validate(
    model: type[M],
    value: Any,
    *,
    code: str = "request_invalid",
    prefix: str = "",
    brief: bool = False,
) -> M:
    """The value as a model, or a problem that lists its faulty places (a few of them, if `brief`)."""
    try:
        return model.model_validate(value)
    except ValidationError as error:
        raise ProblemError(code, explain(error, model, prefix, brief=brief)) from None


def read_query(query: bytes, readers: dict[str, Callable[[str], Any]]) -> dict[str, Any]:
    """Each known parameter once, read as the contract types it; the values are not validated yet."""
    errors: list[FieldError] = []
    values: dict[str, Any] = {}
    if _BAD_PERCENT.search(query):
        raise ProblemError("query_invalid", detail="Write % as %25, or follow it by two hexadecimal digits.")
    try:
        pairs = parse_qsl(query.decode("ascii"), keep_blank_values=True, strict_parsing=True, errors="strict")
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
