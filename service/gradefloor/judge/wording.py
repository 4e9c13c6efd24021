"""Selling copy held to the guidance of its market: what was found, where, why, and what would do instead.

Speaks of the copy only as far as it can be read: a match may ask a person, and where the provision itself was
read it may say to change the text or have it cleared. Never legal advice.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Annotated, Final, NamedTuple

from pydantic import Field
from typing_extensions import TypedDict

from gradefloor.rules.mentions import Part, cut
from gradefloor.rules.tables import CompiledRules
from gradefloor.rules.wording_facts import Spoken
from gradefloor.rules.wording_format import PolicyRow
from gradefloor.rules.wording_tables import CompiledPolicy, CompiledProvision
from gradefloor.trade.listings import Language, Market, WordingText
from gradefloor.trade.stones import Material, Origin
from gradefloor.trade.weight_claims import write

WORDING_NOTICE: Final = (
    "Not legal advice. This reads words, not pictures or lay-out, and only those it knows; guidance changes. "
    "Whoever is licensed to advise on it where you sell decides."
)
# A text that repeats one word a hundred times is told so no more than this often.
MAX_MATCHES: Final = 50
_COLOR: Final[dict[Language, str]] = {"en": "color", "fr": "couleur"}
_SEVERITY: Final = {"clear": 0, "ask": 1, "change": 2}


class Provided(TypedDict):
    """The provision that a match touches."""

    market: Annotated[str, Field(description="Whose guidance it is.", examples=["US"])]
    section: Annotated[str, Field(description="Section, article or clause.", examples=["16 CFR 23.13(a)"])]
    known_from: Annotated[
        str,
        Field(
            description="text: the provision itself was read; report: an account of it; memory. "
            "Only text may say change."
        ),
    ]


class WordingMatch(TypedDict):
    """One thing found in a text, or missing from it."""

    rule: Annotated[str, Field(description="Id of the policy in its rule set.", examples=["flawless"])]
    verdict: Annotated[str, Field(description="ask: a person who may say so; change: or have it cleared.")]
    part: Annotated[
        str | None, Field(description="title or text; null where something is missing from both.")
    ]
    span: Annotated[
        list[int] | None,
        Field(description="First code point and the one behind the last, from 0; null where it is missing."),
    ]
    found: Annotated[str | None, Field(description="The words at that place.")]
    provision: Provided
    source: Annotated[str, Field(description="Where the provision stands, and when that was last checked.")]
    why: Annotated[str, Field(description="What is wrong with it, or what has to be known first.")]
    instead: Annotated[str, Field(description="A wording that would do, in the language of the text.")]


class WordingResult(TypedDict):
    """One text, audited."""

    text_id: Annotated[str | None, Field(description="Your reference, repeated.")]
    verdict: Annotated[
        str,
        Field(
            description="clear: nothing found; ask: ask a person; change: change it or have it cleared.",
            examples=["change"],
        ),
    ]
    matches: Annotated[
        list[WordingMatch],
        Field(description=f"What was found, worst first, then in order; at most {MAX_MATCHES}."),
    ]
    more: Annotated[int, Field(description="How many more there are.")]


class _Found(NamedTuple):
    """A policy that has something to say, and of what."""

    verdict: str
    policy: CompiledPolicy
    provision: CompiledProvision
    row: PolicyRow
    case: Spoken


def audit(rules: CompiledRules, said: WordingText, day: date) -> WordingResult:
    """One text held to every policy of its market that applies on that day."""
    found = list(_found(rules, said, _parts(rules, said), day))
    found.sort(key=lambda match: -_SEVERITY[match.verdict])
    verdict = found[0].verdict if found else "clear"
    matches = [_match(rules, match) for match in found[:MAX_MATCHES]]
    more = max(0, len(found) - MAX_MATCHES)
    return {"text_id": said.id, "verdict": verdict, "matches": matches, "more": more}


def _parts(rules: CompiledRules, said: WordingText) -> list[Part]:
    phrases = rules.wording.phrases[said.spoken]
    texts = {"title": said.title, "text": said.text}
    return [cut(name, text, said.spoken, phrases) for name, text in texts.items() if text is not None]


def _found(rules: CompiledRules, said: WordingText, parts: Sequence[Part], day: date) -> Iterator[_Found]:
    wording, named = rules.wording, False
    mentioned: set[str] = set()
    for part in parts:
        for mention in part.mentions:
            if mention.negated:
                continue
            mentioned.add(mention.term)
            case = Spoken(said, parts, rules.issuers, mention, named)
            for policy in wording.of_terms.get(mention.term, ()):
                yield from _answer(policy, case, day)
            if mention.term == "diamond":
                named = named or case.names_openly
    for policy in wording.required:
        if not policy.requires & mentioned:
            yield from _answer(policy, Spoken(said, parts, rules.issuers), day)


def _answer(policy: CompiledPolicy, case: Spoken, day: date) -> Iterator[_Found]:
    provision = policy.provisions.get(case.said.market)
    if provision is None or not provision.applies(day):
        return
    row = policy.row(case)
    if row.verdict != "clear":
        # What nobody here has read is asked about at most.
        verdict = row.verdict if provision.known_from == "text" else "ask"
        yield _Found(verdict, policy, provision, row, case)


def _match(rules: CompiledRules, match: _Found) -> WordingMatch:
    verdict, policy, provision, row, case = match
    mention, part = case.mention, case.part
    return {
        "rule": policy.stamp.rule,
        "verdict": verdict,
        "part": mention.part if mention else None,
        "span": [mention.start, mention.end] if mention else None,
        "found": part.text[mention.start : mention.end] if part and mention else None,
        "provision": {
            "market": case.said.market,
            "section": provision.section,
            "known_from": provision.known_from,
        },
        "source": provision.source,
        "why": row.says or policy.stamp.because,
        "instead": _instead(rules, row, case.said),
    }


def _instead(rules: CompiledRules, row: PolicyRow, said: WordingText) -> str:
    """The row's wording with what is known of the stone in it, in the language of the text if it has one."""
    texts = row.instead or {}
    language = said.spoken if said.spoken in texts else next(iter(texts))
    fillers: Mapping[str, str] = rules.wording.fillers[language]
    stated = {
        "carat": said.carat and write(said.carat, "," if language == "fr" else "."),
        "clarity": said.clarity,
        "color": said.color and f"{_COLOR[language]} {said.color}",
        "fineness": said.fineness_ppt and str(said.fineness_ppt),
    }
    text = texts[language]
    for slot, words in stated.items():
        text = text.replace(f"{{{slot}}}", words or fillers[slot])
    return text.replace("{name}", stone_name(rules, said.market, language, said.origin, said.material))


def stone_name(
    rules: CompiledRules, market: Market, language: Language, origin: Origin | None, material: Material | None
) -> str:
    """What a stone is called in a market."""
    key = (origin or "not_stated") if material in {None, "diamond"} else material
    return rules.wording.name(market, language, key or "not_stated")
