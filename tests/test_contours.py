"""Outlines as polygons, and the curves around them.

Checked against the closed forms of `outlines` (checked themselves against discs and boxes elsewhere), and for
the curves against theorems and plane geometry: Steiner's formula for convex outlines, Ramanujan's
approximation for ellipses, the corners of polygons worked out by hand.

Properties: the curve of a curved outline is equally far from the stone everywhere; that of a straight one is
nowhere nearer and nowhere further than at a square corner; it never gets shorter when a measure of the stone
or the offset grows.
"""

import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import Point, affinity

from gradefloor.trade.contours import around_mm, contour, offset_perimeter_mm, parallel
from gradefloor.trade.outlines import USUAL_TAPER, face_up_mm2, longer_first, outline, perimeter_mm
from gradefloor.trade.shapes import SHAPES

D = Decimal
UNKNOWN = {"portrait", "mixed_cut", "rose", "epaulette", "cadillac", "kite"}
KNOWN = sorted(set(SHAPES) - UNKNOWN)
CONVEX_CURVES = (
    "round", "oval", "cushion", "old_mine", "pear", "marquise", "trillion", "half_moon", "bullet", "shield",
)  # fmt: skip
CURVED = sorted(
    {*CONVEX_CURVES, "heart", "step_marquise", "cushion_brilliant", "cushion_modified"}
    | {"old_european", "circular_brilliant", "single_cut"}
)
STRAIGHT = sorted(set(KNOWN) - set(CURVED))
OFFSETS = ("0.1", "0.8", "1.25", "3.5")


def _around(shape: str, length: str, width: str, offset: str, corner: str | None = None) -> float:
    leg = None if corner is None else D(corner)
    found = offset_perimeter_mm(shape, D(length), D(width), leg, D(offset))
    assert found is not None
    return float(found)


def _perimeter(shape: str, length: str, width: str) -> float:
    found = outline(shape, D(length), D(width))
    assert found is not None
    assert found.perimeter is not None
    return float(found.perimeter())


@pytest.mark.parametrize("shape", KNOWN)
@pytest.mark.parametrize(
    ("length", "width"), [("6.5", "6.5"), ("7", "6"), ("6.2", "7"), ("12", "8"), ("10", "4")]
)
def test_area_and_perimeter_are_those_of_the_closed_form(shape: str, length: str, width: str) -> None:
    stone = contour(shape, D(length), D(width))
    area = face_up_mm2(shape, D(length), D(width))
    assert stone is not None
    assert stone.is_valid
    assert area is not None
    assert stone.area == pytest.approx(float(area), abs=0.001, rel=1e-9)
    assert stone.area == pytest.approx(float(area), rel=0.0001)
    assert stone.exterior.length == pytest.approx(_perimeter(shape, length, width), abs=0.001, rel=1e-9)


@pytest.mark.parametrize("shape", KNOWN)
@pytest.mark.parametrize(("length", "width"), [("7", "6"), ("6.2", "7"), ("9", "5")])
def test_a_stone_lies_in_the_middle_with_its_length_along_y(shape: str, length: str, width: str) -> None:
    stone = contour(shape, D(length), D(width))
    along, across = longer_first(shape, D(length), D(width))
    assert stone is not None
    x, y = float(across) / 2, float(along) / 2
    assert stone.bounds == pytest.approx((-x, -y, x, y), abs=1e-5)


@pytest.mark.parametrize("shape", KNOWN)
@pytest.mark.parametrize(("length", "width"), [("7", "6"), ("6.2", "7")])
def test_every_outline_has_a_mirror_line(shape: str, length: str, width: str) -> None:
    """Along the length, or across it where a side stone is wider than long; it is why halos are even."""
    stone = contour(shape, D(length), D(width))
    assert stone is not None
    odd = [stone.symmetric_difference(affinity.scale(stone, x, y)).area for x, y in ((-1, 1), (1, -1))]
    assert min(odd) < 1e-6 * stone.area


def test_a_tapered_baguette_runs_along_its_longer_measure() -> None:
    along, across = contour("tapered_baguette", D(4), D(2)), contour("tapered_baguette", D(2), D(4))
    assert along is not None
    assert across is not None
    # Turned by a quarter and back is the same stone.
    assert affinity.rotate(along, -90, origin=(0, 0)).symmetric_difference(across).area < 1e-9


@pytest.mark.parametrize("shape", sorted(UNKNOWN))
def test_a_shape_without_outline_or_perimeter_has_no_contour(shape: str) -> None:
    assert contour(shape, D(7), D(6)) is None
    assert offset_perimeter_mm(shape, D(7), D(6), None, D(1)) is None


# Half the width is the largest corner; a trillion is higher than its own bow, a bullet than its point.
@pytest.mark.parametrize(
    ("shape", "length", "corner", "known"),
    [
        ("emerald", "12", "5.00", True), ("emerald", "12", "4.99", True), ("emerald", "12", "5.01", False),
        ("trillion", "0.67", None, True), ("trillion", "0.66", None, False),
        ("bullet", "8.67", None, True), ("bullet", "8.66", None, False),
    ],
)  # fmt: skip
def test_measures_that_cannot_be_the_shapes_own_have_no_contour(
    shape: str, length: str, corner: str | None, known: bool
) -> None:
    leg = None if corner is None else D(corner)
    assert (contour(shape, D(length), D(10), leg) is not None) == known


