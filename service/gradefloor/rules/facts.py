"""The closed list of facts and measures that a rule may name: what each can be, and how it is read.

A fact has finitely many values, so the compiler can walk all of them and prove that a rule has no gap.
Nothing here decides; that is the rule set's business.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Final, get_args

from gradefloor.rules.terms import NOT_STATED, Fact
from gradefloor.trade.consistency import weight_fit
from gradefloor.trade.figures import Figures
from gradefloor.trade.grades import (
    CLARITY,
    COLOR,
    COLOR_GROUPS,
    CULET,
    FINISH,
    FLUORESCENCE,
    GIRDLE,
    Scale,
    Span,
)
from gradefloor.trade.grades import color_group as group_of_letter
from gradefloor.trade.grades import cut_ceiling as ceiling_of_finish
from gradefloor.trade.materials import USUAL_DISTANCE_MM, visible_mm
from gradefloor.trade.reading import CommentEffect, comment_effects
from gradefloor.trade.stones import METAL_TONES, Context, Material, Observations, Report, Stone, Treatment

_NOTHING_SEEN: Final = Observations()
_NO_REPORT: Final = Report()

# Worst to mildest for whoever has to work the stone; the first one present speaks.
_TREATMENTS: Final = ("fracture_filled", "coated", "irradiated", "annealed", "hpht", "other", "laser_drilled")
_QUALITY_CLASSES: Final = {"premium": ("D", "FL-VVS2"), "standard": ("D-J", "FL-VS2")}


@dataclass(frozen=True, slots=True)
class Issuer:
    """What is known of one laboratory's reports."""

    name: str
    cut_grade_shapes: frozenset[str]
    laboratory_grown_letters_until: date | None
    offsets: Mapping[str, Span]


class Case:
    """One request with what follows from it: the only thing that facts and measures are read from."""

    __slots__ = (
        "_effects", "as_of", "clarity", "color", "context", "figures", "issuer", "observations", "report",
        "stone",
    )  # fmt: skip

    def __init__(self, stone: Stone, context: Context, as_of: date, issuers: Mapping[str, Issuer]) -> None:
        self.stone = stone
        self.context = context
        self.as_of = as_of
        self.observations = stone.observations or _NOTHING_SEEN
        self.report = report = stone.report or _NO_REPORT
        self.issuer = issuers.get(report.issuer.casefold()) if report.issuer else None
        self.figures = Figures(stone)
        self.color = stone.color
        self.clarity = stone.clarity
        if report.assessment and stone.origin == "laboratory_grown":
            # The class is an interval of grades: issuer's announcement of 1 Oct 2025, trade press.
            color, clarity = _QUALITY_CLASSES[report.assessment]
            self.color = stone.color or color
            self.clarity = stone.clarity or clarity
        if self.issuer is not None and self.issuer.offsets:
            self.color = _moved(COLOR, self.color, self.offset(COLOR))
            self.clarity = _moved(CLARITY, self.clarity, self.offset(CLARITY))
        self._effects: frozenset[CommentEffect] | None = None

    def offset(self, scale: Scale) -> Span | None:
        """How many grades lower than stated the named laboratory's grades are read, if the rules say so."""
        return None if self.issuer is None else self.issuer.offsets.get(scale.name)

    @property
    def effects(self) -> frozenset[CommentEffect]:
        """What the report's comments amount to; several facts ask."""
        if self._effects is None:
            self._effects = comment_effects(self.report.comments) if self.report.comments else frozenset()
        return self._effects

    @property
    def position(self) -> str:
        return self.context.position or "center"

    @property
    def tone(self) -> str | None:
        return METAL_TONES[self.context.metal] if self.context.metal else None


def _moved(scale: Scale, text: str | None, offset: Span | None) -> str | None:
    """A grade as the rules' own school would give it: an interval, so many grades lower."""
    if text is None or offset is None:
        return text
    lowest = len(scale.grades) - 1
    span = scale.span(text)
    return scale.write(Span(min(span.best + offset.best, lowest), min(span.worst + offset.worst, lowest)))


def _stone(name: str, values: tuple[str, ...], *, ordered: bool = True) -> Fact[Case]:
    def read(case: Case) -> str:
        return getattr(case.stone, name) or NOT_STATED

    return Fact(name, values, read, f"stone.{name}", ordered=ordered, settable=str)


def _observed(name: str, values: tuple[str, ...]) -> Fact[Case]:
    def read(case: Case) -> str:
        return getattr(case.observations, name) or NOT_STATED

    return Fact(name, values, read, f"stone.observations.{name}", ordered=True, settable=str)


