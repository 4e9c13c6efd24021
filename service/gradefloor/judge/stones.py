"""One stone judged by one version of the rules: pure, and the same bytes for the same request."""

import hashlib
from collections.abc import Callable, Sequence
from datetime import date
from operator import attrgetter
from typing import Any, Final

import orjson
from pydantic import BaseModel

from gradefloor import __version__
from gradefloor.judge import floors
from gradefloor.judge.findings import NOTICE, Evaluation, Measures, Question
from gradefloor.judge.measures import take_measures
from gradefloor.judge.windows import in_window, look_of
from gradefloor.rules.facts import Case
from gradefloor.rules.findings import SEVERITY, Said
from gradefloor.rules.tables import CompiledRules, Guards, ShapeRules
from gradefloor.trade.stones import Context, Stone

_NO_CONTEXT: Final = Context()

# Findings in the order of an answer.
place_of: Final = attrgetter("place")


class Judged:
    """One stone, judged: as a value that may be changed, or as the bytes of the same answer.

    Both are put together from the same parts. The bytes take those of findings that were written before, so
    they cost a fraction of a new value.
    """

    __slots__ = ("_around", "_rules", "said", "verdict")

    def __init__(self, rules: CompiledRules, stone: Stone, context: Context | None, as_of: date) -> None:
        case = Case(stone, context or _NO_CONTEXT, as_of, rules.issuers)
        tables = rules.shapes[stone.shape]
        self.said = say_all(tables, case)
        self.verdict = worst_verdict(self.said)
        self._rules = rules
        self._around = {
            "ruleset": {
                "name": rules.name,
                "version": rules.version,
                "effective": rules.effective,
                "digest": rules.digest,
            },
            "as_of": as_of.isoformat(),
            "service_version": __version__,
            "evaluation_id": evaluation_id(rules.digest, stone, context, as_of),
            "stone_id": stone.id,
            "verdict": self.verdict,
            # In its place here, so that it stands there in both forms.
            "findings": None,
            "questions": questions(rules, self.said),
            "measures": _measures(case, tables),
            "notice": NOTICE,
        }

    @property
    def evaluation(self) -> Evaluation:
        # Copies, because most findings are shared by all answers.
        return {**self._around, "findings": [said.finding.copy() for said in self.said]}  # type: ignore[typeddict-item]

    @property
    def written(self) -> bytes:
        """The evaluation as JSON."""
        findings = b",".join([said.written for said in self.said])
        return orjson.dumps({**self._around, "findings": orjson.Fragment(b"[%b]" % findings)})


def evaluate(rules: CompiledRules, stone: Stone, context: Context | None, as_of: date) -> Evaluation:
    """Every rule that applies to this stone, the worst verdict among them, and what to ask next."""
    return Judged(rules, stone, context, as_of).evaluation


def evaluation_id(digest: str, stone: Stone, context: Context | None, as_of: date) -> str:
    """sha256 over the RFC 8785 form of what was asked and of whom; absent and null members are left out."""
    asked = {"as_of": as_of, "digest": digest, "stone": _stated(stone)}
    if context is not None:
        asked["context"] = _stated(context)
    return hashlib.sha256(orjson.dumps(asked, option=orjson.OPT_SORT_KEYS)).hexdigest()


def _stated(model: BaseModel) -> dict[str, Any]:
    """What a model holds that is not null, whole numbers without a point.

    In the range our models admit, orjson writes all other numbers as RFC 8785 does.
    """
    stated: dict[str, Any] = {}
    for name, value in model.__dict__.items():
        if value is None:
            continue
        kind = type(value)
        if kind is float:
            stated[name] = int(value) if value.is_integer() else value
        elif kind is str or kind is list:
            stated[name] = value
        else:
            stated[name] = _stated(value) if isinstance(value, BaseModel) else value
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
        said.append(look_of(tables.look, case))
    said.sort(key=place_of)
    return said


def say_guards(guards: Guards, case: Case) -> list[Said]:
    """What guards say of one stone."""
    values = tuple([read(case) for read in guards.reads])
    said = [one for pick, cells in guards.rows if (one := cells[pick(values)]) is not None]
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
    if tables.look is not None and case.figures.ratio is not None:
        measures["look"] = tables.look.band(case.figures.ratio).look
    return measures
