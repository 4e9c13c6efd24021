"""Small stones in rows.

Sources beside each table: the trade's charts of melee (common practice, no source), plane geometry worked
out by hand, a general geometry library that lays discs along a curve, and the handbook formula for rounds.

Properties of a halo: an even number, the largest that leaves every stone the room it wants; stones of one
row never touch on a circle; turning the two measures changes nothing unless the length is an axis; a larger
stone never has fewer; another size is named only where gaps are wide, and then sits better. Of an eternity
band: the largest number whose chords leave that room; a larger finger never has fewer. Of pave: as many on
each side, each with its room; a thicker shank never has fewer. Of melee: larger is heavier.
"""

import math
from decimal import ROUND_HALF_UP, Decimal

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from shapely import MultiPoint

from gradefloor.trade.contours import contour, offset_perimeter_mm, parallel
from gradefloor.trade.melee import (
    FEWEST_AROUND,
    HALO_GAP,
    LOOSE_MM,
    MELEE_MM,
    Halo,
    Row,
    eternity,
    halo,
    melee_carat,
    pave,
    rows_width_mm,
    spacing_mm,
)
from gradefloor.trade.shapes import SHAPES

D = Decimal
UNKNOWN = {"portrait", "mixed_cut", "rose", "epaulette", "cadillac", "kite"}
KNOWN = sorted(set(SHAPES) - UNKNOWN)


def _inner(us: int) -> Decimal:
    """Inner diameter of a US ring size: common practice, no source."""
    return D("11.63") + D("0.8128") * us


def _halo(shape: str, length: str, width: str, melee: str, rows: int = 1) -> Halo:
    found = halo(shape, D(length), D(width), D(melee), rows=rows)
    assert found is not None
    return found


def _row(shape: str, length: str, width: str, melee: str) -> Row:
    (row,) = _halo(shape, length, width, melee).rows
    return row


# The trade's charts of melee: common practice, no source.
CHART = [
    ("0.8", "0.0025"), ("0.9", "0.0035"), ("1.0", "0.005"), ("1.1", "0.0065"), ("1.2", "0.0085"),
    ("1.3", "0.0105"), ("1.4", "0.0125"), ("1.5", "0.015"), ("1.6", "0.018"), ("1.7", "0.021"),
    ("1.8", "0.025"), ("1.9", "0.028"), ("2.0", "0.031"), ("2.2", "0.041"), ("2.5", "0.062"),
    ("2.6", "0.068"), ("2.7", "0.075"), ("2.8", "0.083"), ("3.0", "0.105"), ("3.5", "0.165"),
]  # fmt: skip


@pytest.mark.parametrize(("diameter", "carat"), CHART)
def test_a_size_of_the_chart_weighs_what_the_chart_says(diameter: str, carat: str) -> None:
    assert melee_carat(D(diameter)) == D(carat)


# The lower weight times (size over lower size) to the power ln(weights) / ln(sizes), worked out by hand.
@pytest.mark.parametrize(("diameter", "carat"), [("0.85", "0.0030"), ("2.1", "0.0358"), ("3.25", "0.1328")])
def test_between_two_sizes_weight_follows_a_power_of_the_diameter(diameter: str, carat: str) -> None:
    assert melee_carat(D(diameter)) == D(carat)


@pytest.mark.parametrize("diameter", ["0.79", "3.51", "0", "-1", "1e9"])
def test_no_other_size_is_melee(diameter: str) -> None:
    for ask in (melee_carat, spacing_mm):
        with pytest.raises(ValueError, match=r"melee is 0\.8 to 3\.5 mm"):
            ask(D(diameter))
    with pytest.raises(ValueError, match=r"melee is 0\.8 to 3\.5 mm"):
        halo("round", D(6), D(6), D(diameter))
    with pytest.raises(ValueError, match=r"melee is 0\.8 to 3\.5 mm"):
        pave(D(17), D("1.7"), D(diameter))
    with pytest.raises(ValueError, match=r"melee is 0\.8 to 3\.5 mm"):
        eternity(D(17), D(diameter), "full")


melee_sizes = st.integers(80, 350).map(lambda n: D(n) / 100)
halo_sizes = st.integers(80, 200).map(lambda n: D(n) / 100)
centres = st.integers(300, 1200).map(lambda n: D(n) / 100)
fingers = st.integers(1200, 2400).map(lambda n: D(n) / 100)


