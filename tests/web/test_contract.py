"""The committed contract, what is served, and what is answered are one thing."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import jsonschema
import pytest
from openapi_spec_validator import OpenAPIV31SpecValidator
from referencing import Registry, Resource
from referencing.jsonschema import DRAFT202012

from replay import EXAMPLES, ROOT, as_text, replay

COMMITTED = ROOT / "openapi" / "openapi.json"
CONTRACT: dict[str, Any] = json.loads(COMMITTED.read_text())
OPERATIONS = [
    pytest.param(path, method, operation, id=operation["operationId"])
    for path, methods in CONTRACT["paths"].items()
    for method, operation in methods.items()
]
SCHEMAS: Registry[Any] = Registry().with_resource(
    "urn:contract", Resource.from_contents(CONTRACT, default_specification=DRAFT202012)
)


def fits(answer: Any, schema: dict[str, Any]) -> None:
    """Raises unless the answer is what the contract says."""
    pointed = json.loads(json.dumps(schema).replace('"#/', '"urn:contract#/'))
    jsonschema.Draft202012Validator(pointed, registry=SCHEMAS).validate(answer)


def test_the_committed_contract_is_what_is_served(client: httpx.Client) -> None:
    assert COMMITTED.read_bytes() == client.get("/openapi.json").content


def test_the_contract_is_valid_openapi() -> None:
    OpenAPIV31SpecValidator(CONTRACT).validate()


@pytest.mark.parametrize(("path", "method", "operation"), OPERATIONS)
def test_every_operation_is_described(path: str, method: str, operation: dict[str, Any]) -> None:
    del path, method
    assert operation["operationId"].isidentifier()
    assert operation["summary"]
    assert operation["description"]
    assert operation["tags"]


@pytest.mark.parametrize(("path", "method", "operation"), OPERATIONS)
def test_every_operation_lists_its_problems(path: str, method: str, operation: dict[str, Any]) -> None:
    del path, method
    problems = {status for status, response in operation["responses"].items() if int(status) >= 400}
    assert {"400", "405", "414", "422", "500"} <= problems
    assert "default" not in operation["responses"]


def fields() -> Iterator[Any]:
    for name, schema in CONTRACT["components"]["schemas"].items():
        for key, field in schema.get("properties", {}).items():
            yield pytest.param(CONTRACT["components"]["schemas"], field, id=f"{name}.{key}")
    for path, methods in CONTRACT["paths"].items():
        for operation in methods.values():
            for parameter in operation.get("parameters", ()):
                yield pytest.param({}, parameter, id=f"{path}?{parameter['name']}")


@pytest.mark.parametrize(("schemas", "field"), list(fields()))
def test_every_field_is_described(schemas: dict[str, Any], field: dict[str, Any]) -> None:
    options = [field, *field.get("anyOf", ())]
    referred = [schemas[o["$ref"].rpartition("/")[2]] for o in options if "$ref" in o]
    assert any(option.get("description") for option in (*options, *referred))


def test_requests_are_closed_and_answers_are_open() -> None:
    schemas = CONTRACT["components"]["schemas"]
    assert schemas["Stone"]["additionalProperties"] is False
    assert schemas["EvaluationRequest"]["additionalProperties"] is False
    assert "additionalProperties" not in schemas["Evaluation"]
    assert "additionalProperties" not in schemas["RuleSet"]


def test_every_example_is_committed_with_its_answer(client: httpx.Client) -> None:
    replayed = {f"{name}.json": as_text(document) for name, document in replay(CONTRACT, client)}
    committed = {path.name: path.read_text() for path in Path(EXAMPLES).glob("*.json")}
    assert committed == replayed


def test_every_operation_has_an_example() -> None:
    shown = {json.loads(path.read_text())["operation"] for path in EXAMPLES.glob("*.json")}
    assert shown == {operation.values[2]["operationId"] for operation in OPERATIONS}  # type: ignore[index]


@pytest.mark.parametrize("path", sorted(EXAMPLES.glob("*.json")), ids=lambda path: path.stem)
def test_every_answer_fits_the_contract(path: Path) -> None:
    example = json.loads(path.read_text())
    address = example["address"].partition("?")[0]
    for template, methods in CONTRACT["paths"].items():
        operation = methods.get(example["method"].lower(), {})
        if operation.get("operationId") == example["operation"]:
            (content,) = operation["responses"][str(example["status"])]["content"].values()
            if "x-line-schema" in content:
                for line in example["answer"].splitlines():
                    fits(json.loads(line), content["x-line-schema"])
            else:
                fits(example["answer"], content["schema"])
            assert template.count("/") == address.count("/")
            return
    pytest.fail("no such operation in the contract")


def test_a_problem_fits_the_contract(client: httpx.Client) -> None:
    answer = client.post("/v1/evaluations", json={"stone": {"shape": "emrald", "caratt": 1}})
    content = CONTRACT["paths"]["/v1/evaluations"]["post"]["responses"]["422"]["content"]
    fits(answer.json(), content["application/problem+json"]["schema"])


def test_no_schema_holds_a_number_that_is_not_one() -> None:
    json.loads(COMMITTED.read_text(), parse_constant=pytest.fail)
