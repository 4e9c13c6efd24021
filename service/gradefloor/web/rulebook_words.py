"""How the rule book says what rules name: facts, values, ranges and places, in a jeweller's words."""

import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Any, Final

from gradefloor.rules.entries import Between, Range
from gradefloor.rules.fact_words import (
    FACT_TITLES,
    LEAD_FACT_TITLES,
    LEAD_MEASURE_TITLES,
    LISTING_FACT_TITLES,
    RING_FACT_TITLES,
    RING_MEASURE_TITLES,
    WORDING_FACT_TITLES,
)
from gradefloor.rules.measures import MEASURES
from gradefloor.rules.ring_measures import RING_MEASURES
from gradefloor.trade.shapes import GROUPS, SHAPES

DISAGREEMENT: Final = {
    "low": "low: most say the same",
    "medium": "medium: schools differ",
    "high": "high: contested",
}
VERDICTS: Final = {"silent": "says nothing"}
OTHERWISE: Final = "In every other case"
ALWAYS: Final = "In every case"
_YEAR_DAYS: Final = 365

_GROUPS: Final = {
    "all": "every shape",
    "steps": "step cuts",
    "crushed_ice": "crushed-ice cuts",
    "cushions": "cushions",
    "tipped": "tipped brilliants",
    "elongated_brilliants": "elongated brilliants",
    "old_cuts": "old cuts",
    "circular": "round outlines",
    "fancies": "every shape but the round brilliant",
    "brilliants": "brilliants",
    "modern": "modern cuts",
    "pavilioned": "cuts with a full pavilion",
    "pointed": "shapes with sharp points",
    "cut_corners": "shapes with cut corners",
    "unpointed": "shapes without sharp points",
    "step_or_brilliant": "side shapes that are cut either way",
    "side_shapes": "side shapes",
}

# Titles of the facts and measures that rules of a kind may name.
_OF_STONES: Final = {**FACT_TITLES, **{name: measure.title for name, measure in MEASURES.items()}}
_OF_RINGS: Final = {**RING_FACT_TITLES, **RING_MEASURE_TITLES}
_OF_WISHES: Final = {**LEAD_FACT_TITLES, **LEAD_MEASURE_TITLES}
TITLES: Final[Mapping[str, Mapping[str, str]]] = {
    "windows": _OF_STONES,
    "guards": _OF_STONES,
    "pairings": _OF_RINGS,
    "clashes": _OF_WISHES,
    "tags": _OF_WISHES,
    "policies": WORDING_FACT_TITLES,
    "captions": LISTING_FACT_TITLES,
}
_VALUES: Final = {
    "laboratory_grown": "laboratory-grown",
    "known_issuer": "known laboratory",
    "other_issuer": "another laboratory",
    "graded_by_issuer": "graded by this laboratory",
    "not_graded_by_issuer": "not graded by this laboratory",
    "clean": "nothing seen",
    "commented": "on the report",
    "hpht": "HPHT",
    "like_moissanite": "right for moissanite",
    "not_clean": "something seen",
    "over_sight": "large enough to be seen",
    "under_sight": "too small to be seen",
    "v_claw": "V claw",
    "v_claws": "V claws",
    "yag": "YAG",
    "ggg": "GGG",
    "pave": "pavé",
    "carre": "carré",
}
_UNITS: Final = {"days_left": " days"}

# Slots of texts: the word that marks the place, and what stands there.
SLOTS: Final = {
    "name": ("name", "what the stone is called in that market"),
    "shape": ("shape", "its shape"),
    "length": ("length", "its length in mm"),
    "width": ("width", "its width in mm"),
    "ratio": ("ratio", "its length to width"),
    "look": ("look", "the look of that ratio"),
    "like": ("like", "the usual weight, in carat, of a stone that looks as large"),
    "area": ("area", "what it shows from above, in mm²"),
    "carat": ("carat", "its weight in carat"),
    "color": ("color", "its color"),
    "clarity": ("clarity", "its clarity"),
    "treatments": ("treatments", "what was done to it"),
    "issuer": ("laboratory", "the laboratory of its report"),
    "number": ("number", "the number of its report"),
    "cut": ("cut", "its cut grade"),
    "depth": ("depth", "its depth in %"),
    "table": ("table", "its table in %"),
    "fineness": ("fineness", "parts of fine metal in a thousand"),
}
_SLOT: Final = re.compile(r"\{([a-z_]+)\}")

# Parts of rules as they stand in the data, where a plain word says it better.
_PARTS: Final = {
    "at": "place",
    "because": "reason",
    "below": "below",
    "if_seen": "once seen",
    "materials": "materials",
    "on_paper": "on paper",
    "says": "what is said",
    "when": "when",
    "low": "too low",
    "high": "too high",
    "href": "address",
}


def spaced(word: str) -> str:
    """A word of the rules as one reads it."""
    return _VALUES.get(word) or word.replace("_", " ").replace(".", ", ")


def fact_title(kind: str, name: str) -> str:
    """A fact or a measure that a rule of this kind may name."""
    return TITLES[kind][name]


