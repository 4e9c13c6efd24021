"""Numbers in the world's spellings, quantities with their units, and strings of measurements."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Final, NamedTuple

from gradefloor.trade.cells import (
    DASHES,
    SPREADSHEET_DATE,
    Cell,
    NumberFormat,
    Read,
    Remark,
    RemarkKind,
    plain,
    unusable,
)

MARKS: Final[dict[NumberFormat, str]] = {"point": ".", "comma": ","}


class Number(NamedTuple):
    """A number as read; `comma` tells a decimal comma that nobody declared, `either` an open one."""

    value: Decimal | None
    comma: bool = False
    either: tuple[str, str] | None = None


_UNREAD: Final = Number(None)
_CHARACTERS: Final = re.compile("[0-9.,' ]{1,24}")
_SPACED: Final = re.compile("[0-9]{1,3}(?:[ '][0-9]{3})+(?:[.,][0-9]*)?")


def number(text: str, number_format: NumberFormat | None = None, *, thousands: bool = False) -> Number:
    """A written number; `value` is None if it is none or stays open.

    A lone mark before other than three digits is the decimal mark. Before three digits a comma stays open
    unless `number_format` tells; a point does so only where the field may hold `thousands`, as a price
    may, because no stone has a thousand of anything.
    """
    text = DASHES.sub("-", text).replace("\u2019", "'").strip()
    sign = -1 if text.startswith("-") else 1
    body = text.removeprefix("-").removeprefix("+").strip()
    if not _CHARACTERS.fullmatch(body) or not re.search("[0-9]", body):
        return _UNREAD
    if " " in body or "'" in body:
        if not _SPACED.fullmatch(body):
            return _UNREAD
        body = body.replace(" ", "").replace("'", "")
        mark = "," if "," in body else "."
        return Number(sign * _decimal(body, mark), mark == "," and number_format is None)
    points, commas = body.count("."), body.count(",")
    if points and commas:
        mark = "." if body.rindex(".") > body.rindex(",") else ","
        group = "," if mark == "." else "."
        whole, _, _ = body.partition(mark)
        if body.count(mark) > 1 or not _grouped(whole, group):
            return _UNREAD
        return Number(sign * _decimal(body.replace(group, ""), mark), mark == "," and number_format is None)
    if points + commas == 0:
        return Number(sign * Decimal(body))
    mark = "." if points else ","
    if points + commas > 1:
        grouped = _grouped(body, mark)
        return Number(sign * Decimal(body.replace(mark, ""))) if grouped else _UNREAD
    return _one_mark(body, mark, sign, number_format, thousands=thousands)


def _one_mark(
    body: str, mark: str, sign: int, number_format: NumberFormat | None, *, thousands: bool
) -> Number:
    head, _, tail = body.partition(mark)
    if not tail and mark == ",":
        return _UNREAD
    decimal = sign * _decimal(body, mark)
    if not (_grouped(body, mark) and head.strip("0")):
        return Number(decimal, mark == "," and number_format != "comma")
    group = sign * Decimal(head + tail)
    if number_format is not None:
        return Number(decimal if MARKS[number_format] == mark else group)
    if mark == "," or thousands:
        return Number(None, either=(f"{decimal}", f"{group}"))
    return Number(decimal)


def _grouped(text: str, mark: str) -> bool:
    return re.fullmatch(f"[0-9]{{1,3}}(?:{re.escape(mark)}[0-9]{{3}})+", text) is not None


def _decimal(body: str, mark: str) -> Decimal:
    head, _, tail = body.partition(mark)
    return Decimal(f"{head or '0'}.{tail or '0'}") if tail else Decimal(head)


# Quantities


@dataclass(frozen=True, slots=True)
class Quantity:
    """What a field counts: its units with their factors, its bounds, and the question when it is open."""

    units: Mapping[str, Decimal]
    low: Decimal
    high: Decimal
    ask: str
    thousands: bool = False


def _units(table: Mapping[str, str]) -> dict[str, Decimal]:
    return {unit: Decimal(factor) for factor, names in table.items() for unit in names.split(",")}


# 1 ct is 0.2 g by definition; a point is a hundredth of a carat.
_WEIGHTS: Final = _units(
    {
        "1": "CT,CTS,CARAT,CARATS,CRT,CTW",
        "0.01": "PT,PTS,POINT,POINTS,PTR",
        "5": "G,GM,GMS,GRAM,GRAMS",
        "0.005": "MG",
    }
)
_LENGTHS: Final = _units({"1": "MM,MILLIMETER,MILLIMETRE", "10": "CM", "25.4": 'IN,INCH,INCHES,"'})
_SHARES: Final = _units({"1": "%,PCT,PERCENT,PC"})
_BARE: Final = {"": Decimal(1)}

WEIGHT: Final = Quantity(
    _BARE | _WEIGHTS, Decimal("0.001"), Decimal(1000), "What does the stone weigh in carat?"
)
LENGTH: Final = Quantity(_BARE | _LENGTHS, Decimal("0.001"), Decimal(200), "How many millimetres is it?")
SHARE: Final = Quantity(_BARE | _SHARES, Decimal("0.01"), Decimal(100), "How many percent is it?")
DEPTH: Final = Quantity(
    _BARE | _LENGTHS | _SHARES, Decimal("0.001"), Decimal(200), "How deep is it, in mm or in % of the width?"
)
DEPTH_SHARE: Final = Quantity(_BARE | _SHARES, Decimal("0.1"), Decimal(200), DEPTH.ask)
RATIO: Final = Quantity(_BARE, Decimal("0.1"), Decimal(10), "What is length over width?")
_OTHER_UNITS: Final = frozenset(_WEIGHTS) | frozenset(_LENGTHS) | frozenset(_SHARES)

_AMOUNT: Final = re.compile("([-+\u2010-\u2015\u2212]? ?[0-9.,'\u2019 ]*[0-9][.,]?) ?([^0-9]*)")
# Days from 2009 to 2064 as spreadsheets count them.
_SERIALS: Final = range(40_000, 60_000)
_THOUSANDTH: Final = Decimal("0.001")


ASK_MARK: Final = "Is the mark a decimal mark, or does it part the thousands?"


class Amount(NamedTuple):
    """A quantity in the field's own unit; `unit` is what was written."""

    value: Decimal | None
    remarks: tuple[Remark, ...] = ()
    unit: str = ""


