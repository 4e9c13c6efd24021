"""The rules of wording become frozen tables; a policy is proved to answer every combination of its facts."""

from typing import Final, get_args

from gradefloor.rules.checks import Checks
from gradefloor.rules.combinations import assign
from gradefloor.rules.lexicons import MAX_WORDS, tokens
from gradefloor.rules.mentions import COUNTED, STRUCTURE, Phrases, fold
from gradefloor.rules.wording_facts import WORDING_FACTS
from gradefloor.rules.wording_format import Phrasebook, Policy, PolicyRow
from gradefloor.rules.wording_tables import CompiledPolicy, CompiledProvision, Wording
from gradefloor.trade.listings import Language, Market

MARKETS: Final[tuple[Market, ...]] = get_args(Market)
_LANGUAGES: Final[tuple[Language, ...]] = get_args(Language)


class WordingCompiler:
    """Looks at every rule of wording by itself; `tables` puts them together."""

    def __init__(self, checks: Checks) -> None:
        self.checks = checks
        self.terms = set(COUNTED)
        self.phrases: dict[str, dict[tuple[str, ...], str]] = {language: {} for language in _LANGUAGES}
        for book in checks.rules.phrasebooks:
            self.read(book)
        self.policies = [self.policy(policy) for policy in checks.rules.policies]

    def read(self, book: Phrasebook) -> None:
        table = self.phrases[book.language]
        for term, phrases in book.terms.items():
            self.terms.add(term)
            for index, phrase in enumerate(phrases):
                words = tuple(fold(token.text) for token in tokens(phrase))
                at = ("terms", term, index)
                if not words or len(words) > MAX_WORDS:
                    allowed = f"a phrase of one to {MAX_WORDS} words"
                    self.checks.refuse(book.id, repr(phrase), allowed, *at)
                elif words in table:
                    found = f"{phrase!r}, which means {table[words]}"
                    self.checks.refuse(book.id, found, "one meaning for a phrase", *at)
                else:
                    table[words] = term

    def policy(self, policy: Policy) -> CompiledPolicy:
        for index, term in enumerate(policy.requires or ()):
            self.known(policy.id, term, "requires", index)
        for index, term in enumerate(policy.speaks_of or ()):
            self.known(policy.id, term, "speaks_of", index)
        names = list(dict.fromkeys(name for row in policy.rows for name in row.when))
        facts = tuple(WORDING_FACTS[name] for name in names)
        places = assign(
            [row.when for row in policy.rows],
            facts,
            [fact.domain for fact in facts],
            lambda *fault: self.checks.refuse(policy.id, *fault),
        )
        rows: dict[tuple[str, ...], PolicyRow] = {
            cell: policy.rows[place] for cell, place in (places or {}).items()
        }
        return CompiledPolicy(
            stamp=self.checks.stamp(policy, "wording"),
            requires=frozenset(policy.requires or ()),
            facts=facts,
            rows=rows,
            provisions=self.provisions(policy),
        )

    def known(self, rule: str, term: str, *at: str | int) -> None:
        if term not in self.terms:
            self.checks.refuse(
                rule, repr(term), f"a term of a phrasebook, or one of {', '.join(COUNTED)}", *at
            )

    def provisions(self, policy: Policy) -> dict[str, CompiledProvision]:
        named = {market for provision in policy.provisions for market in provision.markets or ()}
        found: dict[str, CompiledProvision] = {}
        for index, provision in enumerate(policy.provisions):
            source = provision.source or policy.source
            if source not in self.checks.sources:
                at = ("provisions", index, "source")
                self.checks.refuse(policy.id, f"source {source!r}", self.checks.any_source(), *at)
            compiled = CompiledProvision(
                provision.section,
                self.checks.sources.get(source, source),
                provision.known_from,
                provision.from_,
                provision.until,
            )
            for market in provision.markets or [market for market in MARKETS if market not in named]:
                found[market] = compiled
        return found

    def tables(self) -> Wording:
        rules = self.checks.rules
        if rules.policies:
            self.check_whole()
        of_terms: dict[str, list[CompiledPolicy]] = {}
        for policy, compiled in zip(rules.policies, self.policies, strict=True):
            for term in policy.speaks_of or ():
                of_terms.setdefault(term, []).append(compiled)
        return Wording(
            phrases={language: _phrases(table) for language, table in self.phrases.items()},
            of_terms={term: tuple(found) for term, found in of_terms.items()},
            required=tuple(compiled for compiled in self.policies if compiled.requires),
            names={
                market: dict(naming.names.items()) for naming in rules.namings for market in naming.markets
            },
            fillers={filler.language: dict(filler.slots.items()) for filler in rules.fillers},
        )

    def check_whole(self) -> None:
        """Names in every market, fillers and words in every language, each once."""
        rules = self.checks.rules
        for market in MARKETS:
            namings = [naming for naming in rules.namings if market in naming.markets]
            if len(namings) > 1:
                self.checks.refuse(namings[1].id, f"{market} again", "one naming for a market", "markets")
            if not namings:
                self.missing("namings", f"a gap: no names in {market}")
        for language in _LANGUAGES:
            fillers = [filler for filler in rules.fillers if filler.language == language]
            if len(fillers) > 1:
                self.checks.refuse(
                    fillers[1].id, f"{language} again", "one filler for a language", "language"
                )
            if not fillers:
                self.missing("fillers", f"a gap: none in {language}")
            said = set(self.phrases[language].values())
            for term in STRUCTURE:
                if term not in said:
                    self.missing("phrasebooks", f"a gap: no words for {term} in {language}")

    def missing(self, kind: str, found: str) -> None:
        self.checks.faults.append(self.checks.where.own.fault((kind,), found, "one"))


def _phrases(table: dict[tuple[str, ...], str]) -> Phrases:
    longest: dict[str, int] = {}
    for words in table:
        longest[words[0]] = max(longest.get(words[0], 0), len(words))
    return Phrases(table, longest)
