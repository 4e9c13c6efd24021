"""The contract: OpenAPI 3.1, generated from the same models that requests are validated with."""

import json
from typing import Any, Final

from fastapi import FastAPI
from fastapi.openapi.utils import get_openapi
from pydantic import TypeAdapter
from starlette.routing import BaseRoute, Match

from gradefloor import __version__
from gradefloor.web import lines
from gradefloor.web.deprecation import DEPRECATED
from gradefloor.web.examples import BODIES, PARAMETERS
from gradefloor.web.problems import KINDS, MEDIA_TYPE, FieldError, Problem, ProblemError
from gradefloor.web.streams import LineAnswer, LineRequest

DESCRIPTION: Final = (
    "Judges stones and rings for engagement rings by versioned rule sets (grade floors, ratio looks, "
    "proportion windows, safety and pairing rules), each finding with its reason, its source and the change "
    "that would turn it; and advises by the same rules: from a wish to what to look for, from many stones to "
    "a few, from a message to the next question. "
    "Answers are recommendations: not an appraisal, not legal advice.\n\n"
    "Words of answers (verdicts, topics, looks, codes) may be joined by new ones; request words are closed. "
    "Unknown request fields are refused; answers may gain fields. Every evaluation may be repeated safely."
)
TAGS: Final = [
    {"name": "evaluations", "description": "Stones judged."},
    {"name": "readings", "description": "Supplier rows read into stones."},
    {"name": "rings", "description": "Rings judged as a whole, and the stones they take."},
    {"name": "advice", "description": "From a wish to what to look for, from many stones to a few."},
    {"name": "listings", "description": "What a shop's page says of a stone."},
    {"name": "drawings", "description": "Stones and rings drawn to scale."},
    {"name": "rule sets", "description": "The judgement itself, and the words it is spoken in."},
    {"name": "operations", "description": "For whoever runs the service."},
]
# Addresses whose query names a rule set.
_NAMING: Final = ("/v1/evaluations", "/v1/annotations", "/v1/drawings/ratios/{shape}.svg")
_COMMON: Final = (400, 401, 403, 405, 408, 414, 422, 429, 431, 500, 503)
# Two models of one name get long names from FastAPI, and generators shorten both to the same class.
_NAMES: Final = {
    "gradefloor__rules__advice_format__Clash": "WishClash",
    "gradefloor__rules__ring_format__Clash": "CompanionClash",
    "gradefloor__rules__ring_format__Pairing": "PairingRule",
    "gradefloor__web__pairings__Pairing": "Pairing",
}
# Where to go from an answer: link, operation, and where in the answer its parameters stand.
_LINKS: Final[dict[str, dict[str, tuple[str, dict[str, str]]]]] = {
    "listRuleSets": {"ruleset": ("getRuleSet", {"name": "/rulesets/0/name"})},
    "getRuleSet": {
        "oldestVersion": ("getRuleSetVersion", {"name": "/name", "version": "/versions/0/version"})
    },
    "getRuleSetVersion": {
        "floor": (
            "getRule",
            {"name": "/ruleset/name", "version": "/ruleset/version", "id": "/rules/floors/0/id"},
        )
    },
}
_ANSWERED_BY: Final = {"name": "/ruleset/name", "version": "/ruleset/version"}
# What is wrong, where a problem tells the places.
_PLACES: Final[dict[str, FieldError]] = {
    "request_invalid": {
        "pointer": "/stone/caratt",
        "found": "an unknown field",
        "allowed": "a field of the contract; did you mean carat?",
    },
    "query_invalid": {"pointer": "/caratt", "found": "an unknown parameter", "allowed": "a known one"},
}


