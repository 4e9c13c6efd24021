"""Facts and measures of a stone read a second time, for the naive judge: from requests as plain JSON.

Written from what the fields and the rule format say they mean. Arithmetic is in fractions, so that nothing
is rounded but where a laboratory or a report rounds.

Shared with the project, because it is the trade's and no rule's: the orders of the grading scales; which
shapes are in which group, are circular or have an axis; whether a weight fits the millimetres; what a comment
line means.
"""

import math
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Any, Final

from gradefloor.trade.comments import comment_effects
from gradefloor.trade.consistency import weight_fit
from gradefloor.trade.figures import Figures
from gradefloor.trade.grades import CLARITY, COLOR, CULET, FINISH, FLUORESCENCE, GIRDLE
from gradefloor.trade.shapes import CIRCULAR, GROUPS, SHAPES
from gradefloor.trade.stones import Stone

NOT_STATED: Final = "not_stated"
SCALES: Final = {"color": COLOR.grades, "clarity": CLARITY.grades}

# Worst to mildest for whoever has to work the stone: common practice, no source.
_TREATMENTS: Final = ("fracture_filled", "coated", "irradiated", "annealed", "hpht", "other", "laser_drilled")
# Classes in place of letters, as intervals: issuer's announcement of 1 October 2025, trade press.
_CLASSES: Final = {
    "premium": {"color": "D", "clarity": "FL-VVS2"},
    "standard": {"color": "D-J", "clarity": "FL-VS2"},
}
# Best cut grade that the worse of polish and symmetry allows (GIA booklet on finish, 2009).
_CEILING: Final = {
    "excellent": "excellent",
    "very_good": "excellent",
    "good": "very_good",
    "fair": "good",
    "poor": "poor",
}
_WARM_METALS: Final = ("yellow_gold", "rose_gold")
_GROUPS_OF_LETTERS: Final = {
    "colorless": "DEF",
    "near_colorless": "GHIJ",
    "faint": "KLM",
    "very_light": "NOPQR",
    "light": "STUVWXYZ",
}
_COMMENTED: Final = {
    "graining_comment": "graining",
    "surface_comment": "surface_reaching",
    "angle_comment": "angles",
    "treatment_comment": "treatment",
    "unread_comment": "unread",
}
# Facts that are a member of the request, word for word.
_MEMBERS: Final = {
    "material": ("stone", "material"),
    "origin": ("stone", "origin"),
    "cut_grade": ("stone", "cut_grade"),
    "polish": ("stone", "polish"),
    "symmetry": ("stone", "symmetry"),
    "fluorescence": ("stone", "fluorescence"),
    "girdle_max": ("stone", "girdle_max"),
    "culet": ("stone", "culet"),
    "bow_tie": ("stone", "observations", "bow_tie"),
    "windowing": ("stone", "observations", "windowing"),
    "haze": ("stone", "observations", "haze"),
    "tint": ("stone", "observations", "tint"),
    "seen_in": ("stone", "observations", "seen_in"),
    "inclusion_type": ("stone", "observations", "inclusion", "type"),
    "inclusion_place": ("stone", "observations", "inclusion", "place"),
    "assessment": ("stone", "report", "assessment"),
    "jewelry": ("context", "jewelry"),
    "protection": ("context", "protection"),
}
# Facts of the setting: what each can be. Unstated, none is ever read as a particular value.
SETTING_VALUES: Final = {
    "jewelry": ("ring", "earring", "pendant"),
    "protection": ("claws", "v_claws", "bezel"),
    "tone": ("white", "warm"),
}
# All that some facts can be, for whoever writes rules over them.
ORDERED_VALUES: Final = {
    "cut_grade": FINISH.grades,
    "polish": FINISH.grades,
    "symmetry": FINISH.grades,
    "fluorescence": FLUORESCENCE.grades,
    "girdle_min": GIRDLE.grades,
    "culet": CULET.grades,
    "windowing": ("none", "slight", "prominent"),
    "bow_tie": ("none", "slight", "moderate", "severe"),
}


@dataclass(frozen=True)
class Asked:
    """One request, and what the rules know of laboratories (their notes, as they are written)."""

    stone: dict[str, Any]
    context: dict[str, Any]
    as_of: date
    issuers: list[dict[str, Any]]

    def member(self, *path: str) -> Any:
        found: Any = {"stone": self.stone, "context": self.context}
        for name in path:
            found = (found or {}).get(name)
        return found


