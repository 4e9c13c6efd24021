"""Stones seen from above, ready to be drawn: the real outline of `contours`, and who has none.

Millimetres, y upwards, the middle of the stone's box in the origin.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import TYPE_CHECKING, Final

from gradefloor.drawing.canvas import FACET, OUTLINE, Point, Sheet
from gradefloor.trade.consistency import OUT_OF_ROUND
from gradefloor.trade.contours import contour
from gradefloor.trade.outlines import face_up_mm2, longer_first, outline, perimeter_mm
from gradefloor.trade.shapes import CIRCULAR, GROUPS, SHAPES

if TYPE_CHECKING:
    from shapely import Polygon

SMALLEST_MM: Final = Decimal("0.5")  # less than any melee
LONGEST_RATIO: Final = Decimal(8)  # longer than any baguette
# A stone of 8 by 6 mm tells which shapes have a contour: those of which one knows the way around.
DRAWN: Final = tuple(
    name
    for name in SHAPES
    if (found := outline(name, Decimal(8), Decimal(6))) is not None and found.perimeter is not None
)
# Leg of a cut corner over the width from which hardly a straight side is left: common practice, no source.
_WIDE_CORNER: Final = Decimal("0.4")
_CLOSE: Final = 0.002  # of a measure: some outlines bow out of their box where they are very long
_CHORD_MM: Final = 0.003  # on the sheet: finer than any printer


class UndrawableError(ValueError):
    """There is nothing true to draw. `field` is what should be otherwise, `allowed` what it may be."""

    def __init__(self, field: str, found: str, allowed: str) -> None:
        super().__init__(f"{field}: {found}; allowed: {allowed}")
        self.field = field
        self.found = found
        self.allowed = allowed


@dataclass(frozen=True, slots=True)
class Plan:
    """One stone from above. `length_mm` lies along y; `facets` are schematic lines inside.

    `doubt` is a sentence on measures that such a stone hardly has, else None.
    """

    shape: str
    length_mm: Decimal
    width_mm: Decimal
    outline: "Polygon"
    facets: tuple[tuple[Point, ...], ...]
    face_up_mm2: Decimal
    perimeter_mm: Decimal
    doubt: str | None = None

    @property
    def title(self) -> str:
        return SHAPES[self.shape].title

    @property
    def size(self) -> Point:
        """Width and length."""
        return float(self.width_mm), float(self.length_mm)


@lru_cache(maxsize=256)
def plan(shape: str, length_mm: Decimal, width_mm: Decimal, corner_mm: Decimal | None = None) -> Plan:
    """The stone from above; UndrawableError where its outline is not known. KeyError for no shape."""
    if shape not in DRAWN:
        raise UndrawableError(
            "shape", "a shape whose outline does not follow from its measures", f"one of {', '.join(DRAWN)}"
        )
    length, width = longer_first(shape, length_mm, width_mm)
    for field, value in (("length_mm", length_mm), ("width_mm", width_mm)):
        if value < SMALLEST_MM:
            raise UndrawableError(field, "less than can be drawn", f"{SMALLEST_MM} mm or more")
    if max(length, width) > LONGEST_RATIO * min(length, width):
        allowed = f"at most {LONGEST_RATIO} times the width, and at least an eighth of it"
        raise UndrawableError("length_mm", "a stone too narrow to draw", allowed)
    outline = contour(shape, length_mm, width_mm, corner_mm)
    area, around = (measure(shape, length_mm, width_mm, corner_mm) for measure in (face_up_mm2, perimeter_mm))
    if outline is None or area is None or around is None:
        field, allowed = "length_mm", "as long as its outline needs"
        if corner_mm is not None:
            field, allowed = "corner_mm", "at most half of the narrower measure"
        raise UndrawableError(field, "measures that no such outline has", allowed)
    left, low, right, top = outline.bounds
    for reach, stated in ((right - left, float(width)), (top - low, float(length))):
        if abs(reach - stated) > _CLOSE * stated:
            raise UndrawableError("length_mm", "measures that no such outline has", "nearer to the width")
    doubt = _doubt(shape, length, width, corner_mm)
    from gradefloor.drawing.facets import facet_lines  # noqa: PLC0415 - with the first curve, as in `contours`

    return Plan(shape, length, width, outline, facet_lines(shape, outline), area, around, doubt)


def _doubt(shape: str, length: Decimal, width: Decimal, corner_mm: Decimal | None) -> str | None:
    """Measures can be drawn and yet belong to another stone."""
    if shape in CIRCULAR and length > OUT_OF_ROUND * width:
        return "A round is not this much longer than wide: look at the measures again."
    if corner_mm is not None and shape in GROUPS["cut_corners"] and corner_mm > _WIDE_CORNER * width:
        return "Corners this wide leave hardly a straight side: look at the measures again."
    return None


def place(  # noqa: PLR0913 - what, where, how large, and which way
    sheet: Sheet,
    stone: Plan,
    middle: Point,
    factor: float,
    *,
    turns: int = 0,
    mirrored: bool = False,
    facets: bool = True,
    part: str = "outline",
) -> None:
    """Draw a stone with its middle at a point of the sheet, turned to the right by quarter turns.

    `mirrored` then exchanges its left and right.
    """
    right = -factor if mirrored else factor

    def put(points: Sequence[Point]) -> list[Point]:
        for _ in range(turns % 4):
            points = [(y, -x) for x, y in points]
        return [(middle[0] + right * x, middle[1] - factor * y) for x, y in points]

    thinned = stone.outline.exterior.simplify(_CHORD_MM / factor)
    ring = [(x, y) for x, y in thinned.coords[:-1]]
    sheet.path(put(ring), OUTLINE, closed=True, part=part)
    if facets:
        for line in stone.facets:
            sheet.path(put(line), FACET)
