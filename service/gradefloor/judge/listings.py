"""What a shop's page says of a stone: labels, two sentences, what fits, cautions, what is missing, its data.

Everything is written from the findings by the texts of the rules, in the language of the page, and what is
written is held to the same guidance as the shop's own text.
"""

import re
from collections.abc import Iterator
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from typing import Annotated, Any, Final

from pydantic import Field
from typing_extensions import TypedDict

from gradefloor.judge.findings import Evaluation
from gradefloor.judge.jsonld import Words, script_text, structured
from gradefloor.judge.settings import try_settings
from gradefloor.judge.side_stones import windows
from gradefloor.judge.stones import evaluate, worst_verdict
from gradefloor.judge.wording import WordingResult, audit, stone_name
from gradefloor.rules.entries import SLOT
from gradefloor.rules.listing_facts import Listed, worst
from gradefloor.rules.listing_format import CaptionRow, Glossary
from gradefloor.rules.tables import CompiledRules
from gradefloor.trade.assembly import Ring
from gradefloor.trade.figures import length_and_width
from gradefloor.trade.listings import Language, Listing, WordingText
from gradefloor.trade.settings import Setting
from gradefloor.trade.stones import Stone
from gradefloor.trade.weight_claims import write
from gradefloor.trade.weights import exact

_HUNDREDTH: Final = Decimal("0.01")
# Names of laboratories and numbers of reports as they may stand in a sentence of ours.
_NAME: Final = re.compile(r"\w[\w .&'-]*")
_NUMBER: Final = re.compile(r"[\w-]+")
# A sentence with more than three parts is not read to its end.
_SHORT_PARTS: Final = 3
LISTING_NOTICE: Final[dict[Language, str]] = {
    "en": "Not an appraisal. Nobody here has seen the stone.",
    "fr": "Ceci n'est pas une expertise. Personne ici n'a vu la pierre.",
}


class LabelAnswer(TypedDict):
    """A few words to show beside a stone."""

    key: Annotated[str, Field(description="Stable in every language.", examples=["clarity.look"])]
    text: Annotated[str, Field(description="The words, in the language of the page.")]
    tone: Annotated[str, Field(description="plain, good, watch (to mind) or ask (to learn).")]
    rule: Annotated[str, Field(description="Id of the caption in the wording rule set.")]


class SizeWords(TypedDict):
    """Size in figures, for a page to show; null where it cannot be told."""

    length_mm: Annotated[float | None, Field(description="Length in mm.")]
    width_mm: Annotated[float | None, Field(description="Width in mm.")]
    face_up_mm2: Annotated[float | None, Field(description="Area from above in mm².")]
    faces_like_carat: Annotated[
        float | None, Field(description="Weight of a usual diamond of this shape that looks as large, in ct.")
    ]
    text: Annotated[str | None, Field(description="Millimetres in words.")]


class Fitting(TypedDict):
    """Something that goes with the stone."""

    kind: Annotated[str, Field(description="setting or side_stones.")]
    token: Annotated[str, Field(description="Style of the setting, or shape of the side stones.")]
    text: Annotated[str, Field(description="Its name, in the language of the page.")]
    length_mm: Annotated[
        list[float] | None, Field(description="Side stones: from and to along the center, in mm.")
    ]
    width_mm: Annotated[
        list[float] | None, Field(description="Side stones: from and to away from it, in mm.")
    ]


class Missing(TypedDict):
    """Something that would help."""

    about: Annotated[str, Field(description="Dotted path in a request, or a word for a thing outside it.")]
    text: Annotated[str, Field(description="What it is, in the language of the page.")]
    settles: Annotated[list[str], Field(description="Ids of the rules that hang on it.")]


class Annotation(TypedDict):
    """One listing, annotated."""

    stone_id: Annotated[str | None, Field(description="Your reference, repeated.")]
    evaluation_id: Annotated[str, Field(description="Id of the evaluation that it is written from.")]
    verdict: Annotated[str, Field(description="pass, ask or fail, as evaluations say it.")]
    language: Annotated[str, Field(description="Language of the texts: en or fr.", examples=["en"])]
    labels: Annotated[list[LabelAnswer], Field(description="Labels, in the order to show them.")]
    short: Annotated[str, Field(description="One sentence.")]
    long: Annotated[str, Field(description="A few sentences, with their reasons.")]
    size: SizeWords
    fits: Annotated[
        list[Fitting] | None,
        Field(description="Settings and side stones without a fault; null where not worked out."),
    ]
    cautions: Annotated[list[str], Field(description="What to be careful with.")]
    missing: Annotated[list[Missing], Field(description="What is missing and would help; best first.")]
    wording: Annotated[
        WordingResult | None, Field(description="The shop's own title and text, audited; null without one.")
    ]
    jsonld: Annotated[dict[str, Any], Field(description="schema.org data of the listing, as an object.")]
    jsonld_script: Annotated[
        str,
        Field(description="The same as text that is safe inside a script element of type ld+json."),
    ]
    notice: Annotated[str, Field(description="What this is not, in the language of the page.")]