def test_a_word_that_is_no_shape_is_refused() -> None:
    with pytest.raises(KeyError):
        contour("square", D(7), D(6))


@pytest.mark.parametrize("shape", KNOWN)
def test_at_no_distance_the_curve_is_the_outline(shape: str) -> None:
    found, known = offset_perimeter_mm(shape, D(7), D(6), None, D(0)), perimeter_mm(shape, D(7), D(6))
    assert found is not None
    assert known is not None
    assert abs(found - known) <= D("0.001")


@pytest.mark.parametrize("offset", OFFSETS)
@pytest.mark.parametrize("diameter", ["1.5", "6.5", "12"])
def test_the_curve_around_a_round_is_a_circle(diameter: str, offset: str) -> None:
    known = 2 * math.pi * (float(diameter) / 2 + float(offset))
    assert _around("round", diameter, diameter, offset) == pytest.approx(known, abs=0.001)


@pytest.mark.parametrize("offset", OFFSETS)
@pytest.mark.parametrize("shape", CONVEX_CURVES)
def test_a_convex_curved_outline_gains_a_full_turn_of_the_offset(shape: str, offset: str) -> None:
    # Steiner's formula (a theorem): perimeter + 2π times the distance, tips included.
    known = _perimeter(shape, "8", "5.8") + 2 * math.pi * float(offset)
    assert _around(shape, "8", "5.8", offset) == pytest.approx(known, abs=0.001)


@pytest.mark.parametrize(("length", "width"), [("8", "5.8"), ("7.7", "5.7"), ("9", "6"), ("10", "8")])
def test_the_curve_around_an_oval_is_nearly_a_larger_ellipse(length: str, width: str) -> None:
    # Ramanujan 1914, first approximation, as benches use it on both half axes and the offset.
    a, b = float(length) / 2 + 0.8, float(width) / 2 + 0.8
    ellipse = math.pi * (3 * (a + b) - math.sqrt((3 * a + b) * (a + 3 * b)))
    assert _around("oval", length, width, "0.8") == pytest.approx(ellipse, rel=0.002)


@pytest.mark.parametrize("offset", OFFSETS)
@pytest.mark.parametrize("shape", ["princess", "carre", "french_square", "baguette"])
def test_the_curve_around_a_rectangle_is_a_rectangle(shape: str, offset: str) -> None:
    known = 2 * (6 + 5.5) + 8 * float(offset)
    assert _around(shape, "6", "5.5", offset) == pytest.approx(known, abs=0.0005001)


@pytest.mark.parametrize("offset", OFFSETS)
@pytest.mark.parametrize(
    ("length", "width", "leg"), [("7", "5", "0.65"), ("8", "5.8", "0.75"), ("6", "6", "3")]
)
def test_the_curve_around_cut_corners_has_cut_corners(length: str, width: str, leg: str, offset: str) -> None:
    along, across, c = float(length), float(width), float(leg)
    sides = 2 * (along - 2 * c) + 2 * (across - 2 * c) + 4 * c * math.sqrt(2)
    # Eight turns of 45° add twice the tangent of its half each; a leg of half the width leaves four of 90°.
    turns = 8 if c == across / 2 else 16 * math.tan(math.pi / 8)
    for shape in ("emerald", "asscher", "radiant", "octagon"):
        found = _around(shape, length, width, offset, leg)
        assert found == pytest.approx(sides + turns * float(offset), abs=0.0005001)


@pytest.mark.parametrize("offset", OFFSETS)
def test_the_curves_around_regular_polygons_are_regular(offset: str) -> None:
    # A hexagon of side 2 and an octagon of width 4: sides over the inner radius are 2/√3 and 2(√2 - 1).
    o = float(offset)
    hexagon = offset_perimeter_mm("hexagon", D(4), 2 * D(3).sqrt(), None, D(offset))
    assert float(hexagon or 0) == pytest.approx(6 * 2 / math.sqrt(3) * (math.sqrt(3) + o), abs=0.0005001)
    assert _around("octagon", "4", "4", offset) == pytest.approx(
        16 * (math.sqrt(2) - 1) * (2 + o), abs=0.0005001
    )


def _corner(angle: float) -> float:
    """What a corner of this inner angle adds to the curve at distance 1; sharper than 90° it is cut at √2."""
    mitre = 2 / math.tan(angle / 2)
    beyond = max(0.0, 1 / math.sin(angle / 2) - math.sqrt(2))
    return mitre - 2 * beyond / math.cos(angle / 2) + 2 * beyond * math.tan(angle / 2)


def _hexagon_angles(length: float, width: float) -> list[float]:
    tip = 2 * math.atan2(width / 2, length / 4)
    return [tip] * 2 + [math.pi - tip / 2] * 4


