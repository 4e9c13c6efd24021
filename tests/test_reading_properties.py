"""Two promises about rows nobody has seen yet: a second reading changes nothing, and no row is too odd."""

from collections.abc import Mapping
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from gradefloor.trade.reading import FIELDS, Reading, propose_columns, read_row
from gradefloor.trade.stones import Stone
from samples import Wire

# Invented cells: for each field some that read well and some that do not.
CELLS: dict[str, list[Any]] = {
    "id": ["A-17", "0012", 17, "x" * 65],
    "material": ["Diamond", "CZ", "Gemstone", "Lab grown diamond", "moissanite"],
    "origin": ["Natural", "CVD", "HPHT", "LG", "mined", "?"],
    "shape": ["RB", "EMERALD", "PR", "sq em", "CU", "Heart", "oval", "old_mine", "Trapezoid", "R", "what"],
    "report_shape": ["Square Emerald Cut", "Round Brilliant", "Cushion Modified Brilliant", "-"],
    "carat": ["1.51", "1,51", "1,510", 1.51, "150 pts", "0.3 g", 0, "x", "2", 45306],
    "color": ["G", "h", "G/H", "H-G", "G+", "Fancy Yellow", "River", "TTLB", "VS1", "0.5", "NO"],
    "clarity": ["VS1", "si 2", "VS", "SI3", "VS1-2", "eye clean", "G", "P1", "LC", "VS2-VS1"],
    "measurements": [
        "6.52 x 6.48 x 4.31", "6,52*6,48*4,31 mm", "9.02-9.06 x 5.55", "5.8x8.0x3.77", "4.0 x 9 x 8",
        "6.5 x 4.0", "06-Aug", "0 x 0 x 0", "6.52 6.48",
    ],
    "length_mm": [6.5, "6,5", "0", "0.65 cm", "8.00"],
    "width_mm": [6.4, "5.80", "8.1 mm", "58.9"],
    "depth_mm": [3.9, "31.8", "62.3", "0"],
    "depth": [62.3, "3.9", "0.62", "66.5%", "3,9 mm"],
    "depth_pct": ["62.3", 3.9, "62,3%", "0.62"],
    "ratio": ["1.01", "0.73", "1.38:1", "01:01", "1:1", 1.4],
    "table": ["58", "58%", "0.58", "3.9 mm", 66],
    "table_pct": [58, "61", "x"],
    "crown_height_pct": ["15", 12.5, "0.15"],
    "girdle": ["THN-MED", "TN TO STK", "STK 3.5%", "THK-TN", "T", "2-3%", "M (F)"],
    "girdle_min": ["thin", "VTN"],
    "girdle_max": ["THK", "medium"],
    "girdle_pct": ["3.5", 3],
    "corner_mm": ["0.9"],
    "polish": ["EX", "VG+", "G-VG", "3X", "ideal", "8X"],
    "symmetry": ["V. Good", "P", "?"],
    "cut_grade": ["Excellent", "Ideal", "-"],
    "fluorescence": ["None", "", "F", "MED BLUE", "SL", "VS", "F-M", "yes", "-", None],
    "culet": ["None", "Pointed", "VS", "chipped", "SL-L"],
    "treatments": ["None", "HPHT", "CE", "LD, FF", "as grown", "magic", ["coated"], "LD/none"],
    "comments": ["Clouds not shown.", "HPHT annealed. CVD growth", ["a", "b"], "None", "x" * 700, "a;b|c\nd"],
    "issuer": ["A Laboratory", "NON CERT", "none", "x" * 61],
    "report_number": ["0012", 2141438171, 2141438171.0, "2.14E+09", '="0012"', "'0012"],
    "report_date": ["2024-03-05", "05/03/2024", "5.3.2024", "5 Mar 2024", 45306, "13/01/2024"],
    "assessment": ["Premium", "standard", "fine"],
    "eye_clean": ["Yes", "no", "borderline", True, "100%"],
    "shade": ["NBGM", "BRN", "MIX TINGE", "White"],
    "bow_tie": ["none", "Slight", "huge"],
    "windowing": ["prominent", "a bit"],
    "haze": ["slight", "ML1"],
    "tint": ["brown", "none"],
    "seen_by": ["supplier", "Shop", "me"],
    "price": ["$1,299", 1299, "POA", "CHF 1'299.-"],
    "price_per_carat": [6000, "6,000.00"],
    "total_price": [6000, "9.000,00 €"],
}  # fmt: skip

