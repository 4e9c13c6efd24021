"""Whether a straight band lies flush.

The vectors are computed from the model by hand; no published source. The same gaps are found another way by
shapely (a general geometry library): a band is slid off the silhouette of the ring until the two no longer
overlap.

Invariants:
1. raising everything never widens the gap and never takes room;
2. a thicker band never narrows the gap and never gains room;
3. a wider shank never widens the gap and never takes room;
4. the order of the obstacles changes nothing;
5. one more obstacle never narrows the gap and never gives room;
6. extents never decrease upwards, are nothing up to the bottom, and none is larger than just above;
7. the order of the points of a measured profile changes nothing;
8. there is a gap or there is room, never both, and a trial only without a gap;
9. the gap is how far a band slides off the silhouette.
"""

from collections.abc import Iterable
from decimal import Decimal
from itertools import pairwise
from typing import NamedTuple

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import MultiPoint, Polygon, affinity, box
from shapely.geometry.base import BaseGeometry

from gradefloor.trade.band_fit import (
    BASKET_WIRE_MM,
    CLAW_OVERHANG_MM,
    SIDE_DROP_MM,
    TRIAL_CLEARANCE_MM,
    USUAL_CROWN_PCT,
    USUAL_CULET_HEIGHT_MM,
    USUAL_GIRDLE_PCT,
    USUAL_RAIL_MM,
    Cone,
    Measured,
    Obstacle,
    Wall,
    fit,
    keel_mm,
    pavilion_mm,
    raised,
    sagitta_mm,
)
from gradefloor.trade.shapes import SHAPES

D = Decimal
SHANK, BAND = D("2.0"), D("1.7")


def _pavilion(depth: str, across: str, crown: str, girdle: str) -> Decimal:
    found = pavilion_mm(D(depth), D(across), D(crown), D(girdle))
    assert found is not None
    return found


class Centre(NamedTuple):
    """A stone and how it lies: sizes in mm, heights in % of the width, `along` the finger or across."""

    shape: str
    length: str
    width: str
    depth_pct: str
    crown: str
    girdle: str
    along: bool = True

    def at(self, culet: str) -> Cone:
        length, width = D(self.length), D(self.width)
        depth = width * D(self.depth_pct) / 100
        return Cone(
            name="centre",
            bottom_mm=D(culet),
            pavilion_mm=_pavilion(str(depth), self.width, self.crown, self.girdle),
            half_length_mm=(length if self.along else width) / 2,
            keel_mm=keel_mm(SHAPES[self.shape].facet_family, self.shape, length, width, self.along),
        )


EMERALD = Centre("emerald", "8.00", "5.80", "65", "13", "3.5")
ACROSS = EMERALD._replace(along=False)

# Computed from the model by hand; no published source. Shank 2.0 wide, band 1.7 thick; gaps by the height of
# the culet, and the top of the stone over the finger with the culet at 1.0, 1.3, 1.6 and 1.8.
CULETS = ("1.0", "1.3", "1.6", "1.8")
STONES = [
    (EMERALD, "1.62 1.31 1.00 0", "4.8 5.1 5.4 5.6"),
    (ACROSS, "0.52 0.21 0 0", "4.8 5.1 5.4 5.6"),
    (Centre("radiant", "7.0", "5.4", "67", "13", "4"), "1.00 0.66 0.31 0", "4.6 4.9 5.2 5.4"),
    (Centre("oval", "9.0", "6.5", "61", "14", "3.5"), "0.91 0.44 0 0", "5.0 5.3 5.6 5.8"),
    (Centre("round", "6.5", "6.5", "61.5", "15.5", "3.5"), "0.62 0.27 0 0", "5.0 5.3 5.6 5.8"),
    (Centre("marquise", "10", "5", "60", "14", "3.5"), "1.45 0.74 0.04 0", "4.0 4.3 4.6 4.8"),
]
VECTORS = [
    pytest.param(stone.at(culet), D(gap), id=f"{stone.shape} {'along' if stone.along else 'across'} {culet}")
    for stone, gaps, _ in STONES
    for culet, gap in zip(CULETS, gaps.split(), strict=True)
]


