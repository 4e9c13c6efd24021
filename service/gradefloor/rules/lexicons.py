"""Lexicons become look-up tables by language; phrases and messages are cut into words by the same rule.

Positions count Unicode code points of the text as it came, from 0, the end exclusive.
"""

import unicodedata
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Final, Literal, NamedTuple

from gradefloor.rules.lexicon_format import Lexicon

# Called with the id of the rule, what was found, what is allowed, and the place within the rule.
Refuse = Callable[..., None]

# A phrase longer than this is a sentence, and would make every look-up dearer.
MAX_WORDS: Final = 8
# Longest run of digits that is a number; a longer one counts nothing a jeweller sells.
_MAX_DIGITS: Final = 15
# Marks on one letter beyond these carry nothing, and would be sorted at a cost that grows with their square.
_MAX_MARKS: Final = 3
# Longest that one letter with its marks folds to; a sign that stands for a whole phrase is no word here, and
# a message of nothing else would be many times as long.
_MAX_FOLDED: Final = 6

_DASHES: Final = frozenset("-\u2010\u2011\u2012\u2013\u2014\u2015\u2212")
_QUOTES: Final = frozenset("'\u2018\u2019\u201b\u02bc\u00b4`")
_FILLERS: Final = frozenset('"*_\u201a\u201c\u201d\u201e\u201f\u00ab\u00bb\u2039\u203a')


class Token(NamedTuple):
    """A word, a number or a mark, folded, and where it stands in the text.

    `gap` is what parts it from the one before: nothing, a space, a hyphen without spaces, a dash with them, a
    new line or an empty one.
    """

    text: str
    start: int
    end: int
    kind: Literal["word", "number", "mark"]
    gap: Literal["", " ", "-", " - ", "\n", "\n\n"]
    capital: bool = False


class _Char(NamedTuple):
    text: str
    start: int
    end: int
    capital: bool


def _chars(text: str) -> list[_Char]:
    """Folded characters: compatibility forms, case, dashes, quotes and spaces alike, invisible ones out."""
    found: list[_Char] = []
    place = 0
    while place < len(text):
        start, first = place, text[place]
        place += 1
        if first.isascii() and (place == len(text) or text[place].isascii()):
            found.append(_Char(_ASCII[first], start, place, first.isupper()))
            continue
        while place < len(text) and unicodedata.category(text[place])[0] == "M":
            place += 1
        cluster = text[start : min(place, start + 1 + _MAX_MARKS)]
        found += [_Char(_alike(char), start, place, first.isupper()) for char in _folded(cluster)]
    return found


def _folded(cluster: str) -> str:
    """A letter with its marks. Numbers that are no digits (½, ², ①) stay what they are."""
    if unicodedata.category(cluster[0]) == "No":
        return cluster[0]
    folded = unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", cluster).casefold())
    if len(folded) > _MAX_FOLDED:
        return cluster[0]
    return "".join(c for c in folded if unicodedata.category(c) != "Cf" and not "\ufe00" <= c <= "\ufe0f")


def _alike(char: str) -> str:
    if char in _DASHES:
        return "-"
    if char in _QUOTES:
        return "'"
    if char in "\n\u2028\u2029":
        return "\n"
    if char in _FILLERS or char.isspace() or unicodedata.category(char) in {"Cc", "Cs", "Zs"}:
        return " "
    return char


# Nearly all of a text, looked up at once.
_ASCII: Final = {chr(code): _alike(chr(code).lower()) for code in range(128)}


def _is_letter(char: str) -> bool:
    return char.isalpha() or unicodedata.category(char)[0] == "M"


def _is_digit(char: str) -> bool:
    return char.isascii() and char.isdigit()


def tokens(text: str) -> list[Token]:
    """Words, numbers (`1.500,00`, `10'000`, `.5`) and single marks, in order. Linear in the text's length."""
    chars = _chars(text)
    found: list[Token] = []
    place, gap = 0, ""
    while place < len(chars):
        char = chars[place].text
        if char in " \n-" or (char == "'" and not _inside(chars, place)):
            gap += char.replace("'", " ")
            place += 1
            continue
        end = _word_end(chars, place) or _number_end(chars, place)
        kind: Literal["word", "number", "mark"] = "mark"
        if end:
            kind = "word" if _is_letter(char) else "number"
        end = end or place + 1
        if kind == "number" and end - place > _MAX_DIGITS:
            kind = "mark"
        found.append(
            Token(
                "".join(part.text for part in chars[place:end]),
                chars[place].start,
                chars[end - 1].end,
                kind,
                _gap(gap),
                chars[place].capital,
            )
        )
        place, gap = end, ""
    return found


def _gap(between: str) -> Literal["", " ", "-", " - ", "\n", "\n\n"]:
    lines = between.count("\n")
    if lines:
        return "\n\n" if lines > 1 or "-" in between else "\n"
    if "-" in between:
        return " - " if between[0] == " " or between[0] == between[-1] == " " or "--" in between else "-"
    return " " if between else ""


