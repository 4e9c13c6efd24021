"""The frozen tables that the rules of wording become."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from gradefloor.rules.mentions import Phrases
from gradefloor.rules.said import Stamp
from gradefloor.rules.terms import Fact
from gradefloor.rules.wording_facts import Spoken
from gradefloor.rules.wording_format import PolicyRow
from gradefloor.trade.listings import Language, Market


@dataclass(frozen=True, slots=True)
class CompiledProvision:
    """What a policy rests on in one market."""

    section: str
    source: str
    known_from: str
    from_: date | None
    until: date | None

    def applies(self, day: date) -> bool:
        return (self.from_ is None or self.from_ <= day) and (self.until is None or day <= self.until)


@dataclass(frozen=True, slots=True)
class CompiledPolicy:
    """One policy; `requires` is empty where it speaks of a term."""

    stamp: Stamp
    requires: frozenset[str]
    facts: tuple[Fact[Spoken], ...]
    rows: Mapping[tuple[str, ...], PolicyRow]
    provisions: Mapping[str, CompiledProvision]

    def row(self, case: Spoken) -> PolicyRow:
        return self.rows[tuple(fact.read(case) for fact in self.facts)]


@dataclass(frozen=True, slots=True)
class Wording:
    """All rules of wording: phrases by language, policies by the term they speak of, names by market."""

    phrases: Mapping[str, Phrases]
    of_terms: Mapping[str, tuple[CompiledPolicy, ...]]
    required: tuple[CompiledPolicy, ...]
    names: Mapping[Market, Mapping[str, Mapping[Language, str]]]
    fillers: Mapping[Language, Mapping[str, str]]

    def __bool__(self) -> bool:
        """Whether this version holds any copy to anything."""
        return bool(self.of_terms or self.required)

    def name(self, market: Market, language: Language, origin: str) -> str:
        """What the stone is called in a market: a diamond by its origin, anything else by its material."""
        return self.names[market][origin][language]
