"""A sheet of paper in mm: lines, words, dimension lines and a scale bar, written as SVG.

All coordinates are mm on the sheet, x to the right and y downwards, and are written to 0.001 mm. Nothing on a
sheet refers to anything outside it, runs, or varies from one call to the next.
"""

from collections.abc import Iterable, Sequence
from decimal import ROUND_HALF_UP, Decimal
from typing import Final, NamedTuple
from xml.sax.saxutils import escape

Point = tuple[float, float]

SHEET_MM: Final = 100.0  # width of every sheet
MARGIN_MM: Final = 8.0
WORDS_MM: Final = 3.3  # height of letters; on a screen of 340 pixels it is 11 of them
SMALL_MM: Final = 2.9
HEADING_MM: Final = 4.2

INK: Final = "#22262b"  # 15:1 against white
SOFT: Final = "#4c5660"  # 7:1 against white
PALE: Final = "#f1efe9"  # metal; only ever a ground, never a line

# A letter is at most so wide on average, over its height; the widest common sans serif decides.
_LETTER: Final = 0.57
_FONTS: Final = "Helvetica, Arial, 'Liberation Sans', 'DejaVu Sans', sans-serif"
_ARROW: Final = (2.0, 0.38)  # length and half breadth
_BARS_MM: Final = (10, 5, 2, 1, 20, 50, 100, 200)
_LONGEST_BAR: Final = 80.0
_SHORTEST_BAR: Final = 8.0
_TINY: Final = 28.0


class Pen(NamedTuple):
    """How a line is drawn, and what it encloses is filled with."""

    color: str
    width_mm: float
    fill: str = "none"
    dashes: str | None = None


OUTLINE: Final = Pen(INK, 0.45, "#ffffff")
METAL: Final = Pen(INK, 0.3, PALE)
FACET: Final = Pen(SOFT, 0.2)
DIMENSION: Final = Pen(SOFT, 0.2)
HIDDEN: Final = Pen(SOFT, 0.25, dashes="1.4 0.9")


