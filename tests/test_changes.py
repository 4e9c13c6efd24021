"""What differs between two versions, and whose verdict moves, each held against plain comparison.

The stones are invented. There is no outside source for what a difference is: brute force stands for it.
"""

import random
from collections import Counter
from typing import Any, Final

import pytest

from gradefloor.judge.impact import Impact, ImpactCount
from gradefloor.rules.catalog import Catalog, Release
from gradefloor.rules.changes import differences, same_rules
from gradefloor.rules.compile import compile_rules
from gradefloor.rules.format import RULE_KINDS, RuleSet
from gradefloor.rules.said import SEVERITY
from gradefloor.rules.tables import CompiledRules
from gradefloor.trade.stones import Stone
from samples import DAY, committed_catalog, judge, verdicts
from stock import stock

CATALOG: Final[Catalog] = committed_catalog(drafts=False)
HOUSE: Final = CATALOG.releases["house"]
PAIRS: Final = [(older, newer) for older in CATALOG for newer in CATALOG if older is not newer]


def name(value: Any) -> str:
    return "-".join(f"{release.name}{release.version}" for release in value)


def content(rules: RuleSet) -> dict[str, Any]:
    return {rule.id: rule for kind in RULE_KINDS for rule in getattr(rules, kind)}


def altered(rules: RuleSet, rule: str, **members: Any) -> RuleSet:
    """The rules with members of one rule set to something else."""
    kind = next(kind for kind in RULE_KINDS if any(one.id == rule for one in getattr(rules, kind)))
    ones = [one.model_copy(update=members) if one.id == rule else one for one in getattr(rules, kind)]
    return rules.model_copy(update={kind: ones})


def compiled(release: Release, rules: RuleSet) -> CompiledRules:
    tables, faults = compile_rules(rules, release.where, "sha256:changed", release.overridable)
    assert tables is not None, faults
    return tables


# Differences


@pytest.mark.parametrize("pair", PAIRS, ids=name)
def test_a_rule_is_told_if_and_only_if_it_differs(pair: tuple[Release, Release]) -> None:
    before, after = content(pair[0].rules), content(pair[1].rules)

    found = differences(pair[0].rules, pair[1].rules)

    assert {rule["rule"] for rule in found["added"]} == after.keys() - before.keys()
    assert {rule["rule"] for rule in found["removed"]} == before.keys() - after.keys()
    both = before.keys() & after.keys()
    assert {rule["rule"] for rule in found["altered"]} == {id_ for id_ in both if before[id_] != after[id_]}


def test_a_version_does_not_differ_from_itself() -> None:
    for release in CATALOG:
        found = differences(release.rules, release.rules)
        assert same_rules(found)
        assert found["around"] == []


def test_one_grade_is_told_with_its_place_and_both_values() -> None:
    rules = HOUSE[0].rules
    floor = content(rules)["clarity.steps"]
    bands = [floor.bands[0].model_copy(update={"on_paper": "VS1"}), *floor.bands[1:]]

    found = differences(rules, altered(rules, "clarity.steps", bands=bands))

    (rule,) = found["altered"]
    assert (rule["rule"], rule["kind"]) == ("clarity.steps", "floors")
    assert rule["parts"] == [{"at": "bands[0].on_paper", "before": "VS2", "after": "VS1"}]


def test_a_row_put_in_between_moves_no_other_row() -> None:
    rules = HOUSE[0].rules
    guard = next(guard for guard in rules.guards if len(guard.rows) > 2)
    rows = [guard.rows[0], guard.rows[0].model_copy(update={"says": "Put in between."}), *guard.rows[1:]]

    found = differences(rules, altered(rules, guard.id, rows=rows))

    (part,) = found["altered"][0]["parts"]
    assert (part["at"], part["before"]) == ("rows[1]", None)
    assert part["after"]["says"] == "Put in between."


def test_a_row_taken_out_is_told_with_its_old_place() -> None:
    rules = HOUSE[0].rules
    guard = next(guard for guard in rules.guards if len(guard.rows) > 2)

    found = differences(rules, altered(rules, guard.id, rows=[guard.rows[0], *guard.rows[2:]]))

    (part,) = found["altered"][0]["parts"]
    assert (part["at"], part["after"]) == ("rows[1]", None)


def test_a_source_looked_up_again_is_told_outside_the_rules() -> None:
    rules = HOUSE[0].rules
    source = rules.sources[0].model_copy(update={"checked": DAY})

    found = differences(rules, rules.model_copy(update={"sources": [source, *rules.sources[1:]]}))

    assert same_rules(found)
    assert [part["at"] for part in found["around"]] == [f"sources.{source.id}.checked"]


