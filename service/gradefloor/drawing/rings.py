"""A ring from above: the center on a finger, its halo, its side stones.

Sheets show the finger upwards, so that "along" runs upwards and "across" to the right, as in `assembly`.
"""

import math
from collections.abc import Iterator
from decimal import Decimal
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from gradefloor.drawing.canvas import (
    INK,
    MARGIN_MM,
    METAL,
    SHEET_MM,
    Magnification,
    Pen,
    Point,
    Sheet,
    largest_fit,
    mm,
)
from gradefloor.drawing.plans import Plan, UndrawableError, place, plan
from gradefloor.drawing.stones import SCHEMATIC, plain_name, plan_of, size_in_words
from gradefloor.trade import melee
from gradefloor.trade.assembly import USUAL_SHANK_THICKNESS_MM, USUAL_SHANK_WIDTH_MM, Ring
from gradefloor.trade.contours import parallel
from gradefloor.trade.rings import TABLES
from gradefloor.trade.settings import SideStone
from gradefloor.trade.shapes import CIRCULAR, SHAPES
from gradefloor.trade.weights import exact

if TYPE_CHECKING:
    from shapely import Polygon

# What is assumed and can be seen from above.
_SHOWN: Final = frozenset({"setting.orientation", "setting.halo.melee_mm"})
_FINGER: Final = Pen("#6b5d4f", 0.3, "#faf6f1")  # 6:1 against white
_MELEE: Final = Pen(INK, 0.22, "#ffffff")
_ROOM: Final = (SHEET_MM - 2 * MARGIN_MM - 18, 62.0)
_WAVE: Final = 40  # chords of the curve at which the finger is broken off
_CORNER: Final = math.radians(55)  # a turn of a row in which a stone of its own stands
_EVEN: Final = 0.005  # of the length: a stone whose two ends are alike
_ABOVE_MM: Final = 8.0  # room for a dimension over the drawing
_BEYOND_MM: Final = 9.0  # the finger goes on so far beyond the stone, on the sheet


def draw_finger(ring: Ring) -> str:
    """The center on its finger, seen from above; ValueError for a ring without a finger."""
    if ring.finger is None:
        raise ValueError("a drawing of a finger needs one")
    return _draw(ring, "finger", f"{plan_of(ring.center).title} on a finger")


def draw_ring(ring: Ring) -> str:
    """Center, halo and side stones from above, and the finger if its size is known."""
    center = plan_of(ring.center)
    with_it = ["halo"] if ring.setting.halo is not None else []
    with_it += ["side stones"] if ring.side_stones else []
    return _draw(ring, "ring", f"{center.title} ring{' with ' if with_it else ''}{' and '.join(with_it)}")


def _draw(ring: Ring, kind: str, title: str) -> str:
    center = plan_of(ring.center)
    if ring.setting.halo is not None and ring.halo is None:
        raise UndrawableError("halo_melee_mm", "melee too large to go around", "smaller melee")
    outer, across = ring.outer_mm, ring.span_mm
    if outer is None or across is None:
        raise UndrawableError("side_width_mm", "nothing", "its millimetres")
    metal = exact(ring.setting.shank_thickness_mm or float(USUAL_SHANK_THICKNESS_MM))
    whole = across if ring.finger_mm is None else max(across, ring.finger_mm + 2 * metal)
    high = max([outer[0], *(exact(s.length_mm or 0) for s in ring.side_stones)])
    scale = largest_fit(float(whole), float(high), _ROOM)
    sheet = Sheet(kind, scale)
    beyond = 0.0 if ring.finger_mm is None else _BEYOND_MM
    top = sheet.heading(title) + 1 + (_ABOVE_MM if _is_hidden(ring) else 0)
    middle = (SHEET_MM / 2 + 5, top + beyond + float(high) * scale.factor / 2)
    notes: list[str] = []
    if ring.finger_mm is not None:
        _finger(sheet, ring, middle, (top, middle[1] + middle[1] - top))
    _shank(sheet, ring, middle, whole, metal)
    turns = 1 if ring.setting.orientation == "across" else 0
    if ring.halo is not None:
        for at, radius in halo_places(ring, center):
            x, y = (at[1], -at[0]) if turns else at
            put = (middle[0] + x * scale.factor, middle[1] - y * scale.factor)
            sheet.circle(put, radius * scale.factor, _MELEE, "melee")
    place(sheet, center, middle, scale.factor, turns=turns)
    _sides(sheet, ring, middle, outer[1])
    end = _dimensions(sheet, ring, middle, outer, (float(whole) * scale.factor / 2, middle[1] * 2 - top))
    notes += _say(ring, center)
    end = sheet.scale_bar(sheet.notes(end, notes))
    words = f"Seen from above, to scale, the finger upwards. {' '.join(notes)} Drawn {scale} on a sheet "
    return sheet.finish(end, title[:1].upper() + title[1:], f"{words}{SHEET_MM:.0f} mm wide.")


