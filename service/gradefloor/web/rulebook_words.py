"""How the rule book says what rules name: facts, values, ranges and places, in a jeweller's words."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Any, Final

from gradefloor.rules.entries import Between, Range
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

# Facts whose own name does not read by itself.
_FACTS: Final = {
    "angle_comment": "comment on angles",
    "assessment": "quality class on the report",
    "band": "wedding band",
    "band_fit": "how the wedding band is to lie",
    "band_stones": "stones around the band",
    "bow_tie": "dark band across the middle",
    "clarity_wish": "clarity wished",
    "clarity_worst": "clarity, at the lower end of its range",
    "clouds": "comment on clouds",
    "color_best": "color, at the better end of its range",
    "color_wish": "color wished",
    "comparing": "another shop's offer",
    "covers": "what the budget covers",
    "cushion_kind": "kind of cushion",
    "cut_ceiling": "cut grade against polish and symmetry",
    "cut_scope": "cut grade of this laboratory for this shape",
    "decimal_beside": "a weight in hundredths beside it",
    "direct": "word immediately before it",
    "eye_clean": "looked at without a lens",
    "facets_beside": "number of facets beside it",
    "finger": "finger size",
    "form_beside": "shape beside it",
    "gap": "gap to the wedding band",
    "gem": "colored gem",
    "girdle_max": "girdle at its thickest",
    "girdle_min": "girdle at its thinnest",
    "grade": "grade in the text against the stone's",
    "graining_comment": "comment on graining",
    "height": "height of the setting",
    "hidden_halo_height": "height of the hidden halo",
    "hpht": "high pressure and high temperature",
    "in_scope": "within the standard's scope",
    "inclusion_place": "place of the inclusion",
    "inclusion_sight": "size of the inclusion against what an eye resolves",
    "inclusion_type": "kind of inclusion",
    "iso_24016": "scope of ISO 24016",
    "issuer": "laboratory",
    "karat": "karat figure",
    "laboratory_beside": "laboratory beside it",
    "letters": "letter grades on the report",
    "make": "cut grade on the report",
    "natural_beside": "natural or mined beside it",
    "number_beside": "fineness beside it",
    "opposites": "opposite tastes wished together",
    "outline": "outline wished",
    "plated_beside": "plated beside it",
    "protection": "edge held by",
    "qualifier": "word that qualifies it",
    "seen_in": "seen in",
    "shank_metal": "metal of the shank",
    "shank_tone": "color of the shank",
    "shape_kind": "kind of shape wished",
    "side_faceting": "faceting of the side stones",
    "side_material": "material of the side stones",
    "side_shape": "shape of the side stones",
    "sides": "side stones",
    "sized": "length and width known",
    "spread": "size for its weight",
    "stone_beside": "a stone beside it",
    "stone_in_sentence": "a stone in the same sentence",
    "surface_comment": "comment on the surface being reached",
    "tax": "tax in the budget",
    "tolerance": "range given with a fraction",
    "tone": "color of the head",
    "treatment_comment": "comment on a treatment",
    "unread_comment": "a comment that is not known",
    "weight_fit": "weight against its millimetres",
    "windowing": "window in the middle",
    "written": "how the weight is written",
}
_VALUES: Final = {
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
_MEASURES: Final = {
    "amount": "budget",
    "carat": "weight",
    "center.carat": "weight of the center",
    "coverage_pct": "width of the center",
    "culet_height_mm": "height of the culet above the finger",
    "days_left": "days left",
    "halo_share_pct": "melee of the halo",
    "halo_spacing_mm": "spacing of the halo's melee",
    "over_flank_mm": "side stone longer than the straight flank by",
    "ratio": "length to width",
    "span_pct": "width of all stones together",
}
_UNITS: Final = {"days_left": " days"}

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


def fact_title(name: str) -> str:
    return _FACTS.get(name) or spaced(name)


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


def measure_told(name: str, span: Range) -> str:
    """A measure of a ring or a wish, and the range it lies in."""
    measure = RING_MEASURES.get(name)
    unit = measure.unit if measure is not None else _UNITS.get(name, "")
    title = _MEASURES.get(name) or (measure.title.rstrip(":") if measure is not None else spaced(name))
    return f"{title}: {range_told(span, unit)}"


def term_told(name: str) -> str:
    """A fact or a measure by its title."""
    if name in RING_MEASURES:
        return _MEASURES.get(name) or RING_MEASURES[name].title.rstrip(":")
    return MEASURES[name].title if name in MEASURES else fact_title(name)


def conditions(when: Mapping[str, Sequence[str]], measured: Mapping[str, Range] | None = None) -> list[str]:
    """What has to hold, one line for each fact and measure."""
    facts = [f"{fact_title(name)}: {values_told(values)}" for name, values in when.items()]
    measures = [measure_told(name, span) for name, span in (measured or {}).items()]
    return [*facts, *measures] or [OTHERWISE]


def is_stale(checked: date, today: date) -> bool:
    """Whether nobody has looked it up within a year."""
    return (today - checked).days > _YEAR_DAYS


def place_told(at: str) -> str:
    """`bands[1].on_paper`, as one says it: band 2, on paper."""
    told = []
    for part in at.split("."):
        name, _, index = part.partition("[")
        word = _PARTS.get(name) or fact_title(name)
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
    return spaced(text) if text.isidentifier() and text.islower() else text
