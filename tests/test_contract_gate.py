"""The contract breaks no client of the last released one; and the gate that says so is proved."""

import json
from collections.abc import Callable
from copy import deepcopy
from datetime import date
from pathlib import Path
from typing import Any, Final

import pytest

import contract_gate
from contract_gate import Breaking, compare

OPENAPI: Final = Path(__file__).parents[1] / "openapi"
COMMITTED: Final[dict[str, Any]] = json.loads((OPENAPI / "openapi.json").read_text())
RELEASED: Final[dict[str, Any]] = json.loads((OPENAPI / "released.json").read_text())
TODAY: Final = date(2026, 11, 26)
JSON: Final = "application/json"
Change = Callable[[dict[str, Any]], object]


def schema(document: dict[str, Any], name: str) -> Any:
    return document["components"]["schemas"][name]


def field(document: dict[str, Any], name: str, key: str) -> Any:
    """A field's schema; of an optional one, the way that is not null."""
    found = schema(document, name)["properties"][key]
    return found["anyOf"][0] if "anyOf" in found else found


def evaluate(document: dict[str, Any]) -> Any:
    return document["paths"]["/v1/evaluations"]["post"]


def get(document: dict[str, Any], path: str = "/v1/evaluations") -> Any:
    return document["paths"][path]["get"]


def parameter(document: dict[str, Any], name: str) -> Any:
    return next(one for one in get(document)["parameters"] if one["name"] == name)


def without_parameter(document: dict[str, Any]) -> None:
    get(document)["parameters"].remove(parameter(document, "ruleset"))


def with_parameter(document: dict[str, Any], *, required: bool) -> None:
    new = {"name": "tone", "in": "query", "required": required, "schema": {"type": "string"}}
    get(document)["parameters"].append(new)


def with_answer_way(document: dict[str, Any]) -> None:
    ways = schema(document, "RuleDocument")["properties"]["rule"]["anyOf"]
    ways.append(
        {"type": "object", "title": "Fresh", "properties": {"x": {"type": "integer"}}, "required": ["x"]}
    )


def with_other_media_type(document: dict[str, Any]) -> None:
    content = evaluate(document)["requestBody"]["content"]
    content["application/cbor"] = content.pop(JSON)


def with_other_answer_type(document: dict[str, Any]) -> None:
    content = evaluate(document)["responses"]["200"]["content"]
    content["text/plain"] = content.pop(JSON)


def with_other_status(document: dict[str, Any]) -> None:
    responses = evaluate(document)["responses"]
    responses["202"] = responses.pop("200")


def without_word(document: dict[str, Any]) -> None:
    field(document, "Stone", "shape")["enum"].pop()


def without_way_of_lines(document: dict[str, Any]) -> None:
    content = document["paths"]["/v1/evaluations/stream"]["post"]["requestBody"]["content"]
    del content["application/x-ndjson"]["x-line-schema"]["anyOf"][1]


