"""Grades in messages: the scales of the laboratories' common glossary; the messages are invented."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradefloor.judge.letters import read_grades


@pytest.mark.parametrize(
    ("text", "reads"),
    [
        ("1.5-2 ct oval, G VS2 or better", {"color": "G", "clarity": "VS2"}),
        ("mindestens VS 1, Farbe egal", {"clarity": "VS1"}),
        ("F-G, vvs2-vs1 please", {"color": "G", "clarity": "VS1"}),
        ("si1/si2 is fine", {"clarity": "SI2"}),
        ("IF D if there is one", {"color": "D", "clarity": "IF"}),
        ("what if I find one", {}),
        ("I1 is too low", {"clarity": "I1"}),
        ("plan E versus plan F", {}),
        ("I'd like VS2", {"clarity": "VS2"}),
        ("VS2 I'd say", {"clarity": "VS2"}),
        ("K, SI1", {"color": "K", "clarity": "SI1"}),
        ("SI3 or VS3", {}),
        ("VS2. VS2! vs2?", {"clarity": "VS2"}),
    ],
)
def test_grades_are_read_where_they_can_be_nothing_else(text: str, reads: dict[str, str]) -> None:
    found, left = read_grades(text)
    assert {one.field: one.value for one in found} == reads
    assert left == []


def test_two_different_grades_stay_open() -> None:
    found, left = read_grades("G VS1 or H SI1?")
    assert found == []
    assert {(one.field, one.why) for one in left} == {
        ("color", "more_than_one"),
        ("clarity", "more_than_one"),
    }


def test_a_span_leads_to_the_grade() -> None:
    text = "a round, G VS2"
    found, _ = read_grades(text)
    assert {one.field: text[slice(*one.spans[0])].strip() for one in found} == {
        "color": "G",
        "clarity": "VS2",
    }


@given(st.text(st.sampled_from("DEFGVSI12-/ ,.if"), max_size=60))
def test_any_text_is_read_without_fault(text: str) -> None:
    for one in read_grades(text)[0]:
        assert all(0 <= start < end <= len(text) for start, end in one.spans)
