"""The closed list of numbers of a ring that a pairing may be laid over, and what brings each to a value.

Decides nothing. What is only assumed is never measured here: a rule speaks of what was stated.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from decimal import ROUND_DOWN, Decimal
from typing import Final

from gradefloor.rules.findings import Changed
from gradefloor.trade import melee
from gradefloor.trade.assembly import FLAT_ENDED, SEAT_DEPTH_SHARE, Ring
from gradefloor.trade.figures import ratio
from gradefloor.trade.grades import COLOR
from gradefloor.trade.levers import levers, settled
from gradefloor.trade.weights import exact, laboratory_points

_HUNDREDTH: Final = Decimal("0.01")

Reach = Callable[[Ring, Decimal], list[Changed]]


@dataclass(frozen=True, slots=True)
class RingMeasure:
    """A number of a ring.

    `step` is the smallest difference that counts, so that "under 90" can be reached. `tell` says the number
    as a jeweller would; `reach` gives what brings the measure to a value, nothing where nothing does.
    """

    name: str
    title: str
    unit: str
    step: Decimal
    read: Callable[[Ring], Decimal | None]
    about: str
    reach: Reach
    detail: Callable[[Ring], str] | None = None

    def tell(self, ring: Ring) -> str:
        if self.detail is not None:
            return self.detail(ring)
        value = self.read(ring)
        return f"{self.title} {'' if value is None else f'{value.normalize():f}'}{self.unit}"


def _set(field: str) -> Reach:
    return lambda _ring, value: [{"field": field, "value": float(value)}]


def _count(field: str) -> Reach:
    return lambda _ring, value: [{"field": field, "value": int(value)}]


def _stated(name: str) -> Callable[[Ring], Decimal | None]:
    def read(ring: Ring) -> Decimal | None:
        value = getattr(ring.setting, name)
        return None if value is None else exact(value)

    return read


def _of_setting(name: str, title: str) -> RingMeasure:
    field = f"setting.{name}"
    return RingMeasure(name, title, " mm", _HUNDREDTH, _stated(name), field, _set(field))


def _carat(ring: Ring) -> Decimal | None:
    stated = ring.center.carat
    return None if stated is None else Decimal(laboratory_points(stated)) / 100


def _halo_share(ring: Ring) -> Decimal | None:
    """Melee over the center's width, in %."""
    asked, base = ring.setting.halo, ring.percent_base_mm
    if asked is None or asked.melee_mm is None or base is None:
        return None
    return (exact(asked.melee_mm) * 100 / base).quantize(Decimal("0.1"))


def _halo_to(ring: Ring, value: Decimal) -> list[Changed]:
    base = ring.percent_base_mm
    if base is None:
        return []
    least, most = melee.MELEE_MM
    wanted = min(max((base * value / 100).quantize(Decimal("0.1"), ROUND_DOWN), least), most)
    return [{"field": "setting.halo.melee_mm", "value": float(wanted)}]


def _halo_spacing(ring: Ring) -> Decimal | None:
    """Widest spacing among the rows of a halo that is seen from above."""
    asked = ring.setting.halo
    if asked is None or asked.melee_mm is None or asked.hidden or ring.halo is None:
        return None
    return max(row.spacing_mm for row in ring.halo.rows)


def _next_melee(ring: Ring, _value: Decimal) -> list[Changed]:
    rows = ring.halo.rows if ring.halo else ()
    better = next((row.next_melee_mm for row in rows if row.next_melee_mm), None)
    return [] if better is None else [{"field": "setting.halo.melee_mm", "value": float(better)}]


def _sides_to_span(ring: Ring, value: Decimal) -> list[Changed]:
    """Every side stone narrowed alike, so that the span comes to so many % of the finger."""
    if ring.finger_mm is None or ring.outer_mm is None or not ring.side_stones:
        return []
    left = ring.finger_mm * value / 100 - ring.outer_mm[1]
    each = (left / len(ring.side_stones)).quantize(_HUNDREDTH, ROUND_DOWN)
    if each <= 0:
        return []
    return [
        {"field": f"side_stones.{index}.width_mm", "value": min(float(each), stone.width_mm or float(each))}
        for index, stone in enumerate(ring.side_stones)
    ]


def _center_to_cover(ring: Ring, value: Decimal) -> list[Changed]:
    """A center that covers so many % of the finger, as long or as wide as before the other way."""
    if ring.finger_mm is None or ring.measures_mm is None or ring.outer_mm is None:
        return []
    around = ring.outer_mm[1] - ring.measures_mm[1]
    wanted = (ring.finger_mm * value / 100 - around).quantize(_HUNDREDTH, ROUND_DOWN)
    if wanted <= 0:
        return []
    along = min(ring.measures_mm[0], wanted) if ring.setting.orientation == "across" else ring.measures_mm[0]
    if ring.setting.orientation != "across" and wanted > along:
        return []
    length, width = (wanted, along) if ring.setting.orientation == "across" else (along, wanted)
    return [
        {"field": "center.length_mm", "value": float(length)},
        {"field": "center.width_mm", "value": float(width)},
    ]