def native(value: object) -> Decimal | None:
    """The value of a cell that is a number already; None for a text, a truth value, NaN or infinity."""
    if isinstance(value, bool) or not isinstance(value, int | float | Decimal):
        return None
    if isinstance(value, int) and abs(value) >= 10**30:
        return None
    found = Decimal(repr(value)) if isinstance(value, float) else Decimal(value)
    return found if found.is_finite() else None


# Digits, and perhaps a point and one or two more: no spelling of anything else, and no mark to ask about.
_PLAIN: Final = re.compile(r"[0-9]{1,9}(?:\.[0-9]{1,2})?")


def amount(seen: Cell, what: Quantity) -> Amount:
    """The quantity in a cell: in the field's unit, if it is within what a stone can have."""
    if _PLAIN.fullmatch(seen.text) and what.low <= (value := Decimal(seen.text)) <= what.high:
        return Amount(value)
    if remark := unusable(seen):
        return Amount(None, (remark,))
    stated = native(seen.value)
    found = _written(seen, what) if stated is None else Amount(stated)
    if found.value is None:
        return found
    if found.value == 0:
        return Amount(None, (seen.remark("not_stated"),))
    if not what.low <= found.value <= what.high:
        serial = not found.unit and found.value in _SERIALS
        return Amount(None, (seen.remark("unreadable", None, SPREADSHEET_DATE if serial else what.ask),))
    return found


def _written(seen: Cell, what: Quantity) -> Amount:
    """A quantity given as text."""

    def stays_open(kind: RemarkKind, read_as: str | None = None, ask: str = what.ask) -> Amount:
        return Amount(None, (seen.remark(kind, read_as, ask),))

    parts = _AMOUNT.fullmatch(seen.text)
    if parts is None:
        return stays_open("unreadable")
    unit = parts[2].upper().strip(" .")
    if unit not in what.units:
        return stays_open("contradiction" if unit in _OTHER_UNITS else "unreadable")
    found = number(parts[1], seen.number_format, thousands=what.thousands)
    if found.either:
        return stays_open("ambiguous", " or ".join(found.either), ASK_MARK)
    if found.value is None:
        return stays_open("unreadable")
    value = found.value * what.units[unit]
    if what.units[unit] != 1:
        value = value.quantize(_THOUSANDTH).normalize()
    return Amount(value, (seen.remark("assumed", f"{value:f}"),) if found.comma else (), unit)


