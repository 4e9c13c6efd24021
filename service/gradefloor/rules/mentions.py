"""A text cut into what it mentions: terms of a phrasebook, weights, grades, and where each of them stands.

Word-aware: case, accents, hyphens, kinds of spaces, invisible characters and look-alike letters make no
difference, nor does the s of a plural. A term that is negated is marked as such; one inside a longer phrase
is not found. Linear in the length of the text. Spans count code points from 0, the end exclusive.
"""

import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property
from typing import Final, NamedTuple

from gradefloor.rules.lexicons import Token, tokens
from gradefloor.trade.grades import CLARITY
from gradefloor.trade.listings import Language

# Letters of other scripts that look like ours (the most usual of Unicode's list of confusables, UTS 39).
_LOOK_ALIKES: Final = str.maketrans(
    "\u0430\u0435\u043e\u0440\u0441\u0443\u0445\u0456\u0458\u0455\u04bb\u0501\u051b\u0432\u043d\u043a\u043c\u0442"
    "\u03b1\u03bf\u03c1\u03b9\u03bd\u03c5\u03ba\u03c4\u0261\u0131\u217c",
    "aeopcyxijshdqbhkmt" "aopivukt" "gil",
)  # fmt: skip
_SHORTEST_PLURAL: Final = 4
# How many pieces before a term may stand between it and what negates it.
NEGATION_REACH: Final = 5
_CLAUSE_ENDS: Final = frozenset(".,;:!?()[]|\u2026\u2022\u00b7")
_SENTENCE_ENDS: Final = frozenset(".!?;\u2026\u2022")
_BARS: Final = frozenset({"/", "\u2044"})
_FRACTIONS: Final = {"\u00bd": "0.5", "\u00bc": "0.25", "\u00be": "0.75", "\u2153": "0.33", "\u2154": "0.67"}
_CLARITY_WORDS: Final = frozenset({"vvs", "vs", "si", "i", "p"})

# Terms that the code itself asks for: a phrasebook may list words for each, and more terms of its own.
STRUCTURE: Final = {
    "diamond": "The stone by its name.",
    "gem_word": "A word for any gem.",
    "precious_stone": "A stone that is called precious or fine.",
    "substitute_name": "A substitute by its name.",
    "laboratory": "A full word for made in a laboratory.",
    "lab_short": "A shortened word for it, such as lab-grown.",
    "lab_bare": "An abbreviation that says even less, such as lab does.",
    "lgd": "An abbreviation that stands for the stone, too.",
    "synthetic": "Synthetic, in any form.",
    "created": "Made by somebody, as in maker-created.",
    "cultured": "Cultured, cultivated.",
    "imitation": "Said of what only looks like it.",
    "real": "Real, genuine, natural, precious.",
    "mined": "Mined.",
    "gold": "The metal.",
    "karat": "What counts 24ths of gold behind a number.",
    "platinum": "The metal.",
    "plated": "A layer of the metal on another.",
    "carat": "What counts carats behind a number, or before it.",
    "point": "What counts hundredths of a carat behind a number.",
    "facet": "What counts facets behind a number.",
    "fraction": "A fraction of a carat in words.",
    "inexact": "Said of a weight that is not exact.",
    "other_stones": "Said of a weight that is not the center's alone.",
    "brilliant": "Brilliant, brilliant cut, full cut.",
    "form": "A form that may stand beside brilliant.",
    "form_round": "Round, beside brilliant.",
    "few_facets": "A cut of fewer facets by its own name, such as rose.",
    "color": "The word color, beside a letter.",
    "to": "What stands between the ends of a range.",
    "negation": "What refuses the words behind it.",
    "negation_after": "What refuses the word directly before it.",
    "turn": "What ends the reach of a negation, as but does.",
    "plain": "A phrase that claims nothing, whatever words are in it.",
}
# Made by the code from numbers and letters, not listed in a phrasebook.
COUNTED: Final = {
    "weight": "A weight in decimals or a whole number of carats.",
    "weight_fraction": "A weight as a fraction.",
    "weight_points": "A weight in points.",
    "clarity_grade": "A clarity grade.",
    "color_grade": "A color letter.",
}
# Words that say how a stone came about, the plainest first.
QUALIFIERS: Final = (
    "laboratory", "synthetic", "created", "lab_short", "lab_bare", "imitation", "cultured"
)  # fmt: skip