def annotate(
    rules: CompiledRules, wording: CompiledRules, listing: Listing, day: date, *, fits: bool
) -> Annotation:
    """One listing under rules about stones and rules about wording."""
    stone, language = listing.stone, listing.spoken
    evaluation = evaluate(rules, stone, listing.context, day)
    glossary = wording.captions.glossaries[language]
    slots = _slots(wording, listing, evaluation, glossary, day)
    case = _listed(listing, evaluation)
    rows = [(caption.stamp.rule, caption.row(case)) for caption in wording.captions.captions]
    opening = _opening(rows, slots, language)
    short, long = _sentences(rows, opening, slots, language)
    # Search engines are told what is stated; opinions are for the page.
    words = Words(name=opening, description=f"{_weighed(opening, slots)}.", material=slots["name"] or "")
    document = structured(listing, words)
    return {
        "stone_id": stone.id,
        "evaluation_id": evaluation["evaluation_id"],
        "verdict": evaluation["verdict"],
        "language": language,
        "labels": list(_labels(rows, slots, language)),
        "short": short,
        "long": long,
        "size": _size(stone, evaluation, slots),
        "fits": list(_fits(rules, listing, glossary, day)) if fits else None,
        "cautions": [text for _, row in rows if (text := _fill(row.caution, language, slots))],
        "missing": [
            {
                "about": question["about"],
                "text": glossary.questions.get(question["about"], question["about"].replace("_", " ")),
                "settles": question["settles"],
            }
            for question in evaluation["questions"]
        ],
        "wording": _audited(wording, listing, day),
        "jsonld": document,
        "jsonld_script": script_text(document),
        "notice": LISTING_NOTICE[language],
    }


def _listed(listing: Listing, evaluation: Evaluation) -> Listed:
    topics: dict[str, list[str]] = {}
    for finding in evaluation["findings"]:
        topics.setdefault(finding["topic"], []).append(finding["verdict"])
    measures = evaluation["measures"]
    return Listed(
        listing,
        {topic: worst(verdicts) for topic, verdicts in topics.items()},
        measures.get("ratio"),
        measures.get("look"),
        measures.get("faces_like_carat"),
    )


# Words for what is stated; None for what is not


def _slots(
    wording: CompiledRules, listing: Listing, evaluation: Evaluation, glossary: Glossary, day: date
) -> dict[str, str | None]:
    stone, measures = listing.stone, evaluation["measures"]
    language: Language = glossary.language
    sides = length_and_width(stone)
    report = stone.report
    look = measures.get("look")
    name = stone_name(wording, listing.market, language, stone.origin, stone.material)
    known = stone.origin is not None or stone.material not in {None, "diamond"}
    treatments = [glossary.treatments[treatment] for treatment in stone.treatments or ()]

    def number(value: float | Decimal | None, step: Decimal = _HUNDREDTH) -> str | None:
        if value is None:
            return None
        exactly = value if isinstance(value, Decimal) else exact(value)
        text = f"{exactly.quantize(step, ROUND_HALF_UP) or exactly}"
        return text.replace(".", ",") if language == "fr" else text

    return {
        "name": name if known else None,
        "shape": glossary.shapes[stone.shape],
        "length": number(sides[0]) if sides else None,
        "width": number(sides[1]) if sides else None,
        "ratio": number(measures.get("ratio")),
        "look": None if look is None else glossary.looks.get(look, look.replace("_", " ")),
        "like": number(measures.get("faces_like_carat")),
        "area": number(measures.get("face_up_mm2"), Decimal("0.1")),
        "carat": None if stone.carat is None else write(stone.carat, "," if language == "fr" else "."),
        "color": stone.color,
        "clarity": stone.clarity,
        "treatments": ", ".join(treatments) or None,
        "issuer": _issuer(wording, listing, day),
        "number": report.number if report and _NUMBER.fullmatch(report.number or "") else None,
        "cut": stone.cut_grade and glossary.cuts.get(stone.cut_grade),
        "depth": number(stone.depth_pct, Decimal("0.1")),
        "table": number(stone.table_pct, Decimal("0.1")),
    }


