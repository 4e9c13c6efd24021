"""One stone from above, several beside each other, and one from the side."""

from collections.abc import Sequence
from decimal import Decimal
from itertools import pairwise
from typing import Final, NamedTuple

from gradefloor.drawing.canvas import (
    DIMENSION,
    FACET,
    MARGIN_MM,
    OUTLINE,
    SHEET_MM,
    SMALL_MM,
    SOFT,
    WORDS_MM,
    Magnification,
    Point,
    Sheet,
    largest_fit,
    mm,
    rounded,
    wrapped,
)
from gradefloor.drawing.plans import Plan, UndrawableError, place, plan
from gradefloor.trade.assembly import Ring
from gradefloor.trade.settings import Setting
from gradefloor.trade.shapes import CIRCULAR, SHAPES
from gradefloor.trade.stones import Stone
from gradefloor.trade.weights import exact

SCHEMATIC: Final = "Facet lines are schematic, the outline to scale."
MOST: Final = 6
FEWEST: Final = 2
_STONE_ROOM: Final = (66.0, 68.0)
_CELL_MM: Final = 28.0

# Where no table is stated, one is drawn: middles of what is liked, from memory.
USUAL_TABLE_PCT: Final = {
    "brilliant": Decimal(58), "modified_brilliant": Decimal(66), "step": Decimal(65), "mixed": Decimal(62),
    "old": Decimal(50), "step_or_brilliant": Decimal(62), "rose": Decimal(50),
}  # fmt: skip
# Breadth of a culet facet in % of the width: middles of the words' ranges, from memory.
CULET_PCT: Final = {
    "none": Decimal(0), "very_small": Decimal("0.5"), "small": Decimal("1.5"), "medium": Decimal(3),
    "slightly_large": Decimal(5), "large": Decimal(8), "very_large": Decimal(12),
    "extremely_large": Decimal(16),
}  # fmt: skip


def plan_of(stone: Stone) -> Plan:
    """The stone from above; UndrawableError where measures are missing or no outline is known."""
    for field in ("length_mm", "width_mm"):
        if getattr(stone, field) is None:
            raise UndrawableError(field, "nothing", "its millimetres")
    corner = None if stone.corner_mm is None else exact(stone.corner_mm)
    return plan(stone.shape, exact(stone.length_mm or 0), exact(stone.width_mm or 0), corner)


def ratio_in_words(stone: Plan) -> str:
    ratio = rounded(stone.length_mm / stone.width_mm)
    return "as long as wide" if ratio == "1.00" else f"{ratio} times as long as wide"


def plain_name(field: str) -> str:
    """`setting.culet_height_mm`, in words."""
    part, _, last = field.rpartition(".")
    words = last.removesuffix("_mm").removesuffix("_pct").replace("_", " ")
    return f"band {words}" if part == "wedding_band" else words


def size_in_words(stone: Plan) -> str:
    return f"{rounded(stone.length_mm)} × {mm(stone.width_mm)}"


def draw_stone(stone: Stone) -> str:
    """One stone from above, dimensioned; its length runs upwards."""
    drawn = plan_of(stone)
    width, length = drawn.size
    scale = largest_fit(width, length, _STONE_ROOM)
    sheet = Sheet("stone", scale)
    top = sheet.heading(drawn.title) + 1
    half, rise = width * scale.factor / 2, length * scale.factor / 2
    # The dimension of the length stands on the left; the stone moves by half of its room.
    middle = (SHEET_MM / 2 + 6, top + rise)
    place(sheet, drawn, middle, scale.factor)
    x, bottom = middle[0], middle[1] + rise
    left = x - half
    sheet.upright((top, bottom), left - 8, mm(drawn.length_mm), _tips(drawn, middle, scale))
    low = bottom + 9
    level = _level_of_width(drawn, middle, scale)
    sheet.across((left, x + half), low, mm(drawn.width_mm), (level, level))
    area, around = rounded(drawn.face_up_mm2, 1), rounded(drawn.perimeter_mm, 1)
    notes = [
        f"{size_in_words(drawn)}: {ratio_in_words(drawn)}.",
        f"It shows {area} mm² from above, {around} mm around.",
        *filter(None, [drawn.doubt]),
        SCHEMATIC,
    ]
    end = sheet.scale_bar(sheet.notes(low + 3, notes))
    words = (
        f"Outline of the stone from above, to scale, {mm(drawn.length_mm)} long and "
        f"{mm(drawn.width_mm)} wide, {ratio_in_words(drawn)}. It shows {area} mm² from above; "
        f"the way around its girdle is {around} mm. "
        f"Its length runs upwards. Drawn {scale} on a sheet {SHEET_MM:.0f} mm wide. "
        f"{' '.join(filter(None, [drawn.doubt, SCHEMATIC]))}"
    )
    return sheet.finish(end, f"{_capital(drawn.title)} from above", words)


