"""A supplier's row read into a stone, with everything that stayed open.

Each field is read by itself; then the fields are held against one another. What contradicts or stays
open is left out of the stone and said in a remark; nothing is guessed in silence.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Literal, NamedTuple

from gradefloor.trade import dimensions, gradewords, particulars
from gradefloor.trade.cells import Cell, Remark, RemarkKind, cell, is_blank, key
from gradefloor.trade.columns import FIELDS, Proposal, propose_columns
from gradefloor.trade.comments import CommentEffect, Comments, comment_effect, comment_effects, comments
from gradefloor.trade.dimensions import Sizes, read_sizes, settle
from gradefloor.trade.draft import Draft, Look, gather, missing, resolved
from gradefloor.trade.numbers import LENGTH, SHARE, WEIGHT, amount, money, quantity
from gradefloor.trade.particulars import Named
from gradefloor.trade.shapes import CIRCULAR, GROUPS
from gradefloor.trade.spellings import TRIPLE
from gradefloor.trade.ties import Evidence, Fill, likeliest

__all__ = [
    "FIELDS", "CommentEffect", "Fill", "Outcome", "Proposal", "Reading", "Remark", "RemarkKind",
    "RowReader", "comment_effect", "comment_effects", "propose_columns", "read_row",
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


class Color(NamedTuple):
    """The grade; `fancy` tells that the cell is on the scale of fancy colors."""

    value: str | None
    remarks: tuple[Remark, ...]
    fancy: bool


def _color(seen: Cell) -> Color:
    return Color(*gradewords.color(seen), gradewords.is_fancy_color(seen))


# Members that one cell alone decides, in the order in which a stone has them.
_WORDS: Final[dict[str, Look]] = {
    "id": particulars.stone_id,
    "material": particulars.material,
    "color": _color,
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
_REPORT: Final[dict[str, tuple[str, Look]]] = {
    "issuer": ("issuer", particulars.issuer),
    "report_number": ("number", particulars.report_number),
    "report_date": ("date", particulars.report_date),
    "assessment": (
        "assessment",
        particulars.one_of("premium", "standard", ask="Which quality class does the report state?"),
    ),
}
_OBSERVED: Final[dict[str, Look]] = {
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
_PRICES: Final = ("price_per_carat", "total_price", "price")
# What each cell says by itself, whatever stands in the others of its row.
_LOOKS: Final[dict[str, Look]] = {
    **_WORDS,
    **dimensions.LOOKS,
    **{column: look for column, (_, look) in _REPORT.items()},
    **_OBSERVED,
    **dict.fromkeys(_PRICES, money),
    "carat": lambda seen: amount(seen, WEIGHT),
    "girdle": gradewords.girdle,
    "girdle_min": gradewords.girdle_word,
    "girdle_max": gradewords.girdle_word,
    "shape": particulars.named,
    "report_shape": particulars.named,
    "comments": comments,
    "origin": particulars.origin,
    "treatments": particulars.treatments,
    "shade": particulars.shade,
}


class RowReader:
    """Rows of one feed, read one by one: the columns are resolved once.

    What a value says in its column is kept for the next row that has it, which changes no answer.
    """

    def __init__(
        self,
        columns: Mapping[str, str],
        *,
        number_format: str | Mapping[str, str] | None = None,
        origin: str | None = None,
        fill: Fill | None = None,
    ) -> None:
        """`columns` says which field each header holds, and only those are read.

        `number_format` holds for the whole feed, or by header or field. `origin` is what the caller says of
        the whole feed. `fill` tells whether a weight fits a shape, for ties between shapes.
        """
        self.columns = tuple(resolved(columns, number_format, _LOOKS))
        self._origin = origin
        self._fill = fill
        held = {column.field for column in self.columns}
        self._words = tuple(name for name in _WORDS if name in held)
        self._report = tuple((name, member) for name, (member, _) in _REPORT.items() if name in held)
        self._observed = tuple(name for name in _OBSERVED if name in held)
        self._girdle = bool(held & {"girdle", "girdle_min", "girdle_max"})
        self._shade = "shade" in held
        self._prices = tuple(name for name in _PRICES if name in held)
        self._missing = tuple(missing(name) for name in _MISSED if name not in held)
        if not held & {"measurements", "length_mm", "width_mm"}:
            self._missing += (missing("measurements"),)

    def read(self, row: Mapping[str, object]) -> Reading:
        """One row of free keys."""
        draft = gather(row, self.columns)
        members, remarks = draft.members, draft.remarks
        for name in self._words:
            seen = draft.seen.get(name)
            if seen is not None:
                found = seen[1]
                if found[0] is not None:
                    members[name] = found[0]
                if found[1]:
                    remarks += found[1]
        carat: Decimal | None = draft.take("carat")
        draft.put("carat", None if carat is None else float(carat))
        if self._girdle:
            _girdle(draft)
        sizes = read_sizes(draft.seen)
        shape = _shape(draft, sizes, carat, self._fill)
        if shape is not None:
            settle(sizes, shape, draft.seen)
            _triple(draft, shape)
        draft.members |= sizes.members()
        draft.remarks += sizes.remarks
        told = _report(draft, self._report)
        _origin(draft, self._origin, told)
        _treatments(draft, told)
        if self._observed or self._shade:
            _observations(draft, self._observed)
        if self._prices:
            _prices(draft, self._prices, carat)
        draft.remarks += self._missing
        outcome = _outcome(draft, shape)
        draft.put("shape", shape)
        stone = None if shape is None or outcome == "set_aside" else draft.members
        return Reading(stone, tuple(dict.fromkeys(draft.remarks)), outcome)


def read_row(
    row: Mapping[str, object],
    columns: Mapping[str, str],
    *,
    number_format: str | Mapping[str, str] | None = None,
    origin: str | None = None,
    fill: Fill | None = None,
) -> Reading:
    """One row by itself; of many rows, a `RowReader` resolves the columns once."""
    return RowReader(columns, number_format=number_format, origin=origin, fill=fill).read(row)


def _shape(draft: Draft, sizes: Sizes, carat: Decimal | None, fill: Fill | None) -> str | None:
    """The shape: what the report prints wins; a code that two shapes share stays open with a proposal."""
    printed, seen = draft.seen.get("report_shape"), draft.seen.get("shape")
    shape = None if printed is None else _printed_shape(draft)
    if shape is None and seen is not None:
        if remark := seen.found.unusable:
            ask = particulars.ASK_SHAPE if remark.kind == "not_stated" else remark.ask
            draft.remarks.append(seen.cell.remark(remark.kind, None, ask))
        else:
            shape = _named_shape(draft, sizes, carat, fill)
    elif seen is None and (printed is None or is_blank(printed.cell)) and "shape" not in draft.disputed():
        draft.missing("shape", particulars.ASK_SHAPE)
    if shape == "cushion":
        told = printed if printed and printed.found.word else seen
        if told:
            draft.remarks.append(told.cell.remark("not_stated", shape, particulars.ASK_CUSHION))
    return shape


def _printed_shape(draft: Draft) -> str | None:
    printed: Named
    seen, printed = draft.seen["report_shape"]
    if printed.unusable:
        draft.remarks.append(printed.unusable)
        return None
    if printed.word is None:
        draft.remarks.append(seen.remark("unreadable", None, particulars.ASK_SHAPE))
    elif "shape" in draft.seen:
        sold: Named
        seen, sold = draft.seen["shape"]
        cushions = sold.word == "cushion" and printed.word in GROUPS["cushions"]
        other = sold.word and sold.word != printed.word and not cushions
        if not sold.unusable and (other or (sold.shared and printed.word not in sold.shared)):
            draft.remarks.append(seen.remark("contradiction", printed.word))
    return printed.word


def _named_shape(draft: Draft, sizes: Sizes, carat: Decimal | None, fill: Fill | None) -> str | None:
    named: Named
    seen, named = draft.seen["shape"]
    if named.gem and (material := draft.seen.get("material")) and not material.found.known:
        draft.remarks.append(seen.remark("ambiguous", "emerald", "An emerald cut, or the gem emerald?"))
        return None
    if named.word:
        return named.word
    if named.shared:
        sides = sorted((one for one in (sizes.length, sizes.width) if one is not None), reverse=True)
        length, width = sides if None not in (sizes.length, sizes.width) else (None, None)
        ratio = sizes.ratio or (length / width if length and width else None)
        share = sizes.depth_pct or (sizes.depth * 100 / width if sizes.depth and width else None)
        evidence = Evidence(ratio, sizes.table_pct, share, carat, length, width, sizes.depth)
        ask = f"The code may stand for {' or '.join(named.shared)}. {particulars.ASK_SHAPE}"
        draft.remarks.append(seen.remark("ambiguous", likeliest(named.shared, evidence, fill), ask))
    else:
        draft.remarks.append(seen.remark("unreadable", None, particulars.ASK_SHAPE))
    return None


def _triple(draft: Draft, shape: str) -> None:
    """Three best grades at once are said of rounds; of another shape it is no cut grade of a report."""
    seen = draft.cell("cut_grade")
    if seen and shape not in CIRCULAR and key(seen.text) in TRIPLE:
        del draft.members["cut_grade"]
        ask = "Which cut grade, if any, does the report state for this shape?"
        draft.remarks.append(seen.remark("contradiction", None, ask))


def _girdle(draft: Draft) -> None:
    """The range from one column or from two; the two must not contradict the one."""
    found = dict(draft.take("girdle") or {})
    for name in ("girdle_min", "girdle_max"):
        word = draft.take(name)
        if word and found.setdefault(name, word) != word:
            ask = "Two columns state the girdle differently: which one is right?"
            draft.remarks.append(draft.seen[name].cell.remark("contradiction", None, ask))
            del found[name]
    for name, value in found.items():
        draft.members.setdefault(name, value)


_SILENT: Final = Comments([])


def _report(draft: Draft, held: tuple[tuple[str, str], ...]) -> Comments:
    """The report; gives what its comments tell of origin and treatment."""
    report = {}
    for name, member in held:
        value = draft.take(name)
        if value is not None:
            report[member] = value
    if "comments" not in draft.seen:
        draft.put("report", report or None)
        return _SILENT
    lines = draft.take("comments")
    if lines:
        report["comments"] = list(lines)
    draft.put("report", report or None)
    told: Comments = draft.seen["comments"].found
    return told


_ORIGINS: Final = frozenset({"natural", "laboratory_grown"})


def _origin(draft: Draft, feed: str | None, comments: Comments) -> None:
    """What a comment says of the origin is the report's own word; else those that speak must agree."""
    told = set[str]()
    seen = draft.cell("origin")
    if stated := draft.take("origin"):
        told.add(stated)
    material = draft.seen.get("material")
    if material and material.found.origin:
        told.add(material.found.origin)
    if feed in _ORIGINS:
        told.add(feed)
    grown = comments.grown
    if grown and not told:
        draft.remarks.append(cell("origin", grown).remark("assumed", "laboratory_grown"))
    if grown:
        told.add("laboratory_grown")
    if told == _ORIGINS:
        about = seen or cell("origin", grown)
        read_as = "laboratory_grown" if grown else None
        draft.remarks.append(about.remark("contradiction", read_as, particulars.ASK_ORIGIN))
    # A cell that is written but unread is overruled by the report alone.
    unread = seen is not None and stated is None and not is_blank(seen)
    if grown or (len(told) == 1 and not unread):
        draft.put("origin", "laboratory_grown" if grown else next(iter(told)))
    elif not told and seen is None:
        draft.missing("origin")


