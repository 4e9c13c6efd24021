"""The frozen tables that the rules of advice become."""

from collections.abc import Mapping
from dataclasses import dataclass

from gradefloor.rules.advice_format import Assortment, Character, Clash, Merit, Perception, Tag, Urgency
from gradefloor.rules.entries import Range
from gradefloor.rules.lead_facts import LeadCase, LeadMeasure
from gradefloor.rules.lexicons import CompiledLexicon
from gradefloor.rules.said import Stamp
from gradefloor.rules.terms import NOT_STATED, Fact


@dataclass(frozen=True, slots=True)
class CompiledSign:
    """When a clash or a tag holds, and where a wish states what it reads."""

    facts: tuple[tuple[Fact[LeadCase], frozenset[str]], ...]
    ranges: tuple[tuple[LeadMeasure, Range], ...]

    def holds(self, case: LeadCase) -> bool:
        if any(fact.read(case) not in values for fact, values in self.facts):
            return False
        numbers = [(measure.read(case), range_) for measure, range_ in self.ranges]
        return all(number is not None and number in range_ for number, range_ in numbers)

    def triggers(self, case: LeadCase) -> list[str]:
        """Where the lead states what it hangs on, and what of the wish has to be missing for it."""
        facts = [
            fact.about
            for place, (fact, values) in enumerate(self.facts)
            if place == 0
            or fact.read(case) != NOT_STATED
            or (values == {NOT_STATED} and fact.about.startswith("wish."))
        ]
        return list(dict.fromkeys([*facts, *(measure.about for measure, _ in self.ranges)]))


@dataclass(frozen=True, slots=True)
class Advice:
    """All rules of advice; characters and perceptions by shape, assortments by material and shape."""

    characters: Mapping[str, tuple[Stamp, Character]]
    perceptions: Mapping[str, tuple[Stamp, Perception]]
    assortments: Mapping[tuple[str, str], tuple[Stamp, Assortment]]
    clashes: tuple[tuple[Stamp, Clash, CompiledSign], ...]
    tags: tuple[tuple[Stamp, Tag, CompiledSign], ...]
    merits: Mapping[str, tuple[Stamp, Merit]]
    urgency: tuple[Stamp, Urgency] | None
    lexicons: Mapping[str, CompiledLexicon]

    def __bool__(self) -> bool:
        """Whether this version has anything to advise."""
        return bool(self.characters)
