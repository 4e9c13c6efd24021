"""Lists of stones, and whatever else is made to cost more than it is worth.

All stones are invented.
"""

import json
from typing import Final

import pytest

from gradefloor.web.gate import LIST_LIMIT, MAX_BRACKETS, MAX_DEPTH, MAX_NAMES, SINGLE_LIMIT
from gradefloor.web.lists import MAX_STONES, TOLD_IN_FULL
from gradefloor.web.problems import MAX_BRIEF, MAX_COUNTED, MAX_ERRORS, MAX_WORD
from raw import BATCH, CANARY, SINGLE, STONE, Wire, named, problem


@pytest.mark.parametrize(
    "body",
    named(
        {
            "missing": "{}",
            "null": '{"stones":null}',
            "object": '{"stones":{}}',
            "text": f'{{"stones":"{CANARY}"}}',
            "a stone alone": STONE,
            "a number as an item": '{"stones":[{"shape":"oval"},1]}',
            "a list as an item": '{"stones":[[]]}',
            "null as an item": '{"stones":[null]}',
            "a text as an item": f'{{"stones":["{CANARY}"]}}',
            "10,001 items": '{"stones":[' + ",".join(["{}"] * 10_001) + "]}",
            "a million items": '{"stones":[' + ",".join(["1"] * 1_000_000) + "]}",
            "unknown field beside": '{"stones":[],"unknown":1}',
            "faulty context": f'{{"stones":[],"context":{{"metal":"{CANARY}"}}}}',
        }
    ),
)
def test_a_list_that_cannot_be_read_is_refused(wire: Wire, body: str) -> None:
    assert problem(wire.post(body, BATCH), 422, "request_invalid")


@pytest.mark.parametrize(
    "stone",
    named(
        {
            "nothing": "{}",
            "overflow": '{"shape":"oval","carat":1e400}',
            "word": f'{{"shape":"{CANARY}"}}',
            "date": f'{{"shape":"oval","report":{{"date":"{CANARY}"}}}}',
            "unknown field": f'{{"shape":"oval","unknown":"{CANARY}"}}',
            "long name": f'{{"shape":"oval","{CANARY * 5}":1}}',
        }
    ),
)
def test_a_faulty_item_is_a_problem_in_its_place(wire: Wire, stone: str) -> None:
    answer = wire.post(f'{{"stones":[{{"shape":"oval"}},{stone}]}}', BATCH)
    assert answer.status == 200
    _, faulty = answer.document["results"]
    assert (faulty["status"], faulty["code"]) == (422, "request_invalid")
    assert all(error["pointer"].startswith("/stones/1/") for error in faulty["errors"])


# What costs more than it is worth


def test_the_limits_are_those_that_people_are_told() -> None:
    assert (SINGLE_LIMIT, LIST_LIMIT, MAX_STONES) == (64 * 1024, 16 * 1024 * 1024, 10_000)
    assert (MAX_DEPTH, MAX_NAMES, MAX_BRACKETS) == (32, 200, 200_000)
    assert (MAX_ERRORS, MAX_BRIEF, MAX_COUNTED, MAX_WORD, TOLD_IN_FULL) == (50, 3, 1000, 30, 100)


def members(count: int) -> str:
    """So many fields that nobody knows."""
    return ",".join(f'"unknown_{number}":1' for number in range(count))


WIDE: Final = members(MAX_NAMES + 1)
BRACKETS: Final = '"unknown":[' + ",".join(["[]"] * MAX_DEPTH) + "]"


@pytest.mark.parametrize(
    ("path", "body"),
    [
        pytest.param(BATCH, f'{{"stones":[{{{WIDE}}}]}}'.ljust(SINGLE_LIMIT + 1), id="large, in a stone"),
        pytest.param(BATCH, f'{{"stones":[],{WIDE}}}'.ljust(SINGLE_LIMIT + 1), id="large, around stones"),
        pytest.param(BATCH, f'{{"stones":[{{"report":{{{WIDE}}}}}],{BRACKETS}}}', id="brackets, in a report"),
        pytest.param(SINGLE, f'{{"stone":{{{WIDE},{BRACKETS}}}}}', id="brackets, in a stone"),
        pytest.param(SINGLE, f'{{"stone":{{}},{BRACKETS},"deep":[[{{{WIDE}}}]]}}', id="brackets, in a list"),
        pytest.param(BATCH, f'{{"stones":[{{{members(500_000)}}}]}}', id="half a million"),
    ],
)
def test_an_object_of_more_than_200_names_is_looked_at_no_further(wire: Wire, path: str, body: str) -> None:
    answer = wire.post(body, path)
    assert not problem(answer, 422, "request_invalid")
    assert answer.document["detail"] == "No object of a request has so many members."