@pytest.mark.parametrize(("stone", "gap"), VECTORS)
def test_gap_of_a_known_ring(stone: Cone, gap: Decimal) -> None:
    found = fit([stone], SHANK, BAND)
    assert found.gap_mm == gap
    assert found.flush == (gap == 0)
    assert found.obstacle == "centre"


@pytest.mark.parametrize(("stone", "_", "tops"), STONES)
def test_culet_pavilion_girdle_and_crown_add_up_to_the_top(stone: Centre, _: str, tops: str) -> None:
    upper = D(stone.width) * (D(stone.crown) + D(stone.girdle)) / 100
    for culet, top in zip(CULETS, tops.split(), strict=True):
        built = stone.at(culet)
        assert (built.bottom_mm + built.pavilion_mm + upper).quantize(D("0.1")) == D(top)


# An emerald cut of 8.00 x 5.80, 65 % deep: computed from the model by hand.
@pytest.mark.parametrize(
    ("stone", "culet", "band", "gap", "clearance"),
    [
        (EMERALD, "1.0", "1.7", "1.62", "0"),
        (ACROSS, "1.0", "1.7", "0.52", "0"),
        (EMERALD, "1.69", "1.7", "0.91", "0"),  # all or nothing: the keel is a line
        (EMERALD, "1.70", "1.7", "0", "0"),
        (EMERALD, "1.71", "1.7", "0", "0.01"),
        (EMERALD, "1.8", "1.7", "0", "0.10"),
        (EMERALD, "1.84", "1.7", "0", "0.14"),
        (EMERALD, "1.85", "1.7", "0", "0.15"),
        (EMERALD, "1.86", "1.7", "0", "0.16"),
        (EMERALD, "1.9", "1.7", "0", "0.20"),
        (ACROSS, "1.6", "1.7", "0", "0.09"),  # 1.0 - 0.9031
        (ACROSS, "1.7", "1.7", "0", "0.20"),  # 1.0 - the wire beside the culet
        (EMERALD, "1.64", "1.5", "0", "0.14"),
        (EMERALD, "1.65", "1.5", "0", "0.15"),
    ],
)
def test_room_over_and_beside_a_band(stone: Centre, culet: str, band: str, gap: str, clearance: str) -> None:
    found = fit([stone.at(culet)], SHANK, D(band))
    assert (found.gap_mm, found.clearance_mm) == (D(gap), D(clearance))
    assert found.flush == (D(gap) == 0)


# On, just under and just over the clearance of 0.15 from which nobody has to try.
@pytest.mark.parametrize(
    ("stone", "culet", "trial"),
    [
        (EMERALD, "1.69", False),  # not flush at all
        (EMERALD, "1.70", True),
        (EMERALD, "1.8", True),
        (EMERALD, "1.849", True),
        (EMERALD, "1.850", False),
        (EMERALD, "1.851", False),
        (EMERALD, "1.9", False),
        (ACROSS, "1.6", True),
        (ACROSS, "1.7", False),
    ],
)
def test_a_band_with_little_room_has_to_be_tried(stone: Centre, culet: str, trial: bool) -> None:
    assert fit([stone.at(culet)], SHANK, BAND).trial == trial


# A wall beside the band: half the shank is 1.0.
@pytest.mark.parametrize(
    ("extent", "gap", "clearance", "trial"),
    [
        ("0.849", "0", "0.15", False),
        ("0.850", "0", "0.15", False),
        ("0.851", "0", "0.14", True),  # 0.149 is not told as 0.15
        ("0.999", "0", "0.00", True),
        ("1.000", "0", "0.00", True),
        ("1.001", "0.01", "0.00", False),  # a gap is never told as none
        ("1.014", "0.01", "0.00", False),
        ("1.015", "0.02", "0.00", False),
    ],
)
def test_boundaries_are_decided_before_rounding(extent: str, gap: str, clearance: str, trial: bool) -> None:
    found = fit([Wall("rail", D("0.9"), D(extent))], SHANK, BAND)
    assert (found.gap_mm, found.clearance_mm) == (D(gap), D(clearance))
    assert (found.flush, found.trial) == (D(gap) == 0, trial)


