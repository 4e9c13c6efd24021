"""Rows read one after another say what each says by itself: what is kept from row to row changes nothing."""

import random
from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from gradefloor.trade import draft
from gradefloor.trade.cells import cell
from gradefloor.trade.feed import Asking, FeedReader, read_one
from gradefloor.trade.numbers import DEPTH, DEPTH_SHARE, LENGTH, RATIO, SHARE, WEIGHT, amount, money
from gradefloor.trade.reading import FIELDS, Reading, RowReader
from test_reading_properties import CELLS

# Values that are equal and not the same, and what no column should hold.
ALIKE: tuple[Any, ...] = (
    1, 1.0, True, "1", Decimal(1), Decimal("1.0"), "1.0", "1.00", 0, 0.0, -0.0, False, "0", None, "", "None",
    float("nan"), float("inf"), 10**40, 1.5, "1.5", Decimal("1.50"), "1,5", "1.510", "1,510", "１.５",
    [], ["HPHT"], ("HPHT",), {"a": 1}, b"x", date(2024, 8, 6), "\ud800", "x" * 150, " G ", "g", "G",
)  # fmt: skip
FORMATS: tuple[Any, ...] = (None, "point", "comma", {"carat": "comma", "h depth_mm": "point"}, "dot")


def askings(at: random.Random, count: int) -> Iterator[Asking]:
    """Feeds with some of all columns, of which a few hold one field twice."""
    for _ in range(count):
        fields = at.sample(sorted(FIELDS), at.randint(6, len(FIELDS)))
        columns = {f"h {name}": name for name in [*fields, "shape"]}
        columns |= {f"again {name}": name for name in at.sample(fields, at.choice((0, 0, 2)))}
        yield Asking(columns, at.choice(FORMATS), at.choice((None, "natural", "laboratory_grown")))


def rows(at: random.Random, asking: Asking, count: int) -> Iterator[dict[str, Any]]:
    """Rows of cells that read well, of cells that do not, and of plain numbers."""
    for _ in range(count):
        row = {}
        for header, name in asking.columns.items():
            kind = at.random()
            if kind < 0.7:
                row[header] = at.choice(CELLS[name])
            elif kind < 0.8:
                row[header] = at.choice(ALIKE)
            elif kind < 0.9:
                row[header] = f"{at.uniform(0, 100):.{at.randint(0, 3)}f}"
        yield row


def told(reading: Reading) -> str:
    """`repr`, because 1 and 1.0 and True are equal and not the same."""
    return repr(reading).encode("utf-8", "backslashreplace").decode()


def disagreements(seed: int, feeds: int, each: int) -> list[dict[str, Any]]:
    at = random.Random(seed)  # noqa: S311 - invented rows need no secret
    found: list[dict[str, Any]] = []
    for asking in askings(at, feeds):
        reader = FeedReader(asking)
        found += [
            row for row in rows(at, asking, each) if told(reader.read(row)[0]) != told(read_one(row, asking))
        ]
    return found


def test_what_is_kept_changes_no_reading() -> None:
    assert disagreements(1, feeds=20, each=100) == []


@pytest.mark.long
def test_what_is_kept_changes_no_reading_of_a_hundred_thousand() -> None:
    assert disagreements(2, feeds=100, each=1_000) == []


def test_keeping_that_begins_anew_changes_no_reading(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(draft, "KEPT", 3)
    assert disagreements(3, feeds=10, each=100) == []


def test_no_column_keeps_more_than_so_many_values() -> None:
    reader = RowReader({"id": "id"})
    for number in range(3 * draft.KEPT):
        reader.read({"id": f"tray-{number}"})
    (column,) = reader.columns
    assert 0 < len(column.kept[str]) <= draft.KEPT


@pytest.mark.parametrize("value", ["x" * 101, 10**30, -0.0, 0.0, float("nan"), True, Decimal(1), ["a"]])
def test_what_is_large_or_rare_is_not_kept(value: Any) -> None:
    reader = RowReader({"id": "id"})
    reader.read({"id": value})
    assert not any(kept for column in reader.columns for kept in column.kept.values())


def test_a_reading_that_is_changed_changes_no_later_one() -> None:
    reader = RowReader({name: name for name in ("shape", "treatments", "comments", "shade", "girdle")})
    row = {"shape": "oval", "treatments": "none", "comments": "a; b", "shade": "NBGM", "girdle": "thin"}
    first, expected = reader.read(row).stone, repr(reader.read(row))
    assert first is not None
    first["treatments"].append("coated")  # type: ignore[attr-defined]
    first["report"]["comments"].clear()  # type: ignore[index]
    first["observations"].clear()  # type: ignore[attr-defined]
    assert repr(reader.read(row)) == expected


# A number that is written plainly is read without a second look; a sign or a space more takes the long way.
PLAIN = ("0.01", "1", "1.5", "1.51", "01.5", "7.40", "62.3", "99.99", "100", "200", "1000", "999999999")
QUANTITIES = (WEIGHT, LENGTH, SHARE, DEPTH, DEPTH_SHARE, RATIO)


@pytest.mark.parametrize("number_format", [None, "point", "comma"])
@pytest.mark.parametrize("text", [*PLAIN, "0", "0.00", "1000.01", "200.01", "45306"])
def test_a_plain_number_is_read_as_one_that_takes_the_long_way(text: str, number_format: Any) -> None:
    for what in QUANTITIES:
        plain, long = (amount(cell("carat", each, number_format), what) for each in (text, f"+{text}"))
        assert (plain.value, plain.unit) == (long.value, long.unit)
        assert str(plain.value) == str(long.value)
        assert [remark.kind for remark in plain.remarks] == [remark.kind for remark in long.remarks]
    price, long_price = (money(cell("price", each, number_format)) for each in (text, f"$ {text}"))
    assert (str(price.value), len(price.remarks)) == (str(long_price.value), len(long_price.remarks))


def test_a_ratio_of_diameters_that_rounds_to_nothing_is_a_contradiction() -> None:
    row = {"shape": "round", "length_mm": "0.01", "width_mm": "9", "ratio": "1.5"}
    reading = RowReader({name: name for name in row}).read(row)
    assert ("ratio", "contradiction") in {(remark.field, remark.kind) for remark in reading.remarks}