@given(size=melee_sizes)
def test_small_stones_are_deeper_than_the_handbook_makes_them(size: Decimal) -> None:
    # Handbook of rounds, diameter² times depth times 0.0061, at a depth of 60.7 %: 0.0037 d³.
    assert D("0.0037") * size**3 - D("0.00005") <= melee_carat(size) <= D("0.0051") * size**3


@given(size=st.integers(80, 349).map(lambda n: D(n) / 100))
def test_a_larger_stone_is_no_lighter(size: Decimal) -> None:
    assert melee_carat(size) <= melee_carat(size + D("0.01"))


# 0.10: GIA, quality assurance benchmarks for a bead-set shank. 0.15 from 2.5 mm: from memory.
@pytest.mark.parametrize(
    ("diameter", "room"),
    [
        ("0.8", "0.10"), ("2.0", "0.10"), ("2.01", "0.101"), ("2.25", "0.125"), ("2.49", "0.149"),
        ("2.5", "0.15"), ("3.5", "0.15"),
    ],
)  # fmt: skip
def test_room_between_stones_grows_from_2_to_2_and_a_half_mm(diameter: str, room: str) -> None:
    assert spacing_mm(D(diameter)) == D(room)


# Worked out by hand: circle, Ramanujan's ellipse, corners. Line to 0.1 mm, the largest number (not the even
# one) and its weight, then length and width from outside.
HALOS = [
    (("round", "6.5", "6.5", "1.3", None), ("25.4", 18, "0.19"), ("9.4", "9.4")),
    (("oval", "8.0", "5.8", "1.3", None), ("26.8", 19, "0.20"), ("10.9", "8.7")),
    (("emerald", "7.0", "5.0", "1.2", "0.65"), ("27.4", 21, "0.18"), ("9.7", "7.7")),
    (("emerald", "8.0", "5.8", "1.3", "0.75"), ("31.1", 22, "0.23"), ("10.9", "8.7")),
    (("princess", "5.5", "5.5", "1.2", None), ("28.0", 21, "0.18"), ("8.2", "8.2")),
]


@pytest.mark.parametrize(("asked", "known", "size"), HALOS)
def test_a_halo_as_worked_out_by_hand(
    asked: tuple[str, str, str, str, str | None], known: tuple[str, int, str], size: tuple[str, str]
) -> None:
    shape, length, width, melee, corner = asked
    line, fits, carat = known
    found = halo(shape, D(length), D(width), D(melee), None if corner is None else D(corner))
    assert found is not None
    (row,) = found.rows
    assert row.centre_line_mm is not None
    assert row.centre_line_mm.quantize(D("0.1"), ROUND_HALF_UP) == D(line)
    assert row.fits == fits
    assert row.count == found.count == fits // 2 * 2
    assert (fits * row.carat_each).quantize(D("0.01"), ROUND_HALF_UP) == D(carat)
    assert (found.outer_length_mm, found.outer_width_mm) == (D(size[0]), D(size[1]))


def test_an_odd_number_is_set_as_the_even_one_below_with_wider_gaps() -> None:
    # 7.0 x 5.0, corners 0.65: line 27.4475, of which 1.3 each is 21.1; 20 leave 0.172.
    found = halo("emerald", D("7.0"), D("5.0"), D("1.2"), D("0.65"))
    assert found is not None
    assert found.rows == (Row(D("1.2"), D("27.448"), 21, 20, D("0.17"), D("0.0085"), D("0.17"), None),)


def test_a_second_row_lies_one_stone_and_its_room_further_out() -> None:
    # Oval, worked out by hand: 2π (1.3 + 0.1) = 8.796 longer; 35.638 is 25 times 1.4, and the even 24.
    found = _halo("oval", "8.0", "5.8", "1.3", rows=2)
    inner, outer = found.rows
    assert (inner.count, outer.fits, outer.count) == (18, 25, 24)
    assert outer.centre_line_mm == D("35.638")
    assert found.count == 42
    assert found.carat_total == D("0.44")  # 42 x 0.0105 = 0.441; the rows are 0.19 and 0.25
    assert (found.outer_length_mm, found.outer_width_mm) == (D("13.7"), D("11.5"))


