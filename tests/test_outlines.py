"""Face-up areas and perimeters.

Checks are of three kinds: values worked out by hand from the geometry, the same outlines put together from
discs and boxes by shapely (a general geometry library), and properties.
"""

import math
from decimal import Decimal

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import Point, Polygon, affinity, box
from shapely.geometry.base import BaseGeometry

from gradefloor.trade.outlines import (
    CUSHION_EXPONENT,
    TRILLION_BOW,
    Outline,
    bowed_triangle,
    face_up_mm2,
    outline,
    perimeter_mm,
    superellipse,
    superellipse_perimeter_mm,
)
from gradefloor.trade.shapes import CIRCULAR, SHAPES

D = Decimal
UNKNOWN = {"portrait", "mixed_cut", "rose", "epaulette", "cadillac"}


def _area(shape: str, length: str, width: str) -> Decimal:
    found = face_up_mm2(shape, D(length), D(width))
    assert found is not None
    return found


# Plain geometry, worked out by hand.
@pytest.mark.parametrize(
    ("shape", "length", "width", "area"),
    [
        ("round", "6.50", "6.50", "33.183"),
        ("oval", "9", "6", "42.412"),
        ("marquise", "10", "5", "34.945"),
        ("pear", "9", "6", "39.298"),
        ("princess", "5.50", "5.50", "30.250"),
        ("lozenge", "6", "4", "12.000"),
        ("kite", "6", "4", "12.000"),
        ("half_moon", "8", "4", "25.133"),
        ("tapered_baguette", "4", "2", "6.800"),
    ],
)
def test_area_of_a_known_outline(shape: str, length: str, width: str, area: str) -> None:
    assert _area(shape, length, width) == D(area)


# Share of the box around it, worked out by hand; W = 10 gives four figures of the share.
@pytest.mark.parametrize(
    ("shape", "ratio", "share"),
    [
        ("marquise", "1.5", "0.7226"), ("marquise", "1.75", "0.7084"), ("marquise", "2", "0.6989"),
        ("marquise", "2.25", "0.6923"), ("marquise", "2.5", "0.6875"),
        ("pear", "1", "0.7854"), ("pear", "1.25", "0.7477"), ("pear", "1.5", "0.7277"),
        ("pear", "1.66", "0.7193"), ("pear", "1.75", "0.7155"), ("pear", "2", "0.7073"),
        ("octagon", "1", "0.8284"), ("hexagon", "1.1547", "0.7500"), ("heart", "0.9142", "0.6701"),
    ],
)  # fmt: skip
def test_share_of_the_box(shape: str, ratio: str, share: str) -> None:
    area = _area(shape, str(D(ratio) * 10), "10")
    assert (area / (D(ratio) * 100)).quantize(D("0.0001")) == D(share)


@pytest.mark.parametrize(("length", "share"), [("15", "0.970"), ("10", "0.955")])
def test_share_of_cut_corners(length: str, share: str) -> None:
    # Leg 0.15 of the width, 1.5 : 1 and square, worked out by hand.
    area = face_up_mm2("emerald", D(length), D(10), D("1.5"))
    assert area == D(share) * 10 * D(length)


@pytest.mark.parametrize(("exponent", "share"), [(2, 0.7854), (2.5, 0.8452), (3, 0.8833), (4, 0.9270)])
def test_share_of_a_superellipse(exponent: float, share: float) -> None:
    # Closed form with the gamma function.
    assert float(superellipse(D(1), D(1), exponent).area_mm2) == pytest.approx(share, abs=0.00005)


def test_a_triangle_runs_from_straight_to_reuleaux() -> None:
    # Straight: half of the box. Reuleaux of width w: (π - √3)/2 w², perimeter π w.
    straight = bowed_triangle(D(8), D(6), D(0))
    round_one = bowed_triangle(D(7), D(7), 2 * TRILLION_BOW)
    assert straight is not None
    assert straight.perimeter is not None
    assert round_one is not None
    assert round_one.perimeter is not None
    assert straight.area_mm2 == 24
    assert float(straight.perimeter()) == pytest.approx(6 + 2 * math.hypot(8, 3))
    assert float(round_one.area_mm2) == pytest.approx(0.70477 * 49, rel=1e-5)
    assert float(round_one.perimeter()) == pytest.approx(7 * math.pi)
    assert D("0.5") * 49 < _area("trillion", "7", "7") < D("0.70477") * 49