BREAKING: Final[dict[str, tuple[str, Change]]] = {
    "a path is gone": ("path_removed", lambda d: d["paths"].pop("/v1/leads")),
    "a method is gone": ("method_removed", lambda d: d["paths"]["/v1/evaluations"].pop("get")),
    "an operation has another id": (
        "operation_renamed",
        lambda d: evaluate(d).update(operationId="judgeStone"),
    ),
    "a server is gone": ("server_removed", lambda d: d.update(servers=[{"url": "/api"}])),
    "a parameter is needed that was not there": (
        "parameter_required",
        lambda d: with_parameter(d, required=True),
    ),
    "a parameter is needed that was not": (
        "parameter_required",
        lambda d: parameter(d, "ruleset").update(required=True),
    ),
    "a parameter is gone": ("parameter_removed", without_parameter),
    "a parameter has less room": (
        "request_tightened",
        lambda d: parameter(d, "ruleset")["schema"].update(maxLength=5),
    ),
    "a parameter is written otherwise": (
        "parameter_style_changed",
        lambda d: parameter(d, "ruleset").update(style="pipeDelimited"),
    ),
    "a field of a request is gone": (
        "request_field_removed",
        lambda d: schema(d, "Stone")["properties"].pop("table_pct"),
    ),
    "a field of a request is needed that was not": (
        "request_field_required",
        lambda d: schema(d, "Stone")["required"].append("carat"),
    ),
    "a field of a request is needed that was not there": (
        "request_field_required",
        lambda d: (
            schema(d, "Stone")["properties"].update(hue={"type": "string"}),
            schema(d, "Stone")["required"].append("hue"),
        ),
    ),
    "a field of a request has another type": (
        "request_type_changed",
        lambda d: field(d, "Stone", "carat").update(type="string"),
    ),
    "a number of a request has to be whole": (
        "request_type_changed",
        lambda d: field(d, "Stone", "depth_pct").update(type="integer"),
    ),
    "a field of a request may not be null": (
        "request_null_refused",
        lambda d: schema(d, "Stone")["properties"].update(carat=field(d, "Stone", "carat")),
    ),
    "a maximum is lower": ("request_tightened", lambda d: field(d, "Stone", "carat").update(maximum=50)),
    "a minimum is higher": ("request_tightened", lambda d: field(d, "Stone", "carat").update(minimum=0.1)),
    "a pattern is another": ("request_tightened", lambda d: field(d, "Stone", "id").update(pattern="^x")),
    "a text is shorter": ("request_tightened", lambda d: field(d, "Stone", "id").update(maxLength=3)),
    "a list is shorter": (
        "request_tightened",
        lambda d: field(d, "BatchRequest", "stones").update(maxItems=3),
    ),
    "a list of a request lost a word": ("request_word_removed", without_word),
    "a request takes no more other fields": (
        "request_closed",
        lambda d: field(d, "ShortlistRequest", "stones")["items"]["anyOf"][1].update(
            additionalProperties=False
        ),
    ),
    "a way of a request is gone": (
        "request_branch_removed",
        lambda d: field(d, "ShortlistRequest", "stones")["items"]["anyOf"].pop(),
    ),
    "a way of a line is gone": ("request_branch_removed", without_way_of_lines),
    "a request has a new condition": (
        "request_condition_changed",
        lambda d: schema(d, "Stone").update(dependentRequired={"length_mm": ["width_mm"]}),
    ),
    "a default is another": (
        "request_default_changed",
        lambda d: schema(d, "LineRequest")["properties"]["context"].update(default={"metal": "platinum"}),
    ),
    "a body is needed that was not": (
        "request_body_required",
        lambda d: get(d).update(requestBody={"required": True, "content": {}}),
    ),
    "a body is gone": ("request_body_removed", lambda d: evaluate(d).pop("requestBody")),
    "a media type of a request is gone": ("request_media_type_removed", with_other_media_type),
    "a media type of an answer is gone": ("response_media_type_removed", with_other_answer_type),
    "success has another status": ("success_status_changed", with_other_status),
    "a header of an answer is gone": (
        "response_header_removed",
        lambda d: get(d)["responses"]["200"]["headers"].pop("ETag"),
    ),
    "a field of an answer is gone": (
        "response_field_removed",
        lambda d: schema(d, "Finding")["properties"].pop("reason"),
    ),
    "a field of an answer may be missing": (
        "response_field_not_required",
        lambda d: schema(d, "Finding")["required"].remove("reason"),
    ),
    "a field of an answer has another type": (
        "response_type_changed",
        lambda d: schema(d, "Finding")["properties"]["reason"].update(type="array"),
    ),
    "a field of an answer may be null": (
        "response_null_added",
        lambda d: schema(d, "Finding")["properties"]["reason"].update(type=["string", "null"]),
    ),
    "a union of an answer has a new way": ("response_branch_added", with_answer_way),
    "a known word of answers is gone": (
        "response_word_removed",
        lambda d: schema(d, "Floor")["properties"]["disagreement"]["x-known-values"].remove("low"),
    ),
    "a field of a problem is gone": (
        "response_field_removed",
        lambda d: schema(d, "Problem")["properties"].pop("code"),
    ),
    "a key is asked for": ("security_added", lambda d: d.update(security=[{"key": []}])),
    "a key is asked for one call": ("security_added", lambda d: evaluate(d).update(security=[{"key": []}])),
}
HARMLESS: Final[dict[str, Change]] = {
    "a new call": lambda d: d["paths"].update({"/v1/more": {"get": {"operationId": "m", "responses": {}}}}),
    "a new method": lambda d: d["paths"]["/v1/vocabulary"].update(post=deepcopy(evaluate(d))),
    "a new optional parameter": lambda d: with_parameter(d, required=False),
    "a new optional field of a request": lambda d: schema(d, "Stone")["properties"].update(
        hue={"type": "string"}
    ),
    "a field of a request that need not be there": lambda d: schema(d, "Stone")["required"].remove("shape"),
    "a field of a request that may be null": lambda d: schema(d, "Stone")["properties"]["shape"].update(
        type=["string", "null"], enum=[*field(d, "Stone", "shape")["enum"], None]
    ),
    "a new field of an answer": lambda d: (
        schema(d, "Finding")["properties"].update(weight={"type": "number"}),
        schema(d, "Finding")["required"].append("weight"),
    ),
    "other words of a person": lambda d: (
        evaluate(d).update(summary="Judge", description="Judges.", tags=["other"]),
        field(d, "Stone", "carat").update(description="Weight.", examples=[2]),
        d["info"].update(version="9.9.9"),
    ),
    "other examples": lambda d: evaluate(d)["requestBody"]["content"][JSON].update(examples={}),
    "a looser bound": lambda d: (
        field(d, "Stone", "carat").update(maximum=2000, minimum=0),
        field(d, "Stone", "id").pop("maxLength"),
        field(d, "BatchRequest", "stones").update(maxItems=100_000),
    ),
    "a whole number of a request that may be any": lambda d: field(d, "Halo", "rows").update(type="number"),
    "a body that need not be sent": lambda d: evaluate(d)["requestBody"].update(required=False),
    "a new media type": lambda d: evaluate(d)["requestBody"]["content"].update(
        {"application/cbor": evaluate(d)["requestBody"]["content"][JSON]}
    ),
    "another bound of an answer": lambda d: schema(d, "RuleSet")["properties"]["title"].update(
        maxLength=10**6, minLength=0
    ),
    "a new word of a request": lambda d: field(d, "Stone", "shape")["enum"].append("star"),
    "a new word of an answer": lambda d: schema(d, "Floor")["properties"]["disagreement"][
        "x-known-values"
    ].append("none"),
    "a new status of a problem": lambda d: evaluate(d)["responses"].update(
        {"429": evaluate(d)["responses"]["422"]}
    ),
    "a problem that is no more": lambda d: evaluate(d)["responses"].pop("415"),
    "a new header": lambda d: evaluate(d)["responses"]["200"].update(
        headers={"Age": {"schema": {"type": "integer"}}}
    ),
    "no key any more": lambda d: d.update(security=[]),
    "a shared schema of another name": lambda d: d.update(
        json.loads(json.dumps(d).replace('"Finding"', '"Remark"').replace("/Finding", "/Remark"))
    ),
    "a field written out instead of referred to": lambda d: schema(d, "Evaluation")["properties"].update(
        ruleset=deepcopy(schema(d, "RuleSetName"))
    ),
    "null written as a list of types": lambda d: schema(d, "Finding")["properties"].update(
        observed={"type": ["null", "string"]}
    ),
    "a call that is marked as going away": lambda d: get(d).update(
        {"deprecated": True, "x-sunset": "2027-12-01"}
    ),
}


