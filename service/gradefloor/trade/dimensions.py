"""Length, width, depth, table and ratio of a row, read together because they check one another."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import ROUND_HALF_UP, Decimal
from typing import Any, Final

from gradefloor.trade.cells import Cell, Remark, damage, is_blank
from gradefloor.trade.draft import Look, Seen
from gradefloor.trade.numbers import (
    DEPTH,
    DEPTH_SHARE,
    LENGTH,
    RATIO,
    SHARE,
    Amount,
    amount,
    measurements,
    number,
)
from gradefloor.trade.shapes import CIRCULAR, SHAPES

_HUNDREDTH: Final = Decimal("0.01")
_TENTH: Final = Decimal("0.1")
# Above this a bare depth is a percentage, below it millimetres: common practice, no source.
_PERCENT_FROM: Final = 20
# In a column of percentages a smaller number than this is in millimetres.
_MILLIMETRES_BELOW: Final = Decimal(10)
# Two numbers of a round that differ by more are not its two diameters.
_ROUND: Final = Decimal("1.1")
# A typed depth % may miss the one from millimetres by rounding; the measures of the stone tell by how much.
# Five points are another thing: a slipped digit, or a number of another column.
_SLIP: Final = 5
_SAME: Final = Decimal("0.3")

_ASK_DEPTH: Final = DEPTH.ask
_ASK_SIZES: Final = "What are length, width and depth in mm?"


@dataclass(slots=True)
class Sizes:
    """What the row says of the stone's size, as it was read so far."""

    length: Decimal | None = None
    width: Decimal | None = None
    depth: Decimal | None = None
    depth_pct: Decimal | None = None
    table_pct: Decimal | None = None
    ratio: Decimal | None = None
    spread: bool = False
    pair: bool = False
    remarks: list[Remark] = field(default_factory=list)

    def across(self, shape: str) -> Decimal | None:
        """What a depth % is a share of: the mean diameter of a round, else the width."""
        if self.length is None or self.width is None:
            return None
        return (self.length + self.width) / 2 if shape in CIRCULAR else self.width

    def computed_ratio(self) -> Decimal | None:
        if self.length is None or self.width is None:
            return None
        return (self.length / self.width).quantize(_HUNDREDTH, ROUND_HALF_UP)

    def members(self) -> dict[str, object]:
        named = {
            "length_mm": self.length, "width_mm": self.width, "depth_mm": self.depth,
            "depth_pct": self.depth_pct, "table_pct": self.table_pct,
        }  # fmt: skip
        return {name: float(value) for name, value in named.items() if value is not None}


def ratio(seen: Cell) -> Amount:
    """Length over width: `1.38`, or `1.38:1`."""
    text = seen.text.replace(" ", "")
    head, colon, tail = text.partition(":")
    if colon and tail in {"1", "1.0", "1.00"} and not damage(seen) and not is_blank(seen):
        found = number(head, seen.number_format)
        if found.value is not None and found.value > 0:
            remarks = (seen.remark("assumed", f"{found.value:f}"),) if found.comma else ()
            return Amount(found.value, remarks)
    return amount(seen, RATIO)


# What each of the cells says by itself.
LOOKS: Final[dict[str, Look]] = {
    "length_mm": lambda seen: amount(seen, LENGTH),
    "width_mm": lambda seen: amount(seen, LENGTH),
    "depth_mm": lambda seen: amount(seen, LENGTH),
    "measurements": measurements,
    "depth": lambda seen: amount(seen, DEPTH),
    "depth_pct": lambda seen: amount(seen, DEPTH_SHARE),
    "table": lambda seen: amount(seen, SHARE),
    "table_pct": lambda seen: amount(seen, SHARE),
    "ratio": ratio,
}


def read_sizes(cells: Mapping[str, Seen]) -> Sizes:
    """Every size that the cells state, before anything is known of the shape."""
    sizes = Sizes()
    _read_outline(sizes, cells)
    _read_depth(sizes, cells)
    if "table_pct" in cells or "table" in cells:
        _read_table(sizes, cells)
    sizes.ratio = _value(sizes, cells.get("ratio"))
    return sizes


