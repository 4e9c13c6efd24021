"""One cell of a supplier's row: its text made plain, whether it is blank or broken, and remarks on it."""

import re
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Final, Generic, Literal, NamedTuple, TypeVar

T = TypeVar("T")
RemarkKind = Literal["assumed", "ambiguous", "unreadable", "contradiction", "not_stated"]
NumberFormat = Literal["point", "comma"]


@dataclass(frozen=True, slots=True)
class Remark:
    """Something about one field that its value alone does not tell."""

    field: str
    seen: str
    read_as: str | None
    kind: RemarkKind
    ask: str | None = None


class Read(NamedTuple, Generic[T]):
    """What a cell said: the value, or None where it stayed open, and the remarks."""

    value: T | None
    remarks: tuple[Remark, ...] = ()


# No field but the comments needs more; a longer text is not a value.
LONGEST: Final = 200
_LONGEST_COMMENTS: Final = 20_000
_SEEN: Final = 80


def clean(text: str) -> str:
    """The text as a person sees it: compatibility forms folded, invisible characters out, spaces single.

    Line ends are spaces, too. Lone surrogates, which no encoding can carry, become U+FFFD.
    """
    if not text.isascii():
        shown = "".join(_shown(character) for character in text)
        # Once more after folding, because a folded form may bring a format character of its own.
        text = "".join(_shown(character) for character in unicodedata.normalize("NFKC", shown))
    if not text.isprintable():
        text = "".join(c if c.isprintable() else " " for c in text)
    return " ".join(text.split())


def _shown(character: str) -> str:
    category = unicodedata.category(character)
    if category == "Cf":
        return ""
    return "\ufffd" if category == "Cs" else character


DASHES: Final = re.compile("[\u2010-\u2015\u2212]")


def plain(text: str) -> str:
    """Upper case, one kind of dash: the form in which spellings are looked up."""
    return text.upper() if text.isascii() else DASHES.sub("-", text).upper()


def key(text: str) -> str:
    """Only the letters and digits, so that `SQ EM`, `sq-em` and `SqEm` are one spelling."""
    text = text.upper()
    return text if text.isalnum() else "".join(character for character in text if character.isalnum())


class Cell(NamedTuple):
    """A value under the field it was mapped to."""

    field: str
    value: object
    text: str
    number_format: NumberFormat | None = None

    def remark(self, kind: RemarkKind, read_as: object = None, ask: str | None = None) -> Remark:
        return Remark(self.field, shorten(self.text), None if read_as is None else str(read_as), kind, ask)

    def open(self, kind: RemarkKind, ask: str | None, read_as: object = None) -> Read[T]:
        """No value, and why."""
        return Read(None, (self.remark(kind, read_as, ask),))


def shorten(text: str) -> str:
    return text if len(text) <= _SEEN else text[: _SEEN - 1] + "…"


def cell(field: str, value: object, number_format: NumberFormat | None = None) -> Cell:
    return Cell(field, value, _text(value), number_format)


def _text(value: object) -> str:
    match value:
        case None:
            return ""
        case str():
            return clean(value[:_LONGEST_COMMENTS])
        case bool():
            return "yes" if value else "no"
        case int():
            # Python refuses to write integers of thousands of digits.
            return str(value) if abs(value) < 10**30 else "…"
        case float():
            return "" if value != value else repr(value)  # noqa: PLR0124 - only NaN differs from itself
        case Decimal():
            return "" if value.is_nan() else str(value)
        case date():
            return value.isoformat()
        case list() | tuple():
            return "; ".join(_text(item) for item in value[:50] if isinstance(item, (str, int))) or "[]"
        case _:
            return "{…}"


