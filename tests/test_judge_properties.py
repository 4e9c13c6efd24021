"""What holds of every answer, whatever the stone. The stones are invented.

Invariants:
1. a better grade never worsens the verdict of its rule, nor that of the whole answer (clarity, color);
2. length and width swapped change nothing but the evaluation id, unless the length is an axis;
3. a range passes only if both ends pass, and fails only if both fail;
4. a missing value is never a pass where a rule needs it;
5. every remedy that is given as data, applied, makes the finding of its rule better;
6. every ask has a question that names its rule, and every question settles asks only;
7. the verdict is that of the worst finding, and notes never change it;
8. findings stand worst first;
9. a stone that is no diamond never meets a diamond floor.
"""

from itertools import product
from typing import get_args

import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from gradefloor.rules.tables import CompiledRules
from gradefloor.trade.grades import CLARITY, COLOR, FINISH, Scale
from gradefloor.trade.shapes import SHAPES
from gradefloor.trade.stones import Material
from samples import Wire, about, committed, contexts, judge, put, stones, verdicts

HOUSE = committed("house")
SEVERITY = {None: 0, "pass": 0, "note": 0, "ask": 1, "fail": 2}
SCALES = {"clarity": CLARITY, "color": COLOR}


def floor_rules(rules: CompiledRules, stone: Wire, context: Wire | None = None) -> dict[str, set[str]]:
    """Ids of the floors that may speak of this stone, by grade."""
    place = (context or {}).get("position", "center"), stone.get("origin", "natural")
    found = rules.shapes[stone["shape"]].floors[place]
    colors = {floor.stamp.rule for floor in found.color.values()}
    return {"clarity": {found.clarity.stamp.rule}, "color": colors}


def floor_verdict(rules: CompiledRules, kind: str, stone: Wire, context: Wire) -> str:
    ids = floor_rules(rules, stone, context)[kind]
    (verdict,) = (v for rule, v in verdicts(judge(rules, stone, context)).items() if rule in ids)
    return verdict


@st.composite
def better_grades(draw: st.DrawFn, scale: Scale) -> tuple[str, str]:
    """Two ranges, the second no worse at either end."""
    ranks = st.integers(0, len(scale.grades) - 1)
    best, worst = sorted((draw(ranks), draw(ranks)))
    to_best = draw(st.integers(0, best))
    to_worst = draw(st.integers(to_best, worst))
    return tuple(  # type: ignore[return-value]
        scale.grades[a] if a == b else f"{scale.grades[a]}-{scale.grades[b]}"
        for a, b in ((best, worst), (to_best, to_worst))
    )


@pytest.mark.parametrize("kind", ["clarity", "color"])
@given(data=st.data(), context=contexts)
def test_a_better_grade_never_worsens_a_verdict(kind: str, data: st.DataObject, context: Wire) -> None:
    """Invariant 1."""
    stone = data.draw(stones(material=st.just("diamond")))
    worse, better = data.draw(better_grades(SCALES[kind]))
    before, after = ({**stone, kind: grade} for grade in (worse, better))
    assert (
        SEVERITY[floor_verdict(HOUSE, kind, after, context)]
        <= SEVERITY[floor_verdict(HOUSE, kind, before, context)]
    )
    whole = [SEVERITY[judge(HOUSE, s, context)["verdict"]] for s in (before, after)]
    assert whole[1] <= whole[0]


@given(stones("round"), st.sampled_from(FINISH.grades), st.sampled_from(FINISH.grades))
def test_a_better_cut_never_worsens_its_finding(stone: Wire, one: str, other: str) -> None:
    """Invariant 1."""
    better, worse = sorted((one, other), key=FINISH.rank)
    found = [
        verdicts(judge(HOUSE, {**stone, "cut_grade": grade})).get("cut.round") for grade in (better, worse)
    ]
    assert SEVERITY[found[0]] <= SEVERITY[found[1]]


TURNED = tuple(name for name, shape in SHAPES.items() if not shape.length_is_axis)
MILLIMETRES = st.integers(200, 1500).map(lambda n: n / 100)


@given(stones(*TURNED, length_mm=MILLIMETRES, width_mm=MILLIMETRES), contexts)
def test_length_and_width_swapped_change_nothing_but_the_id(stone: Wire, context: Wire) -> None:
    """Invariant 2."""
    turned = {**stone, "length_mm": stone["width_mm"], "width_mm": stone["length_mm"]}
    one, other = ({**judge(HOUSE, s, context), "evaluation_id": ""} for s in (stone, turned))
    assert one == other


@given(stones(*TURNED, length_mm=MILLIMETRES, width_mm=MILLIMETRES))
def test_length_and_width_swapped_are_two_requests(stone: Wire) -> None:
    """Invariant 2."""
    assume(stone["length_mm"] != stone["width_mm"])
    turned = {**stone, "length_mm": stone["width_mm"], "width_mm": stone["length_mm"]}
    ids = {judge(HOUSE, s)["evaluation_id"] for s in (stone, turned)}
    assert len(ids) == 2


