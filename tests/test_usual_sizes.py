"""Millimetres to expect of a weight.

The areas are computed in a table of common practice from the handbook factors of the shape, good to a few
percent; the size of one carat is common practice, no source. Invariants:
1. a usual size faces like the weight it was made for;
2. a heavier stone is larger in every direction, a deeper one smaller from above.
"""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradefloor.trade.outlines import face_up_mm2
from gradefloor.trade.weights import USUAL_DEPTH_PCT, faces_like_carat, usual_size

SIZED = sorted({"round", *USUAL_DEPTH_PCT})
D = Decimal


@pytest.mark.parametrize(
    ("depth_pct", "mm2"), [("60", 36.5), ("65", 34.6), ("70", 32.9), ("75", 31.4)], ids=str
)
def test_one_carat_of_an_emerald_cut_shows_less_the_deeper_it_is(depth_pct: str, mm2: float) -> None:
    size = usual_size("emerald", D(1), D("1.40"), D(depth_pct))
    assert size is not None
    area = face_up_mm2("emerald", size.length_mm, size.width_mm)
    assert float(area or 0) == pytest.approx(mm2, rel=0.04)


@pytest.mark.parametrize(("depth_pct", "mm2"), [("60", 49.8), ("75", 43.0)], ids=str)
def test_one_and_a_half_carat_of_a_radiant_shows_less_the_deeper_it_is(depth_pct: str, mm2: float) -> None:
    size = usual_size("radiant", D("1.5"), D("1.30"), D(depth_pct))
    assert size is not None
    area = face_up_mm2("radiant", size.length_mm, size.width_mm)
    assert float(area or 0) == pytest.approx(mm2, rel=0.04)


@pytest.mark.parametrize(
    ("shape", "ratio", "length", "width"),
    [
        ("emerald", "1.40", (6.6, 7.0), (4.8, 5.0)),  # one carat, common practice, no source
        ("radiant", "1.22", (6.2, 6.8), (5.2, 5.5)),
        ("round", "1.00", (6.3, 6.6), (6.3, 6.6)),
    ],
)
def test_one_carat_has_the_size_that_jewellers_expect(
    shape: str, ratio: str, length: tuple[float, float], width: tuple[float, float]
) -> None:
    size = usual_size(shape, D(1), D(ratio))
    assert size is not None
    assert length[0] <= size.length_mm <= length[1]
    assert width[0] <= size.width_mm <= width[1]


@pytest.mark.parametrize("shape", ["portrait", "rose", "hexagon", "half_moon"])
def test_a_shape_without_a_usual_depth_has_no_usual_size(shape: str) -> None:
    assert usual_size(shape, D(1), D("1.2")) is None


@given(st.sampled_from(SIZED), st.integers(20, 800), st.integers(100, 220))
def test_a_usual_size_faces_like_its_weight(shape: str, points: int, hundredths: int) -> None:
    carat, ratio = D(points) / 100, D(1) if shape == "round" else D(hundredths) / 100
    size = usual_size(shape, carat, ratio)
    assert size is not None
    like = faces_like_carat(shape, size.length_mm, size.width_mm)
    assert like is not None
    assert float(like) == pytest.approx(float(carat), rel=0.02, abs=0.02)


@given(st.sampled_from(SIZED), st.integers(20, 700), st.integers(100, 200), st.integers(30, 80))
def test_heavier_is_larger_and_deeper_is_smaller(
    shape: str, points: int, hundredths: int, depth: int
) -> None:
    ratio = D(hundredths) / 100
    one = usual_size(shape, D(points) / 100, ratio, D(depth))
    heavier = usual_size(shape, D(points + 50) / 100, ratio, D(depth))
    deeper = usual_size(shape, D(points) / 100, ratio, D(depth + 5))
    assert one is not None
    assert heavier is not None
    assert deeper is not None
    assert all(more > less for more, less in zip(heavier, one, strict=True))
    assert shape == "round" or deeper.width_mm < one.width_mm