def _treatments(draft: Draft, comments: Comments) -> None:
    """Those of the column, and those that hide in the comments: the worse news is always kept."""
    column = draft.cell("treatments")
    stated: list[str] | None = draft.take("treatments")
    if not comments.treated and stated is None:
        return
    found = list(stated or [])
    for line, names in comments.treated:
        hidden = [name for name in names if name not in found]
        # `other` from a vague line adds nothing to a treatment that has a name.
        if hidden and not (hidden == ["other"] and found):
            denied = stated == [] and column is not None
            kind: RemarkKind = "contradiction" if denied else "assumed"
            ask = "A comment tells of a treatment: was the stone treated?" if denied else None
            draft.remarks.append(cell("treatments", line).remark(kind, ", ".join(hidden), ask))
            found += hidden
    unsaid = "hpht" not in {name for _, names in comments.treated for name in names}
    if "hpht" in found and unsaid and draft.members.get("origin") == "laboratory_grown" and column:
        ask = "Is HPHT how the stone was grown, or a treatment after growth?"
        draft.remarks.append(column.remark("ambiguous", "hpht", ask))
    draft.put("treatments", found)


def _observations(draft: Draft, held: tuple[str, ...]) -> None:
    """What a seller says was seen. A claim is passed on with its source, never as somebody else's look."""
    seen = {name: draft.take(name) for name in held}
    shade = draft.take("shade") or {}
    # A shade is overruled by the column of the same name, and stands last where that one says nothing.
    first = {name: seen[name] for name in shade if seen.get(name) is not None}
    told = {name: value for name, value in {**first, **seen}.items() if value is not None}
    told |= {name: value for name, value in shade.items() if seen.get(name) is None}
    if told and "seen_by" not in told:
        told["seen_by"] = "supplier"
        draft.remarks.append(_SEEN_BY_SUPPLIER)
    draft.put("observations", told or None)