SEGMENTS = 2000  # a disc of so many corners is true to a millionth


def _disc(x: float, y: float, radius: float) -> BaseGeometry:
    return Point(x, y).buffer(radius, quad_segs=SEGMENTS)


def _lens(length: float, width: float) -> BaseGeometry:
    radius = (length**2 + width**2) / (4 * width)
    offset = radius - width / 2
    return _disc(0, offset, radius) & _disc(0, -offset, radius)


def _pear(length: float, width: float) -> BaseGeometry:
    tip = _lens(2 * (length - width / 2), width) & box(0, -width, length, width)
    return shapely.union(tip, _disc(0, 0, width / 2) & box(-width, -width, 0, width))


def _heart(length: float, width: float) -> BaseGeometry:
    half = math.sqrt(0.5)
    square = Polygon([(0, 0), (half, half), (0, 2 * half), (-half, half)])
    lobes = [_disc(x, 1.5 * half, 0.5) for x in (half / 2, -half / 2)]
    whole = shapely.union_all([square, *lobes])
    left, low, right, top = whole.bounds
    return affinity.scale(whole, width / (right - left), length / (top - low))


def _cushion(length: float, width: float) -> BaseGeometry:
    corners = []
    for k in range(8 * SEGMENTS):
        angle = math.tau * k / (8 * SEGMENTS)
        c, s = math.cos(angle), math.sin(angle)
        reach = (abs(c) ** CUSHION_EXPONENT + abs(s) ** CUSHION_EXPONENT) ** (-1 / CUSHION_EXPONENT)
        corners.append((length / 2 * c * reach, width / 2 * s * reach))
    return Polygon(corners)


def _bowed(length: float, width: float, bow: float) -> BaseGeometry:
    """Triangle and one disc for each side, through both its corners and the top of its bow."""
    height = length - bow * width
    corners = [(-width / 2, 0.0), (width / 2, 0.0), (0.0, height)]
    found: BaseGeometry = box(-99, -99, 99, 99)
    for k in range(3):
        (x, y), (u, v) = corners[k], corners[k - 2]
        chord = math.dist((x, y), (u, v))
        radius = chord * (1 + 4 * bow * bow) / (8 * bow)
        inward = (radius - bow * chord) / chord
        found &= _disc((x + u) / 2 - (v - y) * inward, (y + v) / 2 + (u - x) * inward, radius)
    return found


def _arch(length: float, width: float) -> BaseGeometry:
    straight = length - width * math.sqrt(0.75)
    tip = _disc(-width / 2, straight, width) & _disc(width / 2, straight, width)
    return shapely.union(box(-width / 2, 0, width / 2, straight), tip & box(-99, straight, 99, 99))


def _cut(length: float, width: float, leg: float) -> BaseGeometry:
    x, y = length / 2, width / 2
    return Polygon(
        [
            (x, y - leg), (x - leg, y), (leg - x, y), (-x, y - leg),
            (-x, leg - y), (leg - x, -y), (x - leg, -y), (x, leg - y),
        ]
    )  # fmt: skip


def _ellipse(length: float, width: float) -> BaseGeometry:
    return affinity.scale(_disc(0, 0, 1), length / 2, width / 2)


