"""Suppliers' rows read into stones: a labelled file of invented rows, and what its labels cannot say."""

from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
import yaml

from gradefloor.trade.reading import Reading, propose_columns, read_row
from gradefloor.trade.shapes import SHAPES
from gradefloor.trade.spellings import REPORT_SHAPES, SHAPE_CODES, SHARED_SHAPES
from gradefloor.trade.stones import Stone
from gradefloor.trade.ties import Evidence, likeliest
from samples import Wire

ROWS: list[Wire] = yaml.safe_load((Path(__file__).parent / "data" / "messy_rows.yaml").read_text("utf-8"))


def read(label: Wire) -> Reading:
    row = label["row"]
    columns = label.get("columns") or propose_columns(list(row)).columns
    return read_row(row, columns, number_format=label.get("format"), origin=label.get("origin"))


def one(**row: Any) -> Reading:
    """A row under our own field names."""
    return read_row(row, {name: name for name in row})


def kinds(reading: Reading, columns: set[str]) -> dict[str, list[str]]:
    """Kinds by field, without the fields that no column holds: that those are not stated is not listed."""
    found: dict[str, list[str]] = {}
    for remark in reading.remarks:
        if remark.kind != "not_stated" or remark.field in columns or remark.seen or remark.ask:
            found.setdefault(remark.field, []).append(remark.kind)
    return found


@pytest.mark.parametrize("label", ROWS, ids=[f"{n} {row['about']}" for n, row in enumerate(ROWS)])
def test_a_messy_row_is_read_as_labelled(label: Wire) -> None:
    reading = read(label)
    columns = set((label.get("columns") or propose_columns(list(label["row"])).columns).values())
    assert reading.stone == label.get("stone")
    assert kinds(reading, columns) == label.get("remarks", {})
    assert reading.outcome == label.get("outcome", "accepted")
    if reading.stone is not None:
        Stone.model_validate(reading.stone)


def test_the_labelled_file_is_large_and_every_row_is_another() -> None:
    assert len(ROWS) >= 300
    assert len({repr({**row, "about": ""}) for row in ROWS}) == len(ROWS)


def test_only_questions_that_settle_something_are_asked() -> None:
    for label in ROWS:
        reading = read(label)
        for remark in reading.remarks:
            assert remark.ask is None or (remark.ask.endswith("?") and remark.kind != "assumed")
        asked = any(remark.ask for remark in reading.remarks)
        assert asked or reading.outcome != "ask"


# What no column holds


def test_what_no_column_holds_is_not_stated_rather_than_good() -> None:
    reading = one(shape="round")
    missing = {remark.field for remark in reading.remarks if remark.kind == "not_stated"}
    assert missing == {"carat", "color", "clarity", "fluorescence", "measurements", "origin"}
    assert reading.outcome == "accepted"


def test_a_blank_fluorescence_is_not_a_fluorescence_of_none() -> None:
    graded, blank = one(shape="round", fluorescence="None"), one(shape="round", fluorescence="")
    assert graded.stone is not None
    assert graded.stone["fluorescence"] == "none"
    assert blank.stone == {"shape": "round"}
    assert ("fluorescence", "not_stated") in {(remark.field, remark.kind) for remark in blank.remarks}


def test_a_header_that_was_not_mapped_is_never_echoed() -> None:
    row = {"Shape": "RB", "Phone": "SECRET"}
    assert "SECRET" not in repr(read_row(row, {"Shape": "shape"}))


def test_a_long_cell_is_shown_shortened() -> None:
    reading = one(shape="round", color="x" * 500)
    (remark,) = (remark for remark in reading.remarks if remark.field == "color")
    assert remark.seen == "x" * 79 + "…"


# Wording of remarks that say more than their kind


def said(reading: Reading, field: str) -> list[tuple[str, str | None]]:
    return [(remark.kind, remark.read_as) for remark in reading.remarks if remark.field == field]


