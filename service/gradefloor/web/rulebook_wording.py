"""What rules of wording say, as blocks of the rule book; slots stand in angle marks."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from gradefloor.rules.listing_format import Caption, Glossary
from gradefloor.rules.wording_format import Filler, Naming, Phrasebook, Policy, Provision
from gradefloor.web.rulebook_blocks import Block, Grid, Line, Row, Verdicts, Words, lines, present
from gradefloor.web.rulebook_references import LANGUAGES, References
from gradefloor.web.rulebook_words import any_of, conditions, marked, slot_told, spaced

MARKETS: Final = {
    "US": "United States", "UK": "United Kingdom", "EU": "European Union", "FR": "France", "IN": "India",
    "CA": "Canada", "ISO": "International standard",
}  # fmt: skip
KNOWN_FROM: Final = {
    "text": "the text was read",
    "report": "an account of it was read",
    "memory": "from memory",
}


def phrasebook(rule: Phrasebook) -> Iterator[Block]:
    yield lines([("Language", (LANGUAGES[rule.language],))])
    yield _words("terms and their words", rule.terms)


def policy(refer: References, rule: Policy) -> Iterator[Block]:
    yield lines([
        ("Speaks of", (any_of(map(spaced, rule.speaks_of)),) if rule.speaks_of else ()),
        ("One of these has to be said", (
            (any_of(map(spaced, rule.requires)),) if rule.requires else ()
        )),
    ])  # fmt: skip
    yield Grid(
        "What it rests on",
        ("Market", "Place", "Source", "How it is known"),
        tuple(_provision(refer, rule, provision) for provision in rule.provisions),
    )
    rows = sorted(rule.rows, key=lambda row: -len(row.when))
    yield Verdicts(
        tuple(
            Row(
                tuple(conditions("policies", row.when, alone=len(rows) == 1)),
                row.verdict,
                row.verdict,
                present([
                    ("", () if row.verdict == "clear" and not row.says else (row.says or rule.because,)),
                    *_texts("Would do, in", row.instead or {}, joint=" "),
                ]),
            )
            for row in rows
        )
    )  # fmt: skip


def _provision(refer: References, rule: Policy, provision: Provision) -> tuple[str, ...]:
    markets = [MARKETS[market] for market in provision.markets or ()]
    source = refer.sources[provision.source or rule.source]
    since = f", from {provision.from_}" if provision.from_ else ""
    until = f", until {provision.until}" if provision.until else ""
    return (
        any_of(markets, "and") or "Every other market",
        provision.section,
        f"{source.title}; checked {source.checked}",
        f"{KNOWN_FROM[provision.known_from]}{since}{until}",
    )


def naming(rule: Naming) -> Iterator[Block]:
    yield lines([("Markets", (any_of((MARKETS[market] for market in rule.markets), "and"),))])
    yield _by_language("What it is called", "Stone", rule.names)


def filler(rule: Filler) -> Iterator[Block]:
    yield lines([
        ("Language", (LANGUAGES[rule.language],)),
        *((slot_told(slot), (text,)) for slot, text in rule.slots.items()),
    ])  # fmt: skip


def caption(rule: Caption) -> Iterator[Block]:
    rows = []
    for row in sorted(rule.rows, key=lambda row: -len(row.when)):
        said: list[Line] = []
        if row.label is not None:
            said += _texts(f"Label, {row.label.tone}", row.label.text)
        for name in ("opening", "short", "long", "caution"):
            said += _texts(name.capitalize(), getattr(row, name) or {})
        written = "written" if said else "nothing"
        rows.append(
            Row(
                tuple(conditions("captions", row.when, alone=len(rule.rows) == 1)),
                written,
                written,
                tuple(said),
            )
        )
    yield lines([("About", (spaced(rule.about),))])
    yield Verdicts(tuple(rows), "Text")


def glossary(rule: Glossary) -> Iterator[Block]:
    yield lines([("Language", (LANGUAGES[rule.language],))])
    for name in ("shapes", "looks", "treatments", "cuts", "styles", "questions"):
        words = {word: [text] for word, text in getattr(rule, name).items()}
        yield _words(f"{name}", words)


def _words(summary: str, terms: Mapping[str, Sequence[str]]) -> Words:
    count = len(terms)
    told = tuple((spaced(term), (marked(", ".join(phrases)),)) for term, phrases in terms.items())
    return Words(f"{count} {summary}", told)


def _texts(name: str, texts: Mapping[Any, str], joint: str = ", ") -> list[Line]:
    return [(f"{name}{joint}{LANGUAGES[language]}", (marked(text),)) for language, text in texts.items()]


def _by_language(caption: str, head: str, names: Mapping[Any, Mapping[Any, str]]) -> Grid:
    languages = list(dict.fromkeys(language for texts in names.values() for language in texts))
    return Grid(
        caption,
        (head, *(LANGUAGES[language] for language in languages)),
        tuple(
            (spaced(name).capitalize(), *(texts.get(language, "–") for language in languages))
            for name, texts in names.items()
        ),
    )