def test_a_cone_that_just_reaches_the_edge_is_flush() -> None:
    # 0.1 x 1.4 / 0.7 is 0.2, and with a wire of 0.5 it is 0.7. Divided first, decimals make more of it.
    assert D("0.1") / D("0.7") * D("1.4") + D("0.5") > D("0.7")
    stone = Cone("centre", D("1.6"), D("0.7"), D("1.4"), D(0), wire_mm=D("0.5"))
    assert fit([stone], D("1.400"), BAND).flush
    assert not fit([stone], D("1.399"), BAND).flush
    assert not fit([stone], D("1.700"), BAND).trial
    assert fit([stone], D("1.699"), BAND).trial


def test_claws_end_the_flare() -> None:
    stone = EMERALD.at("1.0")
    assert stone.half_extent_mm(D(1) + stone.pavilion_mm) == D("4.35")
    assert stone.half_extent_mm(D(9)) == D("4.35")


def test_a_keel_begins_at_once() -> None:
    stone = EMERALD.at("1.8")
    assert stone.half_extent_mm(D("1.8")) == 0
    assert stone.just_above_mm(D("1.8")) == D("1.9")
    assert stone.just_above_mm(D("1.799")) == 0


# A gallery rail or a hidden halo, computed by hand.
@pytest.mark.parametrize(
    ("bottom", "extent", "gap", "clearance"),
    [
        ("0.9", "1.6", "0.60", "0"),
        ("1.69", "1.6", "0.60", "0"),
        ("1.70", "1.6", "0", "0"),  # the band touches the underside
        ("1.71", "1.6", "0", "0.01"),
        ("2.1", "3.2", "0", "0.40"),
        ("2.1", "0.5", "0", "0.50"),  # further inwards than up
    ],
)
def test_a_wall_counts_from_its_underside(bottom: str, extent: str, gap: str, clearance: str) -> None:
    found = fit([Wall("hidden halo", D(bottom), D(extent))], SHANK, BAND)
    assert (found.gap_mm, found.clearance_mm) == (D(gap), D(clearance))


def test_a_hidden_halo_blocks_where_the_stone_would_not() -> None:
    stone, halo = EMERALD.at("1.9"), Wall("hidden halo", D("1.5"), D("3.4"))
    found = fit([stone, halo], SHANK, BAND)
    assert (found.gap_mm, found.obstacle, found.trial) == (D("2.40"), "hidden halo", False)


def test_the_nearest_obstacle_is_named_where_all_are_clear() -> None:
    stone, rail = EMERALD.at("1.9"), Wall("rail", D("0.9"), D("0.9"))
    found = fit([stone, rail], SHANK, BAND)
    assert (found.gap_mm, found.clearance_mm, found.obstacle, found.trial) == (D(0), D("0.10"), "rail", True)


def test_the_first_name_ends_a_tie() -> None:
    walls = [Wall(name, D(1), D(2)) for name in ("rail", "bridge", "halo")]
    assert fit(walls, SHANK, BAND).obstacle == "bridge"


def test_without_obstacles_nothing_keeps_a_band_away() -> None:
    found = fit([], SHANK, BAND)
    assert (found.gap_mm, found.clearance_mm, found.flush, found.trial) == (D(0), None, True, False)
    assert found.obstacle is None


PROFILE = Measured(
    "profile",
    ((D("3.0"), D("4.0")), (D("1.0"), D("0.8")), (D("2.0"), D("1.8")), (D("2.5"), D("1.6"))),
)


