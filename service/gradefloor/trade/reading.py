"""A supplier's row read into a stone, with everything that stayed open.

Each field is read by itself; then the fields are held against one another. What contradicts or stays
open is left out of the stone and said in a remark; nothing is guessed in silence.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final, Literal

from gradefloor.trade import gradewords, particulars
from gradefloor.trade.cells import Cell, Read, Remark, RemarkKind, cell, is_blank, key, unusable
from gradefloor.trade.columns import FIELDS, Proposal, propose_columns
from gradefloor.trade.comments import (
    CommentEffect,
    comment_effect,
    comment_effects,
    comment_lines,
    fitting,
    tells_grown,
    treatments_named,
)
from gradefloor.trade.dimensions import Sizes, read_sizes, settle
from gradefloor.trade.draft import Draft, gather
from gradefloor.trade.numbers import LENGTH, SHARE, WEIGHT, amount, money, quantity
from gradefloor.trade.shapes import CIRCULAR, GROUPS
from gradefloor.trade.spellings import MATERIALS, ORIGINS, TRIPLE
from gradefloor.trade.ties import Evidence, Fill, likeliest

__all__ = [
    "FIELDS", "CommentEffect", "Fill", "Outcome", "Proposal", "Reading", "Remark", "RemarkKind",
    "comment_effect", "comment_effects", "propose_columns", "read_row",
]  # fmt: skip

Outcome = Literal["accepted", "ask", "set_aside"]


@dataclass(frozen=True, slots=True)
class Reading:
    """One row: the stone in its wire form, or None; the remarks; and what to do with it.

    `set_aside`: nothing of a stone can be read; or its color is graded on the scale of fancy colors, which
    this one must not be mixed with; or color and clarity stand in each other's column, so that the row has
    shifted and no cell of it can be trusted. `ask`: a question is open, and so is the shape wherever it is
    missing. `accepted`: read, perhaps with assumptions and with fields that the row does not state.
    """

    stone: dict[str, object] | None
    remarks: tuple[Remark, ...]
    outcome: Outcome


# Where no column tells them, the reading says so: their absence is easily taken for good news.
_MISSED: Final = ("carat", "color", "clarity", "fluorescence")

_WORDS: Final[dict[str, Callable[[Cell], Read[Any]]]] = {
    "id": particulars.stone_id,
    "material": particulars.material,
    "color": gradewords.color,
    "clarity": gradewords.clarity,
    "polish": gradewords.finish,
    "symmetry": gradewords.finish,
    "cut_grade": gradewords.finish,
    "fluorescence": gradewords.fluorescence,
    "culet": gradewords.culet,
    "crown_height_pct": lambda seen: quantity(seen, SHARE),
    "girdle_pct": lambda seen: quantity(seen, SHARE),
    "corner_mm": lambda seen: quantity(seen, LENGTH),
}
_REPORT: Final[dict[str, tuple[str, Callable[[Cell], Read[Any]]]]] = {
    "issuer": ("issuer", particulars.issuer),
    "report_number": ("number", particulars.report_number),
    "report_date": ("date", particulars.report_date),
    "assessment": (
        "assessment",
        particulars.one_of("premium", "standard", ask="Which quality class does the report state?"),
    ),
}
_OBSERVED: Final[dict[str, Callable[[Cell], Read[Any]]]] = {
    "eye_clean": particulars.eye_clean,
    "bow_tie": particulars.one_of(
        "none", "slight", "moderate", "severe", ask="How strong is the bow-tie, seen in a video?"
    ),
    "windowing": particulars.one_of(
        "none", "slight", "prominent", ask="How far can one see through the stone?"
    ),
    "haze": particulars.one_of("none", "slight", "strong", ask="How much haze does it show in daylight?"),
    "tint": particulars.one_of("none", "yellow", "brown", "green", "gray", ask="Which tint does it show?"),
    "seen_by": particulars.one_of("shop", "supplier", "setter", "customer", ask="Who looked at the stone?"),
}


def read_row(
    row: Mapping[str, object],
    columns: Mapping[str, str],
    *,
    number_format: str | Mapping[str, str] | None = None,
    origin: str | None = None,
    fill: Fill | None = None,
) -> Reading:
    """One row of free keys; `columns` says which field each header holds, and only those are read.

    `number_format` holds for the whole feed, or by header or field. `origin` is what the caller says of the
    whole feed. `fill` tells whether a weight fits a shape, for ties between shapes.
    """
    draft = gather(row, columns, number_format)
    for name, reader in _WORDS.items():
        draft.put(name, draft.take(name, reader))
    carat = draft.take("carat", lambda seen: Read(*amount(seen, WEIGHT)[::2]))
    draft.put("carat", None if carat is None else float(carat))
    _girdle(draft)
    sizes = read_sizes(draft.cells)
    shape = _shape(draft, sizes, carat, fill)
    if shape is not None:
        settle(sizes, shape, draft.cells)
        _triple(draft, shape)
    draft.members |= sizes.members()
    draft.remarks += sizes.remarks
    _report_and_origin(draft, origin)
    _observations(draft)
    _prices(draft, carat)
    _say_what_is_missing(draft, columns)
    outcome = _outcome(draft, shape)
    draft.put("shape", shape)
    stone = None if shape is None or outcome == "set_aside" else draft.members
    return Reading(stone, tuple(dict.fromkeys(draft.remarks)), outcome)


def _shape(draft: Draft, sizes: Sizes, carat: Decimal | None, fill: Fill | None) -> str | None:
    """The shape: what the report prints wins; a code that two shapes share stays open with a proposal."""
    printed, seen = draft.cells.get("report_shape"), draft.cells.get("shape")
    shape = _printed_shape(draft, printed, seen)
    if shape is None and seen is not None:
        if remark := unusable(seen):
            ask = particulars.ASK_SHAPE if remark.kind == "not_stated" else remark.ask
            draft.remarks.append(seen.remark(remark.kind, None, ask))
        else:
            shape = _named_shape(draft, seen, sizes, carat, fill)
    elif seen is None and not particulars.stated(printed) and "shape" not in draft.disputed():
        draft.missing("shape", particulars.ASK_SHAPE)
    if shape == "cushion":
        told = printed if printed and particulars.shape_word(printed) else seen
        if told:
            draft.remarks.append(told.remark("not_stated", shape, particulars.ASK_CUSHION))
    return shape


def _printed_shape(draft: Draft, printed: Cell | None, seen: Cell | None) -> str | None:
    if printed is None:
        return None
    if remark := unusable(printed):
        draft.remarks.append(remark)
        return None
    shape = particulars.shape_word(printed)
    if shape is None:
        draft.remarks.append(printed.remark("unreadable", None, particulars.ASK_SHAPE))
    elif seen is not None and not unusable(seen):
        word, shared = particulars.shape_word(seen), particulars.shared_shapes(seen)
        cushions = word == "cushion" and shape in GROUPS["cushions"]
        if (word and word != shape and not cushions) or (shared and shape not in shared):
            draft.remarks.append(seen.remark("contradiction", shape))
    return shape


def _named_shape(
    draft: Draft, seen: Cell, sizes: Sizes, carat: Decimal | None, fill: Fill | None
) -> str | None:
    material = draft.cells.get("material")
    gem = key(seen.text) in particulars.GEM_NAMES and material and key(material.text) not in MATERIALS
    if gem:
        draft.remarks.append(seen.remark("ambiguous", "emerald", "An emerald cut, or the gem emerald?"))
        return None
    if shape := particulars.shape_word(seen):
        return shape
    if shared := particulars.shared_shapes(seen):
        sides = sorted((one for one in (sizes.length, sizes.width) if one is not None), reverse=True)
        length, width = sides if None not in (sizes.length, sizes.width) else (None, None)
        ratio = sizes.ratio or (length / width if length and width else None)
        share = sizes.depth_pct or (sizes.depth * 100 / width if sizes.depth and width else None)
        evidence = Evidence(ratio, sizes.table_pct, share, carat, length, width, sizes.depth)
        ask = f"The code may stand for {' or '.join(shared)}. {particulars.ASK_SHAPE}"
        draft.remarks.append(seen.remark("ambiguous", likeliest(shared, evidence, fill), ask))
    else:
        draft.remarks.append(seen.remark("unreadable", None, particulars.ASK_SHAPE))
    return None


def _triple(draft: Draft, shape: str) -> None:
    """Three best grades at once are said of rounds; of another shape it is no cut grade of a report."""
    seen = draft.cells.get("cut_grade")
    if seen and shape not in CIRCULAR and key(seen.text) in TRIPLE:
        del draft.members["cut_grade"]
        ask = "Which cut grade, if any, does the report state for this shape?"
        draft.remarks.append(seen.remark("contradiction", None, ask))


def _girdle(draft: Draft) -> None:
    """The range from one column or from two; the two must not contradict the one."""
    found = dict(draft.take("girdle", gradewords.girdle) or {})
    for name in ("girdle_min", "girdle_max"):
        word = draft.take(name, gradewords.girdle_word)
        if word and found.setdefault(name, word) != word:
            ask = "Two columns state the girdle differently: which one is right?"
            draft.remarks.append(draft.cells[name].remark("contradiction", None, ask))
            del found[name]
    for name, value in found.items():
        draft.members.setdefault(name, value)


def _report_and_origin(draft: Draft, feed: str | None) -> None:
    """The report, and what its comments tell of origin and treatment."""
    report = {name: draft.take(column, read) for column, (name, read) in _REPORT.items()}
    seen = draft.cells.get("comments")
    lines = comment_lines(seen.value) if seen and not is_blank(seen) and key(seen.text) != "NONE" else []
    if seen and not lines:
        draft.remarks.append(seen.remark("not_stated"))
    if seen and len(fitting(lines)) < len(lines):
        draft.remarks.append(seen.remark("unreadable", f"the first {len(fitting(lines))} lines"))
    report["comments"] = fitting(lines) or None
    report = {name: value for name, value in report.items() if value is not None}
    draft.put("report", report or None)
    _origin(draft, feed, lines)
    _treatments(draft, lines)


_ORIGINS: Final = frozenset({"natural", "laboratory_grown"})


def _origin(draft: Draft, feed: str | None, lines: list[str]) -> None:
    """What a comment says of the origin is the report's own word; else those that speak must agree."""
    told = set[str]()
    seen = draft.cells.get("origin")
    if stated := draft.take("origin", particulars.origin):
        told.add(stated)
    material = draft.cells.get("material")
    if material and (named := ORIGINS.get(key(material.text))):
        told.add(named)
    if feed in _ORIGINS:
        told.add(feed)
    grown = next((line for line in lines if tells_grown(line)), None)
    if grown and not told:
        draft.remarks.append(cell("origin", grown).remark("assumed", "laboratory_grown"))
    if grown:
        told.add("laboratory_grown")
    if told == _ORIGINS:
        about = seen or cell("origin", grown)
        read_as = "laboratory_grown" if grown else None
        draft.remarks.append(about.remark("contradiction", read_as, particulars.ASK_ORIGIN))
    # A cell that is written but unread is overruled by the report alone.
    unread = seen is not None and not is_blank(seen) and stated is None
    if grown or (len(told) == 1 and not unread):
        draft.put("origin", "laboratory_grown" if grown else next(iter(told)))
    elif not told and seen is None:
        draft.missing("origin")


