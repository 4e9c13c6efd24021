"""Requests made up from the contract: what it allows is answered, what it forbids is refused, as it says.

The tool makes cases in two ways. By the book it walks every bound and every missing, superfluous or wrong
member that the contract knows: some 13,000 cases, the same in every run, which take nearly all of the time.
By chance it draws as many as `max_examples` says. In the short run, only evaluations are gone through by the
book.
"""

import re
from collections.abc import Iterator
from typing import Any, Final

import pytest
import requests
import schemathesis
from hypothesis import settings
from schemathesis.config import SchemathesisConfig
from schemathesis.python import asgi
from schemathesis.schemas import BaseSchema
from schemathesis.specs.openapi.checks import negative_data_rejection, positive_data_acceptance

from gradefloor.web.app import create_app
from gradefloor.web.service import Service
from raw import STREAM
from samples import committed_catalog

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
APP: Final[Any] = create_app(Service(committed_catalog(drafts=False)))


def contract(*, by_the_book: bool) -> BaseSchema:
    """The contract as the application serves it, for cases made in both ways or by chance alone."""
    checks = {"negative_data_rejection": {"expected-statuses": REFUSALS}}
    phases = {"coverage": {"enabled": by_the_book}}
    config = SchemathesisConfig.from_dict({"checks": checks, "phases": phases})
    return schemathesis.openapi.from_asgi("/openapi.json", APP, config=config)


BY_THE_BOOK: Final = r"^/v1/evaluations"
CONTRACT: Final = contract(by_the_book=False)
PATH_PARAMETERS: Final = [
    pytest.param(parameter["schema"].get("pattern", ""), id=f"{operation['operationId']}-{parameter['name']}")
    for methods in CONTRACT.raw_schema["paths"].values()
    for operation in methods.values()
    for parameter in operation.get("parameters", ())
    if parameter["in"] == "path"
]


@pytest.fixture(scope="session")
def session() -> Iterator[requests.Session]:
    """Asks the application in this process.

    One for all cases: the tool's own is new for every case, which takes a tenth of the time of all of it.
    """
    with asgi.get_client(APP) as session:
        session.trust_env = False  # there is no proxy on the way
        yield session


@CONTRACT.exclude(path_regex=BY_THE_BOOK).parametrize()
@settings(max_examples=8, deadline=None)
def test_the_contract_is_kept(case: schemathesis.Case[Any], session: requests.Session) -> None:
    hold(case, session)


@contract(by_the_book=True).include(path_regex=BY_THE_BOOK).parametrize()
@settings(max_examples=8, deadline=None)
def test_evaluations_keep_it_by_the_book(case: schemathesis.Case[Any], session: requests.Session) -> None:
    hold(case, session)


def hold(case: schemathesis.Case[Any], session: requests.Session) -> None:
    # Every body of a stream is text, so none is of the wrong type: its lines are what is right or wrong.
    excluded: list[Any] = [negative_data_rejection] if case.operation.path == STREAM else []
    # Numbers that the contract allows one by one may still be no stone together, which nobody can draw.
    if case.operation.path.startswith("/v1/drawings/"):
        excluded.append(positive_data_acceptance)
    case.call_and_validate(session=session, excluded_checks=excluded)


@pytest.mark.parametrize("pattern", PATH_PARAMETERS)
def test_the_contract_admits_no_name_that_makes_a_bad_path(pattern: str) -> None:
    bad = ["a/b", "a\\b", "\\", "..", ".", "", "a\0"]
    assert not [name for name in bad if re.search(pattern, name)]
