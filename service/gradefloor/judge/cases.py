"""A version proved by its cases: every stone in them is judged and held to what was expected of it."""

from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from typing import Any, Final

from pydantic import ValidationError

from gradefloor.judge.findings import Evaluation
from gradefloor.judge.stones import evaluate
from gradefloor.rules.expectations import Cases
from gradefloor.rules.strict_yaml import Document, Fault
from gradefloor.rules.tables import CompiledRules
from gradefloor.trade.stones import Context, Stone

# Cases that do not name a day are judged on this one, so that they never age.
DAY: Final = date(2026, 1, 1)


def prove(rules: CompiledRules, cases: Cases, document: Document) -> list[Fault]:
    """Every case that does not come out as written."""
    return [*_stories(rules, cases, document), *_boundaries(rules, cases, document)]


def _stories(rules: CompiledRules, cases: Cases, document: Document) -> Iterator[Fault]:
    for index, case in enumerate(cases.cases):
        at: tuple[str | int, ...] = ("cases", index)
        answer = _judge(rules, case.stone, case.context, case.as_of or DAY)
        if isinstance(answer, str):
            yield document.fault((*at, "stone"), answer, "a stone as the wire takes it")
            continue
        verdicts = {finding["rule"]: finding["verdict"] for finding in answer["findings"]}
        if case.verdict is not None and answer["verdict"] != case.verdict:
            yield document.fault((*at, "verdict"), f"verdict {answer['verdict']}", case.verdict)
        for rule, expected in case.expect.items():
            if rule not in rules.rules:
                yield document.fault((*at, "expect", rule), rule, "a rule of this version")
                continue
            got = verdicts.get(rule, "silent")
            if got != expected:
                yield document.fault((*at, "expect", rule), f"verdict {got}", expected)
        if case.look is not None and answer["measures"].get("look") != case.look:
            yield document.fault((*at, "look"), f"look {answer['measures'].get('look')}", case.look)


def _boundaries(rules: CompiledRules, cases: Cases, document: Document) -> Iterator[Fault]:
    for index, boundary in enumerate(cases.boundaries):
        if boundary.rule not in rules.rules:
            yield document.fault(("boundaries", index, "rule"), boundary.rule, "a rule of this version")
            continue
        for step, (value, expected) in enumerate(boundary.steps):
            at = ("boundaries", index, "steps", step)
            request: dict[str, Any] = {"stone": boundary.stone, "context": boundary.context}
            answer = _judge_request(rules, _with(request, boundary.vary.split("."), value))
            if isinstance(answer, str):
                yield document.fault(at, answer, "a stone as the wire takes it")
                continue
            got = _said(answer, boundary.rule)
            if expected not in got:
                yield document.fault(at, f"{' or '.join(got)} at {value}", str(expected))


def _said(answer: Evaluation, rule: str) -> tuple[str, ...]:
    """Verdict of one rule, and the look if it is a rule about looks."""
    for finding in answer["findings"]:
        if finding["rule"] == rule:
            look = answer["measures"].get("look") if finding["topic"] == "ratio" else None
            return (finding["verdict"],) if look is None else (finding["verdict"], look)
    return ("silent",)


def _with(request: dict[str, Any], path: list[str], value: Any) -> dict[str, Any]:
    head, *rest = path
    return {**request, head: _with(request.get(head, {}), rest, value) if rest else value}


def _judge_request(rules: CompiledRules, request: dict[str, Any]) -> Evaluation | str:
    return _judge(rules, request["stone"], request["context"], DAY)


def _judge(
    rules: CompiledRules, stone: dict[str, Any], context: dict[str, Any], day: date
) -> Evaluation | str:
    try:
        judged = Stone.model_validate(_plain(stone)), Context.model_validate(_plain(context))
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        return f"{'.'.join(map(str, first['loc']))}: {first['msg']}"
    return evaluate(rules, *judged, day)


def _plain(value: Any) -> Any:
    """Rule files hold decimals where the wire holds JSON numbers."""
    if isinstance(value, dict):
        return {key: _plain(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_plain(inner) for inner in value]
    return float(value) if isinstance(value, Decimal) else value
