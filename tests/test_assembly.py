"""Rings put together from their parts, and what closes the gap to a band.

The vectors are computed from the model by hand; no published source.

Invariants:
1. raising the center never widens the gap;
2. a thicker band never narrows the gap;
3. a wider shank never widens the gap;
4. a bigger finger never lowers the number of stones around it;
5. the order of side stones changes no length;
6. a raise settles the band, another center never widens the gap, and no lever changes nothing;
7. what a lever changes in the request makes the ring it shows;
8. whatever the contract lets in, nothing raises and nothing is not a number;
9. a value that is stated is never assumed.
"""

import copy
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from decimal import Decimal
from functools import cached_property
from typing import Any, get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradefloor.trade.assembly import Ring, faceting
from gradefloor.trade.band_fit import BandFit
from gradefloor.trade.levers import HIGHEST_RAISE_MM, THINNEST_BAND_MM, Lever, levers, settled
from gradefloor.trade.melee import MELEE_MM
from gradefloor.trade.rings import TABLES, inner_diameter_mm
from gradefloor.trade.settings import (
    BandShape,
    Head,
    Orientation,
    RingParts,
    Shank,
    Shoulders,
    SideStone,
)
from gradefloor.trade.shapes import SHAPES

D = Decimal
Parts = dict[str, Any]

EMERALD: Parts = {
    "center": {
        "shape": "emerald", "length_mm": 8.00, "width_mm": 5.80,
        "depth_pct": 65.0, "crown_height_pct": 13.0, "girdle_pct": 3.5,
    },
    "setting": {"orientation": "along", "shank_width_mm": 2.0, "culet_height_mm": 1.0},
    "wedding_band": {"shape": "straight", "thickness_mm": 1.7},
}  # fmt: skip
US6: Parts = {"system": "us", "size": "6"}


def _ring(parts: Parts) -> Ring:
    return Ring.of(RingParts.model_validate(parts))


def _with(parts: Parts, changes: dict[str, Any]) -> Parts:
    """The same request with other members, by their paths."""
    changed = copy.deepcopy(parts)
    for path, value in changes.items():
        *ways, last = path.split(".")
        place = changed
        for way in ways:
            place[way] = place.get(way) or {}
            place = place[way]
        place[last] = value
    return changed


def _emerald(**setting: Any) -> Ring:
    return _ring(_with(EMERALD, {f"setting.{name}": value for name, value in setting.items()}))


def _fit(ring: Ring) -> BandFit:
    assert ring.fit is not None
    return ring.fit


def _lever(ring: Ring, name: str) -> Lever:
    return next(lever for lever in levers(ring) if lever.name == name)


@pytest.mark.parametrize(
    ("setting", "gap", "clearance", "trial"),
    [
        ({}, "1.62", "0", False),
        ({"orientation": "across"}, "0.52", "0", False),
        ({"culet_height_mm": 1.69}, "0.91", "0", False),
        ({"culet_height_mm": 1.70}, "0", "0", True),
        ({"culet_height_mm": 1.8}, "0", "0.10", True),
        ({"culet_height_mm": 1.84}, "0", "0.14", True),
        ({"culet_height_mm": 1.85}, "0", "0.15", False),
        ({"culet_height_mm": 1.9}, "0", "0.20", False),
        ({"orientation": "across", "culet_height_mm": 1.6}, "0", "0.09", True),
        ({"orientation": "across", "culet_height_mm": 1.7}, "0", "0.20", False),
    ],
)
def test_gap_of_a_known_ring(setting: Parts, gap: str, clearance: str, trial: bool) -> None:
    found = _fit(_emerald(**setting))
    assert (found.gap_mm, found.clearance_mm, found.trial) == (D(gap), D(clearance), trial)
    assert found.flush == (D(gap) == 0)
    assert found.obstacle == "center"


def test_heights_add_up_to_the_table() -> None:
    ring = _emerald()
    assert (ring.depth_mm, ring.pavilion_mm, ring.total_height_mm) == (D("3.77"), D("2.813"), D("4.77"))