def _tips(stone: Plan, middle: Point, scale: Magnification) -> Point:
    """Where extension lines of the length begin: the left ends of its flats, or its points."""
    _, low, _, top = stone.outline.bounds
    ends = (
        min(x for x, y in stone.outline.exterior.coords if abs(y - end) < top / 1000) for end in (top, low)
    )
    upper, lower = (middle[0] + scale.factor * x for x in ends)
    return upper, lower


def _level_of_width(stone: Plan, middle: Point, scale: Magnification) -> float:
    """Where extension lines of the width begin: the lower end of where the stone is widest."""
    _, _, right, _ = stone.outline.bounds
    near = [y for x, y in stone.outline.exterior.coords if abs(x - right) < right / 1000]
    return middle[1] - scale.factor * min(near)


def draw_stones(stones: Sequence[Stone]) -> str:
    """Two to six stones beside each other at one scale; ValueError for another number."""
    if not FEWEST <= len(stones) <= MOST:
        raise ValueError(f"{FEWEST} to {MOST} stones")
    drawn = [plan_of(stone) for stone in stones]
    columns = 2 if len(drawn) in {2, 4} else 3
    cell = (SHEET_MM - 2 * MARGIN_MM) / columns
    room = (cell - 5, 46.0 if len(drawn) <= columns else 38.0)
    scale = largest_fit(max(d.size[0] for d in drawn), max(d.size[1] for d in drawn), room)
    sheet = Sheet("stones", scale)
    top = sheet.heading("Stones at one scale") + 1
    for first in range(0, len(drawn), columns):
        row = drawn[first : first + columns]
        height = max(d.size[1] for d in row) * scale.factor
        left = (SHEET_MM - cell * len(row)) / 2
        ends = []
        for k, stone in enumerate(row):
            x = left + cell * (k + 0.5)
            place(sheet, stone, (x, top + height / 2), scale.factor, part=f"outline-{_letter(first + k)}")
            ends.append(_caption(sheet, stone, _letter(first + k), (x, top + height), cell))
        top = max(ends) + 6
    doubts = [f"{_letter(k)}: {stone.doubt}" for k, stone in enumerate(drawn) if stone.doubt]
    notes = ["mm² is what a stone shows from above.", *doubts, SCHEMATIC]
    end = sheet.scale_bar(sheet.notes(top - 4, notes))
    each = " ".join(
        f"{_letter(k)}: {d.title}, {size_in_words(d)}, {ratio_in_words(d)}, "
        f"{rounded(d.face_up_mm2, 1)} mm² from above."
        for k, d in enumerate(drawn)
    )
    words = f"{len(drawn)} stones from above at one scale, {scale}. {each} {' '.join([*doubts, SCHEMATIC])}"
    return sheet.finish(end, f"{len(drawn)} stones beside each other", words)


def _letter(index: int) -> str:
    return chr(ord("A") + index)