def _lozenge_angles(length: float, width: float) -> list[float]:
    tip = 2 * math.atan2(width, length)
    return [tip] * 2 + [math.pi - tip] * 2


def _taper_angles(length: float, width: float) -> list[float]:
    foot = math.atan2(length, width * (1 - float(USUAL_TAPER)) / 2)
    return [foot] * 2 + [math.pi - foot] * 2


@pytest.mark.parametrize("offset", OFFSETS)
@pytest.mark.parametrize(
    ("shape", "length", "width", "angles"),
    [
        ("hexagon", "8", "5", _hexagon_angles(8, 5)),
        ("hexagon", "12", "4", _hexagon_angles(12, 4)),
        ("lozenge", "5", "5", _lozenge_angles(5, 5)),
        ("lozenge", "6", "4", _lozenge_angles(6, 4)),
        ("lozenge", "9", "3", _lozenge_angles(9, 3)),
        ("trapezoid", "3", "5", _taper_angles(3, 5)),
        ("tapered_baguette", "5", "2.5", _taper_angles(5, 2.5)),
    ],
)
def test_corners_add_what_their_angles_say(
    shape: str, length: str, width: str, angles: list[float], offset: str
) -> None:
    # Plane geometry, worked out by hand.
    known = _perimeter(shape, length, width) + float(offset) * sum(map(_corner, angles))
    assert _around(shape, length, width, offset) == pytest.approx(known, abs=0.0005001)


@pytest.mark.parametrize("offset", OFFSETS)
def test_around_a_heart_two_circles_meet_above_the_notch(offset: str) -> None:
    # A square of side 4 and two half circles, not stretched: two sides, a quarter turn around the tip, and
    # around each lobe a circle from where the side touches it to the mirror line; worked out by hand.
    o, half = float(offset), math.sqrt(0.5)
    radius = 2 + o
    lobe = radius * (math.acos(-2 * half / radius) + math.pi / 4)
    root = D(2).sqrt()
    found = offset_perimeter_mm("heart", 2 + 3 * root, 4 + 2 * root, None, D(offset))
    assert float(found or 0) == pytest.approx(2 * 4 + math.pi / 2 * o + 2 * lobe, abs=0.001)


def test_a_length_is_rounded_half_up_to_a_thousandth() -> None:
    # 2 (1.00025 + 1) = 4.0005, exact in decimal.
    assert offset_perimeter_mm("princess", D("1.00025"), D(1), None, D(0)) == D("4.001")


measures = st.integers(100, 1500).map(lambda n: D(n) / 100)
offsets = st.integers(5, 350).map(lambda n: D(n) / 100)
stretches = st.integers(100, 300).map(lambda n: D(n) / 100)


@given(
    shape=st.sampled_from(CURVED), width=measures, ratio=stretches, offset=offsets, place=st.floats(0, 0.9999)
)
def test_around_curves_every_place_is_equally_far(
    shape: str, width: Decimal, ratio: Decimal, offset: Decimal, place: float
) -> None:
    stone = contour(shape, width * ratio, width)
    assert stone is not None
    line = parallel(shape, stone, offset).exterior
    assert stone.distance(line.interpolate(place, normalized=True)) == pytest.approx(float(offset), abs=0.001)


@given(shape=st.sampled_from(STRAIGHT), width=measures, ratio=stretches, offset=offsets)
def test_around_straight_sides_no_place_is_further_than_at_a_square_corner(
    shape: str, width: Decimal, ratio: Decimal, offset: Decimal
) -> None:
    stone = contour(shape, width * ratio, width)
    assert stone is not None
    curve = parallel(shape, stone, offset).exterior
    reach = [stone.exterior.distance(Point(corner)) for corner in curve.coords]
    assert curve.distance(stone) == pytest.approx(float(offset), rel=1e-6)
    # A corner that is cut has its two ends a little further out than the middle of the cut.
    assert max(reach) <= float(offset) * 2
    middles = [
        stone.exterior.distance(Point((x + u) / 2, (y + v) / 2))
        for (x, y), (u, v) in zip(curve.coords, curve.coords[1:], strict=False)
    ]
    assert max(middles) <= float(offset) * math.sqrt(2) * 1.000001


@given(
    shape=st.sampled_from(KNOWN),
    length=measures,
    width=measures,
    offset=offsets,
    more=st.sampled_from([("0.5", "0", "0"), ("0", "0.5", "0"), ("0", "0", "0.2"), ("0.2", "0.2", "0")]),
)
def test_a_curve_never_gets_shorter_when_a_measure_grows(
    shape: str, length: Decimal, width: Decimal, offset: Decimal, more: tuple[str, str, str]
) -> None:
    long, wide, far = map(D, more)
    small = contour(shape, length, width)
    large = contour(shape, length + long, width + wide)
    if small is not None and large is not None:
        around = around_mm(parallel(shape, small, offset))
        assert around_mm(parallel(shape, large, offset + far)) >= around
