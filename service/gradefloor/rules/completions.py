"""What the schemas for editors say beyond the types: closed lists for every key, and what hangs on what.

Each entry changes one generated definition, or one member of it, in place; what the models accept, and the
contract of the wire, stay as they are.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import Any, Final, get_args

from gradefloor.rules.fact_words import (
    FACT_WORDS,
    LEAD_FACT_WORDS,
    LEAD_MEASURE_WORDS,
    LISTING_FACT_WORDS,
    RING_FACT_WORDS,
    RING_MEASURE_WORDS,
    WORDING_FACT_WORDS,
)
from gradefloor.rules.facts import FACTS
from gradefloor.rules.format import RULE_KINDS, SCALES, WORDING_KINDS
from gradefloor.rules.lead_facts import LEAD_FACTS
from gradefloor.rules.lexicon_format import LEXICON_FIELDS
from gradefloor.rules.listing_facts import LISTING_FACTS
from gradefloor.rules.listing_format import SLOTS as LISTING_SLOTS
from gradefloor.rules.mentions import COUNTED, STRUCTURE
from gradefloor.rules.ring_facts import RING_FACTS
from gradefloor.rules.terms import Fact
from gradefloor.rules.wording_facts import WORDING_FACTS
from gradefloor.rules.wording_format import SLOTS as WORDING_SLOTS
from gradefloor.trade.shapes import SHAPES
from gradefloor.trade.stones import Material, Origin, Treatment

Schema = dict[str, Any]
Change = Callable[[Schema], None]

_LANGUAGES: Final = {"en": "English", "fr": "French"}
_TASTES: Final = {
    "broad_flashes": "For somebody who likes few and broad flashes of light.",
    "lively_sparkle": "For somebody who likes many small sparks.",
    "calm": "For somebody who likes it calm.",
    "showy": "For somebody who likes to show it.",
    "long": "For somebody who likes a long outline.",
    "broad": "For somebody who likes a broad outline.",
    "soft": "For somebody who likes soft lines.",
    "crisp": "For somebody who likes crisp lines.",
    "antique": "For somebody who likes it antique.",
}
_PARTS_OF_URGENCY: Final = {
    "deadline": "Weight of how near the day is on which it is needed.",
    "completeness": "Weight of how much of the wish is known.",
    "value": "Weight of the budget.",
    "severity": "Weight of the gravest tag.",
}
_VERDICTS: Final = ["pass", "note", "ask", "fail", "silent"]


def _members(
    words: Mapping[str, str],
    *,
    values: Mapping[str, Sequence[str]] | None = None,
    required: Iterable[str] = (),
    others: bool = False,
) -> Change:
    """Every key of a mapping as a property of its own, with its description.

    `values` are the words that each may list. With `others`, keys that are not named are held to the type.
    """

    def change(schema: Schema) -> None:
        typed: list[Schema] = list(schema.get("patternProperties", {}).values())
        value = typed[0] if typed else schema["additionalProperties"]
        properties = {}
        for name, description in words.items():
            properties[name] = {**value, "description": description}
            if values is not None:
                properties[name]["items"] = {"type": "string", "enum": list(values[name])}
        schema["properties"] = properties
        if needed := list(required):
            schema["required"] = needed
        if not others:
            schema["additionalProperties"] = False
            schema.pop("patternProperties", None)
            schema.pop("propertyNames", None)

    return change


def _facts(known: Mapping[str, Fact[Any]], words: Mapping[str, str]) -> Change:
    """Facts and, for each, the closed list of its values."""
    domains = {name: fact.domain for name, fact in known.items()}
    return _members({name: words[name] for name in known}, values=domains)


def _where(key: str, values: Sequence[str], then: Schema) -> Schema:
    """What holds of an object whose `key` has one of these values."""
    condition = {"properties": {key: {"enum": list(values)}}, "required": [key]}
    return {"if": condition, "then": then}


def _also(*conditions: Schema) -> Change:
    """Conditions that hold besides everything else."""
    return lambda schema: schema.update(allOf=list(conditions))


def _any_of(key: str, members: Iterable[str]) -> Change:
    """At least one of these members, and something in it."""
    options = [{"properties": {member: {key: 1}}, "required": [member]} for member in members]
    return lambda schema: schema.update(anyOf=options)


def _no_better_if_seen() -> Iterator[Schema]:
    """What seeing may allow under each grade on paper: no better one. No two scales share a grade."""
    for scale in SCALES.values():
        for rank, grade in enumerate(scale.grades):
            lower = {"if_seen": {"enum": list(scale.grades[rank:])}}
            yield _where("on_paper", [grade], {"properties": lower})


def _grades_of(grade: str) -> Schema:
    """What holds of the bands of a floor under this grade: their grades are those of its scale."""
    words = {"enum": list(SCALES[grade].grades)}
    then: Schema = {"properties": {"bands": {"items": {"properties": {"on_paper": words, "if_seen": words}}}}}
    if grade == "clarity":
        then["properties"]["tones"] = False
    return _where("grade", [grade], then)


def _tokens_of(field: str) -> Schema:
    """What holds of the words of a lexicon for this field: their keys are its tokens."""
    tokens, about = LEXICON_FIELDS[field]
    means = {token: {"description": f"Phrases that mean `{token}`."} for token in tokens}
    words = {"description": about, "properties": means, "additionalProperties": False}
    return _where("field", [field], {"properties": {"words": words}})


def _kinds(schema: Schema) -> None:
    """A rule set has the kinds of rule of its subject; only an override says what it is for."""
    of_stones = [kind for kind in RULE_KINDS if kind not in WORDING_KINDS]
    reasonless = {"items": {"properties": {"instead_because": False}}}
    schema["allOf"] = [
        {
            **_where("subject", ["wording"], {"properties": dict.fromkeys(of_stones, False)}),
            "else": {"properties": dict.fromkeys(WORDING_KINDS, False)},
        },
        {"if": {"required": ["extends"]}, "else": {"properties": dict.fromkeys(RULE_KINDS, reasonless)}},
    ]


def _by_language(words: str, *, each: bool, slots: Sequence[str] = ()) -> Change:
    """A text for languages, for each of them or for some; no `{slot}` in it but these."""
    more = f"; slots: {', '.join(f'{{{slot}}}' for slot in slots)}" if slots else ""
    named = {language: f"{words} in {name}{more}." for language, name in _LANGUAGES.items()}

    def change(schema: Schema) -> None:
        _members(named, required=named if each else ())(schema)
        if slots:
            unknown = rf"\{{(?!(?:{'|'.join(slots)})\}})[^{{}}]*\}}"
            for text in schema["properties"].values():
                text["not"] = {"pattern": unknown}

    return change


def _a_word_for_each(words: Iterable[str]) -> Change:
    named = {word: f"Words for {word.replace('_', ' ')}." for word in words}
    return _members(named, required=named)


def _terms(schema: Schema) -> None:
    _members(STRUCTURE, others=True)(schema)
    schema["propertyNames"]["not"] = {"enum": list(COUNTED)}


def _known_terms(schema: Schema) -> None:
    """Terms of the code's own, or any other word: a phrasebook may have more."""
    known = [{"const": term, "description": what} for term, what in {**STRUCTURE, **COUNTED}.items()]
    schema["items"] = {**schema["items"], "anyOf": [*known, {"type": "string"}]}


