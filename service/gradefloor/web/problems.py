"""Every error the service can answer, made here and nowhere else, as RFC 9457 problem details.

    ProblemError
    ├── what the client sent      400, 413, 414, 415, 422
    ├── what it asked for         404, 405
    └── what we did wrong         500

No problem repeats what the client sent, except the name of a field it may have mistyped.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Annotated, Any, Final, NotRequired

import orjson
from pydantic import BaseModel, Field, ValidationError
from pydantic_core import ErrorDetails
from starlette.responses import Response
from typing_extensions import TypedDict

from gradefloor.web.journal import record

MEDIA_TYPE: Final = "application/problem+json"
MAX_ERRORS: Final = 50
MAX_BRIEF: Final = 3
MAX_COUNTED: Final = 1000
# Longer than any word of the contract; looking for the nearest one to it would only take time.
MAX_WORD: Final = 30
# A name that somebody may have mistyped: short, printable, and neither a mail address nor a telephone number.
_NAME: Final = re.compile(r"(?!.*@)(?!(?:\D*\d){6})[ -~]{0,40}")


class FieldError(TypedDict):
    """One place in the request that is wrong."""

    pointer: Annotated[
        str,
        Field(description="JSON pointer (RFC 6901) into the body; for a query, / and the parameter."),
    ]
    found: Annotated[str, Field(description="What kind of thing was there; never the value itself.")]
    allowed: Annotated[str, Field(description="What may be there.")]


class Problem(TypedDict):
    """RFC 9457 problem details."""

    type: Annotated[str, Field(description="Address of the page about this problem.")]
    title: Annotated[str, Field(description="What is wrong, in one sentence.")]
    status: Annotated[int, Field(description="HTTP status, repeated.")]
    code: Annotated[str, Field(description="Stable word for programs; more may be added.")]
    detail: Annotated[str, Field(description="What to do about it.")]
    errors: NotRequired[Annotated[list[FieldError], Field(description="Every faulty place, at most 50.")]]


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of problem, with what a person needs to repair it."""

    code: str
    status: int
    title: str
    cause: str
    repair: str