def _value(sizes: Sizes, seen: Seen | None) -> Any:
    if seen is None:
        return None
    found = seen[1]
    if found[1]:
        sizes.remarks += found[1]
    return found[0]


def _read_outline(sizes: Sizes, cells: Mapping[str, Seen]) -> None:
    sizes.length = _value(sizes, cells.get("length_mm"))
    sizes.width = _value(sizes, cells.get("width_mm"))
    sizes.depth = _value(sizes, cells.get("depth_mm"))
    if "measurements" not in cells:
        return
    seen, (numbers, remarks, spread) = cells["measurements"]
    sizes.remarks += remarks
    if any(one == 0 for one in numbers):
        sizes.remarks.append(seen.remark("not_stated"))
    for name, value in zip(("length", "width", "depth"), numbers, strict=False):
        stated = getattr(sizes, name)
        if stated is not None and value and stated != value:
            setattr(sizes, name, None)
            ask = f"The row states two numbers for the {name}: which one is right?"
            sizes.remarks.append(seen.remark("contradiction", None, ask))
        elif value:
            setattr(sizes, name, value)
    sizes.spread = spread
    sizes.pair = bool(numbers) and not spread and not numbers[2:] and sizes.depth is None


def _read_depth(sizes: Sizes, cells: Mapping[str, Seen]) -> None:
    """Depth columns: `depth` may hold either unit, the others hold their own or a mistake."""
    percent = cells.get("depth_pct")
    value = _value(sizes, percent)
    if percent and value is not None:
        # A column of % with 3.9 in it holds millimetres, and one with 0.62 holds a share of one.
        if value <= 1:
            sizes.remarks.append(percent.cell.remark("ambiguous", f"{value * 100:f} %", _ASK_DEPTH))
        elif value < min(_MILLIMETRES_BELOW, sizes.width or _MILLIMETRES_BELOW):
            sizes.remarks.append(percent.cell.remark("contradiction", f"{value:f} mm", _ASK_DEPTH))
        else:
            sizes.depth_pct = value
    millimetres = cells.get("depth_mm")
    if millimetres and sizes.depth is not None and sizes.depth > _PERCENT_FROM > (sizes.width or 0):
        share = None if percent else f"{sizes.depth:f} %"
        sizes.remarks.append(millimetres.cell.remark("contradiction", share, _ASK_DEPTH))
        sizes.depth = None
    if seen := cells.get("depth"):
        _read_either_depth(sizes, seen)


def _read_either_depth(sizes: Sizes, looked: Seen) -> None:
    seen, (_, _, unit) = looked
    value: Decimal | None = _value(sizes, looked)
    if value is None:
        return
    share = unit in SHARE.units and unit != ""
    if not unit:
        if value <= 1:
            sizes.remarks.append(seen.remark("ambiguous", f"{value * 100:f} %", _ASK_DEPTH))
            return
        share = value > _PERCENT_FROM
        if not share and sizes.width is not None and value >= sizes.width:
            sizes.remarks.append(seen.remark("contradiction", None, _ASK_DEPTH))
            return
        sizes.remarks.append(seen.remark("assumed", f"{value:f} {'%' if share else 'mm'}"))
    name = "depth_pct" if share else "depth"
    stated = getattr(sizes, name)
    if stated is not None and abs(stated - value) > (_SAME if share else _HUNDREDTH):
        sizes.remarks.append(seen.remark("contradiction", None, _ASK_DEPTH))
        setattr(sizes, name, None)
    elif stated is None:
        setattr(sizes, name, value)


def _read_table(sizes: Sizes, cells: Mapping[str, Seen]) -> None:
    found = list[tuple[Cell, Decimal]]()
    for name in ("table_pct", "table"):
        seen = cells.get(name)
        value = _value(sizes, seen)
        if seen and value is not None:
            # No table is so small: it is in millimetres, or a share of one.
            if value <= 1:
                sizes.remarks.append(seen.cell.remark("ambiguous", f"{value * 100:f} %", SHARE.ask))
            elif value < _MILLIMETRES_BELOW:
                sizes.remarks.append(seen.cell.remark("ambiguous", f"{value:f} mm", SHARE.ask))
            else:
                found.append((seen.cell, value))
    if len({value for _, value in found}) > 1:
        sizes.remarks.append(found[1][0].remark("contradiction", None, SHARE.ask))
    elif found:
        sizes.table_pct = found[0][1]


