"""One wrong edit in a rule file, and what its keeper is told: file, line, what was found, what is allowed.

The file is the house's own, changed in a copy. Its figures are common practice, no source.
"""

import shutil
from typing import Final, NamedTuple

import pytest

from samples import Tree


class Edit(NamedTuple):
    """What is replaced by what; the faulty line holds `on`; the fault has found and allowed in it."""

    fact: str
    old: str
    new: str
    on: str
    found: str
    allowed: str


BAND: Final = "{carat: {from: 1.00, below: 3.00}, on_paper: VS1, if_seen: VS2}"
TABLE: Final = "comfort: {from: 54, to: 59}"
ROSE: Final = "- {look: round, below: 1.06}\n      - {look: long, from: 1.06}"
FAIR: Final = "- when: {cut_grade: [fair, poor]}"
NAME: Final = 'name: house\nversion: "1.0.0"'
COMMENTS: Final = "A comment line may change the meaning of a grade.\n    source: "

FORMAT: Final = [
    Edit("unknown grade", "{below: 1.00}, on_paper: VS2}", "{below: 1.00}, on_paper: VS3}",
         "VS3", "'VS3'", "did you mean VS2?"),
    Edit("grade of the other scale", BAND, BAND.replace("VS1", "G"), "on_paper: G", "'G'", "one of FL, IF"),
    Edit("seen stricter than paper", BAND, BAND.replace("VS2", "VVS1"),
         "if_seen: VVS1", "VVS1 above VS1", "a grade no better"),
    Edit("unknown shape", "[crushed_ice, princess]", "[crushed_ice, princes]",
         "princes]", "'princes'", "did you mean princess?"),
    Edit("missing because", "because: In a blind study", "becuase: In a blind study",
         "- id: fluorescence.policy", "no because", "a value for because"),
    Edit("unknown key", "because: In a blind study", "becuase: In a blind study",
         "becuase", "the key becuase", "only keys of the format"),
    Edit("gap in carat bands", BAND, BAND.replace("1.00", "1.10"),
         "from: 1.10", "a gap: 1.10 to under 3.00 after a band that ends at 1.00", "from 1.00"),
    Edit("overlap in carat bands", BAND, BAND.replace("1.00", "0.90"),
         "from: 0.90", "an overlap: 0.90 to under 3.00 after a band that ends at 1.00", "from 1.00"),
    Edit("band upside down", BAND, BAND.replace("3.00", "0.50"),
         "below: 0.50", "from 1.00 below 0.50", "from smaller than below"),
    Edit("gap in look bands", ROSE, ROSE.replace("from: 1.06", "from: 1.07"), "1.07", "a gap", "from 1.06"),
    Edit("overlap in look bands", ROSE, ROSE.replace("from: 1.06", "from: 1.05"),
         "from: 1.05}", "an overlap", "from 1.06"),
    Edit("look bands that end", ROSE, ROSE.replace("from: 1.06", "from: 1.06, below: 3"),
         "below: 3}", "a gap: nothing from 3 upwards", "a last band without below"),
    Edit("comfort outside tolerated", TABLE, TABLE.replace("54", "51"),
         "from: 51", "51 to 59", "a range inside tolerated (52 to 62)"),
    Edit("window upside down", TABLE, TABLE.replace("54", "60"), "from: 60",
         "from 60 to 59", "from at most to"),
    Edit("a number in quotes", TABLE, TABLE.replace("54", '"54"'), '"54"',
         "'54'", "a number, without quotes"),
    Edit("a truth for a number", TABLE, TABLE.replace("54", "true"), "true",
         "True", "a number, without quotes"),
    Edit("unknown measure", "measure: report_age_years", "measure: report_age",
         "measure: report_age", "'report_age'", "did you mean report_age_years?"),
    Edit("unknown fact", FAIR, FAIR.replace("cut_grade", "cutgrade"),
         "cutgrade", "'cutgrade'", "did you mean cut_grade?"),
    Edit("unknown value of a fact", FAIR, FAIR.replace("poor", "pour"),
         "pour", "'pour'", "one of excellent, very_good"),
    Edit("ask without a question", f"        ask: appearance\n      {FAIR}", f"      {FAIR}",
         "verdict: ask", "verdict ask without ask", "the question that would settle it"),
    Edit("fail without a remedy", "        remedy: A better cut grade, best very good.\n", "",
         "verdict: fail", "verdict fail without remedy", "a remedy for every ask and fail"),
    Edit("version that reads as a number", NAME, "name: house\nversion: 1.10",
         "version: 1.10", "1.10", 'write "1.10" in quotes'),
    Edit("version in two parts", NAME, 'name: house\nversion: "1.10"', '"1.10"', "'1.10'", ""),
    Edit("version of another folder", NAME, 'name: house\nversion: "1.0.1"',
         "1.0.1", "'1.0.1'", "'1.0.0', like its folder"),
    Edit("name of another folder", NAME, 'name: home\nversion: "1.0.0"',
         "home", "'home'", "'house', like its folder"),
    Edit("date without quotes", 'effective: "2026-01-01"', "effective: 2026-01-01",
         "effective", "2026-01-01 without quotes", '"2026-01-01" in quotes'),
    Edit("text that is a number", "says: A dome this low gives little light and breaks easily.", "says: 5",
         "says: 5", "5", 'write "5" in quotes'),
]  # fmt: skip

