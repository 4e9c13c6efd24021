"""Which field of a stone a supplier's column holds, told from its header alone."""

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from gradefloor.trade.cells import clean

# Field, and the headers it is usually found under: common practice, no source. In a header `%` and `#` tell;
# other punctuation does not. Words that different lists use differently ("cert", "cut", "type") are not here.
_HEADERS: Final = {
    "id": "stock, stock #, stock no, stock number, stone id, sku, ref, ref no, reference, item, item no, "
    "lot, "
    "lot no, packet, packet no",
    "material": "stone material, gem material",
    "origin": "diamond origin, natural or lab, lab grown, laboratory grown, growth, growth type",
    "shape": "shp, shape code, shape name, shape cut, stone shape",
    "report_shape": "shape on report, shape and cut, shape and cutting style, cutting style, lab shape, "
    "certificate shape, shape description",
    "carat": "ct, cts, crt, carats, carat weight, weight, wt, wgt, size ct, cts wt, ct wt, weight ct, "
    "weight cts",
    "color": "col, colour, clr, color grade, colour grade",
    "clarity": "clar, cla, clarity grade, purity",
    "measurements": "measurement, meas, mm, dimensions, dimension, dims, size mm, measurements mm, measures",
    "length_mm": "l, length, len, x, l mm, length mm, max diameter, max dia",
    "width_mm": "w, width, wid, y, w mm, width mm, min diameter, min dia",
    "depth_mm": "h, height, z, h mm, height mm, depth mm",
    "depth": "dep, d, dpth",
    "depth_pct": "depth %, depth percent, depth percentage, td %, total depth %, total depth, depth per, "
    "d %, dep %",
    "ratio": "l w, lw, l w ratio, lw ratio, length width ratio, length to width, l to w, lwr",
    "table": "tbl, tab, table size, table width",
    "table_pct": "table %, table percent, table percentage, tbl %, t %, table per, tab %",
    "crown_height_pct": "crown height, crown height %, ch %, crown %, cr height, crown h",
    "girdle": "gir, gird, girdle thickness, girdle desc, girdle description, girdle condition",
    "girdle_min": "girdle min, min girdle, girdle thin, girdle from",
    "girdle_max": "girdle max, max girdle, girdle thick, girdle to",
    "girdle_pct": "girdle %, girdle percent, gird %, average girdle %",
    "corner_mm": "corner, corner mm",
    "polish": "pol, pol grade, polish grade",
    "symmetry": "sym, symm, symetry, symmetry grade",
    "cut_grade": "cut grade, cut quality, make, cutgrade",
    "fluorescence": "fl, fluo, fluor, flour, flo, flr, fls, fluorescent, flourescence, "
    "fluorescence intensity, "
    "flr intensity, fluor int",
    "culet": "cul, culet size, cu size",
    "treatments": "treatment, enhancement, enhancements, treated",
    "comments": "comment, remarks, remark, report comments, lab comments, cert comments, "
    "certificate comments, notes",
    "issuer": "lab, laboratory, cert lab, grading lab, issued by, report lab",
    "report_number": "cert no, cert #, cert number, certificate no, certificate #, certificate number, "
    "report, "
    "report no, report #, report number, certno, certificate id, grading report",
    "report_date": "cert date, certificate date, report issue date, issue date, date of report",
    "assessment": "quality class",
    "eye_clean": "eyeclean, eye clean, ec, eye clean y n",
    "shade": "tinge, bgm, shade tinge, color shade, colour shade, milky",
    "price": "asking price, price usd, price us, usd",
    "price_per_carat": "ppc, price ct, price cts, per ct, per carat, price carat, price per ct, ct price, "
    "pr ct, "
    "usd ct, rate",
    "total_price": "total, total amount, amount, amt, total value, total usd, price total, net value",
}  # fmt: skip
# Read under their own names only, because no list is known to have them.
OBSERVED: Final = ("bow_tie", "windowing", "haze", "tint", "seen_by")
FIELDS: Final = frozenset(_HEADERS) | frozenset(OBSERVED)


def _key(header: str) -> str:
    text = clean(header[:200]).casefold().replace("$", " usd ").replace("%", " % ").replace("#", " # ")
    return " ".join(re.sub("[^0-9a-z%#]+", " ", text).split())


_FIELD_OF: Final = {
    _key(spelling): field
    for field, spellings in {**dict.fromkeys(OBSERVED, ""), **_HEADERS}.items()
    for spelling in (field, *filter(None, (one.strip() for one in spellings.split(","))))
}


@dataclass(frozen=True, slots=True)
class Proposal:
    """What each column seems to hold, and the headers that nobody can tell."""

    columns: dict[str, str]
    open: list[str]


def propose_columns(headers: Sequence[str]) -> Proposal:
    """A field for every header that has one usual meaning; two headers for one field leave both open."""
    names = list(dict.fromkeys(headers))
    found = {header: field for header in names if (field := _field(header))}
    taken = Counter(field for header in headers if (field := found.get(header)))
    # "Cut" is the grade beside a shape, and may be the shape where no other column is.
    if taken.keys() & {"shape", "report_shape"} and not taken["cut_grade"]:
        cuts = [header for header in names if _key(header) == "cut"]
        if len(cuts) == 1:
            found[cuts[0]] = "cut_grade"
            taken["cut_grade"] = headers.count(cuts[0])
    columns = {header: found[header] for header in names if header in found and taken[found[header]] == 1}
    return Proposal(columns, [header for header in names if header not in columns])


def _field(header: str) -> str | None:
    # `Depth %` and `Depth` differ by the sign alone.
    return _FIELD_OF.get(_key(header))