# Everything that means "nothing was entered", in any field. A fluorescence, a culet or a treatment of
# "none" is a statement and no blank: fields in which it is one are named below.
BLANKS: Final = frozenset(
    {
        "", "-", "--", "---", ".", "..", "...", "?", "??", "???", "*", "/", "N/A", "N/A.", "N.A.", "N.A",
        "NA", "#N/A", "#NA", "NAN", "NULL", "(NULL)", "<NA>", "\\N", "TBC", "TBD", "TBA", "UNKNOWN", "UNK",
        "BLANK", "(BLANK)",
        "EMPTY", "UNDEFINED", "NOT STATED", "NOT AVAILABLE", "NOT APPLICABLE", "NOT GIVEN", "NO DATA",
        "NOT KNOWN", "[]",
    }
)  # fmt: skip
_NOTHING: Final = frozenset({"NONE", "NIL", "NO", "NON"})
_NONE_IS_A_VALUE: Final = frozenset(
    {
        "fluorescence", "culet", "treatments", "comments", "eye_clean", "bow_tie", "windowing", "haze",
        "tint", "shade", "issuer",
    }
)  # fmt: skip


def is_blank(seen: Cell) -> bool:
    word = plain(seen.text)
    return word in BLANKS or (word in _NOTHING and seen.field not in _NONE_IS_A_VALUE)


MONTHS: Final = ("JAN", "FEB", "MAR", "APR", "MAY", "JUN", "JUL", "AUG", "SEP", "OCT", "NOV", "DEC")
_MONTH: Final = "|".join(MONTHS)
# What spreadsheets turn a typed text into, and the question that each calls for.
_DAMAGE: Final = (
    (
        re.compile(r"#(REF|VALUE|DIV/0|NUM|NULL|SPILL|CALC)!|#NAME\?|#{2,}"),
        "A spreadsheet error stands in the cell's place: what should it say?",
    ),
    (re.compile("=.*"), "A spreadsheet formula stands in the cell's place: what should it say?"),
    (
        re.compile(r"[0-9]{1,2}:[0-9]{2}(:[0-9]{2}(\.[0-9]+)?)?( ?[AP]M)?"),
        "A spreadsheet seems to have turned the cell into a time of day: what was typed?",
    ),
)
_DAY: Final = re.compile(
    rf"[0-9]{{1,2}}[-/ .]?({_MONTH})[A-Z]*([-/ .,]*[0-9]{{2,4}})?"
    rf"|({_MONTH})[A-Z]*[-/ .][0-9]{{1,4}}([-/ .,]+[0-9]{{2,4}})?"
    r"|[0-9]{4}-[0-9]{2}-[0-9]{2}([T ][0-9:.+Z]*)?|[0-9]{1,2}/[0-9]{1,2}/[0-9]{2,4}"
)
# What all of these begin with.
_DAMAGED: Final = frozenset(["#", "=", *"0123456789", *(month[0] for month in MONTHS)])
SPREADSHEET_DATE: Final = "A spreadsheet seems to have turned the cell into a date: what was typed?"


def damage(seen: Cell) -> str | None:
    """The question that a broken cell calls for; None if it is whole."""
    word = plain(seen.text)
    if word[:1] not in _DAMAGED:
        return None
    for pattern, ask in _DAMAGE:
        if pattern.fullmatch(word):
            return ask
    if seen.field != "report_date" and (isinstance(seen.value, date) or _DAY.fullmatch(word)):
        return SPREADSHEET_DATE
    return None


def unusable(seen: Cell) -> Remark | None:
    """The remark on a cell that is blank, broken or far too long; None if it can be read."""
    if is_blank(seen):
        return seen.remark("not_stated")
    if ask := damage(seen):
        return seen.remark("unreadable", None, ask)
    if len(seen.text) > LONGEST or seen.text in {"{…}", "…"}:
        return seen.remark("unreadable", None, "The cell does not hold a value of this field: what is it?")
    return None


Reader = Callable[[Cell], Read[T]]


def whole(read: Reader[T]) -> Reader[T]:
    """The reader, kept from cells in which there is nothing to read."""

    def guarded(seen: Cell) -> Read[T]:
        remark = unusable(seen)
        return read(seen) if remark is None else Read(None, (remark,))

    guarded.__doc__ = read.__doc__
    return guarded