@pytest.mark.parametrize("kind", ["clarity", "color"])
@given(data=st.data(), context=contexts)
def test_a_range_is_what_both_its_ends_are(kind: str, data: st.DataObject, context: Wire) -> None:
    """Invariant 3."""
    stone = data.draw(stones(material=st.just("diamond")))
    grades = st.sampled_from(SCALES[kind].grades)
    ends = data.draw(st.tuples(grades, grades).filter(lambda two: two[0] != two[1]))
    one, other = (floor_verdict(HOUSE, kind, {**stone, kind: end}, context) for end in ends)
    both = floor_verdict(HOUSE, kind, {**stone, kind: "-".join(ends)}, context)
    assert both == (one if one == other else "ask")


NEEDED = [
    *((shape, "stone.carat", kind) for shape, kind in product(("round", "emerald", "radiant"), SCALES)),
    *((shape, f"stone.{kind}", kind) for shape, kind in product(("round", "emerald", "heart"), SCALES)),
    *product(("oval", "pear", "marquise", "heart", "radiant"), ["stone.observations.bow_tie"], ["bow_tie"]),
    *product(("round", "oval", "princess", "emerald", "marquise"), ["stone.girdle_min"], ["girdle"]),
    ("round", "stone.cut_grade", "cut.round"),
]


@pytest.mark.parametrize(("shape", "missing", "rule"), NEEDED)
@settings(max_examples=40)
@given(data=st.data())
def test_a_missing_value_is_never_a_pass(shape: str, missing: str, rule: str, data: st.DataObject) -> None:
    """Invariant 4."""
    whole = {"length_mm": st.just(8.0), "width_mm": st.just(6.0), "material": st.just("diamond"),
             "origin": st.just("natural"), "carat": st.just(1.5), "color": st.just("D"),
             "clarity": st.just("IF")}  # fmt: skip
    stone, context = data.draw(stones(shape, **whole)), data.draw(contexts)
    around = {"stone": stone, "context": {**context, "position": "center", "protection": "v_claws"}}
    asked = put(around, missing, None)
    answer = judge(HOUSE, asked["stone"], asked["context"])
    found = [f["verdict"] for f in answer["findings"] if _is_about(HOUSE, stone, f["rule"], rule)]
    assert found == ["ask"]
    assert answer["verdict"] != "pass"
    assert missing in {question["about"] for question in answer["questions"]}


def _is_about(rules: CompiledRules, stone: Wire, rule: str, word: str) -> bool:
    return rule in floor_rules(rules, stone)[word] if word in SCALES else word in rule


@settings(max_examples=400)
@given(stones(), contexts | st.none())
@example({"shape": "round", "report": {"comments": ["HPHT annealed."]}}, None)
def test_a_remedy_applied_makes_its_finding_better(stone: Wire, context: Wire | None) -> None:
    """Invariant 5."""
    request = {"stone": stone, "context": context or {}}
    for finding in judge(HOUSE, stone, context)["findings"]:
        if finding["verdict"] in {"ask", "fail"}:
            assert finding["remedy"]
        if finding["change"]:
            changed = request
            for change in finding["change"]:
                changed = put(changed, change["field"], change["value"])
            after = verdicts(judge(HOUSE, changed["stone"], changed.get("context"))).get(finding["rule"])
            assert SEVERITY[after] < SEVERITY[finding["verdict"]], finding


@given(stones(), contexts)
def test_questions_and_asks_belong_to_each_other(stone: Wire, context: Wire) -> None:
    """Invariant 6."""
    answer = judge(HOUSE, stone, context)
    asks = {finding["rule"] for finding in answer["findings"] if finding["verdict"] == "ask"}
    assert {rule for question in answer["questions"] for rule in question["settles"]} == asks
    abouts = [question["about"] for question in answer["questions"]]
    assert len(abouts) == len(set(abouts))
    counts = [len(question["settles"]) for question in answer["questions"]]
    assert counts == sorted(counts, reverse=True)


@given(stones(), contexts)
def test_the_verdict_is_that_of_the_worst_finding(stone: Wire, context: Wire) -> None:
    """Invariant 7."""
    answer = judge(HOUSE, stone, context)
    worst = max((SEVERITY[finding["verdict"]] for finding in answer["findings"]), default=0)
    assert answer["verdict"] == ("pass", "ask", "fail")[worst]


@given(stones(), contexts)
def test_findings_stand_worst_first(stone: Wire, context: Wire) -> None:
    """Invariant 8."""
    order = [
        ("fail", "ask", "note", "pass").index(v) for v in verdicts(judge(HOUSE, stone, context)).values()
    ]
    assert order == sorted(order)


@given(stones(), contexts)
def test_each_rule_speaks_once(stone: Wire, context: Wire) -> None:
    """Invariant 8."""
    rules = [finding["rule"] for finding in judge(HOUSE, stone, context)["findings"]]
    assert len(rules) == len(set(rules))


@given(stones(material=st.sampled_from(get_args(Material)[1:])), contexts)
def test_what_is_no_diamond_never_meets_a_diamond_floor(stone: Wire, context: Wire) -> None:
    """Invariant 9."""
    answer = judge(HOUSE, stone, context)
    floors = set().union(*floor_rules(HOUSE, stone, context).values())
    assert not floors & set(verdicts(answer))
    assert "no diamond floor" in about(answer, "material.kind")["reason"]