def test_a_gap_is_offered_every_lever_with_the_gap_after_it() -> None:
    # A band of 1.5 is 0.2 lower: 0.2 x 2.9 / 2.813 nearer. 1.85 is the band and the room of 0.15.
    found = [(one.name, one.changes, _fit(one.ring).gap_mm) for one in levers(_emerald())]
    assert found == [
        ("thinner_band", {"wedding_band.thickness_mm": 1.5}, D("1.42")),
        ("raise_center", {"setting.culet_height_mm": 1.85}, D(0)),
        ("turn_center", {"setting.orientation": "across"}, D("0.52")),
        ("contour_band", {"wedding_band.shape": "contour"}, D("1.62")),
        ("agree_on_gap", {"wedding_band.accepts_gap": True}, D("1.62")),
    ]


def test_a_band_that_lies_flush_with_room_needs_no_lever() -> None:
    assert settled(_emerald(culet_height_mm=1.9).fit)
    assert levers(_emerald(culet_height_mm=1.9)) == []


def test_a_band_that_is_flush_by_a_hair_has_no_gap_to_agree_on() -> None:
    ring = _emerald(culet_height_mm=1.8)
    assert not settled(ring.fit)
    found = [(one.name, one.changes) for one in levers(ring)]
    assert found == [
        ("thinner_band", {"wedding_band.thickness_mm": 1.6}),
        ("raise_center", {"setting.culet_height_mm": 1.85}),
        ("turn_center", {"setting.orientation": "across"}),
        ("contour_band", {"wedding_band.shape": "contour"}),
    ]


@pytest.mark.parametrize("shape", ["contour", "notched"])
def test_a_band_that_is_not_straight_needs_no_lever(shape: str) -> None:
    assert levers(_ring(_with(EMERALD, {"wedding_band.shape": shape}))) == []


def test_without_band_or_sizes_there_is_no_fit_and_no_lever() -> None:
    for ring in (
        _ring(_with(EMERALD, {"wedding_band": None})),
        _ring(_with(EMERALD, {"center.width_mm": None})),
    ):
        assert ring.fit is None
        assert levers(ring) == []
        assert not settled(ring.fit)


def test_a_round_is_never_turned() -> None:
    center = {"shape": "round", "length_mm": 6.5, "width_mm": 6.4}
    names = [one.name for one in levers(_ring({"center": center, "wedding_band": {}}))]
    assert names == ["thinner_band", "raise_center", "contour_band", "agree_on_gap"]


def test_a_low_rail_is_helped_by_neither_thinner_bands_nor_height() -> None:
    ring = _emerald(culet_height_mm=1.9, gallery={"bottom_mm": 0.9, "half_extent_mm": 1.6})
    assert (_fit(ring).gap_mm, _fit(ring).obstacle) == (D("0.60"), "gallery rail")
    assert [one.name for one in levers(ring)] == ["contour_band", "agree_on_gap"]


@pytest.mark.parametrize(("extent", "gap"), [(0.849, "0"), (1.0, "0"), (1.25, "0.25"), (3.0, "2.00")])
def test_a_measured_clearance_outranks_the_model(extent: float, gap: str) -> None:
    ring = _emerald(measured_clearance=[{"height_mm": 0.9, "half_extent_mm": extent}])
    assert (_fit(ring).gap_mm, _fit(ring).obstacle) == (D(gap), "measured head")
    assert ring.assumed == []
    assert not {one.name for one in levers(ring)} & {"raise_center", "turn_center"}


def test_a_measured_clearance_needs_no_size_of_the_center() -> None:
    clearance = [{"height_mm": 0.9, "half_extent_mm": 1.25}]
    parts = {"center": {"shape": "kite"}, "setting": {"measured_clearance": clearance}, "wedding_band": {}}
    assert _fit(_ring(parts)).gap_mm == D("0.25")


# What is assumed


def _assumed(ring: Ring) -> dict[str, str]:
    _all(ring)
    return {one.field: one.value for one in ring.assumed}