def written(number: float) -> Fraction:
    """The number a person wrote."""
    return Fraction(str(number))


def half_up(number: Fraction, places: int) -> Fraction:
    """Rounded to so many decimals; a half goes up."""
    scale = 10**places
    return Fraction(math.floor(number * scale + Fraction(1, 2)), scale)


def points(carat: float) -> int:
    """Hundredths of a carat as a report states them: a third decimal of 9 goes up, all others are dropped."""
    thousandths = math.floor(written(carat) * 1000)
    whole, last = divmod(thousandths, 10)
    return whole + 1 if last == 9 else whole


def among(shape: str, names: list[str]) -> bool:
    """Whether a list of shapes and groups speaks of a shape."""
    return any(shape == name or shape in GROUPS.get(name, ()) for name in names)


def expand(names: list[str]) -> set[str]:
    """Shapes named by a list of shapes and groups."""
    return {shape for name in names for shape in GROUPS.get(name, {name})}


def issuer(asked: Asked) -> dict[str, Any] | None:
    """What the rules know of the laboratory on the report."""
    name = asked.member("stone", "report", "issuer")
    for note in asked.issuers:
        if name and name.casefold() in {
            known.casefold() for known in (note["name"], *note.get("aliases", []))
        }:
            return note
    return None


def ends(scale: str, text: str) -> tuple[int, int]:
    """`G` or `G-H` as ranks on the scale, the better first."""
    ranks = [SCALES[scale].index(grade) for grade in text.split("-")]
    return min(ranks), max(ranks)


def grade(asked: Asked, scale: str) -> tuple[int, int] | None:
    """Ranks of the best and the worst grade that the stone may have, as the rules' own school reads them."""
    text = asked.stone.get(scale)
    quality = asked.member("stone", "report", "assessment")
    if text is None and quality and asked.stone.get("origin") == "laboratory_grown":
        text = _CLASSES[quality][scale]
    if text is None:
        return None
    best, worst = ends(scale, text)
    offset = (issuer(asked) or {}).get(f"{scale}_offset")
    if offset:
        lowest = len(SCALES[scale]) - 1
        best = min(best + int(offset["at_least"]), lowest)
        worst = min(worst + int(offset["at_most"]), lowest)
    return best, worst


def sides(asked: Asked) -> tuple[Fraction, Fraction] | None:
    """Length and width in mm; the longer is the length, unless the length is an axis of the shape."""
    if asked.stone.get("length_mm") is None or asked.stone.get("width_mm") is None:
        return None
    length, width = written(asked.stone["length_mm"]), written(asked.stone["width_mm"])
    if not SHAPES[asked.stone["shape"]].length_is_axis and width > length:
        return width, length
    return length, width


def _depth_from_mm(asked: Asked) -> Fraction | None:
    both = sides(asked)
    if both is None or asked.stone.get("depth_mm") is None:
        return None
    across = (both[0] + both[1]) / 2 if asked.stone["shape"] in CIRCULAR else both[1]
    return half_up(written(asked.stone["depth_mm"]) / across * 100, 1)


def measure(asked: Asked, name: str) -> Fraction | None:
    """A measure that a window is laid over; None if it cannot be taken."""
    if name == "ratio":
        both = sides(asked)
        return half_up(both[0] / both[1], 2) if both else None
    if name == "report_age_years":
        issued = asked.member("stone", "report", "date")
        if issued is None:
            return None
        days = asked.as_of.toordinal() - date.fromisoformat(issued).toordinal()
        return Fraction(math.floor(Fraction(days) / Fraction("365.25") * 100), 100)
    if name == "depth_gap_points":
        stated, computed = asked.stone.get("depth_pct"), _depth_from_mm(asked)
        return written(stated) - computed if stated is not None and computed is not None else None
    if name == "depth_pct" and asked.stone.get("depth_pct") is None:
        return _depth_from_mm(asked)
    stated = asked.stone.get(name)
    return None if stated is None else written(stated)


def fact(asked: Asked, name: str) -> str:
    """What a fact is for this request; `not_stated` where nobody has said."""
    if name in _MEMBERS:
        return asked.member(*_MEMBERS[name]) or NOT_STATED
    if name in _COMMENTED:
        return "commented" if _COMMENTED[name] in _effects(asked) else NOT_STATED
    return _READERS[name](asked) or NOT_STATED