READ_AS: list[tuple[str, Wire, str, list[tuple[str, str | None]]]] = [
    ("comma", {"carat": "1,51"}, "carat", [("assumed", "1.51")]),
    ("three digits", {"carat": "1,234"}, "carat", [("ambiguous", "1.234 or 1234")]),
    ("turned", {"shape": "emerald", "length_mm": "5.80", "width_mm": "8.00"}, "length_mm",
     [("assumed", "turned: 8.00 long, 5.80 wide")]),
    ("upside down", {"shape": "emerald", "length_mm": 8, "width_mm": 5.8, "ratio": 0.73}, "ratio",
     [("assumed", "width over length; 1.38 the right way round")]),
    ("over length",
     {"shape": "emerald", "length_mm": 8, "width_mm": 5.8, "depth_mm": 3.77, "depth_pct": 47.1}, "depth_pct",
     [("contradiction", "65.0 %")]),
    ("pear", {"shape": "PR", "ratio": "1.55", "depth_pct": "60"}, "shape", [("ambiguous", "pear")]),
    ("princess", {"shape": "SQ", "table_pct": 71, "depth_pct": 75}, "shape", [("ambiguous", "princess")]),
    ("asscher", {"shape": "SQ", "table_pct": 57, "depth_pct": 62, "ratio": 1.07}, "shape",
     [("ambiguous", "asscher")]),
    ("no evidence", {"shape": "PR"}, "shape", [("ambiguous", None)]),
    ("gem", {"shape": "EMERALD", "material": "gem"}, "shape", [("ambiguous", "emerald")]),
    ("report wins", {"shape": "AS", "report_shape": "Old Mine Brilliant"}, "shape",
     [("contradiction", "old_mine")]),
    ("claim", {"clarity": "eye clean"}, "clarity", [("unreadable", "a claim, not a grade")]),
    ("fancy", {"color": "Fancy Intense Yellow"}, "color", [("unreadable", "a fancy color")]),
    ("range", {"fluorescence": "F-M"}, "fluorescence", [("ambiguous", "faint or medium")]),
    ("total", {"carat": "1.5", "price_per_carat": 6000, "total_price": 6000}, "total_price",
     [("contradiction", "9000")]),
    ("two days", {"report_date": "05/03/2024"}, "report_date", [("ambiguous", "2024-03-05 or 2024-05-03")]),
    ("hidden", {"comments": "Irradiated."}, "treatments", [("assumed", "irradiated")]),
    ("no report", {"issuer": "NC"}, "issuer", [("not_stated", "no independent report")]),
]  # fmt: skip


@pytest.mark.parametrize(
    ("row", "field", "expected"), [row[1:] for row in READ_AS], ids=[row[0] for row in READ_AS]
)
def test_a_remark_says_what_was_read(row: Wire, field: str, expected: list[tuple[str, str | None]]) -> None:
    assert said(one(**row), field) == expected


DAMAGED = [
    ("06-Aug", "into a date"),
    ("45306", "into a date"),
    ("01:01", "into a time"),
    ("#REF!", "error"),
    ('="0012"', "formula"),
]


@pytest.mark.parametrize(("text", "words"), DAMAGED, ids=[row[0] for row in DAMAGED])
def test_spreadsheet_damage_has_its_own_question(text: str, words: str) -> None:
    (remark,) = (remark for remark in one(shape="round", carat=text).remarks if remark.field == "carat")
    assert remark.kind == "unreadable"
    assert remark.ask is not None
    assert words in remark.ask


# Shapes


def test_no_code_stands_for_a_shape_and_is_shared_as_well() -> None:
    assert not SHARED_SHAPES.keys() & (SHAPE_CODES.keys() | REPORT_SHAPES.keys())
    assert {shape for shapes in SHARED_SHAPES.values() for shape in shapes} <= SHAPES.keys()
    both = SHAPE_CODES.keys() & REPORT_SHAPES.keys()
    assert all(SHAPE_CODES[name] == REPORT_SHAPES[name] for name in both)


@pytest.mark.parametrize("name", sorted(SHAPES))
def test_every_shape_is_read_under_its_own_name_and_title(name: str) -> None:
    for spelling in (name, name.replace("_", " ").upper(), name.title()):
        reading = one(shape=spelling)
        assert reading.stone is not None
        assert reading.stone["shape"] == name


