"""Grades as suppliers write them: one cell in; a grade or a range and the remarks out."""

import re
from collections.abc import Mapping
from typing import Final

from gradefloor.trade import spellings
from gradefloor.trade.cells import Cell, Read, RemarkKind, key, plain, whole
from gradefloor.trade.grades import CLARITY, COLOR, FINISH, FLUORESCENCE, GIRDLE, Scale, Span

_BETWEEN: Final = re.compile(r" ?(?:-|/|~|&|\bTO\b|\bAND\b) ?")
_SUFFIX: Final = re.compile(r"(.*[A-Z0-9])[ +\-*/]*[+\-*][ +\-*/]*")


def _ends(word: str) -> list[str]:
    return [part for part in _BETWEEN.split(word) if part]


def _pair(word: str) -> tuple[str, str] | None:
    """The two ends of a range; None if there are not just two."""
    match _ends(word):
        case [first, second]:
            return first, second
        case _:
            return None


def _joined(seen: Cell, scale: Scale, first: Span, second: Span, *, assumed: bool = False) -> Read[str]:
    """One range from two ends; a remark if they came worst first."""
    text = scale.write(Span(min(first.best, second.best), max(first.worst, second.worst)))
    if assumed or first.best > second.best:
        return Read(text, (seen.remark("assumed", text),))
    return Read(text)


def _no_grade(seen: Cell, ask: str, others: Mapping[str, str] | frozenset[str]) -> Read[str]:
    """A claim, a grade of another column, or nothing that can be read."""
    word = key(seen.text)
    if word in spellings.CLAIMS:
        return seen.open("unreadable", ask, "a claim, not a grade")
    if word in others:
        return seen.open("contradiction", f"This is a grade of another column. {ask}")
    return seen.open("unreadable", ask)


# Color

_ASK_COLOR: Final = "Which color grade from D to Z does the report state?"
_CLARITY_GRADES: Final = frozenset(CLARITY.grades)
_COLOR_GRADES: Final = frozenset(COLOR.grades)


@whole
def color(seen: Cell) -> Read[str]:
    """`G`, `G-H`, `G+`, the old names, the numbers of another school; a fancy color stays open."""
    word = re.sub(r"\bCOLOU?R\b", "", plain(seen.text)).strip()
    if word in COLOR:
        return Read(word)
    if is_fancy_color(seen):
        return seen.open("unreadable", None, "a fancy color")
    name = key(word.replace("+", " PLUS"))
    found = spellings.COLOR_NAMES.get(name) or spellings.NUMBERED_COLORS.get(word.removesuffix(".0"))
    if found:
        return Read(found, (seen.remark("assumed", found),))
    if (ends := _pair(word)) and all(end.rstrip("+ ") in COLOR for end in ends):
        first, second = (COLOR.span(end.rstrip("+ ")) for end in ends)
        return _joined(seen, COLOR, first, second, assumed="+" in word)
    if (suffix := _SUFFIX.fullmatch(word)) and suffix[1] in COLOR:
        return Read(suffix[1], (seen.remark("assumed", suffix[1]),))
    # `NO` is a word, and so are `ON` and `OR`; neighbours on the scale otherwise make a range.
    if (letters := re.fullmatch("([D-Z])([D-Z])", word)) and word != "NO":
        first, second = COLOR.span(letters[1]), COLOR.span(letters[2])
        if second.best - first.best == 1:
            return _joined(seen, COLOR, first, second, assumed=True)
    if name in spellings.BROWNS:
        return seen.open("unreadable", _ASK_COLOR, "a word of the brown series")
    return _no_grade(seen, _ASK_COLOR, _CLARITY_GRADES)


def is_fancy_color(seen: Cell) -> bool:
    """Whether the cell grades color on the scale of fancy colors, which no letter can express."""
    return bool(spellings.FANCY_COLOR.fullmatch(plain(seen.text)))


# Clarity

_ASK_CLARITY: Final = "Which clarity grade does the report state?"


@whole
def clarity(seen: Cell) -> Read[str]:
    """`VS1`, `SI-2`, `VS1-VS2`, `P1`, `LC`; a claim such as `eye clean` is no grade."""
    word = re.sub(r"\bCLARITY\b", "", plain(seen.text)).strip()
    if found := _one_clarity(word):
        text, assumed = found
        return Read(text, (seen.remark("assumed", text),)) if assumed else Read(text)
    if ends := _pair(word):
        stem = re.fullmatch("([A-Z]+) ?[123]", ends[0])
        short = stem is not None and ends[1] in {"1", "2", "3"}
        first = _one_clarity(ends[0])
        second = _one_clarity(f"{stem[1]}{ends[1]}" if stem and short else ends[1])
        if first and second:
            assumed = first[1] or second[1]
            return _joined(seen, CLARITY, CLARITY.span(first[0]), CLARITY.span(second[0]), assumed=assumed)
    return _no_grade(seen, _ASK_CLARITY, _COLOR_GRADES)


def _one_clarity(word: str) -> tuple[str, bool] | None:
    """The grade or range that one spelling stands for, and whether that had to be assumed."""
    name = key(word)
    suffixed = bool(_SUFFIX.fullmatch(word))
    if found := spellings.CLARITY_WORDS.get(name):
        return found, suffixed
    if found := spellings.CLARITY_ASSUMED.get(name):
        return found, True
    return None


# Finish

_ASK_FINISH: Final = "Which word from excellent to poor does the report state?"


