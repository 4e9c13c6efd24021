"""Numbers in a message: how they are written, ranges of them, and what they count.

A single point or comma before exactly three digits parts thousands in a sum of money and is a decimal mark
everywhere else; no language has to be known for that. Values are exact decimals.
"""

import re
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Final, NamedTuple

from gradefloor.judge.pieces import Piece

_SIGNS: Final = {"½": "0.5", "¼": "0.25", "¾": "0.75", "⅓": "0.33", "⅔": "0.66"}
_FRACTIONS: Final = {
    ("1", "2"): "0.5", ("1", "4"): "0.25", ("3", "4"): "0.75", ("1", "3"): "0.33", ("2", "3"): "0.66",
}  # fmt: skip
_SCALES: Final = {"thousand": Decimal(1000), "lakh": Decimal(100_000)}
_PERIODS: Final = ("day", "week", "month", "year")
_TIMES: Final = frozenset("x×*✕✖")
_GROUPED: Final = re.compile(r"([0-9]{1,3}([.,'])[0-9]{3}(?:\2[0-9]{3})*)(?:[.,]([0-9]{1,2}))?")

# Length and width of a stone; other products of two numbers are no measures.
_MILLIMETRES: Final = (Decimal(2), Decimal(40))
_HALF: Final = Decimal("0.5")
_TENS: Final = frozenset(map(Decimal, range(20, 100, 10)))


class Number(NamedTuple):
    """A number as a measure and as a sum of money, None where it cannot be one; `end` is the piece behind."""

    measure: Decimal | None
    money: Decimal | None
    end: int


