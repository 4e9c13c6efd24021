"""A listing as schema.org structured data (JSON-LD), and as text that is safe inside a script element.

The vocabulary has no type for a jewel or a gemstone: a stone is an `IndividualProduct` where it has a report
number or a reference, else a `Product`. Pure; only what is stated is said, what is absent is left out, and
keys always stand in the same order. Terms: schema.org 30.1; unit codes: UN/ECE Recommendation 20.

What is not said, and why: availability and condition are not known; what a context names may be meant, not
made, so neither the kind of jewel nor its metal; a height, because the trade calls the depth so.
"""

import re
from collections.abc import Iterator
from typing import Any, Final, NamedTuple

import orjson

from gradefloor.judge.measures import take_measures
from gradefloor.trade.figures import Figures, length_and_width
from gradefloor.trade.listings import Listing, Price
from gradefloor.trade.shapes import CIRCULAR, SHAPES
from gradefloor.trade.stones import Report, Stone
from gradefloor.trade.weights import exact

# UN/ECE Recommendation 20. MIL is a thousand, C34 a mole and GM a gram per square meter: never use those.
_CARAT: Final = "CTM"
_MILLIMETERS: Final = "MMT"
_SQUARE_MILLIMETERS: Final = "MMK"
_PERCENT: Final = "P1"
_PER_THOUSAND: Final = "NX"

# Grades, each a member of the stone, its name and its identifier in our own vocabulary.
_GRADES: Final = (
    ("color", "Color grade", "stone.colorGrade"),
    ("clarity", "Clarity grade", "stone.clarityGrade"),
    ("cut_grade", "Cut grade", "stone.cutGrade"),
    ("polish", "Polish", "stone.polish"),
    ("symmetry", "Symmetry", "stone.symmetry"),
    ("fluorescence", "Fluorescence", "stone.fluorescence"),
)
# Decree 2002-65 of France, article 4: of a made stone "synthétique" and nothing else.
_MADE: Final = {("FR", "fr"): "synthétique", ("FR", "en"): "synthetic"}
_INITIALS: Final = {"hpht": "HPHT"}

# A plain absolute address as RFC 3986 writes it: host by name, no user, nothing that needs escaping.
_PLAIN: Final = r"(?:[A-Za-z0-9\-._~!$&'()*+,;=:@/]|%[0-9A-Fa-f]{2})*"
_PLAIN_QUERY: Final = r"(?:[A-Za-z0-9\-._~!$&'()*+,;=:@/?]|%[0-9A-Fa-f]{2})*"
_ADDRESS: Final = re.compile(
    r"https://[A-Za-z0-9\-]{1,63}(?:\.[A-Za-z0-9\-]{1,63})+(?::[0-9]{1,5})?"
    rf"(?:/{_PLAIN})?(?:\?{_PLAIN_QUERY})?(?:#{_PLAIN_QUERY})?"
)

# What may end a script element, open a comment or a character reference, or end a line of JavaScript. In
# JSON these stand inside strings only, where a six-character escape means the same.
_ESCAPES: Final = {ord(one): f"\\u{ord(one):04x}" for one in "<>&\u2028\u2029"}


class Words(NamedTuple):
    """Texts in the listing's language, already written as its market accepts them.

    `name` is a headline, `description` a sentence or two, `material` the accepted name of what the stone is.
    """

    name: str
    description: str
    material: str


def structured(listing: Listing, words: Words) -> dict[str, Any]:
    """The listing as one schema.org document.

    Where a metal is stated the product is the jewel: it has the words, the address, the marks of its metal
    and the offer, but not the stone's weight, sizes or report. Those belong to the stone, which is nested as
    one of its materials: `isRelatedTo` would read as another product for sale.
    """
    stone, address = listing.stone, _address(listing.url)
    texts = {"name": words.name, "description": words.description, "url": address}
    offers = _offer(listing.price, address)
    if _in_metal(listing):
        inner = {"@type": _type(stone), "name": words.material, **_of_the_stone(listing, words)}
        return _kept(
            {
                "@context": "https://schema.org",
                "@type": "Product",
                **texts,
                "material": [words.material, _kept(inner)],
                "additionalProperty": list(_of_the_metal(listing)),
                "offers": offers,
            }
        )
    return _kept(
        {
            "@context": "https://schema.org",
            "@type": _type(stone),
            **texts,
            **_of_the_stone(listing, words),
            "offers": offers,
        }
    )


def script_text(document: dict[str, Any]) -> str:
    """The document as JSON that may stand inside `<script type="application/ld+json">`, whatever it holds."""
    return orjson.dumps(document).decode().translate(_ESCAPES)


def _in_metal(listing: Listing) -> bool:
    metal = None if listing.context is None else listing.context.metal
    return any(stated is not None for stated in (metal, listing.fineness_ppt, listing.plated))


def _kept(node: dict[str, Any]) -> dict[str, Any]:
    """Without what is not stated."""
    return {name: value for name, value in node.items() if value not in (None, "", [])}


def _address(url: str | None) -> str | None:
    return url if url is not None and _ADDRESS.fullmatch(url) else None


def _serial(stone: Stone) -> str | None:
    number = None if stone.report is None else stone.report.number
    return number or stone.id


def _type(stone: Stone) -> str:
    return "Product" if _serial(stone) is None else "IndividualProduct"


def _offer(price: Price | None, address: str | None) -> dict[str, Any] | None:
    if price is None:
        return None
    return _kept(
        {
            "@type": "Offer",
            "url": address,
            "price": _price(price.amount),
            "priceCurrency": price.currency,
        }
    )


