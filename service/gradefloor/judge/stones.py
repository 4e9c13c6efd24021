"""One stone judged by one version of the rules: pure, and the same bytes for the same request."""

import hashlib
from collections.abc import Callable, Sequence
from datetime import date
from itertools import repeat
from operator import attrgetter, call, getitem
from typing import Any, Final

import orjson

from gradefloor import __version__
from gradefloor.judge import floors
from gradefloor.judge.findings import NOTICE, Evaluation, Measures, Question
from gradefloor.judge.measures import take_measures
from gradefloor.judge.windows import in_window, look_of
from gradefloor.rules.facts import Case
from gradefloor.rules.said import SEVERITY, Said
from gradefloor.rules.tables import CompiledRules, Guards, ShapeRules
from gradefloor.trade.stones import Context, Stone, Wire

_NO_CONTEXT: Final = Context()

# Findings in the order of an answer.
place_of: Final = attrgetter("place")
_written: Final = attrgetter("written")
# Values that stand in an id as they are; the others of a request are fractions, and parts of it.
_WRITTEN_AS_IT_IS: Final = frozenset({str, bool, int, date, list})
_NO_FINDINGS: Final = b'"findings":[]'


class Judged:
    """One stone, judged: as a value that may be changed, or as the bytes of the same answer.

    Both are put together from the same parts, when they are asked for. The bytes take those of findings that
    were written before, so they cost a fraction of a new value.
    """

    __slots__ = ("_case", "_context", "_rules", "said", "verdict")

    def __init__(self, rules: CompiledRules, stone: Stone, context: Context | None, as_of: date) -> None:
        self._rules = rules
        self._context = context
        self._case = Case(stone, context or _NO_CONTEXT, as_of, rules.issuers)
        self.said = say_all(rules.shapes[stone.shape], self._case)
        self.verdict = worst_verdict(self.said)

    @property
    def questions(self) -> list[Question]:
        """What to learn next."""
        return questions(self._rules, self.said)

    @property
    def evaluation(self) -> Evaluation:
        # Copies, because most findings are shared by all answers.
        findings = [said.finding.copy() for said in self.said]
        return self._with(findings)  # type: ignore[return-value] # the members are those of the contract

    @property
    def written(self) -> bytes:
        """The evaluation as JSON."""
        # Quotation marks inside of values are escaped, so this is the member and nothing that somebody sent.
        before, _, after = orjson.dumps(self._with([])).partition(_NO_FINDINGS)
        return b'%b"findings":[%b]%b' % (before, b",".join(map(_written, self.said)), after)

    def _with(self, findings: object) -> dict[str, object]:
        rules, case = self._rules, self._case
        return {
            "ruleset": {
                "name": rules.name,
                "version": rules.version,
                "effective": rules.effective,
                "digest": rules.digest,
            },
            "as_of": case.as_of.isoformat(),
            "service_version": __version__,
            "evaluation_id": evaluation_id(rules.digest, case.stone, self._context, case.as_of),
            "stone_id": case.stone.id,
            "verdict": self.verdict,
            "findings": findings,
            "questions": self.questions,
            "measures": _measures(case, rules.shapes[case.stone.shape]),
            "notice": NOTICE,
        }


def evaluate(rules: CompiledRules, stone: Stone, context: Context | None, as_of: date) -> Evaluation:
    """Every rule that applies to this stone, the worst verdict among them, and what to ask next."""
    return Judged(rules, stone, context, as_of).evaluation


def evaluation_id(digest: str, stone: Stone, context: Context | None, as_of: date) -> str:
    """sha256 over the RFC 8785 form of what was asked and of whom; absent and null members are left out."""
    asked = {"as_of": as_of, "digest": digest, "stone": _stated(stone)}
    if context is not None:
        asked["context"] = _stated(context)
    return hashlib.sha256(orjson.dumps(asked, option=orjson.OPT_SORT_KEYS)).hexdigest()


def _stated(model: Wire) -> dict[str, Any]:
    """What a request states, whole numbers without a point.

    In the range our models admit, orjson writes all other numbers as RFC 8785 does.
    """
    stated: dict[str, Any] = {}
    for name, value in vars(model).items():
        kind = type(value)
        if kind is float:
            stated[name] = int(value) if value.is_integer() else value
        elif kind in _WRITTEN_AS_IT_IS:
            stated[name] = value
        elif value is not None:
            stated[name] = _stated(value)
    return stated


def say_all(tables: ShapeRules, case: Case) -> list[Said]:
    """Every finding, worst first."""
    material = case.stone.material or "diamond"
    said = say_guards(tables.guards[material, case.position], case)
    if material == "diamond":
        floor = tables.floors[case.position, case.stone.origin or "natural"]
        said += [
            floors.clarity(floor.clarity, case),
            floors.color(floor.color["white"], floor.color["warm"], case),
        ]
    said += [one for window in tables.windows[material] if (one := in_window(window, case)) is not None]
    if tables.look is not None:
        said.append(look_of(tables.look, case.stone.shape, case.figures.ratio)[0])
    said.sort(key=place_of)
    return said


def say_guards(guards: Guards, case: Case) -> list[Said]:
    """What guards say of one stone."""
    # Maps and no loops: this is done for every guard of every stone, and was a quarter of judging.
    values = tuple(map(call, guards.reads, repeat(case)))
    found = map(getitem, guards.cells, map(call, guards.picks, repeat(values)))
    said = [*filter(None, found)]
    ratio = case.figures.ratio
    for pick, guard in guards.conditional:
        if guard.ratio is not None and (ratio is None or ratio not in guard.ratio):
            continue
        one = guard.cells[pick(values)]
        if one is not None:
            quoted = [word for quote in guard.quotes if (word := quote(case))]
            said.append(one.observing(f"{one.finding['observed']} ({', '.join(quoted)})") if quoted else one)
    return said


# What stands around the findings


def worst_verdict(said: Sequence[Said]) -> str:
    """pass, ask or fail: of findings in their order, the first is the worst."""
    worst = said[0].verdict if said else "pass"
    return "pass" if SEVERITY[worst] == 0 else worst


def _same(about: str) -> str:
    return about


def questions(
    rules: CompiledRules, said: Sequence[Said], member: Callable[[str], str] = _same
) -> list[Question]:
    """Each thing to learn once, the one that settles most rules first; `member` names it in the request."""
    settles: dict[str, list[str]] = {}
    for one in said:
        for about in one.asks:
            settles.setdefault(about, []).append(one.finding["rule"])
    ranked = sorted(settles.items(), key=lambda item: -len(item[1]))
    return [{"about": member(about), "ask": rules.questions[about], "settles": ids} for about, ids in ranked]


def _measures(case: Case, tables: ShapeRules) -> Measures:
    measures = take_measures(case.figures)
    if tables.look is not None:
        _, look = look_of(tables.look, case.stone.shape, case.figures.ratio)
        if look is not None:
            measures["look"] = look
    return measures
