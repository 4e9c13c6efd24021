"""What closes the gap between a ring and a straight wedding band, the cheapest first.

The order is common practice, no source: another band costs least, another ring most, and living with a gap
costs nothing but has to be agreed on.
"""

from collections.abc import Iterator
from decimal import Decimal
from typing import Final, Literal, NamedTuple

from gradefloor.trade.assembly import Ring
from gradefloor.trade.band_fit import BandFit
from gradefloor.trade.shapes import CIRCULAR

LeverName = Literal["thinner_band", "raise_center", "turn_center", "contour_band", "agree_on_gap"]

# A plain band thinner than this bends within a year: one bench's minimum.
THINNEST_BAND_MM: Final = Decimal("1.5")
_BAND_STEP_MM: Final = Decimal("0.1")
_RAISE_STEP_MM: Final = Decimal("0.05")
HIGHEST_RAISE_MM: Final = Decimal("3.0")  # beyond this it is another ring


class Lever(NamedTuple):
    """One change to ring or band, by members of the request, and the ring after it."""

    name: LeverName
    changes: dict[str, float | str | bool]
    ring: Ring


def settled(fit: BandFit | None) -> bool:
    """Whether the band lies flush with room enough to need no trial."""
    return fit is not None and fit.flush and not fit.trial


def levers(ring: Ring) -> list[Lever]:
    """Every lever that does something for a straight band that is not flush, or flush by a hair."""
    if ring.band is None or ring.band.shape not in {None, "straight"}:
        return []
    if ring.fit is None or settled(ring.fit):
        return []
    return list(_levers(ring, ring.fit))


def _levers(ring: Ring, now: BandFit) -> Iterator[Lever]:
    band = ring.band
    if (thinner := _thinner(ring, now)) is not None:
        yield thinner
    if ring.setting.measured_clearance is None:
        if (raised := _raised(ring)) is not None:
            yield raised
        if (turned := _turned(ring, now)) is not None:
            yield turned
    assert band is not None  # noqa: S101 - told by the caller, and mypy cannot know
    contour = ring.but(band=band.model_copy(update={"shape": "contour"}))
    yield Lever("contour_band", {"wedding_band.shape": "contour"}, contour)
    if not now.flush:
        agreed = ring.but(band=band.model_copy(update={"accepts_gap": True}))
        yield Lever("agree_on_gap", {"wedding_band.accepts_gap": True}, agreed)


def _thinner(ring: Ring, now: BandFit) -> Lever | None:
    """The thickest thinner band that settles it, else the thinnest; None if that is no help."""
    band, lever = ring.band, None
    thickness = ring.band_thickness_mm
    while band is not None and thickness - _BAND_STEP_MM >= THINNEST_BAND_MM:
        thickness -= _BAND_STEP_MM
        changed = ring.but(band=band.model_copy(update={"thickness_mm": float(thickness)}))
        lever = Lever("thinner_band", {"wedding_band.thickness_mm": float(thickness)}, changed)
        if settled(changed.fit):
            break
    return None if lever is None or lever.ring.fit == now else lever


def _raised(ring: Ring) -> Lever | None:
    """The least raise that settles it; None if none within reason does."""
    height, highest = ring.culet_height_mm, ring.culet_height_mm + HIGHEST_RAISE_MM
    while height < highest:
        height += _RAISE_STEP_MM
        changed = ring.set_so(culet_height_mm=float(height))
        if settled(changed.fit):
            return Lever("raise_center", {"setting.culet_height_mm": float(height)}, changed)
    return None


def _turned(ring: Ring, now: BandFit) -> Lever | None:
    """The center turned by a quarter, if that narrows the gap."""
    if ring.center.shape in CIRCULAR:
        return None
    orientation = "along" if ring.setting.orientation == "across" else "across"
    changed = ring.set_so(orientation=orientation)
    if changed.fit is None or (changed.fit.gap_mm >= now.gap_mm and not settled(changed.fit)):
        return None
    return Lever("turn_center", {"setting.orientation": orientation}, changed)
