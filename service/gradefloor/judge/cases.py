"""A version proved by its cases: every stone and ring in them is judged and held to what was expected."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any, Final, TypeVar

from pydantic import BaseModel, ValidationError

from gradefloor.judge.findings import Evaluation
from gradefloor.judge.lead_reading import read_lead
from gradefloor.judge.leads import weigh
from gradefloor.judge.rings import judge_ring
from gradefloor.judge.specimens import choose
from gradefloor.judge.stones import evaluate, worst_verdict
from gradefloor.judge.wording import audit
from gradefloor.rules.expectations import Boundary, Cases, Expectation, RingBoundary, RingExpectation
from gradefloor.rules.format import RuleSet
from gradefloor.rules.proof import Proof
from gradefloor.rules.strict_yaml import Document, Fault
from gradefloor.rules.tables import CompiledRules
from gradefloor.trade.assembly import Ring
from gradefloor.trade.leads import Lead
from gradefloor.trade.listings import WordingText
from gradefloor.trade.settings import RingParts
from gradefloor.trade.stones import Context, Stone, Wire
from gradefloor.trade.wishes import Wish

# Cases that do not name a day are judged on this one, so that they never age.
DAY: Final = date(2026, 1, 1)
# Kinds whose rules answer a case by themselves; the others write, read or rank.
SPEAKING_KINDS: Final = (
    "floors", "windows", "looks", "guards", "pairings", "companions", "side_windows", "clashes", "tags",
    "policies",
)  # fmt: skip

_CASE: Final = re.compile(r"(cases|rings|leads|texts)\[([0-9]+)\]")

M = TypeVar("M", bound=BaseModel)
Path = tuple[str | int, ...]
Verdicts = Mapping[str, str]


class _Asked(Wire):
    """A request about a stone."""

    stone: Stone
    context: Context


def prove(rules: CompiledRules, proof: Proof) -> list[Fault]:
    """Every case that does not come out as written."""
    cases, document = proof.cases, proof.document
    faults = (
        *_stones(rules, cases, document),
        *_rings(rules, cases, document),
        *_boundaries(rules, cases, document),
        *_leads(rules, cases, document),
        *_texts(rules, cases, document),
    )
    return [_with_its_case(fault, cases) for fault in faults]


def _with_its_case(fault: Fault, cases: Cases) -> Fault:
    """The same fault, with the case in its keeper's words where it has any."""
    match = _CASE.match(fault.where)
    if match is None:
        return fault
    case = getattr(cases, match[1])[int(match[2])].case
    return replace(fault, found=f'{fault.found}, in the case "{case}"')


def proofs(rules: RuleSet, cases: Cases) -> Iterator[tuple[str, str]]:
    """Every rule that a case names, with that case in words."""
    tags = {tag.tag: tag.id for tag in rules.tags}
    told: list[Expectation | RingExpectation] = [*cases.cases, *cases.rings]
    for case in told:
        for rule, verdict in case.expect.items():
            yield rule, f"{case.case}: {verdict}"
    boundaries: list[Boundary | RingBoundary] = [*cases.boundaries, *cases.ring_boundaries]
    for boundary in boundaries:
        steps = (f"{'nothing' if value is None else value} {verdict}" for value, verdict in boundary.steps)
        yield boundary.rule, f"{boundary.vary} {_in_short(boundary)}: {', '.join(steps)}"
    for lead in cases.leads:
        for conflict in lead.conflicts or ():
            yield conflict, f"{lead.case}: conflict"
        for tag in lead.tags or ():
            if tag in tags:
                yield tags[tag], f"{lead.case}: tag {tag}"
    for text in cases.texts:
        for rule, match in text.matches.items():
            yield rule, f"{text.case}: {match}"


