"""Finger sizes in six systems, millimetres first: a label only means something together with its table.

Diameters and circumferences are decimals in mm of the inside of the ring, > 0. KeyError for a word that is
not a system; ValueError, saying what is allowed, for a size that is not on its table.
"""

import re
from dataclasses import dataclass
from decimal import ROUND_FLOOR, ROUND_HALF_UP, Decimal
from typing import Final, Literal, NamedTuple, get_args

SizeSystem = Literal["us", "uk", "uk_older", "iso", "japan", "swiss"]
SIZE_SYSTEMS: Final[tuple[SizeSystem, ...]] = get_args(SizeSystem)

_PI: Final = Decimal("3.141592653589793238462643383")
_HALF: Final = Decimal("0.5")
_TENTH: Final = Decimal("0.1")
_HUNDREDTH: Final = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class SizeTable:
    """What answers name a size by, and the texts that are read.

    `pattern` accepts exactly the texts on the table, in a dialect that JSON Schema shares; `allowed` says
    the same in words.
    """

    title: str
    source: str
    allowed: str
    pattern: str
    examples: tuple[str, ...]


# The last size of a table has no fraction above it, hence the second branch of every pattern.
# In the letter systems A to Z count 1 to 26 and Z+1 to Z+6 count on to 32. Halves are allowed among these,
# too (Z+1½), because charts print them; Z½ lies between Z and Z+1.
_LETTERS: Final = r"^(?:(?:[A-Z]|Z\+[1-5])(?:\.5|½| 1/2)?|Z\+6)$"
_LETTERS_ALLOWED: Final = (
    "A to Z and Z+1 to Z+6, in capitals, and the halves between: L, L½, L 1/2, L.5, Z+1½"
)
_LETTER_EXAMPLES: Final = ("L", "L½", "L 1/2", "L.5", "Z½", "Z+1")
_RELAYED: Final = "older chart of an encyclopaedia, relayed by a secondary page"
_ROWLETT: Final = "Rowlett, How Many? A Dictionary of Units of Measurement, ring size"

TABLES: Final[dict[SizeSystem, SizeTable]] = {
    "us": SizeTable(
        "US and Canada, 11.63 mm + 0.8128 mm a size",
        f"{_RELAYED}; never standardised: {_ROWLETT}, has 36.3 mm + 2.60 mm a size around",
        "0 to 16 in quarters: 6, 6.25, 6.5, 6 1/2, 6½",
        r"^(?:(?:[0-9]|1[0-5])(?:\.(?:00?|25|50?|75)|[¼½¾]| (?:1/4|1/2|3/4))?|16(?:\.00?)?)$",
        ("6", "6.5", "6.25", "6 1/2", "6½", "6¼"),
    ),
    "uk": SizeTable(
        "UK, metric letters of 1987 (BS 6820), 36.25 mm + 1.25 mm a letter around",
        f"{_ROWLETT}; year and number of the standard from memory",
        _LETTERS_ALLOWED,
        _LETTERS,
        _LETTER_EXAMPLES,
    ),
    "uk_older": SizeTable(
        "UK, older inch letters, 11.63 mm + 0.4064 mm a letter",
        f"{_RELAYED}: A to I as printed there, carried on at the same step",
        _LETTERS_ALLOWED,
        _LETTERS,
        _LETTER_EXAMPLES,
    ),
    "iso": SizeTable(
        "ISO 8653, millimetres around",
        "ISO 8653 as relayed by an encyclopaedia; marks 41 to 76 from an excerpt of its draft of 2014",
        "41 to 76 in halves or with one decimal: 52, 52.5, 52½",
        r"^(?:(?:4[1-9]|[56][0-9]|7[0-5])(?:\.[0-9]|½| 1/2)?|76(?:\.0)?)$",
        ("52", "52.5", "52½", "52 1/2"),
    ),
    "japan": SizeTable(
        "Japan, 13.00 mm at 1 + 1/3 mm a size",
        _ROWLETT,
        "1 to 30 in halves: 12, 11.5, 11½, 11 1/2",
        r"^(?:(?:[1-9]|[12][0-9])(?:\.[05]|½| 1/2)?|30(?:\.0)?)$",
        ("12", "11.5", "11½", "11 1/2"),
    ),
    "swiss": SizeTable(
        "Switzerland, Italy, Spain and the Netherlands, millimetres around less 40",
        _RELAYED,
        "1 to 36 in halves or with one decimal: 12, 11.5, 11½, 11 1/2",
        r"^(?:(?:[1-9]|[12][0-9]|3[0-5])(?:\.[0-9]|½| 1/2)?|36(?:\.0)?)$",
        ("12", "11.5", "11½", "11 1/2"),
    ),
}


@dataclass(frozen=True, slots=True)
class _Scale:
    """Size n measures (zero + step × n) / parts mm, across or around; labels are multiples of `fineness`."""

    zero: Decimal
    step: Decimal
    first: int
    last: int
    fineness: Decimal
    parts: int = 1  # keeps thirds of a millimetre exact
    around: bool = False
    letters: bool = False

    def circumference(self, number: Decimal) -> Decimal:
        measure = (self.zero + self.step * number) / self.parts
        return measure if self.around else measure * _PI

    def nearest(self, inner_diameter_mm: Decimal) -> Decimal | None:
        """The number of the nearest label, the larger of two equally near; None off the table."""
        measure = inner_diameter_mm * _PI if self.around else inner_diameter_mm
        labels = (measure * self.parts - self.zero) / self.step / self.fineness
        number = (labels + _HALF).to_integral_value(ROUND_FLOOR) * self.fineness
        return number if self.first <= number <= self.last else None


