"""Numbers in the world's spellings. Every text is invented."""

from decimal import Decimal

import pytest

from gradefloor.trade.cells import NumberFormat, cell, clean
from gradefloor.trade.numbers import WEIGHT, measurements, money, number, quantity

# Text, number_format, value, and whether a decimal comma had to be assumed.
NUMBERS: list[tuple[str, NumberFormat | None, str | None, bool]] = [
    ("1", None, "1", False),
    ("1.5", None, "1.5", False),
    ("1,5", None, "1.5", True),
    ("1,5", "comma", "1.5", False),
    ("1,5", "point", "1.5", True),
    ("1.5", "comma", "1.5", False),
    ("1,35", None, "1.35", True),
    ("1.234", None, "1.234", False),
    ("1.234", "comma", "1234", False),
    ("1.234", "point", "1.234", False),
    ("1,234", None, None, False),
    ("1,234", "comma", "1.234", False),
    ("1,234", "point", "1234", False),
    ("0,234", None, "0.234", True),
    ("00,234", None, "0.234", True),
    ("1,2345", None, "1.2345", True),
    ("1234,567", None, "1234.567", True),
    ("1.234,56", None, "1234.56", True),
    ("1,234.56", None, "1234.56", False),
    ("1 234,56", None, "1234.56", True),
    ("1 234", None, "1234", False),
    ("1'234.5", None, "1234.5", False),
    ("1’234", None, "1234", False),
    ("1,234,567", None, "1234567", False),
    ("1.234.567", None, "1234567", False),
    ("1,234,567.8", None, "1234567.8", False),
    ("-1.5", None, "-1.5", False),
    ("\u22121.5", None, "-1.5", False),
    ("–1,5", None, "-1.5", True),
    ("+1.5", None, "1.5", False),
    (".5", None, "0.5", False),
    (",5", None, "0.5", True),
    ("5.", None, "5", False),
    ("5,", None, None, False),
    ("1.2.3", None, None, False),
    ("1,2,3", None, None, False),
    ("1,23.4,5", None, None, False),
    ("12 34", None, None, False),
    ("1.23,456", None, None, False),
    ("1e5", None, None, False),
    ("", None, None, False),
    (".", None, None, False),
    (",,", None, None, False),
    ("--1", None, None, False),
    ("½", None, None, False),
    ("٣", None, None, False),
    ("9" * 40, None, None, False),
]


@pytest.mark.parametrize(
    ("text", "form", "value", "comma"), NUMBERS, ids=[f"{r[0][:20]} {r[1]}" for r in NUMBERS]
)
def test_a_number_is_read(text: str, form: NumberFormat | None, value: str | None, comma: bool) -> None:
    found = number(text, form)
    assert found.value == (None if value is None else Decimal(value))
    assert found.comma is comma


def test_an_open_number_names_both_readings() -> None:
    assert number("1,234").either == ("1.234", "1234")
    assert number("1.234", thousands=True).either == ("1.234", "1234")
    assert number("-1,234").either == ("-1.234", "-1234")


# 0.2 g is 1 ct by definition; a point is a hundredth of a carat.
@pytest.mark.parametrize(
    ("text", "carat"),
    [
        ("1 ct", 1.0),
        ("1.01 CTS", 1.01),
        ("146 points", 1.46),
        ("0.2 g", 1.0),
        ("0.292g", 1.46),
        ("200 mg", 1.0),
    ],
)
def test_weights_are_turned_into_carat(text: str, carat: float) -> None:
    assert quantity(cell("carat", text), WEIGHT).value == carat


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("$1,299.00", "1299"), ("CHF 1'299.-", "1299"), ("1 299,50 €", "1299.5"), ("1299.00 USD", "1299"),
        ("US$ 12.50", "12.5"), ("£5", "5"), ("1.299,–", None), ("$1,299", None), ("POA", None), ("-1", None),
        ("0", None), ("many", None),
    ],
)  # fmt: skip
def test_money_is_read_without_its_currency(text: str, value: str | None) -> None:
    assert money(cell("price", text)).value == (None if value is None else Decimal(value))


@pytest.mark.parametrize(
    ("text", "numbers", "spread"),
    [
        ("6.5 x 6.4 x 4.0", ("6.5", "6.4", "4.0"), False),
        ("6.5-6.6x4.0", ("6.5", "6.6", "4.0"), True),
        ("6.5 - 6.6", ("6.5", "6.6"), True),
        ("Ø 6.5 x 4.0", ("6.5", "4.0"), False),
        ("6.5 x 6.4 x 4.0 (LxWxD)", ("6.5", "6.4", "4.0"), False),
        ("0.65cm*0.64cm*0.4cm", ("6.5", "6.4", "4"), False),
        ("6.5", (), False),
        ("x", (), False),
        ("6.5 x 6.4 x big", (), False),
    ],
)
def test_measurements_are_read_in_the_order_written(
    text: str, numbers: tuple[str, ...], spread: bool
) -> None:
    found = measurements(cell("measurements", text))
    assert found.numbers == tuple(Decimal(one) for one in numbers)
    assert found.spread is spread


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("a\u00a0b", "a b"), ("\u200bVS1\ufeff", "VS1"), ("VS\u00ad1", "VS1"), ("ＶＳ１", "VS1"),
        ("a\u2028b\tc\n", "a b c"), ("\ud800", "\ufffd"), ("e\u0301", "é"), ("x" * 3, "xxx"),
    ],
)  # fmt: skip
def test_text_is_cleaned_and_cleaning_again_changes_nothing(text: str, plain: str) -> None:
    assert clean(text) == plain
    assert clean(plain) == plain