def _is_hidden(ring: Ring) -> bool:
    """Whether stones reach beyond the finger, so that its measure is clearer above them than among theirs."""
    return ring.finger_mm is not None and ring.span_mm is not None and ring.finger_mm < ring.span_mm


def _factor(sheet: Sheet) -> float:
    return (sheet.magnification or Magnification(1, 1)).factor


def _finger(sheet: Sheet, ring: Ring, middle: Point, ends: Point) -> None:
    """A strip as wide as the ring's inside, broken off at both ends; its sides are hidden by nothing."""
    half = float(ring.finger_mm or 0) / 2 * _factor(sheet)
    upper, lower = (
        [
            (middle[0] + half * (2 * k / _WAVE - 1), y + 1.3 * math.sin(math.tau * k / _WAVE))
            for k in range(_WAVE + 1)
        ]
        for y in ends
    )
    sheet.path([*upper, *reversed(lower)], _FINGER, closed=True, part="finger")


def _shank(sheet: Sheet, ring: Ring, middle: Point, whole: Decimal, metal: Decimal) -> None:
    """What goes around the finger, from above a bar across it, as wide as it is stated or usually is."""
    factor = _factor(sheet)
    width = float(ring.setting.shank_width_mm or USUAL_SHANK_WIDTH_MM) * factor
    reach = float(whole if ring.finger_mm is None else ring.finger_mm + 2 * metal) * factor
    if ring.finger_mm is None:
        return
    sheet.rectangle((middle[0] - reach / 2, middle[1] - width / 2), (reach, width), METAL, "shank")


def halo_places(ring: Ring, center: Plan) -> Iterator[tuple[Point, float]]:
    """Middle and radius of every stone of the halo, in mm around the center with its length upwards.

    They stand on the lines on which `melee` counts them: one in each corner and evenly in between, or
    evenly from the top on where a line has no corner.
    """
    if ring.halo is None:
        return
    size = ring.halo.rows[0].melee_mm
    pitch = size + melee.spacing_mm(size)
    for k, row in enumerate(ring.halo.rows):
        curve = parallel(center.shape, center.outline, melee.HALO_GAP + k * pitch + size / 2)
        line = curve.exterior
        for along in _along(curve, row.count):
            at = line.interpolate(along % line.length)
            yield (at.x, at.y), float(size) / 2


def _along(curve: "Polygon", count: int) -> Iterator[float]:
    """How far along a line each of so many stones stands."""
    from shapely import Point as PointAt  # noqa: PLC0415 - with the first curve, as in `contours`

    from gradefloor.drawing.facets import corners_of  # noqa: PLC0415

    line = curve.exterior
    corners = sorted(line.project(PointAt(corner)) for corner in corners_of(curve, _CORNER))
    if not 0 < len(corners) <= count:
        begin = line.project(PointAt(0.0, line.bounds[3]))
        yield from (begin + (k + 0.5) * line.length / count for k in range(count))
        return
    sides = [end - begin for begin, end in pairwise((*corners, corners[0] + line.length))]
    shares = [1] * len(sides)
    while sum(shares) < count:
        widest = max(range(len(sides)), key=lambda k: round(sides[k] / shares[k], 6))
        shares[widest] += 1
    for begin, side, share in zip(corners, sides, shares, strict=True):
        yield from (begin + side * k / share for k in range(share))


def _sides(sheet: Sheet, ring: Ring, middle: Point, outer_across: Decimal) -> None:
    """One stone on each side, the left one as in a mirror; its length lies against the center."""
    factor = _factor(sheet)
    for side, stone in zip((1, -1), ring.side_stones, strict=False):
        drawn, turns = side_plan(stone)
        away = float(outer_across + exact(stone.width_mm or 0)) / 2 * factor
        at = (middle[0] + side * away, middle[1])
        place(sheet, drawn, at, factor, turns=turns, mirrored=side == -1, part="side-stone")


def side_plan(stone: SideStone) -> tuple[Plan, int]:
    """A side stone and the quarter turns to the right that put it on the right of the center.

    A shape with an axis lies with its base against the center, so its axis is what reaches away.
    """
    against, away = exact(stone.length_mm or 0), exact(stone.width_mm or 0)
    try:
        if SHAPES[stone.shape].length_is_axis:
            return plan(stone.shape, away, against), 1
        return plan(stone.shape, against, away), 0 if against >= away else 1
    except UndrawableError as error:
        swapped = {"shape": "side_shape", "length_mm": "side_length_mm", "width_mm": "side_width_mm"}
        raise UndrawableError(swapped.get(error.field, "side_shape"), error.found, error.allowed) from None