def _inside(chars: list[_Char], place: int) -> bool:
    """Whether an apostrophe stands between two letters."""
    return 0 < place < len(chars) - 1 and chars[place - 1].text.isalpha() and chars[place + 1].text.isalpha()


def _word_end(chars: list[_Char], place: int) -> int:
    """Place behind the word that begins here; 0 if none does."""
    end = place
    while end < len(chars) and (_is_letter(chars[end].text) or (chars[end].text == "'" and end > place)):
        if chars[end].text == "'" and not _inside(chars, end):
            break
        end += 1
    return end if end > place else 0


def _number_end(chars: list[_Char], place: int) -> int:
    """Place behind the number that begins here; 0 if none does."""
    end = place
    if chars[end].text == "." and (end == 0 or chars[end - 1].text in " \n(-"):
        end += 1  # .5
    if end == len(chars) or not _is_digit(chars[end].text):
        return 0
    while end < len(chars):
        parted = chars[end].text in ".,'" and end + 1 < len(chars) and _is_digit(chars[end + 1].text)
        if not (parted or _is_digit(chars[end].text)):
            break
        end += 1
    return end


@dataclass(frozen=True, slots=True)
class CompiledLexicon:
    """The words of one language.

    `phrases` gives, for each phrase as a row of folded words, its token in every field it belongs to;
    `longest` the number of words of the longest phrase that begins with a word. `dotted` are abbreviations:
    the point behind them ends no sentence. `tails` and `endings` are ends of words, the longest first.
    """

    language: str
    phrases: Mapping[tuple[str, ...], Mapping[str, str]]
    longest: Mapping[str, int]
    dotted: frozenset[str]
    tails: tuple[str, ...]
    endings: tuple[str, ...]


# Fields that answer the same question, so that a phrase may have one meaning in all of them.
_KIN: Final = {"unsure_shapes": "shapes", "weights": "numbers"}


def compile_lexicons(lexicons: Iterable[Lexicon], refuse: Refuse) -> dict[str, CompiledLexicon]:
    """Tables by language, in the order of their codes; `refuse` is told every phrase that cannot be used."""
    builders: dict[str, _Builder] = {}
    for lexicon in lexicons:
        builders.setdefault(lexicon.language, _Builder(lexicon.language, refuse)).add(lexicon)
    return {language: builders[language].table() for language in sorted(builders)}


class _Builder:
    def __init__(self, language: str, refuse: Refuse) -> None:
        self.language = language
        self.refuse = refuse
        self.phrases: dict[tuple[str, ...], dict[str, str]] = {}
        self.dotted: set[str] = set()
        # Which rule gave a phrase which token, for each question.
        self.given: dict[tuple[str, tuple[str, ...]], tuple[str, str]] = {}

    def add(self, lexicon: Lexicon) -> None:
        for token, phrases in lexicon.words.items():
            for index, phrase in enumerate(phrases):
                words = self.words(phrase)
                fault = self.fault(lexicon, token, words)
                if fault is None:
                    self.phrases.setdefault(words, {})[lexicon.field] = token
                else:
                    self.refuse(lexicon.id, f"{phrase!r}{fault[0]}", fault[1], "words", token, index)

    def words(self, phrase: str) -> tuple[str, ...]:
        """Folded words and marks of a phrase, without the points of abbreviations."""
        found = tokens(phrase)
        words: list[str] = []
        for token, before in zip(found, [None, *found], strict=False):
            if token.text == "." and before is not None and before.kind == "word" and not token.gap:
                self.dotted.add(before.text)
            else:
                words.append(token.text)
        return tuple(words)

    def fault(self, lexicon: Lexicon, token: str, words: tuple[str, ...]) -> tuple[str, str] | None:
        """What is wrong with a phrase, and what is allowed."""
        if not words or all(_is_digit(char) for word in words for char in word):
            return "", "a phrase with a word or a sign in it"
        if len(words) > MAX_WORDS:
            return f", {len(words)} words", f"a phrase of at most {MAX_WORDS} words"
        if (lexicon.field, token) in {("streets", "ending"), ("compounds", "tail")} and len(words) > 1:
            return "", "the end of one word"
        question = _KIN.get(lexicon.field, lexicon.field)
        rule, other = self.given.setdefault((question, words), (lexicon.id, ""))
        if not other:
            self.given[question, words] = (lexicon.id, f"{lexicon.field} {token}")
            return None
        if other == f"{lexicon.field} {token}":
            return f" again (already in {rule})", "each phrase once"
        return f", which means {other} in {rule}", "one meaning for a phrase in a language and field"

    def table(self) -> CompiledLexicon:
        longest: dict[str, int] = {}
        for words in self.phrases:
            longest[words[0]] = max(longest.get(words[0], 0), len(words))
        return CompiledLexicon(
            self.language,
            self.phrases,
            longest,
            frozenset(self.dotted),
            self.ends("compounds", "tail"),
            self.ends("streets", "ending"),
        )

    def ends(self, field: str, token: str) -> tuple[str, ...]:
        found = (words[0] for words, meanings in self.phrases.items() if meanings.get(field) == token)
        return tuple(sorted(found, key=lambda end: (-len(end), end)))