def _inclusion(part: str, values: tuple[str, ...]) -> Fact[Case]:
    def read(case: Case) -> str:
        inclusion = case.observations.inclusion
        return (inclusion and getattr(inclusion, part)) or NOT_STATED

    return Fact(f"inclusion_{part}", values, read, f"stone.observations.inclusion.{part}", settable=str)


def _context(name: str, values: tuple[str, ...]) -> Fact[Case]:
    def read(case: Case) -> str:
        return getattr(case.context, name) or NOT_STATED

    return Fact(name, values, read, f"context.{name}", of_the_setting=True, settable=str)


def _eye_clean(case: Case) -> str:
    seen = case.observations.eye_clean
    return NOT_STATED if seen is None else "clean" if seen else "not_clean"


def _girdle_min(case: Case) -> str:
    """The thinnest end: a range is extent, not doubt, whichever way round it was written."""
    ends = [end for end in (case.stone.girdle_min, case.stone.girdle_max) if end is not None]
    return NOT_STATED if case.stone.girdle_min is None else min(ends, key=GIRDLE.rank)


def _treatment(case: Case) -> str:
    found = case.stone.treatments
    if not found:
        return NOT_STATED if found is None else "untreated"
    return next(t for t in _TREATMENTS if t in found)


def _clouds(case: Case) -> str:
    effects = case.effects
    if "clouds_set_grade" in effects:
        return "set_the_grade"
    return "additional" if "additional_clouds" in effects else NOT_STATED


def _comment(name: str, effect: CommentEffect) -> Fact[Case]:
    def read(case: Case) -> str:
        return "commented" if effect in case.effects else NOT_STATED

    return Fact(name, ("commented",), read, "stone.report.comments", title=effect)


def _color_best(case: Case) -> str:
    return COLOR.grades[COLOR.span(case.color).best] if case.color else NOT_STATED


def _color_group(case: Case) -> str:
    return group_of_letter(COLOR.grades[COLOR.span(case.color).worst]) if case.color else NOT_STATED


def _clarity_worst(case: Case) -> str:
    return CLARITY.grades[CLARITY.span(case.clarity).worst] if case.clarity else NOT_STATED


def _cut_scope(case: Case) -> str:
    """Whether the named laboratory gives cut grades for this shape at all."""
    if case.report.issuer is None:
        return NOT_STATED
    issuer = case.issuer
    if issuer is None:
        return "other_issuer"
    return "graded_by_issuer" if case.stone.shape in issuer.cut_grade_shapes else "not_graded_by_issuer"


def _cut_ceiling(case: Case) -> str:
    """Whether polish and symmetry allow the cut grade that is stated."""
    stone = case.stone
    if not (stone.cut_grade and stone.polish and stone.symmetry):
        return NOT_STATED
    allowed = ceiling_of_finish(stone.polish, stone.symmetry)
    return "above" if FINISH.rank(stone.cut_grade) < FINISH.rank(allowed) else "within"


def _letters(case: Case) -> str:
    """Whether this issuer still gave letter grades to laboratory-grown diamonds on the report's date."""
    issuer, issued = case.issuer, case.report.date
    if issuer is None or issued is None or issuer.laboratory_grown_letters_until is None:
        return NOT_STATED
    graded = case.stone.color or case.stone.clarity
    late = issued >= issuer.laboratory_grown_letters_until
    return "withdrawn" if graded and late and case.stone.origin == "laboratory_grown" else "given"


def _report(case: Case) -> str:
    if case.report.issuer is None:
        return NOT_STATED
    return "known_issuer" if case.issuer else "other_issuer"


def _inclusion_sight(case: Case) -> str:
    """Whether the eye could resolve the inclusion at the stated distance, else at the usual one."""
    inclusion = case.observations.inclusion
    if inclusion is None or inclusion.size_mm is None:
        return NOT_STATED
    smallest_mm = visible_mm(case.observations.distance_mm or USUAL_DISTANCE_MM)
    return "under_sight" if inclusion.size_mm < smallest_mm else "over_sight"


def _weight_fit(case: Case) -> str:
    return weight_fit(case.figures) or NOT_STATED


def _weight_and_size(case: Case) -> str | None:
    stone = case.stone
    return f"{stone.carat} ct at {stone.length_mm} × {stone.width_mm} × {stone.depth_mm} mm"


def _cushion_kind(case: Case) -> str:
    return NOT_STATED if case.stone.shape == "cushion" else case.stone.shape


def _issuer_name(case: Case) -> str | None:
    return case.report.issuer