def _caption(sheet: Sheet, stone: Plan, letter: str, foot: Point, room: float) -> float:
    x, y = foot[0], foot[1] + 6
    sheet.words((x, y), letter, WORDS_MM + 0.6, anchor="middle")
    lines = wrapped(stone.title, SMALL_MM, room - 1)
    for line in (*lines, size_in_words(stone), f"{rounded(stone.face_up_mm2, 1)} mm²"):
        y += SMALL_MM * 1.4
        sheet.words((x, y), line, SMALL_MM, anchor="middle", color=SOFT)
    return y


# From the side


class Profile(NamedTuple):
    """Heights and breadths of a stone seen along its length, in mm, and what of them was assumed."""

    base_mm: Decimal  # what percentages are of, and the breadth that is drawn
    table_mm: Decimal
    crown_mm: Decimal
    girdle_mm: Decimal
    pavilion_mm: Decimal
    culet_mm: Decimal
    shares: tuple[tuple[str, Decimal], ...]  # in % of the base, as stated where they are
    assumed: tuple[str, ...]

    @property
    def depth_mm(self) -> Decimal:
        return self.crown_mm + self.girdle_mm + self.pavilion_mm


# What the ring's arithmetic assumes of a center, in words of a drawing.
_ASSUMED: Final = {
    "center.depth_pct": "depth",
    "center.crown_height_pct": "crown",
    "center.girdle_pct": "girdle",
}


def profile(ring: Ring) -> Profile:
    """The center's heights as the ring's arithmetic has them; UndrawableError where it has none."""
    center, base, depth = ring.center, ring.percent_base_mm, ring.depth_mm
    if base is None:
        missing = "length_mm" if center.length_mm is None else "width_mm"
        raise UndrawableError(missing, "nothing", "its millimetres")
    if depth is None:
        raise UndrawableError("depth_pct", "nothing, and no usual depth of this shape", "its depth")
    if depth > 2 * base:
        raise UndrawableError("depth_mm", "deeper than any stone", "at most twice the width")
    pavilion = ring.pavilion_mm
    if pavilion is None:
        raise UndrawableError("depth_pct", "no room for a pavilion", "more than crown and girdle together")
    said = {a.field: a for a in ring.assumed}
    assumed = [f"{word} {said[field].value}" for field, word in _ASSUMED.items() if field in said]
    crown_pct = _share(ring, "crown_height_pct")
    girdle_pct = _share(ring, "girdle_pct")
    table_pct = USUAL_TABLE_PCT[SHAPES[center.shape].facet_family]
    if center.table_pct is not None:
        table_pct = exact(center.table_pct)
    else:
        assumed.append(f"table {table_pct} %")
    if center.culet is None:
        assumed.append("culet none")
    depth_pct = depth * 100 / base
    if center.depth_mm is None and center.depth_pct is not None:
        depth_pct = exact(center.depth_pct)
    shares = {
        "table": table_pct,
        "depth": depth_pct,
        "crown": crown_pct,
        "girdle": girdle_pct,
        "pavilion": depth_pct - crown_pct - girdle_pct,
    }
    return Profile(
        base,
        base * table_pct / 100,
        base * crown_pct / 100,
        base * girdle_pct / 100,
        pavilion,
        base * CULET_PCT[center.culet or "none"] / 100,
        tuple(shares.items()),
        tuple(assumed),
    )


def _share(ring: Ring, name: str) -> Decimal:
    """A height in %: as stated, else as the ring's arithmetic assumed it."""
    stated = getattr(ring.center, name)
    if stated is not None:
        return exact(stated)
    assumed = next(a.value for a in ring.assumed if a.field == f"center.{name}")
    return Decimal(assumed.removesuffix(" %"))