def build(app: FastAPI) -> dict[str, Any]:
    """The whole contract as plain data; the same on every call."""
    document = get_openapi(
        title="gradefloor",
        version=__version__,
        openapi_version="3.1.0",
        summary="Grade floors, ratio looks and setting rules for engagement-ring stones",
        description=DESCRIPTION,
        routes=app.routes,
        tags=TAGS,
        servers=[{"url": "/", "description": "The service that serves this file."}],
        separate_input_output_schemas=False,
    )
    schemas = document["components"]["schemas"]
    schemas.pop("HTTPValidationError", None)
    schemas.pop("ValidationError", None)
    for shape in (Problem, LineRequest, LineAnswer):
        schema = TypeAdapter(shape).json_schema(ref_template="#/components/schemas/{model}")
        schemas |= schema.pop("$defs", {})
        schemas[shape.__name__] = schema
    document = _renamed(document)
    schemas = document["components"]["schemas"]
    for schema in schemas.values():
        _either_or(schema)
    document["components"]["examples"] = {code: _example(code) for code in KINDS}
    for path, methods in document["paths"].items():
        for operation in methods.values():
            _finish(path, operation)
            _tell(operation["responses"]["200"], operation["operationId"], schemas)
    _mark_deprecated(document)
    asked = _reachable(schemas, [op for path in document["paths"].values() for op in path.values()])
    for name, schema in schemas.items():
        if name not in asked:
            _open(schema)
    document["components"]["schemas"] = dict(sorted(schemas.items()))
    # Keys are optional: a service on one machine needs none.
    document["security"] = [{}, {"key": []}]
    document["components"]["securitySchemes"] = {
        "key": {
            "type": "http",
            "scheme": "bearer",
            "description": "A key, where the service answers to keys.",
        }
    }
    return document


def _renamed(document: dict[str, Any]) -> dict[str, Any]:
    """The same with a short name of its own for every schema."""
    text = json.dumps(document)
    for long, short in _NAMES.items():
        text = text.replace(long, short)
    renamed: dict[str, Any] = json.loads(text)
    for short in _NAMES.values():
        renamed["components"]["schemas"][short]["title"] = short
    return renamed


def _either_or(schema: dict[str, Any]) -> None:
    """Says of an object's two ways "if not the one, then the other".

    It means the same where they exclude each other, and generators know the object's fields: of `oneOf`
    they make a union that has lost them.
    """
    if "properties" in schema and "oneOf" in schema:
        schema["if"], schema["else"] = schema.pop("oneOf")
        for way in (schema["if"], schema["else"]):
            for field in way["properties"].values():
                if field["type"] == "array":
                    field["items"] = {}  # some readers of schemas cannot do without


def _example(code: str) -> dict[str, Any]:
    """One problem as it is answered."""
    places = [_PLACES[code]] if code in _PLACES else []
    return {"summary": KINDS[code].title, "value": ProblemError(code, places).problem()}


def _tell(response: dict[str, Any], operation_id: str, schemas: dict[str, Any]) -> None:
    """What an answer is, and where to go from it."""
    schema = next(iter(response["content"].values()))["schema"]
    shape = schemas.get(schema.get("$ref", "").rpartition("/")[2], schema)
    if response["description"] == "Successful Response":
        response["description"] = shape.get("description", "The drawing.")
    links = dict(_LINKS.get(operation_id, {}))
    if "ruleset" in shape.get("properties", {}) and operation_id != "getRuleSetVersion":
        links["rules"] = ("getRuleSetVersion", _ANSWERED_BY)
        if "findings" in shape["properties"]:
            links["rule"] = ("getRule", {**_ANSWERED_BY, "id": "/findings/0/rule"})
    if links:
        response["links"] = {
            name: {
                "operationId": target,
                "parameters": {key: f"$response.body#{pointer}" for key, pointer in pointers.items()},
            }
            for name, (target, pointers) in links.items()
        }


def _mark_deprecated(document: dict[str, Any]) -> None:
    """Says which operations are to go away, and until when they stay."""
    operations = {
        operation["operationId"]: operation
        for methods in document["paths"].values()
        for operation in methods.values()
    }
    for operation_id, deprecated in DEPRECATED.items():
        operations[operation_id]["deprecated"] = True
        operations[operation_id]["x-sunset"] = deprecated.sunset.date().isoformat()
        headers = operations[operation_id]["responses"]["200"].setdefault("headers", {})
        for name, example in deprecated.headers().items():
            headers[name] = {
                "description": "This call is to go away (RFC 9745, RFC 8594).",
                "schema": {"type": "string", "examples": [example]},
            }