def _treatments(draft: Draft, lines: list[str]) -> None:
    """Those of the column, and those that hide in the comments: the worse news is always kept."""
    column = draft.cells.get("treatments")
    stated: list[str] | None = draft.take("treatments", particulars.treatments)
    found = list(stated or [])
    for line in lines:
        hidden = [name for name in treatments_named(line) if name not in found]
        # `other` from a vague line adds nothing to a treatment that has a name.
        if hidden and not (hidden == ["other"] and found):
            denied = stated == [] and column is not None
            kind: RemarkKind = "contradiction" if denied else "assumed"
            ask = "A comment tells of a treatment: was the stone treated?" if denied else None
            draft.remarks.append(cell("treatments", line).remark(kind, ", ".join(hidden), ask))
            found += hidden
    unsaid = "hpht" not in {name for line in lines for name in treatments_named(line)}
    if "hpht" in found and unsaid and draft.members.get("origin") == "laboratory_grown" and column:
        ask = "Is HPHT how the stone was grown, or a treatment after growth?"
        draft.remarks.append(column.remark("ambiguous", "hpht", ask))
    draft.put("treatments", found or stated)


def _observations(draft: Draft) -> None:
    """What a seller says was seen. A claim is passed on with its source, never as somebody else's look."""
    seen = {name: draft.take(name, read) for name, read in _OBSERVED.items()}
    shade = draft.take("shade", particulars.shade) or {}
    told = {name: value for name, value in {**shade, **seen}.items() if value is not None} | {
        name: value for name, value in shade.items() if seen.get(name) is None
    }
    if told and "seen_by" not in told:
        told["seen_by"] = "supplier"
        draft.remarks.append(Remark("seen_by", "", "supplier", "assumed"))
    draft.put("observations", told or None)