# Words that show that a sentence speaks of the stone.
OF_STONES: Final = frozenset({
    "diamond", "lgd", "gem_word", "precious_stone", "substitute_name", "carat", "form", "form_round",
    "brilliant",
})  # fmt: skip


def fold(word: str) -> str:
    """A folded token without accents, look-alikes and the s of a plural."""
    if not word.isascii():
        word = word.translate(_LOOK_ALIKES)
        word = "".join(c for c in unicodedata.normalize("NFD", word) if unicodedata.category(c) != "Mn")
        word = word.replace("\u0153", "oe")
    word = word.removesuffix("'s")
    return word[:-1] if len(word) >= _SHORTEST_PLURAL and word[-1] == "s" else word


@dataclass(frozen=True, slots=True)
class Phrases:
    """A compiled phrasebook: the term of each phrase, a phrase being a row of folded words."""

    terms: Mapping[tuple[str, ...], str]
    longest: Mapping[str, int]


class Counted(NamedTuple):
    """A figure of a mention: its value, and with how many decimals it was written."""

    value: Decimal
    decimals: int


@dataclass(slots=True)
class Piece:
    """A phrase of the book, or any other token; `text` is folded."""

    term: str | None
    text: str
    start: int
    end: int
    kind: str
    gap: str
    clause: int = 0
    sentence: int = 0


@dataclass(frozen=True, slots=True)
class Mention:
    """One term in one part of a text; `place` is its piece, `length` how many pieces it takes."""

    term: str
    part: str
    start: int
    end: int
    place: int
    length: int = 1
    negated: bool = False
    counted: Counted | None = None
    grade: str | None = None


@dataclass(frozen=True)
class Part:
    """The title or the text, cut."""

    name: str
    language: Language
    text: str
    pieces: Sequence[Piece] = field(repr=False)

    @cached_property
    def mentions(self) -> Sequence[Mention]:
        """All that it mentions, in order."""
        found = [*self._phrases(), *_weights(self), *_grades(self)]
        return sorted(found, key=lambda mention: (mention.start, mention.end))

    @cached_property
    def spread(self) -> tuple[Decimal, Decimal] | None:
        """The first range of weights in decimals, as `0.46 to 0.54 ct`."""
        for place in range(1, len(self.pieces) - 1):
            most = figure(self.pieces[place]) if self.pieces[place + 1].term == "carat" else None
            least = range_begins(self.pieces, place) if most is not None and most.decimals else None
            if most is not None and least is not None:
                return least.value, most.value
        return None

    @cached_property
    def terms(self) -> frozenset[str]:
        """Every term of it, negated or not."""
        return frozenset(piece.term for piece in self.pieces if piece.term is not None)

    @cached_property
    def sentences_of_stones(self) -> frozenset[int]:
        return frozenset(piece.sentence for piece in self.pieces if piece.term in OF_STONES)

    def _phrases(self) -> Iterator[Mention]:
        for place, piece in enumerate(self.pieces):
            if piece.term is not None:
                yield self.mention(piece.term, place)

    def mention(
        self, term: str, place: int, length: int = 1, counted: Counted | None = None, grade: str | None = None
    ) -> Mention:
        first, last = self.pieces[place], self.pieces[place + length - 1]
        negated = self.negated(place, place + length)
        return Mention(term, self.name, first.start, last.end, place, length, negated, counted, grade)

    def negated(self, place: int, behind: int) -> bool:
        """Whether something refuses what stands here, within reach and within its clause."""
        pieces = self.pieces
        after = pieces[behind] if behind < len(pieces) else None
        if after is not None and after.term == "negation_after" and after.clause == pieces[place].clause:
            return True
        for before in range(place - 1, max(-1, place - 1 - NEGATION_REACH), -1):
            piece = pieces[before]
            if piece.clause != pieces[place].clause or piece.term == "turn":
                return False
            if piece.term == "negation":
                return True
        return False

    def around(self, mention: Mention, step: int, reach: int) -> Iterator[Piece]:
        """Pieces of the same sentence, the nearest first, ahead (1) or back (-1)."""
        place = mention.place - 1 if step < 0 else mention.place + mention.length
        sentence = self.pieces[mention.place].sentence
        for index in range(place, place + step * reach, step):
            if not 0 <= index < len(self.pieces) or self.pieces[index].sentence != sentence:
                return
            yield self.pieces[index]