def quantity(seen: Cell, what: Quantity) -> Read[float]:
    """The quantity as the contract carries it."""
    found = amount(seen, what)
    return Read(None if found.value is None else float(found.value), found.remarks)


# Money: only to compare what a row says of it

_CURRENCY: Final = re.compile(
    r"(?:US|C|A|HK)?\$|[€£¥₹]|\b(?:USD|EUR|GBP|CHF|INR|CAD|AUD|HKD|JPY)\b", re.IGNORECASE
)
_MONEY: Final = Quantity(_BARE, Decimal("0.01"), Decimal("1e12"), "", thousands=True)
_ON_REQUEST: Final = frozenset({"POA", "POR", "ON REQUEST", "CALL", "PRICE ON REQUEST", "ASK"})


def money(seen: Cell) -> Read[Decimal]:
    """An amount of money without its currency. Nothing is asked about it: a stone has no price."""
    if _PLAIN.fullmatch(seen.text) and (plain_amount := amount(seen, _MONEY)).value is not None:
        return Read(plain_amount.value)
    text = _CURRENCY.sub("", seen.text).strip()
    text = re.sub(r"(?:[.,][-\u2013\u2014])$", "", text).strip()
    if text.upper() in _ON_REQUEST:
        return Read(None, (seen.remark("not_stated"),))
    value = seen.value if native(seen.value) is not None else text
    found = amount(Cell(seen.field, value, text, seen.number_format), _MONEY)
    return Read(
        found.value, tuple(seen.remark(remark.kind, remark.read_as, None) for remark in found.remarks)
    )


# Measurements

_TIMES: Final = re.compile("[×✕✖ХX*]|\\bBY\\b")
_LABELS: Final = re.compile(r"\((?:L ?X ?W(?: ?X ?[DH])?|MM)\)|^Ø ?|\bMM\.?$")
_PART: Final = re.compile("([0-9.,'\u2019]{1,12}) ?(MM|CM|INCH|IN|\")?\\.?")


class Measurements(NamedTuple):
    """Millimetres in the order written; `spread` tells `a-b x c`, the way diameters of rounds are written."""

    numbers: tuple[Decimal, ...]
    remarks: tuple[Remark, ...]
    spread: bool = False


def measurements(seen: Cell) -> Measurements:
    """`6.52 x 4.81 x 3.10 mm` and its relatives; a zero among the numbers stays a zero."""
    ask = "What are length, width and depth in mm?"
    if remark := unusable(seen):
        return Measurements((), (remark,))
    text = plain(seen.text)
    text = _LABELS.sub("", _TIMES.sub("X", text)).strip(" .")
    text = re.sub(r"(?<=[0-9.]) ?\bTO\b ?(?=[0-9.])", "-", text)
    pieces = re.split(" ?([X/-]) ?", text)
    parts = [_PART.fullmatch(piece) for piece in pieces[::2]]
    marks = pieces[1::2]
    if len(parts) not in {2, 3} or not all(parts):
        return Measurements((), (seen.remark("unreadable", None, ask),))
    units = {part[2] for part in parts if part and part[2]}
    if len(units) > 1:
        return Measurements((), (seen.remark("contradiction", None, ask),))
    factor = _LENGTHS[units.pop()] if units else Decimal(1)
    read = [number(part[1], seen.number_format) for part in parts if part]
    if any(one.either for one in read):
        return Measurements((), (seen.remark("ambiguous", None, ASK_MARK),))
    numbers = tuple(one.value * factor for one in read if one.value is not None)
    if len(numbers) < len(parts) or any(one and not LENGTH.low <= one <= LENGTH.high for one in numbers):
        return Measurements((), (seen.remark("unreadable", None, ask),))
    remarks = list[Remark]()
    if any(one.comma for one in read):
        remarks.append(seen.remark("assumed", " x ".join(f"{one:f}" for one in numbers)))
    spread = marks[0] in "-/" and (len(marks) == 1 or marks[1] == "X")
    return Measurements(numbers, tuple(remarks), spread)
