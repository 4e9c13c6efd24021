"""The committed rule sets: every version is proved by its cases, and the cases leave nothing unproved."""

from collections import defaultdict
from collections.abc import Iterator
from decimal import Decimal
from typing import Any, NamedTuple

import pytest

from gradefloor.judge.cases import DAY, prove
from gradefloor.judge.findings import Evaluation
from gradefloor.judge.lead_reading import read_lead
from gradefloor.judge.leads import weigh
from gradefloor.judge.rings import judge_ring
from gradefloor.judge.specimens import choose
from gradefloor.rules.catalog import Catalog, Release
from gradefloor.rules.entries import Rule
from gradefloor.rules.expectations import Boundary
from gradefloor.rules.facts import Case
from gradefloor.rules.findings import Finding
from gradefloor.rules.format import ADVICE_KINDS, RULE_KINDS, WORDING_KINDS, Floor
from gradefloor.rules.measures import MEASURES
from gradefloor.rules.ring_format import Style
from gradefloor.trade.assembly import Ring
from gradefloor.trade.grades import CLARITY, COLOR
from gradefloor.trade.leads import Lead
from gradefloor.trade.settings import RingParts
from gradefloor.trade.stones import Context, Stone
from gradefloor.trade.weights import laboratory_points
from gradefloor.trade.wishes import Wish
from samples import RULESETS, Tree, Wire, judge, put, verdicts

VERSIONS = sorted((path.parent.parent.name, path.parent.name) for path in RULESETS.glob("*/*/ruleset.yaml"))


@pytest.fixture(scope="session", params=VERSIONS, ids="@".join)
def version(request: pytest.FixtureRequest, catalog: Catalog) -> Release:
    name, number = request.param
    return next(release for release in catalog.releases[name] if release.version == number)


def own_rules(version: Release) -> Iterator[Rule]:
    """Rules that were written in this version, not brought along by what it extends."""
    for kind in RULE_KINDS:
        for rule in getattr(version.rules, kind):
            if version.where.of_rule[rule.id][0] is version.where.own:
                yield rule