@pytest.mark.parametrize("code", sorted(SHARED_SHAPES))
def test_a_shared_code_is_asked_whatever_the_numbers_say(code: str) -> None:
    reading = one(shape=code, carat=1.0, measurements="6.1 x 6.0 x 4.1", table_pct=60)
    assert reading.stone is None
    assert reading.outcome == "ask"


def test_the_weight_is_evidence_where_somebody_can_tell_whether_it_fits() -> None:
    def fits(shape: str, carat: Decimal, length: Decimal, width: Decimal, depth: Decimal) -> bool | None:
        assert (carat, length, width, depth) == (
            Decimal("1.00"),
            Decimal("8.0"),
            Decimal("6.0"),
            Decimal("3.5"),
        )
        return {"oval": True, "old_mine": False}.get(shape)

    row = {"shape": "OMB", "carat": "1.00", "measurements": "6.0 x 8.0 x 3.5"}
    reading = read_row(row, {name: name for name in row}, fill=fits)
    assert said(reading, "shape") == [("ambiguous", "oval")]


def test_numbers_that_fit_two_shapes_alike_propose_none() -> None:
    square = Evidence(Decimal("1.00"), Decimal(64), Decimal(66))
    assert likeliest(("princess", "asscher"), square) is None
    assert likeliest(("pear", "oval"), Evidence()) is None
    assert likeliest((), square) is None


# Columns

HEADERS = {
    "shape": ("Shape", "SHAPE", "Shp"),
    "carat": ("Cts", "Carat", "Weight", "Ct.", "Carat Weight"),
    "color": ("Col", "Color", "Colour"),
    "clarity": ("Clar", "Clarity", "CLARITY "),
    "measurements": ("Meas", "Measurements"),
    "length_mm": ("L", "Length", "Length (mm)"),
    "width_mm": ("W", "Width"),
    "depth_mm": ("H", "Height", "Depth mm"),
    "depth": ("Depth",),
    "depth_pct": ("Depth %", "Depth%", "depth_pct", "Total Depth %"),
    "table": ("Table",),
    "table_pct": ("Table %", "Table%"),
    "issuer": ("Lab", "Laboratory"),
    "report_number": ("Cert No", "Report #", "Certificate No.", "Report No"),
    "fluorescence": ("Fl", "Fluor", "Fluorescence", "Flour"),
    "polish": ("Polish", "Pol"),
    "symmetry": ("Sym", "Symmetry", "Symm."),
    "girdle": ("Girdle",),
    "girdle_pct": ("Girdle %",),
    "culet": ("Culet",),
    "comments": ("Comments", "Report Comments"),
    "ratio": ("Ratio", "L/W", "L:W Ratio"),
    "price_per_carat": ("PPC", "$/ct", "Price per carat"),
    "total_price": ("Total", "Total Price"),
    "id": ("Stock #", "SKU", "\ufeffStock #"),
    "origin": ("Origin", "Lab Grown"),
    "eye_clean": ("Eye Clean", "Eye-Clean"),
}


@pytest.mark.parametrize(("field", "headers"), HEADERS.items(), ids=HEADERS)
def test_a_usual_header_is_proposed(field: str, headers: tuple[str, ...]) -> None:
    for header in headers:
        assert propose_columns([header]).columns == {header: field}


def test_two_headers_for_one_field_leave_both_open() -> None:
    proposal = propose_columns(["Shape", "clarity", "Clarity", "Cert", "Cts"])
    assert proposal.columns == {"Shape": "shape", "Cts": "carat"}
    assert proposal.open == ["clarity", "Clarity", "Cert"]


def test_one_header_twice_is_open_once() -> None:
    assert propose_columns(["Cts", "Cts"]).open == ["Cts"]


def test_cut_is_the_grade_only_beside_a_shape() -> None:
    assert propose_columns(["Cut", "Carat"]).open == ["Cut"]
    assert propose_columns(["Cut", "Shape"]).columns == {"Cut": "cut_grade", "Shape": "shape"}
    assert propose_columns(["Cut", "Shape", "Cut Grade"]).open == ["Cut"]