def test_both_directions_tell_the_same_places() -> None:
    older, newer = HOUSE[0].rules, HOUSE[-1].rules
    there, back = differences(older, newer), differences(newer, older)
    assert {rule["rule"] for rule in there["added"]} == {rule["rule"] for rule in back["removed"]}
    assert {rule["rule"] for rule in there["altered"]} == {rule["rule"] for rule in back["altered"]}


# Impact


EDITS: Final = 8
STONES: Final = [{k: v for k, v in stone.items() if k != "price"} for stone in stock(100, seed=3)]


def count(old: CompiledRules, new: CompiledRules, stones: list[dict[str, Any]]) -> Impact:
    counted = ImpactCount(old, new, None, DAY)
    for place, stone in enumerate(stones):
        counted.add(place, Stone.model_validate(stone))
    return counted.result()


def edited(seed: int) -> RuleSet:
    """The house's last version with all grades of one floor, or both ends of one window, moved."""
    at = random.Random(seed)  # noqa: S311 - which rule is edited needs no secret
    rules = HOUSE[-1].rules
    shape = ("emerald", "radiant", "round", "oval")[seed % 4]
    if seed < EDITS // 2:
        tables = HOUSE[-1].compiled.shapes[shape].floors["center", "natural"]
        floor = content(rules)[tables.clarity.stamp.rule]
        grade = at.choice(("IF", "VVS2", "SI2"))
        bands = [band.model_copy(update={"on_paper": grade, "if_seen": grade}) for band in floor.bands]
        return altered(rules, floor.id, bands=bands)
    windows = HOUSE[-1].compiled.shapes[shape].windows["diamond"]
    window = next(window for window in windows if window.measure.name == "depth_pct")
    narrow = window.comfort.model_copy(update={"to": window.comfort.from_ + at.randrange(3)})
    return altered(rules, window.stamp.rule, comfort=narrow, tolerated=narrow)


@pytest.fixture(scope="module", params=range(EDITS))
def edit(request: pytest.FixtureRequest) -> tuple[RuleSet, CompiledRules]:
    rules = edited(request.param)
    return rules, compiled(HOUSE[-1], rules)


def test_impact_is_what_brute_force_finds(edit: tuple[RuleSet, CompiledRules]) -> None:
    old, new = HOUSE[-1].compiled, edit[1]
    moves: Counter[tuple[str, str]] = Counter()
    touched = 0
    for stone in STONES:
        before, after = judge(old, stone), judge(new, stone)
        if before["verdict"] != after["verdict"]:
            moves[before["verdict"], after["verdict"]] += 1
        else:
            was, now = verdicts(before), verdicts(after)
            touched += any(
                SEVERITY[was.get(rule, "silent")] != SEVERITY[now.get(rule, "silent")] for rule in was | now
            )

    found = count(old, new, STONES)

    assert found["stones"] == len(STONES)
    assert {(move["before"], move["after"]): move["count"] for move in found["moves"]} == moves
    assert (found["moved"], found["touched"]) == (moves.total(), touched)
    assert moves.total() + touched > 0, "an edit that nothing feels proves nothing"


def test_only_the_edited_rule_moves_verdicts(edit: tuple[RuleSet, CompiledRules]) -> None:
    (rule,) = (altered["rule"] for altered in differences(HOUSE[-1].rules, edit[0])["altered"])

    found = count(HOUSE[-1].compiled, edit[1], STONES)

    assert [moving["rule"] for moving in found["rules"]] in ([], [rule])
    assert sum(moving["count"] for moving in found["rules"]) == found["moved"]
    assert all(said["rule"] == rule for example in found["examples"] for said in example["rules"])


def test_examples_are_of_different_kinds_where_there_are_any() -> None:
    rules = HOUSE[-1].rules
    floors = {f.id: f for f in rules.floors if f.grade == "clarity"}
    for floor in floors.values():
        bands = [b.model_copy(update={"on_paper": "FL", "if_seen": "FL"}) for b in floor.bands]
        rules = altered(rules, floor.id, bands=bands)

    examples = count(HOUSE[-1].compiled, compiled(HOUSE[-1], rules), STONES)["examples"]

    assert len(examples) == 3
    kinds = {(e["before"], e["after"], tuple(rule["rule"] for rule in e["rules"])) for e in examples}
    assert len(kinds) == 3
    assert all(STONES[e["place"]]["id"] == e["stone_id"] for e in examples)
