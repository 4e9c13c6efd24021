"""A ring put together from its parts: all lengths that follow, and everything that had to be assumed.

Heights are measured up from the finger under the middle of the center; "along" is along the finger,
"across" is across it. A length that cannot be worked out is None.
"""

from collections.abc import Sequence
from decimal import ROUND_DOWN, ROUND_HALF_UP, Decimal
from functools import cached_property, lru_cache
from typing import Final, NamedTuple

from gradefloor.trade import band_fit, melee, rings
from gradefloor.trade.figures import length_and_width
from gradefloor.trade.outlines import USUAL_CORNER
from gradefloor.trade.settings import FacetStyle, Finger, RingParts, Setting, SideStone, Wearer, WeddingBand
from gradefloor.trade.shapes import CIRCULAR, SHAPES
from gradefloor.trade.stones import Stone
from gradefloor.trade.weights import USUAL_DEPTH_PCT, exact, mean_diameter_mm

_HUNDREDTH: Final = Decimal("0.01")
_TENTH: Final = Decimal("0.1")

# What a usual ring has where nothing is stated: from memory, no source.
USUAL_SHANK_WIDTH_MM: Final = Decimal("2.0")
USUAL_SHANK_THICKNESS_MM: Final = Decimal("1.8")
USUAL_BAND_THICKNESS_MM: Final = Decimal("1.7")
USUAL_SIDE_DEPTH_PCT: Final = Decimal(55)  # of the narrower measure
USUAL_HALO_SHARE: Final = Decimal("0.20")  # of the center's width; met from 0.15 to 0.25
USUAL_HALO_MM: Final = (Decimal("0.9"), Decimal("1.8"))
USUAL_FINGER_MM: Final = rings.inner_diameter_mm("us", "6")
# A lower gallery is about two thirds of the upper size: bench practice on common galleries.
USUAL_GALLERY_SHARE: Final = Decimal(2) / 3
HIDDEN_HALO_SHARE: Final = Decimal(1) / 3  # of the pavilion, from the culet up to its underside
SEAT_DEPTH_SHARE: Final = Decimal("0.6")  # of a melee's diameter that lies below its girdle

# Side shapes that end in a straight side against the center.
FLAT_ENDED: Final = frozenset({
    "trapezoid", "baguette", "tapered_baguette", "shield", "bullet", "half_moon", "cadillac", "epaulette",
    "emerald", "asscher", "radiant", "princess", "carre", "french_square",
})  # fmt: skip
_CORNERED: Final = frozenset({"emerald", "asscher", "radiant"})
_SQUARE_ENDED: Final = frozenset({"princess", "carre", "french_square", "baguette"})


class Assumed(NamedTuple):
    """A value that nobody stated and something was worked out from."""

    field: str
    value: str
    why: str