# Straight lines between (1.0, 0.8), (2.0, 1.8), (2.5, 1.6) and (3.0, 4.0), worked out by hand.
@pytest.mark.parametrize(
    ("z", "extent"),
    [
        ("0.5", "0"), ("1.0", "0"), ("1.5", "1.3"), ("1.7", "1.5"), ("2.0", "1.8"), ("2.25", "1.8"),
        ("2.5", "1.8"), ("2.52", "1.8"), ("2.75", "2.8"), ("3.0", "4.0"), ("9", "4.0"),
    ],
)  # fmt: skip
def test_a_measured_profile_is_straight_between_points_and_never_narrows(z: str, extent: str) -> None:
    assert PROFILE.half_extent_mm(D(z)) == D(extent)


def test_a_measured_profile_begins_at_its_lowest_point() -> None:
    assert PROFILE.bottom_mm == 1
    assert PROFILE.just_above_mm(D("0.999")) == 0
    assert PROFILE.just_above_mm(D(1)) == D("0.8")
    assert fit([PROFILE], SHANK, BAND).gap_mm == D("0.50")


def test_one_measured_point_is_a_wall() -> None:
    for bottom in (D("0.9"), BAND, D("1.75"), D(2)):
        for extent in (D("0.5"), D(1), D(3)):
            point, wall = Measured("it", ((bottom, extent),)), Wall("it", bottom, extent)
            assert fit([point], SHANK, BAND) == fit([wall], SHANK, BAND)


def test_two_points_at_one_height_are_a_ledge_that_a_band_may_pass_under() -> None:
    points = ((D(1), D("0.5")), (D("1.8"), D("0.5")), (D("1.8"), D(3)))
    under, touching, inside = (fit([Measured("it", points)], SHANK, D(t)) for t in ("1.7", "1.8", "1.9"))
    assert (under.gap_mm, under.clearance_mm, under.trial) == (D(0), D("0.10"), True)
    assert (touching.gap_mm, touching.clearance_mm, touching.trial) == (D(0), D(0), True)
    assert (inside.gap_mm, inside.clearance_mm, inside.trial) == (D(2), D(0), False)


def test_a_profile_without_points_is_refused() -> None:
    with pytest.raises(ValueError, match="empty"):
        fit([Measured("it", ())], SHANK, BAND)


# Computed by hand: 5.80 wide, crown and girdle of 16.5 % are 0.957 mm.
@pytest.mark.parametrize(
    ("depth", "pavilion"),
    [("3.77", "2.813"), ("0.958", "0.001"), ("0.957", None), ("0.5", None), ("0", None)],
)
def test_a_pavilion_is_what_crown_and_girdle_leave(depth: str, pavilion: str | None) -> None:
    expected = None if pavilion is None else D(pavilion)
    assert pavilion_mm(D(depth), D("5.80"), D(13), D("3.5")) == expected


@pytest.mark.parametrize(
    ("shape", "length", "width", "along", "keel"),
    [
        ("emerald", "8.0", "5.8", True, "2.2"), ("emerald", "8.0", "5.8", False, "0"),
        ("emerald", "5.8", "8.0", True, "0"), ("emerald", "5.8", "8.0", False, "2.2"),
        ("asscher", "6.0", "6.0", True, "0"), ("asscher", "6.0", "6.0", False, "0"),
        ("radiant", "7.0", "5.4", True, "0.8"), ("radiant", "7.0", "5.4", False, "0"),
        ("princess", "6.0", "5.5", True, "0"), ("oval", "9.0", "6.5", True, "0"),
        ("marquise", "10", "5", True, "0"), ("round", "6.5", "6.4", True, "0"),
    ],
)  # fmt: skip
def test_only_a_long_step_cut_or_radiant_has_a_keel(
    shape: str, length: str, width: str, along: bool, keel: str
) -> None:
    assert keel_mm(SHAPES[shape].facet_family, shape, D(length), D(width), along) == D(keel)


