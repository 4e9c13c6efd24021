"""A customer's message read into values of closed lists: numbers, days and tokens, and what stayed open.

Pure: the text, the lexicons and the day decide. Nothing of the text is in a reading, and what cannot be told
from it is left open rather than guessed.
"""

from collections.abc import Callable, Iterable, Mapping
from datetime import date
from itertools import pairwise
from typing import Final

from gradefloor.judge.amounts import quantities
from gradefloor.judge.counted import Counted, is_side
from gradefloor.judge.days import Days
from gradefloor.judge.finger_sizes import FingerSizes
from gradefloor.judge.message_findings import (
    FIELDS,
    MessageReading,
    Open,
    Read,
    Reading,
    Value,
    stays_open,
)
from gradefloor.judge.pieces import Piece, Span, cut, near
from gradefloor.rules.lexicons import CompiledLexicon

_LISTS: Final = ("tastes", "origins", "materials")
_SINGLE: Final = ("metal", "warmth", "style", "height", "band_fit", "wear", "heirloom", "errand")
_FLAGS: Final = ("surprise", "comparing")
# What a refusal reaches. Numbers, days, sums and an allergy are said as they are.
_REFUSABLE: Final = frozenset(
    {
        "shapes", "unsure_shapes", "emerald", "gem", "metal", "tastes", "style", "height", "band_fit",
        "origins", "materials", "wear", "surprise", "heirloom", "comparing", "errand",
    }
)  # fmt: skip
_SHAPES: Final = frozenset({"shapes", "unsure_shapes", "emerald"})
# What gives way where two are said of one thing: a solitaire may have a halo and a halo a band of pavé, what
# is worn at work is worn every day, and who wants to sell asks what it is worth.
_YIELDS: Final = {
    "style": ("solitaire", "pave"),
    "wear": ("everyday",),
    "errand": ("valuation",),
}
# Words between a refusal and what it refuses, and in a sentence so short that a shape alone is meant as one.
_REACH: Final = 5
_SHORT: Final = 4
_OWNED: Final = 5


def read_message(
    lexicons: Mapping[str, CompiledLexicon], text: str, as_of: date, language: str | None = None
) -> MessageReading:
    """All that a message says. Without a language the lexicon that reads most of it is used; ties by name.

    KeyError for a language that has no lexicon.
    """
    if language is not None:
        return _read(lexicons[language], text, as_of)[1]
    best: tuple[int, MessageReading] = (0, MessageReading(None, (), ()))
    for name in sorted(lexicons):
        words, reading = _read(lexicons[name], text, as_of)
        if words > best[0]:
            best = words, reading
    return best[1]


def _read(lexicon: CompiledLexicon, text: str, as_of: date) -> tuple[int, MessageReading]:
    """The reading, and how many words of the text the lexicon knows."""
    pieces = cut(text, lexicon)
    days = Days(pieces, as_of)
    days.dates()
    found = quantities(pieces, days.taken)
    days.spans(found)
    counted = Counted(pieces, found)
    words = _Words(pieces, {place for one in found for place in range(one.first, one.last + 1)})
    # Carats come first, because fineness of gold is no sum; the finger last, because it takes bare numbers.
    parts = [
        counted.carat(),
        counted.length(),
        counted.budget(),
        FingerSizes(pieces, found, counted.used).read(),
        days.settle(),
        words.read(),
    ]
    reads = sorted((read for part in parts for read in part[0]), key=lambda read: FIELDS.index(read.field))
    left = sorted((one for part in parts for one in part[1]), key=lambda one: FIELDS.index(one.field))
    known = sum(piece.words for piece in pieces if piece.kind == "phrase")
    return known, MessageReading(lexicon.language, tuple(reads), tuple(left))


