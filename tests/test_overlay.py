"""A shop's own rules over the house's: a worked example, and what goes wrong with such a file.

The shop, its stones and its figures are invented; they stand in `tests/data/overlay`.
"""

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Final

import orjson
import pytest
from hypothesis import given

from gradefloor.judge.cases import prove
from gradefloor.judge.findings import Evaluation
from gradefloor.rules.catalog import Catalog, Release, load
from gradefloor.rules.format import RULE_KINDS
from gradefloor.rules.strict_yaml import Fault
from samples import ROOT, RULESETS, Wire, contexts, judge, load_faults, stones, verdicts, write_tiny

OVERLAY: Final = ROOT / "tests" / "data" / "overlay"
OVERRIDDEN: Final = {"clarity.steps", "table.steps", "companions.emerald"}
OWN: Final = "riverside.crown.steps"


def with_riverside(root: Path) -> Path:
    """A copy of the committed rule sets with the shop's beside them."""
    shutil.copytree(RULESETS, root)
    shutil.copytree(OVERLAY / "riverside", root / "riverside")
    return root


@pytest.fixture(scope="module")
def rules(tmp_path_factory: pytest.TempPathFactory) -> Catalog:
    return load(with_riverside(tmp_path_factory.mktemp("shop") / "rulesets"), drafts=True)


@pytest.fixture(scope="module")
def riverside(rules: Catalog) -> Release:
    (release,) = rules.releases["riverside"]
    return release


@pytest.fixture(scope="module")
def both(rules: Catalog, riverside: Release) -> Callable[[Wire, Wire | None], tuple[Evaluation, Evaluation]]:
    """A stone judged by the house and by the shop."""
    house = next(release for release in rules.releases["house"] if release.version == "1.3.0")
    judging = house.compiled, riverside.compiled

    def judged(stone: Wire, context: Wire | None = None) -> tuple[Evaluation, Evaluation]:
        one, other = (judge(compiled, stone, context) for compiled in judging)
        return one, other

    return judged


def differing(one: Evaluation, other: Evaluation) -> set[str]:
    """Rules of which two answers do not say the same, byte by byte."""
    said = [{f["rule"]: orjson.dumps(f) for f in answer["findings"]} for answer in (one, other)]
    return {rule for rule in said[0] | said[1] if said[0].get(rule) != said[1].get(rule)}


# The example


def test_the_shop_is_a_draft_that_compiles_and_whose_cases_hold(riverside: Release) -> None:
    assert riverside.draft
    assert riverside.faults == []
    assert prove(riverside.compiled, riverside.proof) == []


def test_the_shop_has_the_house_s_rules_and_one_more(rules: Catalog, riverside: Release) -> None:
    house = next(release for release in rules.releases["house"] if release.version == "1.3.0")
    ids = [{r.id for kind in RULE_KINDS for r in getattr(found.rules, kind)} for found in (house, riverside)]
    assert ids[1] - ids[0] == {OWN}
    assert ids[0] <= ids[1]


def test_every_override_says_why(riverside: Release) -> None:
    reasons = {
        rule.id: rule.instead_because
        for kind in RULE_KINDS
        for rule in getattr(riverside.rules, kind)
        if riverside.where.of_rule[rule.id][0] is riverside.where.own
    }
    assert {rule for rule, reason in reasons.items() if reason} == OVERRIDDEN
    assert reasons[OWN] is None


CHANGED: Final = [
    ({"carat": 0.85, "clarity": "VS2"}, "clarity.steps", "pass", "fail"),
    ({"carat": 1.46, "clarity": "VS2"}, "clarity.steps", "ask", "fail"),
    ({"carat": 2.50, "clarity": "VS1"}, "clarity.steps", "pass", "fail"),
    ({"carat": 0.69, "clarity": "VVS2", "table_pct": 74}, "table.steps", "pass", "note"),
    ({"carat": 0.69, "clarity": "VVS2", "table_pct": 77}, "table.steps", "note", "ask"),
    ({"carat": 0.69, "clarity": "VVS2", "crown_height_pct": 9}, OWN, None, "note"),
]