def draw_side(stone: Stone) -> str:
    """One stone from the side, seen along its length: its width and its heights."""
    doubt = plan_of(stone).doubt  # a shape that is not drawn from above is not drawn from the side
    found = profile(Ring(stone, Setting()))
    base, depth = float(found.base_mm), float(found.depth_mm)
    scale = largest_fit(base, depth, (46.0, 52.0))
    f = scale.factor
    sheet = Sheet("side", scale)
    title = SHAPES[stone.shape].title
    top = sheet.heading(f"{title}, from the side") + 16
    x = SHEET_MM / 2 + 6
    half, table = base * f / 2, float(found.table_mm) * f / 2
    girdle = top + float(found.crown_mm) * f
    under = girdle + float(found.girdle_mm) * f
    foot = under + float(found.pavilion_mm) * f
    culet = float(found.culet_mm) * f / 2
    ring = [
        (x - table, top), (x + table, top), (x + half, girdle), (x + half, under),
        (x + culet, foot), (x - culet, foot), (x - half, under), (x - half, girdle),
    ]  # fmt: skip
    sheet.path(ring if culet else [*ring[:5], *ring[6:]], OUTLINE, closed=True, part="profile")
    for y in (girdle, under):
        sheet.line((x - half, y), (x + half, y), FACET)
    sheet.across((x - half, x + half), top - 12, mm(found.base_mm), (girdle, girdle))
    sheet.across((x - table, x + table), top - 4.5, mm(found.table_mm), (top, top))
    sheet.upright((top, foot), x + half + 12, mm(found.depth_mm), (x + table, x + culet))
    _heights(
        sheet, found, (top, girdle, under, foot), x - half - 5, (x - table, x - half, x - half, x - culet)
    )
    across = "mean diameter" if stone.shape in CIRCULAR else "width"
    shares = ", ".join(f"{name} {rounded(value, 1)} %" for name, value in found.shares)
    culet_words = "no culet facet" if not culet else f"culet {(stone.culet or 'none').replace('_', ' ')}"
    notes = [f"In % of the {across}: {shares}; {culet_words}."]
    if found.assumed:
        notes.append(f"Not stated, so assumed: {', '.join(found.assumed)}.")
    notes += filter(None, [doubt])
    notes.append("Faces between the heights are drawn straight.")
    end = sheet.scale_bar(sheet.notes(foot + 3, notes))
    heights = ", ".join(f"{name} {mm(value)}" for name, value in _parts(found))
    words = (
        f"The stone seen along its length, to scale, {mm(found.base_mm)} across ({across}). {heights}. "
        f"{' '.join(notes)} Drawn {scale} on a sheet {SHEET_MM:.0f} mm wide."
    )
    return sheet.finish(end, f"{_capital(title)} from the side", words)


def _parts(found: Profile) -> list[tuple[str, Decimal]]:
    return [
        ("table", found.table_mm),
        ("depth", found.depth_mm),
        ("crown", found.crown_mm),
        ("girdle", found.girdle_mm),
        ("pavilion", found.pavilion_mm),
    ]


def _heights(
    sheet: Sheet, found: Profile, levels: tuple[float, float, float, float], x: float, begins: Sequence[float]
) -> None:
    """Crown, girdle and pavilion on a line at the left, each with its words where they have room."""
    top, _, _, foot = levels
    for y, begin in zip(levels, begins, strict=True):
        sheet.line((begin - 0.8, y), (x - 1.2, y), DIMENSION)
        sheet.path(((x - 0.8, y + 0.8), (x + 0.8, y - 0.8)), OUTLINE)
    sheet.line((x, top), (x, foot), DIMENSION)
    names = (("crown", found.crown_mm), ("girdle", found.girdle_mm), ("pavilion", found.pavilion_mm))
    wanted = [(one + other) / 2 for one, other in pairwise(levels)]
    # The girdle stays where it is; what is too near to it moves away.
    pitch = SMALL_MM * 1.5
    places = [min(wanted[0], wanted[1] - pitch), wanted[1], max(wanted[2], wanted[1] + pitch)]
    for (name, value), want, y in zip(names, wanted, places, strict=True):
        label = f"{name} {rounded(value)}"
        sheet.line((x, want), (x - 3.2, y), DIMENSION)
        sheet.words((x - 3.8, y + SMALL_MM * 0.35), label, SMALL_MM, anchor="end", color=SOFT)


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
