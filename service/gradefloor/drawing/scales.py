"""A scale of length to width with the looks of one shape, each with an outline."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from gradefloor.drawing.canvas import (
    DIMENSION,
    INK,
    SMALL_MM,
    SOFT,
    WORDS_MM,
    Pen,
    Sheet,
    rounded,
)
from gradefloor.drawing.plans import place, plan
from gradefloor.trade.shapes import SHAPES

_ROW_MM: Final = 21.0
_ICON_MM: Final = 15.0  # the longer measure of the outline in a row
_RULER_X: Final = 24.0
_LABELS_APART: Final = 4.0
_OPEN: Final = Decimal("0.15")  # an open end is drawn at least so long


@dataclass(frozen=True, slots=True)
class RatioBand:
    """One look: `begin` included, `end` not; None where it is open."""

    look: str
    begin: Decimal | None
    end: Decimal | None


def draw_ratios(shape: str, bands: Sequence[RatioBand], source: str) -> str:
    """The bands of a shape, smallest first and without gap; `source` names whose they are.

    UndrawableError where the shape has no outline.
    """
    low, high = _ends(shape, bands)
    middles = [((band.begin or low) + (band.end or high)) / 2 for band in bands]
    title = SHAPES[shape].title
    drawn = [plan(shape, Decimal(10) * middle, Decimal(10)) for middle in middles]
    sheet = Sheet("ratios")
    top = sheet.heading(f"{title}: length to width") + 5
    bottom = top + _ROW_MM * len(bands)

    def at(ratio: Decimal) -> float:
        return top + float((ratio - low) / (high - low)) * (bottom - top)

    sheet.line((_RULER_X, top), (_RULER_X, bottom), Pen(INK, 0.4))
    edges = [band.end for band in bands if band.end is not None]
    if bands[0].begin is not None:
        edges.insert(0, bands[0].begin)
    if bands[-1].end is None:
        sheet.path(
            ((_RULER_X - 1, bottom - 1.6), (_RULER_X, bottom), (_RULER_X + 1, bottom - 1.6)), Pen(INK, 0.4)
        )
    wanted = [at(edge) for edge in edges]
    for edge, y, label in zip(edges, wanted, _apart(wanted, bottom), strict=True):
        sheet.line((_RULER_X - 1.5, y), (_RULER_X + 1.5, y), Pen(INK, 0.35))
        sheet.path(((_RULER_X - 1.5, y), (_RULER_X - 4, label)), DIMENSION)
        sheet.words((_RULER_X - 4.8, label + WORDS_MM * 0.35), rounded(edge), anchor="end")
    for k, (band, stone) in enumerate(zip(bands, drawn, strict=True)):
        row = top + _ROW_MM * (k + 0.5)
        begin, end = at(band.begin or low), at(band.end or high)
        bracket = _RULER_X + 3
        sheet.path(((bracket, begin + 0.6), (bracket, end - 0.6)), Pen(SOFT, 0.5))
        factor = _ICON_MM / max(stone.size)
        beside = bracket + 19.5 - stone.size[0] * factor / 2
        sheet.path(((bracket, (begin + end) / 2), (bracket + 8, row), (beside, row)), DIMENSION)
        place(sheet, stone, (bracket + 21, row), factor, part=f"outline-{k + 1}")
        text = bracket + 32
        sheet.words((text, row - 1), _words(band.look), WORDS_MM + 0.4)
        sheet.words((text, row + 3.8), _range(band), SMALL_MM, color=SOFT)
    notes = [
        (
            "The scale runs downwards and is to scale; each outline has the middle of its band, and of an "
            "open band a ratio near its end."
        ),
        f"Looks are a matter of taste. Bands: {source}. Facet lines are schematic.",
    ]
    end_of_notes = sheet.notes(bottom + 5, notes)
    each = "; ".join(f"{_words(band.look)}: {_range(band)}" for band in bands)
    return sheet.finish(
        end_of_notes,
        f"{title[:1].upper()}{title[1:]}: looks by length to width",
        f"{each}. {' '.join(notes)}",
    )


def _words(look: str) -> str:
    return look.replace("_", " ")


def _range(band: RatioBand) -> str:
    if band.begin is None:
        return "any ratio" if band.end is None else f"under {rounded(band.end)}"
    return f"{rounded(band.begin)} and more" if band.end is None else (
        f"{rounded(band.begin)} to under {rounded(band.end)}"
    )  # fmt: skip


def _ends(shape: str, bands: Sequence[RatioBand]) -> tuple[Decimal, Decimal]:
    """What the ruler reaches from and to."""
    first, last = bands[0], bands[-1]
    closed = [edge for band in bands for edge in (band.begin, band.end) if edge is not None]
    if not closed:
        return Decimal(1), Decimal("1.5")
    room = max(_OPEN, (closed[-1] - closed[0]) / 4)
    # Where the length is merely the longer measure, no ratio is under 1.
    least = Decimal(1) if closed[0] > 1 and not SHAPES[shape].length_is_axis else closed[0] - _OPEN
    low = closed[0] if first.begin is not None else least
    return low, closed[-1] if last.end is not None else closed[-1] + room


def _apart(wanted: Sequence[float], bottom: float) -> list[float]:
    """The same places, moved apart so that words do not touch."""
    places: list[float] = []
    for y in wanted:
        places.append(max(y, places[-1] + _LABELS_APART) if places else y)
    over = max(places[-1] - bottom, 0.0) if places else 0.0
    return [y - over for y in places]
