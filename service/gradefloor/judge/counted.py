"""What a message counts: carats, millimetres, and the budget with all that belongs to it."""

from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal
from typing import Final

from gradefloor.judge.amounts import Quantity
from gradefloor.judge.message_findings import Read, Reading, Value, stays_open
from gradefloor.judge.pieces import Piece, Span, near

# Fineness of gold in karats: ISO 9202 knows 9, 14, 18 and 22; the others are in use, from memory.
_FINENESS: Final = frozenset(map(Decimal, (8, 9, 10, 14, 18, 21, 22, 24)))
# Those of them that people write as 14k and 18k without a word for gold, and seldom mean as money.
_OFTEN_GOLD: Final = frozenset(map(Decimal, (14, 18, 22, 24)))
# What a center can weigh in ct and measure in mm, and what is spent on one. Beyond is a slip, or something
# else was meant. House limits, no source.
_CARATS: Final = (Decimal("0.05"), Decimal(50))
_MILLIMETRES: Final = (Decimal(2), Decimal(40))
_SMALLEST_CROSS: Final = Decimal(4)
_MONEY: Final = (Decimal(50), Decimal(100_000_000))
# A number without currency is a sum from here on, where a budget is spoken of, and does not look like a year.
_BARE_MONEY: Final = Decimal(200)
_YEARS: Final = (Decimal(1900), Decimal(2100))
_POINTS: Final = Decimal(100)


def settle(found: list[Quantity]) -> tuple[Decimal, Decimal] | None:
    """The one range that all statements agree on; None where they contradict each other.

    A range that holds all others speaks for them, and a limit carries on from a smaller number.
    """
    ends = {(one.low, one.high) for one in found}
    low, high = min(one.low for one in found), max(one.high for one in found)
    if (low, high) in ends:
        return low, high
    limited = all(one.hedge == "up_to" for one in found if one.high == high)
    open_ended = all(one.hedge == "at_least" for one in found if one.low == low)
    if len(ends) == 2 and all(a == b for a, b in ends) and (limited or open_ended):  # noqa: PLR2004 - both ends
        return low, high
    return None