def _stones(rules: CompiledRules, cases: Cases, document: Document) -> Iterator[Fault]:
    for index, case in enumerate(cases.cases):
        at: Path = ("cases", index)
        answer = _judge_stone(rules, {"stone": case.stone, "context": case.context}, case.as_of or DAY)
        if isinstance(answer, str):
            yield document.fault((*at, "stone"), answer, "a stone as the wire takes it")
            continue
        yield from _held(
            rules, document, at, (case.verdict, case.expect), answer["verdict"], _by_rule(answer)
        )
        if case.look is not None and answer["measures"].get("look") != case.look:
            yield document.fault((*at, "look"), f"look {answer['measures'].get('look')}", case.look)


def _rings(rules: CompiledRules, cases: Cases, document: Document) -> Iterator[Fault]:
    for index, case in enumerate(cases.rings):
        at: Path = ("rings", index)
        answer = _judge_ring(rules, case.ring, case.as_of or DAY)
        if isinstance(answer, str):
            yield document.fault((*at, "ring"), answer, "a ring as the wire takes it")
            continue
        verdict, verdicts = answer
        yield from _held(rules, document, at, (case.verdict, case.expect), verdict, verdicts)


def _held(  # noqa: PLR0913, PLR0917 - what was expected, what came, and where it stands
    rules: CompiledRules,
    document: Document,
    at: Path,
    expected: tuple[str | None, Verdicts],
    verdict: str,
    verdicts: Verdicts,
) -> Iterator[Fault]:
    """Verdicts held to what a case expects of them."""
    whole, of_rules = expected
    if whole is not None and verdict != whole:
        yield document.fault((*at, "verdict"), f"verdict {verdict}", whole)
    for rule, wanted in of_rules.items():
        if rule not in rules.rules:
            yield document.fault((*at, "expect", rule), rule, "a rule of this version")
            continue
        got = verdicts.get(rule, "silent")
        if got != wanted:
            yield document.fault((*at, "expect", rule), f"verdict {got}", wanted)


def _boundaries(rules: CompiledRules, cases: Cases, document: Document) -> Iterator[Fault]:
    kinds: dict[str, Sequence[Boundary | RingBoundary]] = {
        "boundaries": cases.boundaries,
        "ring_boundaries": cases.ring_boundaries,
    }
    for kind, boundaries in kinds.items():
        for index, boundary in enumerate(boundaries):
            if boundary.rule not in rules.rules:
                yield document.fault((kind, index, "rule"), boundary.rule, "a rule of this version")
                continue
            for step, (value, expected) in enumerate(boundary.steps):
                at = (kind, index, "steps", step)
                got = _at_step(rules, boundary, value)
                if isinstance(got, str):
                    yield document.fault(at, got, "a stone or a ring as the wire takes it")
                elif expected not in got:
                    said = f"{' or '.join(got)} by {boundary.rule} at {value} {_in_short(boundary)}"
                    yield document.fault(at, said, str(expected))


def _in_short(boundary: Boundary | RingBoundary) -> str:
    """What is varied: the stone in short, with what it is meant for."""
    if isinstance(boundary, RingBoundary):
        stone, around = boundary.ring.get("center", {}), boundary.ring.get("setting", {})
    else:
        stone, around = boundary.stone, boundary.context
    carat = stone.get("carat")
    weight = None if carat is None or boundary.vary.endswith("carat") else f"{carat} ct"
    words = [stone.get("shape"), weight, stone.get("origin"), around.get("metal"), around.get("position")]
    return f"of {' '.join(str(word) for word in words if word)}"


def _at_step(rules: CompiledRules, boundary: Boundary | RingBoundary, value: Any) -> tuple[str, ...] | str:
    """Verdict of the rule with the varied member at a value, and the look if it is a rule about looks."""
    path = boundary.vary.split(".")
    if isinstance(boundary, RingBoundary):
        ring = _judge_ring(rules, _with(boundary.ring, path, value), DAY)
        return ring if isinstance(ring, str) else (ring[1].get(boundary.rule, "silent"),)
    request = {"stone": boundary.stone, "context": boundary.context}
    answer = _judge_stone(rules, _with(request, path, value), DAY)
    if isinstance(answer, str):
        return answer
    verdict, look = _by_rule(answer).get(boundary.rule, "silent"), answer["measures"].get("look")
    looks = any(f["rule"] == boundary.rule and f["topic"] == "ratio" for f in answer["findings"])
    return (verdict, look) if looks and look is not None else (verdict,)