# Once the shape is known


def settle(sizes: Sizes, shape: str, cells: Mapping[str, Seen]) -> None:
    """Turn what lies the wrong way round, and leave out what contradicts the rest."""
    outline = cells.get("measurements") or cells.get("length_mm") or cells.get("width_mm")
    if outline:
        _settle_outline(sizes, shape, outline.cell)
    if sizes.depth is not None and any(
        side is not None and sizes.depth >= side for side in (sizes.length, sizes.width)
    ):
        deep = next(cells[name].cell for name in ("depth_mm", "measurements", "depth") if name in cells)
        sizes.remarks.append(deep.remark("contradiction", None, _ASK_SIZES))
        sizes.depth = None
    _settle_depths(sizes, shape, cells)
    if (seen := cells.get("ratio")) and sizes.ratio is not None:
        _settle_ratio(sizes, shape, seen.cell)


def _settle_outline(sizes: Sizes, shape: str, outline: Cell) -> None:
    length, width = sizes.length, sizes.width
    if length is None or width is None:
        return
    if shape in CIRCULAR:
        if sizes.pair and max(length, width) > _ROUND * min(length, width):
            sizes.remarks.append(
                outline.remark("ambiguous", f"{length:f} mm across, {width:f} mm deep", _ASK_SIZES)
            )
            sizes.length = sizes.width = None
        return
    if sizes.spread:
        # Written the way diameters of rounds are, for a shape that has none.
        sizes.remarks.append(outline.remark("assumed", f"{length:f} long, {width:f} wide"))
    if length < width and not SHAPES[shape].length_is_axis:
        sizes.length, sizes.width = width, length
        sizes.remarks.append(outline.remark("assumed", f"turned: {width:f} long, {length:f} wide"))


def _settle_depths(sizes: Sizes, shape: str, cells: Mapping[str, Seen]) -> None:
    across = sizes.across(shape)
    if across is None or sizes.depth is None or sizes.depth_pct is None:
        return
    seen = next(cells[name].cell for name in ("depth_pct", "depth") if name in cells)
    share = (sizes.depth * 100 / across).quantize(_TENTH, ROUND_HALF_UP)
    gap = abs(share - sizes.depth_pct)
    if gap <= _SAME:
        return
    over_length = sizes.depth * 100 / sizes.length if sizes.length else share
    if shape not in CIRCULAR and abs(over_length - sizes.depth_pct) <= _SAME:
        ask = "The depth % fits depth over length: are length and width exchanged?"
        sizes.remarks.append(seen.remark("contradiction", f"{share:f} %", ask))
        sizes.depth_pct = None
    elif gap > _SLIP:
        ask = "Depth %, depth in mm and width do not fit together: which one is wrong?"
        sizes.remarks.append(seen.remark("contradiction", None, ask))
        sizes.depth = sizes.depth_pct = None


def _settle_ratio(sizes: Sizes, shape: str, seen: Cell) -> None:
    """The ratio is not kept: it follows from the sides, and may only speak against them."""
    computed = sizes.computed_ratio()
    if computed is None or sizes.ratio is None or abs(sizes.ratio - computed) <= Decimal("0.02"):
        return
    if shape in CIRCULAR and computed:
        # The order of two diameters has no meaning.
        computed_back = (1 / computed).quantize(_HUNDREDTH, ROUND_HALF_UP)
        if abs(sizes.ratio - computed_back) <= Decimal("0.02"):
            return
    if not SHAPES[shape].length_is_axis and abs(1 / sizes.ratio - computed) <= Decimal("0.02"):
        sizes.remarks.append(seen.remark("assumed", f"width over length; {computed:f} the right way round"))
    else:
        ask = "The ratio does not fit length and width: which one is wrong?"
        sizes.remarks.append(seen.remark("contradiction", f"{computed:f}", ask))
