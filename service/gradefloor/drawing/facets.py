"""Facet lines of a stone from above: schematic, how a family of cuts is laid out, never one stone.

How each family is laid out is common practice, no source; the shares are from memory.
"""

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Final

from shapely import LinearRing, LineString, MultiPoint, Polygon, delaunay_triangles

from gradefloor.trade.shapes import GROUPS, SHAPES

_Point = tuple[float, float]
_Line = tuple[_Point, ...]

_STEP_SHARE: Final = 0.2  # from the girdle to the table, of the narrower measure
_STEPS: Final = 3
_LARGE_CORNER: Final = 0.4  # of half the narrower measure: such corners are sides of their own
_SHARP: Final = math.radians(20)  # a turn of the outline that is a corner
# Table and the tips of its stars, as shares of the way from the middle to the girdle.
_MODERN: Final = (0.58, 0.76)
_OLD: Final = (0.44, 0.66)
_CULET: Final = 0.09
_PRINCESS_TABLE: Final = 0.66
_SPLINTERS: Final = 34
# Steps of an even scatter in the plane: powers of the inverse of the plastic number.
_SCATTER: Final = (0.7548776662466927, 0.5698402909980532)


def facet_lines(shape: str, outline: Polygon) -> tuple[_Line, ...]:
    """Lines inside an outline, y upwards, in its own units."""
    if shape in {"radiant", "cushion_modified"}:
        return _crushed_ice(shape, outline)
    if shape == "princess":
        return _chevrons(outline)
    if shape == "french_square":
        return _french(outline)
    if shape == "single_cut":
        return _single(outline)
    family = SHAPES[shape].facet_family
    if family in {"step", "step_or_brilliant"}:
        return _steps(shape, outline)
    if shape == "trillion":
        return _brilliant(outline, 3, _MODERN)
    if family == "old":
        culet = [_on(outline, _CULET, math.tau * k / 8) for k in range(9)]
        return (*_brilliant(outline, 4, _OLD), tuple(culet))
    return _brilliant(outline, 4, _MODERN)


def _simple(outline: Polygon, tolerance: float) -> Polygon:
    """Without points that lie on a line with their neighbors."""
    return Polygon(LinearRing(outline.exterior.simplify(tolerance).coords))


def _middle(outline: Polygon) -> _Point:
    return outline.centroid.x, outline.centroid.y


def _on(outline: Polygon, share: float, turn: float) -> _Point:
    """A point so far on the way from the middle to the girdle, by the angle of a stretched circle."""
    x, y = _middle(outline)
    left, low, right, top = outline.bounds
    far = (x + 2 * (right - left) * math.cos(turn), y + 2 * (top - low) * math.sin(turn))
    ray = LineString([(x, y), far]).intersection(outline)
    end = max(_points(ray), key=lambda point: math.dist(point, (x, y)))
    return x + share * (end[0] - x), y + share * (end[1] - y)


def _points(line: object) -> list[_Point]:
    """Points of the part of a ray that begins in the middle."""
    parts = getattr(line, "geoms", [line])
    return [(x, y) for x, y in parts[0].coords]


def _closed(points: Sequence[_Point]) -> _Line:
    return (*points, points[0])


def _brilliant(outline: Polygon, folds: int, shares: tuple[float, float]) -> tuple[_Line, ...]:
    """Table, stars, kites and the halves at the girdle, `folds` times two kites around."""
    kites = 2 * folds
    step = math.tau / kites
    begin = math.pi / 2  # a kite lies at the top
    table = [_on(outline, shares[0], begin + k * step) for k in range(kites)]
    tips = [_on(outline, shares[1], begin + (k + 0.5) * step) for k in range(kites)]
    edge = [_on(outline, 1.0, begin + k * step) for k in range(kites)]
    halves = [_on(outline, 1.0, begin + (k + 0.5) * step) for k in range(kites)]
    lines: list[_Line] = [_closed(table)]
    for k in range(kites):
        after = (k + 1) % kites
        lines.append((table[k], tips[k], table[after]))
        lines.append((edge[k], tips[k], edge[after]))
        lines.append((tips[k], halves[k]))
    return tuple(lines)


def _single(outline: Polygon) -> tuple[_Line, ...]:
    turns = [math.tau * (k + 0.5) / 8 for k in range(8)]
    table = [_on(outline, _MODERN[0], turn) for turn in turns]
    edge = [_on(outline, 1.0, turn) for turn in turns]
    return (_closed(table), *zip(table, edge, strict=True))


def corners_of(outline: Polygon, sharp: float = _SHARP) -> list[_Point]:
    """Where the outline turns by more than `sharp`, in radians: by default, by more than a curve does."""
    ring = [(x, y) for x, y in _simple(outline, 0).exterior.coords[:-1]]
    found = []
    for before, here, after in zip([ring[-1], *ring[:-1]], ring, [*ring[1:], ring[0]], strict=True):
        arrived = math.atan2(here[1] - before[1], here[0] - before[0])
        left = math.atan2(after[1] - here[1], after[0] - here[0])
        turn = (left - arrived + math.pi) % math.tau - math.pi
        if abs(turn) > sharp:
            found.append(here)
    return found