def _sides_to_flank(ring: Ring, value: Decimal) -> list[Changed]:
    if ring.flank_mm is None:
        return []
    longest = ring.flank_mm + value
    return [
        {"field": f"side_stones.{index}.length_mm", "value": float(longest)}
        for index, stone in enumerate(ring.side_stones)
        if stone.shape in FLAT_ENDED and stone.length_mm is not None and exact(stone.length_mm) > longest
    ]


def _tell_flank(ring: Ring) -> str:
    longest = max(s.length_mm for s in ring.side_stones if s.shape in FLAT_ENDED and s.length_mm is not None)
    return f"{longest:g} mm against a straight flank of {ring.flank_mm} mm"


def _pairs_alike(ring: Ring, _value: Decimal) -> list[Changed]:
    """The second stone of each pair as large as the first."""
    changes: list[Changed] = []
    for left, right in ring.pairs:
        index = next(i for i, stone in enumerate(ring.side_stones) if stone is right)
        for name in ("length_mm", "width_mm"):
            one, other = getattr(left, name), getattr(right, name)
            if one is not None and other is not None and one != other:
                changes.append({"field": f"side_stones.{index}.{name}", "value": one})
    return changes


def _letters_apart(one: str | None, others: Iterable[str | None]) -> list[int]:
    """Letters from a center's color down to each of the others, ranges by their farthest ends."""
    if one is None:
        return []
    center = COLOR.span(one)
    found = []
    for other in others:
        if other is not None:
            span = COLOR.span(other)
            found.append(max(span.worst - center.best, span.best - center.worst, key=abs))
    return found


def _side_color(ring: Ring) -> Decimal | None:
    """Letters between center and the side stone farthest from it, either way."""
    apart = _letters_apart(ring.center.color, (stone.color for stone in ring.side_stones))
    return Decimal(max(map(abs, apart))) if apart else None


def _sides_like_center(ring: Ring, _value: Decimal) -> list[Changed]:
    if ring.center.color is None:
        return []
    letter = COLOR.grades[COLOR.span(ring.center.color).best]
    changes: list[Changed] = [
        {"field": f"side_stones.{index}.color", "value": letter}
        for index, stone in enumerate(ring.side_stones)
        if stone.color is not None
    ]
    if letter != ring.center.color:
        changes.append({"field": "center.color", "value": letter})
    return changes


def _melee_color(ring: Ring) -> Decimal | None:
    """Letters by which the melee is whiter than the center; negative where it is warmer."""
    apart = _letters_apart(ring.center.color, [ring.setting.melee_color])
    return Decimal(-apart[0]) if apart else None


def _melee_like_center(ring: Ring, value: Decimal) -> list[Changed]:
    if ring.center.color is None:
        return []
    span = COLOR.span(ring.center.color)
    whiter = int(value)
    # Towards the farther end, so that a range of the center does not come out wider than asked for.
    rank = (span.worst if whiter >= 0 else span.best) - whiter
    letter = COLOR.grades[min(max(rank, 0), len(COLOR.grades) - 1)]
    return [{"field": "setting.melee_color", "value": letter}]


def _pave_edge(ring: Ring) -> Decimal | None:
    """Metal beside the melee of the shank, on each side, in mm."""
    taken, whole = _shank_melee_width(ring), ring.setting.shank_width_mm
    return None if taken is None or whole is None else (exact(whole) - taken) / 2


def _shank_melee_width(ring: Ring) -> Decimal | None:
    setting = ring.setting
    if setting.shank_melee_mm is None:
        return None
    return melee.rows_width_mm(setting.shank_rows or 1, exact(setting.shank_melee_mm))


def _width_for_edge(ring: Ring, value: Decimal) -> list[Changed]:
    taken = _shank_melee_width(ring)
    return [] if taken is None else [{"field": "setting.shank_width_mm", "value": float(taken + 2 * value)}]


def _pave_floor(ring: Ring) -> Decimal | None:
    """Metal left under the culets of the shank's melee, in mm."""
    setting = ring.setting
    if setting.shank_melee_mm is None or setting.shank_thickness_mm is None:
        return None
    return exact(setting.shank_thickness_mm) - SEAT_DEPTH_SHARE * exact(setting.shank_melee_mm)


def _thickness_for_floor(ring: Ring, value: Decimal) -> list[Changed]:
    if ring.setting.shank_melee_mm is None:
        return []
    thickness = value + SEAT_DEPTH_SHARE * exact(ring.setting.shank_melee_mm)
    return [{"field": "setting.shank_thickness_mm", "value": float(thickness)}]


def _total_height(ring: Ring) -> Decimal | None:
    return None if ring.setting.culet_height_mm is None else ring.total_height_mm


def _to_height(ring: Ring, value: Decimal) -> list[Changed]:
    if ring.depth_mm is None or value <= ring.depth_mm:
        return []
    return [{"field": "setting.culet_height_mm", "value": float(value - ring.depth_mm)}]


