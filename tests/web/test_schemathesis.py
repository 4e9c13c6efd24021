"""Requests made up from the contract: what it allows is answered, what it forbids is refused, as it says."""

import re
from typing import Any, Final

import pytest
import schemathesis
from hypothesis import settings
from schemathesis.config import SchemathesisConfig
from schemathesis.specs.openapi.checks import negative_data_rejection, positive_data_acceptance

from gradefloor.rules.catalog import load
from gradefloor.web.app import create_app
from gradefloor.web.service import Service
from raw import STREAM
from samples import RULESETS

# A stream is text to the contract; the tool knows no way of writing it that is its own.
schemathesis.serializer.alias("application/x-ndjson", "text/plain")

REFUSALS: Final = [
    "400",
    "404",
    "405",
    "415",
    "422",
    # A body or an address that is too large is refused by its size, before its fields are looked at.
    # The tool does not know these two for refusals.
    "413",
    "414",
]
CONTRACT: Final = schemathesis.openapi.from_asgi(
    "/openapi.json",
    create_app(Service(load(RULESETS))),
    config=SchemathesisConfig.from_dict(
        {"checks": {"negative_data_rejection": {"expected-statuses": REFUSALS}}}
    ),
)
PATH_PARAMETERS: Final = [
    pytest.param(parameter["schema"].get("pattern", ""), id=f"{operation['operationId']}-{parameter['name']}")
    for methods in CONTRACT.raw_schema["paths"].values()
    for operation in methods.values()
    for parameter in operation.get("parameters", ())
    if parameter["in"] == "path"
]


@CONTRACT.parametrize()
@settings(max_examples=8, deadline=None)
def test_the_contract_is_kept(case: schemathesis.Case[Any]) -> None:
    hold(case)


def hold(case: schemathesis.Case[Any]) -> None:
    # Every body of a stream is text, so none is of the wrong type: its lines are what is right or wrong.
    excluded: list[Any] = [negative_data_rejection] if case.operation.path == STREAM else []
    # Numbers that the contract allows one by one may still be no stone together, which nobody can draw.
    if case.operation.path.startswith("/v1/drawings/"):
        excluded.append(positive_data_acceptance)
    case.call_and_validate(excluded_checks=excluded)


@pytest.mark.parametrize("pattern", PATH_PARAMETERS)
def test_the_contract_admits_no_name_that_makes_a_bad_path(pattern: str) -> None:
    bad = ["a/b", "a\\b", "\\", "..", ".", "", "a\0"]
    assert not [name for name in bad if re.search(pattern, name)]
