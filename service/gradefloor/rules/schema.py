"""The formats as JSON Schema (2020-12), for editors: `rulesets/schema.json` and `rulesets/cases-schema.json`.

Made from the models; what a model means for an editor is written beside it. A rule file cannot hold a null,
so the schemas know none.
"""

from collections.abc import Iterator, Mapping
from typing import Any, Final, get_args

import orjson
from pydantic import BaseModel

from gradefloor.rules.checks import ROOTS
from gradefloor.rules.completions import OF_CASES, OF_RULES, Change, Schema
from gradefloor.rules.expectations import Cases
from gradefloor.rules.format import RuleSet
from gradefloor.trade.settings import RingParts
from gradefloor.trade.stones import Context, Stone

DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"
_DAY: Final = "^[0-9]{4}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$"
_NULL: Final = {"type": "null"}


def ruleset_schema() -> Schema:
    """The schema of `ruleset.yaml`."""
    schema = _completed(schema_of(RuleSet), OF_RULES)
    asked = schema["$defs"]["QuestionWords"]["properties"]["about"]
    requests = "|".join(ROOTS)
    asked["anyOf"] = [
        *(member for root, model in ROOTS.items() for member in _members(model, root)),
        {"pattern": rf"^(?!({requests})\.)"},
    ]
    return schema


def cases_schema() -> Schema:
    """The schema of `cases.yaml`.

    What a boundary varies may be missing in its stone or ring, so nothing is required there.
    """
    schema = _completed(schema_of(Cases), OF_CASES)
    defs = schema["$defs"]
    varied: tuple[tuple[str, str, dict[str, type[BaseModel]]], ...] = (
        ("Boundary", "stone", {"stone": Stone, "context": Context}),
        (
            "RingBoundary",
            "ring",
            {name: model for name, model in ROOTS.items() if name in RingParts.model_fields},
        ),
    )
    for boundary, base, roots in varied:
        properties = defs[boundary]["properties"]
        properties[base]["$ref"] = _incomplete(defs, properties[base]["$ref"])
        members = [member for root, model in roots.items() for member in _members(model, root)]
        properties["vary"]["anyOf"] = [*members, {"type": "string"}]
    return schema


def schema_of(model: type[BaseModel]) -> Schema:
    """The schema of a document that is read into this model."""
    schema = model.model_json_schema(by_alias=True)
    return {"$schema": DIALECT, "title": model.__name__, **_tidy(schema)}


def _completed(schema: Schema, changes: Mapping[tuple[str, ...], Change]) -> Schema:
    """A schema with all that it says beyond the types."""
    for (name, *member), change in changes.items():
        place = schema if name == schema["title"] else schema["$defs"][name]
        change(place["properties"][member[0]] if member else place)
    return schema


def as_bytes(schema: Schema) -> bytes:
    """A schema as it is committed."""
    return orjson.dumps(schema, option=orjson.OPT_INDENT_2) + b"\n"


def _tidy(value: Any) -> Any:
    """Without nulls and without titles that only repeat a key; days with their pattern."""
    if isinstance(value, list):
        return [_tidy(inner) for inner in value]
    if not isinstance(value, dict):
        return value
    if value.get("default", "") is None:
        value = {key: inner for key, inner in value.items() if key != "default"}
    options = value.get("anyOf")
    if options is not None and _NULL in options:
        options = [option for option in options if option != _NULL]
        rest = {key: inner for key, inner in value.items() if key != "anyOf"}
        value = {**options[0], **rest} if len(options) == 1 else {**rest, "anyOf": options}
    if value.get("format") == "date":
        value = {**value, "pattern": _DAY}
    if "patternProperties" in value:
        value = {**value, "additionalProperties": False}
    # A property that is called title is a mapping, the title of a schema is a text.
    return {key: _tidy(inner) for key, inner in value.items() if key != "title" or not isinstance(inner, str)}


def _incomplete(defs: dict[str, Schema], ref: str) -> str:
    """The reference of a definition like that one, in which nothing is required, at any depth."""
    name = ref.rpartition("/")[2]
    loose = f"Incomplete{name}"
    if loose not in defs:
        defs[loose] = {}
        defs[loose] = _loosened(defs, {key: value for key, value in defs[name].items() if key != "required"})
    return f"#/$defs/{loose}"


def _loosened(defs: dict[str, Schema], value: Any) -> Any:
    if isinstance(value, list):
        return [_loosened(defs, inner) for inner in value]
    if not isinstance(value, dict):
        return value
    return {
        key: _incomplete(defs, inner) if key == "$ref" and isinstance(inner, str) else _loosened(defs, inner)
        for key, inner in value.items()
    }


def _members(model: type[BaseModel], path: str) -> Iterator[Schema]:
    """Every member of a request that a dotted path leads to, with its description."""
    for name, field in model.model_fields.items():
        here = f"{path}.{name}"
        yield {"const": here, "description": field.description or name}
        for part in get_args(field.annotation) or (field.annotation,):
            if isinstance(part, type) and issubclass(part, BaseModel):
                yield from _members(part, here)