def test_the_keel_of_a_step_cut_is_where_equal_slopes_meet() -> None:
    # What is left of a rectangle when shapely moves all four sides inwards alike until they all but meet.
    left, _, right, _ = box(0, 0, 8.0, 5.8).buffer(-2.899, join_style="mitre").bounds
    assert float(keel_mm("step", "emerald", D("8.0"), D("5.8"), True)) == pytest.approx(
        right - left, abs=0.003
    )


# On the circle (R - s)² + x² = R²; 0.32 at 2.5 and 9.9 mm is common practice, no source.
@pytest.mark.parametrize(
    ("radius", "x", "fall"),
    [
        ("9.9", "0", "0"), ("9.9", "2.5", "0.3209"), ("9.9", "-2.5", "0.3209"), ("5", "3", "1"),
        ("5", "4", "2"), ("5", "4.9999", "4.9684"), ("5", "5", "5"), ("5", "5.0001", "5"), ("5", "-7", "5"),
    ],
)  # fmt: skip
def test_the_finger_falls_away_sideways(radius: str, x: str, fall: str) -> None:
    found = sagitta_mm(D(radius), D(x))
    assert found.quantize(D("0.0001")) == D(fall)
    if abs(D(x)) < D(radius):
        assert abs((D(radius) - found) ** 2 + D(x) ** 2 - D(radius) ** 2) < D("1e-24")


def test_what_sits_off_the_middle_gains_height() -> None:
    by = sagitta_mm(D("9.9"), D("2.5"))
    claws = Wall("claws", D("1.5"), D("3.0"))
    assert fit([claws], SHANK, BAND).gap_mm == 2
    found = fit([raised(claws, by)], SHANK, BAND)
    assert (found.gap_mm, found.clearance_mm, found.trial) == (D(0), D("0.12"), True)
    assert raised(EMERALD.at("1.0"), D("0.8")) == EMERALD.at("1.8")
    assert raised(PROFILE, D("0.5")).half_extent_mm(D("2.2")) == D("1.5")


def test_every_shape_has_a_usual_crown_and_flat_backs_leave_no_pavilion() -> None:
    assert set(USUAL_CROWN_PCT) == set(SHAPES)
    flat = {name for name, crown in USUAL_CROWN_PCT.items() if crown > 16}
    assert flat == {"rose", "portrait"}
    assert all(USUAL_CROWN_PCT[name] >= 10 for name in SHAPES)
    assert pavilion_mm(D("5.9"), D(6), USUAL_CROWN_PCT["rose"], USUAL_GIRDLE_PCT) is None


def test_a_ring_of_usual_measures_leaves_no_room_for_a_band() -> None:
    # Common practice, no source: a low head and a straight band exclude each other, for a round 6.5 too.
    pavilion = pavilion_mm(D("4.0"), D("6.5"), USUAL_CROWN_PCT["round"], USUAL_GIRDLE_PCT)
    assert pavilion is not None
    stone = Cone("centre", USUAL_CULET_HEIGHT_MM, pavilion, D("3.25"), D(0))
    assert fit([stone], SHANK, BAND).gap_mm == D("0.62")
    # Neither a rail nor side stones of the same depth, hung a little lower, make that better.
    rail = Wall("rail", USUAL_RAIL_MM, D("1.2"))
    sides = Cone("sides", USUAL_CULET_HEIGHT_MM - SIDE_DROP_MM, pavilion, D("3.25"), D(0))
    assert fit([stone, rail, sides], SHANK, BAND).obstacle == "sides"
    assert (stone.wire_mm, stone.overhang_mm) == (BASKET_WIRE_MM, CLAW_OVERHANG_MM)


# The same gaps from silhouettes, by shapely.


