"""What comment lines amount to. Wording from memory, not verified against any laboratory."""

import pytest

from gradefloor.trade.reading import comment_effect, comment_effects

LINES = [
    ("Clarity grade is based on clouds that are not shown.", "clouds_set_grade"),
    ("Clouds are not shown.", "clouds_set_grade"),
    ("SI1, clouds not shown", "clouds_set_grade"),
    ("Cloud not shown.", "clouds_set_grade"),
    ("Additional clouds are not shown.", "additional_clouds"),
    ("Additional twinning wisps, clouds and surface graining are not shown.", "additional_clouds"),
    ("Internal graining is not shown.", "graining"),
    ("Surface graining is not shown.", "graining"),
    ("Minor details of polish are not shown.", "nothing"),
    ("Pinpoints are not shown.", "nothing"),
    ("Surface-reaching feathers are present.", "surface_reaching"),
    ("A cavity is present.", "surface_reaching"),
    ("A chip is present on the girdle.", "surface_reaching"),
    ("This diamond has been clarity enhanced.", "treatment"),
    ("Clarity-enhanced with a foreign substance.", "treatment"),
    ("This diamond has been fracture filled.", "treatment"),
    ("A laser drill hole is present.", "treatment"),
    ("HPHT annealed.", "treatment"),
    ("This diamond has been irradiated.", "treatment"),
    ("Artificially colored.", "treatment"),
    ("This diamond has been treated.", "treatment"),
    ("This diamond is untreated.", "nothing"),
    ("Not treated after growth.", "nothing"),
    ("HPHT growth process.", "nothing"),
    ("Crown angles are greater than 42 degrees.", "angles"),
    ("A laser inscription is present.", "nothing"),
    ("Inscription: 0000000000", "nothing"),
    ("See the accompanying letter.", "unread"),
    ("", "unread"),
]


@pytest.mark.parametrize(("line", "effect"), LINES, ids=[line or "empty" for line, _ in LINES])
def test_a_comment_line_has_this_effect(line: str, effect: str) -> None:
    assert comment_effect(line) == effect


def test_capitals_and_line_breaks_do_not_matter() -> None:
    assert comment_effect("ADDITIONAL  clouds\nare   NOT shown.") == "additional_clouds"


def test_several_lines_have_all_their_effects() -> None:
    lines = ["Internal graining is not shown.", "Clouds are not shown.", "Clouds are not shown."]
    assert comment_effects(lines) == {"graining", "clouds_set_grade"}


def test_no_lines_have_no_effect() -> None:
    assert comment_effects([]) == frozenset()