class Counted:
    """Reads numbers among the pieces of one message."""

    def __init__(self, pieces: list[Piece], found: list[Quantity]) -> None:
        self.pieces = pieces
        self.found = found
        # Numbers that some field has taken, by the place of their first piece.
        self.used: set[int] = set()

    def span(self, quantity: Quantity) -> Span:
        return self.pieces[quantity.first].start, self.pieces[quantity.last].end

    def spans(self, found: Iterable[Quantity]) -> tuple[Span, ...]:
        return tuple(self.span(one) for one in found)

    def about(self, quantity: Quantity, back: int, ahead: int, *topics: str) -> bool:
        """Whether one of these topics stands near a quantity, in the same clause."""

        def wanted(piece: Piece) -> bool:
            return piece.has("topics", *topics)

        for place, step, reach in ((quantity.first, -1, back), (quantity.last, 1, ahead)):
            at = near(self.pieces, place, step, reach, wanted)
            if at is not None and self.pieces[at].clause == self.pieces[place].clause:
                return True
        return False

    def is_fineness(self, quantity: Quantity) -> bool:
        """Karats of gold, which are no weight and no thousands."""
        if quantity.currency or quantity.low != quantity.high:
            return False
        karats = quantity.low / 1000 if quantity.unit == "money" else quantity.low
        if karats not in _FINENESS or quantity.unit not in {"carat", "money"}:
            return False

        def gold(piece: Piece) -> bool:
            return "metal" in piece.means or piece.has("topics", "gold")

        if near(self.pieces, quantity.last, 1, 1, gold) is not None and not self.about(
            quantity, 1, 0, "budget"
        ):
            return True  # 9k gold ring
        limited = quantity.hedge is not None or self.about(quantity, 6, 0, "budget")
        if quantity.unit == "money" and limited:
            return False  # budget 10k, white gold
        around = near(self.pieces, quantity.last, 1, 2, gold), near(self.pieces, quantity.first, -1, 2, gold)
        return around != (None, None) and not self.about(quantity, 0, 2, "budget", "stone")

    def ranged(self, field: str, found: list[Quantity]) -> Reading:
        """A field whose value is a number or a range."""
        if not found:
            return [], []
        self.used.update(one.first for one in found)
        ends = settle(found)
        if ends is None:
            return [], [stays_open(field, "more_than_one", *self.spans(found))]
        value: Value = [float(end) for end in dict.fromkeys(ends)]
        return [Read(field, value, self.spans(found))], []

    # Weight and length

    def carat(self) -> Reading:
        found: list[Quantity] = []
        total: list[Quantity] = []
        for one in self.found:
            if self.is_fineness(one):
                self.used.add(one.first)
                continue
            carats = one
            if one.unit == "point":
                carats = replace(one, low=one.low / _POINTS, high=one.high / _POINTS)
            if one.unit == "total_carat":
                total.append(one)
            elif one.unit in {"carat", "point"} and within(carats, _CARATS) and not self.is_side(one):
                found.append(carats)
        reads, left = self.ranged("carat", found)
        if total and not reads:
            left.append(stays_open("carat", "total_weight", *self.spans(total)))
        return reads, left

    def is_side(self, quantity: Quantity) -> bool:
        """Whether it counts side stones: they follow with nothing but words for stones between."""
        return is_side(self.pieces, quantity.last)

    def length(self) -> Reading:
        return self.ranged("length_mm", [one for one in self.found if self.is_length(one)])

    def is_length(self, one: Quantity) -> bool:
        """Whether it is the stone's: not the band's, not a finger's, not a side stone's."""
        if one.unit != "millimeter" or not within(one, _MILLIMETRES) or self.is_side(one):
            return False
        if one.cross and one.low < _SMALLEST_CROSS:
            return False  # 3x2 is a ratio, and no stone in the middle of a ring is so small
        if near(self.pieces, one.first, -1, 3, lambda piece: piece.has("topics", "finger")) is not None:
            return False
        return one.cross or self.about(one, 0, 2, "length") or not self.about(one, 3, 3, "other_length")

    # The budget

    def budget(self) -> Reading:
        found = [money for one in self.found if (money := self.money(one)) is not None]
        reads, left = self.ranged("budget_amount", found)
        sentences = {self.pieces[one.first].sentence for one in found}
        spoken = sentences | {piece.sentence for piece in self.pieces if piece.has("topics", "budget")}
        spans = self.spans(found) if reads else ()
        for part in (
            self.currency(found, spoken, spans),
            self.covers(spoken, spans),
            self.tax(sentences, spans),
        ):
            reads += part[0]
            left += part[1]
        return reads, left

    def money(self, one: Quantity) -> Quantity | None:
        """The quantity as a sum that may be spent; None for what is not one."""
        if one.first in self.used or one.sums is None or self.is_fineness(one):
            return None
        money = replace(one, low=one.sums[0], high=one.sums[1], unit="money")
        cue = self.nearest_cue(one)
        if not within(money, _MONEY) or cue == "other":
            return None
        if one.unit == "money":
            karats = one.low / 1000 in _OFTEN_GOLD and one.currency is None
            return None if karats and cue is None and one.hedge is None else money
        bare = one.unit is None and not one.either and money.low >= _BARE_MONEY and not self.is_year(one)
        limited = one.hedge == "up_to" and money.low >= _BARE_MONEY
        return money if bare and (cue == "budget" or limited) and not self.sized(one) else None

    def is_year(self, one: Quantity) -> bool:
        text = self.pieces[one.first].text
        return text.isdigit() and one.low == one.high and within(one, _YEARS) and one.low % 100 != 0

    def sized(self, one: Quantity) -> bool:
        return self.about(one, 3, 0, "finger")

    def nearest_cue(self, one: Quantity) -> str | None:
        """Whether a budget or another's price is spoken of nearest to a sum, before it rather than behind."""

        def cue(piece: Piece) -> bool:
            return piece.has("topics", "budget", "other_price") or "comparing" in piece.means

        for place, step, reach in ((one.first, -1, 12), (one.last, 1, 8)):
            at = near(self.pieces, place, step, reach, cue)
            if at is not None and (step < 0 or self.pieces[at].clause == self.pieces[place].clause):
                return "budget" if self.pieces[at].has("topics", "budget") else "other"
        return None

    def currency(self, found: list[Quantity], spoken: set[int], spans: tuple[Span, ...]) -> Reading:
        named = {one.currency for one in found if one.currency is not None}
        budget = _places(found)
        # Where no sum of the budget has a currency, one may stand beside it, but not with another's price.
        other = _places(one for one in self.found if one.currency is not None) - budget
        marks = [
            piece
            for place, piece in enumerate(self.pieces)
            if "budget_currency" in piece.means
            and piece.sentence in spoken
            and (place in budget if named else place not in other)
        ]
        codes = named or {piece.means["budget_currency"] for piece in marks}
        where = tuple((piece.start, piece.end) for piece in marks)
        if len(codes) == 1:
            return [Read("budget_currency", codes.pop(), where)], []
        if codes:
            return [], [stays_open("budget_currency", "more_than_one", *where)]
        return [], [stays_open("budget_currency", "not_said", *spans)] if spans else []

    def covers(self, spoken: set[int], spans: tuple[Span, ...]) -> Reading:
        found = [
            piece
            for place, piece in enumerate(self.pieces)
            if "budget_covers" in piece.means
            and (piece.sentence in spoken or (piece.sentence - 1 in spoken and self.opens(place)))
        ]
        said = {piece.means["budget_covers"]: (piece.start, piece.end) for piece in found}
        unclear = said.pop("unclear", None)
        if len(said) == 1:
            token = next(iter(said))
            where = tuple((p.start, p.end) for p in found if p.has("budget_covers", token))
            return [Read("budget_covers", token, where)], []
        if said:
            return [], [stays_open("budget_covers", "more_than_one", *said.values())]
        if unclear is not None:
            return [], [stays_open("budget_covers", "more_than_stone", unclear)]
        return [], [stays_open("budget_covers", "not_said", *spans)] if spans else []

    def opens(self, place: int) -> bool:
        """Whether a piece is among the first three of its sentence: "That is for the stone"."""
        return place < 3 or self.pieces[place - 3].sentence != self.pieces[place].sentence  # noqa: PLR2004

    def tax(self, sentences: set[int], spans: tuple[Span, ...]) -> Reading:
        asked = {piece.sentence for piece in self.pieces if piece.text == "?"} - sentences
        found = [
            piece for piece in self.pieces if "tax_included" in piece.means and piece.sentence not in asked
        ]
        where = tuple((piece.start, piece.end) for piece in found)
        said = {piece.means["tax_included"] for piece in found}
        if len(said) == 1:
            return [Read("tax_included", said == {"included"}, where)], []
        if said:
            return [], [stays_open("tax_included", "more_than_one", *where)]
        return [], [stays_open("tax_included", "not_said", *spans)] if spans else []


def is_side(pieces: list[Piece], place: int) -> bool:
    """Whether side stones follow a piece, with nothing between but words for stones, shapes and joins."""
    for behind in pieces[place + 1 : place + 7]:
        if behind.clause != pieces[place].clause:
            return False
        if behind.has("topics", "side"):
            return True
        if not (
            behind.has("topics", "stone")
            or behind.has("joins", "or", "and")
            or {"shapes", "unsure_shapes"} & set(behind.means)
        ):
            return False
    return False


def _places(found: Iterable[Quantity]) -> set[int]:
    return {place for one in found for place in range(one.first, one.last + 1)}


def within(one: Quantity, limits: tuple[Decimal, Decimal]) -> bool:
    return limits[0] <= one.low and one.high <= limits[1]