def _straight_fit(ring: Ring) -> bool:
    return ring.band is not None and ring.band.shape in {None, "straight"} and ring.fit is not None


def _band_gap(ring: Ring) -> Decimal | None:
    return ring.fit.gap_mm if _straight_fit(ring) and ring.fit is not None else None


def _band_clearance(ring: Ring) -> Decimal | None:
    return ring.fit.clearance_mm if _straight_fit(ring) and ring.fit is not None else None


def _cheapest_lever(ring: Ring, _value: Decimal) -> list[Changed]:
    """The cheapest lever that lets a straight band lie flush without a trial."""
    for lever in levers(ring):
        if settled(lever.ring.fit) and lever.ring.band and lever.ring.band.shape != "contour":
            return [{"field": field, "value": value} for field, value in lever.changes.items()]
    return [{"field": "wedding_band.shape", "value": "contour"}]


def _tell_gap(ring: Ring) -> str:
    fit = ring.fit
    return f"gap {fit.gap_mm} mm, at the {fit.obstacle}" if fit is not None and fit.gap_mm else "no gap"


def _count_of_claws(ring: Ring) -> Decimal | None:
    claws = ring.setting.claws
    return None if claws is None or claws.count is None else Decimal(claws.count)


def _claw_wire(ring: Ring) -> Decimal | None:
    claws = ring.setting.claws
    return None if claws is None or claws.wire_mm is None else exact(claws.wire_mm)


_NO_WAY: Final[Reach] = lambda _ring, _value: []  # noqa: E731 - a value among others
_LETTER: Final = Decimal(1)

_MEASURES: Final = (
    RingMeasure("carat", "", " ct", _HUNDREDTH, _carat, "center.carat", _set("center.carat")),
    RingMeasure("ratio", "ratio", "", _HUNDREDTH, lambda ring: ratio(ring.center), "center.length_mm",
                _NO_WAY),
    RingMeasure("span_pct", "span", " % of the inner diameter", Decimal("0.1"), lambda ring: ring.span_pct,
                "finger.size", _sides_to_span),
    RingMeasure("coverage_pct", "covers", " % of the inner diameter", Decimal("0.1"),
                lambda ring: ring.coverage_pct, "finger.size", _center_to_cover),
    RingMeasure("over_flank_mm", "over the flank", " mm", _HUNDREDTH, lambda ring: ring.over_flank_mm,
                "side_stones.length_mm", _sides_to_flank, _tell_flank),
    RingMeasure("pair_gap_mm", "difference within a pair", " mm", _HUNDREDTH, lambda ring: ring.pair_gap_mm,
                "side_stones.length_mm", _pairs_alike),
    RingMeasure("side_color_letters", "sides apart from the center by", " letters", _LETTER, _side_color,
                "side_stones.color", _sides_like_center),
    RingMeasure("melee_color_letters", "melee whiter than the center by", " letters", _LETTER, _melee_color,
                "setting.melee_color", _melee_like_center),
    RingMeasure("claw_count", "claws:", "", Decimal(1), _count_of_claws, "setting.claws.count",
                _count("setting.claws.count")),
    RingMeasure("claw_wire_mm", "claw wire", " mm", _HUNDREDTH, _claw_wire, "setting.claws.wire_mm",
                _set("setting.claws.wire_mm")),
    _of_setting("bezel_wall_mm", "bezel wall"),
    _of_setting("shank_width_mm", "shank width"),
    _of_setting("shank_thickness_mm", "shank thickness"),
    _of_setting("split_leg_mm", "leg of the split shank"),
    _of_setting("culet_height_mm", "culet above the finger"),
    RingMeasure("pave_edge_mm", "metal beside the melee", " mm", _HUNDREDTH, _pave_edge,
                "setting.shank_width_mm", _width_for_edge),
    RingMeasure("pave_floor_mm", "metal under the melee", " mm", _HUNDREDTH, _pave_floor,
                "setting.shank_thickness_mm", _thickness_for_floor),
    RingMeasure("total_height_mm", "total height", " mm", _HUNDREDTH, _total_height,
                "setting.culet_height_mm", _to_height),
    RingMeasure("band_gap_mm", "gap", " mm", _HUNDREDTH, _band_gap, "wedding_band.thickness_mm",
                _cheapest_lever, _tell_gap),
    RingMeasure("band_clearance_mm", "clearance", " mm", _HUNDREDTH, _band_clearance,
                "wedding_band.thickness_mm", _cheapest_lever),
    RingMeasure("halo_spacing_mm", "spacing", " mm", _HUNDREDTH, _halo_spacing, "setting.halo.melee_mm",
                _next_melee),
    RingMeasure("halo_share_pct", "melee is", " % of the center's width", Decimal("0.1"), _halo_share,
                "setting.halo.melee_mm", _halo_to),
)  # fmt: skip

RING_MEASURES: Final[dict[str, RingMeasure]] = {measure.name: measure for measure in _MEASURES}