_PRICES: Final = ("price_per_carat", "total_price", "price")


def _prices(draft: Draft, carat: Decimal | None) -> None:
    """Prices are no part of a stone; two that do not fit its weight tell that a column is mistaken."""
    price = {name: draft.take(name, money) for name in _PRICES}
    each = price["price_per_carat"]
    name = "total_price" if price["total_price"] else "price"
    total = price[name]
    if each and total and carat and abs(each * carat - total) > total / 100:
        ask = "Price per carat times carat is not the total: which of the three is wrong?"
        draft.remarks.append(
            draft.cells[name].remark("contradiction", f"{(each * carat).normalize():f}", ask)
        )


def _say_what_is_missing(draft: Draft, columns: Mapping[str, str]) -> None:
    mapped = set(columns.values())
    for name in _MISSED:
        if name not in mapped:
            draft.missing(name)
    if not mapped & {"measurements", "length_mm", "width_mm"}:
        draft.missing("measurements")


# What says nothing of the stone itself.
_BESIDES: Final = frozenset({"id", "report", "origin", "observations", "material", "treatments"})


def _outcome(draft: Draft, shape: str | None) -> Outcome:
    said = {(remark.field, remark.kind) for remark in draft.remarks}
    color = draft.cells.get("color")
    shifted = {("color", "contradiction"), ("clarity", "contradiction")} <= said
    nothing = shape is None and ("shape", "ambiguous") not in said and not draft.members.keys() - _BESIDES
    if nothing or shifted or (color and gradewords.is_fancy_color(color)):
        return "set_aside"
    open_ = any(remark.ask and remark.kind not in {"assumed", "not_stated"} for remark in draft.remarks)
    return "ask" if open_ or shape is None else "accepted"
