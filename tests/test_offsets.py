"""A laboratory whose grades are read lower, as a shop may decide. The laboratory and the stone are invented.

A blind test of six laboratories, as reported in the trade press, found differences of several grades.
"""

import pytest

from gradefloor.rules.tables import CompiledRules
from samples import Tree, about, judge, verdicts

STONE = {
    "shape": "emerald",
    "carat": 0.9,
    "color": "F",
    "clarity": "VS1",
    "report": {"issuer": "Loose Grading House"},
}


@pytest.fixture
def loose(tree: Tree) -> CompiledRules:
    """The house with one laboratory that is read one to two grades lower."""
    tree.edit(
        "issuers:\n",
        "issuers:\n  - {name: Loose Grading House, cut_grade_shapes: [], source: house_practice,"
        " color_offset: {at_least: 1, at_most: 2}, clarity_offset: {at_least: 1, at_most: 2}}\n",
    )
    (release,) = (r for r in tree.load() if (r.name, r.version) == ("house", "1.0.0"))
    return release.compiled


def test_a_grade_is_read_as_an_interval_and_the_answer_says_what_was_stated(loose: CompiledRules) -> None:
    clarity = about(judge(loose, STONE), "clarity.steps")
    assert clarity["observed"] == "VS2-SI1, stated as VS1 by Loose Grading House"


def test_an_interval_passes_only_if_both_ends_do(loose: CompiledRules) -> None:
    """Floor VS2: VS2-SI1 asks, and G-H is white enough for a head of any metal."""
    found = verdicts(judge(loose, STONE, {"metal": "platinum"}))
    assert (found["clarity.steps"], found["color.steps.white"]) == ("ask", "pass")


def test_the_remedy_is_a_grade_that_passes_when_it_is_read_lower(loose: CompiledRules) -> None:
    (change,) = about(judge(loose, STONE), "clarity.steps")["change"]
    better = judge(loose, {**STONE, "clarity": change["value"]})
    assert change == {"field": "stone.clarity", "value": "VVS2"}
    assert verdicts(better)["clarity.steps"] == "pass"


def test_other_laboratories_are_read_as_they_are(loose: CompiledRules) -> None:
    other = {**STONE, "report": {"issuer": "GIA"}}
    assert about(judge(loose, other), "clarity.steps")["observed"] == "VS1"