def cut(name: str, text: str, language: Language, phrases: Phrases) -> Part:
    """A part of a text; the longest phrase wins."""
    found = tokens(text)
    words = [fold(token.text) for token in found]
    pieces: list[Piece] = []
    place = 0
    while place < len(found):
        count, term = _longest(found, words, place, phrases)
        first, last = found[place], found[place + count - 1]
        kind = "phrase" if term else first.kind
        said = words[place] if count == 1 else " ".join(words[place : place + count])
        pieces.append(Piece(term, said, first.start, last.end, kind, first.gap))
        place += count
    _number(pieces)
    return Part(name, language, text, pieces)


def _longest(found: list[Token], words: list[str], place: int, phrases: Phrases) -> tuple[int, str | None]:
    reach = min(place + phrases.longest.get(words[place], 0), len(found))
    for end in range(place + 1, reach):
        if found[end].gap in {" - ", "\n\n"}:
            reach = end
            break
    for end in range(reach, place, -1):
        term = phrases.terms.get(tuple(words[place:end]))
        if term is not None:
            return end - place, term
    return 1, None


def _number(pieces: list[Piece]) -> None:
    clause = sentence = 0
    for piece, before in zip(pieces, [None, *pieces], strict=False):
        if before is not None:
            parted = piece.gap in {"\n", "\n\n"}
            ended = before.text in _SENTENCE_ENDS and (bool(piece.gap) or before.text != ".")
            if parted or ended:
                sentence += 1
            if parted or ended or piece.gap == " - " or {piece.text, before.text} & _CLAUSE_ENDS:
                clause += 1
        piece.clause, piece.sentence = clause, sentence


# Figures


def figure(piece: Piece) -> Counted | None:
    """The number of a piece: a point or a comma before one to three digits parts its decimals."""
    if piece.kind != "number":
        return None
    text = piece.text.replace("'", "")
    whole, mark, decimals = text.replace(",", ".").partition(".")
    if "." in decimals or not (whole + decimals).isdigit():
        return None
    return Counted(Decimal(f"{whole or 0}.{decimals or 0}"), len(decimals) if mark else 0)


def _weights(part: Part) -> Iterator[Mention]:
    """Figures that carats or points stand behind; the ends of a range are no claim of one weight."""
    pieces = part.pieces
    for place, unit in enumerate(pieces):
        if unit.term == "carat" and not _of_gold(pieces, place):
            yield from _before_carat(part, place)
        elif unit.term == "point" and place and (points := figure(pieces[place - 1])):
            yield part.mention("weight_points", place - 1, 2, points)
        elif unit.term == "fraction":
            yield part.mention("weight_fraction", place)


def _of_gold(pieces: Sequence[Piece], place: int) -> bool:
    """Whether these carats are karats: gold stands beside them."""
    # A word for its color may stand between: 18ct white gold, or gris 18 carats.
    beside = [pieces[i] for i in (place + 1, place + 2, place - 2, place - 3) if 0 <= i < len(pieces)]
    return any(p.term == "gold" and p.clause == pieces[place].clause for p in beside)