def slot_told(slot: str) -> str:
    """The place in a text that a stone fills."""
    return f"‹{SLOTS[slot][0]}›" if slot in SLOTS else f"{{{slot}}}"


def marked(text: str) -> str:
    """A text with its slots as words in angle marks."""
    return _SLOT.sub(lambda found: slot_told(found[1]), text)


def slots_marked(text: str) -> frozenset[str]:
    """The slots whose marks stand in a text."""
    return frozenset(slot for slot in SLOTS if slot_told(slot) in text)


def any_of(words: Iterable[str], joint: str = "or") -> str:
    """`a, b or c`."""
    found = list(words)
    return f" {joint} ".join(filter(None, (", ".join(found[:-1]), *found[-1:])))


def shape_title(shape: str) -> str:
    return SHAPES[shape].title


def shapes_named(named: Iterable[str]) -> str:
    """Shapes and groups as a rule names them."""
    return any_of((_GROUPS.get(n, spaced(n)) if n in GROUPS else shape_title(n) for n in named), "and")


def values_told(values: Iterable[str]) -> str:
    """Values that a fact may have; a shape by its title."""
    return any_of(shape_title(value) if value in SHAPES else spaced(value) for value in values)


def range_told(span: Range, unit: str = "") -> str:
    """A half-open range: its first value belongs to it, its last does not."""
    if span.from_ is None:
        told = "any" if span.below is None else f"under {span.below}{unit}"
    elif span.below is None:
        told = f"{span.from_}{unit} and over"
    else:
        told = f"{span.from_} to under {span.below}{unit}"
    return told.replace("-", "\N{MINUS SIGN}")


def between_told(span: Between, unit: str = "") -> str:
    """A closed range; both ends belong to it."""
    return f"{span.write()}{unit}".replace("-", "\N{MINUS SIGN}")


def head_told(tone: str) -> str:
    """Color of a head's metal."""
    return "yellow or rose" if tone == "warm" else tone


def started(text: str) -> str:
    """The text with a capital at its start, and the others as they are."""
    return text[:1].upper() + text[1:]


def hundredths(first: Decimal | None, below: Decimal | None, unit: str = "") -> str:
    """A half-open range of values rounded to hundredths, by its first and its last."""
    step = Decimal("0.01")
    if any(end is not None and end % step for end in (first, below)):
        return range_told(Range.model_construct(from_=first, below=below), unit)
    if first is None or first == 0:
        return "any" if below is None else f"under {below.quantize(step)}{unit}"
    if below is None:
        return f"{first.quantize(step)}{unit} and over"
    return f"{first.quantize(step)} to {(below - step).quantize(step)}{unit}"


def points_told(first: int, below: int | None) -> str:
    """A band of weights in points, as carats."""
    hundred = Decimal(100)
    if first == 0 and below is None:
        return "any weight"
    return hundredths(Decimal(first) / hundred, None if below is None else Decimal(below) / hundred, " ct")


def measure_told(kind: str, name: str, span: Range) -> str:
    """A measure of a ring or a wish, and the range it lies in."""
    unit = RING_MEASURES[name].unit if kind == "pairings" else _UNITS.get(name, "")
    return f"{fact_title(kind, name)}: {range_told(span, unit)}"


def conditions(
    kind: str,
    when: Mapping[str, Sequence[str]],
    measured: Mapping[str, Range] | None = None,
    *,
    alone: bool,
) -> list[str]:
    """What has to hold, one line for each fact and measure; `alone` says that there is no other row."""
    facts = [f"{fact_title(kind, name)}: {values_told(values)}" for name, values in when.items()]
    measures = [measure_told(kind, name, span) for name, span in (measured or {}).items()]
    return [*facts, *measures] or [ALWAYS if alone else OTHERWISE]


def is_stale(checked: date, today: date) -> bool:
    """Whether nobody has looked it up within a year."""
    return (today - checked).days > _YEAR_DAYS


def place_told(at: str, kind: str = "") -> str:
    """`bands[1].on_paper` of a rule of this kind, as one says it: band 2, on paper."""
    told, titles = [], TITLES.get(kind, {})
    for part in at.split("."):
        name, _, index = part.partition("[")
        word = _PARTS.get(name) or titles.get(name) or spaced(name)
        if index:
            numbers = [str(int(number) + 1) for number in index.rstrip("]").split("][")]
            word = f"{word.removesuffix('s')} {' '.join(numbers)}"
        told.append(word)
    return ", ".join(told)


def plain_told(value: Any) -> str:
    """A part of a rule as it stands in the data, in words."""
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dict):
        # What it is called in the data stands beside it already, as its place.
        parts = {name: plain_told(inner) for name, inner in value.items() if name not in {"id", "about"}}
        if len(parts) == 1 and len(value) > 1:
            return next(iter(parts.values()))
        told = "; ".join(f"{_PARTS.get(name) or spaced(name)} {inner}" for name, inner in parts.items())
        return told or "any"
    if isinstance(value, list):
        return ", ".join(map(plain_told, value)) or "nothing"
    if isinstance(value, float):
        return f"{value:.12g}"
    text = str(value)
    return spaced(text) if text.isidentifier() and text.islower() else marked(text)