def changed(change: Change) -> dict[str, Any]:
    document = deepcopy(COMMITTED)
    change(document)
    assert document != COMMITTED
    return document


def test_the_contract_breaks_no_client_of_the_released_one() -> None:
    assert compare(RELEASED, COMMITTED, TODAY) == []


@pytest.mark.parametrize("name", BREAKING)
def test_a_breaking_change_is_seen(name: str) -> None:
    kind, change = BREAKING[name]
    assert {found.kind for found in compare(COMMITTED, changed(change), TODAY)} == {kind}


@pytest.mark.parametrize("name", HARMLESS)
def test_a_harmless_change_is_let_through(name: str) -> None:
    assert compare(COMMITTED, changed(HARMLESS[name]), TODAY) == []


def test_the_place_of_a_change_is_told() -> None:
    found = compare(COMMITTED, changed(lambda d: field(d, "Stone", "carat").update(maximum=50)), TODAY)
    assert Breaking("request_tightened", "POST /v1/evaluations request/stone/carat") in found


def going_away(document: dict[str, Any]) -> dict[str, Any]:
    get(document).update({"deprecated": True, "x-sunset": "2027-12-01"})
    return document


@pytest.mark.parametrize(
    ("today", "kinds"),
    [
        (date(2027, 11, 30), ["removed_before_sunset"]),
        (date(2027, 12, 1), []),
        (date(2027, 12, 2), []),
    ],
)
def test_a_deprecated_call_stays_until_its_sunset(today: date, kinds: list[str]) -> None:
    without = changed(lambda d: d["paths"]["/v1/evaluations"].pop("get"))
    found = compare(going_away(deepcopy(COMMITTED)), without, today)
    assert [change.kind for change in found] == kinds


def test_a_closed_list_of_an_answer_may_not_grow() -> None:
    def closed(*words: str) -> dict[str, Any]:
        return changed(lambda d: schema(d, "Finding")["properties"]["verdict"].update(enum=list(words)))

    assert {one.kind for one in compare(closed("pass"), closed("pass", "ask"), TODAY)} == {
        "response_word_added"
    }
    assert compare(closed("pass", "ask"), closed("pass"), TODAY) == []


def test_a_schema_that_holds_itself_is_compared() -> None:
    def nested(leaf: str) -> dict[str, Any]:
        def change(document: dict[str, Any]) -> None:
            again = {"$ref": "#/components/schemas/Tree"}
            tree = {"properties": {"leaf": {"type": leaf}, "more": {"anyOf": [again, {"type": "null"}]}}}
            document["components"]["schemas"]["Tree"] = {"type": "object", **tree}
            schema(document, "Finding")["properties"]["tree"] = again

        return changed(change)

    assert compare(nested("string"), nested("string"), TODAY) == []
    assert {one.kind for one in compare(nested("string"), nested("number"), TODAY)} == {
        "response_type_changed"
    }


def test_as_a_program_it_ends_with_1_if_something_breaks(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    after = tmp_path / "after.json"
    after.write_text(json.dumps(changed(lambda d: d["paths"].pop("/v1/leads"))))
    monkeypatch.setattr("sys.argv", ["contract_gate.py", str(OPENAPI / "openapi.json"), str(after)])
    assert contract_gate.main() == 1
    assert capsys.readouterr().out == "path_removed: POST /v1/leads\n"