def _before_carat(part: Part, place: int) -> Iterator[Mention]:
    pieces = part.pieces
    if place == 0:
        return
    last = pieces[place - 1]
    ends = pieces[max(0, place - 3) : place : 2]  # of `1 / 2`, the figures
    whole = [counted is not None and not counted.decimals for counted in map(figure, ends)]
    if last.text in _FRACTIONS or (len(whole) > 1 and all(whole) and pieces[place - 2].text in _BARS):
        first = place - 1 if last.text in _FRACTIONS else place - 3
        if first and figure(pieces[first - 1]) and pieces[first].gap in {" ", "-"}:
            first -= 1  # 1 1/2
        yield part.mention("weight_fraction", first, place - first + 1)
    elif (weight := figure(last)) and range_begins(pieces, place - 1) is None:
        yield part.mention("weight", place - 1, 2, weight)


def range_begins(pieces: Sequence[Piece], place: int) -> Counted | None:
    """The lower end of the range that the number here is the upper end of; None if it ends none.

    Both ends are written alike, so that `size 7 to 0.90 ct` is no range.
    """
    before = place - 1
    if place > 1 and pieces[before].term == "to":
        before -= 2 if before > 1 and pieces[before - 1].term == "carat" else 1
    elif not place or pieces[place].gap not in {"-", " - "}:
        return None
    least, most = figure(pieces[before]), figure(pieces[place])
    if least is None or most is None or least.value >= most.value:
        return None
    return least if bool(least.decimals) is bool(most.decimals) else None


def _grades(part: Part) -> Iterator[Mention]:
    pieces = part.pieces
    clarity: dict[int, tuple[str, int]] = {}
    for place in range(len(pieces)):
        grade, length = _clarity(part, place)
        if grade is not None:
            clarity[place] = grade, length
    letters = {
        place: (letter, 1) for place in range(len(pieces)) if (letter := _letter(part, place)) is not None
    }
    colors = {place: found for place, found in letters.items() if _is_color(pieces, place, clarity)}
    # In "G-H color" only the second letter stands beside the word.
    colors |= {place - 1: letters[place - 1] for place in colors if place - 1 in letters}
    yield from _joined(part, "clarity_grade", clarity)
    yield from _joined(part, "color_grade", colors)


def _joined(part: Part, term: str, found: dict[int, tuple[str, int]]) -> Iterator[Mention]:
    """Grades as mentions; two that a hyphen joins are one range."""
    passed = -1
    for place in sorted(found):
        if place < passed:
            continue
        grade, length = found[place]
        second = place + length
        if second in found and part.pieces[second].gap in {"-", " - "}:
            grade, length = f"{grade}-{found[second][0]}", length + found[second][1]
        passed = place + length
        yield part.mention(term, place, length, grade=grade)


def _clarity(part: Part, place: int) -> tuple[str | None, int]:
    """A clarity grade written as one (VS1, SI 2, IF, FL), and how many pieces it takes."""
    pieces = part.pieces
    piece = pieces[place]
    written = part.text[piece.start : piece.end]
    if written in {"IF", "FL"}:
        return written, 1
    behind = pieces[place + 1] if place + 1 < len(pieces) else None
    if piece.text not in _CLARITY_WORDS or len(written) != len(piece.text) or behind is None:
        return None, 1
    # Small letters, and letters that are a word of their own, only right beside their figure.
    apart = {"", " ", "-"} if written.isupper() and len(piece.text) > 1 else {""}
    grade = f"{'I' if piece.text == 'p' else piece.text.upper()}{behind.text}"
    known = grade in CLARITY and behind.gap in apart and (written.isupper() or len(piece.text) > 1)
    return (grade, 2) if known else (None, 1)


def _letter(part: Part, place: int) -> str | None:
    piece = part.pieces[place]
    written = part.text[piece.start : piece.end]
    return written if len(written) == 1 and "D" <= written <= "Z" else None


def _is_color(pieces: Sequence[Piece], place: int, clarity: Mapping[int, object]) -> bool:
    """Whether a single letter is a color: the word beside it, or a clarity grade behind it."""
    marks = {",", "/", ":", "-"}
    behind = place + 1
    if behind < len(pieces) and pieces[behind].text in marks:
        behind += 1
    if behind in clarity or (behind < len(pieces) and pieces[behind].term == "color"):
        return True
    before = place - 1
    if before >= 0 and pieces[before].text in {":", "="}:
        before -= 1
    return before >= 0 and pieces[before].term == "color"