_KINDS: Final = (
    Kind("http_invalid", 400, "The request is not HTTP/1.1.",
         "Its first line, its headers or its chunks break RFC 9112, two of them say how long it is, or it "
         "has not exactly one Host.",
         "Use an HTTP library; send one Host, and either Content-Length or Transfer-Encoding."),
    Kind("unauthorized", 401, "A key is needed, and none that is known was sent.",
         "This service answers to keys, and Authorization holds none, several, or one that it does not know.",
         "Send one key as Authorization: Bearer KEY; a browser sends it as the password of its log-in form."),
    Kind("forbidden", 403, "This key may not ask for that.",
         "The key is known, but has not the scope that this call needs.",
         "Ask whoever runs the service for a key with this scope: judge, rules:read, embed or operate."),
    Kind("too_slow", 408, "The request did not come in time.",
         "The head of a request may take ten seconds, and its body has to go on coming.",
         "Send it again, without pauses."),
    Kind("quota_used_up", 429, "This key has used up its requests for now.",
         "A key has so many requests a minute; they are counted in each process of the service by itself.",
         "Wait as many seconds as Retry-After says; RateLimit tells what is left."),
    Kind("headers_too_large", 431, "The headers are too large.",
         "All headers together take 16 KB, and there may be a hundred of them.",
         "Send fewer or shorter headers."),
    Kind("draining", 503, "The service is about to end.",
         "It has been asked to stop, finishes what it has begun, and wants no new work.",
         "Ask another instance."),
    Kind("overloaded", 503, "The service has too much to do.",
         "More requests wait than it can answer soon; it refuses rather than letting all of them wait.",
         "Try again after as many seconds as Retry-After says."),
    Kind("json_invalid", 400, "The body is not JSON.",
         "The bytes are not one JSON text in UTF-8: a stray comma, NaN or Infinity, a lone surrogate, a byte "
         "order mark, something after the end.",
         "Send one JSON object, written by a JSON library; numbers that do not exist are left out."),
    Kind("json_duplicate_key", 400, "A name occurs twice in one object.",
         "I-JSON (RFC 7493) forbids it, because readers disagree about which of the two counts.",
         "Send each name once."),
    Kind("json_too_deep", 400, "The body is nested too deeply.",
         "No request has more than a few levels; more than 32 are refused unread.",
         "Send the fields at the levels that the contract shows."),
    Kind("bad_path", 400, "The path has an encoded slash, a backslash or a dot segment.",
         "Such paths mean different things to different servers on the way.",
         "Use the paths of the contract, and plain names in them."),
    Kind("not_found", 404, "There is nothing at this path.",
         "The path is not one of the contract's; a slash at the end counts.",
         "See /docs or /openapi.json for all paths."),
    Kind("ruleset_unknown", 404, "No rule set has this name.",
         "The name of the rule set is not in the catalogue.",
         "GET /v1/rulesets lists the names."),
    Kind("version_unknown", 404, "The rule set has no such version in force on that day.",
         "The name is known, but not in this version, or none of its versions had begun on as_of.",
         "GET /v1/rulesets/{name} lists the versions and the days they begin."),
    Kind("rules_missing", 404, "This version has no rules of this kind.",
         "The version is known, but has no rules about rings, none that advise, or none about stones.",
         "Ask a later version; GET /v1/rulesets/{name}/{version} shows what each holds."),
    Kind("rule_unknown", 404, "This version has no rule with this id.",
         "Rule ids are unique in a name for ever, but a version need not have all of them.",
         "GET /v1/rulesets/{name}/{version} lists the rules."),
    Kind("method_not_allowed", 405, "The path does not answer this method.",
         "The path exists, but not for this method.",
         "The Allow header lists the methods that it answers."),
    Kind("body_too_large", 413, "The body is larger than this route takes.",
         "Single requests take 64 KB, lists of texts 1 MB, other lists 16 MB.",
         "Send fewer stones or texts at a time."),
    Kind("address_too_long", 414, "The path or the query is too long.",
         "Addresses of more than 8 KB are refused unread.",
         "Send the stone with POST."),
    Kind("media_type_unsupported", 415, "The body is not sent in a media type that this call reads.",
         "Only application/json (for streams application/x-ndjson) in UTF-8 is read, so that no browser form "
         "can reach the service.",
         "Set Content-Type to what the contract names for this call."),
    Kind("encoding_unsupported", 415, "The body is compressed.",
         "The service has no decompressor, so that no small body can become a large one.",
         "Send the body as it is, without Content-Encoding."),
    Kind("request_invalid", 422, "The request does not fit the contract.",
         "A field is unknown, missing, of the wrong type or out of range; errors lists every place.",
         "Correct the places listed under errors; the contract has the types, units and bounds."),
    Kind("query_invalid", 422, "The query does not fit the contract.",
         "A parameter is unknown, given twice, empty, of the wrong type or out of range.",
         "Correct the parameters listed under errors."),
    Kind("internal_error", 500, "The service failed.",
         "Something happened that should not; it has been logged without your data.",
         "Try again; if it happens again, tell whoever runs the service."),
)  # fmt: skip

KINDS: Final[dict[str, Kind]] = {kind.code: kind for kind in _KINDS}


class ProblemError(Exception):
    """Carries one problem to the place that answers it."""

    def __init__(
        self,
        code: str,
        errors: Sequence[FieldError] = (),
        headers: Mapping[str, str] | None = None,
        detail: str | None = None,
    ) -> None:
        super().__init__(code)
        self.kind = KINDS[code]
        self.errors = errors
        self.headers = headers
        self.detail = detail

    def problem(self) -> Problem:
        problem: Problem = {
            "type": f"/problems/{self.kind.code}",
            "title": self.kind.title,
            "status": self.kind.status,
            "code": self.kind.code,
            "detail": self.detail or self.kind.repair,
        }
        if self.errors:
            problem["errors"] = list(self.errors[:MAX_ERRORS])
        return problem

    def response(self) -> Response:
        asked = record.get()
        if asked is not None:
            asked.code = self.kind.code
        return Response(
            orjson.dumps(self.problem()),
            status_code=self.kind.status,
            media_type=MEDIA_TYPE,
            headers=dict(self.headers or {}),
        )