def _silhouette(obstacle: Obstacle) -> BaseGeometry:
    """The obstacle seen from the side of the finger, put together from what it is made of."""
    top = 50.0
    if isinstance(obstacle, Wall):
        return box(-float(obstacle.extent_mm), float(obstacle.bottom_mm), float(obstacle.extent_mm), top)
    if isinstance(obstacle, Cone):
        bottom, pavilion = float(obstacle.bottom_mm), float(obstacle.pavilion_mm)
        keel, half = float(obstacle.keel_mm) / 2, float(obstacle.half_length_mm)
        # The lines from the keel past the girdle, and on to where the claws end them.
        far, high = keel + 200 * (half - keel), bottom + 200 * pavilion
        stone = MultiPoint([(-keel, bottom), (keel, bottom), (far, high), (-far, high)]).convex_hull
        wire, reach = float(obstacle.wire_mm), half + float(obstacle.overhang_mm)
        wired = [affinity.translate(stone, x) for x in (-wire, wire)]
        return shapely.union_all(wired).convex_hull & box(-reach, 0, reach, top)
    points = sorted((float(z), float(x)) for z, x in obstacle.points)
    pieces = [box(-points[-1][1], points[-1][0], points[-1][1], top)]
    for (low, narrow), (high, wide) in pairwise(points):
        pieces.append(Polygon([(-narrow, low), (narrow, low), (wide, high), (-wide, high)]))
    return shapely.union_all(pieces)


def _slid_mm(obstacles: Iterable[Obstacle], shank: Decimal, thick: Decimal) -> float:
    """How far the band has to be pulled away until it overlaps the ring no more."""
    ring = shapely.union_all([_silhouette(one) for one in obstacles])
    band = box(float(shank) / 2, 0, float(shank) / 2 + 60, float(thick))
    near, far = 0.0, 50.0
    if ring.intersection(band).area < 1e-9:
        return near
    for _ in range(30):
        middle = (near + far) / 2
        free = ring.intersection(affinity.translate(band, middle)).area < 1e-9
        near, far = (near, middle) if free else (middle, far)
    return far


@pytest.mark.parametrize(("stone", "gap"), VECTORS)
def test_a_band_slides_off_the_silhouette_by_the_gap(stone: Cone, gap: Decimal) -> None:
    assert _slid_mm([stone], SHANK, BAND) == pytest.approx(float(gap), abs=0.006)


def _mm(low: str, high: str) -> st.SearchStrategy[Decimal]:
    return st.integers(int(D(low) * 100), int(D(high) * 100)).map(lambda n: D(n) / 100)


NAMED = st.sampled_from(["centre", "sides", "rail", "bridge"])
CONES = st.builds(
    lambda name, bottom, pavilion, half, part, wire, overhang: Cone(
        name, bottom, pavilion, half, half * 2 * part / 100, wire, overhang
    ),
    NAMED, _mm("0", "4"), _mm("0.3", "6"), _mm("1", "8"), st.integers(0, 100), _mm("0", "1.5"), _mm("0", "1"),
)  # fmt: skip
WALLS = st.builds(Wall, NAMED, _mm("0", "4"), _mm("0.01", "6"))
POINTS = st.lists(st.tuples(_mm("0", "4"), _mm("0.01", "6")), min_size=1, max_size=6)
PROFILES = st.builds(Measured, NAMED, POINTS.map(tuple))
OBSTACLES = st.one_of(CONES, WALLS, PROFILES)
RINGS = st.lists(OBSTACLES, min_size=1, max_size=4)
SHANKS, BANDS, STEPS = _mm("1.2", "4"), _mm("1", "3"), _mm("0.01", "2")


def _worse(one: Iterable[Obstacle], shank: Decimal, band: Decimal, better: tuple[Decimal, Decimal]) -> bool:
    """Whether this ring is no better than one with that gap and that room."""
    found = fit(one, shank, band)
    assert found.clearance_mm is not None
    return found.gap_mm >= better[0] and found.clearance_mm <= better[1]