def _names(schema: Schema) -> None:
    origins = [*get_args(Origin), "not_stated"]
    others = [material for material in get_args(Material) if material != "diamond"]
    words = {origin: f"A diamond, {origin.replace('_', ' ')}." for origin in origins}
    words |= {material: f"A stone of {material.replace('_', ' ')}." for material in others}
    words["diamond"] = "Never used: a diamond is called by its origin."
    _members(words, required=[*origins, *others])(schema)
    for name, member in schema["properties"].items():
        _by_language("Its name", each=name != "diamond")(member)


def _step(schema: Schema, verdict: Schema) -> None:
    """A pair of a value and what comes of it."""
    pair = [{"description": "Value of the varied member."}, verdict]
    schema["items"] = {"type": "array", "prefixItems": pair, "minItems": 2, "maxItems": 2}


def _steps_of_stones(schema: Schema) -> None:
    look = {"type": "string", "pattern": "^[a-z][a-z0-9_]*$"}
    said = "Verdict of the rule at this value; for a rule about looks, the look."
    _step(schema, {"description": said, "anyOf": [{"enum": _VERDICTS}, look]})


def _steps_of_rings(schema: Schema) -> None:
    _step(schema, {"description": "Verdict of the rule at this value.", "enum": _VERDICTS})


def _once(schema: Schema) -> None:
    schema["uniqueItems"] = True