def test_what_is_not_stated_is_assumed_by_name() -> None:
    assert _assumed(_emerald()) == {
        "setting.basket_wire_mm": "0.8 mm",
        "setting.claw_overhang_mm": "0.35 mm",
        "center.corner_mm": "0.75 mm",
    }
    bare = {"center": {"shape": "emerald", "length_mm": 8.0, "width_mm": 5.8}, "wedding_band": {}}
    assert _assumed(_ring(bare)) == _assumed(_emerald()) | {
        "center.depth_pct": "64 %",
        "center.crown_height_pct": "13 %",
        "center.girdle_pct": "3.5 %",
        "setting.orientation": "along",
        "setting.culet_height_mm": "1 mm",
        "setting.shank_width_mm": "2 mm",
        "wedding_band.thickness_mm": "1.7 mm",
    }


def test_what_is_stated_is_not_assumed() -> None:
    parts = _with(EMERALD, {"center.corner_mm": 0.8, "setting.basket_wire_mm": 0.7})
    assert _assumed(_ring(parts)) == {"setting.claw_overhang_mm": "0.35 mm"}
    assert _assumed(_ring(_with(parts, {"setting.claw_overhang_mm": 0.3}))) == {}


def test_an_empty_ring_assumes_nothing_about_its_center() -> None:
    found = set(_assumed(_ring({"center": {"shape": "oval"}})))
    assert found == {"setting.culet_height_mm", "wedding_band.thickness_mm"}


# The flank and the sides


@pytest.mark.parametrize(
    ("shape", "corner", "orientation", "flank"),
    [
        ("emerald", None, "along", "6.5"),  # 8.00 - 2 x 0.75
        ("emerald", 0.8, "along", "6.40"),
        ("emerald", None, "across", "4.3"),
        ("emerald", 3.99, "along", "0.02"),
        ("emerald", 4.0, "along", None),
        ("emerald", 4.01, "along", None),
        ("baguette", None, "along", "8.0"),
        ("baguette", None, "across", "5.8"),
        ("oval", None, "along", None),
    ],
)
def test_the_flank_is_what_the_corners_leave(
    shape: str, corner: float | None, orientation: str, flank: str | None
) -> None:
    changes = {"center.shape": shape, "center.corner_mm": corner, "setting.orientation": orientation}
    found = _ring(_with(EMERALD, changes)).flank_mm
    assert str(found) == str(flank)


@pytest.mark.parametrize(
    ("shape", "length", "over"),
    [("trapezoid", 7.0, "0.5"), ("trapezoid", 6.5, "0"), ("trapezoid", 6.4, "-0.1"), ("pear", 7.0, None)],
)
def test_a_straight_ended_side_stone_is_held_against_the_flank(
    shape: str, length: float, over: str | None
) -> None:
    side = {"shape": shape, "length_mm": length, "width_mm": 3.0}
    found = _ring(EMERALD | {"side_stones": [side, side]}).over_flank_mm
    assert found == (None if over is None else D(over))


# (6.5 + 2 x 5.1) / 16.51 and (5.8 + 2 x 4.0) / 16.51; US 6 is 11.63 + 6 x 0.8128 mm.
@pytest.mark.parametrize(
    ("center", "side", "span", "span_pct"), [(6.5, 5.1, "16.7", "101.2"), (5.8, 4.0, "13.8", "83.6")]
)
def test_the_span_of_three_rounds(center: float, side: float, span: str, span_pct: str) -> None:
    middle, beside = ({"shape": "round", "length_mm": size, "width_mm": size} for size in (center, side))
    ring = _ring({"center": middle, "side_stones": [beside, beside], "finger": US6})
    assert (ring.span_mm, ring.span_pct) == (D(span), D(span_pct))
    assert _ring({"center": middle, "side_stones": [beside, beside]}).span_pct is None
    assert _ring({"center": middle, "side_stones": [beside, {"shape": "round"}]}).span_mm is None


def test_pairs_are_matched_by_size() -> None:
    sizes = [(4.0, 3.0), (3.0, 2.0), (4.1, 3.0), (3.0, 2.3)]
    sides = [{"shape": "pear", "length_mm": length, "width_mm": width} for length, width in sizes]
    ring = _ring(EMERALD | {"side_stones": sides})
    assert len(ring.pairs) == 2
    assert ring.pair_gap_mm == D("0.3")
    assert _ring(EMERALD | {"side_stones": sides[:1]}).pair_gap_mm is None