COMPILED: Final = [
    Edit("a floor for nobody", "[round, single_cut]\n    grade: clarity", "[single_cut]\n    grade: clarity",
         "floors:", "a gap: no clarity floor for round center natural", "one rule"),
    Edit("two floors equally specific", "[oval, tipped]\n    grade: clarity",
         "[oval, tipped, round]\n    grade: clarity", "[oval, tipped, round]",
         "an overlap with clarity.round for round center natural", "one of the two narrower than the other"),
    Edit("no look for a center shape", "shapes: [rose]\n    bands", "shapes: [baguette]\n    bands",
         "looks:", "a gap: no look for rose", "one rule"),
    Edit("two looks for a shape", "shapes: [rose]\n    bands", "shapes: [rose, oval]\n    bands",
         "[rose, oval]", "an overlap with look.oval", "one of the two narrower than the other"),
    Edit("unknown source of a rule", f"{COMMENTS}house_practice", f"{COMMENTS}hearsay",
         "hearsay", "source 'hearsay'", "an id among sources: common_practice"),
    Edit("unknown source of a laboratory", '"2025-10-01"\n    source: cut_grade_scope',
         '"2025-10-01"\n    source: hearsay', "hearsay", "source 'hearsay'", "an id among sources"),
    Edit("unknown question", "light and breaks easily., ask: appearance",
         "light and breaks easily., ask: looks",
         "ask: looks", "ask 'looks'", "the about of an entry in questions"),
    Edit("a question about nothing in a request", "about: stone.report.comments",
         "about: stone.report.remarks", "remarks", "'stone.report.remarks'", "a member of the request"),
    Edit("a question that floors need", "- about: stone.carat", "- about: scales",
         "questions:", "no question about stone.carat", "one, because floors ask it"),
    Edit("gap in guard rows", FAIR, FAIR.replace(", poor", ""),
         "rows:", "a gap: no row for cut_grade poor", "a row for every combination"),
    Edit("overlap of guard rows", FAIR, FAIR.replace("fair", "very_good, fair"),
         "very_good, fair", "an overlap of rows 0 and 2 for cut_grade very_good", "naming more facts"),
    Edit("a row that never speaks", FAIR, f"- when: {{}}\n        verdict: note\n      {FAIR}",
         "when: {}", "a row that never speaks", "no such row"),
    Edit("a remedy that does not turn", "very good or better\n    remedied_by: [cut_grade]",
         "very good or better\n    remedied_by: [polish]", "remedied_by: [polish]",
         "no remedy that turns fail for cut_grade poor, polish good", "a fact among remedied_by that does"),
    Edit("an id twice", "- id: look.rose", "- id: look.old_mine",
         "look.old_mine", "the id look.old_mine again", "an id used once"),
    Edit("a source twice", "- id: house_table", "- id: common_practice", "- id: common_practice",
         "common_practice", "once"),
    Edit("a question twice", "- about: setter", "- about: gauge", "- about: gauge", "gauge", "once"),
    Edit("a laboratory twice", "issuers:\n",
         "issuers:\n  - {name: gia, cut_grade_shapes: [oval], source: cut_grade_scope}\n",
         "name: ", "", "once"),
    Edit("a carat limit finer than a point", f"{BAND}\n      - {{carat: {{from: 3.00}}",
         f"{BAND}\n      - {{carat: {{from: 3.00}}".replace("3.00", "2.995"), "2.995", "2.995", ""),
    Edit("a reason for no override", "- id: look.rose\n",
         "- id: look.rose\n    instead_because: It replaces none.\n",
         "instead_because", "instead_because", "only in an override"),
]  # fmt: skip