def _effects(asked: Asked) -> frozenset[str]:
    return frozenset(comment_effects(asked.member("stone", "report", "comments") or ()))


def _clouds(asked: Asked) -> str | None:
    effects = _effects(asked)
    if "clouds_set_grade" in effects:
        return "set_the_grade"
    return "additional" if "additional_clouds" in effects else None


def _girdle_min(asked: Asked) -> str | None:
    """A girdle range is extent, not doubt: its thinnest end counts."""
    if asked.stone.get("girdle_min") is None:
        return None
    stated = {asked.stone["girdle_min"], asked.stone.get("girdle_max")}
    return next(word for word in GIRDLE.grades if word in stated)


def _treatment(asked: Asked) -> str | None:
    stated = asked.stone.get("treatments")
    if stated is None:
        return None
    return next((treatment for treatment in _TREATMENTS if treatment in stated), "untreated")


def _color_group(asked: Asked) -> str | None:
    span = grade(asked, "color")
    if span is None:
        return None
    letter = COLOR.grades[span[1]]
    return next(group for group, letters in _GROUPS_OF_LETTERS.items() if letter in letters)


def _color_best(asked: Asked) -> str | None:
    span = grade(asked, "color")
    return COLOR.grades[span[0]] if span else None


def _clarity_worst(asked: Asked) -> str | None:
    span = grade(asked, "clarity")
    return CLARITY.grades[span[1]] if span else None


def _report(asked: Asked) -> str | None:
    if asked.member("stone", "report", "issuer") is None:
        return None
    return "known_issuer" if issuer(asked) else "other_issuer"


def _cut_scope(asked: Asked) -> str | None:
    known = _report(asked)
    note = issuer(asked)
    if note is None:
        return known
    graded = among(asked.stone["shape"], note["cut_grade_shapes"])
    return "graded_by_issuer" if graded else "not_graded_by_issuer"


def _cut_ceiling(asked: Asked) -> str | None:
    cut, polish, symmetry = (asked.stone.get(name) for name in ("cut_grade", "polish", "symmetry"))
    if not cut or not polish or not symmetry:
        return None
    rank = FINISH.grades.index
    ceiling = _CEILING[FINISH.grades[max(rank(polish), rank(symmetry))]]
    return "above" if rank(cut) < rank(ceiling) else "within"


def _letters(asked: Asked) -> str | None:
    until = (issuer(asked) or {}).get("laboratory_grown_letters_until")
    issued = asked.member("stone", "report", "date")
    if until is None or issued is None:
        return None
    lettered = asked.stone.get("color") is not None or asked.stone.get("clarity") is not None
    grown = asked.stone.get("origin") == "laboratory_grown"
    return "withdrawn" if grown and lettered and issued >= until else "given"


def _inclusion_sight(asked: Asked) -> str | None:
    """One minute of arc at the stated distance, else at 250 mm."""
    size = asked.member("stone", "observations", "inclusion", "size_mm")
    if size is None:
        return None
    distance = asked.member("stone", "observations", "distance_mm") or 250
    return "under_sight" if size < distance * math.tan(math.pi / 180 / 60) else "over_sight"


def _eye_clean(asked: Asked) -> str | None:
    seen = asked.member("stone", "observations", "eye_clean")
    return None if seen is None else "clean" if seen else "not_clean"


def tone(asked: Asked) -> str | None:
    """Color of the head; None while its metal is not stated."""
    metal = asked.context.get("metal")
    return None if metal is None else "warm" if metal in _WARM_METALS else "white"


def _cushion_kind(asked: Asked) -> str | None:
    return None if asked.stone["shape"] == "cushion" else str(asked.stone["shape"])


_READERS: Final = {
    "cushion_kind": _cushion_kind,
    "girdle_min": _girdle_min,
    "treatment": _treatment,
    "color_best": _color_best,
    "color_group": _color_group,
    "clarity_worst": _clarity_worst,
    "millimetres": lambda asked: "stated" if sides(asked) else None,
    "eye_clean": _eye_clean,
    "weight_fit": lambda asked: weight_fit(Figures(Stone.model_validate(asked.stone))),
    "inclusion_sight": _inclusion_sight,
    "clouds": _clouds,
    "report": _report,
    "letters": _letters,
    "cut_scope": _cut_scope,
    "cut_ceiling": _cut_ceiling,
    "setting": lambda asked: "given" if asked.context.get("protection") else None,
    "tone": tone,
}