def plain(value: Any) -> Any:
    """Rule files hold decimals where the wire holds JSON numbers."""
    if isinstance(value, dict):
        return {key: plain(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [plain(inner) for inner in value]
    return float(value) if isinstance(value, Decimal) else value


def requests_of(boundary: Boundary) -> Iterator[Wire]:
    around = {"stone": plain(boundary.stone), "context": plain(boundary.context)}
    return (put(around, boundary.vary, plain(value)) for value, _ in boundary.steps)


def answers(version: Release) -> Iterator[Evaluation]:
    """Every stone in the cases of this version, judged."""
    for case in version.proof.cases.cases:
        yield judge(version.compiled, plain(case.stone), plain(case.context), case.as_of or DAY)
    for boundary in version.proof.cases.boundaries:
        for request in requests_of(boundary):
            yield judge(version.compiled, request["stone"], request["context"])


def ring_findings(version: Release) -> Iterator[Finding]:
    """Everything that is said of the rings in the cases of this version."""
    cases = version.proof.cases
    rings = [case.ring for case in cases.rings]
    rings += [_with(b.ring, b.vary.split("."), value) for b in cases.ring_boundaries for value, _ in b.steps]
    for ring in rings:
        said = judge_ring(version.compiled, Ring.of(RingParts.model_validate(plain(ring))), DAY)
        yield from (one.finding for one in said)


def _with(value: Any, path: list[str], new: Any) -> Any:
    head, *rest = path
    if isinstance(value, list):
        return [_with(part, rest, new) if str(i) == head else part for i, part in enumerate(value)]
    return {**value, head: _with(value.get(head, {}), rest, new) if rest else new}


@pytest.fixture(scope="session")
def said(version: Release) -> dict[str, set[str]]:
    """What each rule says anywhere in the cases."""
    found: dict[str, set[str]] = defaultdict(set)
    for answer in answers(version):
        for rule, verdict in verdicts(answer).items():
            found[rule].add(verdict)
    for finding in ring_findings(version):
        found[finding["rule"]].add(finding["verdict"])
    return found


# The proof of a version


def test_it_compiles(version: Release) -> None:
    assert version.faults == []


def test_it_is_released(version: Release) -> None:
    assert not version.draft


def test_its_cases_hold(version: Release) -> None:
    assert prove(version.compiled, version.proof) == []


class Wrong(NamedTuple):
    """A place in the cases, changed; and what is said of it."""

    what: str
    text: str
    old: str
    new: str
    found: str
    allowed: str


WRONG = [
    Wrong("a finding", "expect: {clarity.steps: ask, color.steps.white: pass, table",
         "steps: ask", "steps: fail", "verdict ask", "fail"),
    Wrong("a look", "    look: broad\n", "broad", "usual", "look broad", "usual"),
    Wrong("a boundary", "[53.9, note], [54, pass], [59, pass]", "[54, pass]", "[54, note]",
         "pass by table.round at 54 of round", "note"),
    Wrong("a rule that does not exist", "expect: {durability.open_feather: note}", "feather: note",
          "fether: silent", "durability.open_fether", ""),
    Wrong("a stone", "stone: {shape: heart, length_mm: 6.40", "heart", "hart",
          "shape: ", "a stone as the wire takes it"),
]  # fmt: skip


@pytest.mark.parametrize("wrong", WRONG, ids=lambda wrong: wrong.what)
def test_a_wrong_case_is_found_with_its_line(tree: Tree, wrong: Wrong) -> None:
    line = tree.edit(wrong.text, wrong.text.replace(wrong.old, wrong.new), file="cases.yaml")
    (release,) = (r for r in tree.load() if (r.name, r.version) == ("house", "1.0.0"))
    faults = prove(release.compiled, release.proof)
    assert faults
    fault = faults[0]
    assert (fault.file, fault.line) == (str(tree.file(file="cases.yaml")), line)
    assert wrong.found in fault.found
    assert wrong.allowed in fault.allowed


# What the cases leave unproved


def test_every_rule_speaks_in_some_case(version: Release, said: dict[str, set[str]]) -> None:
    # A style says nothing by itself: it is a setting to judge. Advice is not a finding.
    silent = {rule.id for kind in (*ADVICE_KINDS, *WORDING_KINDS) for rule in getattr(version.rules, kind)}
    judging = [rule for rule in own_rules(version) if rule.id not in silent and not isinstance(rule, Style)]
    assert [rule.id for rule in judging if rule.id not in said] == []


def test_every_character_clash_and_tag_speaks_in_some_case_of_a_wish(version: Release) -> None:
    told: set[str] = set()
    for case in version.proof.cases.leads:
        lead, _ = read_lead(version.compiled, Lead.model_validate(plain(case.lead)), case.as_of or DAY)
        weighed = weigh(version.compiled, lead, case.as_of or DAY)
        told |= {tag["rule"] for tag in weighed.tags}
        told |= {conflict["conflict"] for conflict in weighed.conflicts}
        told |= {candidate.stamp.rule for candidate in choose(version.compiled, lead.wish or Wish())[:1]}
    rules = (*version.rules.characters, *version.rules.clashes, *version.rules.tags)
    here = [rule.id for rule in rules if version.where.of_rule[rule.id][0] is version.where.own]
    assert [rule for rule in here if rule not in told] == []


def test_every_policy_speaks_in_some_case_of_a_text(version: Release) -> None:
    told = {rule for case in version.proof.cases.texts for rule in case.matches}
    assert [policy.id for policy in version.rules.policies if policy.id not in told] == []


def test_every_verdict_of_a_pairing_is_given_in_some_case(
    version: Release, said: dict[str, set[str]]
) -> None:
    own = {rule.id for rule in own_rules(version)}
    missing = set()
    for center in version.compiled.rings.centers.values():
        for pairing in center.pairings["diamond"]:
            possible = {settled.verdict for settled in pairing.cells.values() if settled is not None}
            missing |= {(pairing.stamp.rule, verdict) for verdict in possible - said[pairing.stamp.rule]}
    assert sorted(pair for pair in missing if pair[0] in own) == []


def test_every_verdict_of_a_guard_is_given_in_some_case(version: Release, said: dict[str, set[str]]) -> None:
    own = {rule.id for rule in own_rules(version)}
    missing = set()
    for shape in version.compiled.shapes.values():
        for guards in shape.guards.values():
            for guard in guards.every:
                findings = [cell.finding for cell in guard.cells.values() if cell is not None]
                possible = {(finding["rule"], finding["verdict"]) for finding in findings}
                missing |= {(rule, verdict) for rule, verdict in possible if verdict not in said[rule]}
    assert sorted(pair for pair in missing if pair[0] in own) == []


def _graded(version: Release, floor: Floor) -> Iterator[tuple[int, set[str]]]:
    """Weight in points, and the grades that the boundaries of a floor try at it."""
    for boundary in version.proof.cases.boundaries:
        if boundary.rule == floor.id and boundary.vary == f"stone.{floor.grade}":
            points = laboratory_points(plain(boundary.stone.get("carat", 1)))
            yield points, {value for value, _ in boundary.steps}


def test_every_grade_of_a_floor_is_tried_and_the_next_worse(version: Release) -> None:
    missing = []
    for floor in (rule for rule in own_rules(version) if isinstance(rule, Floor)):
        grades = (CLARITY if floor.grade == "clarity" else COLOR).grades
        for band in floor.bands:
            tried = [
                steps
                for points, steps in _graded(version, floor)
                if (band.carat.from_ or 0) * 100 <= points
                and (band.carat.below is None or points < band.carat.below * 100)
            ]
            for limit in filter(None, (band.on_paper, band.if_seen)):
                both = {limit, grades[grades.index(limit) + 1]}
                if not any(both <= steps for steps in tried):
                    missing.append((floor.id, band.carat.write(), limit))
    assert missing == []


def test_every_carat_limit_of_a_floor_is_tried_on_both_sides(version: Release) -> None:
    missing = []
    for floor in (rule for rule in own_rules(version) if isinstance(rule, Floor)):
        tried = {points for points, _ in _graded(version, floor)}
        edges = {int(band.carat.from_ * 100) for band in floor.bands if band.carat.from_ is not None}
        missing += [(floor.id, edge) for edge in edges if not {edge - 1, edge, edge + 1} <= tried]
    assert missing == []


def _measured(version: Release, rule: str, measure: str) -> set[Decimal]:
    """What the boundaries of a rule come out as on its measure."""
    requests = [r for b in version.proof.cases.boundaries if b.rule == rule for r in requests_of(b)]
    cases = (
        Case(Stone.model_validate(r["stone"]), Context.model_validate(r["context"]), DAY, {})
        for r in requests
    )
    values = {MEASURES[measure].read(case) for case in cases}
    return {value for value in values if value is not None}


# No limits, as nothing lies beyond them: no ratio of a round is under 1, no table over 100 %.
ENDS = {("ratio", Decimal(1)), ("table_pct", Decimal(100))}


def test_every_limit_of_a_window_is_tried_on_it_and_just_outside(version: Release) -> None:
    own = {rule.id for rule in own_rules(version)}
    missing = []
    for window in (window for window in version.rules.windows if window.id in own):
        tried = _measured(version, window.id, window.measure)
        step = Decimal("0.1" if window.measure.endswith("pct") else "0.01")
        for part in (window.comfort, window.tolerated):
            for edge, outside in ((part.from_, part.from_ - step), (part.to, part.to + step)):
                if (window.measure, edge) not in ENDS:
                    missing += [(window.id, value) for value in {edge, outside} - tried]
    assert missing == []


def test_every_limit_of_a_look_is_tried_on_it_and_just_under(version: Release) -> None:
    own = {rule.id for rule in own_rules(version)}
    missing = []
    for look in (look for look in version.rules.looks if look.id in own):
        tried = _measured(version, look.id, "ratio")
        for edge in (band.from_ for band in look.bands if band.from_ is not None):
            missing += [(look.id, value) for value in {edge, edge - Decimal("0.01")} - tried]
    assert missing == []


# What every rule carries


def test_every_rule_says_why_and_where_it_comes_from(version: Release) -> None:
    sources = {source.id for source in version.rules.sources}
    for rule in own_rules(version):
        assert rule.title
        assert rule.because
        assert rule.source in sources
        assert rule.disagreement in {"low", "medium", "high"}


def test_every_source_is_named_by_a_rule_or_a_laboratory(version: Release) -> None:
    rules = [rule for kind in RULE_KINDS for rule in getattr(version.rules, kind)]
    provisions = [provision for policy in version.rules.policies for provision in policy.provisions]
    used = {part.source for part in (*rules, *version.rules.issuers, *provisions)}
    assert {source.id for source in version.rules.sources} - used == set()


def test_every_override_says_what_it_changes(catalog: Catalog) -> None:
    strict = [rule for release in catalog.releases["strict"] for rule in own_rules(release)]
    assert all(rule.instead_because for rule in strict)