def _inset(shape: str, outline: Polygon, by: float) -> Polygon:
    """The outline moved inwards on all sides; small cut corners shrink only as the width does."""
    left, low, right, top = outline.bounds
    x, y = (right - left) / 2, (top - low) / 2
    leg = math.sqrt(max(4 * x * y - outline.area, 0) / 2)
    if shape not in GROUPS["cut_corners"] or leg > _LARGE_CORNER * min(x, y):
        moved = outline.buffer(-by, join_style="mitre", mitre_limit=20)
        return moved if isinstance(moved, Polygon) else max(moved.geoms, key=lambda part: part.area)
    leg *= 1 - by / min(x, y)
    x, y = x - by, y - by
    return Polygon([
        (x, leg - y), (x, y - leg), (x - leg, y), (leg - x, y),
        (-x, y - leg), (-x, leg - y), (leg - x, -y), (x - leg, -y),
    ])  # fmt: skip


def _steps(shape: str, outline: Polygon) -> tuple[_Line, ...]:
    """Parallel outlines down to the table, and lines from the corners."""
    left, low, right, top = outline.bounds
    whole = _STEP_SHARE * min(right - left, top - low)
    # A flat point reaches far inwards: stay clear of where the outline would vanish.
    insets = [_inset(shape, outline, whole * k / _STEPS) for k in range(1, _STEPS + 1)]
    kept = [inset for inset in insets if not inset.is_empty]
    lines: list[_Line] = [_thin(inset) for inset in kept]
    if kept:
        inner = corners_of(kept[-1])
        lines += [(corner, _nearest(inner, corner)) for corner in corners_of(outline) if inner]
    return tuple(lines)


def _nearest(points: Sequence[_Point], to: _Point) -> _Point:
    return min(points, key=lambda point: math.dist(point, to))


def _thin(ring: Polygon) -> _Line:
    left, low, right, top = ring.bounds
    return tuple((x, y) for x, y in _simple(ring, max(right - left, top - low) / 10_000).exterior.coords)


def _box(outline: Polygon, share: float) -> list[_Point]:
    left, low, right, top = outline.bounds
    x, y = (right - left) / 2 * share, (top - low) / 2 * share
    return [(x, y), (-x, y), (-x, -y), (x, -y)]


def _between(start: _Point, end: _Point, share: float) -> _Point:
    return start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1])


def _chevrons(outline: Polygon) -> tuple[_Line, ...]:
    """A square table whose corners fan out to the girdle, and chevrons that run to the corners."""
    edge, table = _box(outline, 1.0), _box(outline, _PRINCESS_TABLE)
    lines: list[_Line] = [_closed(table), (edge[0], edge[2]), (edge[1], edge[3])]
    sides = zip(pairwise((*edge, edge[0])), pairwise((*table, table[0])), strict=True)
    for (start, end), (first, last) in sides:
        lines.append((first, _between(start, end, 0.3), _between(first, last, 0.5)))
        lines.append((_between(first, last, 0.5), _between(start, end, 0.7), last))
        lines += [
            (_between((0.0, 0.0), start, share), _between(first, last, 0.5), _between((0.0, 0.0), end, share))
            for share in (0.25, 0.45)
        ]
    return tuple(lines)


def _french(outline: Polygon) -> tuple[_Line, ...]:
    """A table turned by an eighth, whose points face the sides, and lines from it to the corners."""
    edge = _box(outline, 1.0)
    mids = [_between(start, end, 0.5) for start, end in pairwise((*edge, edge[0]))]
    table = [_between((0.0, 0.0), mid, 0.62) for mid in mids]
    lines: list[_Line] = [_closed(table), *zip(table, mids, strict=True)]
    sides = pairwise((table[-1], *table))
    lines += [(corner, _between(*side, 0.5)) for corner, side in zip(edge, sides, strict=True)]
    return tuple(lines)


def _crushed_ice(shape: str, outline: Polygon) -> tuple[_Line, ...]:
    """A table full of splinters, whose corners run out to the girdle."""
    if shape in GROUPS["cut_corners"]:
        left, low, right, top = outline.bounds
        table = _inset(shape, outline, 0.17 * min(right - left, top - low))
        ring = [(x, y) for x, y in table.exterior.coords[:-1]]
        rays = [(corner, _nearest(ring, corner)) for corner in corners_of(outline)]
    else:
        turns = [math.tau * (k + 0.5) / 8 for k in range(8)]
        ring = [_on(outline, 0.72, turn) for turn in turns]
        rays = [(point, _on(outline, 1.0, turn)) for point, turn in zip(ring, turns, strict=True)]
        table = Polygon(ring)
    return (_closed(ring), *rays, *_splinters(table, ring))


def _splinters(table: Polygon, ring: Sequence[_Point]) -> list[_Line]:
    """Triangles between points that are scattered evenly and always alike."""
    left, low, right, top = table.bounds
    inner = table.buffer(-0.06 * min(right - left, top - low), join_style="mitre")
    scattered = (
        (left + (right - left) * (k * _SCATTER[0] % 1), low + (top - low) * (k * _SCATTER[1] % 1))
        for k in range(1, _SPLINTERS)
    )
    points = [point for point in scattered if inner.contains(MultiPoint([point]))]
    edges = delaunay_triangles(MultiPoint([*ring, *points]), only_edges=True)
    outer = {frozenset(pair) for pair in pairwise((*ring, ring[0]))}
    lines: list[_Line] = []
    for edge in edges.geoms:
        first, last = sorted((x, y) for x, y in edge.coords)
        if frozenset((first, last)) not in outer:
            lines.append((first, last))
    return sorted(lines)
