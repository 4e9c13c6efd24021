"""Days by which a ring is needed: dates, months, named days and spans of time from today."""

from calendar import monthrange
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Final

from gradefloor.judge.amounts import Quantity
from gradefloor.judge.message_findings import Open, Read, stays_open
from gradefloor.judge.pieces import Piece, Span, near
from gradefloor.rules.lexicon_format import MONTHS

# Days that do not move. Christmas gifts are given on the eve at the earliest.
_NAMED: Final = {
    "christmas": (12, 24),
    "new_years_eve": (12, 31),
    "new_year": (1, 1),
    "valentines_day": (2, 14),
    "saint_nicholas": (12, 6),
    "halloween": (10, 31),
}
_DAYS: Final = {"day": 1, "week": 7}
_MONTHS: Final = {"month": 1, "year": 12}
_CENTURY: Final = 100
# A ring is not ordered further ahead. House limit, no source.
_LONGEST: Final = 1000


@dataclass(slots=True)
class Days:
    """All days that a message states, and the pieces they are written in."""

    pieces: list[Piece]
    as_of: date
    found: list[tuple[date, Span]] = field(default_factory=list)
    open: list[Open] = field(default_factory=list)
    taken: set[int] = field(default_factory=set)

    def dates(self) -> None:
        """Reads dates, months and named days, and takes their pieces."""
        for place, piece in enumerate(self.pieces):
            if place in self.taken:
                continue
            if piece.kind == "number":
                self.numeric(place)
            if "months" in piece.means and place not in self.taken:
                self.month(place)
            elif "days" in piece.means and self.ahead(place):
                if piece.means["days"] == "moving":
                    self.open.append(stays_open("needed_by", "moves", (piece.start, piece.end)))
                else:
                    self.next(*_NAMED[piece.means["days"]], place, place)

    def spans(self, quantities: list[Quantity]) -> None:
        """Reads spans of time from today, such as "in 6 weeks"; of a range the shorter one."""
        for quantity in quantities:
            if quantity.unit not in {*_DAYS, *_MONTHS} or not 0 < quantity.low <= _LONGEST:
                continue
            before = near(self.pieces, quantity.first, -1, 3, lambda piece: "time" in piece.means)
            behind = near(self.pieces, quantity.last, 1, 2, lambda piece: "time" in piece.means)
            within = before is not None and self.pieces[before].has("time", "within")
            left = behind is not None and self.pieces[behind].has("time", "left")
            past = any(
                place is not None and self.pieces[place].has("time", "past") for place in (before, behind)
            )
            if (not (within or left)) or past:
                continue
            first = before if within and before is not None else quantity.first
            with suppress(OverflowError, ValueError):  # behind the last day of the calendar
                if quantity.unit in _DAYS:
                    day = self.as_of + timedelta(days=int(quantity.low * _DAYS[quantity.unit]))
                else:
                    day = _months_on(self.as_of, int(quantity.low * _MONTHS[quantity.unit]))
                self.add(day, first, quantity.last)

    def settle(self) -> tuple[list[Read], list[Open]]:
        """The earliest day that is still to come."""
        ahead = [(day, span) for day, span in self.found if day >= self.as_of]
        gone = [span for day, span in self.found if day < self.as_of]
        left = list(self.open)
        if gone:
            left.append(stays_open("needed_by", "passed", *gone))
        if not ahead:
            return [], left
        first = min(day for day, _ in ahead)
        spans = tuple(span for day, span in ahead if day == first)
        return [Read("needed_by", first.isoformat(), spans)], left

    # How days are written

    def numeric(self, place: int) -> None:
        """2027-02-14, 14.02.2027, 14.2. and 14/02/2027."""
        pieces = self.pieces
        parts = pieces[place].text.split(".")
        inner = pieces[place + 1 : place + 3]
        if len(inner) == 2 and all(part.kind == "number" and part.gap == "-" for part in inner):  # noqa: PLR2004 - ISO 8601
            self.calendar(pieces[place].text, inner[0].text, inner[1].text, place, place + 2)
        elif len(parts) == 3:  # noqa: PLR2004 - day, month, year
            self.calendar(parts[2], parts[1], parts[0], place, place)
        elif len(parts) == 2 and self.cued(place) and _is_point(pieces, place + 1):  # noqa: PLR2004
            day, month = parts
            if (day + month).isdigit() and len(month) <= 2 and _valid(4, int(month), int(day)):  # noqa: PLR2004 - a leap year
                self.next(int(month), int(day), place, place + 1)
        else:
            self.slashes(place)

    def slashes(self, place: int) -> None:
        """14/02/2027 or 02/14/2027; where both could be, it stays open."""
        parts = self.pieces[place : place + 5]
        kinds = [part.text if part.kind == "mark" else part.kind for part in parts]
        if kinds != ["number", "/", "number", "/", "number"] or any(part.gap for part in parts[1:]):
            return
        one, two, year = parts[0].text, parts[2].text, parts[4].text
        if not (one + two + year).isdigit() or max(len(one), len(two)) > 2:  # noqa: PLR2004
            return
        self.taken.update(range(place, place + 5))
        if int(one) <= 12 and int(two) <= 12 and int(one) != int(two):  # noqa: PLR2004 - months
            self.open.append(stays_open("needed_by", "day_or_month", (parts[0].start, parts[4].end)))
        else:
            day, month = (one, two) if int(two) <= 12 else (two, one)  # noqa: PLR2004 - months
            self.calendar(year, month, day, place, place + 4)

    def calendar(self, year: str, month: str, day: str, first: int, last: int) -> None:
        if not (year + month + day).isdigit() or max(len(month), len(day)) > 2 or len(year) not in {2, 4}:  # noqa: PLR2004
            return
        full = int(year) if len(year) > 2 else self.as_of.year // _CENTURY * _CENTURY + int(year)  # noqa: PLR2004
        if not _valid(full, int(month), int(day)):
            return
        self.taken.update(range(first, last + 1))
        if self.ahead(first):
            self.add(date(full, int(month), int(day)), first, last)

    def month(self, place: int) -> None:
        """14 February, February 14th 2027, 14. Februar, in March."""
        number = MONTHS.index(self.pieces[place].means["months"]) + 1
        first, last, day = place, place, None
        before = self.skip_back(place)
        if before is not None:
            day, first = int(self.pieces[before].text), before
        else:
            behind = self.day_behind(place)
            if behind is not None:
                day, last = int(self.pieces[place + 1].text), behind
        year, last = self.year(last)
        if day is None and year is None and not self.cued(place):
            return
        self.taken.update(range(first, last + 1))
        if not self.ahead(first):
            return
        if year is None:
            self.next(number, day or 1, first, last)
        elif _valid(year, number, day or 1):
            full = date(year, number, day or 1)
            # Of the month that runs, today is the first day left.
            running = day is None and (year, number) == (self.as_of.year, self.as_of.month)
            self.add(self.as_of if running else full, first, last)
        if day is None and self.found and self.found[-1][0] >= self.as_of:
            self.open.append(stays_open("needed_by", "no_day", self.found[-1][1]))

    def skip_back(self, place: int) -> int | None:
        """Place of the day's number before a month: 14 February, 14th of February, 14. Februar."""
        for distance in (1, 2, 3):
            if place < distance:
                return None
            piece = self.pieces[place - distance]
            if piece.kind == "number":
                return place - distance if piece.text.isdigit() and 0 < int(piece.text) <= 31 else None  # noqa: PLR2004
            if not (piece.has("joins", "ordinal", "article") or piece.text == "."):
                return None
        return None

    def day_behind(self, place: int) -> int | None:
        """Last place of the day behind a month: February 14, February 14th."""
        if place + 1 >= len(self.pieces):
            return None
        piece = self.pieces[place + 1]
        day = piece.kind == "number" and piece.text.isdigit() and len(piece.text) <= 2  # noqa: PLR2004
        if not day or piece.gap != " " or not 0 < int(piece.text) <= 31:  # noqa: PLR2004
            return None
        ordinal = place + 2 < len(self.pieces) and self.pieces[place + 2].has("joins", "ordinal")
        return place + 2 if ordinal else place + 1

    def year(self, last: int) -> tuple[int | None, int]:
        """The year behind a day or a month, and the last place then."""
        place = last + 1
        if place < len(self.pieces) and self.pieces[place].text == ",":
            place += 1
        if place >= len(self.pieces):
            return None, last
        text = self.pieces[place].text
        whole = self.pieces[place].kind == "number" and text.isdigit() and len(text) == 4  # noqa: PLR2004
        if whole and abs(int(text) - self.as_of.year) < _CENTURY:
            return int(text), place
        return None, last

    # What they mean

    def cued(self, place: int) -> bool:
        """Whether a word for a deadline stands shortly before."""
        cues = ("within", "until", "part")
        return near(self.pieces, place, -1, 3, lambda piece: piece.has("time", *cues)) is not None

    def ahead(self, place: int) -> bool:
        """Whether nothing says that the day is behind, or that it is only after it."""
        gone = near(self.pieces, place, -1, 8, lambda piece: piece.has("time", "past"))
        behind = near(self.pieces, place, 1, 3, lambda piece: piece.has("time", "past"))
        after = near(self.pieces, place, -1, 2, lambda piece: piece.has("time", "after"))
        return (gone, behind, after) == (None, None, None)

    def next(self, month: int, day: int, first: int, last: int) -> None:
        """The next such day; of 29 February the next there is."""
        self.taken.update(range(first, last + 1))
        for year in range(self.as_of.year, self.as_of.year + 9):
            with suppress(ValueError):
                found = date(year, month, day)
                if found >= self.as_of:
                    self.add(found, first, last)
                    return

    def add(self, day: date, first: int, last: int) -> None:
        self.found.append((day, (self.pieces[first].start, self.pieces[last].end)))


def _is_point(pieces: list[Piece], place: int) -> bool:
    return place < len(pieces) and pieces[place].text == "." and not pieces[place].gap


def _valid(year: int, month: int, day: int) -> bool:
    return 1 <= month <= len(MONTHS) and year >= 1 and 1 <= day <= monthrange(year, month)[1]


def _months_on(day: date, months: int) -> date:
    """The same day so many months on; the last of a month that has no such day."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))