def _price(amount: float) -> str:
    """As stated: whole amounts without decimals, others with two at least (`9500`, `9500.10`, `9500.125`)."""
    whole, _, decimals = f"{exact(amount):f}".partition(".")
    return f"{whole}.{decimals.ljust(2, '0')}" if decimals.strip("0") else whole


def _of_the_stone(listing: Listing, words: Words) -> dict[str, Any]:
    """What is the stone's own, loose or set.

    Width is the width across and depth the way from table to culet: the same words mean the same. A product
    has no length, so that is an additional property.
    """
    stone = listing.stone
    width = stone.width_mm if (sides := length_and_width(stone)) is None else float(sides[1])
    return {
        "sku": stone.id,
        "serialNumber": _serial(stone),
        "material": words.material,
        "weight": _quantity(stone.carat, _CARAT),
        "width": _quantity(width, _MILLIMETERS),
        "depth": _quantity(stone.depth_mm, _MILLIMETERS),
        "additionalProperty": list(_particulars(listing)),
        "hasCertification": _certification(stone.report),
    }


def _number(value: float) -> float:
    """66 rather than 66.0, which would tell of a decimal that nobody read."""
    return int(value) if value.is_integer() else value


def _quantity(value: float | None, unit: str) -> dict[str, Any] | None:
    if value is None:
        return None
    return {"@type": "QuantitativeValue", "value": _number(value), "unitCode": unit}


def _property(
    identifier: str, name: str, value: float | str, unit: str | None = None, method: str | None = None
) -> dict[str, Any]:
    return _kept(
        {
            "@type": "PropertyValue",
            "propertyID": identifier,
            "name": name,
            "value": _number(value) if isinstance(value, float) else value,
            "unitCode": unit,
            "measurementMethod": method,
        }
    )


def _particulars(listing: Listing) -> Iterator[dict[str, Any]]:
    """What a product has no property of its own for. Grades are text; their color is no product color."""
    stone = listing.stone
    yield _property("stone.shape", "Shape", SHAPES[stone.shape].title)
    if stone.origin is not None:
        made = _MADE.get((listing.market, listing.spoken), "laboratory-grown")
        yield _property("stone.origin", "Origin", "natural" if stone.origin == "natural" else made)
    # An empty list is not repeated: "none known" would read as a promise that there is none.
    if stone.treatments:
        named = (_INITIALS.get(one, one.replace("_", " ")) for one in dict.fromkeys(stone.treatments))
        yield _property("stone.treatment", "Treatments", ", ".join(named))
    if stone.report is not None and stone.report.assessment is not None:
        yield _property(
            "stone.qualityAssessment",
            "Quality assessment",
            stone.report.assessment,
            method=stone.report.issuer and f"assessed by {stone.report.issuer}",
        )
    for member, name, identifier in _GRADES:
        if (grade := getattr(stone, member)) is not None:
            yield _property(identifier, name, grade.replace("_", " "), method=_grader(stone.report, grade))
    if listing.facets is not None:
        yield _property("stone.facetCount", "Facets", listing.facets)
    yield from _proportions(stone)


def _grader(report: Report | None, grade: str) -> str | None:
    """Who graded; None for a range, which is an estimate, and where the report gives a class, not grades."""
    if report is None or report.issuer is None or report.assessment is not None or "-" in grade:
        return None
    return f"graded by {report.issuer}"


def _proportions(stone: Stone) -> Iterator[dict[str, Any]]:
    measures, circular = take_measures(Figures(stone)), stone.shape in CIRCULAR
    across = "mean diameter" if circular else "width"
    if stone.table_pct is not None:
        yield _property("stone.tablePercent", "Table", stone.table_pct, _PERCENT, f"table over {across}")
    if (depth := measures.get("depth_pct")) is not None:
        computed = "" if stone.depth_pct is not None else ", computed from the stated millimeters"
        yield _property("stone.depthPercent", "Depth", depth, _PERCENT, f"depth over {across}{computed}")
    sides = length_and_width(stone)
    length = stone.length_mm if sides is None else float(sides[0])
    if length is not None:
        longer = "longer of two diameters" if circular and sides is not None else None
        yield _property("stone.length", "Length", length, _MILLIMETERS, longer)
    if (ratio := measures.get("ratio")) is not None:
        method = "length over width, rounded half up to two decimals"
        yield _property("stone.lengthToWidth", "Length to width", ratio, method=method)
    if (area := measures.get("face_up_mm2")) is not None:
        measured = "length and width" if stone.corner_mm is None else "length, width and corner"
        method = f"outline computed from {measured}"
        yield _property("stone.faceUpArea", "Face-up area", area, _SQUARE_MILLIMETERS, method)


def _of_the_metal(listing: Listing) -> Iterator[dict[str, Any]]:
    """How the metal is marked; whether it is plated is a yes or a no."""
    if listing.fineness_ppt is not None:
        yield _property("metal.fineness", "Fineness", listing.fineness_ppt, _PER_THOUSAND)
    if listing.plated is not None:
        yield _property("metal.plated", "Plated", listing.plated)


def _certification(report: Report | None) -> dict[str, Any] | None:
    """The grading report; None unless it has an issuer, a number or a date. Its status is not known here."""
    if report is None or (report.issuer, report.number, report.date) == (None, None, None):
        return None
    issuer = None if report.issuer is None else {"@type": "Organization", "name": report.issuer}
    return _kept(
        {
            "@type": "Certification",
            "name": "Grading report" if report.assessment is None else "Quality assessment",
            "certificationIdentification": report.number,
            "issuedBy": issuer,
            "datePublished": None if report.date is None else report.date.isoformat(),
        }
    )