def test_a_wider_gap_makes_the_line_longer() -> None:
    wide = halo("round", D("6.5"), D("6.5"), D("1.3"), gap_mm=D("0.25"))
    assert wide is not None
    assert wide.rows[0].centre_line_mm == D("26.075")  # 2π (3.25 + 0.25 + 0.65) = 26.0752
    assert wide.outer_length_mm == D("9.6")


def test_the_outside_of_a_pointed_corner_counts() -> None:
    # Lozenge on its corners, 6 x 6: the line is a larger one, 0.15 + 0.60 = 0.75 off, its corners √2 as far.
    found = _halo("lozenge", "6", "6", "1.2")
    assert found.outer_length_mm == found.outer_width_mm == D("9.321")  # 6 + 2 x 0.75 √2 + 1.2


# 8 times 1.4 is 11.2. Circles of radius D/2 + 0.8 are 11.1966, 11.1998 (on it, to a thousandth) and 11.2029.
@pytest.mark.parametrize(("diameter", "count"), [("1.964", None), ("1.965", 8), ("1.966", 8)])
def test_a_centre_too_small_for_eight_has_no_halo(diameter: str, count: int | None) -> None:
    found = halo("round", D(diameter), D(diameter), D("1.3"))
    assert (found and found.count) == count


def test_eight_is_the_smallest_even_number_whose_chords_hold_the_room() -> None:
    """Stones counted along a circle stand along chords: of 6 the largest collide, of 8 none do."""
    chord = {count: math.sin(math.pi / count) / (math.pi / count) for count in (6, FEWEST_AROUND)}
    for diameter, _ in CHART:
        size = D(diameter)
        assert float(size + spacing_mm(size)) * chord[8] > size
    assert float(D("3.5") + spacing_mm(D("3.5"))) * chord[6] < 3.5


@pytest.mark.parametrize("shape", sorted(UNKNOWN))
def test_a_shape_without_a_known_outline_has_no_halo(shape: str) -> None:
    assert halo(shape, D(7), D(6), D("1.2")) is None


def test_a_word_that_is_no_shape_is_refused() -> None:
    with pytest.raises(KeyError):
        halo("square", D(7), D(6), D("1.2"))


# Circles, worked out by hand with R = D/2 + 0.15 + d/2: where 1.3 mm sits wide, what other sizes leave.
@pytest.mark.parametrize(
    ("diameter", "melee", "room", "other"),
    [
        ("7.25", "1.3", "0.24", "1.4"),  # 18 of 1.4 leave 0.16
        ("2.70", "1.3", "0.39", "1.2"),  # 8 of 1.4 leave 0.33, 10 of 1.2 leave 0.12
        ("2.47", "1.3", "0.30", "1.5"),  # 8 of 1.4 leave 0.24, 8 of 1.2 0.36, 8 of 1.5 0.18
        ("6.92", "1.25", "0.23", "1.3"),  # 18 of 1.3 leave 0.19, 20 of 1.2 leave 0.12: equally near
        ("7.00", "2.5", "0.58", None),  # 2.6 0.51, 2.4 0.65, 2.7 0.44, 2.3 0.21, 2.8 0.37, 2.2 0.29
    ],
)
def test_where_gaps_are_wide_the_nearest_size_that_sits_better_is_named(
    diameter: str, melee: str, room: str, other: str | None
) -> None:
    row = _row("round", diameter, diameter, melee)
    assert row.spacing_mm == D(room)
    assert row.next_melee_mm == (None if other is None else D(other))


def test_a_gap_of_two_tenths_is_not_yet_wide() -> None:
    # Princess 5.5: (4 x 7.0) / 20 - 1.2 = 0.20.
    row = _row("princess", "5.5", "5.5", "1.2")
    assert (row.spacing_mm, row.next_melee_mm) == (LOOSE_MM, None)
    row = _row("princess", "5.55", "5.55", "1.2")
    assert (row.spacing_mm, row.next_melee_mm) == (D("0.21"), D("1.3"))


