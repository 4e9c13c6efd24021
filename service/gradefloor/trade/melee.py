"""Small stones set in rows: around a centre, along a shank, around a finger.

Lengths in mm and weights in ct, decimals. Melee is round and full cut, its diameter within `MELEE_MM` (else
ValueError). Numbers of stones are floors, so lines are rounded to 0.001 mm and chords to 0.000001 mm first: a
row that fits exactly on paper must not lose a stone to binary arithmetic.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from itertools import pairwise
from typing import TYPE_CHECKING, Final, Literal

from gradefloor.trade.contours import around_mm, contour, parallel

if TYPE_CHECKING:
    from shapely import Polygon

_HUNDREDTH: Final = Decimal("0.01")
_THOUSANDTH: Final = Decimal("0.001")
_TEN_THOUSANDTH: Final = Decimal("0.0001")
_MILLIONTH: Final = Decimal("0.000001")
_PI: Final = Decimal(repr(math.pi))

# Carats of one stone by its diameter, as the trade's charts of melee have it: common practice, no source.
_CHART: Final = tuple(
    (Decimal(diameter), Decimal(carat))
    for diameter, carat in (
        ("0.8", "0.0025"), ("0.9", "0.0035"), ("1.0", "0.005"), ("1.1", "0.0065"), ("1.2", "0.0085"),
        ("1.3", "0.0105"), ("1.4", "0.0125"), ("1.5", "0.015"), ("1.6", "0.018"), ("1.7", "0.021"),
        ("1.8", "0.025"), ("1.9", "0.028"), ("2.0", "0.031"), ("2.2", "0.041"), ("2.5", "0.062"),
        ("2.6", "0.068"), ("2.7", "0.075"), ("2.8", "0.083"), ("3.0", "0.105"), ("3.5", "0.165"),
    )
)  # fmt: skip
MELEE_MM: Final = (_CHART[0][0], _CHART[-1][0])

HALO_GAP: Final = Decimal("0.15")  # from the centre to the melee; met from 0.10 to 0.25: from memory
# Room between two stones. 0.10: GIA, quality assurance benchmarks for a bead-set shank. 0.15 for larger ones
# is from memory; in between it grows evenly.
_SMALL: Final = (Decimal("2.0"), Decimal("0.10"))
_LARGE: Final = (Decimal("2.5"), Decimal("0.15"))
# Wider gaps are seen as gaps: from memory. Another size is looked for this far away.
LOOSE_MM: Final = Decimal("0.20")
_OTHER_SIZES: Final = 3  # tenths of a millimetre
# A row is counted along its line, but stones touch along the chord. With 8 on a circle the chord is 2.6 %
# shorter, less than the room between stones of any size here. With 6 it is 4.5 %: 3.5 mm would collide.
FEWEST_AROUND: Final = 8
# Girdle plane of an eternity band above its inner surface, the larger of both: from memory.
_SEAT_MM: Final = Decimal("1.5")
_SEAT_SHARE: Final = Decimal("0.45")
_SEAT_FLOOR: Final = Decimal("0.6")
_BETWEEN_ROWS: Final = Decimal("0.10")  # metal between rows side by side: from memory


@dataclass(frozen=True, slots=True)
class Row:
    """Stones of one size in a row.

    `centre_line_mm` is the length, to 0.001, of the line that the centres lie on; None where chords were
    used. `fits` is the largest number of stones with the room they want, `count` what is ordered, and
    `spacing_mm` (to 0.01) the room that count leaves. `carat_total`, to 0.01, is for `count` stones.
    `next_melee_mm` is given where that room is more than LOOSE_MM: the nearest size in tenths, up to 0.3 mm
    away and the larger of two equally near (it shows more stone and less metal), that set in its own place
    and number leaves no more. None too where no such size is near; then only graduated sizes help.
    """

    melee_mm: Decimal
    centre_line_mm: Decimal | None
    fits: int
    count: int
    spacing_mm: Decimal
    carat_each: Decimal
    carat_total: Decimal
    next_melee_mm: Decimal | None


@dataclass(frozen=True, slots=True)
class Halo:
    """Rows around a centre from the inside out, and the size (to 0.001 mm) of the whole seen from above.

    The longer measure is the length, unless the shape's length is an axis.
    """

    rows: tuple[Row, ...]
    outer_length_mm: Decimal
    outer_width_mm: Decimal
    count: int
    carat_total: Decimal


@dataclass(frozen=True, slots=True)
class Eternity:
    """Stones around a finger; `radius_mm`, to 0.001, is that of their girdle plane."""

    row: Row
    radius_mm: Decimal
    resizable: bool


def _in_chart(diameter_mm: Decimal) -> Decimal:
    if not MELEE_MM[0] <= diameter_mm <= MELEE_MM[1]:
        raise ValueError(f"melee is {MELEE_MM[0]} to {MELEE_MM[1]} mm, not {diameter_mm}")
    return diameter_mm


def melee_carat(diameter_mm: Decimal) -> Decimal:
    """Carats of one stone, to 0.0001; between the sizes of the chart by a power of the diameter."""
    pairs = pairwise(_CHART)
    (low, light), (high, heavy) = next(pair for pair in pairs if _in_chart(diameter_mm) <= pair[1][0])
    power = (heavy / light).ln() / (high / low).ln()
    return (light * (diameter_mm / low) ** power).quantize(_TEN_THOUSANDTH, ROUND_HALF_UP)


def spacing_mm(diameter_mm: Decimal) -> Decimal:
    """Room that stones of this size want between them."""
    (low, narrow), (high, wide) = _SMALL, _LARGE
    share = (min(max(_in_chart(diameter_mm), low), high) - low) / (high - low)
    return narrow + (wide - narrow) * share


@dataclass(frozen=True, slots=True)
class _Set:
    """Stones of a size in their place: what a Row says of them, `spacing` to 0.01 mm."""

    line: Decimal | None
    fits: int
    count: int
    spacing: Decimal


def _along(line: Decimal, melee_mm: Decimal, fewest: int) -> _Set | None:
    """An even number along a line; None where fewer than `fewest` have room."""
    fits = int(line // (melee_mm + spacing_mm(melee_mm)))
    count = fits - fits % 2
    if count < fewest:
        return None
    return _Set(line, fits, count, (line / count - melee_mm).quantize(_HUNDREDTH, ROUND_HALF_UP))


def _row(melee_mm: Decimal, found: _Set, place: Callable[[Decimal], _Set | None]) -> Row:
    """The row as `found`, where `place` sets stones of other sizes."""
    each = melee_carat(melee_mm)
    return Row(
        melee_mm,
        found.line,
        found.fits,
        found.count,
        found.spacing,
        each,
        (found.count * each).quantize(_HUNDREDTH, ROUND_HALF_UP),
        _closer(melee_mm, place) if found.spacing > LOOSE_MM else None,
    )


def _closer(melee_mm: Decimal, place: Callable[[Decimal], _Set | None]) -> Decimal | None:
    """The nearest other size that sits without wide gaps."""
    tenths = int(melee_mm * 10)
    sizes = (Decimal(k) / 10 for k in range(tenths - _OTHER_SIZES, tenths + _OTHER_SIZES + 1))
    near = [
        size
        for size in sizes
        if 0 < abs(size - melee_mm) * 10 <= _OTHER_SIZES and MELEE_MM[0] <= size <= MELEE_MM[1]
    ]
    for size in sorted(near, key=lambda size: (abs(size - melee_mm), -size)):
        found = place(size)
        if found is not None and found.spacing <= LOOSE_MM:
            return size
    return None


def _row_around(shape: str, stone: "Polygon", inside_mm: Decimal, melee_mm: Decimal) -> Row | None:
    """The row that begins `inside_mm` away from the stone; None where it has too few stones."""

    def around(size: Decimal) -> _Set | None:
        return _along(around_mm(parallel(shape, stone, inside_mm + size / 2)), size, FEWEST_AROUND)

    found = around(melee_mm)
    return None if found is None else _row(melee_mm, found, around)


def halo(  # noqa: PLR0913 - the centre has four facts, the rows around it three
    shape: str,
    length_mm: Decimal,
    width_mm: Decimal,
    melee_mm: Decimal,
    corner_mm: Decimal | None = None,
    *,
    rows: int = 1,
    gap_mm: Decimal = HALO_GAP,
) -> Halo | None:
    """`rows` (1 or more) of melee around a centre, each an even number, as every outline has a mirror line.

    None where the outline is unknown, or a row has no room for FEWEST_AROUND. The other size of a row is
    looked for with the rows inside it left as they are. KeyError for a word that is not a shape.
    """
    pitch = melee_mm + spacing_mm(melee_mm)
    stone = contour(shape, length_mm, width_mm, corner_mm)
    if stone is None:
        return None
    found = []
    for k in range(rows):
        row = _row_around(shape, stone, gap_mm + k * pitch, melee_mm)
        if row is None:
            return None
        found.append(row)
    # The melee lies half beyond the line of the last row, on all sides.
    last = parallel(shape, stone, gap_mm + (rows - 1) * pitch + melee_mm / 2)
    left, low, right, top = last.bounds
    along, across = (
        (Decimal(repr(size)) + melee_mm).quantize(_THOUSANDTH, ROUND_HALF_UP)
        for size in (top - low, right - left)
    )
    count = sum(row.count for row in found)
    carat = (count * melee_carat(melee_mm)).quantize(_HUNDREDTH, ROUND_HALF_UP)
    return Halo(tuple(found), along, across, count, carat)


def pave(
    inner_diameter_mm: Decimal,
    shank_thickness_mm: Decimal,
    melee_mm: Decimal,
    rows: int = 1,
    share: Decimal = Decimal("0.5"),
) -> Row | None:
    """Melee along `share` (up to 1) of a shank's outer surface, as many on each side of the head.

    With several `rows` side by side, the numbers and carats are those of all of them. None where not even
    one stone on each side has room.
    """
    line = share * 2 * _PI * (inner_diameter_mm / 2 + shank_thickness_mm)
    line = line.quantize(_THOUSANDTH, ROUND_HALF_UP)

    def along(size: Decimal) -> _Set | None:
        one = _along(line, size, 2)
        return one and _Set(one.line, rows * one.fits, rows * one.count, one.spacing)

    found = along(melee_mm)
    return None if found is None else _row(melee_mm, found, along)


def _chord_mm(radius: Decimal, count: int) -> Decimal:
    """Between the centres of two of `count` stones on a circle; half up to 0.000001 mm."""
    chord = 2 * radius * Decimal(repr(math.sin(math.pi / count)))
    return chord.quantize(_MILLIONTH, ROUND_HALF_UP)


def _most_around(radius: Decimal, pitch: Decimal) -> int:
    """The most stones on a circle whose chord is at least `pitch`.

    The arc sine finds the number but for its own noise, and the chord decides: six stones on a circle whose
    radius is their pitch fit exactly.
    """
    most = int(math.pi / math.asin(pitch / (2 * radius))) + 1
    return most if _chord_mm(radius, most) >= pitch else most - 1


def _girdle_radius(inner_diameter_mm: Decimal, melee_mm: Decimal) -> Decimal:
    """Twice this is more than one stone and its room, whatever the melee: two or more always fit."""
    return inner_diameter_mm / 2 + max(_SEAT_MM, _SEAT_SHARE * melee_mm + _SEAT_FLOOR)


def eternity(inner_diameter_mm: Decimal, melee_mm: Decimal, extent: Literal["full", "half"]) -> Eternity:
    """Melee all around a finger or around half of it (rounded down), counted along chords.

    The way around the inside is no measure: it would lose several stones. A full band cannot be resized
    (common practice, no source).
    """
    parts = 1 if extent == "full" else 2

    def around(size: Decimal) -> _Set:
        radius = _girdle_radius(inner_diameter_mm, size)
        most = _most_around(radius, size + spacing_mm(size))
        room = (_chord_mm(radius, most) - size).quantize(_HUNDREDTH, ROUND_HALF_UP)
        return _Set(None, most // parts, most // parts, room)

    radius = _girdle_radius(inner_diameter_mm, melee_mm).quantize(_THOUSANDTH, ROUND_HALF_UP)
    return Eternity(_row(melee_mm, around(melee_mm), around), radius, extent != "full")


def rows_width_mm(rows: int, melee_mm: Decimal) -> Decimal:
    """Width that several rows side by side take, without the metal at their edges."""
    return rows * melee_mm + (rows - 1) * _BETWEEN_ROWS
