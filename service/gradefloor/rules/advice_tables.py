"""The frozen tables that the rules of advice become."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from gradefloor.rules.advice_format import Assortment, Character, Clash, Merit, Perception, Tag, Urgency
from gradefloor.rules.entries import Range
from gradefloor.rules.findings import Stamp
from gradefloor.rules.lead_facts import LeadCase
from gradefloor.rules.lexicons import CompiledLexicon


@dataclass(frozen=True, slots=True)
class CompiledSign:
    """When a clash or a tag holds, and where a wish states what it reads."""

    facts: tuple[tuple[Callable[[LeadCase], str], frozenset[str]], ...]
    ranges: tuple[tuple[Callable[[LeadCase], Decimal | None], Range], ...]
    abouts: tuple[str, ...]

    def holds(self, case: LeadCase) -> bool:
        if any(read(case) not in values for read, values in self.facts):
            return False
        numbers = [(read(case), range_) for read, range_ in self.ranges]
        return all(number is not None and number in range_ for number, range_ in numbers)


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