@pytest.mark.parametrize(
    ("shape", "length", "width", "melee"),
    [
        ("round", "6.5", "6.5", "1.3"), ("round", "3", "3", "1.0"), ("oval", "8", "5.8", "1.3"),
        ("oval", "9", "6", "1.7"), ("cushion", "7", "6.5", "1.5"), ("old_mine", "9", "8", "2.5"),
    ],
)  # fmt: skip
def test_discs_laid_along_the_line_touch_neither_the_stone_nor_each_other(
    shape: str, length: str, width: str, melee: str
) -> None:
    """Laid by a general geometry library, on outlines without tips, where a setter would not cheat either."""
    row = _row(shape, length, width, melee)
    stone = contour(shape, D(length), D(width))
    assert stone is not None
    line = parallel(shape, stone, HALO_GAP + row.melee_mm / 2).exterior
    centres = [line.interpolate(k / row.count, normalized=True) for k in range(row.count)]
    apart = [one.distance(MultiPoint([c for c in centres if c is not one])) for one in centres]
    assert min(apart) > float(row.melee_mm)
    clear = [one.distance(stone) - float(row.melee_mm) / 2 for one in centres]
    assert min(clear) == pytest.approx(float(HALO_GAP), abs=0.001)


@pytest.mark.parametrize("shape", KNOWN)
@pytest.mark.parametrize("melee", ["1.0", "1.3", "1.7"])
def test_every_outline_has_an_even_halo(shape: str, melee: str) -> None:
    found = _halo(shape, "7", "6", melee, rows=2)
    for row in found.rows:
        assert row.count % 2 == 0
        assert row.count in {row.fits, row.fits - 1}


@given(shape=st.sampled_from(KNOWN), length=centres, width=centres, size=halo_sizes, corner=st.booleans())
def test_a_row_is_the_largest_even_number_with_the_room_it_wants(
    shape: str, length: Decimal, width: Decimal, size: Decimal, corner: bool
) -> None:
    leg = min(length, width) / 5 if corner else None
    found = halo(shape, length, width, size, leg)
    line = offset_perimeter_mm(shape, length, width, leg, HALO_GAP + size / 2)
    assume(found is not None)
    assert found is not None
    assert line is not None
    (row,) = found.rows
    pitch = size + spacing_mm(size)
    assert row.centre_line_mm == line
    assert row.fits * pitch <= line < (row.fits + 1) * pitch
    assert FEWEST_AROUND <= row.count <= row.fits <= row.count + 1
    assert row.count % 2 == 0
    assert line / row.count >= pitch
    assert abs(line / row.count - size - row.spacing_mm) <= D("0.005")
    assert row.carat_total == (row.count * melee_carat(size)).quantize(D("0.01"), ROUND_HALF_UP)


@given(diameter=st.integers(100, 1200).map(lambda n: D(n) / 100), size=melee_sizes)
def test_stones_of_a_round_halo_never_touch(diameter: Decimal, size: Decimal) -> None:
    found = halo("round", diameter, diameter, size)
    assume(found is not None)
    assert found is not None
    radius = float(diameter / 2 + HALO_GAP + size / 2)
    assert 2 * radius * math.sin(math.pi / found.count) > float(size)


@given(shape=st.sampled_from(KNOWN), length=centres, width=centres, size=halo_sizes)
def test_turning_the_measures_changes_nothing_unless_the_length_is_an_axis(
    shape: str, length: Decimal, width: Decimal, size: Decimal
) -> None:
    if not SHAPES[shape].length_is_axis:
        assert halo(shape, length, width, size) == halo(shape, width, length, size)


@given(
    shape=st.sampled_from(KNOWN),
    length=centres,
    width=centres,
    size=halo_sizes,
    more=st.sampled_from([("0.3", "0"), ("0", "0.3"), ("0.1", "0.1")]),
)
def test_a_larger_centre_never_has_fewer(
    shape: str, length: Decimal, width: Decimal, size: Decimal, more: tuple[str, str]
) -> None:
    small = halo(shape, length, width, size)
    large = halo(shape, length + D(more[0]), width + D(more[1]), size)
    if small is not None and large is not None:
        assert large.count >= small.count
        assert large.carat_total >= small.carat_total


@given(shape=st.sampled_from(KNOWN), length=centres, width=centres, size=melee_sizes)
def test_another_size_is_named_only_for_wide_gaps_and_leaves_none(
    shape: str, length: Decimal, width: Decimal, size: Decimal
) -> None:
    found = halo(shape, length, width, size)
    if found is not None and (other := found.rows[0].next_melee_mm) is not None:
        assert found.rows[0].spacing_mm > LOOSE_MM
        assert 0 < abs(other - size) <= D("0.3")
        assert other == other.quantize(D("0.1"))
        assert MELEE_MM[0] <= other <= MELEE_MM[1]
        better = halo(shape, length, width, other)
        assert better is not None
        assert better.rows[0].spacing_mm <= LOOSE_MM


