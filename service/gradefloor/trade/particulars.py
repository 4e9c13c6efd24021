"""Shape, material, origin, treatments, the report and what a seller claims: one cell in, one value out."""

import re
from collections.abc import Callable
from contextlib import suppress
from datetime import date, datetime
from typing import Any, Final, NamedTuple

from gradefloor.trade import spellings
from gradefloor.trade.cells import MONTHS, Cell, Read, Remark, key, plain, unusable, whole

# Shape

ASK_SHAPE: Final = "Which shape does the report name?"
ASK_CUSHION: Final = "Cushion brilliant or cushion modified brilliant?"
_TAILS: Final = re.compile(r"(?: CUT| SHAPED?| DIAMOND)+$")


def shape_word(seen: Cell) -> str | None:
    """The one shape that the cell names by a word, a code or a report's wording."""
    word = plain(seen.text)
    for name in (key(word), key(_TAILS.sub("", word))):
        if found := spellings.REPORT_SHAPES.get(name) or spellings.SHAPE_CODES.get(name):
            return found
    return None


def shared_shapes(seen: Cell) -> tuple[str, ...]:
    """The shapes that share the code in the cell; none if it is no shared code."""
    word = plain(seen.text)
    return spellings.SHARED_SHAPES.get(key(word)) or spellings.SHARED_SHAPES.get(
        key(_TAILS.sub("", word)), ()
    )


# `EMERALD` alone is also the name of a gem; with `cut` or as a code it is a shape.
GEM_NAMES: Final = frozenset({"EMERALD", "SMARAGD", "EMERAUDE"})


class Named(NamedTuple):
    """What a cell says of the shape: one word for it, or a code that several share.

    `unusable` is the remark on a cell in which there is nothing to read; `gem` tells that the word is the
    name of a gem, too.
    """

    word: str | None
    remarks: tuple[Remark, ...] = ()
    shared: tuple[str, ...] = ()
    unusable: Remark | None = None
    gem: bool = False


def named(seen: Cell) -> Named:
    gem = key(seen.text) in GEM_NAMES
    return Named(shape_word(seen), (), shared_shapes(seen), unusable(seen), gem)


# Material and origin


class Made(NamedTuple):
    """What a cell of materials says; its word may tell the origin, too."""

    value: str | None
    remarks: tuple[Remark, ...]
    known: bool
    origin: str | None


def material(seen: Cell) -> Made:
    word = key(seen.text)
    found = spellings.MATERIALS.get(word)
    return Made(*_material(seen), found is not None, spellings.ORIGINS.get(word))


@whole
def _material(seen: Cell) -> Read[str]:
    if found := spellings.MATERIALS.get(key(seen.text)):
        return Read(found)
    return seen.open("unreadable", "What is the stone made of?")


ASK_ORIGIN: Final = "Natural or laboratory-grown?"


@whole
def origin(seen: Cell) -> Read[str]:
    """Mined or made. `HPHT` alone may be how a stone was grown or what was done to a mined one."""
    name = key(seen.text)
    if found := spellings.ORIGINS.get(name):
        return Read(found)
    if name in spellings.SHARED_ORIGINS:
        return seen.open("ambiguous", "Grown in a laboratory, or mined and treated?")
    return seen.open("unreadable", ASK_ORIGIN)


_ASK_TREATMENT: Final = "What was done to the stone after it was mined or grown?"


def treatments(seen: Cell) -> Read[list[str]]:
    """The treatments named; an empty list where the cell says that there is none.

    A treatment is never dropped: where the word does not tell which one it is, it stands as `other`, and
    where a word cannot be read, what can be read stands beside the question.
    """
    if isinstance(seen.value, list) and not seen.value:
        return Read([])
    if remark := unusable(seen):
        return Read(None, (remark,))
    found, remarks = list[str](), list[Remark]()
    parts = [part for part in re.split(r" ?(?:[,;/+&]|\bAND\b) ?", plain(seen.text)) if part]
    for part in parts:
        name = key(part)
        if name in spellings.UNTREATED:
            continue
        if treatment := spellings.TREATMENTS.get(name):
            found.append(treatment)
        elif name in spellings.TREATED_SOMEHOW:
            found.append("other")
            remarks.append(seen.remark("ambiguous", "other", _ASK_TREATMENT))
        else:
            remarks.append(seen.remark("unreadable", None, _ASK_TREATMENT))
    if len({key(part) in spellings.UNTREATED for part in parts}) > 1:
        remarks.append(seen.remark("contradiction", None, _ASK_TREATMENT))
    unread = any(remark.kind == "unreadable" for remark in remarks)
    value = list(dict.fromkeys(found))
    return Read(None if unread and not value else value, tuple(dict.fromkeys(remarks)))


# The report


def _text(longest: int, ask: str) -> Callable[[Cell], Read[str]]:
    def read(seen: Cell) -> Read[str]:
        if isinstance(seen.value, bool | list | tuple) or not 1 <= len(seen.text) <= longest:
            return seen.open("unreadable", ask)
        return Read(seen.text)

    return read