def number(value: float) -> str:
    """To 0.001, without zeros at the end and without a negative zero."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def rounded(value: Decimal, places: int = 2) -> str:
    """Half up, as every length in words."""
    return f"{value.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP):f}"


def mm(value: Decimal) -> str:
    return f"{rounded(value)} mm"


def breadth_mm(words: str, size_mm: float) -> float:
    """Room that words take at most."""
    return len(words) * size_mm * _LETTER


def wrapped(words: str, size_mm: float, room_mm: float) -> list[str]:
    """Words in lines that fit; neither a word is broken, nor a number from its unit."""
    lines: list[str] = []
    for unit in ("mm", "%", "×"):
        words = words.replace(f" {unit}", f"\u00a0{unit}")
    for word in words.split(" "):
        joined = f"{lines[-1]} {word}" if lines else word
        if lines and breadth_mm(joined, size_mm) <= room_mm:
            lines[-1] = joined
        else:
            lines.append(word)
    return [line.replace("\u00a0", " ") for line in lines]


class Magnification(NamedTuple):
    """So many mm on the sheet for so many mm of the thing; one of them is 1."""

    sheet: int
    thing: int

    @property
    def factor(self) -> float:
        return self.sheet / self.thing

    def __str__(self) -> str:
        return f"{self.sheet}:{self.thing}"


_MAGNIFICATIONS: Final = (
    *(Magnification(times, 1) for times in (40, 30, 20, 15, 12, 10, 8, 7, 6, 5, 4, 3, 2, 1)),
    *(Magnification(1, parts) for parts in (2, 3, 4, 5, 10, 20)),
)


def largest_fit(width_mm: float, height_mm: float, room: Point) -> Magnification:
    """The largest round magnification with which a thing stays within `room`, width and height on the sheet.

    Not more than leaves room for a bar of 10 mm, unless the thing would be tiny.
    """
    fitting = [
        m for m in _MAGNIFICATIONS if width_mm * m.factor <= room[0] and height_mm * m.factor <= room[1]
    ]
    barred = [m for m in fitting if m.factor * _BARS_MM[0] <= _LONGEST_BAR]
    if barred and max(width_mm, height_mm) * barred[0].factor >= _TINY:
        return barred[0]
    return fitting[0] if fitting else _MAGNIFICATIONS[-1]


class Sheet:
    """One drawing while it grows. `kind` names it within a page that holds several."""

    def __init__(self, kind: str, magnification: Magnification | None = None) -> None:
        self.kind = kind
        self.magnification = magnification
        self._parts: list[str] = []

    # Lines

    def path(
        self, points: Sequence[Point], pen: Pen, *, closed: bool = False, part: str | None = None
    ) -> None:
        """A line through points; `part` names what it is, for whoever measures the drawing."""
        first, *others = (f"{number(x)} {number(y)}" for x, y in points)
        data = f"M{first}L{' '.join(others)}{'Z' if closed else ''}"
        self._draw(f'<path d="{data}"', pen, part)

    def line(self, start: Point, end: Point, pen: Pen) -> None:
        self.path((start, end), pen)

    def rectangle(self, corner: Point, size: Point, pen: Pen, part: str | None = None) -> None:
        """From its upper left corner."""
        (x, y), (width, height) = corner, size
        where = f'x="{number(x)}" y="{number(y)}" width="{number(width)}" height="{number(height)}"'
        self._draw(f"<rect {where}", pen, part)

    def circle(self, middle: Point, radius: float, pen: Pen, part: str | None = None) -> None:
        x, y = middle
        self._draw(f'<circle cx="{number(x)}" cy="{number(y)}" r="{number(radius)}"', pen, part)

    def _draw(self, begun: str, pen: Pen, part: str | None) -> None:
        named = "" if part is None else f' data-part="{part}"'
        dashes = "" if pen.dashes is None else f' stroke-dasharray="{pen.dashes}"'
        look = f'fill="{pen.fill}" stroke="{pen.color}" stroke-width="{number(pen.width_mm)}"'
        self._parts.append(f"{begun}{named} {look}{dashes}/>")

    # Words

    def words(  # noqa: PLR0913 - where, what, how large, and to which side
        self,
        at: Point,
        words: str,
        size_mm: float = WORDS_MM,
        *,
        anchor: str = "start",
        color: str = INK,
        upwards: bool = False,
    ) -> None:
        """Words on a base line that begins, has its middle or ends at a point; `upwards` turns them left."""
        x, y = (number(value) for value in at)
        turn = f' transform="rotate(-90 {x} {y})"' if upwards else ""
        side = "" if anchor == "start" else f' text-anchor="{anchor}"'
        self._parts.append(
            f'<text x="{x}" y="{y}" font-size="{number(size_mm)}" fill="{color}"{side}{turn}>'
            f"{escape(words)}</text>"
        )

    def heading(self, words: str) -> float:
        """Words at the top; where the drawing may begin."""
        y = MARGIN_MM + 2.5
        for line in wrapped(words[:1].upper() + words[1:], HEADING_MM, SHEET_MM - 2 * MARGIN_MM):
            self.words((SHEET_MM / 2, y), line, HEADING_MM, anchor="middle")
            y += HEADING_MM * 1.3
        return y

    def notes(self, top: float, sentences: Iterable[str]) -> float:
        """Sentences under a drawing, each on lines of its own; where they end."""
        y = top
        for sentence in sentences:
            for line in wrapped(sentence, SMALL_MM, SHEET_MM - 2 * MARGIN_MM):
                y += SMALL_MM * 1.45
                self.words((MARGIN_MM, y), line, SMALL_MM, color=SOFT)
            y += SMALL_MM * 0.25
        return y

    # Dimensions

    def across(  # noqa: PLR0913 - where, what, and what it must keep clear of
        self,
        ends: Point,
        y: float,
        label: str,
        begins: Point,
        *,
        short: str = "right",
        crossed: Sequence[float] = (),
    ) -> None:
        """A dimension line between two x at height y; extension lines begin at the two y of `begins`.

        Its words stand on it or, where they have no room, to its left or right, as `short` says. On the right
        they move on behind lines that cross it there, at the x of `crossed`.
        """
        left, right = ends
        for x, begin in zip(ends, begins, strict=True):
            self._extension((x, begin), (x, y))
        self._arrows((left, y), (right, y))
        if right - left >= breadth_mm(label, WORDS_MM):
            self.words(((left + right) / 2, y - 1.1), label, anchor="middle")
            return
        beyond = 1.0 if right - left >= 3 * _ARROW[0] else 2 * _ARROW[0] + 0.4
        at, anchor = (left - beyond, "end") if short == "left" else (right + beyond, "start")
        room = breadth_mm(label, WORDS_MM)
        for line in sorted(crossed):
            if short == "right" and right < line < at + room + 1:
                self.line((right + beyond, y), (line + 0.6, y), DIMENSION)
                at = max(at, line + 1)
        self.words((at, y + WORDS_MM * 0.35), label, anchor=anchor)

    def upright(self, ends: Point, x: float, label: str, begins: Point, *, short: str = "above") -> None:
        """A dimension line between two y at x; its words read upwards on its left.

        Where they have no room they stand above the line, or to its left or right, as `short` says.
        """
        top, bottom = ends
        for y, begin in zip(ends, begins, strict=True):
            self._extension((begin, y), (x, y))
        self._arrows((x, top), (x, bottom))
        if bottom - top >= breadth_mm(label, WORDS_MM) + 1:
            self.words((x - 1.1, (top + bottom) / 2), label, anchor="middle", upwards=True)
        elif short == "above":
            self.words((x, top - 5), label, anchor="middle")
        else:
            at = x - 1.6 if short == "left" else x + 1.6
            anchor = "end" if short == "left" else "start"
            self.words((at, (top + bottom) / 2 + WORDS_MM * 0.35), label, anchor=anchor)

    def _extension(self, begin: Point, end: Point) -> None:
        """Leaves a little room at the thing and reaches a little beyond the dimension line."""
        way = (end[0] - begin[0], end[1] - begin[1])
        along = abs(way[0]) + abs(way[1])  # it runs along one axis
        if along <= 1:
            return
        unit = (way[0] / along, way[1] / along)
        start = (begin[0] + unit[0] * 0.8, begin[1] + unit[1] * 0.8)
        self.line(start, (end[0] + unit[0] * 1.2, end[1] + unit[1] * 1.2), DIMENSION)

    def _arrows(self, start: Point, end: Point) -> None:
        """A line with its heads inside, or outside where they have no room."""
        length = abs(end[0] - start[0]) + abs(end[1] - start[1])
        run, rise = (1.0, 0.0) if start[1] == end[1] else (0.0, 1.0)
        outside = length < 3 * _ARROW[0]
        beyond = 2 * _ARROW[0] if outside else 0.0
        self.line(
            (start[0] - run * beyond, start[1] - rise * beyond),
            (end[0] + run * beyond, end[1] + rise * beyond),
            DIMENSION,
        )
        for tip, inward in ((start, 1.0), (end, -1.0)):
            back = (-inward if outside else inward) * _ARROW[0]
            foot = (tip[0] + run * back, tip[1] + rise * back)
            half = _ARROW[1]
            sides = (
                (foot[0] + rise * half, foot[1] + run * half),
                (foot[0] - rise * half, foot[1] - run * half),
            )
            self.path((tip, *sides), Pen(SOFT, 0.1, SOFT), closed=True)

    def scale_bar(self, top: float) -> float:
        """A bar of 10 mm (less or more where that has no room) with the magnification; where it ends."""
        if self.magnification is None:
            raise ValueError("a sheet without a magnification has no scale")
        factor = self.magnification.factor
        size = next(bar for bar in _BARS_MM if _SHORTEST_BAR <= bar * factor <= _LONGEST_BAR)
        y, left, right = top + 4.2, MARGIN_MM, MARGIN_MM + size * factor
        for x in (left, right):
            self.line((x, y - 1.2), (x, y + 1.2), Pen(INK, 0.3))
        self.path(((left, y), (right, y)), Pen(INK, 0.3), part=f"scale-bar-{size}-mm")
        said = f"The bar is {size} mm. Drawn {self.magnification} on a sheet {SHEET_MM:.0f} mm wide."
        self.words((left, y + 4.6), said, SMALL_MM, color=SOFT)
        return y + 4.6

    def finish(self, bottom: float, title: str, description: str) -> str:
        """The whole document, ending a margin under `bottom`."""
        height = number(bottom + MARGIN_MM)
        width = number(SHEET_MM)
        scale = "" if self.magnification is None else f' data-magnification="{self.magnification}"'
        inner = "\n".join(self._parts)
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" role="img" width="{width}mm" height="{height}mm" '
            f'viewBox="0 0 {width} {height}" aria-labelledby="{self.kind}-title {self.kind}-desc"{scale}>\n'
            f'<title id="{self.kind}-title">{escape(title)}</title>\n'
            f'<desc id="{self.kind}-desc">{escape(description)}</desc>\n'
            f'<rect width="{width}" height="{height}" fill="#ffffff"/>\n'
            f'<g font-family="{_FONTS}" stroke-linejoin="round" stroke-linecap="round">\n{inner}\n'
            "</g>\n</svg>\n"
        )
