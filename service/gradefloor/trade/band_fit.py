"""Whether a straight wedding band lies flush against a ring.

All in mm, as decimals. Heights are measured up from the finger's surface under the middle of the stone;
extents run along the finger and are halves, from the middle of the ring to one side. The band is a rectangle
beside the shank, as high as it is thick. What stands out over the shank no higher than that keeps it away.

The model is plain geometry of ours; it has no published source.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from decimal import ROUND_DOWN, ROUND_HALF_UP, Decimal
from itertools import pairwise
from typing import Final

from gradefloor.trade.shapes import SHAPES

BASKET_WIRE_MM: Final = Decimal("0.8")  # wire of the basket beside the pavilion: from memory
CLAW_OVERHANG_MM: Final = Decimal("0.35")  # claw beyond the girdle: from memory
TRIAL_CLEARANCE_MM: Final = Decimal("0.15")  # with less room than this, try it on: house starting value
SIDE_DROP_MM: Final = Decimal("0.5")  # side girdle below the centre's, met from 0.3 to 0.8: from memory
USUAL_CULET_HEIGHT_MM: Final = Decimal("1.0")  # at least so far above the finger: bench practice
USUAL_RAIL_MM: Final = Decimal("0.9")  # height of a gallery rail, met from 0.8 to 1.0: from memory

# Usual heights in % of the width, from memory: crowns are met from 10 to 16, girdles from 2.5 to 4.5.
USUAL_GIRDLE_PCT: Final = Decimal("3.5")
_CROWNS: Final = {
    "round": "15.5",
    **dict.fromkeys(("oval", "pear", "marquise", "heart", "asscher"), "14"),
    **dict.fromkeys(("cushion", "cushion_brilliant", "cushion_modified"), "14"),
    "princess": "11",
    **dict.fromkeys(("old_european", "circular_brilliant", "old_mine"), "16"),
    # A flat back: the stone is all crown, and nothing is left for a pavilion.
    **dict.fromkeys(("rose", "portrait"), "100"),
}
USUAL_CROWN_PCT: Final = {shape: Decimal(_CROWNS.get(shape, "13")) for shape in SHAPES}

_NOTHING: Final = Decimal(0)
_HUNDREDTH: Final = Decimal("0.01")


def pavilion_mm(
    depth_mm: Decimal, across_mm: Decimal, crown_pct: Decimal, girdle_pct: Decimal
) -> Decimal | None:
    """Depth less crown and girdle, whose heights are in % of `across_mm`: the width, or the mean diameter.

    None where crown and girdle leave nothing: a flat back, or numbers that do not belong together.
    """
    left = depth_mm - across_mm * (crown_pct + girdle_pct) / 100
    return left if left > 0 else None


def keel_mm(facet_family: str, shape: str, length_mm: Decimal, width_mm: Decimal, along: bool) -> Decimal:
    """How long the line at the bottom of the pavilion runs along the finger; 0 for a culet, or a line across.

    `along` says that the length lies along the finger. The pavilion of a step cut slopes alike on all sides,
    so its line is as long as the stone is longer than wide; half of that for a radiant is common practice,
    no source.
    """
    run, other = (length_mm, width_mm) if along else (width_mm, length_mm)
    longer = max(run - other, _NOTHING)
    if facet_family == "step":
        return longer
    return longer / 2 if shape == "radiant" else _NOTHING


# Obstacles. Each tells how far it stands out at or below a height, so no extent decreases on the way up.
# `half_extent_mm` leaves out what begins at exactly that height, because a band may touch an underside;
# `just_above_mm` counts it. `ledges_mm` are the heights at which the obstacle may widen all at once.


@dataclass(frozen=True, slots=True)
class Cone:
    """A stone in its basket, from the culet or keel at `bottom_mm` to its claws.

    `half_length_mm` is half its extent along the finger. Pavilion above 0; the keel is not longer than the
    stone.
    """

    name: str
    bottom_mm: Decimal
    pavilion_mm: Decimal
    half_length_mm: Decimal
    keel_mm: Decimal
    wire_mm: Decimal = BASKET_WIRE_MM
    overhang_mm: Decimal = CLAW_OVERHANG_MM

    @property
    def ledges_mm(self) -> tuple[Decimal, ...]:
        return (self.bottom_mm,)

    def half_extent_mm(self, z: Decimal) -> Decimal:
        return self.just_above_mm(z) if z > self.bottom_mm else _NOTHING

    def just_above_mm(self, z: Decimal) -> Decimal:
        if z < self.bottom_mm:
            return _NOTHING
        half_keel = self.keel_mm / 2
        # Multiplied first: a third of something times three is not the thing itself.
        flare = (z - self.bottom_mm) * (self.half_length_mm - half_keel) / self.pavilion_mm
        return min(half_keel + flare + self.wire_mm, self.half_length_mm + self.overhang_mm)


@dataclass(frozen=True, slots=True)
class Wall:
    """A gallery rail, a hidden halo, a bridge: stands out equally far from its underside upwards."""

    name: str
    bottom_mm: Decimal
    extent_mm: Decimal

    @property
    def ledges_mm(self) -> tuple[Decimal, ...]:
        return (self.bottom_mm,)

    def half_extent_mm(self, z: Decimal) -> Decimal:
        return self.extent_mm if z > self.bottom_mm else _NOTHING

    def just_above_mm(self, z: Decimal) -> Decimal:
        return self.extent_mm if z >= self.bottom_mm else _NOTHING


@dataclass(frozen=True, slots=True)
class Measured:
    """A workshop's own profile: heights with half-extents, at least one, in any order.

    Nothing below the lowest point, straight between points, and above the highest as wide as anywhere below.
    Two points at one height are a ledge.
    """

    name: str
    points: tuple[tuple[Decimal, Decimal], ...]

    @property
    def bottom_mm(self) -> Decimal:
        return min(height for height, _ in self.points)

    @property
    def ledges_mm(self) -> tuple[Decimal, ...]:
        """Every point: between few of them a profile may well be a step."""
        return tuple(height for height, _ in self.points)

    def half_extent_mm(self, z: Decimal) -> Decimal:
        below = [extent for height, extent in self.points if height < z]
        return max([*below, *self._between(z)], default=_NOTHING)

    def just_above_mm(self, z: Decimal) -> Decimal:
        below = [extent for height, extent in self.points if height <= z]
        return max([*below, *self._between(z)], default=_NOTHING)

    def _between(self, z: Decimal) -> list[Decimal]:
        """Where the line from the point below to the point at or above is at this height."""
        return [
            extent + (z - height) * (next_extent - extent) / (next_height - height)
            for (height, extent), (next_height, next_extent) in pairwise(sorted(self.points))
            if height < z <= next_height
        ]


Obstacle = Cone | Wall | Measured


def sagitta_mm(radius_mm: Decimal, x_mm: Decimal) -> Decimal:
    """How far the finger's curve has fallen away `x_mm` to the side: R - √(R² - x²); R from the radius on.

    What sits off the middle gains as much height: see `raised`.
    """
    if abs(x_mm) >= radius_mm:
        return radius_mm
    return radius_mm - (radius_mm * radius_mm - x_mm * x_mm).sqrt()


def raised(obstacle: Obstacle, by: Decimal) -> Obstacle:
    """The same obstacle, higher up."""
    if isinstance(obstacle, Measured):
        points = tuple((height + by, extent) for height, extent in obstacle.points)
        return replace(obstacle, points=points)
    return replace(obstacle, bottom_mm=obstacle.bottom_mm + by)


@dataclass(frozen=True, slots=True)
class BandFit:
    """How a straight band lies against a ring, and what decides it.

    `gap_mm` is to 0.01 half up, but never 0.00 where there is one. `clearance_mm` is what is left between the
    band and the nearest obstacle, upwards or sideways, whichever is more: 0 where there is a gap, None where
    nothing stands out; to 0.01 downwards, so that it reads as it was judged. `trial` says that the band is
    flush with so little room that it has to be tried. Both were decided before rounding. `obstacle` names
    what keeps the band away, or comes nearest to it.
    """

    gap_mm: Decimal
    clearance_mm: Decimal | None
    flush: bool
    trial: bool
    obstacle: str | None


def fit(obstacles: Iterable[Obstacle], shank_width_mm: Decimal, band_thickness_mm: Decimal) -> BandFit:
    """A band of this thickness against a shank of this width, with these obstacles above it."""
    edge = shank_width_mm / 2
    each = [
        (
            min(edge - obstacle.half_extent_mm(band_thickness_mm), _NOTHING),
            _clearance(obstacle, edge, band_thickness_mm),
            obstacle.name,
        )
        for obstacle in obstacles
    ]
    if not each:
        return BandFit(_NOTHING, None, flush=True, trial=False, obstacle=None)
    overlap, clearance, name = min(each)  # the widest gap first, then the least room; names end a tie
    flush = overlap == 0
    gap = _NOTHING if flush else max((-overlap).quantize(_HUNDREDTH, ROUND_HALF_UP), _HUNDREDTH)
    return BandFit(
        gap_mm=gap,
        clearance_mm=clearance.quantize(_HUNDREDTH, ROUND_DOWN),
        flush=flush,
        trial=flush and clearance < TRIAL_CLEARANCE_MM,
        obstacle=name,
    )


def _clearance(obstacle: Obstacle, edge: Decimal, top: Decimal) -> Decimal:
    """Room between the band's upper corner and the obstacle; 0 where the band cannot reach the shank.

    At each height where the obstacle may begin, the band clears it by passing below or by staying outside.
    """
    heights = {max(ledge, top) for ledge in obstacle.ledges_mm}
    return min(max(height - top, edge - obstacle.just_above_mm(height)) for height in heights)