cells = st.fixed_dictionaries({}, optional={name: st.sampled_from(values) for name, values in CELLS.items()})
formats = st.sampled_from((None, "point", "comma"))


def written(stone: Mapping[str, Any]) -> Wire:
    """A stone as a row of our own field names."""
    row = {name: value for name, value in stone.items() if name not in {"report", "observations"}}
    ours = {"number": "report_number", "date": "report_date"}
    report = {ours.get(name, name): value for name, value in stone.get("report", {}).items()}
    return {**row, **report, **stone.get("observations", {})}


def as_text(row: Wire) -> Wire:
    """The row as a file without types has it."""
    lists = {name: "; ".join(value) or "none" for name, value in row.items() if isinstance(value, list)}
    return {name: str(value) for name, value in row.items()} | lists


def own(row: Wire) -> dict[str, str]:
    return {name: name for name in row}


def open_kinds(reading: Reading) -> set[tuple[str, str]]:
    return {(remark.field, remark.kind) for remark in reading.remarks if remark.kind != "not_stated"}


def test_every_field_has_invented_cells() -> None:
    assert set(CELLS) == FIELDS


@given(row=cells)
@settings(max_examples=250, deadline=None)
def test_reading_a_read_stone_again_gives_the_same_stone_and_nothing_new_to_say(row: Wire) -> None:
    first = read_row(row, own(row))
    if first.stone is None:
        return
    Stone.model_validate(first.stone)
    for again in (written(first.stone), as_text(written(first.stone))):
        second = read_row(again, own(again))
        assert second.stone == first.stone
        assert open_kinds(second) <= open_kinds(first)


values = (
    st.text(max_size=40)
    | st.text("0123456789.,'- x*×%/:+#=DEFGHVSI\u202f\u2212", max_size=14)
    | st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.decimals()
    | st.dates()
    | st.datetimes()
    | st.lists(st.text(max_size=5) | st.none(), max_size=3)
    | st.dictionaries(st.text(max_size=3), st.none(), max_size=2)
)


@given(row=st.dictionaries(st.sampled_from(sorted(FIELDS)), values), number_format=formats)
@settings(max_examples=400, deadline=None)
def test_no_value_makes_reading_raise_or_leave_the_contract(row: Wire, number_format: str | None) -> None:
    reading = read_row(row, own(row), number_format=number_format)
    if reading.stone is not None:
        Stone.model_validate(reading.stone)
    for remark in reading.remarks:
        assert len(remark.seen) <= 80
        remark.seen.encode()


@given(row=cells, odd=st.text(max_size=30), name=st.sampled_from(sorted(FIELDS)))
@settings(max_examples=200, deadline=None)
def test_no_text_beside_good_cells_makes_reading_raise(row: Wire, odd: str, name: str) -> None:
    reading = read_row({"shape": "oval"} | row | {name: odd}, own({"shape": ""} | row | {name: ""}))
    if reading.stone is not None:
        Stone.model_validate(reading.stone)


@given(headers=st.lists(st.text(max_size=12), max_size=8))
def test_every_header_is_proposed_once_or_open(headers: list[str]) -> None:
    proposal = propose_columns(headers)
    assert {*proposal.columns, *proposal.open} == set(headers)
    assert not set(proposal.columns) & set(proposal.open)
    assert len(set(proposal.columns.values())) == len(proposal.columns)


def test_huge_and_deep_values_are_unreadable() -> None:
    deep: list[Any] = []
    for _ in range(5000):
        deep = [deep]
    for odd in (
        10**5000,
        -(10**40),
        float("inf"),
        Decimal("sNaN"),
        deep,
        {"a": deep},
        "9" * 100_000,
        "\ud800",
        b"x",
    ):
        row = dict.fromkeys(FIELDS, odd)
        assert read_row(row, own(row)).stone is None


def test_dates_of_a_typed_file_are_dates_only_where_a_date_belongs() -> None:
    row = {"shape": "round", "report_date": datetime(2024, 3, 5, 1, 2), "carat": date(2024, 8, 6)}  # noqa: DTZ001
    reading = read_row(row, own(row))
    assert reading.stone == {"shape": "round", "report": {"date": "2024-03-05"}}
    assert open_kinds(reading) == {("carat", "unreadable")}