def explain(
    error: ValidationError, model: type[BaseModel], prefix: str = "", *, brief: bool = False
) -> list[FieldError]:
    """Faulty places of a request, without any of its values; `brief`: a few, and without hints."""
    if (count := error.error_count()) > MAX_COUNTED:
        # Somebody sent something else altogether; a list of its parts would help nobody and cost much.
        return [{"pointer": prefix, "found": f"{count} faults", "allowed": "what the contract describes"}]
    details = error.errors(include_url=False)[: MAX_BRIEF if brief else MAX_ERRORS]
    return [_field_error(detail, prefix, "" if brief else _hint(detail, model)) for detail in details]


# What pydantic would tell in words of Python, told in words of JSON.
_ALLOWED: Final = {
    "model_type": "an object",
    "dict_type": "an object",
    "list_type": "a list",
    "string_type": "text",
    "float_type": "a number",
    "bool_type": "true or false",
}


def _field_error(detail: ErrorDetails, prefix: str, hint: str) -> FieldError:
    loc, kind, context = detail["loc"], detail["type"], detail.get("ctx", {})
    found = _kind_of(detail["input"])
    if kind == "missing":
        found, allowed = "nothing", f"a value for {loc[-1]}"
    elif kind == "extra_forbidden" and _names_a_person(loc[-1]):
        found, allowed = "contact data", "nothing that tells who it is"
    elif kind == "extra_forbidden":
        found, allowed = "an unknown field", f"a field of the contract{hint}"
    elif kind == "literal_error":
        words = context["expected"].replace("'", "").replace(" or ", ", ")
        allowed = f"one of {words}{hint}"
    elif kind == "string_pattern_mismatch":
        allowed = f"text that matches {context['pattern']}"
    elif kind == "too_long":
        allowed = f"at most {context['max_length']} items"
    elif kind == "value_error":
        allowed = str(context["error"])
    else:
        # pydantic's other sentences name what is allowed and never repeat the input
        allowed = _ALLOWED.get(kind) or detail["msg"].removeprefix("Input should be ")
    return {"pointer": _pointer(loc, prefix), "found": found, "allowed": allowed}


# Fields that would hold who somebody is; the service never takes them, so that it can never lose them.
_PERSONAL: Final = frozenset({
    "name", "first_name", "last_name", "full_name", "surname", "email", "e_mail", "mail", "phone",
    "telephone", "mobile", "address", "street", "city", "postcode", "zip", "contact", "customer", "birthday",
    "date_of_birth",
})  # fmt: skip


def _names_a_person(name: int | str) -> bool:
    return isinstance(name, str) and name.lower().replace("-", "_").replace(" ", "_") in _PERSONAL


def _hint(detail: ErrorDetails, model: type[BaseModel]) -> str:
    """The nearest known word, for a slip of the pen."""
    if detail["type"] == "extra_forbidden":
        word, known = detail["loc"][-1], _fields_at(model, detail["loc"][:-1])
    elif detail["type"] == "literal_error":
        expected = detail["ctx"]["expected"].replace("'", "").replace(" or ", ", ")
        word, known = detail["input"], expected.split(", ")
    else:
        return ""
    if not isinstance(word, str) or len(word) > MAX_WORD:
        return ""
    near = get_close_matches(word.lower(), known, n=1)
    return f"; did you mean {near[0]}?" if near else ""


def _pointer(loc: Sequence[int | str], prefix: str) -> str:
    parts = [str(part).replace("~", "~0").replace("/", "~1") for part in loc]
    if parts and not _NAME.fullmatch(parts[-1]):
        parts[-1] = "?"  # a name nobody could have meant is not repeated: it may be data in the wrong place
    return prefix + "".join(f"/{part}" for part in parts)


def _kind_of(value: Any) -> str:
    if isinstance(value, bool):
        return "true or false"
    if value is None:
        return "null"
    for types, word in (
        ((int, float), "a number"), (str, "text"), (list, "a list"), (dict, "an object"),
    ):  # fmt: skip
        if isinstance(value, types):
            return word
    return "something else"


def _fields_at(model: type[BaseModel], loc: Sequence[int | str]) -> list[str]:
    """Names that the contract knows at a place."""
    current: type[BaseModel] = model
    for part in loc:
        field = current.model_fields.get(str(part))
        inner = None if field is None else _model_in(field.annotation)
        if inner is None:
            return []
        current = inner
    return list(current.model_fields)


def _model_in(annotation: Any) -> type[BaseModel] | None:
    for option in getattr(annotation, "__args__", (annotation,)):
        if isinstance(option, type) and issubclass(option, BaseModel):
            return option
    return None
