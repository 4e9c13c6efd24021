"""Finger sizes in a message: a size with its system, or a guess at one."""

import re
from dataclasses import dataclass
from decimal import Decimal
from typing import Final, NamedTuple

from gradefloor.judge.amounts import Quantity
from gradefloor.judge.counted import within
from gradefloor.judge.message_findings import Read, Reading, Value, stays_open
from gradefloor.judge.pieces import Piece, Span, near
from gradefloor.trade.rings import TABLES, SizeSystem, circumference_mm

# Marks of ISO 8653 that no other system has, as far as rings are sold by them.
_ISO_FROM: Final = Decimal(40)
_ISO_TO: Final = Decimal(76)
# Two labels of one finger in two systems lie no further apart than half a label of the coarser, in mm around.
_SAME_FINGER: Final = Decimal("0.7")
_PI: Final = Decimal("3.14159")
_HALVES: Final = frozenset({"½", "1/2"})


class Cue(NamedTuple):
    """A word for sizes; the system only if it is said."""

    system: SizeSystem | None


@dataclass(frozen=True, slots=True)
class Size:
    """One statement of a finger size."""

    system: SizeSystem | None
    size: str
    guessed: bool
    span: Span


class FingerSizes:
    """Reads sizes among the pieces of one message; quantities that begin at a place in `used` are taken."""

    def __init__(self, pieces: list[Piece], found: list[Quantity], used: set[int]) -> None:
        self.pieces = pieces
        self.quantities = found
        self.used = set(used)

    def span(self, first: int, last: int) -> Span:
        return self.pieces[first].start, self.pieces[last].end

    def read(self) -> Reading:
        """The size, or a guess at it; nothing where two are stated that are not of one finger."""
        # Letters first, because the half behind one is no number of its own.
        found = [size for place in range(len(self.pieces)) if (size := self.letter(place)) is not None]
        found += [size for one in self.quantities if (size := self.counted_size(one)) is not None]
        several = [self.span(one.first, one.last) for one in self.quantities if self.is_spread(one)]
        where = sorted([*(size.span for size in found), *several])
        if not where:
            return [], []
        off = [size for size in found if size.system is not None and not _on_table(size.system, size.size)]
        if off:
            return [], [stays_open("finger", "off_the_table", *(size.span for size in off))]
        if several or not _agree(found):
            return [], [stays_open("finger", "more_than_one", *where)]
        for size in found:
            if size.system is not None and not size.guessed:
                value: Value = {"system": size.system, "size": size.size}
                return [Read("finger", value, tuple(one.span for one in found))], []
        guess = Read("finger_guess", found[0].size, tuple(where))
        return [guess], [stays_open("finger", "only_a_guess", *where)]

    def is_spread(self, one: Quantity) -> bool:
        """Whether two numbers are given for one finger: 6 or 6.5."""
        bare = one.unit is None and one.first not in self.used and one.low != one.high and not one.cross
        return bare and within(one, (Decimal(1), _ISO_TO)) and self.cue(one.first, one.last) is not None

    def counted_size(self, one: Quantity) -> Size | None:
        if one.first in self.used or one.low != one.high or one.unit not in {None, "millimeter"}:
            return None
        if one.unit == "millimeter" and not _ISO_FROM <= one.low <= _ISO_TO:
            return None
        cue = self.cue(one.first, one.last)
        if cue is None or not 0 <= one.low <= _ISO_TO:
            return None
        text = f"{one.low.normalize():f}"
        system = cue.system or ("iso" if one.low >= _ISO_FROM else None)
        return Size(system, text, self.guessed(one.first, one.last), self.span(one.first, one.last))

    def letter(self, place: int) -> Size | None:
        """A size of the UK: a capital letter behind a word for sizes; I only with the system's name."""
        piece = self.pieces[place]
        if not (piece.capital and len(piece.text) == 1 and "a" <= piece.text <= "z"):
            return None
        cue = self.cue(place, place)
        if cue is None or cue.system not in {None, "uk"} or (piece.text == "i" and cue.system is None):
            return None
        last = place
        behind = "".join(part.text for part in self.pieces[place + 1 : place + 4])
        for half in _HALVES:
            if behind.startswith(half):
                last = place + len(half)
                self.used.update(range(place, last + 1))
        text = piece.text.upper() + ("½" if last > place else "")
        return Size("uk", text, self.guessed(place, last), self.span(place, last))

    def cue(self, first: int, last: int) -> Cue | None:
        """What makes a number a size: a word for sizes or a system before it, or a system behind it."""
        word = False
        for place in range(first - 1, max(-1, first - 7), -1):
            piece = self.pieces[place]
            if piece.sentence != self.pieces[first].sentence or piece.kind == "number":
                break
            if _names_system(piece):
                return Cue(_system(piece))
            word = word or piece.has("topics", "finger")
        for place in range(last + 1, min(len(self.pieces), last + 4)):
            piece = self.pieces[place]
            if piece.sentence != self.pieces[first].sentence or piece.kind == "number" or piece.text == ",":
                break
            if _names_system(piece):
                # In "17 (EU 54)" the system is the other number's.
                other = self.pieces[place + 1 : place + 2]
                if other and other[0].kind == "number" and other[0].sentence == piece.sentence:
                    break
                return Cue(_system(piece))
            word = word or (piece.has("topics", "finger") and place <= last + 2)
        return Cue(None) if word else None

    def guessed(self, first: int, last: int) -> bool:
        """Whether a size is said to be a guess: before it in its clause, about it, or shortly behind it."""

        def guess(piece: Piece) -> bool:
            return piece.has("hedges", "guess")

        before = near(self.pieces, first, -1, 8, guess)
        if before is not None and self.pieces[before].clause == self.pieces[first].clause:
            return True
        if near(self.pieces, first, -1, 3, lambda piece: piece.has("hedges", "about")) is not None:
            return True
        return near(self.pieces, last, 1, 4, guess) is not None


def _names_system(piece: Piece) -> bool:
    """A system of sizes; the pronoun "us" is none."""
    return "sizes" in piece.means and (piece.capital or piece.words > 1)


def _system(piece: Piece) -> SizeSystem:
    systems: dict[str, SizeSystem] = {"us": "us", "uk": "uk", "iso": "iso"}
    return systems[piece.means["sizes"]]


def _on_table(system: SizeSystem, size: str) -> bool:
    return re.fullmatch(TABLES[system].pattern, size) is not None


def _agree(found: list[Size]) -> bool:
    """Whether all statements can be of one finger."""
    sizes = {(size.system, size.size) for size in found}
    systems = [system for system, _ in sizes if system is not None]
    if len(sizes) == 1 or (len({size for _, size in sizes}) == 1 and len(systems) == 1):
        return True
    if len(set(systems)) < len(systems) or not systems or len(sizes) - len(systems) > 1:
        return False
    around = [circumference_mm(system, size) for system, size in sizes if system is not None]
    bare = [size for system, size in sizes if system is None]
    if bare:
        # A number without its system is a US size or millimetres across.
        could_be = [Decimal(bare[0]) * _PI]
        if _on_table("us", bare[0]):
            could_be.append(circumference_mm("us", bare[0]))
        around.append(min(could_be, key=lambda one: abs(one - around[0])))
    return max(around) - min(around) <= _SAME_FINGER
