"""From a document to a model, with every fault told in a rule keeper's words: file, line, found, allowed."""

from decimal import Decimal
from difflib import get_close_matches
from typing import Any, Final, TypeVar, get_args

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from gradefloor.rules.entries import show
from gradefloor.rules.format import RULE_KINDS, RuleSet
from gradefloor.rules.strict_yaml import Document, Fault

M = TypeVar("M", bound=BaseModel)

# What a model's own words would tell in the language of a library.
_WORDS: Final = {
    "string_too_short": "a text of at least {min_length} characters",
    "string_too_long": "a text of at most {max_length} characters",
    "too_short": "a list of at least {min_length}",
    "too_long": "a list of at most {max_length}",
    "model_type": "a mapping",
    "dict_type": "a mapping",
    "list_type": "a list",
}


def parse(model: type[M], document: Document) -> tuple[M | None, list[Fault]]:
    """A model from a document, or every fault in it."""
    faults = list(document.faults)
    if faults and document.data is None:
        return None, sorted(set(faults))  # nothing could be read, so nothing more can be said
    parsed: M | None = None
    try:
        parsed = model.model_validate(document.data)
    except ValidationError as error:
        for detail in error.errors(include_url=False):
            fault = _translate(detail, document, model)
            if fault is not None:
                faults.append(fault)
    return (None if faults else parsed), sorted(set(faults))


def sound_rules(document: Document, faults: list[Fault]) -> RuleSet | None:
    """What of a faulty rule set can still be looked at: all of it without the items that have faults.

    None where a fault lies outside the lists of rules, because the rest would then only seem faulty.
    """
    if not isinstance(document.data, dict):
        return None
    data = dict(document.data)
    faulty = {fault.where.partition(".")[0] for fault in faults}
    for kind in RULE_KINDS:
        items = data.get(kind)
        if isinstance(items, list):
            data[kind] = [item for i, item in enumerate(items) if f"{kind}[{i}]" not in faulty]
    try:
        return RuleSet.model_validate(data)
    except ValidationError:
        return None


def _translate(detail: ErrorDetails, document: Document, model: type[BaseModel]) -> Fault | None:
    context = detail.get("ctx", {})
    path: tuple[str | int, ...] = (*detail["loc"], *context.get("at", ()))
    if any(path[: len(refused)] == refused for refused in document.refused):
        return None  # the reader has refused this place already, with a better reason
    kind, value = detail["type"], detail["input"]
    if kind == "refused":
        found, allowed = context["found"], context["allowed"]
    elif kind == "missing":
        found, allowed = f"no {path[-1]}", f"a value for {path[-1]}"
        path = path[:-1]
    elif kind == "extra_forbidden":
        known = _keys_at(model, path[:-1])
        near = get_close_matches(str(path[-1]), known, n=1)
        hint = f"; did you mean {near[0]}?" if near else ""
        found, allowed = f"the key {path[-1]}", f"only keys of the format (see schema.json){hint}"
    elif kind == "value_error":
        found, allowed = show(value), str(context.get("error", detail["msg"]))
    elif kind in _WORDS:
        found, allowed = show(value), _WORDS[kind].format(**context)
    else:
        found = show(value)
        allowed = detail["msg"].removeprefix("Input should be ").removeprefix("a valid ")
        if kind == "string_type" and isinstance(value, int | Decimal):
            allowed = f'text: write "{value}" in quotes'
    return document.fault(path, found, allowed)


def _keys_at(model: type[BaseModel], path: tuple[str | int, ...]) -> list[str]:
    """Keys that the format knows at a place."""
    here: type[BaseModel] | None = model
    for part in path:
        if here is not None and isinstance(part, str):
            fields = {field.alias or name: field for name, field in here.model_fields.items()}
            here = _model_in(fields[part].annotation) if part in fields else None
    return [field.alias or name for name, field in here.model_fields.items()] if here else []


def _model_in(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next(filter(None, map(_model_in, get_args(annotation))), None)