@pytest.mark.parametrize(
    ("shape", "stated", "found"),
    [
        ("trapezoid", None, None), ("trapezoid", "step", "step"), ("trapezoid", "brilliant", "brilliant"),
        ("baguette", None, "step"), ("french_square", None, "step"), ("round", None, "brilliant"),
        ("old_mine", None, "brilliant"),
    ],
)  # fmt: skip
def test_faceting_is_asked_for_where_a_shape_is_cut_either_way(
    shape: str, stated: str | None, found: str | None
) -> None:
    assert faceting(SideStone.model_validate({"shape": shape, "facet_family": stated})) == found


# Melee


def test_an_eternity_band_is_counted_and_cannot_be_resized() -> None:
    band = {"stones": {"melee_mm": 2.0, "extent": "full"}}
    found = _ring({"center": {"shape": "round"}, "wedding_band": band, "finger": US6}).eternity
    assert found is not None
    assert (found.row.count, found.row.carat_total, found.resizable) == (29, D("0.90"), False)


def test_a_halo_is_counted() -> None:
    center = {"shape": "emerald", "length_mm": 7.0, "width_mm": 5.0}
    ring = _ring({"center": center, "setting": {"halo": {"melee_mm": 1.2}}})
    assert ring.halo is not None
    assert (ring.halo.count, ring.halo.rows[0].fits) == (20, 21)
    # A stone and a gap of 0.15 on every side.
    assert ring.outer_mm == (D("9.7"), D("7.7"))
    assert ring.but(setting=ring.setting.model_copy(update={"orientation": "across"})).outer_mm == (
        D("7.7"),
        D("9.7"),
    )


# One fifth of the width, but not under 0.9 or over 1.8 mm.
@pytest.mark.parametrize(
    ("width", "melee"),
    [(4.2, "0.9"), (4.5, "0.9"), (5.0, "1.0"), (5.8, "1.2"), (9.0, "1.8"), (9.5, "1.8")],
)
def test_usual_melee_of_a_halo_follows_the_width(width: float, melee: str) -> None:
    center = {"shape": "oval", "length_mm": 10.0, "width_mm": width}
    assert _ring({"center": center, "setting": {"halo": {}}}).halo_melee_mm == D(melee)


def test_a_halo_under_the_girdle_is_not_seen_but_met() -> None:
    ring = _emerald(culet_height_mm=1.9, halo={"melee_mm": 1.2, "hidden": True, "bottom_mm": 1.5})
    assert ring.outer_mm == ring.measures_mm
    # The culet is higher: only the melee stands there, 1.2 beside half a shank.
    assert (_fit(ring).gap_mm, _fit(ring).obstacle) == (D("0.20"), "hidden halo")


# Properties


def _mm(low: str, high: str) -> st.SearchStrategy[float]:
    """Hundredths: what people write."""
    return st.integers(int(D(low) * 100), int(D(high) * 100)).map(lambda n: n / 100)