# US 6, shank 1.7 thick, half of the way around its outside: π (8.2534 + 1.7) = 31.270, worked out by hand.
@pytest.mark.parametrize(
    ("melee", "fits", "count", "room", "carat"),
    [("1.3", 22, 22, "0.12", "0.23"), ("1.5", 19, 18, "0.24", "0.27")],
)
def test_pave_on_half_a_shank(melee: str, fits: int, count: int, room: str, carat: str) -> None:
    row = pave(_inner(6), D("1.7"), D(melee))
    assert row is not None
    assert row.centre_line_mm == D("31.270")
    assert (row.fits, row.count, row.spacing_mm, row.carat_total) == (fits, count, D(room), D(carat))


def test_pave_that_sits_wide_names_another_size() -> None:
    # 18 of 1.6 leave 31.270 / 18 - 1.6 = 0.14.
    row = pave(_inner(6), D("1.7"), D("1.5"))
    assert row is not None
    assert row.next_melee_mm == D("1.6")


def test_rows_side_by_side_are_counted_together() -> None:
    one, three = pave(_inner(6), D("1.7"), D("1.3")), pave(_inner(6), D("1.7"), D("1.3"), rows=3)
    assert one is not None
    assert three is not None
    assert (three.fits, three.count, three.carat_total) == (66, 66, D("0.69"))
    assert (three.centre_line_mm, three.spacing_mm) == (one.centre_line_mm, one.spacing_mm)


def test_pave_follows_the_share_of_the_shank_that_is_set() -> None:
    # The whole way around is 62.539, of which 1.4 each is 44.7; two thirds of it are 41.693, or 29.8.
    whole = pave(_inner(6), D("1.7"), D("1.3"), share=D(1))
    most = pave(_inner(6), D("1.7"), D("1.3"), share=D(2) / 3)
    assert whole is not None
    assert most is not None
    assert (whole.centre_line_mm, whole.fits, whole.count) == (D("62.539"), 44, 44)
    assert (most.centre_line_mm, most.fits, most.count) == (D("41.693"), 29, 28)


# Two of 1.3 want 2.8 mm: a share of 62.539 mm just under and just over.
@pytest.mark.parametrize(("share", "count"), [("0.0447", None), ("0.0448", 2)])
def test_pave_without_room_on_both_sides_is_none(share: str, count: int | None) -> None:
    row = pave(_inner(6), D("1.7"), D("1.3"), share=D(share))
    assert (row and row.count) == count


@given(finger=fingers, thick=st.integers(120, 300).map(lambda n: D(n) / 100), size=melee_sizes)
def test_pave_has_as_many_on_each_side_with_the_room_they_want(
    finger: Decimal, thick: Decimal, size: Decimal
) -> None:
    row = pave(finger, thick, size)
    thicker = pave(finger, thick + D("0.2"), size)
    assert row is not None
    assert row.centre_line_mm is not None
    assert row.count % 2 == 0
    assert row.centre_line_mm >= row.count * (size + spacing_mm(size))
    assert thicker is not None
    assert thicker.count >= row.count


ETERNITY_MELEE = ("1.3", "1.5", "1.7", "2.0", "2.5", "3.0")
# Chords on the girdle plane, worked out by hand.
ETERNITY = [(5, (41, 36, 32, 27, 22, 19)), (6, (43, 38, 33, 29, 23, 20)), (7, (45, 39, 35, 30, 24, 21))]


@pytest.mark.parametrize(
    ("us", "melee", "count"),
    [
        (us, melee, count)
        for us, counts in ETERNITY
        for melee, count in zip(ETERNITY_MELEE, counts, strict=True)
    ],
)
def test_an_eternity_band_as_worked_out_by_hand(us: int, melee: str, count: int) -> None:
    full, half = eternity(_inner(us), D(melee), "full"), eternity(_inner(us), D(melee), "half")
    assert full.row.fits == full.row.count == count
    assert half.row.fits == half.row.count == count // 2
    assert half.row.spacing_mm == full.row.spacing_mm
    assert half.radius_mm == full.radius_mm
    assert full.row.centre_line_mm is None


