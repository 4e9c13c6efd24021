"""The closed list of facts and measures of a wish or a lead that a rule may name. Nothing here decides."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Final, get_args

from gradefloor.rules.terms import NOT_STATED, Fact
from gradefloor.trade.grades import CLARITY, COLOR_GROUPS, color_group
from gradefloor.trade.leads import Errand, Gem, Heirloom, Lead
from gradefloor.trade.settings import BandShape
from gradefloor.trade.shapes import GROUPS, SHAPES
from gradefloor.trade.stones import METAL_TONES, Metal, Wear
from gradefloor.trade.weights import exact
from gradefloor.trade.wishes import OPPOSITES, Covers, Height, StyleName, Warmth, Wish

_NO_WISH: Final = Wish()


class LeadCase:
    """One lead with the day it is looked at: what the facts are read from."""

    __slots__ = ("as_of", "lead", "wish")

    def __init__(self, lead: Lead, as_of: date) -> None:
        self.lead = lead
        self.wish = lead.wish or _NO_WISH
        self.as_of = as_of


def _fact(
    name: str, values: tuple[str, ...], read: Callable[[LeadCase], str | None], about: str
) -> Fact[LeadCase]:
    return Fact(name, values, lambda case: read(case) or NOT_STATED, about)


def _yes(value: bool | None) -> str | None:
    return None if value is None else "yes" if value else "no"


def _opposites(case: LeadCase) -> str | None:
    wished = set(case.wish.tastes or ())
    return next((f"{one}_and_{other}" for one, other in OPPOSITES if {one, other} <= wished), None)


def _kind(case: LeadCase) -> str | None:
    """What all wished shapes have in common; points before the rest, because they decide what breaks."""
    shapes = set(case.wish.shapes or ())
    if not shapes:
        return None
    if any(SHAPES[shape].corners == "points" for shape in shapes):
        return "pointed"
    return "steps" if shapes <= GROUPS["steps"] else "other"


def _outline(case: LeadCase) -> str | None:
    return next((taste for taste in case.wish.tastes or () if taste in {"long", "broad"}), None)


def _band_fit(case: LeadCase) -> str | None:
    band = case.wish.wedding_band
    if band is None:
        return None
    if band.shape in set(get_args(BandShape)) - {"straight"}:
        return "contour"
    return {True: "gap", False: "flush", None: "open"}[band.accepts_gap]


def _origin(case: LeadCase) -> str | None:
    origins = case.wish.origins or ()
    return "both" if len(set(origins)) > 1 else origins[0] if origins else None


def _material(case: LeadCase) -> str | None:
    materials = set(case.wish.materials or ())
    if not materials:
        return None
    return "mixed" if len(materials) > 1 else "diamond" if materials == {"diamond"} else "substitute"


def _tax(case: LeadCase) -> str | None:
    budget = case.wish.budget
    if budget is None or budget.tax_included is None:
        return None
    return "included" if budget.tax_included else "excluded"


def _finger(case: LeadCase) -> str | None:
    if case.lead.finger_guess:
        return "guessed"
    return "stated" if case.wish.finger else None


def _stated(value: object) -> str | None:
    return None if value is None else "stated"


def _setting(case: LeadCase, member: str) -> str | None:
    setting = case.wish.setting
    return None if setting is None else getattr(setting, member)


_FACTS: Final[tuple[Fact[LeadCase], ...]] = (
    _fact("opposites", tuple(f"{one}_and_{other}" for one, other in OPPOSITES), _opposites, "wish.tastes"),
    _fact("shape_kind", ("pointed", "steps", "other"), _kind, "wish.shapes"),
    _fact("outline", ("long", "broad"), _outline, "wish.tastes"),
    _fact("size", ("stated",), lambda c: _stated(c.wish.carat or c.wish.length_mm), "wish.carat"),
    _fact("color_wish", tuple(COLOR_GROUPS), lambda c: c.wish.color and color_group(c.wish.color),
          "wish.color"),
    _fact("clarity_wish", CLARITY.grades, lambda c: c.wish.clarity, "wish.clarity"),
    _fact("warmth", get_args(Warmth), lambda c: c.wish.warmth, "wish.warmth"),
    _fact("metal", get_args(Metal), lambda c: c.wish.metal, "wish.metal"),
    _fact("tone", ("white", "warm"), lambda c: c.wish.metal and METAL_TONES[c.wish.metal], "wish.metal"),
    _fact("style", get_args(StyleName), lambda c: _setting(c, "style"), "wish.setting.style"),
    _fact("sides", ("given",), lambda c: "given" if _setting(c, "side_shape") else None,
          "wish.setting.side_shape"),
    _fact("height", get_args(Height), lambda c: _setting(c, "height"), "wish.setting.height"),
    _fact("band_fit", ("flush", "gap", "contour", "open"), _band_fit, "wish.wedding_band.accepts_gap"),
    _fact("wear", get_args(Wear), lambda c: c.wish.wear, "wish.wear"),
    _fact("nickel", ("avoided",), lambda c: "avoided" if c.wish.avoids else None, "wish.avoids"),
    _fact("origin", ("natural", "laboratory_grown", "both"), _origin, "wish.origins"),
    _fact("material", ("diamond", "substitute", "mixed"), _material, "wish.materials"),
    _fact("budget", ("stated",), lambda c: _stated(c.wish.budget), "wish.budget.amount"),
    _fact("covers", get_args(Covers), lambda c: None if c.wish.budget is None else c.wish.budget.covers,
          "wish.budget.covers"),
    _fact("tax", ("included", "excluded"), _tax, "wish.budget.tax_included"),
    _fact("finger", ("stated", "guessed"), _finger, "wish.finger"),
    _fact("surprise", ("yes", "no"), lambda c: _yes(c.lead.surprise), "surprise"),
    _fact("comparing", ("yes", "no"), lambda c: _yes(c.lead.comparing), "comparing"),
    _fact("heirloom", get_args(Heirloom), lambda c: c.lead.heirloom, "heirloom"),
    _fact("errand", get_args(Errand), lambda c: c.lead.errand, "errand"),
    _fact("gem", get_args(Gem), lambda c: c.lead.gem, "gem"),
)  # fmt: skip

LEAD_FACTS: Final[dict[str, Fact[LeadCase]]] = {fact.name: fact for fact in _FACTS}


@dataclass(frozen=True, slots=True)
class LeadMeasure:
    """A number of a lead, and the member that states it."""

    name: str
    read: Callable[[LeadCase], Decimal | None]
    about: str
    unit: str


def _days_left(case: LeadCase) -> Decimal | None:
    needed = case.lead.needed_by
    return None if needed is None else Decimal((needed - case.as_of).days)


def _carat(case: LeadCase) -> Decimal | None:
    return exact(max(case.wish.carat)) if case.wish.carat else None


def _amount(case: LeadCase) -> Decimal | None:
    return exact(max(case.wish.budget.amount)) if case.wish.budget else None


LEAD_MEASURES: Final[dict[str, LeadMeasure]] = {
    measure.name: measure
    for measure in (
        LeadMeasure("days_left", _days_left, "needed_by", "days"),
        LeadMeasure("carat", _carat, "wish.carat", "ct"),
        LeadMeasure("amount", _amount, "wish.budget.amount", ""),
    )
}