@pytest.mark.parametrize(("members", "rule", "house_says", "riverside_says"), CHANGED)
def test_a_stone_that_one_changed_rule_sees_otherwise(
    both: Callable[[Wire, Wire | None], tuple[Evaluation, Evaluation]],
    members: Wire,
    rule: str,
    house_says: str | None,
    riverside_says: str,
) -> None:
    stone = {"shape": "emerald", "color": "G", "length_mm": 6.6, "width_mm": 4.8, "origin": "natural"}
    one, other = both({**stone, **members}, {"metal": "platinum"})
    assert (verdicts(one).get(rule), verdicts(other).get(rule)) == (house_says, riverside_says)
    # Rules that were overridden carry their own title, reason and source in every answer.
    assert {r for r in differing(one, other) if verdicts(one).get(r) != verdicts(other).get(r)} == {rule}


@given(stone=stones(), context=contexts)
def test_every_other_rule_says_the_same_to_the_byte(
    both: Callable[[Wire, Wire | None], tuple[Evaluation, Evaluation]], stone: Wire, context: Wire
) -> None:
    one, other = both(stone, context)
    assert differing(one, other) <= OVERRIDDEN | {OWN}


@given(stone=stones("round", "oval", "radiant"), context=contexts)
def test_a_shape_without_a_changed_rule_is_judged_alike(
    both: Callable[[Wire, Wire | None], tuple[Evaluation, Evaluation]], stone: Wire, context: Wire
) -> None:
    one, other = both(stone, context)
    assert one["findings"] == other["findings"]
    assert one["verdict"] == other["verdict"]


# What goes wrong with such a file


def edited(root: Path, old: str, new: str) -> Path:
    file = with_riverside(root) / "riverside" / "1.0.0" / "ruleset.yaml"
    text = file.read_text()
    assert text.count(old) == 1
    file.write_text(text.replace(old, new))
    return file


def refused(root: Path, file: Path) -> list[Fault]:
    """What reading and compiling refuse, all of it in this file."""
    faults = load_faults(root, drafts=True)
    if not faults:
        (release,) = load(root, drafts=True).releases[file.parent.parent.name]
        faults = release.faults
    assert {fault.file for fault in faults} <= {str(file)}
    return faults


def test_an_override_whose_id_the_base_does_not_have_is_refused_in_its_line(tmp_path: Path) -> None:
    file = edited(tmp_path / "rulesets", "- id: table.steps\n", "- id: tables.steps\n")
    lines = file.read_text().splitlines()
    told = [(lines[f.line - 1].strip(), f.found, f.allowed) for f in refused(tmp_path / "rulesets", file)]
    reason = "instead_because: Flat step cuts are what is sent back most often to this invented shop."
    assert (reason, "instead_because", "only in an override") in told


def test_an_override_among_another_kind_of_rule_is_refused_in_its_line(tmp_path: Path) -> None:
    file = edited(tmp_path / "rulesets", "- id: table.steps\n", "- id: clarity.round\n")
    lines = file.read_text().splitlines()
    told = [(lines[f.line - 1].strip(), f.found, f.allowed) for f in refused(tmp_path / "rulesets", file)]
    assert ("- id: clarity.round", "clarity.round among windows", "floors") in told


def test_two_names_that_extend_each_other_are_refused_in_their_lines(tmp_path: Path) -> None:
    (tmp_path / "RELEASED").write_text("end 0\n")
    for name, other in (("one", "two"), ("two", "one")):
        file = write_tiny(tmp_path, name, "1.0.0")
        file.write_text(file.read_text().replace("about:", f"extends: {other}@1.0.0\nabout:"))
    (fault,) = load_faults(tmp_path, drafts=True)
    lines = Path(fault.file).read_text().splitlines()
    assert lines[fault.line - 1] == f"extends: {fault.found}"
    assert fault.found in {"one@1.0.0", "two@1.0.0"}
    assert fault.allowed == "a released version"