@pytest.fixture
def house_alone(tree: Tree) -> Tree:
    shutil.rmtree(tree.root / "strict")
    return tree


def told(tree: Tree, edit: Edit, name: str = "house") -> list[str]:
    """The lines on which this fault is reported."""
    lines = tree.file(name).read_text().splitlines()
    return [
        lines[fault.line - 1]
        for fault in tree.faults()
        if fault.file == str(tree.file(name)) and edit.found in fault.found and edit.allowed in fault.allowed
    ]


@pytest.mark.parametrize("edit", [*FORMAT, *COMPILED], ids=lambda edit: edit.fact)
def test_a_fault_is_told_with_its_line_and_what_is_allowed(house_alone: Tree, edit: Edit) -> None:
    house_alone.edit(edit.old, edit.new)
    lines = told(house_alone, edit)
    assert lines
    assert all(edit.on in line for line in lines)


def test_the_committed_house_has_no_faults(house_alone: Tree) -> None:
    assert house_alone.faults() == []


def test_five_faults_in_one_file_are_told_at_once(house_alone: Tree) -> None:
    five = [FORMAT[0], FORMAT[3], FORMAT[4], FORMAT[12], FORMAT[21]]
    for edit in five:
        house_alone.edit(edit.old, edit.new)
    assert all(told(house_alone, edit) for edit in five)


def test_several_compiler_faults_are_told_at_once(house_alone: Tree) -> None:
    several = [COMPILED[0], COMPILED[4], COMPILED[6], COMPILED[9]]
    for edit in several:
        house_alone.edit(edit.old, edit.new)
    assert all(told(house_alone, edit) for edit in several)


SCHOOL: Final = "The strict school holds that open facets show body color and wants G, then F, then E.\n"
STEPS: Final = "    shapes: [steps]\n    grade: color\n    positions: [center, side]\n    tones: [white]\n"
EXTENDING: Final = [
    Edit("an override without its reason", f"    instead_because: >-\n      {SCHOOL}{STEPS}", STEPS,
         "- id: color.steps.white", "an override without its reason", "instead_because"),
    Edit("an unknown base", "extends: house@1.0.0", "extends: manor@1.0.0",
         "extends", "manor@1.0.0", "released"),
    Edit("an unknown version of the base", "extends: house@1.0.0", "extends: house@1.0.9",
         "extends", "house@1.0.9", "released"),
    Edit("a base without its exact version", "extends: house@1.0.0", "extends: house@1",
         "extends", "'house@1'", ""),
    Edit("itself as base", "extends: house@1.0.0", "extends: strict@1.0.0",
         "extends", "strict@1.0.0", "released"),
]  # fmt: skip


@pytest.mark.parametrize("edit", EXTENDING, ids=lambda edit: edit.fact)
def test_a_fault_in_extending_is_told_with_its_line(tree: Tree, edit: Edit) -> None:
    tree.edit(edit.old, edit.new, "strict")
    lines = told(tree, edit, "strict")
    assert lines
    assert all(edit.on in line for line in lines)


def test_a_faulty_base_is_not_called_unreleased(tree: Tree) -> None:
    tree.edit(FORMAT[0].old, FORMAT[0].new)
    about_strict = [fault for fault in tree.faults() if fault.file == str(tree.file("strict"))]
    assert [fault for fault in about_strict if "released" in fault.allowed] == []