@pytest.mark.parametrize(
    ("melee", "carat"),
    [("1.3", "0.45"), ("1.5", "0.57"), ("1.7", "0.69"), ("2.0", "0.90"), ("2.5", "1.43"), ("3.0", "2.10")],
)
def test_the_weight_of_an_eternity_band_of_us_6(melee: str, carat: str) -> None:
    assert eternity(_inner(6), D(melee), "full").row.carat_total == D(carat)


def test_only_a_half_set_band_can_be_resized() -> None:
    # Common practice, no source.
    assert not eternity(_inner(6), D("1.5"), "full").resizable
    assert eternity(_inner(6), D("1.5"), "half").resizable


# US 6: 8.2534 and the larger of 1.5 and 0.45 d + 0.6, which are equal for 2.0 mm.
@pytest.mark.parametrize(
    ("melee", "radius"),
    [("1.3", "9.753"), ("2.0", "9.753"), ("2.1", "9.798"), ("2.5", "9.978"), ("3.0", "10.203")],
)
def test_larger_stones_sit_higher(melee: str, radius: str) -> None:
    assert eternity(_inner(6), D(melee), "full").radius_mm == D(radius)


# Six on a circle stand one radius apart: 3.5 + 0.15 is a radius of 3.65, an inner diameter of 2.95.
@pytest.mark.parametrize(
    ("inner", "count", "room"), [("2.94", 5, "0.78"), ("2.95", 6, "0.15"), ("2.96", 6, "0.16")]
)
def test_a_row_that_fits_exactly_keeps_its_last_stone(inner: str, count: int, room: str) -> None:
    row = eternity(D(inner), D("3.5"), "full").row
    assert (row.count, row.spacing_mm) == (count, D(room))


@pytest.mark.parametrize("us", [5, 6, 7])
def test_the_way_around_the_inside_would_lose_six_to_eight_small_stones(us: int) -> None:
    # Common practice, no source.
    inside = math.floor(math.pi * float(_inner(us)) / 1.4)
    assert 6 <= eternity(_inner(us), D("1.3"), "full").row.count - inside <= 8


def test_an_eternity_band_that_sits_wide_names_another_size() -> None:
    # US 7, worked out by hand: 24 of 2.5 leave 0.21; on its own lower plane 25 of 2.4 leave 0.19.
    row = eternity(_inner(7), D("2.5"), "full").row
    assert (row.spacing_mm, row.next_melee_mm) == (D("0.21"), D("2.4"))
    assert eternity(_inner(7), D("2.4"), "full").row.spacing_mm == D("0.19")


@pytest.mark.parametrize("melee", ["0.8", "2.0", "3.5"])
def test_even_a_ring_for_nobody_holds_stones(melee: str) -> None:
    # The radius of the girdle plane alone has room: two stones of 3.5 mm want 3.65, the plane is 4.35 across.
    row = eternity(D("0.001"), D(melee), "full").row
    assert row.count >= 3
    assert row.spacing_mm >= spacing_mm(D(melee))


@given(finger=fingers, size=melee_sizes)
def test_an_eternity_band_has_the_most_stones_whose_chords_leave_their_room(
    finger: Decimal, size: Decimal
) -> None:
    count = eternity(finger, size, "full").row.count
    radius = float(finger) / 2 + max(1.5, 0.45 * float(size) + 0.6)

    def apart(stones: int) -> float:
        turn = math.tau / stones
        return math.dist((radius, 0), (radius * math.cos(turn), radius * math.sin(turn)))

    pitch = float(size + spacing_mm(size))
    assert apart(count) >= pitch - 1e-6
    assert apart(count + 1) < pitch


@given(finger=fingers, size=melee_sizes, more=st.integers(1, 100).map(lambda n: D(n) / 100))
def test_a_larger_finger_never_has_fewer(finger: Decimal, size: Decimal, more: Decimal) -> None:
    for extent in ("full", "half"):
        small, large = eternity(finger, size, extent), eternity(finger + more, size, extent)
        assert large.row.count >= small.row.count


# n d + (n - 1) 0.10 + 2 x 0.25: from memory.
@pytest.mark.parametrize(("rows", "width"), [(1, "1.30"), (2, "2.70"), (3, "4.10")])
def test_rows_side_by_side_have_metal_between_them(rows: int, width: str) -> None:
    assert rows_width_mm(rows, D("1.3")) == D(width)