def _lies(stone: SideStone) -> list[str]:
    """Which way a side stone lies, where its ends differ."""
    drawn, turns = side_plan(stone)
    # Its middle of area lies towards the broad end, so the narrow one is on the other side of the box.
    x, y = -drawn.outline.centroid.x, -drawn.outline.centroid.y
    if turns:
        x, y = y, -x
    if max(abs(x), abs(y)) < _EVEN * float(drawn.length_mm):
        return []
    end = "round side" if stone.shape == "half_moon" else "narrow end"
    if abs(x) > abs(y):
        where = "outwards" if x > 0 else "to the center"
    else:
        where = "up the finger" if y > 0 else "down the finger"
    return [f"{'Turned: its' if where == 'outwards' else 'Its'} {end} points {where}."]


def _dimensions(
    sheet: Sheet, ring: Ring, middle: Point, outer: tuple[Decimal, Decimal], edges: tuple[float, float]
) -> float:
    factor = _factor(sheet)
    x, y = middle
    along, across = (float(size) * factor for size in outer)
    reach = float(ring.span_mm or 0) * factor / 2
    widest, foot = edges
    sheet.upright((y - along / 2, y + along / 2), x - widest - 6, mm(outer[0]), (x, x))
    low = foot + 8
    half = float(ring.finger_mm or 0) * factor / 2
    crossed = [x + reach] if ring.side_stones else []
    if ring.finger_mm is not None and not _is_hidden(ring):
        crossed.append(x + half)
    below = y + along / 2
    sheet.across((x - across / 2, x + across / 2), low, mm(outer[1]), (below, below), crossed=crossed)
    if ring.side_stones:
        under = y + float(exact(ring.side_stones[0].length_mm or 0)) * factor / 2
        low += 7.5
        sheet.across(
            (x - reach, x + reach),
            low,
            f"span {mm(ring.span_mm or Decimal(0))}",
            (under, under),
            crossed=crossed[1:],
        )
    if ring.finger_mm is not None:
        edge, level = (2 * y - foot, 2 * y - foot - 4) if _is_hidden(ring) else (foot, low + 7.5)
        sheet.across((x - half, x + half), level, f"finger {mm(ring.finger_mm)}", (edge, edge))
        low = max(low, level)
    return low + 3


def _say(ring: Ring, center: Plan) -> list[str]:
    """What is drawn, in sentences with its numbers."""
    lies = "across" if ring.setting.orientation == "across" else "along"
    lying = "" if center.shape in CIRCULAR else f", length {lies} the finger"
    said = [f"Center {size_in_words(center)}{lying}.", *filter(None, [center.doubt])]
    if ring.halo is not None:
        rows = "1 row" if len(ring.halo.rows) == 1 else f"{len(ring.halo.rows)} rows"
        each = " and ".join(str(row.count) for row in ring.halo.rows)
        said.append(f"Halo: {each} stones of {mm(ring.halo.rows[0].melee_mm)} in {rows}.")
    if ring.side_stones:
        stone = ring.side_stones[0]
        said.append(
            f"Sides: {SHAPES[stone.shape].title}, {mm(exact(stone.length_mm or 0))} against the center, "
            f"{mm(exact(stone.width_mm or 0))} away from it."
        )
        said += _lies(stone)
        said += filter(None, [side_plan(stone)[0].doubt])
    if ring.finger is not None and ring.finger_mm is not None:
        table = TABLES[ring.finger.system].title
        said.append(f"Finger: size {ring.finger.size} ({table}), {mm(ring.finger_mm)} inside.")
        said.append(
            f"The center{' with its halo' if ring.halo else ''} covers {ring.coverage_pct} % of the finger."
        )
        if ring.side_stones:
            said.append(f"All stones together span {ring.span_pct} % of it.")
    assumed = [f"{plain_name(a.field)} {a.value}" for a in ring.assumed if a.field in _SHOWN]
    if ring.finger_mm is not None:
        if ring.setting.shank_width_mm is None:
            assumed.append(f"shank width {USUAL_SHANK_WIDTH_MM} mm")
        if ring.setting.shank_thickness_mm is None:
            assumed.append(f"shank thickness {USUAL_SHANK_THICKNESS_MM} mm")
    if assumed:
        said.append(f"Not stated, so assumed: {', '.join(assumed)}.")
    return [*said, SCHEMATIC]
