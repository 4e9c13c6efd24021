"""A message cut into pieces: phrases of a lexicon, numbers, other words and marks, by sentence and clause.

What may point to a person is no piece: mail addresses, links, phone numbers and streets come out blank.
"""

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Final, Literal

from gradefloor.rules.lexicons import CompiledLexicon, Token, tokens

Span = tuple[int, int]


@dataclass(slots=True)
class Piece:
    """One piece of a message; `means` has its token in every field of the lexicon it belongs to."""

    text: str
    start: int
    end: int
    kind: Literal["phrase", "word", "number", "mark", "blank"]
    gap: str
    capital: bool
    means: Mapping[str, str] = field(default_factory=dict)
    words: int = 1
    sentence: int = 0
    clause: int = 0

    def has(self, name: str, *values: str) -> bool:
        """Whether it means one of these tokens of a field."""
        return self.means.get(name) in values


# Endings of addresses in the web that people write without http: from memory, the usual ones where the two
# languages are spoken.
_DOMAINS: Final = frozenset(
    (
        "com", "org", "net", "info", "biz", "io", "eu", "de", "at", "ch", "uk", "ie", "us", "ca", "fr", "it",
        "nl", "shop", "example", "invalid", "test",
    )
)  # fmt: skip
# A run of digits as phones are written; parts are joined by one sign, so no sentence is swallowed.
_RUN: Final = re.compile(
    "(?:\\+ ?|\\()?[0-9]+(?:(?:[ \u00a0]?[()/\u2010-\u2013-][ \u00a0(]?|[ \u00a0.])[0-9]+)*", re.ASCII
)
_LEAST_DIGITS: Final = 7
# Groups of a North American number, without and with the country's 1; 555 numbers may lack the area.
_GROUPS: Final = frozenset({(3, 3, 4), (1, 3, 3, 4)})
_LOCAL: Final = (3, 4)
_CUED_DIGITS: Final = 5

_ENDS: Final = frozenset(".!?;…")
_PARTS: Final = frozenset(",:()[]|")
_STREET_WORDS: Final = 3


def cut(text: str, lexicon: CompiledLexicon) -> list[Piece]:
    """Pieces in order; the longest phrase wins. Linear in the length of the text."""
    found = list(_undotted(tokens(text), lexicon))
    blank = _blank(text, found, lexicon)
    pieces: list[Piece] = []
    place = 0
    while place < len(found):
        token = found[place]
        if blank[place]:
            pieces.append(Piece("", token.start, token.end, "blank", token.gap, capital=False))
            place += 1
            continue
        count, means = _longest(found, blank, place, lexicon)
        last = found[place + count - 1]
        kind: Literal["phrase", "word", "number", "mark", "blank"] = "phrase" if means else token.kind
        pieces.append(Piece(token.text, token.start, last.end, kind, token.gap, token.capital, means, count))
        place += count
    _blank_after_cues(pieces)
    _number_sentences(pieces)
    _blank_names(pieces)
    return pieces


def _undotted(found: list[Token], lexicon: CompiledLexicon) -> Iterator[Token]:
    """Without the points of abbreviations."""
    before: Token | None = None
    for token in found:
        dotted = before is not None and before.kind == "word" and before.text in lexicon.dotted
        if not (dotted and token.text == "." and not token.gap):
            yield token
        before = token


def _longest(
    found: list[Token], blank: list[bool], place: int, lexicon: CompiledLexicon
) -> tuple[int, Mapping[str, str]]:
    """How many tokens the longest phrase here has, and what it means; one and nothing where there is none."""
    token = found[place]
    words = [token.text]
    reach = place + lexicon.longest.get(token.text, 0)
    for index in range(place + 1, min(reach, len(found))):
        if blank[index] or found[index].gap in {" - ", "\n\n"}:
            break
        words.append(found[index].text)
    for count in range(len(words), 0, -1):
        means = lexicon.phrases.get(tuple(words[:count]))
        if means is not None:
            return count, means
    if token.kind == "word":
        for tail in lexicon.tails:
            means = lexicon.phrases.get((token.text.removesuffix(tail),)) if token.text != tail else None
            if means is not None and token.text.endswith(tail):
                return 1, means
    return 1, {}


# What is left blank


def _blank(text: str, found: list[Token], lexicon: CompiledLexicon) -> list[bool]:
    """For each token, whether it belongs to an address, a link, a phone number or a street."""
    spans = [match.span() for match in re.finditer(r"\S+", text) if _is_address(match[0])]
    spans += [match.span() for match in _RUN.finditer(text) if _is_phone(match[0])]
    blank = [False] * len(found)
    spans.sort()
    place = 0
    for index, token in enumerate(found):
        while place < len(spans) and spans[place][1] <= token.start:
            place += 1
        blank[index] = place < len(spans) and spans[place][0] < token.end
    for index in range(len(found)):
        for part in _street(found, index, lexicon):
            blank[part] = True
    return blank


