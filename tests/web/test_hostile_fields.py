"""Values that do not fit their field, and fields that nobody knows.

All stones are invented.
"""

import json
from typing import Any

import pytest

from gradefloor.trade.grades import CLARITY, COLOR
from raw import BATCH, CANARY, Wire, at, named, plain, problem


@pytest.mark.parametrize(
    "word",
    plain(
        [
            "", " ", "VS2 ", " VS2", "VS2\\n", "vs2", "Vs2", "VS2\\u0000", "\\u200bVS2", "VS2\\u00a0", "VS3",
            "\\uff36\\uff332", "VS1,VS2", "VS1/VS2", "VS1-", "-VS1", "VS1--VS2", "VS1-VS2-SI1", "VS1 - VS2",
            "VS1\\u2013VS2", "unknown", "null", CANARY, CANARY * 500,
        ]
    ),
)  # fmt: skip
def test_a_grade_has_one_spelling(wire: Wire, word: str) -> None:
    errors = problem(wire.post(at("/stone/clarity", f'"{word}"')), 422, "request_invalid")
    assert [error["pointer"] for error in errors] == ["/stone/clarity"]


@pytest.mark.parametrize("scale", [COLOR, CLARITY], ids=lambda scale: scale.name)
def test_every_range_that_the_contract_admits_is_judged(wire: Wire, scale: Any) -> None:
    texts = [f"{one}-{other}" for one in scale.grades for other in scale.grades]
    stones = [
        {"shape": "emerald", "carat": 1, "color": "G", "clarity": "VS1", scale.name: text} for text in texts
    ]
    answer = wire.post(json.dumps({"stones": stones}), BATCH)
    assert answer.status == 200
    assert answer.document["counts"]["problem"] == 0


@pytest.mark.parametrize("grade", ["G", "VS2"])
def test_a_range_of_one_grade_is_that_grade(wire: Wire, grade: str) -> None:
    field = "color" if grade in COLOR else "clarity"
    alone, twice = (wire.post(at(f"/stone/{field}", f'"{text}"')) for text in (grade, f"{grade}-{grade}"))
    assert (twice.status, twice.document["verdict"]) == (200, alone.document["verdict"])


@pytest.mark.parametrize(
    "pointer",
    [
        "/stone/shape", "/stone/material", "/stone/origin", "/stone/polish", "/stone/fluorescence",
        "/stone/girdle_min", "/stone/culet", "/stone/report/assessment", "/stone/observations/bow_tie",
        "/stone/observations/inclusion/type", "/context/metal", "/context/protection",
    ],
)  # fmt: skip
@pytest.mark.parametrize(
    "literal", plain([f'"{CANARY}"', '""', '"NONE"', '"none "', "0", "true", "[]", "{}", '["oval"]'])
)
def test_words_of_a_closed_list_are_held_to_it(wire: Wire, pointer: str, literal: str) -> None:
    body = at(pointer, literal)
    if pointer == "/stone/shape":
        body = f'{{"stone":{{"shape":{literal}}}}}'
    errors = problem(wire.post(body), 422, "request_invalid")
    assert [error["pointer"] for error in errors] == [pointer]


@pytest.mark.parametrize("pointer", ["/as_of", "/stone/report/date", "/stone/observations/seen_on"])
@pytest.mark.parametrize(
    "literal",
    plain(
        [
            f'"{CANARY}"', '""', '"today"', '"2026-02-30"', '"2026-13-01"', '"2026-00-10"', '"0000-01-01"',
            '"2026-1-1"', '"20260101"', '"20260101  "', '"2026-W50-1"', '"2026W501  "', '"2026-001"',
            '"2026-01-1 "', '"2026/01/01"', '"01-02-2026"', '"26-01-2026"', '"-026-01-01"', '"+026-01-01"',
            '"\\uff12026-01-01"', '"\\u0662026-01-01"', '"2026-01-01T00:00:00Z"', '"2026-01-01\\n"',
            '"2026-01-01Z"', "20260101", "1767225600", "1.5", "true", "[]", "{}",
        ]
    ),
)  # fmt: skip
def test_a_date_has_one_spelling(wire: Wire, pointer: str, literal: str) -> None:
    errors = problem(wire.post(at(pointer, literal)), 422, "request_invalid")
    assert [error["pointer"] for error in errors] == [pointer]


@pytest.mark.parametrize("literal", ['"2026-06-01"', '"2028-02-29"', '"9999-12-31"'])
def test_dates_and_words_are_read_from_text(wire: Wire, literal: str) -> None:
    body = (
        f'{{"stone":{{"shape":"oval","origin":"natural","report":{{"date":{literal}}}}},"as_of":{literal}}}'
    )
    answer = wire.post(body)
    assert (answer.status, answer.document["as_of"]) == (200, json.loads(literal))


