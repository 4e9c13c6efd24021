"""Numbers that break services: in a body, where JSON has them or has not, and in a query.

All stones are invented.
"""

import json
from typing import Final

import pytest

from raw import CANARY, SINGLE, Wire, at, named, plain, problem

NUMBER_FIELDS: Final = (
    "/stone/carat",
    "/stone/length_mm",
    "/stone/width_mm",
    "/stone/depth_mm",
    "/stone/table_pct",
    "/stone/depth_pct",
    "/stone/crown_height_pct",
    "/stone/girdle_pct",
    "/stone/corner_mm",
    "/stone/observations/distance_mm",
    "/stone/observations/inclusion/size_mm",
)


@pytest.mark.parametrize("literal", ["NaN", "Infinity", "-Infinity", "nan", "inf", "-inf"])
@pytest.mark.parametrize("pointer", NUMBER_FIELDS)
def test_numbers_that_json_does_not_have_are_not_json(wire: Wire, pointer: str, literal: str) -> None:
    assert not problem(wire.post(at(pointer, literal)), 400, "json_invalid")


def test_a_number_that_json_does_not_have_hides_other_faults(wire: Wire) -> None:
    assert not problem(wire.post('{"stone":{"carat":NaN,"unknown":1}}'), 400, "json_invalid")


@pytest.mark.parametrize(
    "literal",
    named(
        {
            "overflow": "1e400",
            "negative overflow": "-1e400",
            "largest float": "1.7976931348623157e308",
            "beyond 2**53": "9007199254740993",
            "beyond 2**64": "18446744073709551617",
            "400 digits": "1" + "0" * 400,
            "negative": "-1",
        }
    ),
)
@pytest.mark.parametrize("pointer", NUMBER_FIELDS)
def test_numbers_out_of_range_are_refused_at_their_place(wire: Wire, pointer: str, literal: str) -> None:
    errors = problem(wire.post(at(pointer, literal)), 422, "request_invalid")
    assert [(error["pointer"], error["found"]) for error in errors] == [(pointer, "a number")]


@pytest.mark.parametrize(
    "literal",
    plain(
        [
            '"NaN"', '"Infinity"', '"-inf"', '"1"', '"1.0"', '"1e3"', '" 1.0 "', '"1_0"', '"0x1"', '"1,5"',
            '"\\uff11"', f'"{CANARY}"', '""', "true", "false", "[]", "[1]", "{}",
        ]
    ),
)  # fmt: skip
@pytest.mark.parametrize("pointer", NUMBER_FIELDS)
def test_what_only_looks_like_a_number_is_refused(wire: Wire, pointer: str, literal: str) -> None:
    errors = problem(wire.post(at(pointer, literal)), 422, "request_invalid")
    assert [error["pointer"] for error in errors] == [pointer]


@pytest.mark.parametrize("literal", ["0", "-0", "-0.0", "1e-400", "5e-324", "0.0009"])
@pytest.mark.parametrize("pointer", [name for name in NUMBER_FIELDS if not name.endswith("_pct")])
def test_nothing_weighs_or_measures_zero(wire: Wire, pointer: str, literal: str) -> None:
    assert problem(wire.post(at(pointer, literal)), 422, "request_invalid")


@pytest.mark.parametrize("literal", ["1.0", "1e0", "1E+0", "10e-1", "1.000000000000000000000000000000000001"])
def test_one_number_has_one_answer_however_it_is_written(wire: Wire, literal: str) -> None:
    answer = wire.post(at("/stone/carat", literal))
    assert answer.status == 200
    assert answer.body == wire.post(at("/stone/carat", "1")).body


@pytest.mark.parametrize(
    "body",
    named(
        {
            "5000 digits": at("/stone/carat", "1" * 5000),
            "5000 decimals": at("/stone/carat", "2000." + "1" * 5000),
            "exponent of 5000 digits": at("/stone/carat", "1e" + "9" * 5000),
            "in an unknown field": at("/stone/unknown", "1" * 5000),
        }
    ),
)
def test_a_number_of_thousands_of_digits_is_refused(wire: Wire, body: str) -> None:
    assert wire.post(body).status in {400, 422}


def test_a_quotient_that_would_overflow_is_refused_by_its_parts(wire: Wire) -> None:
    body = '{"stone":{"shape":"oval","length_mm":1e308,"width_mm":1e-308}}'
    errors = problem(wire.post(body), 422, "request_invalid")
    assert [error["pointer"] for error in errors] == ["/stone/length_mm", "/stone/width_mm"]


def test_the_largest_quotient_is_a_number(wire: Wire) -> None:
    body = '{"stone":{"shape":"oval","length_mm":200,"width_mm":0.001,"depth_mm":200}}'
    answer = wire.post(body)
    assert answer.status == 200
    assert answer.document["measures"]["ratio"] == 200_000


@pytest.mark.parametrize(
    "text",
    plain(
        [
            "nan", "NaN", "inf", "-inf", "Infinity", "1e400", "-1e400", "1e", "0x1", "1_0", "01", ".5", "1.",
            "+1", "%2B1", "%201", "1%20", "1%0A", "1,5", "%EF%BC%91", "true", "-1", "0", CANARY,
        ]
    ),
)  # fmt: skip
@pytest.mark.parametrize("field", ["carat", "length_mm"])
def test_a_number_in_a_query_is_written_as_in_json(wire: Wire, field: str, text: str) -> None:
    errors = problem(wire.get(f"{SINGLE}?shape=oval&{field}={text}"), 422, "query_invalid")
    assert [error["pointer"] for error in errors] == [f"/{field}"]


def test_a_number_of_thousands_of_digits_in_a_query_is_refused(wire: Wire) -> None:
    problem(wire.get(f"{SINGLE}?shape=oval&carat={'9' * 7000}"), 422, "query_invalid")


def _no_constant(literal: str) -> float:
    raise AssertionError(literal)


def test_the_contract_has_no_number_that_json_does_not_have(wire: Wire) -> None:
    json.loads(wire.get("/openapi.json").body, parse_constant=_no_constant)