def _issuer(wording: CompiledRules, listing: Listing, day: date) -> str | None:
    """The laboratory's name, if it claims nothing by itself: it is a caller's text within ours."""
    name = listing.stone.report.issuer if listing.stone.report else None
    if name is None:
        return None
    known = wording.issuers.get(name.casefold())
    if known is not None:
        return known.name
    plain = _NAME.fullmatch(name) and audit(wording, said_of(listing, name), day)["matches"] == []
    return name if plain else None


def _fill(texts: dict[Language, str] | None, language: Language, slots: dict[str, str | None]) -> str | None:
    """A text with its slots filled; None where one of them is not known."""
    if texts is None:
        return None
    text = texts[language]
    if any(slots[slot] is None for slot in SLOT.findall(text)):
        return None
    return SLOT.sub(lambda found: slots[found[1]] or "", text)


def _opening(rows: list[tuple[str, CaptionRow]], slots: dict[str, str | None], language: Language) -> str:
    found = (_fill(row.opening, language, slots) for _, row in rows)
    return _capital(next((text for text in found if text), slots["shape"] or ""))


def _sentences(
    rows: list[tuple[str, CaptionRow]], opening: str, slots: dict[str, str | None], language: Language
) -> tuple[str, str]:
    parts = [text for _, row in rows if (text := _fill(row.short, language, slots))]
    colon = " : " if language == "fr" else ": "
    semicolon = " ; " if language == "fr" else "; "
    said = semicolon.join(parts[:_SHORT_PARTS])
    begins = _weighed(opening, slots)
    short = f"{begins}{colon}{said}." if said else f"{begins}."
    sentences = [text for _, row in rows if (text := _fill(row.long, language, slots))]
    return short, " ".join([f"{begins}.", *sentences])


def _weighed(opening: str, slots: dict[str, str | None]) -> str:
    return f"{opening}, {slots['carat']}" if slots["carat"] else opening


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _labels(
    rows: list[tuple[str, CaptionRow]], slots: dict[str, str | None], language: Language
) -> Iterator[LabelAnswer]:
    for rule, row in rows:
        text = _fill(row.label.text, language, slots) if row.label else None
        if row.label is not None and text is not None:
            yield {"key": row.label.key, "text": _capital(text), "tone": row.label.tone, "rule": rule}


def _size(stone: Stone, evaluation: Evaluation, slots: dict[str, str | None]) -> SizeWords:
    sides, measures = length_and_width(stone), evaluation["measures"]
    return {
        "length_mm": float(sides[0]) if sides else None,
        "width_mm": float(sides[1]) if sides else None,
        "face_up_mm2": measures.get("face_up_mm2"),
        "faces_like_carat": measures.get("faces_like_carat"),
        "text": f"{slots['length']} × {slots['width']} mm" if sides else None,
    }


# What goes with it


def _fits(rules: CompiledRules, listing: Listing, glossary: Glossary, day: date) -> Iterator[Fitting]:
    """Settings without a fault, the best first, and shapes of side stones that pass beside it."""
    if not rules.rings or (listing.context is not None and listing.context.jewelry not in {None, "ring"}):
        return
    metal = listing.context.metal if listing.context else None
    ring = Ring(listing.stone, Setting(metal=metal))
    for tried in try_settings(rules, ring, day):
        if worst_verdict(tried.said) != "fail":
            name = tried.style.rule.name
            yield _fitting("setting", name, glossary.styles.get(name, name.replace("_", " ")))
    offered, _ = windows(rules, ring, None, day)
    for window in offered:
        if window["verdict"] != "fail":
            shape = window["shape"]
            yield {
                **_fitting("side_stones", shape, glossary.shapes[shape]),  # type: ignore[index]
                "length_mm": window["length_mm"],
                "width_mm": window["width_mm"],
            }


def _fitting(kind: str, token: str, text: str) -> Fitting:
    return {"kind": kind, "token": token, "text": text, "length_mm": None, "width_mm": None}


# The shop's own text


def said_of(listing: Listing, text: str, title: str | None = None) -> WordingText:
    """A text about the stone of a listing, as the audit takes it."""
    shared = {
        name: getattr(listing.stone, name)
        for name in WordingText.model_fields
        if name in Stone.model_fields and name != "id"
    }
    return WordingText.model_construct(
        id=listing.stone.id,
        title=title,
        text=text,
        market=listing.market,
        language=listing.spoken,
        facets=listing.facets,
        fineness_ppt=listing.fineness_ppt,
        plated=listing.plated,
        **shared,
    )


def _audited(wording: CompiledRules, listing: Listing, day: date) -> WordingResult | None:
    if listing.description is None and listing.title is None:
        return None
    return audit(wording, said_of(listing, listing.description or "", listing.title), day)
