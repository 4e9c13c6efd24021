"""A wish turned into what to look for: for each shape floors, ratio, windows, millimetres and settings."""

from collections.abc import Iterator, Sequence
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from typing import Final

from gradefloor.judge import clashes
from gradefloor.judge.advice_findings import (
    Calibrated,
    ConditionAdvice,
    Conflict,
    Expected,
    FaceUp,
    FloorAdvice,
    Given,
    ShapeAdvice,
    SpareAdvice,
    WindowAdvice,
)
from gradefloor.judge.ring_findings import RankedSetting
from gradefloor.judge.settings import Tried, tell, try_settings
from gradefloor.judge.specimens import Bounds, Candidate, Specimen, choose, judge_specimen
from gradefloor.rules.tables import CompiledRules
from gradefloor.trade.assembly import USUAL_SHANK_THICKNESS_MM, USUAL_SHANK_WIDTH_MM, Ring
from gradefloor.trade.band_fit import USUAL_CULET_HEIGHT_MM
from gradefloor.trade.leads import Lead
from gradefloor.trade.outlines import face_up_mm2
from gradefloor.trade.settings import Setting, SideStone, Wearer
from gradefloor.trade.shapes import SHAPES
from gradefloor.trade.weights import exact, usual_size
from gradefloor.trade.wishes import Height, Priority, Wish

_TENTH: Final = Decimal("0.1")
_HUNDREDTH: Final = Decimal("0.01")

# Settings told for each shape; the rest only repeats them.
MOST_SETTINGS: Final = 3

# Height of the table above the finger that a standard and a high setting aim at, in mm: the middle of 5.0 to
# 6.5, and half a millimetre above it. From memory, no source.
_AIMED_MM: Final[dict[Height, Decimal]] = {"standard": Decimal("5.75"), "high": Decimal("7.0")}

# What somebody gives up unwillingly who has this priority.
_HELD: Final[dict[Priority, tuple[str, ...]]] = {
    "size": ("carat",),
    "color": ("color",),
    "clarity": ("clarity",),
    "character": ("look",),
    "price": (),
}


class Advising:
    """Advice about one wish, shape by shape, so that whoever serves it can give way between two."""

    def __init__(self, rules: CompiledRules, wish: Wish, as_of: date) -> None:
        self.rules = rules
        self.wish = wish
        self.as_of = as_of
        self.candidates = choose(rules, wish)
        self.shapes: list[ShapeAdvice] = []
        self.specimens: list[Specimen] = []
        self._tried: dict[tuple[str, str], list[Tried]] = {}

    def each_shape(self, *, settings: bool = True) -> Iterator[ShapeAdvice]:
        """Shapes that serve the wish, best first; without settings no ring is tried."""
        for candidate in self.candidates:
            specimen = judge_specimen(candidate, self.as_of)
            if specimen.evaluation["verdict"] == "fail":
                continue  # nothing that fails is ever advised
            key = candidate.shape, candidate.material
            if settings and key not in self._tried:
                self._tried[key] = ranked_rings(self.rules, specimen, self.as_of)
            self.specimens.append(specimen)
            self.shapes.append(_advise(specimen, self._tried.get(key, ())))
            yield self.shapes[-1]

    def conflicts(self) -> list[Conflict]:
        """What of the wish cannot be had together, in the shapes worked out so far."""
        found = clashes.of_wish(self.rules, Lead(wish=self.wish), self.as_of)
        found += clashes.of_candidates(self.rules, self.wish, self.candidates)
        found += [conflict for one in self.specimens for conflict in clashes.of_height(one)]
        for tried in self._tried.values():
            found += [conflict for best in tried[:1] for conflict in clashes.of_ring(best)]
        return clashes.joined(found)


def ranked_rings(rules: CompiledRules, specimen: Specimen, as_of: date) -> list[Tried]:
    """Rings with this stone as wished: in the style wished, else in every style, the best first."""
    if not rules.rings:
        return []
    setting = specimen.candidate.wish.setting
    style = None if setting is None else setting.style
    # Three stones are a plain ring with a pair of side stones, which `ring_of` puts beside the center.
    return try_settings(
        rules, ring_of(rules, specimen), as_of, "solitaire" if style == "three_stone" else style
    )