_FACTS_OF_A_WISH: Final = _facts(LEAD_FACTS, LEAD_FACT_WORDS)
_MEASURES_OF_A_WISH: Final = _members(LEAD_MEASURE_WORDS)
_TEXTS: Final = _by_language("The words", each=True, slots=LISTING_SLOTS)
_ROW: Final = _also(
    _where("verdict", ["ask", "fail"], {"required": ["remedy"]}),
    _where("verdict", ["ask"], {"required": ["ask"]}),
)
_SIGN: Final = _any_of("minProperties", ["when", "measured"])
_RING_CLASH: Final = "gradefloor__rules__ring_format__Clash"
_WISH_CLASH: Final = "gradefloor__rules__advice_format__Clash"

# By definition, and by member of it; the whole document goes by the name of its model.
OF_RULES: Final[dict[tuple[str, ...], Change]] = {
    ("RuleSet",): _kinds,
    ("Floor",): _also(*map(_grades_of, SCALES)),
    ("FloorBand",): _also(*_no_better_if_seen()),
    ("WindowSide", "settled_by"): _facts(FACTS, FACT_WORDS),
    ("GuardRow",): _ROW,
    ("GuardRow", "when"): _facts(FACTS, FACT_WORDS),
    ("PairingRow",): _ROW,
    ("PairingRow", "when"): _facts(RING_FACTS, RING_FACT_WORDS),
    ("PairingRow", "measured"): _members(RING_MEASURE_WORDS),
    ("Companions", "best"): _once,
    (_RING_CLASH, "side_shapes"): _once,
    ("Character", "serves"): _members(_TASTES),
    (_WISH_CLASH,): _SIGN,
    (_WISH_CLASH, "when"): _FACTS_OF_A_WISH,
    (_WISH_CLASH, "measured"): _MEASURES_OF_A_WISH,
    ("Tag",): _SIGN,
    ("Tag", "when"): _FACTS_OF_A_WISH,
    ("Tag", "measured"): _MEASURES_OF_A_WISH,
    ("Urgency", "weights"): _members(_PARTS_OF_URGENCY),
    ("Lexicon",): _also(*map(_tokens_of, LEXICON_FIELDS)),
    ("Label", "text"): _TEXTS,
    ("CaptionRow", "when"): _facts(LISTING_FACTS, LISTING_FACT_WORDS),
    ("CaptionRow", "opening"): _TEXTS,
    ("CaptionRow", "short"): _TEXTS,
    ("CaptionRow", "long"): _TEXTS,
    ("CaptionRow", "caution"): _TEXTS,
    ("Glossary", "shapes"): _a_word_for_each(SHAPES),
    ("Glossary", "treatments"): _a_word_for_each(get_args(Treatment)),
    ("Phrasebook", "terms"): _terms,
    ("PolicyRow",): _also(_where("verdict", ["ask", "change"], {"required": ["instead"]})),
    ("PolicyRow", "when"): _facts(WORDING_FACTS, WORDING_FACT_WORDS),
    ("PolicyRow", "instead"): _by_language("A wording that would do", each=False, slots=WORDING_SLOTS),
    ("Policy",): lambda schema: schema.update(
        oneOf=[{"required": ["speaks_of"]}, {"required": ["requires"]}]
    ),
    ("Policy", "speaks_of"): _known_terms,
    ("Policy", "requires"): _known_terms,
    ("Naming", "names"): _names,
    ("Filler", "slots"): _members(
        {slot: f"In place of {{{slot}}}." for slot in WORDING_SLOTS[1:]}, required=WORDING_SLOTS[1:]
    ),
}
OF_CASES: Final[dict[tuple[str, ...], Change]] = {
    ("Cases",): _any_of("minItems", ["cases", "texts"]),
    ("Boundary", "steps"): _steps_of_stones,
    ("RingBoundary", "steps"): _steps_of_rings,
}
