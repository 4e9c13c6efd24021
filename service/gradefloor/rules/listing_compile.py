"""Captions and glossaries become frozen tables; a caption is proved to answer every combination."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final, get_args

from gradefloor.rules.checks import Checks
from gradefloor.rules.combinations import assign
from gradefloor.rules.listing_facts import LISTING_FACTS, Listed
from gradefloor.rules.listing_format import Caption, CaptionRow, Glossary
from gradefloor.rules.said import Stamp
from gradefloor.rules.terms import Fact
from gradefloor.trade.listings import Language

_LANGUAGES: Final[tuple[Language, ...]] = get_args(Language)


@dataclass(frozen=True, slots=True)
class CompiledCaption:
    """One caption: the row for every combination of what its facts read."""

    stamp: Stamp
    facts: tuple[Fact[Listed], ...]
    rows: Mapping[tuple[str, ...], CaptionRow]

    def row(self, case: Listed) -> CaptionRow:
        return self.rows[tuple(fact.read(case) for fact in self.facts)]


@dataclass(frozen=True, slots=True)
class Captions:
    """All that writes a listing, captions in the order of the file."""

    captions: tuple[CompiledCaption, ...]
    glossaries: Mapping[Language, Glossary]

    def __bool__(self) -> bool:
        """Whether this version writes anything."""
        return bool(self.captions)


class ListingCompiler:
    """Looks at every caption by itself; `tables` puts them together with the words they need."""

    def __init__(self, checks: Checks) -> None:
        self.checks = checks
        self.captions = tuple(self.caption(caption) for caption in checks.rules.captions)

    def caption(self, caption: Caption) -> CompiledCaption:
        names = list(dict.fromkeys(name for row in caption.rows for name in row.when))
        facts = tuple(LISTING_FACTS[name] for name in names)

        def refuse(*fault: Any) -> None:
            self.checks.refuse(caption.id, *fault)

        whens = [row.when for row in caption.rows]
        places = assign(whens, facts, [fact.domain for fact in facts], refuse)
        rows = {cell: caption.rows[place] for cell, place in (places or {}).items()}
        return CompiledCaption(self.checks.stamp(caption, "wording"), facts, rows)

    def tables(self) -> Captions:
        rules = self.checks.rules
        glossaries = {glossary.language: glossary for glossary in rules.glossaries}
        if rules.captions:
            self.check_words(glossaries)
            openings = [c for c in rules.captions if any(row.opening for row in c.rows)]
            if len(openings) != 1:
                fault = f"{len(openings)} captions with an opening"
                self.checks.faults.append(self.checks.where.own.fault(("captions",), fault, "one"))
        return Captions(self.captions, glossaries)

    def check_words(self, glossaries: Mapping[Language, Glossary]) -> None:
        """Words in every language, each once."""
        for index, glossary in enumerate(self.checks.rules.glossaries):
            if any(glossary.language == other.language for other in self.checks.rules.glossaries[:index]):
                self.checks.refuse(glossary.id, f"{glossary.language} again", "one glossary for a language")
        for language in _LANGUAGES:
            if language not in glossaries:
                found = f"a gap: no glossary in {language}"
                self.checks.faults.append(self.checks.where.own.fault(("glossaries",), found, "one"))