def _millimetres(case: Case) -> str:
    return NOT_STATED if case.figures.ratio is None else "stated"


_FACTS: Final[tuple[Fact[Case], ...]] = (
    _stone("material", get_args(Material), ordered=False),
    _stone("origin", ("natural", "laboratory_grown"), ordered=False),
    Fact("cushion_kind", ("cushion_brilliant", "cushion_modified"), _cushion_kind, "stone.shape",
         settable=str),
    _stone("cut_grade", FINISH.grades),
    _stone("polish", FINISH.grades),
    _stone("symmetry", FINISH.grades),
    _stone("fluorescence", FLUORESCENCE.grades),
    Fact("girdle_min", GIRDLE.grades, _girdle_min, "stone.girdle_min", ordered=True, settable=str),
    _stone("girdle_max", GIRDLE.grades),
    _stone("culet", CULET.grades),
    Fact("color_best", COLOR.grades, _color_best, "stone.color", ordered=True, settable=str),
    Fact("color_group", tuple(COLOR_GROUPS), _color_group, "stone.color", ordered=True,
         settable=lambda group: COLOR_GROUPS[group][0]),
    Fact("clarity_worst", CLARITY.grades, _clarity_worst, "stone.clarity", ordered=True, settable=str),
    Fact("millimetres", ("stated",), _millimetres, "stone.length_mm", told=False),
    Fact("treatment", ("untreated", *reversed(_TREATMENTS)), _treatment, "stone.treatments", title="",
         settable=lambda value: [] if value == "untreated" else [value]),
    Fact("eye_clean", ("clean", "not_clean"), _eye_clean, "stone.observations.eye_clean", title="seen",
         settable=lambda value: value == "clean"),
    Fact("weight_fit", ("within", "heavy", "light", "like_moissanite"), _weight_fit, "stone.carat",
         quote=_weight_and_size),
    _observed("bow_tie", ("none", "slight", "moderate", "severe")),
    _observed("windowing", ("none", "slight", "prominent")),
    _observed("haze", ("none", "slight", "strong")),
    _observed("tint", ("none", "yellow", "brown", "green", "gray")),
    _observed("seen_in", ("hand", "video", "photograph")),
    _inclusion("type", (
        "crystal", "dark_crystal", "cloud", "pinpoint", "needle", "feather", "open_feather",
        "twinning_wisp", "graining", "knot", "cavity", "chip", "bruise", "indented_natural",
        "laser_drill_hole", "bearding",
    )),
    _inclusion("place", ("table_center", "table_edge", "crown", "pavilion", "girdle", "point")),
    Fact("inclusion_sight", ("under_sight", "over_sight"), _inclusion_sight,
         "stone.observations.inclusion.size_mm", title=""),
    Fact("clouds", ("additional", "set_the_grade"), _clouds, "stone.report.comments", title="clouds"),
    _comment("graining_comment", "graining"),
    _comment("surface_comment", "surface_reaching"),
    _comment("angle_comment", "angles"),
    _comment("treatment_comment", "treatment"),
    _comment("unread_comment", "unread"),
    Fact("report", ("known_issuer", "other_issuer"), _report, "stone.report.issuer",
         quote=_issuer_name, title=""),
    Fact("assessment", ("premium", "standard"), lambda c: c.report.assessment or NOT_STATED,
         "stone.report.assessment"),
    Fact("letters", ("given", "withdrawn"), _letters, "stone.report.date"),
    Fact("cut_scope", ("graded_by_issuer", "not_graded_by_issuer", "other_issuer"), _cut_scope,
         "stone.report.issuer", quote=_issuer_name, title=""),
    Fact("cut_ceiling", ("within", "above"), _cut_ceiling, "stone.cut_grade",
         title="cut grade against polish and symmetry:"),
    _context("jewelry", ("ring", "earring", "pendant")),
    _context("protection", ("claws", "v_claws", "bezel")),
    Fact("setting", ("given",), lambda c: "given" if c.context.protection else NOT_STATED,
         "context.protection", told=False),
    Fact("tone", ("white", "warm"), lambda c: c.tone or NOT_STATED, "context.metal", of_the_setting=True,
         settable=lambda tone: {"white": "platinum", "warm": "yellow_gold"}[tone]),
)  # fmt: skip

FACTS: Final[dict[str, Fact[Case]]] = {fact.name: fact for fact in _FACTS}

# Treatment is a closed word list in two places: its order here decides, its Literal there is the contract.
if set(_TREATMENTS) != set(get_args(Treatment)):
    raise AssertionError("every treatment needs its place in the order")