_SEEN_BY_SUPPLIER: Final = Remark("seen_by", "", "supplier", "assumed")


def _prices(draft: Draft, held: tuple[str, ...], carat: Decimal | None) -> None:
    """Prices are no part of a stone; two that do not fit its weight tell that a column is mistaken."""
    price = {name: draft.take(name) for name in held}
    each = price.get("price_per_carat")
    name = "total_price" if price.get("total_price") else "price"
    total = price.get(name)
    if each and total and carat and abs(each * carat - total) > total / 100:
        ask = "Price per carat times carat is not the total: which of the three is wrong?"
        draft.remarks.append(
            draft.seen[name].cell.remark("contradiction", f"{(each * carat).normalize():f}", ask)
        )


# What says nothing of the stone itself.
_BESIDES: Final = frozenset({"id", "report", "origin", "observations", "material", "treatments"})


def _outcome(draft: Draft, shape: str | None) -> Outcome:
    contradicted = {remark.field for remark in draft.remarks if remark.kind == "contradiction"}
    color = draft.seen.get("color")
    if (contradicted and {"color", "clarity"} <= contradicted) or (color and color.found.fancy):
        return "set_aside"
    if shape is None:
        known = draft.members.keys() - _BESIDES
        tied = any(remark.field == "shape" and remark.kind == "ambiguous" for remark in draft.remarks)
        return "ask" if known or tied else "set_aside"
    for remark in draft.remarks:
        if remark.ask and remark.kind not in _NO_QUESTION:
            return "ask"
    return "accepted"


_NO_QUESTION: Final = frozenset({"assumed", "not_stated"})