def _maybe(values: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    return st.none() | values


def _centers(mm: st.SearchStrategy[float], pct: st.SearchStrategy[float]) -> st.SearchStrategy[Parts]:
    return st.fixed_dictionaries(
        {
            "shape": st.sampled_from(sorted(SHAPES)),
            "length_mm": mm,
            "width_mm": mm,
            "depth_mm": _maybe(mm),
            "depth_pct": _maybe(pct),
            "crown_height_pct": _maybe(pct),
            "girdle_pct": _maybe(pct),
            "corner_mm": _maybe(mm),
        }
    )


def _any_ring(
    mm: st.SearchStrategy[float],
    section: st.SearchStrategy[float],
    pct: st.SearchStrategy[float],
    melee: st.SearchStrategy[float],
) -> st.SearchStrategy[Parts]:
    halo = st.fixed_dictionaries(
        {
            "rows": _maybe(st.integers(1, 3)),
            "hidden": _maybe(st.booleans()),
            "melee_mm": _maybe(melee),
            "bottom_mm": _maybe(section),
        }
    )
    gallery = st.fixed_dictionaries({"bottom_mm": section, "half_extent_mm": _maybe(section)})
    setting = st.fixed_dictionaries(
        {
            "head": _maybe(st.sampled_from(get_args(Head))),
            "shank": _maybe(st.sampled_from(get_args(Shank))),
            "shoulders": _maybe(st.sampled_from(get_args(Shoulders))),
            "halo": _maybe(halo),
            "orientation": _maybe(st.sampled_from(get_args(Orientation))),
            "shank_width_mm": _maybe(section),
            "shank_thickness_mm": _maybe(section),
            "shank_melee_mm": _maybe(melee),
            "shank_rows": _maybe(st.integers(1, 7)),
            "culet_height_mm": _maybe(mm),
            "basket_wire_mm": _maybe(section),
            "claw_overhang_mm": _maybe(section),
            "gallery": _maybe(gallery),
        }
    )
    band = st.fixed_dictionaries(
        {
            "shape": _maybe(st.sampled_from(get_args(BandShape))),
            "thickness_mm": _maybe(section),
            "stones": _maybe(
                st.fixed_dictionaries({"melee_mm": melee, "extent": st.sampled_from(["full", "half"])})
            ),
        }
    )
    fingers = [{"system": name, "size": size} for name, table in TABLES.items() for size in table.examples]
    fingers += [{"system": "us", "size": size} for size in ("0", "16")]
    return st.fixed_dictionaries(
        {
            "center": _centers(mm, pct),
            "setting": _maybe(setting),
            "side_stones": _maybe(st.lists(_centers(mm, pct), min_size=1, max_size=4)),
            "wedding_band": _maybe(band),
            "finger": _maybe(st.sampled_from(fingers)),
        }
    )


MELEE = _mm(str(MELEE_MM[0]), str(MELEE_MM[1]))
LIKELY = _any_ring(_mm("0.5", "12"), _mm("0.5", "4"), _mm("2", "70"), MELEE)
EXTREME = _any_ring(
    st.sampled_from([0.001, 0.01, 199.999, 200.0]) | st.floats(0.001, 200),
    st.sampled_from([0.1, 30.0]) | st.floats(0.1, 30),
    st.sampled_from([0.1, 100.0]) | st.floats(0.1, 100),
    st.sampled_from([float(one) for one in MELEE_MM]) | st.floats(*(float(one) for one in MELEE_MM)),
)
STEPS = _mm("0.01", "2")


def _banded(parts: Parts) -> Parts:
    """With a straight band, and with all that the properties below change."""
    changes: Parts = {
        path: (parts[path.split(".")[0]] or {}).get(path.split(".")[1]) or usual
        for path, usual in (
            ("setting.culet_height_mm", 1.0),
            ("setting.shank_width_mm", 2.0),
            ("wedding_band.thickness_mm", 1.7),
        )
    }
    return _with(parts, changes | {"wedding_band.shape": "straight"})


def _more(parts: Parts, path: str, by: float) -> Parts:
    part, member = path.split(".")
    return _with(parts, {path: float(D(repr(parts[part][member])) + D(repr(by)))})


def _gap(parts: Parts) -> Decimal:
    fit = _ring(parts).fit
    return D(-1) if fit is None else fit.gap_mm


@given(parts=LIKELY.map(_banded), by=STEPS)
def test_raising_the_center_never_widens_the_gap(parts: Parts, by: float) -> None:
    """Invariant 1."""
    assert _gap(_more(parts, "setting.culet_height_mm", by)) <= _gap(parts)


@given(parts=LIKELY.map(_banded), by=STEPS)
def test_a_thicker_band_never_narrows_the_gap(parts: Parts, by: float) -> None:
    """Invariant 2."""
    assert _gap(_more(parts, "wedding_band.thickness_mm", by)) >= _gap(parts)


@given(parts=LIKELY.map(_banded), by=STEPS)
def test_a_wider_shank_never_widens_the_gap(parts: Parts, by: float) -> None:
    """Invariant 3."""
    assert _gap(_more(parts, "setting.shank_width_mm", by)) <= _gap(parts)


@given(melee=MELEE, extent=st.sampled_from(["full", "half"]), sizes=st.tuples(*[st.integers(0, 16)] * 2))
def test_a_bigger_finger_never_has_fewer_stones(melee: float, extent: str, sizes: tuple[int, int]) -> None:
    """Invariant 4."""
    band = {"stones": {"melee_mm": melee, "extent": extent}}
    counts = []
    for size in sorted(sizes):
        finger = {"system": "us", "size": str(size)}
        found = _ring({"center": {"shape": "round"}, "wedding_band": band, "finger": finger}).eternity
        assert found is not None
        counts.append(found.row.count)
    assert counts == sorted(counts)


@given(parts=LIKELY, data=st.data())
def test_the_order_of_side_stones_changes_no_length(parts: Parts, data: st.DataObject) -> None:
    """Invariant 5."""
    sides = parts["side_stones"]
    ring = _ring(parts)
    for other in (sides and sides[::-1], sides and data.draw(st.permutations(sides))):
        turned = _ring(parts | {"side_stones": other})
        assert (turned.span_mm, turned.over_flank_mm) == (ring.span_mm, ring.over_flank_mm)
        assert (turned.pair_gap_mm, turned.fit) == (ring.pair_gap_mm, ring.fit)


@given(parts=LIKELY.map(_banded))
def test_levers_do_what_they_say(parts: Parts) -> None:
    """Invariants 6 and 7."""
    ring = _ring(parts)
    found = levers(ring)
    assert bool(found) == (ring.fit is not None and not settled(ring.fit))
    assert len({one.name for one in found}) == len(found)
    for one in found:
        before, after = _fit(ring), _fit(one.ring)
        assert _fit(_ring(_with(parts, one.changes))) == after
        if one.name in {"contour_band", "agree_on_gap"}:
            assert after == before
            continue
        assert after != before
        assert after.gap_mm < before.gap_mm or settled(after) or one.name == "thinner_band"
        assert after.gap_mm <= before.gap_mm
        if one.name == "raise_center":
            assert settled(after)
            assert 0 < one.ring.culet_height_mm - ring.culet_height_mm <= HIGHEST_RAISE_MM
        if one.name == "thinner_band":
            assert THINNEST_BAND_MM <= one.ring.band_thickness_mm < ring.band_thickness_mm


def _public() -> list[str]:
    members = vars(Ring).items()
    return [name for name, one in members if isinstance(one, cached_property | property) and name[0] != "_"]


def _all(ring: Ring) -> dict[str, object]:
    return {name: getattr(ring, name) for name in (*_public(), "assumed")}


def _decimals(value: object) -> Iterator[Decimal]:
    if isinstance(value, Decimal):
        yield value
    elif isinstance(value, tuple | list):
        for one in value:
            yield from _decimals(one)
    elif is_dataclass(value):
        for field in fields(value):
            yield from _decimals(getattr(value, field.name))


def test_every_length_is_looked_at() -> None:
    expected = {"measures_mm", "fit", "halo", "pave", "eternity", "flank_mm", "obstacles", "assumed", "pairs"}
    assert expected <= set(_public())


@given(parts=EXTREME)
def test_nothing_raises_and_everything_is_a_number(parts: Parts) -> None:
    """Invariant 8."""
    ring = _ring(parts)
    for found in (ring, *(one.ring for one in levers(ring))):
        for name, value in _all(found).items():
            assert all(one.is_finite() for one in _decimals(value)), name


@given(melee=MELEE, size=st.sampled_from(["0", "6", "16"]), rows=st.integers(1, 3), hidden=st.booleans())
def test_a_halo_larger_than_the_finger_is_still_worked_out(
    melee: float, size: str, rows: int, hidden: bool
) -> None:
    center = {"shape": "oval", "length_mm": 40.0, "width_mm": 30.0}
    halo = {"melee_mm": melee, "rows": rows, "hidden": hidden}
    ring = _ring({"center": center, "setting": {"halo": halo}, "finger": {"system": "us", "size": size}})
    assert ring.coverage_pct is not None
    assert ring.coverage_pct >= 3000 / inner_diameter_mm("us", size) - 1


@given(parts=LIKELY)
def test_a_stated_value_is_never_assumed(parts: Parts) -> None:
    """Invariant 9."""
    for field in _assumed(_ring(parts)):
        part, member, *deeper = field.split(".")
        stated = parts[part] or {}
        if part == "side_stones":
            assert any(one[member] is None for one in stated)
            continue
        value = stated.get(member)
        assert (value and value[deeper[0]] if deeper else value) is None