@pytest.mark.parametrize(
    "body",
    named(
        {
            "id": at("/stone/id", json.dumps("x" * 65)),
            "empty id": at("/stone/id", '""'),
            "issuer": at("/stone/report/issuer", json.dumps(CANARY * 7)),
            "report number": at("/stone/report/number", json.dumps(CANARY * 5)),
            "report number as a number": at("/stone/report/number", "12345"),
            "comment": at("/stone/report/comments", json.dumps([CANARY * 31])),
            "empty comment": at("/stone/report/comments", '[""]'),
            "comments": at("/stone/report/comments", json.dumps(["x"] * 21)),
            "comments as text": at("/stone/report/comments", f'"{CANARY}"'),
            "treatments": at("/stone/treatments", json.dumps(["coated"] * 8)),
            "thousands of treatments": at("/stone/treatments", json.dumps(["coated"] * 5000)),
            "treatments as an object": at("/stone/treatments", '{"0":"coated"}'),
            "rule set": at("/ruleset", json.dumps("h" * 61)),
            "60 KB": at("/stone/id", json.dumps(CANARY * 6000)),
        }
    ),
)
def test_texts_and_lists_have_an_end(wire: Wire, body: str) -> None:
    assert problem(wire.post(body), 422, "request_invalid")


@pytest.mark.parametrize(
    "pointer",
    [
        "/unknown",
        "/stone/unknown",
        "/stone/report/unknown",
        "/stone/observations/unknown",
        "/stone/observations/inclusion/unknown",
        "/context/unknown",
        "/stone/Shape",
        "/stone/__proto__",
        "/stone/constructor",
        "/stone/model_config",
        "/body_limit",
        "/stones",
        "/carat",
    ],
)
@pytest.mark.parametrize("literal", plain(["1", "null", f'"{CANARY}"', f'{{"a":"{CANARY}"}}']))
def test_a_field_that_nobody_knows_is_refused_at_its_place(wire: Wire, pointer: str, literal: str) -> None:
    errors = problem(wire.post(at(pointer, literal)), 422, "request_invalid")
    assert [(error["pointer"], error["found"]) for error in errors] == [(pointer, "an unknown field")]


@pytest.mark.parametrize(
    ("name", "pointer"),
    [
        ("a/b~c", "/stone/a~1b~0c"),
        ("", "/stone/"),
        (CANARY * 5, "/stone/?"),
        (f"\u00e9{CANARY}", "/stone/?"),
        (f"\r\n{CANARY}", "/stone/?"),
        (f"\x00{CANARY}", "/stone/?"),
        (f"{CANARY}@example.org", "/stone/?"),
        ("0555 0142", "/stone/?"),
    ],
    ids=[
        "escaped as RFC 6901 says",
        "no name",
        "long",
        "not ASCII",
        "line break",
        "nul",
        "mail",
        "telephone",
    ],
)
def test_a_name_is_repeated_only_if_somebody_may_have_mistyped_it(
    wire: Wire, name: str, pointer: str
) -> None:
    body = json.dumps({"stone": {"shape": "oval", name: 1}})
    errors = problem(wire.post(body), 422, "request_invalid")
    assert [error["pointer"] for error in errors] == [pointer]


def test_at_most_fifty_faults_are_listed(wire: Wire) -> None:
    body = json.dumps({"stone": {f"unknown_{number}": CANARY for number in range(200)}})
    assert len(problem(wire.post(body), 422, "request_invalid")) == 50


@pytest.mark.parametrize(
    ("reference", "code"),
    [
        (CANARY, "ruleset_unknown"),
        ("house@7", "version_unknown"),
        ("house@1.0.7", "version_unknown"),
        (f"house@{'9' * 9}", "version_unknown"),
    ],
    ids=["name", "version", "patch", "long version"],
)
def test_rules_that_nobody_knows_are_not_found(wire: Wire, reference: str, code: str) -> None:
    problem(wire.post(at("/ruleset", json.dumps(reference))), 404, code)


@pytest.mark.parametrize(
    "reference",
    plain(
        [
            "", "House", "house@", "house@v1", "house@1.0.0.0", "house@1.0.0\n", " house", "house@-1",
            "house@\u0661", "house/1.0.0", "../house", "@1", "*", f"house@{'9' * 10}", f"house@{'9' * 54}",
        ]
    ),
)  # fmt: skip
def test_a_reference_to_rules_has_one_spelling(wire: Wire, reference: str) -> None:
    errors = problem(wire.post(at("/ruleset", json.dumps(reference))), 422, "request_invalid")
    assert [error["pointer"] for error in errors] == ["/ruleset"]
