"""One request judged twice, and where the two answers differ."""

import re
from fractions import Fraction
from typing import Final

from gradefloor.judge.findings import Evaluation
from gradefloor.judge.stones import evaluate
from gradefloor.rules.findings import Finding
from gradefloor.rules.tables import CompiledRules
from gradefloor.trade.stones import Context, Stone
from naive_judge import KINDS, Heard, Judged, Plain, judge_naively, write
from naive_stones import Request

_NUMBER: Final = re.compile(r"-?[0-9]+(?:\.[0-9]+)?")
_ON_PAPER: Final = re.compile(r"(\S+) on paper")


def evaluated(compiled: CompiledRules, request: Request) -> Evaluation:
    context = None if request.context is None else Context.model_validate(request.context)
    return evaluate(compiled, Stone.model_validate(request.stone), context, request.as_of)


def _number(text: str) -> str:
    return write(Fraction(text))


def kinds_of_rules(rules: Plain) -> dict[str, str]:
    """Id of each rule that judges a stone, and its kind."""
    return {rule["id"]: kind for kind in KINDS for rule in rules.get(kind, [])}


def heard(finding: Finding, kind: str) -> Heard:
    """A finding of the real judge, its words taken apart."""
    observed, threshold = finding["observed"] or "", finding["threshold"] or ""
    shown = observed.split(" ")[0].removesuffix(",")
    if kind == "guards":
        return Heard(finding["rule"], finding["verdict"])
    if kind == "floors":
        return Heard(finding["rule"], finding["verdict"], shown, tuple(_ON_PAPER.findall(threshold)))
    shown = _number(shown) if shown else ""
    if kind == "windows":
        limits = tuple(_number(number) for number in _NUMBER.findall(threshold))
        return Heard(finding["rule"], finding["verdict"], shown, limits)
    look = threshold.partition(":")[0].replace(" ", "_")
    return Heard(finding["rule"], finding["verdict"], shown, (look,) if look else ())


def told(evaluation: Evaluation, kinds: dict[str, str]) -> Judged:
    """An answer of the real judge in the form of the naive one's."""
    findings = (heard(finding, kinds[finding["rule"]]) for finding in evaluation["findings"])
    return Judged(evaluation["verdict"], tuple(sorted(findings)), evaluation["measures"].get("look"))


def both(compiled: CompiledRules, rules: Plain, request: Request) -> tuple[Judged, Judged]:
    """What the real judge says of a request, and what the naive one does."""
    real = told(evaluated(compiled, request), kinds_of_rules(rules))
    return real, judge_naively(rules, request.stone, request.context, request.as_of)


def differences(real: Judged, naive: Judged) -> dict[str, tuple[object, object]]:
    """What the two say differently: by rule, and under `verdict` and `look`."""
    if real == naive:
        return {}
    found: dict[str, tuple[object, object]] = {}
    for rule in sorted({one.rule for one in (*real.heard, *naive.heard)}):
        # A rule that speaks twice for one judge and once for the other differs, too.
        here, there = ([one for one in judged.heard if one.rule == rule] for judged in (real, naive))
        if here != there:
            found[rule] = here, there
    if real.verdict != naive.verdict:
        found["verdict"] = real.verdict, naive.verdict
    if real.look != naive.look:
        found["look"] = real.look, naive.look
    return found