def _told(ring: Iterable[Obstacle], shank: Decimal, band: Decimal) -> tuple[Decimal, Decimal]:
    found = fit(ring, shank, band)
    assert found.clearance_mm is not None
    return found.gap_mm, found.clearance_mm


@given(ring=RINGS, shank=SHANKS, band=BANDS, by=STEPS)
def test_raising_never_widens_the_gap(
    ring: list[Obstacle], shank: Decimal, band: Decimal, by: Decimal
) -> None:
    """Invariant 1."""
    assert _worse(ring, shank, band, _told([raised(one, by) for one in ring], shank, band))


@given(ring=RINGS, shank=SHANKS, band=BANDS, by=STEPS)
def test_a_thicker_band_never_narrows_the_gap(
    ring: list[Obstacle], shank: Decimal, band: Decimal, by: Decimal
) -> None:
    """Invariant 2."""
    assert _worse(ring, shank, band + by, _told(ring, shank, band))


@given(ring=RINGS, shank=SHANKS, band=BANDS, by=STEPS)
def test_a_wider_shank_never_widens_the_gap(
    ring: list[Obstacle], shank: Decimal, band: Decimal, by: Decimal
) -> None:
    """Invariant 3."""
    assert _worse(ring, shank, band, _told(ring, shank + by, band))


@given(ring=RINGS, shank=SHANKS, band=BANDS, data=st.data())
def test_the_order_of_obstacles_changes_nothing(
    ring: list[Obstacle], shank: Decimal, band: Decimal, data: st.DataObject
) -> None:
    """Invariant 4."""
    assert fit(data.draw(st.permutations(ring)), shank, band) == fit(ring, shank, band)


@given(ring=RINGS, more=OBSTACLES, shank=SHANKS, band=BANDS)
def test_one_more_obstacle_never_narrows_the_gap(
    ring: list[Obstacle], more: Obstacle, shank: Decimal, band: Decimal
) -> None:
    """Invariant 5."""
    assert _worse([*ring, more], shank, band, _told(ring, shank, band))


@given(one=OBSTACLES, z=_mm("0", "9"), by=STEPS)
def test_extents_never_decrease_upwards(one: Obstacle, z: Decimal, by: Decimal) -> None:
    """Invariant 6."""
    assert 0 <= one.half_extent_mm(z) <= one.just_above_mm(z) <= one.half_extent_mm(z + by)
    assert one.half_extent_mm(one.bottom_mm) == 0


@given(name=NAMED, points=POINTS, shank=SHANKS, band=BANDS, data=st.data())
def test_the_order_of_measured_points_changes_nothing(
    name: str, points: list[tuple[Decimal, Decimal]], shank: Decimal, band: Decimal, data: st.DataObject
) -> None:
    """Invariant 7."""
    other = Measured(name, tuple(data.draw(st.permutations(points))))
    assert fit([other], shank, band) == fit([Measured(name, tuple(points))], shank, band)


@given(ring=RINGS, shank=SHANKS, band=BANDS)
def test_a_ring_has_a_gap_or_room(ring: list[Obstacle], shank: Decimal, band: Decimal) -> None:
    """Invariant 8."""
    found = fit(ring, shank, band)
    assert found.clearance_mm is not None
    assert found.gap_mm >= 0
    assert found.clearance_mm >= 0
    assert found.flush == (found.gap_mm == 0)
    assert found.flush or found.clearance_mm == 0
    assert found.trial == (found.flush and found.clearance_mm < TRIAL_CLEARANCE_MM)
    assert found.obstacle in {one.name for one in ring}


@given(ring=RINGS, shank=SHANKS, band=BANDS)
def test_the_gap_is_how_far_a_band_slides(ring: list[Obstacle], shank: Decimal, band: Decimal) -> None:
    """Invariant 9."""
    found = fit(ring, shank, band)
    # Half a hundredth of rounding, or a whole one where a smaller gap is told as 0.01.
    assert float(found.gap_mm) == pytest.approx(_slid_mm(ring, shank, band), abs=0.0105)