_ASK_NUMBER: Final = "What is the report number, typed as text?"
_issuer: Final = _text(60, "Which laboratory issued the report?")
_number: Final = _text(40, _ASK_NUMBER)


@whole
def issuer(seen: Cell) -> Read[str]:
    """The laboratory as written; a word for "no independent report" is none."""
    if key(seen.text) in spellings.NO_REPORT:
        return Read(None, (seen.remark("not_stated", "no independent report"),))
    return _issuer(seen)


_SCIENTIFIC: Final = re.compile(r"[0-9]+(?:[.,][0-9]+)?E\+?[0-9]+", re.IGNORECASE)
# Beyond this a float no longer carries every digit of a number.
_EXACT: Final = 2**53


@whole
def report_number(seen: Cell) -> Read[str]:
    """Text, because leading zeros count and a spreadsheet's rounding cannot be undone."""
    if _SCIENTIFIC.fullmatch(seen.text):
        return seen.open("unreadable", "A spreadsheet has rounded the report number: what is it in full?")
    if isinstance(seen.value, float):
        if not (seen.value.is_integer() and 0 < seen.value < _EXACT):
            return seen.open("unreadable", _ASK_NUMBER)
        number = str(int(seen.value))
        return Read(number, (seen.remark("assumed", number),))
    if re.fullmatch(r"[0-9]{5,}\.0", seen.text):
        number = seen.text[:-2]
        return Read(number, (seen.remark("assumed", number),))
    return _number(Cell(seen.field, seen.value, seen.text.removeprefix("'")))


stone_id: Final = whole(_text(64, "What is your reference of the stone?"))


_MONTHS: Final = {name: number for number, name in enumerate(MONTHS, 1)}
_ASK_DATE: Final = "On which day was the report issued (year-month-day)?"


@whole
def report_date(seen: Cell) -> Read[str]:
    """A day of the calendar. `05/03/2024` is two days and stays open; a dotted date has its day first."""
    if isinstance(seen.value, date):
        day = seen.value.date() if isinstance(seen.value, datetime) else seen.value
        return Read(day.isoformat())
    word = plain(seen.text)
    if re.fullmatch("[0-9]{5}", word):
        return seen.open(
            "unreadable", "A spreadsheet has turned the date into a count of days: which day is it?"
        )
    if parts := re.fullmatch(r"([0-9]{4})([-/.])([0-9]{1,2})\2([0-9]{1,2})(?:[T ][0-9:.+Z-]*)?", word):
        return _day(seen, int(parts[1]), int(parts[3]), int(parts[4]))
    if parts := re.fullmatch(r"([0-9]{1,2})[- ./]+([A-Z]{3})[A-Z]*[- ./,]+([0-9]{4})", word):
        return _day(seen, int(parts[3]), _MONTHS.get(parts[2], 0), int(parts[1]))
    if parts := re.fullmatch(r"([A-Z]{3})[A-Z]*[- .]+([0-9]{1,2})[ ,]+([0-9]{4})", word):
        return _day(seen, int(parts[3]), _MONTHS.get(parts[1], 0), int(parts[2]))
    if parts := re.fullmatch(r"([0-9]{1,2})([./-])([0-9]{1,2})\2([0-9]{4})", word):
        first, second, year = int(parts[1]), int(parts[3]), int(parts[4])
        day_first, month_first = _calendar(year, second, first), _calendar(year, first, second)
        if parts[2] == ".":
            month_first = None
        if day_first and month_first and day_first != month_first:
            return seen.open("ambiguous", _ASK_DATE, f"{day_first} or {month_first}")
        if written := day_first or month_first:
            return Read(written, (seen.remark("assumed", written),))
    return seen.open("unreadable", _ASK_DATE)


def _day(seen: Cell, year: int, month: int, day_: int) -> Read[str]:
    written = _calendar(year, month, day_)
    return seen.open("unreadable", _ASK_DATE) if written is None else Read(written)


def _calendar(year: int, month: int, day_: int) -> str | None:
    with suppress(ValueError):
        return date(year, month, day_).isoformat()
    return None


# What a seller claims


@whole
def eye_clean(seen: Cell) -> Read[bool]:
    """Yes or no; anything between the two is asked."""
    found = spellings.EYE_CLEAN.get(key(seen.text))
    if found is None:
        return seen.open("ambiguous", "Is any inclusion seen face up without a lens?")
    return Read(found)


@whole
def shade(seen: Cell) -> Read[dict[str, Any]]:
    """Tint and haze as a seller calls them; numbered and mixed words belong to one seller's own scale."""
    found = spellings.SHADES.get(key(seen.text))
    if found is None:
        return seen.open("ambiguous", "Which tint and how much haze does the stone show in daylight?")
    return Read(
        dict(found), (seen.remark("assumed", ", ".join(f"{name} {word}" for name, word in found.items())),)
    )


def one_of(*words: str, ask: str) -> Callable[[Cell], Read[str]]:
    """Reader of a field whose words nobody abbreviates."""
    spelled = {key(word): word for word in words}

    @whole
    def read(seen: Cell) -> Read[str]:
        word = spelled.get(key(seen.text))
        return seen.open("unreadable", ask) if word is None else Read(word)

    return read
