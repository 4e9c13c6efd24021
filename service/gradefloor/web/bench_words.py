"""Words by which the bench tells the cells of a row that came without a header.

A spelling is here only where no other field of a row has it, so nothing is read by guessing: what two fields
share stays unread and is told. Culet and girdle are never read from such a cell, because their few letters
(`LG`, `VS`, `M`) stand for other things far more often. What is read, the service's readings read.
"""

from collections import Counter
from collections.abc import Iterable
from itertools import product
from typing import Final

from gradefloor.trade import spellings
from gradefloor.trade.cells import key
from gradefloor.trade.grades import CLARITY, COLOR
from gradefloor.trade.shapes import CIRCULAR, SHAPES

# Abbreviations that laboratories print on their own reports: common practice, no source.
_ISSUERS: Final = ("GIA", "IGI", "HRD", "AGS", "GCAL", "EGL", "GSI", "NGTC", "CGL")
# Hues and strengths beside `fancy`, as reports on colored diamonds word them: from memory.
_FANCY: Final = (
    "FAINT", "VERY", "LIGHT", "INTENSE", "VIVID", "DEEP", "DARK", "YELLOW", "PINK", "BLUE", "GREEN", "ORANGE",
    "RED", "PURPLE", "VIOLET", "BROWN", "GRAY", "GREY", "BLACK", "WHITE", "CHAMPAGNE", "COGNAC",
)  # fmt: skip
# Beginnings of words that must never be passed over in silence: common practice, no source.
_WEIGHTY: Final = {
    "stone.origin": ("LAB", "LGD", "GROWN", "SYNTH", "CREAT", "CVD", "HPHT", "MANMADE", "NATURAL", "MINED"),
    "stone.treatments": (
        "TREAT", "ENHANC", "FILL", "FRACT", "DRILL", "LASER", "COAT", "IRRAD", "ANNEAL", "HEAT", "OIL", "DYE",
        "BLEACH", "DIFFUS", "GLASS", "PROCESSED", "UNTREATED",
    ),
    "stone.color": ("FANCY", "VIVID", "INTENSE", "BROWN", "CHAMPAGNE", "COGNAC", "YELLOW", "PINK", "ORANGE"),
}  # fmt: skip
# A word that is asked about where it stands alone: it is also written for a large culet.
_ASKED: Final = {"LG": "stone.origin"}
# What is read of two meanings because a row without a header states it most often, and is told as assumed:
# common practice, no source.
_TOLD: Final = {"NONE": "fluorescence", "NON": "fluorescence", "NIL": "fluorescence"}
# Of two fields that share a spelling, the one that it settles: how a stone was made also tells what it is.
_RATHER: Final = {
    **dict.fromkeys(spellings.ORIGINS, "origin"),
    **dict.fromkeys((*spellings.TREATMENTS, *spellings.TREATED_SOMEHOW), "treatments"),
    **_TOLD,
    "VS": "clarity",
    "HPHT": "origin",
}
_UNSAFE: Final = frozenset({*_ASKED, "OTHER", "YES", "NO", "NN", "LC"})


# Letters from which on a word for a strength of fluorescence is no code of something else.
_TELLING: Final = 3


def _keys(words: Iterable[str]) -> set[str]:
    """Spellings of two letters and more; one letter may be a color, a shape, a finish or a strength."""
    return {found for word in words if len(found := key(word)) > 1 and found not in _UNSAFE}


def _fluorescence() -> Iterable[str]:
    told = spellings.FLUORESCENCE_WORDS | spellings.FLUORESCENCE_ASSUMED
    strengths = [word for word in told if len(word) >= _TELLING]
    yield from strengths
    yield from (strength + hue for strength, hue in product(strengths, ("BLUE", "BL", "YELLOW", "WHITE")))


_FIELDS: Final[dict[str, set[str]]] = {
    "shape": _keys((*spellings.SHAPE_CODES, *spellings.REPORT_SHAPES, *spellings.SHARED_SHAPES))
    | _keys(shape.title for shape in SHAPES.values()),
    "color": _keys((*spellings.COLOR_NAMES, *spellings.BROWNS)),
    "clarity": _keys((*CLARITY.grades, *spellings.CLARITY_WORDS, *spellings.CLARITY_ASSUMED)),
    "finish": _keys((*spellings.FINISH_WORDS, *(word for word in spellings.FINISH_ASSUMED if word != "ID"))),
    "fluorescence": _keys(_fluorescence()),
    "origin": _keys((*spellings.ORIGINS, "HPHT")),
    "material": _keys(spellings.MATERIALS),
    "treatments": _keys(
        (
            *spellings.TREATMENTS,
            *spellings.TREATED_SOMEHOW,
            *(word for word in spellings.UNTREATED if "TREAT" in word or "ENHANCED" in word),
        )
    ),
    "eye_clean": _keys(word for word in spellings.EYE_CLEAN if "CLEAN" in word and len(word) > len("CLEAN")),
    "issuer": _keys(_ISSUERS),
    # Never read; here so that what they share with others is not read as the other.
    "girdle": _keys((*spellings.GIRDLE_WORDS, *spellings.GIRDLE_ASSUMED)),
    "culet": _keys(spellings.CULET_WORDS),
}


def _one_each() -> dict[str, list[str]]:
    """The spellings by the one field that each stands for."""
    fields = Counter(word for words in _FIELDS.values() for word in words)
    found: dict[str, list[str]] = {}
    for name, words in _FIELDS.items():
        if name not in {"girdle", "culet"}:
            found[name] = sorted(word for word in words if fields[word] == 1 or _RATHER.get(word) == name)
    return found


SPELLINGS: Final = _one_each()
FREE_ROW: Final = {
    "fields": SPELLINGS,
    "letters": [*COLOR.grades],
    "origins": {word: meant for word, meant in spellings.ORIGINS.items() if len(word) > 1},
    "triple": sorted(spellings.TRIPLE),
    "circular": sorted(
        word for word, shape in (spellings.SHAPE_CODES | spellings.REPORT_SHAPES).items() if shape in CIRCULAR
    ),
    "fancy": spellings.FANCY_COLOR.pattern,
    "fancy_words": [*_FANCY],
    "weighty": _WEIGHTY,
    "asked": _ASKED,
    "told": _TOLD,
}