def _reachable(schemas: dict[str, Any], operations: list[dict[str, Any]]) -> set[str]:
    """Schemas that some request is made of."""
    found: set[str] = set()
    waiting: list[Any] = [operation.get("requestBody", {}) for operation in operations]
    while waiting:
        part = waiting.pop()
        if isinstance(part, dict):
            name = str(part.get("$ref", "")).rpartition("/")[2]
            if name and name not in found:
                found.add(name)
                waiting.append(schemas[name])
            waiting += part.values()
        elif isinstance(part, list):
            waiting += part
    return found


def _open(schema: Any) -> None:
    """Answers may gain fields and words, so a client must not be made to refuse them."""
    if isinstance(schema, dict):
        if schema.get("additionalProperties") is False:
            del schema["additionalProperties"]
        if isinstance(schema.get("enum"), list):
            schema["x-known-values"] = schema.pop("enum")
        if isinstance(schema.get("const"), str):
            schema["x-known-values"] = [schema.pop("const")]
        for part in schema.values():
            _open(part)
    elif isinstance(schema, list):
        for part in schema:
            _open(part)


def _finish(path: str, operation: dict[str, Any]) -> None:
    """Problems and examples of one operation."""
    statuses = set(_COMMON)
    if "requestBody" in operation:
        statuses |= {413, 415}
        (content,) = operation["requestBody"]["content"].values()
        content["examples"] = BODIES[operation["operationId"]]
    if "{name}" in path or "requestBody" in operation or path in _NAMING:
        statuses.add(404)  # it names a rule set
    examples = PARAMETERS.get(operation["operationId"], {})
    for parameter in operation.get("parameters", ()):
        parameter["schema"] = _without_null(parameter["schema"])
        parameter.setdefault("description", parameter["schema"].get("description"))
        if parameter["name"] in examples:
            parameter["examples"] = {"example": {"value": examples[parameter["name"]]}}
    for status in sorted(statuses):
        codes = [kind.code for kind in KINDS.values() if kind.status == status]
        operation["responses"][str(status)] = {
            "description": f"Problem: {', '.join(codes)}.",
            "content": {
                MEDIA_TYPE: {
                    "schema": {"$ref": "#/components/schemas/Problem"},
                    "examples": {code: {"$ref": f"#/components/examples/{code}"} for code in codes},
                }
            },
        }
    if lines.MEDIA_TYPE in operation["responses"]["200"]["content"]:
        operation["responses"]["200"]["content"].pop("application/json", None)
        for part in (operation["requestBody"], operation["responses"]["200"]):
            # Generators pass it on byte for byte; they would write other text in their own way.
            part["content"][lines.MEDIA_TYPE]["schema"]["format"] = "binary"
    if "requestBody" not in operation:
        operation["responses"]["200"]["headers"] = {
            "ETag": {"description": "Tag of these bytes.", "schema": {"type": "string"}},
            "Cache-Control": {"description": "How long they may be kept.", "schema": {"type": "string"}},
        }
        operation["responses"]["304"] = {"description": "What If-None-Match named is still the answer."}
    operation["responses"] = dict(sorted(operation["responses"].items()))


def _without_null(schema: dict[str, Any]) -> dict[str, Any]:
    """An address cannot say null: a parameter is there or it is not."""
    options = [option for option in schema.get("anyOf", ()) if option.get("type") != "null"]
    if len(options) != 1:
        return schema
    return {**options[0], "title": schema["title"]}


def as_bytes(document: dict[str, Any]) -> bytes:
    """The file as it is committed and served."""
    return (json.dumps(document, indent=2, ensure_ascii=False, sort_keys=False) + "\n").encode()


def allowed_methods(routes: list[BaseRoute], scope: dict[str, Any]) -> list[str]:
    """Every method that some route answers at this path; FastAPI's own answer knows only the first route."""
    methods: set[str] = set()
    for route in routes:
        match, _ = route.matches(scope)
        if match is not Match.NONE:
            methods |= getattr(route, "methods", None) or set()
    if "GET" in methods:
        methods.add("HEAD")
    return sorted(methods)