BUILT = [
    ("round", 6.45, 6.48, _ellipse(6.48, 6.45)),
    ("oval", 9.0, 6.0, _ellipse(9, 6)),
    ("oval", 12.0, 4.0, _ellipse(12, 4)),
    ("marquise", 10.0, 5.0, _lens(10, 5)),
    ("step_marquise", 7.0, 6.0, _lens(7, 6)),
    ("pear", 9.0, 6.0, _pear(9, 6)),
    ("pear", 12.0, 6.0, _pear(12, 6)),
    ("heart", 6.4, 6.8, _heart(6.4, 6.8)),
    ("heart", 7.2, 6.5, _heart(7.2, 6.5)),
    ("trillion", 7.0, 7.2, _bowed(7.0, 7.2, float(TRILLION_BOW))),
    ("cushion", 7.0, 6.0, _cushion(7, 6)),
    ("old_mine", 6.0, 5.9, _cushion(6, 5.9)),
    ("emerald", 8.0, 5.8, _cut(8, 5.8, 0.13 * 5.8)),
    ("radiant", 8.4, 6.2, _cut(8.4, 6.2, 0.13 * 6.2)),
    ("octagon", 6.0, 6.0, _cut(6, 6, 6 * (1 - math.sqrt(0.5)))),
    ("princess", 5.5, 5.4, box(0, 0, 5.5, 5.4)),
    ("hexagon", 8.0, 5.0, Polygon([(4, 0), (2, 2.5), (-2, 2.5), (-4, 0), (-2, -2.5), (2, -2.5)])),
    ("lozenge", 6.0, 4.0, Polygon([(3, 0), (0, 2), (-3, 0), (0, -2)])),
    ("half_moon", 3.5, 8.0, _ellipse(8, 7) & box(-99, 0, 99, 99)),
    ("bullet", 5.0, 3.0, _arch(5, 3)),
    ("shield", 4.0, 4.0, _arch(4, 4)),
    ("trapezoid", 3.0, 5.0, Polygon([(-2.5, 0), (2.5, 0), (1.75, 3), (-1.75, 3)])),
    ("tapered_baguette", 2.0, 4.0, Polygon([(-1, 0), (1, 0), (0.7, 4), (-0.7, 4)])),
]


@pytest.mark.parametrize(
    ("shape", "length", "width", "built"),
    BUILT,
    ids=[f"{shape} {length} x {width}" for shape, length, width, _ in BUILT],
)
def test_area_and_perimeter_agree_with_the_outline_built_from_parts(
    shape: str, length: float, width: float, built: BaseGeometry
) -> None:
    found = outline(shape, D(str(length)), D(str(width)))
    assert found is not None
    assert found.perimeter is not None
    assert float(found.area_mm2) == pytest.approx(built.area, rel=2e-6)
    assert float(found.perimeter()) == pytest.approx(built.length, rel=5e-6)


def test_perimeter_of_an_ellipse_agrees_with_ramanujan() -> None:
    # Ramanujan 1914, second approximation; true to 1e-8 at this ratio.
    a, b = 4.5, 3.0
    h = ((a - b) / (a + b)) ** 2
    known = math.pi * (a + b) * (1 + 3 * h / (10 + math.sqrt(4 - 3 * h)))
    assert float(superellipse_perimeter_mm(D(9), D(6), 2.0)) == pytest.approx(known, rel=1e-7)


def test_a_regular_hexagon_and_octagon_have_equal_sides() -> None:
    # Hexagon of side 2 and octagon of width 4, worked out by hand.
    assert perimeter_mm("hexagon", D(4), 2 * D(3).sqrt()) == D("12.000")
    assert perimeter_mm("octagon", D(4), D(4)) == (32 * (D(2).sqrt() - 1)).quantize(D("0.001"))


def _known(shape: str) -> Outline:
    found = outline(shape, D(7), D(6))
    assert found is not None
    return found


@pytest.mark.parametrize("shape", sorted(SHAPES))
def test_a_shape_has_an_outline_unless_its_name_leaves_it_open(shape: str) -> None:
    area, around = face_up_mm2(shape, D(7), D(6)), perimeter_mm(shape, D(7), D(6))
    assert (area is None) == (shape in UNKNOWN)
    assert (around is None) == (shape in UNKNOWN | {"kite"})