class Ring:
    """One ring. Nothing in it changes; what is worked out is worked out once."""

    def __init__(  # noqa: PLR0913, PLR0917 - a ring has these parts
        self,
        center: Stone,
        setting: Setting,
        side_stones: Sequence[SideStone] = (),
        band: WeddingBand | None = None,
        finger: Finger | None = None,
        wearer: Wearer | None = None,
    ) -> None:
        self.center = center
        self.setting = setting
        self.side_stones = tuple(side_stones)
        self.band = band
        self.finger = finger
        self.wearer = wearer
        self._assumed: dict[str, Assumed] = {}

    @classmethod
    def of(cls, parts: RingParts) -> "Ring":
        """The ring that a request states."""
        return cls(
            parts.center,
            parts.setting or Setting(),
            parts.side_stones or (),
            parts.wedding_band,
            parts.finger,
            parts.wearer,
        )

    def but(self, **parts: object) -> "Ring":
        """The same ring with other parts, by the names of the constructor."""
        mine: dict[str, object] = {
            "center": self.center,
            "setting": self.setting,
            "side_stones": self.side_stones,
            "band": self.band,
            "finger": self.finger,
            "wearer": self.wearer,
        }
        return Ring(**(mine | parts))  # type: ignore[arg-type]

    def set_so(self, **members: object) -> "Ring":
        """The same ring with other members of the setting."""
        return self.but(setting=self.setting.model_copy(update=members))

    @property
    def assumed(self) -> list[Assumed]:
        """What has been assumed by all that was worked out so far."""
        return list(self._assumed.values())

    def _or(self, stated: float | None, field: str, usual: Decimal, why: str, unit: str = "mm") -> Decimal:
        if stated is not None:
            return exact(stated)
        self._assumed[field] = Assumed(field, f"{usual.normalize():f} {unit}", why)
        return usual

    # The center

    @cached_property
    def measures_mm(self) -> tuple[Decimal, Decimal] | None:
        """Extent of the center along and across the finger."""
        sides = length_and_width(self.center)
        if sides is None:
            return None
        if self.setting.orientation is None and self.center.shape not in CIRCULAR:
            field = "setting.orientation"
            self._assumed[field] = Assumed(field, "along", "the length usually lies along the finger")
        return (sides[1], sides[0]) if self.setting.orientation == "across" else sides

    @cached_property
    def percent_base_mm(self) -> Decimal | None:
        """What the center's percentages are of: the width, or the mean diameter of a round."""
        sides = length_and_width(self.center)
        if sides is None:
            return None
        return mean_diameter_mm(*sides) if self.center.shape in CIRCULAR else sides[1]

    @cached_property
    def depth_mm(self) -> Decimal | None:
        """Depth of the center from table to culet."""
        center, base = self.center, self.percent_base_mm
        if center.depth_mm is not None:
            return exact(center.depth_mm)
        if base is None:
            return None
        if center.depth_pct is not None:
            return (exact(center.depth_pct) * base / 100).quantize(_HUNDREDTH, ROUND_HALF_UP)
        usual = USUAL_DEPTH_PCT.get(center.shape)
        if center.shape in CIRCULAR:
            usual = usual or Decimal("61.5")
        if usual is None:
            return None
        pct = self._or(None, "center.depth_pct", usual, "usual depth of this shape", "%")
        return (pct * base / 100).quantize(_HUNDREDTH, ROUND_HALF_UP)

    @cached_property
    def pavilion_mm(self) -> Decimal | None:
        """Depth of the center below its girdle; None for a flat back, too."""
        depth, base, center = self.depth_mm, self.percent_base_mm, self.center
        if depth is None or base is None:
            return None
        crown = self._or(
            center.crown_height_pct,
            "center.crown_height_pct",
            band_fit.USUAL_CROWN_PCT[center.shape],
            "usual crown of this shape",
            "%",
        )
        girdle = self._or(
            center.girdle_pct, "center.girdle_pct", band_fit.USUAL_GIRDLE_PCT, "usual girdle", "%"
        )
        return band_fit.pavilion_mm(depth, base, crown, girdle)

    @cached_property
    def culet_height_mm(self) -> Decimal:
        """Height of the culet above the finger."""
        usual, why = band_fit.USUAL_CULET_HEIGHT_MM, "the least a culet should clear the finger by"
        return self._or(self.setting.culet_height_mm, "setting.culet_height_mm", usual, why)

    @cached_property
    def total_height_mm(self) -> Decimal | None:
        """From the finger to the center's table."""
        if self.depth_mm is None:
            return None
        return (self.culet_height_mm + self.depth_mm).quantize(_HUNDREDTH, ROUND_HALF_UP)

    # Across the finger

    @cached_property
    def finger_mm(self) -> Decimal | None:
        """Inner diameter of the ring."""
        return None if self.finger is None else rings.inner_diameter_mm(self.finger.system, self.finger.size)

    @cached_property
    def outer_mm(self) -> tuple[Decimal, Decimal] | None:
        """Extent along and across the finger with the halo, if it has one that is seen from above."""
        if self.halo is None or self.halo_is_hidden:
            return self.measures_mm
        length, width = self.halo.outer_length_mm, self.halo.outer_width_mm
        return (width, length) if self.setting.orientation == "across" else (length, width)

    @cached_property
    def span_mm(self) -> Decimal | None:
        """Across the finger from end to end of all stones seen from above, without the metal."""
        if self.outer_mm is None:
            return None
        widths = [stone.width_mm for stone in self.side_stones]
        if None in widths:
            return None
        return self.outer_mm[1] + sum((exact(width) for width in widths if width is not None), Decimal(0))

    @cached_property
    def span_pct(self) -> Decimal | None:
        """The span in % of the inner diameter; None without a finger size."""
        if self.span_mm is None or self.finger_mm is None:
            return None
        return rings.coverage_pct(self.span_mm, self.finger_mm)

    @cached_property
    def coverage_pct(self) -> Decimal | None:
        """The center, with its halo, across the finger in % of the inner diameter."""
        if self.outer_mm is None or self.finger_mm is None:
            return None
        return rings.coverage_pct(self.outer_mm[1], self.finger_mm)

    @cached_property
    def flank_mm(self) -> Decimal | None:
        """Straight side of the center that a side stone lies against; None where it has none.

        To 0.1 mm where the corner is the usual one, which is not known better, else to 0.01 mm.
        """
        if self.measures_mm is None:
            return None
        along, shape = self.measures_mm[0], self.center.shape
        if shape in _SQUARE_ENDED:
            return along
        if shape not in _CORNERED:
            return None
        narrower = min(self.measures_mm)
        usual = (USUAL_CORNER * narrower).quantize(_HUNDREDTH, ROUND_HALF_UP)
        corner = self._or(self.center.corner_mm, "center.corner_mm", usual, "0.13 of the width")
        if corner * 2 >= along:
            return None
        grain = _TENTH if self.center.corner_mm is None else _HUNDREDTH
        return (along - 2 * corner).quantize(grain, ROUND_HALF_UP)

    # The sides

    @cached_property
    def over_flank_mm(self) -> Decimal | None:
        """How far the longest straight-ended side stone is longer than the flank; negative if shorter."""
        lengths = [s.length_mm for s in self.side_stones if s.shape in FLAT_ENDED and s.length_mm is not None]
        return exact(max(lengths)) - self.flank_mm if lengths and self.flank_mm is not None else None

    @cached_property
    def pairs(self) -> tuple[tuple[SideStone, SideStone], ...]:
        """Side stones that face each other: matched by size, because nobody says which lies where."""
        ordered = sorted(self.side_stones, key=lambda s: (s.shape, s.length_mm or 0, s.width_mm or 0))
        return tuple(zip(ordered[::2], ordered[1::2], strict=False))

    @cached_property
    def pair_gap_mm(self) -> Decimal | None:
        """Largest difference in length or width within a pair."""
        gaps = [
            abs(exact(one) - exact(other))
            for left, right in self.pairs
            for one, other in ((left.length_mm, right.length_mm), (left.width_mm, right.width_mm))
            if one is not None and other is not None
        ]
        return max(gaps, default=None)

    # Melee

    @property
    def halo_is_hidden(self) -> bool:
        return self.setting.halo is not None and bool(self.setting.halo.hidden)

    @cached_property
    def halo_melee_mm(self) -> Decimal | None:
        """Melee of the halo: as stated, else one fifth of the center's width."""
        sides, asked = length_and_width(self.center), self.setting.halo
        if sides is None or asked is None:
            return None
        usual = (sides[1] * USUAL_HALO_SHARE).quantize(_TENTH, ROUND_HALF_UP)
        usual = min(max(usual, USUAL_HALO_MM[0]), USUAL_HALO_MM[1])
        return self._or(asked.melee_mm, "setting.halo.melee_mm", usual, "one fifth of the center's width")

    @cached_property
    def halo(self) -> melee.Halo | None:
        """The halo, counted. A hidden one runs under the edge of the girdle."""
        sides, asked, melee_mm = length_and_width(self.center), self.setting.halo, self.halo_melee_mm
        if sides is None or asked is None or melee_mm is None:
            return None
        corner = None if self.center.corner_mm is None else exact(self.center.corner_mm)
        gap = -melee_mm if asked.hidden else melee.HALO_GAP
        rows = asked.rows or 1
        return _halo(self.center.shape, *sides, melee_mm, corner, rows, gap)

    @cached_property
    def pave(self) -> melee.Row | None:
        """Melee along half of the shank."""
        setting, finger = self.setting, self.finger_mm
        if setting.shank not in {"pave", "channel", "multi_row"} or setting.shank_melee_mm is None:
            return None
        if finger is None:
            return None
        thickness = self._or(
            setting.shank_thickness_mm,
            "setting.shank_thickness_mm",
            USUAL_SHANK_THICKNESS_MM,
            "usual shank",
        )
        return melee.pave(finger, thickness, exact(setting.shank_melee_mm), setting.shank_rows or 1)

    @cached_property
    def eternity(self) -> melee.Eternity | None:
        """Melee around the wedding band."""
        if self.band is None or self.band.stones is None or self.finger_mm is None:
            return None
        return melee.eternity(self.finger_mm, exact(self.band.stones.melee_mm), self.band.stones.extent)

    # The wedding band

    @cached_property
    def band_thickness_mm(self) -> Decimal:
        stated = None if self.band is None else self.band.thickness_mm
        return self._or(stated, "wedding_band.thickness_mm", USUAL_BAND_THICKNESS_MM, "usual plain band")

    @cached_property
    def obstacles(self) -> tuple[band_fit.Obstacle, ...] | None:
        """All that a band may meet; None if the center's size is not known."""
        setting = self.setting
        if setting.measured_clearance is not None:
            points = [(exact(c.height_mm), exact(c.half_extent_mm)) for c in setting.measured_clearance]
            return (band_fit.Measured("measured head", tuple(points)),)
        head = self._head
        if head is None or self.measures_mm is None:
            return None
        half, girdle_mm = self.measures_mm[0] / 2, self.culet_height_mm + (self.pavilion_mm or 0)
        found: list[band_fit.Obstacle] = [head]
        if setting.gallery is not None:
            usual = (half * USUAL_GALLERY_SHARE).quantize(_HUNDREDTH, ROUND_HALF_UP)
            extent = self._or(
                setting.gallery.half_extent_mm,
                "setting.gallery.half_extent_mm",
                usual,
                "two thirds of the center's own",
            )
            found.append(band_fit.Wall("gallery rail", exact(setting.gallery.bottom_mm), extent))
        found += self._halo_obstacle(half, girdle_mm, head)
        found += (basket for stone in self.side_stones if (basket := self._basket(stone, girdle_mm)))
        return tuple(found)

    @cached_property
    def _head(self) -> band_fit.Obstacle | None:
        sides = length_and_width(self.center)
        if sides is None or self.measures_mm is None or self.depth_mm is None:
            return None
        half = self.measures_mm[0] / 2
        if self.pavilion_mm is None:
            return band_fit.Wall("center", self.culet_height_mm, half + self._overhang_mm)
        family, along = SHAPES[self.center.shape].facet_family, self.setting.orientation != "across"
        keel = band_fit.keel_mm(family, self.center.shape, *sides, along=along)
        wire, overhang = self._wire_mm, self._overhang_mm
        return band_fit.Cone("center", self.culet_height_mm, self.pavilion_mm, half, keel, wire, overhang)

    @cached_property
    def _wire_mm(self) -> Decimal:
        usual = band_fit.BASKET_WIRE_MM
        return self._or(self.setting.basket_wire_mm, "setting.basket_wire_mm", usual, "usual basket wire")

    @cached_property
    def _overhang_mm(self) -> Decimal:
        usual, why = band_fit.CLAW_OVERHANG_MM, "usual claws stand out so far"
        return self._or(self.setting.claw_overhang_mm, "setting.claw_overhang_mm", usual, why)

    def _halo_obstacle(
        self, half_mm: Decimal, girdle_mm: Decimal, head: band_fit.Obstacle
    ) -> list[band_fit.Obstacle]:
        asked, melee_mm = self.setting.halo, self.halo_melee_mm
        if asked is None or melee_mm is None:
            return []
        if not asked.hidden:
            if self.outer_mm is None:
                return []
            bottom = girdle_mm - SEAT_DEPTH_SHARE * melee_mm
            return [band_fit.Wall("halo", bottom, self.outer_mm[0] / 2)]
        rise = (girdle_mm - self.culet_height_mm) * HIDDEN_HALO_SHARE
        usual = (self.culet_height_mm + rise).quantize(_HUNDREDTH, ROUND_DOWN)
        bottom = self._or(
            asked.bottom_mm, "setting.halo.bottom_mm", usual, "a third of the way up the pavilion"
        )
        extent = min(head.just_above_mm(bottom) + melee_mm, half_mm + self._overhang_mm)
        return [band_fit.Wall("hidden halo", bottom, extent)]

    def _basket(self, stone: SideStone, girdle_mm: Decimal) -> band_fit.Obstacle | None:
        """What holds a side stone: lower than the center's girdle, and further down the finger's curve."""
        if stone.length_mm is None or stone.width_mm is None or self.measures_mm is None:
            return None
        length, width = exact(stone.length_mm), exact(stone.width_mm)
        depth = stone.depth_mm and exact(stone.depth_mm)
        if not depth:
            stated = stone.depth_pct
            why = "usual depth of side stones, of the narrower measure"
            pct = self._or(stated, "side_stones.depth_pct", USUAL_SIDE_DEPTH_PCT, why, "%")
            depth = pct * min(length, width) / 100
        pavilion = band_fit.pavilion_mm(
            depth, min(length, width), band_fit.USUAL_CROWN_PCT[stone.shape], band_fit.USUAL_GIRDLE_PCT
        )
        if pavilion is None:
            return None
        bottom = max(girdle_mm - band_fit.SIDE_DROP_MM - pavilion, Decimal(0))
        family = faceting(stone)
        keel = max(length - width, Decimal(0)) if family == "step" else Decimal(0)
        inner = self.finger_mm
        if inner is None:
            field, why = "finger.size", "US size 6, for the curve that lowers the finger under the sides"
            self._assumed[field] = Assumed(field, f"{USUAL_FINGER_MM} mm", why)
            inner = USUAL_FINGER_MM
        lift = band_fit.sagitta_mm(inner / 2 + self.band_thickness_mm, (self.measures_mm[1] + width) / 2)
        wire, overhang = self._wire_mm, self._overhang_mm
        basket = band_fit.Cone("side stone", bottom, pavilion, length / 2, keel, wire, overhang)
        return band_fit.raised(basket, lift)

    @cached_property
    def fit(self) -> band_fit.BandFit | None:
        """How a straight band of this thickness lies against the ring; None without band or sizes."""
        if self.band is None or self.obstacles is None:
            return None
        shank = self._or(
            self.setting.shank_width_mm, "setting.shank_width_mm", USUAL_SHANK_WIDTH_MM, "usual shank"
        )
        return band_fit.fit(self.obstacles, shank, self.band_thickness_mm)


@lru_cache(maxsize=256)  # the curve is the one costly thing here, and rings that differ elsewhere share it
def _halo(  # noqa: PLR0913, PLR0917 - what a halo follows from
    shape: str,
    length_mm: Decimal,
    width_mm: Decimal,
    melee_mm: Decimal,
    corner_mm: Decimal | None,
    rows: int,
    gap_mm: Decimal,
) -> melee.Halo | None:
    return melee.halo(shape, length_mm, width_mm, melee_mm, corner_mm, rows=rows, gap_mm=gap_mm)


def faceting(stone: SideStone) -> FacetStyle | None:
    """How a side stone is faceted, `step` or `brilliant`; None where its shape is cut either way."""
    if stone.facet_family is not None:
        return stone.facet_family
    family = SHAPES[stone.shape].facet_family
    if family == "step_or_brilliant":
        return None
    return "step" if family in {"step", "mixed"} else "brilliant"