def _leads(rules: CompiledRules, cases: Cases, document: Document) -> Iterator[Fault]:
    for index, case in enumerate(cases.leads):
        at: Path = ("leads", index)
        day = case.as_of or DAY
        lead = _read(Lead, case.lead)
        if isinstance(lead, str):
            yield document.fault((*at, "lead"), lead, "a lead as the wire takes it")
            continue
        lead, reading = read_lead(rules, lead, day)
        weighed = weigh(rules, lead, day)
        shapes = [candidate.shape for candidate in choose(rules, lead.wish or Wish())]
        came: Mapping[str, Any] = {
            "first": shapes[0] if shapes else None,
            "tags": sorted(tag["tag"] for tag in weighed.tags),
            "conflicts": sorted(conflict["conflict"] for conflict in weighed.conflicts),
            "reads": {read.field: read.value for read in reading.reads},
        }
        for part, found in came.items():
            wanted = _plain(getattr(case, part))
            if wanted is not None and found != (sorted(wanted) if part in {"tags", "conflicts"} else wanted):
                yield document.fault((*at, part), f"{part} {found}", str(wanted))


def _texts(rules: CompiledRules, cases: Cases, document: Document) -> Iterator[Fault]:
    for index, case in enumerate(cases.texts):
        at: Path = ("texts", index)
        said = _read(WordingText, case.said)
        if isinstance(said, str):
            yield document.fault((*at, "said"), said, "a text as the wire takes it")
            continue
        result = audit(rules, said, case.as_of or DAY)
        matches: dict[str, str] = {}
        for match in result["matches"]:
            matches.setdefault(match["rule"], match["verdict"])
        if result["verdict"] != case.verdict:
            yield document.fault((*at, "verdict"), f"verdict {result['verdict']}", case.verdict)
        if matches != case.matches:
            yield document.fault((*at, "matches"), f"matches {matches}", str(case.matches))


def _by_rule(answer: Evaluation) -> Verdicts:
    return {finding["rule"]: finding["verdict"] for finding in answer["findings"]}


def _with(value: Any, path: list[str], new: Any) -> Any:
    """The request with one member set, or taken out if it is null; lists by their index."""
    head, *rest = path
    if isinstance(value, list):
        return [_with(part, rest, new) if str(i) == head else part for i, part in enumerate(value)]
    inner = _with(value.get(head, {}), rest, new) if rest else new
    return {**value, head: inner}


def _judge_stone(rules: CompiledRules, request: dict[str, Any], day: date) -> Evaluation | str:
    asked = _read(_Asked, request)
    return asked if isinstance(asked, str) else evaluate(rules, asked.stone, asked.context, day)


def _judge_ring(rules: CompiledRules, request: dict[str, Any], day: date) -> tuple[str, Verdicts] | str:
    parts = _read(RingParts, request)
    if isinstance(parts, str):
        return parts
    said = judge_ring(rules, Ring.of(parts), day)
    return worst_verdict(said), {one.finding["rule"]: one.verdict for one in said}


def _read(model: type[M], request: dict[str, Any]) -> M | str:
    """The request as a model, or what is wrong with it."""
    try:
        return model.model_validate(_plain(request))
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        return f"{'.'.join(map(str, first['loc']))}: {first['msg']}"


def _plain(value: Any) -> Any:
    """Rule files hold decimals where the wire holds JSON numbers."""
    if isinstance(value, dict):
        return {key: _plain(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_plain(inner) for inner in value]
    return float(value) if isinstance(value, Decimal) else value