def ring_of(rules: CompiledRules, specimen: Specimen) -> Ring:
    """The ring that is wished, with the stone to look for in it."""
    wish, stone = specimen.candidate.wish, specimen.stone
    setting = Setting(
        metal=wish.metal,
        culet_height_mm=_culet_height_mm(wish, stone.depth_mm),
        shank_width_mm=float(USUAL_SHANK_WIDTH_MM),
        shank_thickness_mm=float(USUAL_SHANK_THICKNESS_MM),
    )
    wearer = Wearer(wear=wish.wear, avoids=wish.avoids) if wish.wear or wish.avoids else None
    return Ring(stone, setting, _sides(rules, wish, stone.shape), wish.wedding_band, wish.finger, wearer)


def _culet_height_mm(wish: Wish, depth_mm: float | None) -> float | None:
    """Height of the culet that brings the table to the height wished; the least there is if low."""
    height = None if wish.setting is None else wish.setting.height
    if height is None or depth_mm is None:
        return None
    if height == "low":
        return float(USUAL_CULET_HEIGHT_MM)
    return float(max(USUAL_CULET_HEIGHT_MM, _AIMED_MM[height] - exact(depth_mm)))


def _sides(rules: CompiledRules, wish: Wish, center: str) -> Sequence[SideStone]:
    """A pair of side stones of the shape wished; for three stones without a shape, of the best one."""
    if wish.setting is None:
        return ()
    shape: str | None = wish.setting.side_shape
    companions = rules.rings.centers[center].companions
    if shape is None and wish.setting.style == "three_stone" and companions is not None:
        shape = companions.best[0]
    if shape is None:
        return ()
    family: dict[str, str] = {"shape": shape}
    if SHAPES[shape].facet_family == "step_or_brilliant":
        family["facet_family"] = "step" if SHAPES[center].facet_family == "step" else "brilliant"
    return (SideStone.model_validate(family),) * 2


# One shape


def _advise(specimen: Specimen, tried: Sequence[Tried]) -> ShapeAdvice:
    candidate = specimen.candidate
    rules, character, wish = candidate.rules, candidate.character, candidate.wish
    windows, floors = _windows(candidate), _floors(candidate)
    look, ratio = rules.shapes[candidate.shape].look, _ratio(candidate)
    advice: ShapeAdvice = {
        "shape": candidate.shape,
        "title": SHAPES[candidate.shape].title,
        "material": candidate.material,
        "origin": candidate.origin,
        "suits": candidate.suits,
        "tastes": [{"taste": taste, "points": points} for taste, points in candidate.tastes.items()],
        "floors": floors,
        "ratio": {
            "looks": candidate.looks,
            "at_least": float(ratio.low),
            "at_most": float(ratio.high),
            "rule": "" if look is None else look.stamp.rule,
        },
        "windows": windows,
        "expected_mm": _expected(candidate),
        "face_up_mm2": _face_up(candidate),
        "spare": _spare(candidate),
        "give_up_first": _give_up(candidate),
        "never": list(character.never),
        "look_for": candidate.stone.model_dump(exclude_none=True),
        "verdict": specimen.evaluation["verdict"],
        "conditions": _conditions(specimen),
        "settings": [_setting(one) for one in tried[:MOST_SETTINGS]],
        "reasons": [character.because],
        "rules": [],
    }
    if advice["spare"] is not None:
        advice["reasons"].append(advice["spare"]["says"])
    if candidate.material == "diamond" and wish.warmth == "welcome":
        advice["reasons"].append(
            "Warmth is welcome, so the letter at the floor, or the one once seen, will do."
        )
    if (calibrated := _calibrated(candidate)) is not None:
        advice["calibrated"] = calibrated
        advice["reasons"].append(rules.advice.assortments[candidate.material, candidate.shape][1].because)
    named = [candidate.stamp.rule, advice["ratio"]["rule"]]
    named += [part["rule"] for part in (*floors, *windows, *advice["conditions"])]
    named += [calibrated["rule"]] if calibrated else []
    advice["rules"] = list(dict.fromkeys(rule for rule in named if rule))
    return advice


def _ratio(candidate: Candidate) -> Bounds:
    """Ratio to look for; of a substitute, that of the size it is sold in, if the looks are not."""
    if not candidate.calibrated_mm or candidate.size is None:
        return candidate.ratio
    sold = (candidate.size.length_mm / candidate.size.width_mm).quantize(_HUNDREDTH, ROUND_HALF_UP)
    return candidate.ratio if candidate.ratio_off(sold) == 0 else Bounds(sold, sold)