@whole
def finish(seen: Cell) -> Read[str]:
    """Polish, symmetry or cut: one word; of a range the lower end, and a remark."""
    word = plain(seen.text)
    if found := spellings.FINISH_WORDS.get(key(word)):
        if not _SUFFIX.fullmatch(word):
            return Read(found)
        return Read(found, (seen.remark("assumed", found),))
    if found := spellings.FINISH_ASSUMED.get(key(word)):
        return Read(found, (seen.remark("assumed", found),))
    if ends := _pair(word):
        first, second = (spellings.FINISH_WORDS.get(key(end)) for end in ends)
        if first and second:
            lower = max(first, second, key=FINISH.rank)
            return Read(lower, (seen.remark("assumed", lower),))
    if key(word) in spellings.CLAIMS:
        # No finish decides without the others, so a seller's praise is left out and nothing is asked.
        return seen.open("unreadable", None, "a claim, not a grade")
    return _no_grade(seen, _ASK_FINISH, _CLARITY_GRADES)


# Fluorescence

_ASK_FLUORESCENCE: Final = "How strong is the fluorescence: none, faint, medium, strong or very strong?"


@whole
def fluorescence(seen: Cell) -> Read[str]:
    """The strength without its hue. Words of the school that has four of them are read with a remark."""
    word = plain(seen.text)
    if found := _one_fluorescence(word):
        strength, assumed = found
        return Read(strength, (seen.remark("assumed", strength),)) if assumed else Read(strength)
    if ends := _pair(word):
        first, second = (_one_fluorescence(end) for end in ends)
        if first and second:
            both = sorted({first[0], second[0]}, key=FLUORESCENCE.rank)
            return seen.open("ambiguous", _ASK_FLUORESCENCE, " or ".join(both))
    if key(word) in {"YES", "Y", "FL", "FLUORESCENT"}:
        return seen.open("ambiguous", _ASK_FLUORESCENCE)
    return seen.open("unreadable", _ASK_FLUORESCENCE)


def _one_fluorescence(word: str) -> tuple[str, bool] | None:
    letters = re.findall("[A-Z]+", word)
    plainly = "".join(part for part in letters if part not in spellings.FLUORESCENCE_HUES)
    for name in (key(word), plainly):
        if found := spellings.FLUORESCENCE_WORDS.get(name):
            return found, False
        if found := spellings.FLUORESCENCE_ASSUMED.get(name):
            return found, True
    return None


# Girdle

_ASK_GIRDLE: Final = "How thick is the girdle at its thinnest and at its thickest?"
# A girdle in % of the width outside these is a number of another column: common practice, no source.
_THINNEST: Final = 0.01
_THICKEST: Final = 25
_PERCENT: Final = re.compile(r"([0-9]+(?:[.,][0-9]+)?) ?%?(?: ?(?:-|TO) ?([0-9]+(?:[.,][0-9]+)?))? ?%")


@whole
def girdle_word(seen: Cell) -> Read[str]:
    """One end of the girdle, from a column of its own."""
    ends = _girdle_ends(plain(seen.text))
    if ends is None or len(ends[0]) > 1:
        return seen.open("unreadable", _ASK_GIRDLE)
    (word,), assumed = ends
    return Read(word, (seen.remark("assumed", word),)) if assumed else Read(word)


@whole
def girdle(seen: Cell) -> Read[dict[str, object]]:
    """`THN-MED`, `medium to slightly thick (faceted) 3.5%`; one word is both ends."""
    word = plain(seen.text)
    values: dict[str, object] = {}
    remarks = []
    if share := _PERCENT.search(word):
        word = word[: share.start()] + " " + word[share.end() :]
        if share[2]:
            ask = "How thick is the girdle on average, in % of the width?"
            remarks.append(seen.remark("ambiguous", None, ask))
        else:
            thickness = float(share[1].replace(",", "."))
            if _THINNEST <= thickness <= _THICKEST:
                values["girdle_pct"] = thickness
    if not key(word) or (share and set(re.findall("[A-Z]+", word)) <= spellings.GIRDLE_FINISHES):
        return Read(values, tuple(remarks)) if share else seen.open("unreadable", _ASK_GIRDLE)
    ends = _girdle_ends(word)
    if ends is None:
        kind: RemarkKind = "ambiguous" if "T" in _ends(word.strip()) else "unreadable"
        return Read(values or None, (*remarks, seen.remark(kind, None, _ASK_GIRDLE)))
    words, assumed = ends
    ordered = sorted(words, key=GIRDLE.rank)
    values |= {"girdle_min": ordered[0], "girdle_max": ordered[-1]}
    if assumed or ordered != words:
        remarks.append(seen.remark("assumed", f"{ordered[0]} to {ordered[-1]}"))
    return Read(values, tuple(remarks))


def _girdle_ends(word: str) -> tuple[list[str], bool] | None:
    """One or two thicknesses in the order written, and whether one had to be assumed."""
    word = re.sub(r"[(),;]", " ", word)
    found, assumed = list[str](), False
    for end in _ends(word):
        parts = end.split()
        while len(parts) > 1 and parts[-1].strip(".") in spellings.GIRDLE_FINISHES:
            parts.pop()
        name = key("".join(parts))
        if found and name in spellings.GIRDLE_FINISHES:
            continue
        thickness = spellings.GIRDLE_WORDS.get(name) or spellings.GIRDLE_ASSUMED.get(name)
        if thickness is None:
            return None
        assumed |= name in spellings.GIRDLE_ASSUMED
        found.append(thickness)
    match found:
        case [_] | [_, _]:
            return found, assumed
        case _:
            return None


# Culet

_ASK_CULET: Final = "How large is the culet?"


@whole
def culet(seen: Cell) -> Read[str]:
    """The size of the culet; that it is chipped is a condition, and no size."""
    name = key(seen.text)
    if found := spellings.CULET_WORDS.get(name):
        return Read(found)
    if name in spellings.CULET_CONDITIONS:
        return seen.open("ambiguous", _ASK_CULET, "a condition, not a size")
    return seen.open("unreadable", _ASK_CULET)