@pytest.mark.parametrize("shape", sorted(set(SHAPES) - UNKNOWN))
def test_an_outline_lies_in_its_box_and_around_its_diagonals(shape: str) -> None:
    found = _known(shape)
    assert D("0.5") * 42 <= found.area_mm2 <= 42
    if found.perimeter is not None:
        around = found.perimeter()
        assert around <= 26
        # No outline of this area is shorter than a circle.
        assert float(around) >= 2 * math.sqrt(math.pi * float(found.area_mm2))


@pytest.mark.parametrize("shape", sorted(set(SHAPES) - UNKNOWN))
@given(
    scale=st.integers(2, 300).map(lambda n: D(n) / 100), ratio=st.integers(95, 250).map(lambda n: D(n) / 100)
)
def test_area_grows_with_the_square_and_perimeter_with_the_size(
    shape: str, scale: Decimal, ratio: Decimal
) -> None:
    small, large = outline(shape, 5 * ratio, D(5)), outline(shape, 5 * ratio * scale, 5 * scale)
    assert small is not None
    assert large is not None
    assert float(large.area_mm2) == pytest.approx(float(small.area_mm2 * scale**2), rel=1e-9)
    if small.perimeter is not None and large.perimeter is not None:
        assert float(large.perimeter()) == pytest.approx(float(small.perimeter() * scale), rel=1e-9)


@pytest.mark.parametrize("shape", sorted(name for name, shape in SHAPES.items() if not shape.length_is_axis))
def test_the_order_of_the_two_measures_does_not_matter(shape: str) -> None:
    assert face_up_mm2(shape, D(7), D(6)) == face_up_mm2(shape, D(6), D(7))
    assert perimeter_mm(shape, D(7), D(6)) == perimeter_mm(shape, D(6), D(7))


@pytest.mark.parametrize("shape", sorted(CIRCULAR | {"oval", "marquise", "pear"}))
def test_equal_measures_of_a_curved_outline_make_a_circle(shape: str) -> None:
    assert face_up_mm2(shape, D("6.5"), D("6.5")) == D("33.183")
    assert perimeter_mm(shape, D("6.5"), D("6.5")) == D("20.420")


# The largest corner that fits is half the width: on it, just under and just over.
@pytest.mark.parametrize(("leg", "area"), [("3.00", "30.000"), ("2.99", "30.120"), ("3.01", None)])
def test_a_corner_larger_than_half_the_width_is_no_outline(leg: str, area: str | None) -> None:
    expected = None if area is None else D(area)
    assert face_up_mm2("emerald", D(8), D(6), D(leg)) == expected
    assert (perimeter_mm("emerald", D(8), D(6), D(leg)) is None) == (expected is None)


def test_a_measured_corner_replaces_the_usual_one_where_corners_are_cut() -> None:
    assert face_up_mm2("asscher", D(6), D(6), D("1.2")) == D("33.120")
    assert face_up_mm2("princess", D(6), D(6), D("1.2")) == D("36.000")


# A pointed arch needs at least √3/2 of its width: 8.6602... for 10.
@pytest.mark.parametrize(("length", "known"), [("8.66", False), ("8.67", True)])
def test_a_bullet_shorter_than_its_point_is_no_outline(length: str, known: bool) -> None:
    assert (face_up_mm2("bullet", D(length), D(10)) is not None) == known


def test_a_triangle_flatter_than_its_bow_is_no_outline() -> None:
    assert face_up_mm2("trillion", D("0.66"), D(10)) is None
    assert face_up_mm2("trillion", D("0.67"), D(10)) is not None


def test_a_stated_taper_replaces_the_usual_one() -> None:
    assert face_up_mm2("trapezoid", D(3), D(5), taper=D("0.6")) == D("12.000")
    assert face_up_mm2("baguette", D(3), D(5), taper=D("0.6")) == D("15.000")


def test_thousandths_round_half_up_in_decimal() -> None:
    # Computed: 1.03 x 1.15 = 1.1845, which binary arithmetic makes 1.18449999...
    assert face_up_mm2("princess", D("1.03"), D("1.15")) == D("1.185")


def test_a_word_that_is_no_shape_is_refused() -> None:
    with pytest.raises(KeyError):
        face_up_mm2("square", D(7), D(6))