# Older inch letters: the chart has A at 12.04 mm, C at 12.85, F at 14.07 (US 3), H at 14.88 (US 4). That is a
# letter at every half US size, or 0.016 in = 0.4064 mm from the US zero, and makes US 6 an L and US 13 a Z.
# The step of 1/64 in that is told of the old gauge would put Z at 21.96 mm, over half a letter below US 13.
# ISO is labelled to the whole mm, as rings are marked; Swiss to the half, because a whole one loses 0.5 mm.
_SCALES: Final[dict[SizeSystem, _Scale]] = {
    "us": _Scale(Decimal("11.63"), Decimal("0.8128"), 0, 16, Decimal("0.25")),
    "uk": _Scale(Decimal("36.25"), Decimal("1.25"), 1, 32, _HALF, around=True, letters=True),
    "uk_older": _Scale(Decimal("11.63"), Decimal("0.4064"), 1, 32, _HALF, letters=True),
    "iso": _Scale(Decimal(0), Decimal(1), 41, 76, Decimal(1), around=True),
    "japan": _Scale(Decimal(38), Decimal(1), 1, 30, _HALF, parts=3),
    "swiss": _Scale(Decimal(40), Decimal(1), 1, 36, _HALF, around=True),
}
_FRACTIONS: Final = {
    " 1/4": ".25", " 1/2": ".5", " 3/4": ".75",
    "¼": ".25", "½": ".5", "¾": ".75",
}  # fmt: skip


def _read(system: SizeSystem, size: str) -> Decimal:
    """The number of a size on its scale."""
    table = TABLES[system]
    if not re.fullmatch(table.pattern, size):
        raise ValueError(f"{table.title}: {table.allowed}")
    for fraction, decimals in _FRACTIONS.items():
        size = size.replace(fraction, decimals)
    if not _SCALES[system].letters:
        return Decimal(size)
    return ord(size[0]) - ord("A") + 1 + Decimal(size[1:] or 0)  # Z+1.5 is 26 and +1.5


def _write(system: SizeSystem, number: Decimal) -> str:
    """A number of the scale as the system writes it: 6.25, or L½ and Z+1."""
    if not _SCALES[system].letters:
        return f"{number.normalize():f}"
    whole = int(number)
    letter = chr(ord("A") + whole - 1) if whole <= 26 else f"Z+{whole - 26}"  # noqa: PLR2004 - letters
    return letter if number == whole else f"{letter}½"


def circumference_mm(system: SizeSystem, size: str) -> Decimal:
    """Inner circumference of a size, half up to 0.01 mm."""
    return _SCALES[system].circumference(_read(system, size)).quantize(_HUNDREDTH, ROUND_HALF_UP)


def inner_diameter_mm(system: SizeSystem, size: str) -> Decimal:
    """Inner diameter of a size, half up to 0.01 mm."""
    around = _SCALES[system].circumference(_read(system, size))
    return (around / _PI).quantize(_HUNDREDTH, ROUND_HALF_UP)


def label(system: SizeSystem, inner_diameter_mm: Decimal) -> str | None:
    """The nearest size as the system writes it; None where the diameter lies off its table.

    US in quarters, UK, Japan and Swiss in halves, ISO whole. A table reaches half a label beyond its ends.
    """
    number = _SCALES[system].nearest(inner_diameter_mm)
    return None if number is None else _write(system, number)


class Label(NamedTuple):
    """A size, the title of its table, and how far its own circumference lies above the wanted one.

    `off_mm` to 0.01 mm, half up, negative where the labelled ring is tighter.
    """

    system: SizeSystem
    size: str
    table: str
    off_mm: Decimal


def labels(inner_diameter_mm: Decimal) -> tuple[Label, ...]:
    """The nearest size in every system on whose table the diameter lies, in the order of `SIZE_SYSTEMS`."""
    wanted = inner_diameter_mm * _PI
    found = []
    for system, scale in _SCALES.items():
        number = scale.nearest(inner_diameter_mm)
        if number is not None:
            off = (scale.circumference(number) - wanted).quantize(_HUNDREDTH, ROUND_HALF_UP)
            found.append(Label(system, _write(system, number), TABLES[system].title, off + 0))  # no -0.00
    return tuple(found)


def uk_disagreement(inner_diameter_mm: Decimal) -> str | None:
    """A sentence with both UK labels where they differ; None where they agree or one table has none.

    Charts seldom say which of the two they follow, and some change from the older to the metric one at J.
    """
    metric = _SCALES["uk"].nearest(inner_diameter_mm)
    older = _SCALES["uk_older"].nearest(inner_diameter_mm)
    if metric is None or older is None or metric == older:
        return None
    apart = "half a letter" if metric - older == _HALF else "a letter"
    return (
        f"The two UK tables differ, here by {apart}: {_write('uk', metric)} on the metric scale of 1987, "
        f"{_write('uk_older', older)} on the older inch table."
    )


# Wide and comfort-fit bands are worn larger: common practice, no source. What counts as wide: from memory.
_WIDE_FROM_MM: Final = Decimal(6)
_WIDE_ADDS: Final = (Decimal("0.25"), Decimal("0.5"))


def wide_band_allowance(width_mm: Decimal) -> tuple[Decimal, Decimal] | None:
    """US sizes to add for a wide band, least and most; None for a band that is not wide."""
    return _WIDE_ADDS if width_mm >= _WIDE_FROM_MM else None


def coverage_pct(across_mm: Decimal, inner_diameter_mm: Decimal) -> Decimal:
    """Extent of a stone across the finger in % of the inner diameter, half up to 0.1."""
    return (across_mm * 100 / inner_diameter_mm).quantize(_TENTH, ROUND_HALF_UP)
