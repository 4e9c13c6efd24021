"""The lengths of a ring as they stand in an answer, and what each was measured along. Decides nothing."""

from decimal import Decimal
from typing import Final

from gradefloor.judge.ring_findings import (
    EternityGeometry,
    FingerGeometry,
    Geometry,
    HaloGeometry,
    LeverAnswer,
    MeleeRow,
)
from gradefloor.trade import melee, rings
from gradefloor.trade.assembly import Ring
from gradefloor.trade.levers import Lever, LeverName, levers
from gradefloor.trade.settings import Finger
from gradefloor.trade.weights import exact

# What each length runs along, in the words of somebody with a gauge in the hand.
_MEASURED: Final = {
    "total_height_mm": "upwards from the finger under the middle of the center to its table",
    "culet_clearance_mm": "upwards from the finger to the culet",
    "band_gap_mm": "along the finger, from the shank's edge to the band, on one side",
    "clearance_mm": "upwards or along the finger, whichever is more, from the band to what comes nearest",
    "contour_mm": "along the finger, from the shank's edge to where the band has to run",
    "flank_mm": "along the center's side that faces the side stone, between its corners",
    "outer_along_mm": "along the finger, over the center and its halo",
    "outer_across_mm": "across the finger, over the center and its halo",
    "span_mm": "straight across the finger, from the end of one side stone to the end of the other",
    "span_pct": "straight across the finger, over the inner diameter of the ring",
    "coverage_pct": "straight across the finger, over the inner diameter of the ring",
    "finger": "inside the ring: diameter straight across, circumference around",
    "halo": "around the center, on the line through the melee's middles",
    "pave": "around the outside of the shank, on half of it",
    "eternity": "around the finger at the height of the melee's girdles, by chords",
}  # fmt: skip

_LEVERS: Final[dict[LeverName, str]] = {
    "thinner_band": "A thinner band: costs little, and wears out sooner.",
    "raise_center": "A higher center: catches more, and shows more of its side.",
    "turn_center": "The center turned by a quarter: another look.",
    "contour_band": "A contour or notched band: fits this ring and no other.",
    "agree_on_gap": "A gap agreed on: from about 1 mm it looks meant, from 0.2 to 0.6 mm it holds dirt.",
}


def take_geometry(ring: Ring) -> Geometry:
    """Every length that can be worked out; one that cannot is left out."""
    found: Geometry = {}
    _heights(ring, found)
    _band(ring, found)
    _across(ring, found)
    if ring.finger is not None:
        found["finger"] = _finger(ring.finger, ring)
    if ring.halo is not None:
        found["halo"] = _halo(ring.halo)
    if ring.pave is not None:
        found["pave"] = _row(ring.pave)
    if ring.eternity is not None:
        found["eternity"] = _eternity(ring.eternity)
    found["measured"] = {name: along for name, along in _MEASURED.items() if name in found}
    return found


def _heights(ring: Ring, found: Geometry) -> None:
    if ring.total_height_mm is not None:
        found["culet_clearance_mm"] = float(ring.culet_height_mm)
        found["total_height_mm"] = float(ring.total_height_mm)


def _band(ring: Ring, found: Geometry) -> None:
    fit = ring.fit
    if ring.band is None or fit is None:
        return
    if ring.band.shape in {"contour", "notched"}:
        found["band_gap_mm"], found["flush"], found["contour_mm"] = 0.0, True, float(fit.gap_mm)
    else:
        found["band_gap_mm"], found["flush"] = float(fit.gap_mm), fit.flush
        if fit.clearance_mm is not None and fit.flush:
            found["clearance_mm"] = float(fit.clearance_mm)
    if fit.obstacle is not None:
        found["band_obstacle"] = fit.obstacle


def _across(ring: Ring, found: Geometry) -> None:
    if ring.side_stones and ring.flank_mm is not None:
        found["flank_mm"] = float(ring.flank_mm)
    if ring.outer_mm is not None:
        found["outer_along_mm"], found["outer_across_mm"] = (float(size) for size in ring.outer_mm)
    if ring.span_mm is not None and ring.side_stones:
        found["span_mm"] = float(ring.span_mm)
        if ring.span_pct is not None:
            found["span_pct"] = float(ring.span_pct)
    if ring.coverage_pct is not None:
        found["coverage_pct"] = float(ring.coverage_pct)


def _finger(finger: Finger, ring: Ring) -> FingerGeometry:
    inner = rings.inner_diameter_mm(finger.system, finger.size)
    found: FingerGeometry = {
        "inner_diameter_mm": float(inner),
        "circumference_mm": float(rings.circumference_mm(finger.system, finger.size)),
        "sizes": [
            {"system": label.system, "size": label.size, "table": label.table, "off_mm": float(label.off_mm)}
            for label in rings.labels(inner)
        ],
    }
    if (differ := rings.uk_disagreement(inner)) is not None:
        found["disagreement"] = differ
    widths = [ring.setting.shank_width_mm, ring.band.width_mm if ring.band else None]
    widest = max((exact(width) for width in widths if width is not None), default=Decimal(0))
    if (more := rings.wide_band_allowance(widest)) is not None:
        found["allowance"] = f"A band this wide takes {more[0]} to {more[1]} of a US size more: try it on."
    return found


def _row(row: melee.Row) -> MeleeRow:
    found: MeleeRow = {
        "melee_mm": float(row.melee_mm),
        "fits": row.fits,
        "count": row.count,
        "spacing_mm": float(row.spacing_mm),
        "carat_each": float(row.carat_each),
        "carat_total": float(row.carat_total),
    }
    if row.centre_line_mm is not None:
        found["center_line_mm"] = float(row.centre_line_mm)
    if row.next_melee_mm is not None:
        found["next_melee_mm"] = float(row.next_melee_mm)
    return found


def _halo(halo: melee.Halo) -> HaloGeometry:
    rows = [_row(row) for row in halo.rows]
    return {"rows": rows, "count": halo.count, "carat_total": float(halo.carat_total)}


def _eternity(eternity: melee.Eternity) -> EternityGeometry:
    row = _row(eternity.row)
    return {**row, "radius_mm": float(eternity.radius_mm), "resizable": eternity.resizable}


def tell_levers(ring: Ring) -> list[LeverAnswer]:
    """What closes the gap to a straight band, the cheapest first, and the gap after each."""
    return [_lever(lever) for lever in levers(ring)]


def _lever(lever: Lever) -> LeverAnswer:
    after: Geometry = {}
    _heights(lever.ring, after)
    _band(lever.ring, after)
    told: LeverAnswer = {
        "lever": lever.name,
        "says": _LEVERS[lever.name],
        "change": [{"field": field, "value": value} for field, value in lever.changes.items()],
        "band_gap_mm": after["band_gap_mm"],
        "flush": after["flush"],
    }
    if "clearance_mm" in after:
        told["clearance_mm"] = after["clearance_mm"]
    if "total_height_mm" in after:
        told["total_height_mm"] = after["total_height_mm"]
    return told