def _is_address(chunk: str) -> bool:
    if "@" in chunk or "\uff20" in chunk or "://" in chunk or chunk[:4].lower() == "www.":
        return True
    host = chunk.lower().split("/", 1)[0].strip(".,;:!?()<>[]\"'")
    name, dot, end = host.rpartition(".")
    return bool(dot) and end in _DOMAINS and name[-2:].isalnum() and not name.isdigit()


def _is_phone(run: str) -> bool:
    groups = re.findall("[0-9]+", run, re.ASCII)
    lengths = tuple(map(len, groups))
    if sum(lengths) < _LEAST_DIGITS:
        return False
    if run[0] == "+" or groups[0].startswith("00"):
        return True
    if groups[0].startswith("0") and lengths[0] > 2:  # noqa: PLR2004 - a day or a month has two digits
        return True
    return lengths in _GROUPS or (lengths == _LOCAL and groups[0] == "555")


def _street(found: list[Token], index: int, lexicon: CompiledLexicon) -> Iterator[int]:
    """Places of the street that this word is the last or only word of: its words and its number."""
    token = found[index]
    if token.kind != "word" or not token.capital:
        return
    first = index
    if "streets" in lexicon.phrases.get((token.text,), {}):
        while first > max(0, index - _STREET_WORDS) and _names(found, first):
            first -= 1
        if first == index:
            return
    elif not any(token.text.endswith(end) for end in lexicon.endings):
        return
    if first and found[first - 1].kind == "number" and found[first].gap == " ":
        first -= 1
    last = index + 1
    if last < len(found) and found[last].text == "." and not found[last].gap:
        last += 1
    if last < len(found) and found[last].kind == "number" and found[last].gap == " ":
        last += 1
        if last < len(found) and len(found[last].text) == 1 and not found[last].gap:
            last += 1  # 12a
    yield from range(first, last)


def _names(found: list[Token], place: int) -> bool:
    """Whether a capitalized word stands directly before."""
    before = found[place - 1]
    return before.kind == "word" and before.capital and found[place].gap == " "


def _blank_after_cues(pieces: list[Piece]) -> None:
    """Numbers behind a word for a telephone."""
    for index, piece in enumerate(pieces):
        if not piece.has("topics", "phone"):
            continue
        first = index + 1
        while first < min(index + 4, len(pieces)) and pieces[first].kind != "number":
            first += 1
        last = first
        while last < len(pieces) and (pieces[last].kind == "number" or pieces[last].text in {"/", "(", ")"}):
            last += 1
        if sum(char.isdigit() for part in pieces[first:last] for char in part.text) >= _CUED_DIGITS:
            for part in pieces[first:last]:
                part.kind, part.text, part.means = "blank", "", {}


def _blank_names(pieces: list[Piece]) -> None:
    """First names that are words of the trade, such as Ruby: capitalized, and no stone spoken of behind."""
    for index, piece in enumerate(pieces):
        if not (piece.has("skipped", "name") and piece.capital):
            continue
        opens = index == 0 or pieces[index - 1].sentence != piece.sentence
        behind = pieces[index + 1] if index + 1 < len(pieces) else None
        alone = behind is None or behind.sentence != piece.sentence
        stone = behind is not None and behind.has("topics", "stone")
        if (alone or not opens) and not stone:
            piece.kind, piece.text, piece.means = "blank", "", {}


# Sentences


def _number_sentences(pieces: list[Piece]) -> None:
    sentence = clause = 0
    for index, piece in enumerate(pieces):
        before = pieces[index - 1] if index else None
        if before is not None and _breaks(pieces, index):
            sentence += 1
            clause += 1
        elif before is not None and (
            before.text in _PARTS
            or piece.text in _PARTS
            or piece.gap == " - "
            or piece.has("negations", "stop")
            or "blank" in {before.kind, piece.kind}
        ):
            clause += 1
        piece.sentence, piece.clause = sentence, clause


def _breaks(pieces: list[Piece], index: int) -> bool:
    """Whether a sentence begins here."""
    piece, before = pieces[index], pieces[index - 1]
    if piece.gap == "\n\n" or (piece.gap == "\n" and (piece.capital or piece.kind in {"number", "mark"})):
        return True
    if before.text not in _ENDS or piece.text in _ENDS:
        return False
    if before.text != ".":
        return True
    counted = index > 1 and pieces[index - 2].kind == "number" and not before.gap
    if counted and ("months" in piece.means or piece.gap == " - "):
        return False  # 14. Februar; 5000.- CHF
    return bool(piece.gap) or piece.capital


def near(
    pieces: list[Piece], index: int, step: int, reach: int, wanted: Callable[[Piece], bool]
) -> int | None:
    """Place of the nearest wanted piece of a sentence, at most `reach` pieces ahead (1) or back (-1)."""
    for distance in range(1, reach + 1):
        place = index + step * distance
        if not 0 <= place < len(pieces) or pieces[place].sentence != pieces[index].sentence:
            return None
        if wanted(pieces[place]):
            return place
    return None