def _setting(tried: Tried) -> RankedSetting:
    """A setting as it stands in an answer; with side stones it is no solitaire any more."""
    told = tell(tried)
    if tried.ring.side_stones:
        told["side_shape"] = tried.ring.side_stones[0].shape
        if told["style"] == "solitaire":
            told["style"] = "three_stone"
            told["reasons"][0] = "Three stones on a plain ring: the sides widen the look of the center."
    return told


def _spare(candidate: Candidate) -> SpareAdvice | None:
    """Where spare money goes: nowhere in a substitute, which has neither letter nor grade."""
    spare = candidate.character.spare
    if spare is None or candidate.material != "diamond":
        return None
    return {"forgives": spare.forgives, "spend_on": spare.spend_on, "says": spare.says}


def _floors(candidate: Candidate) -> list[FloorAdvice]:
    found: list[FloorAdvice] = []
    for tone, floor, band in candidate.floors():
        grades = floor.scale.grades
        found.append({
            "grade": floor.scale.name,
            "head": tone,
            "from_carat": band.from_points / 100,
            "below_carat": None if band.below_points is None else band.below_points / 100,
            "on_paper": grades[band.on_paper],
            "if_seen": None if band.if_seen == band.on_paper else grades[band.if_seen],
            "rule": floor.stamp.rule,
        })  # fmt: skip
    return found


def _windows(candidate: Candidate) -> list[WindowAdvice]:
    return [
        {
            "measure": window.measure.name,
            "comfort": [float(window.comfort.from_), float(window.comfort.to)],
            "tolerated": [float(window.tolerated.from_), float(window.tolerated.to)],
            "rule": window.stamp.rule,
        }
        for window in candidate.rules.shapes[candidate.shape].windows[candidate.material]
        if window.stamp.topic == "proportions" and window.measure.name != "ratio"
    ]


def _expected(candidate: Candidate) -> Expected | None:
    """Sizes at both ends of the weights, at the middle ratio and depth."""
    middle = candidate.middle_carat
    weights = candidate.carat or Bounds(middle, middle)
    # A substitute has the calibrated size, whichever weight it is to look like.
    low, high = (candidate.size if candidate.calibrated_mm else candidate.size_at(c) for c in weights)
    if low is None or high is None:
        return None
    return {
        "carat": [float(carat.quantize(_HUNDREDTH, ROUND_HALF_UP)) for carat in weights],
        "length_mm": [float(low.length_mm), float(high.length_mm)],
        "width_mm": [float(low.width_mm), float(high.width_mm)],
        "depth_mm": [float(low.depth_mm), float(high.depth_mm)],
        "assumed": candidate.size_is_assumed,
    }


def _face_up(candidate: Candidate) -> FaceUp | None:
    size, like = candidate.size, usual_size("round", candidate.middle_carat, Decimal(1))
    if size is None or like is None:
        return None
    area = face_up_mm2(candidate.shape, size.length_mm, size.width_mm)
    of_round = face_up_mm2("round", like.length_mm, like.width_mm)
    if area is None or of_round is None:
        return None
    return {
        "mm2": float(area.quantize(_TENTH, ROUND_HALF_UP)),
        "of_round_pct": float((area * 100 / of_round).quantize(_TENTH, ROUND_HALF_UP)),
    }


def _give_up(candidate: Candidate) -> list[Given]:
    """In the order of the rules, but for what the priorities hold on to, which comes last."""
    held = [what for priority in candidate.wish.priorities or () for what in _HELD[priority]]
    graded = candidate.material == "diamond"
    offered = [g for g in candidate.character.give_up_first if graded or g.what not in {"color", "clarity"}]
    ordered = sorted(offered, key=lambda g: -held.index(g.what) if g.what in held else -len(held) - 1)
    return [{"what": given.what, "says": given.says} for given in ordered]


def _conditions(specimen: Specimen) -> list[ConditionAdvice]:
    questions = specimen.candidate.rules.questions
    return [
        {
            "about": one.field,
            "ask": questions.get(one.field, one.finding["reason"]),
            "rule": one.finding["rule"],
        }
        for one in specimen.conditions
    ]


def _calibrated(candidate: Candidate) -> Calibrated | None:
    """Sizes and classes in which a substitute is sold."""
    found = candidate.rules.advice.assortments.get((candidate.material, candidate.shape))
    if found is None:
        return None
    stamp, assortment = found
    return {
        "sizes_mm": [[float(length), float(width)] for length, width in candidate.calibrated_mm],
        "color_classes": list(assortment.color_classes),
        "rule": stamp.rule,
    }
