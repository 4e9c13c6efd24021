"""The closed list of facts that a caption may name: of a stone as listed, and of what the rules said of it.

Nothing here decides; that is the rule set's business.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Final, get_args

from gradefloor.rules.said import SEVERITY
from gradefloor.rules.terms import NOT_STATED, Fact
from gradefloor.trade.listings import Listing
from gradefloor.trade.shapes import CIRCULAR, SHAPES
from gradefloor.trade.stones import METAL_TONES, Finish, Fluorescence, Origin

# A stone that looks so much larger or smaller than a usual one of its weight is said to: house value.
_NOTICEABLE: Final = Decimal("0.08")
_FAMILIES: Final = {
    "brilliant": "brilliant", "modified_brilliant": "crushed", "step": "step", "mixed": "step",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Listed:
    """One listing, with the worst verdict of each topic and what was measured."""

    listing: Listing
    verdicts: Mapping[str, str]
    ratio: float | None
    look: str | None
    faces_like_carat: float | None


def _topic(name: str) -> Callable[[Listed], str | None]:
    return lambda case: case.verdicts.get(name)


def _sized(case: Listed) -> str:
    return "yes" if case.ratio is not None else "no"


def _spread(case: Listed) -> str | None:
    carat, like = case.listing.stone.carat, case.faces_like_carat
    if carat is None or like is None or _material(case) == "substitute":
        return None  # a substitute weighs otherwise for its size
    share = Decimal(repr(like)) / Decimal(repr(carat)) - 1
    return "larger" if share >= _NOTICEABLE else "smaller" if share <= -_NOTICEABLE else "usual"


def _seen(case: Listed) -> str | None:
    seen = case.listing.stone.observations
    return None if seen is None or seen.eye_clean is None else "clean" if seen.eye_clean else "not_clean"


def _tone(case: Listed) -> str | None:
    context = case.listing.context
    return METAL_TONES[context.metal] if context is not None and context.metal else None


def _material(case: Listed) -> str:
    return "substitute" if case.listing.stone.material not in {None, "diamond"} else "diamond"


def _treatment(case: Listed) -> str | None:
    treatments = case.listing.stone.treatments
    return None if treatments is None else "some" if treatments else "none"


def _report(case: Listed) -> str | None:
    report = case.listing.stone.report
    if report is None or report.issuer is None:
        return None
    return "numbered" if report.number is not None else "named"


def _graded(case: Listed, grade: str) -> str | None:
    return "stated" if getattr(case.listing.stone, grade) is not None else None


def worst(verdicts: list[str]) -> str:
    """The verdict of a topic: the worst of its findings."""
    return max(verdicts, key=lambda verdict: (SEVERITY[verdict], verdict == "note"))


def _fact(name: str, values: tuple[str, ...], read: Callable[[Listed], str | None]) -> Fact[Listed]:
    return Fact(name, values, lambda case: read(case) or NOT_STATED, name)


_VERDICTS: Final = ("pass", "note", "ask", "fail")
_TOPICS: Final = ("clarity", "color", "cut", "durability", "proportions", "consistency", "material")
_FACTS: Final[tuple[Fact[Listed], ...]] = (
    *(_fact(f"{topic}_verdict", _VERDICTS, _topic(topic)) for topic in _TOPICS),
    _fact("sized", ("yes", "no"), _sized),
    _fact("spread", ("larger", "usual", "smaller"), _spread),
    _fact("look", ("named",), lambda c: "named" if c.look else None),
    _fact("family", ("brilliant", "crushed", "step", "old"),
          lambda c: _FAMILIES.get(SHAPES[c.listing.stone.shape].facet_family, "old")),
    _fact("corners", ("points", "other"),
          lambda c: "points" if SHAPES[c.listing.stone.shape].corners == "points" else "other"),
    _fact("circular", ("yes", "no"), lambda c: "yes" if c.listing.stone.shape in CIRCULAR else "no"),
    _fact("seen", ("clean", "not_clean"), _seen),
    _fact("tone", ("white", "warm"), _tone),
    _fact("origin", get_args(Origin), lambda c: c.listing.stone.origin),
    _fact("material", ("diamond", "substitute"), _material),
    _fact("treatment", ("none", "some"), _treatment),
    _fact("report", ("numbered", "named"), _report),
    _fact("clarity_grade", ("stated",), lambda c: _graded(c, "clarity")),
    _fact("color_grade", ("stated",), lambda c: _graded(c, "color")),
    _fact("weight", ("stated",), lambda c: _graded(c, "carat")),
    _fact("fluorescence", get_args(Fluorescence), lambda c: c.listing.stone.fluorescence),
    _fact("cut_grade", get_args(Finish), lambda c: c.listing.stone.cut_grade),
)  # fmt: skip
LISTING_FACTS: Final[dict[str, Fact[Listed]]] = {fact.name: fact for fact in _FACTS}
