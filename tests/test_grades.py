"""Grading scales against what laboratories and rule books print."""

import re
from itertools import product

import pytest

from gradefloor.trade.grades import (
    CLARITY,
    COLOR,
    CULET,
    FINISH,
    FLUORESCENCE,
    GIRDLE,
    Scale,
    Span,
    color_group,
    cut_ceiling,
)

SCALES = [COLOR, CLARITY, FINISH, FLUORESCENCE, GIRDLE, CULET]


def test_color_has_the_23_letters_from_d_to_z() -> None:
    # Laboratory glossary of the D-to-Z scale: 23 letters.
    assert "".join(COLOR.grades) == "DEFGHIJKLMNOPQRSTUVWXYZ"
    assert len(COLOR.grades) == 23


def test_clarity_has_eleven_grades_in_order() -> None:
    # From memory of the GIA scale; IDC Rule Book 2.3 has the same but for FL and IF, which it joins.
    expected = "FL IF VVS1 VVS2 VS1 VS2 SI1 SI2 I1 I2 I3"
    assert " ".join(CLARITY.grades) == expected


@pytest.mark.parametrize("word", ["SI3", "P1", "LC", "VS", "vs1", "", "VS1 "])
def test_words_of_other_scales_are_no_clarity_grades(word: str) -> None:
    # IDC Rule Book 2.3: SI3 is on neither scale, P1 to P3 and loupe-clean are words of the other one.
    assert word not in CLARITY
    with pytest.raises(KeyError):
        CLARITY.span(word)


def test_fluorescence_has_five_strengths() -> None:
    # GIA press text: none, faint, medium, strong, very strong.
    assert FLUORESCENCE.grades == ("none", "faint", "medium", "strong", "very_strong")


def test_finish_has_five_grades() -> None:
    # GIA booklet "Finish, Culet Size, and Girdle Thickness", 2009.
    assert FINISH.grades == ("excellent", "very_good", "good", "fair", "poor")


def test_girdle_has_eight_words_thinnest_first() -> None:
    # From memory of the GIA terms.
    assert len(GIRDLE.grades) == 8
    assert GIRDLE.rank("extremely_thin") < GIRDLE.rank("thin") < GIRDLE.rank("slightly_thick")


def test_culet_has_eight_words_smallest_first() -> None:
    # From memory of the GIA terms.
    assert len(CULET.grades) == 8
    assert CULET.rank("none") < CULET.rank("medium") < CULET.rank("slightly_large")


@pytest.mark.parametrize("scale", SCALES, ids=lambda scale: scale.name)
def test_a_range_reads_the_same_in_either_order(scale: Scale) -> None:
    for best, first in enumerate(scale.grades):
        for worst, second in enumerate(scale.grades[best + 1 :], best + 1):
            assert scale.span(f"{first}-{second}") == scale.span(f"{second}-{first}") == Span(best, worst)


@pytest.mark.parametrize("scale", SCALES, ids=lambda scale: scale.name)
def test_a_single_grade_is_its_own_range(scale: Scale) -> None:
    for rank, grade in enumerate(scale.grades):
        assert scale.span(grade) == Span(rank, rank)
        assert scale.write(Span(rank, rank)) == grade


@pytest.mark.parametrize("text", ["G-", "-G", "G-H-I", "G–H", "G - H"], ids=ascii)
def test_only_two_grades_and_a_hyphen_make_a_range(text: str) -> None:
    with pytest.raises(KeyError):
        COLOR.span(text)


@pytest.mark.parametrize("scale", [COLOR, CLARITY], ids=lambda scale: scale.name)
def test_every_text_that_the_contract_takes_for_a_grade_can_be_read(scale: Scale) -> None:
    texts = [*scale.grades, *map("-".join, product(scale.grades, repeat=2))]
    taken = [text for text in texts if re.search(scale.pattern, text)]
    assert [text for text in taken if not _reads(scale, text)] == []


def _reads(scale: Scale, text: str) -> bool:
    try:
        scale.span(text)
    except KeyError:
        return False
    return True


def test_a_range_is_written_with_the_better_grade_first() -> None:
    assert COLOR.write(COLOR.span("H-G")) == "G-H"


@pytest.mark.parametrize(
    ("last", "group", "first", "next_group"),
    [
        ("F", "colorless", "G", "near_colorless"),
        ("J", "near_colorless", "K", "faint"),
        ("M", "faint", "N", "very_light"),
        ("R", "very_light", "S", "light"),
    ],
    ids=["F/G", "J/K", "M/N", "R/S"],
)
def test_color_groups_meet_between_these_letters(last: str, group: str, first: str, next_group: str) -> None:
    # IDC Rule Book 3.1 and a laboratory's glossary of the D-to-Z scale.
    assert (color_group(last), color_group(first)) == (group, next_group)


def test_every_letter_belongs_to_one_color_group() -> None:
    assert len({color_group(letter) for letter in COLOR.grades}) == 5


# GIA booklet "Finish, Culet Size, and Girdle Thickness", 2009 (docslib.org/doc/10046): an excellent cut
# needs both at very good or better, a very good one both at good, good and fair ones both at fair, and
# poor in either makes the cut poor.
CEILINGS = [
    ("excellent", "excellent", "excellent"),
    ("very_good", "very_good", "excellent"),
    ("excellent", "very_good", "excellent"),
    ("very_good", "good", "very_good"),
    ("excellent", "good", "very_good"),
    ("good", "good", "very_good"),
    ("good", "fair", "good"),
    ("excellent", "fair", "good"),
    ("fair", "fair", "good"),
    ("fair", "poor", "poor"),
    ("excellent", "poor", "poor"),
    ("poor", "poor", "poor"),
]


@pytest.mark.parametrize(
    ("one", "other", "ceiling"), CEILINGS, ids=[f"{one}+{other}" for one, other, _ in CEILINGS]
)
def test_finish_caps_the_cut_grade_of_a_round(one: str, other: str, ceiling: str) -> None:
    assert cut_ceiling(one, other) == cut_ceiling(other, one) == ceiling