class _Words:
    """Reads what phrases mean, once it is settled which of them are refused or speak of side stones."""

    def __init__(self, pieces: list[Piece], counted: set[int]) -> None:
        self.pieces = pieces
        # Places that belong to a number: their words are units.
        self.counted = counted
        self.refused: set[int] = set()
        self.aside: set[int] = set()
        self.refuse()

    def read(self) -> Reading:
        reads: list[Read] = []
        left: list[Open] = []
        for part in (self.shapes(), *map(self.several, _LISTS), *map(self.single, _SINGLE)):
            reads += part[0]
            left += part[1]
        for field in _FLAGS:
            reads += self.flag(field, True)
        reads += self.flag("avoids", ["nickel"])
        return reads, left

    # What is refused

    def refuse(self) -> None:
        for place, piece in enumerate(self.pieces):
            if piece.has("negations", "before"):
                self.spread(place, self.refused)
            elif piece.has("negations", "aside"):
                self.spread(place, self.aside)
            elif piece.has("negations", "both") and self.within(place, 1, _REACH) is not None:
                self.spread(place, self.refused)
            elif piece.has("negations", "after", "both"):
                self.back(place)

    def spread(self, place: int, refused: set[int]) -> None:
        """From a refusal to what it refuses, and along "or" and "and" to more of its kind."""
        target = self.within(place, 1, _REACH)
        if target is None:
            return
        # What is refused already has been followed already, or a row of refusals would cost its square.
        while target not in refused:
            refused.add(target)
            more = self.joined(target)
            if more is None:
                return
            refused.update(more[:-1])
            target = more[-1]

    def within(self, place: int, step: int, reach: int) -> int | None:
        """The nearest piece of the same clause that can be refused."""

        def refusable(piece: Piece) -> bool:
            return bool(_REFUSABLE & set(piece.means))

        found = near(self.pieces, place, step, reach, refusable)
        same = found is not None and self.pieces[found].clause == self.pieces[place].clause
        return found if same else None

    def joined(self, place: int) -> list[int] | None:
        """Places of what is joined to a refused piece: "or heart", ", round or heart".

        What is joined by "and" or by commas is of the same kind; "or" carries a refusal to anything.
        """
        found: list[int] = []
        kind = _kind(self.pieces[place])
        at = place + 1
        while at < len(self.pieces) and self.pieces[at].sentence == self.pieces[place].sentence:
            piece = self.pieces[at]
            joins = piece.means.get("joins")
            if piece.text != "," and joins not in {"or", "and"}:
                if not (piece.has("topics", "stone") or joins == "article"):
                    return None
                at += 1
                continue
            following = self.refusable_soon(at + 1, 1 if joins is None else 3)
            if following is None or (_kind(self.pieces[following]) != kind and joins != "or"):
                return None
            found.append(following)
            if joins is not None:
                return found
            at = following + 1
        return None

    def refusable_soon(self, place: int, reach: int) -> int | None:
        """Place of what can be refused among the next pieces, with small words at most before it."""
        for at in range(place, min(place + reach, len(self.pieces))):
            piece = self.pieces[at]
            if _kind(piece) is not None:
                return at
            if piece.kind in {"number", "mark", "blank"} or piece.has("negations", "stop"):
                return None
        return None

    def back(self, place: int) -> None:
        """From a refusal to what stands before it: "Halo möchte ich nicht"."""
        target = self.within(place, -1, _REACH + 1)
        if target is not None:
            self.refused.add(target)

    def stands(self, place: int) -> bool:
        """Whether what a piece means is wanted, of the ring itself."""
        return place not in self.refused and place not in self.aside and not self.beside(place)

    def beside(self, place: int) -> bool:
        """Whether a piece speaks of side stones."""
        if is_side(self.pieces, place):
            return True
        lead = near(self.pieces, place, -1, 3, lambda piece: piece.has("topics", "side_lead"))
        return lead is not None and not any(
            _REFUSABLE & set(piece.means) for piece in self.pieces[lead + 1 : place]
        )

    # Shapes

    def shapes(self) -> Reading:
        said: dict[str, dict[str, list[Span]]] = {"wanted": {}, "refused": {}, "gem": {}, "either": {}}
        for place, piece in enumerate(self.pieces):
            kind, token = self.shape_or_gem(place)
            if kind is not None:
                said[kind].setdefault(token, []).append((piece.start, piece.end))
        wanted, refused, either = said["wanted"], said["refused"], said["either"]
        reads: list[Read] = []
        both = [shape for shape in wanted if shape in refused]
        left = [
            stays_open("shapes", "wanted_and_refused", *sorted(wanted.pop(shape) + refused.pop(shape)))
            for shape in both
        ]
        for field, found in (("shapes", wanted), ("refused_shapes", refused)):
            if found:
                reads.append(Read(field, list(found), _spans(found)))
        if either:
            left.append(stays_open("shapes", "gem_or_cut", *_spans(either)))
        gem = _single("gem", said["gem"])
        return reads + gem[0], left + gem[1]

    def shape_or_gem(self, place: int) -> tuple[str | None, str]:
        """Whether a piece is a shape wanted or refused, a gem, or either; and which."""
        piece, shape = self.pieces[place], self.shape(place)
        if shape in {"gem", "either"}:
            return shape, "emerald"
        if shape is not None and place in self.refused:
            return "refused", shape
        if not self.stands(place):
            return None, ""
        if shape is not None:
            return "wanted", shape
        return ("gem", piece.means["gem"]) if "gem" in piece.means else (None, "")

    def shape(self, place: int) -> str | None:
        """The shape a piece means, `gem` for the green gem, `either` where that cannot be told."""
        piece = self.pieces[place]
        if "shapes" in piece.means:
            return piece.means["shapes"]
        if piece.has("emerald", "either"):
            return self.emerald(place)
        if "unsure_shapes" not in piece.means or ("hedges" in piece.means and self.counts(place + 1)):
            return None
        sure = place in self.refused or self.about_stones(place)
        return piece.means["unsure_shapes"] if sure else None

    def counts(self, place: int) -> bool:
        """Whether a number stands here: "rund 5.000" is no shape."""
        return place in self.counted

    def emerald(self, place: int) -> str | None:
        if place in self.refused:
            return "emerald" if self.signs(place, _is_cut_sign) else None
        if not self.stands(place):
            return None
        gem = self.signs(place, lambda piece: piece.has("emerald", "gem_sign"))
        if gem:
            return "gem"
        return "emerald" if self.signs(place, _is_cut_sign) else "either"

    def signs(self, place: int, wanted: Callable[[Piece], bool]) -> bool:
        return any(near(self.pieces, place, step, 12, wanted) is not None for step in (-1, 1))

    def about_stones(self, place: int) -> bool:
        """Whether the sentence speaks of stones, or has hardly another word."""

        def stones(piece: Piece) -> bool:
            return (
                piece.has("topics", "stone")
                or piece.has("units", "carat", "millimeter")
                or bool({"shapes", "unsure_shapes", "style", "metal", "origins", "tastes"} & set(piece.means))
            )

        sentence = self.pieces[place].sentence
        around = self.pieces[max(0, place - _SHORT) : place + _SHORT + 1]
        short = sum(piece.words for piece in around if piece.sentence == sentence and piece.kind != "mark")
        return short <= _SHORT or self.signs(place, stones)

    # Other fields

    def places(self, field: str) -> list[int]:
        return [
            place
            for place, piece in enumerate(self.pieces)
            if field in piece.means and place not in self.counted and self.stands(place)
        ]

    def tokens(self, field: str) -> tuple[dict[str, list[Span]], list[Open]]:
        """Where each token of a field is wanted, and those that are refused in another place."""
        found = self.by_token(field, self.places(field))
        refused = self.by_token(field, [place for place in self.refused if field in self.pieces[place].means])
        left = [
            stays_open(field, "wanted_and_refused", *sorted(found.pop(token) + refused[token]))
            for token in [token for token in found if token in refused]
        ]
        return found, left

    def by_token(self, field: str, places: list[int]) -> dict[str, list[Span]]:
        found: dict[str, list[Span]] = {}
        for piece in (self.pieces[place] for place in places):
            found.setdefault(piece.means[field], []).append((piece.start, piece.end))
        return found

    def several(self, field: str) -> Reading:
        found, left = self.tokens(field)
        return ([Read(field, list(found), _spans(found))] if found else []), left

    def single(self, field: str) -> Reading:
        found, left = self.tokens(field)
        if field == "heirloom":
            self.inherit(found)
        if not self.alternatives(field):
            for weaker in _YIELDS.get(field, ()):
                if len(found) > 1:
                    found.pop(weaker, None)
        reads, more = _single(field, found)
        return reads, left + more

    def alternatives(self, field: str) -> bool:
        """Whether two of a field are joined by an "or"."""
        places = self.places(field)
        return any(
            any(piece.has("joins", "or") for piece in self.pieces[one:other])
            for one, other in pairwise(places)
            if other - one <= _REACH
        )

    def inherit(self, found: dict[str, list[Span]]) -> None:
        """An owner with a stone or gold shortly behind or right before: my grandmother's old diamond."""

        def thing(piece: Piece) -> bool:
            return piece.has("inherited", "stone", "metal")

        for place, piece in enumerate(self.pieces):
            if not piece.has("inherited", "owner"):
                continue
            behind = near(self.pieces, place, 1, _OWNED, thing)
            for at in (behind, near(self.pieces, place, -1, 2, thing)):
                if at is None or at in self.refused or self.pieces[at].clause != piece.clause:
                    continue
                ends = (piece, self.pieces[at])
                span = (min(end.start for end in ends), max(end.end for end in ends))
                found.setdefault(self.pieces[at].means["inherited"], []).append(span)
                break

    def flag(self, field: str, value: Value) -> list[Read]:
        found, _ = self.tokens(field)
        return [Read(field, value, _spans(found))] if found else []


def _is_cut_sign(piece: Piece) -> bool:
    return (
        piece.has("emerald", "cut_sign")
        or piece.has("units", "carat", "millimeter")
        or "shapes" in piece.means
        or "weights" in piece.means
    )


def _kind(piece: Piece) -> str | None:
    """What of a piece can be refused; all words for shapes are of one kind."""
    fields = _REFUSABLE & set(piece.means)
    return "shapes" if fields & _SHAPES else min(fields, default=None)


def _spans(found: Mapping[str, Iterable[Span]]) -> tuple[Span, ...]:
    return tuple(sorted(span for spans in found.values() for span in spans))


def _single(field: str, found: Mapping[str, list[Span]]) -> Reading:
    """A field that has one value, or none where two are said."""
    if not found:
        return [], []
    if len(found) > 1:
        return [], [stays_open(field, "more_than_one", *_spans(found))]
    return [Read(field, next(iter(found)), _spans(found))], []