def test_an_object_of_200_names_is_told_its_faults(wire: Wire) -> None:
    body = f'{{"stones":[{{"shape":"oval",{members(MAX_NAMES - 1)}}}]}}'.ljust(SINGLE_LIMIT + 1)
    answer = wire.post(body, BATCH)
    assert (answer.status, answer.document["counts"]["problem"]) == (200, 1)
    assert len(answer.document["results"][0]["errors"]) == MAX_ERRORS


@pytest.mark.parametrize(
    "body",
    named(
        {
            "one too many": '{"stones":[' + ",".join(["[]"] * (MAX_BRACKETS - 1)) + "]}",
            "millions": '{"stones":[' + ",".join(["[]"] * 2_000_000) + "]}",
            "objects": '{"stones":[' + ",".join(["{}"] * (MAX_BRACKETS - 1)) + "]}",
            "in a text": '{"stones":[{"id":"' + "[{" * (MAX_BRACKETS // 2) + '"}]}',
            "never closed": "[" * (MAX_BRACKETS + 1),
        }
    ),
)
def test_more_than_200_000_lists_and_objects_are_not_read(wire: Wire, body: str) -> None:
    assert not problem(wire.post(body, BATCH), 413, "body_too_large")


def test_200_000_lists_and_objects_are_read(wire: Wire) -> None:
    body = '{"stones":[' + ",".join(["[]"] * (MAX_BRACKETS - 2)) + "]}"
    assert problem(wire.post(body, BATCH), 422, "request_invalid")


# A stone without a shape has one fault more.
@pytest.mark.parametrize(("unknown", "told"), [(MAX_COUNTED - 1, MAX_ERRORS), (MAX_COUNTED, 1)])
@pytest.mark.parametrize("path", [SINGLE, BATCH])
def test_more_than_a_thousand_faults_are_one(wire: Wire, path: str, unknown: int, told: int) -> None:
    stone = f"{{{members(unknown)}}}"
    if path == SINGLE:
        errors = problem(wire.post(f'{{"stone":{stone}}}'), 422, "request_invalid")
    else:
        errors = wire.post(f'{{"stones":[{stone}]}}', BATCH).document["results"][0]["errors"]
    assert len(errors) == told
    if told == 1:
        assert errors[0]["pointer"] == ("" if path == SINGLE else "/stones/0")
        assert errors[0]["found"] == "1001 faults"


@pytest.mark.parametrize(
    ("body", "meant"),
    [
        ('{"stone":{"shape":"oval","crown_height_pct%s":1}}', "crown_height_pct"),
        ('{"stone":{"shape":"oval","origin":"laboratory_grown%s"}}', "laboratory_grown"),
    ],
    ids=["field", "value"],
)
@pytest.mark.parametrize(("length", "hinted"), [(MAX_WORD, True), (MAX_WORD + 1, False)])
def test_only_a_word_of_up_to_30_characters_is_taken_for_a_slip(
    wire: Wire, body: str, meant: str, length: int, hinted: bool
) -> None:
    (error,) = problem(wire.post(body % ("x" * (length - len(meant)))), 422, "request_invalid")
    assert error["allowed"].endswith(f"; did you mean {meant}?") == hinted
    assert ("did you mean" in error["allowed"]) == hinted


def test_from_the_101st_faulty_stone_on_little_is_told(wire: Wire) -> None:
    misspelt = {"shape": "oval", **{f"colr_{number}": 1 for number in range(MAX_BRIEF + 1)}}
    stones = [{"shape": "oval"}, misspelt] * (TOLD_IN_FULL + 20)
    answer = wire.post(json.dumps({"stones": stones}), BATCH)
    assert (answer.status, answer.document["counts"]["problem"]) == (200, TOLD_IN_FULL + 20)
    told = [[error["allowed"] for error in result["errors"]] for result in answer.document["results"][1::2]]
    hinted = ["a field of the contract; did you mean color?"] * (MAX_BRIEF + 1)
    assert told == [hinted] * TOLD_IN_FULL + [["a field of the contract"] * MAX_BRIEF] * 20


@pytest.mark.parametrize(
    ("stone", "pointer"),
    [
        pytest.param('{"shape":"' + "oval" * 1_000_000 + '"}', "/stones/0/shape", id="word"),
        pytest.param('{"shape":"oval","carat":9999.' + "1" * 4_000_000 + "}", "/stones/0/carat", id="number"),
    ],
)
def test_a_value_of_4_mb_is_a_problem_in_its_place(wire: Wire, stone: str, pointer: str) -> None:
    answer = wire.post(f'{{"stones":[{stone}]}}', BATCH)
    assert answer.status == 200
    (faulty,) = answer.document["results"]
    assert (faulty["status"], faulty["code"]) == (422, "request_invalid")
    assert [error["pointer"] for error in faulty["errors"]] == [pointer]
    assert len(answer.body) < 2000


def test_a_whole_number_of_4_mb_is_not_read(wire: Wire) -> None:
    body = '{"stones":[{"shape":"oval"},{"shape":"oval","carat":' + "1" * 4_000_000 + "}]}"
    assert not problem(wire.post(body, BATCH), 400, "json_invalid")


# Long lists are cut into items before these are read; nobody may notice


# With all the comments that a report may have, so that a dozen of them make a long list.
PLAIN_STONE: Final = json.dumps({"shape": "oval", "report": {"comments": ["See the letter. " * 18] * 20}})
# Each as one item of a list whose body is longer than a single request's may be.
ODD_ITEMS: Final = {
    "a name twice": '{"shape":"oval","shape":"oval"}',
    "no number": '{"shape":"oval","carat":NaN}',
    "no JSON": '{"shape":"oval","carat":}',
    "a lone surrogate": '{"shape":"oval","id":"\\ud800"}',
    "deep": '{"shape":"oval","x":' + "[" * 31 + "]" * 31 + "}",
    "just deep enough": '{"shape":"oval","x":' + "[" * 29 + "]" * 29 + "}",
    "wide": f"{{{WIDE}}}",
    "a number": "1",
    "a list": "[]",
    "nothing": "null",
    "brackets in a text": '{"shape":"oval","id":"]}[{"}',
    "escapes": '{"sh\\u0061pe":"oval","id":"\\"\\\\"}',
    "unknown": '{"shape":"oval","caratt":1}',
}


def long_list(item: str, around: str = "") -> str:
    """A body over the limit of single requests, with one odd item among plain ones."""
    stones = [PLAIN_STONE] * (SINGLE_LIMIT // len(PLAIN_STONE) + 2)
    stones[5] = item
    return f'{{"as_of":"2026-11-26","ruleset":"house@1.4.0",{around}"stones":[{" ,".join(stones)}]}}'


@pytest.mark.parametrize("item", named(ODD_ITEMS))
def test_a_long_list_is_answered_as_if_it_were_read_whole(wire: Wire, item: str) -> None:
    body = long_list(item)
    cut = wire.post(body, BATCH)
    # A body of which the list is less than half is read whole.
    whole = wire.post(body[:-1] + " " * 2 * len(body) + "}", BATCH)
    assert (cut.status, cut.document) == (whole.status, whole.document)
    assert cut.status in {200, 400, 422}


@pytest.mark.parametrize(
    "around",
    named(
        {
            "the same list twice": '"stones":[],',
            "a name twice": '"as_of":"2026-11-26",',
            "an unknown name": '"unknown":1,',
            "a broken member": '"context":{,',
            "a deep member": f'"context":{"[" * 40}{"]" * 40},',
            "a list that begins alike": f'"x":[{PLAIN_STONE}],',
            "several that begin alike": '"x":[' + ",".join([f"[{PLAIN_STONE}]"] * 6) + "],",
        }
    ),
)
def test_so_is_whatever_stands_around_it(wire: Wire, around: str) -> None:
    body = long_list("{}", around)
    cut = wire.post(body, BATCH)
    whole = wire.post(body[:-1] + " " * 2 * len(body) + "}", BATCH)
    assert (cut.status, cut.document) == (whole.status, whole.document)
    assert cut.status in {400, 422}