@dataclass(frozen=True, slots=True)
class Side:
    """One end of a range with what is attached to it."""

    number: Number
    scale: str | None
    unit: str | None
    currency: str | None
    end: int


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number or a range and what it counts: `carat`, `millimeter`, `money`, a period, or None.

    `sums` are its ends read as money. `first` and `last` are places of pieces. `hedge` is `up_to` or
    `at_least` where that is said. `either` tells that two numbers were given with an "or", `cross` that they
    are length by width.
    """

    low: Decimal
    high: Decimal
    unit: str | None
    first: int
    last: int
    sums: tuple[Decimal, Decimal] | None = None
    currency: str | None = None
    hedge: str | None = None
    either: bool = False
    cross: bool = False


def quantities(pieces: list[Piece], taken: set[int]) -> list[Quantity]:
    """Every quantity in the order of the text; pieces that are `taken` are part of none."""
    return _Numbers(pieces, taken).read()


class _Numbers:
    def __init__(self, pieces: list[Piece], taken: set[int]) -> None:
        self.pieces = pieces
        self.taken = taken

    def at(self, place: int) -> Piece | None:
        """A piece that may still be read; the text is one sentence after another, so none is crossed."""
        inside = 0 <= place < len(self.pieces) and place not in self.taken
        return self.pieces[place] if inside else None

    def read(self) -> list[Quantity]:
        found: list[Quantity] = []
        place = 0
        while place < len(self.pieces):
            last = self.chain(place)
            if last:
                place = last
                continue
            quantity = self.quantity(place)
            if quantity is not None:
                found.append(self.hedged(quantity))
            place = place + 1 if quantity is None else quantity.last + 1
        return found

    def chain(self, place: int) -> int:
        """Place behind three or more numbers in a row with hyphens: whatever it is, it is no quantity."""
        end = place
        while (
            (piece := self.at(end)) is not None
            and piece.kind == "number"
            and (end == place or piece.gap == "-")
        ):
            end += 1
        return end if end - place > 2 else 0  # noqa: PLR2004 - two are a range

    # One number

    def number(self, place: int) -> Number | None:
        piece = self.at(place)
        if piece is None:
            return None
        if piece.kind == "number":
            return self.digits(place, piece.text)
        if piece.text in _SIGNS:
            value = Decimal(_SIGNS[piece.text])
            return Number(value, None, place + 1)
        if "numbers" in piece.means:
            value, end = Decimal(piece.means["numbers"]), place + 1
            behind = self.at(end)
            if behind is not None and behind.gap in {" ", "-"} and "numbers" in behind.means:
                more = Decimal(behind.means["numbers"])
                if (value in _TENS and more < 10) or more == _HALF < value:  # noqa: PLR2004 - twenty-five
                    value, end = value + more, end + 1
            return self.plus(Number(value, value, end))
        if piece.has("joins", "article"):
            behind = self.at(place + 1)
            if behind is not None and (behind.has("units", "carat", "thousand", *_PERIODS)):
                return Number(Decimal(1), Decimal(1), place + 1)
        return None

    def digits(self, place: int, text: str) -> Number | None:
        if text.isdigit():
            slash, below = self.at(place + 1), self.at(place + 2)
            if slash is not None and slash.text == "/" and below is not None:
                fraction = _FRACTIONS.get((text, below.text))
                return None if fraction is None else Number(Decimal(fraction), None, place + 3)
            whole = Decimal(text)
            return self.grouped(place, text) or self.plus(Number(whole, whole, place + 1))
        return self.plus(Number(_measure(text), _money(text), place + 1))

    def grouped(self, place: int, text: str) -> Number | None:
        """Thousands parted by spaces: 15 000."""
        end = place + 1
        while (
            text[0] != "0"
            and len(text) <= 3  # noqa: PLR2004 - thousands
            and (piece := self.at(end)) is not None
            and piece.gap == " "
            and re.fullmatch("[0-9]{3}", piece.text)
            and end - place < 3  # noqa: PLR2004 - millions are enough
        ):
            end += 1
        if end == place + 1:
            return None
        return Number(None, Decimal("".join(piece.text for piece in self.pieces[place:end])), end)

    def plus(self, number: Number) -> Number:
        """With a fraction behind it: 1 1/2, 1½, one and a half."""
        piece = self.at(number.end)
        if piece is None or number.measure is None:
            return number
        more, end = None, number.end + 1
        if piece.text in _SIGNS and piece.gap in {"", " "}:
            more = _SIGNS[piece.text]
        elif piece.has("joins", "and_half", "and_quarter"):
            more = "0.5" if piece.has("joins", "and_half") else "0.25"
        elif piece.kind == "number" and piece.gap in {" ", "-"}:
            slash, below = self.at(end), self.at(end + 1)
            if slash is not None and slash.text == "/" and not slash.gap and below is not None:
                more, end = _FRACTIONS.get((piece.text, below.text)), end + 2
        if more is None or number.measure % 1:
            return number
        value = number.measure + Decimal(more)
        return Number(value, value, end)

    # A number with what is attached to it

    def side(self, place: int) -> Side | None:
        currency = None
        piece = self.at(place)
        if piece is not None and "weights" in piece.means:
            value = Decimal(piece.means["weights"])
            return Side(Number(value, None, place + 1), None, "carat", None, place + 1)
        if piece is not None and "budget_currency" in piece.means:
            currency = piece.means["budget_currency"]
            place += 1
        number = self.number(place)
        if number is None:
            return None
        end, scale, unit = number.end, None, None
        if (behind := self.at(end)) is not None and behind.has("units", *_SCALES) and behind.gap != " - ":
            scale, end = behind.means["units"], end + 1
        end = self.bare_cents(end)
        behind = self.at(end)
        if (
            behind is not None
            and behind.has("joins", "article")
            and number.measure in {_HALF, Decimal("0.75")}
        ):
            end, behind = end + 1, self.at(end + 1)  # half a carat
        if behind is not None and "budget_currency" in behind.means and self.closes(end, currency):
            currency, end = behind.means["budget_currency"], end + 1
        elif behind is not None and "units" in behind.means and scale is None:
            unit, end = behind.means["units"], end + 1
            number, end = self.and_half(number, end)
        return Side(number, scale, unit, currency, end)

    def closes(self, place: int, currency: str | None) -> bool:
        """Whether a currency belongs to the number before it.

        Of "$5k-$6k" the second sign does not; of "$7,000 CAD" the word says whose dollars they are.
        """
        piece = self.pieces[place]
        opens = piece.gap == "-" and self.number(place + 1) is not None
        return not opens and (currency is None or (currency == "USD" and piece.text.isalpha()))

    def bare_cents(self, end: int) -> int:
        """Behind the mark of `5000,- €`."""
        mark, behind = self.at(end), self.at(end + 1)
        bare = mark is not None and mark.text in {",", "."} and not mark.gap
        money = behind is not None and behind.gap in {" - ", "-"} and "budget_currency" in behind.means
        return end + 1 if bare and money else end

    def and_half(self, number: Number, end: int) -> tuple[Number, int]:
        """A carat and a half."""
        behind = self.at(end)
        if behind is None or number.measure is None or number.measure % 1:
            return number, end
        more = {"and_half": _HALF, "and_quarter": _HALF / 2}.get(behind.means.get("joins", ""))
        if more is None:
            return number, end
        return number._replace(measure=number.measure + more), end + 1

    # A range

    def quantity(self, place: int) -> Quantity | None:
        start = place
        piece = self.at(place)
        between = piece is not None and piece.has("joins", "between")
        if between:
            place += 1
        first = self.side(place)
        if first is None:
            return None
        joined = self.join(first.end, between=between)
        second = None if joined is None else self.side(joined[0])
        if second is not None and joined is not None:
            both = self.both(first, second, joined[1])
            if both is not None:
                return replace(both, first=start, last=second.end - 1)
        return self.one(first, start)

    def join(self, place: int, *, between: bool) -> tuple[int, str] | None:
        """Where the second end begins, and how it is joined."""
        piece = self.at(place)
        if piece is None:
            return None
        opens = piece.kind == "number" or "budget_currency" in piece.means or "numbers" in piece.means
        if opens and piece.gap in {"-", " - "}:
            return place, "to"
        if (piece.text in _TIMES and len(piece.text) == 1) or piece.has("joins", "times"):
            return place + 1, "times"
        if piece.has("joins", "to"):
            return place + 1, "to"
        if piece.has("joins", "or") or piece.text == "/":
            return place + 1, "or"
        return (place + 1, "to") if between and piece.has("joins", "and") else None

    def both(self, first: Side, second: Side, how: str) -> Quantity | None:
        """Two ends as one; None where they cannot be. Its place in the text is still to be said."""
        if (first.unit and second.unit and first.unit != second.unit) or (
            first.currency and second.currency and first.currency != second.currency
        ):
            return None
        scale = second.scale or first.scale
        # 15-20k are two thousands, 800-1k is one.
        small = first.scale is None and scale and (first.number.measure or 0) > (second.number.measure or 0)
        ends = (_End(first.number, None if small else scale), _End(second.number, scale))
        one = _count(ends, first.unit or second.unit, first.currency or second.currency)
        if one is None or how != "times":
            return one and replace(one, either=how == "or")
        plausible = _MILLIMETRES[0] <= one.low and one.high <= _MILLIMETRES[1]
        if one.unit not in {None, "millimeter"} or not plausible:
            return None
        return replace(one, low=one.high, unit="millimeter", sums=None, cross=True)

    @staticmethod
    def one(side: Side, start: int) -> Quantity | None:
        end = _End(side.number, side.scale)
        counted = _count((end, end), side.unit, side.currency)
        return counted and replace(counted, first=start, last=side.end - 1)

    def hedged(self, quantity: Quantity) -> Quantity:
        """With how certain it is said to be: before it, or right behind it."""
        pieces = self.pieces
        for distance in (1, 2):
            place = quantity.first - distance
            if place >= 0 and pieces[place].sentence == pieces[quantity.first].sentence:
                hedge = pieces[place].means.get("hedges")
                if hedge in {"up_to", "at_least"}:
                    return replace(quantity, hedge=hedge)
        if (behind := self.at(quantity.last + 1)) is not None and behind.has("hedges", "up_to", "at_least"):
            further = self.at(quantity.last + 2)
            # In "8k, max 10k" the word belongs to what follows.
            if behind.gap != " - " and (further is None or further.kind != "number"):
                return replace(quantity, hedge=behind.means["hedges"])
        return quantity


class _End(NamedTuple):
    number: Number
    scale: str | None

    def measure(self) -> Decimal | None:
        return None if self.scale else self.number.measure

    def money(self) -> Decimal | None:
        if self.scale is None:
            return self.number.money
        return None if self.number.measure is None else self.number.measure * _SCALES[self.scale]


def _count(ends: tuple[_End, _End], unit: str | None, currency: str | None) -> Quantity | None:
    """Smaller end first; what has a currency or thousands is money, and so is 15 000 without anything."""
    sums = _pair(ends[0].money(), ends[1].money())
    measures = None if unit is None and currency else _pair(ends[0].measure(), ends[1].measure())
    if measures is not None:
        return Quantity(*measures, unit, 0, 0, sums=sums)
    if sums is None or unit is not None:
        return None
    if sums[0] * 1000 <= sums[1] and ends[0].scale is None:
        sums = sums[0] * 1000, sums[1]  # $4-5,000
    return Quantity(*sums, "money", 0, 0, sums=sums, currency=currency)


def _pair(one: Decimal | None, other: Decimal | None) -> tuple[Decimal, Decimal] | None:
    return None if one is None or other is None else (min(one, other), max(one, other))


def _measure(text: str) -> Decimal | None:
    """A number of carats or millimetres: one mark at most, and it is a decimal mark."""
    if "'" in text or text.count(".") + text.count(",") > 1:
        return None
    return Decimal(text.replace(",", "."))


def _money(text: str) -> Decimal | None:
    """A sum: 5.000 and 5,000 are thousands, 5.00 and 5,0 are not."""
    match = _GROUPED.fullmatch(text)
    if match is None:
        return _measure(text)
    return Decimal(f"{match[1].replace(match[2], '')}.{match[3] or '0'}")
