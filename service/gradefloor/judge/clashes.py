"""What of a wish cannot be had together: said by the rules about wishes, and found by judging the ring."""

from collections.abc import Iterator, Sequence
from datetime import date
from decimal import Decimal
from typing import Final

from gradefloor.judge.advice_findings import Conflict
from gradefloor.judge.geometry import tell_levers
from gradefloor.judge.sentences import with_article
from gradefloor.judge.settings import Tried
from gradefloor.judge.specimens import Candidate, Specimen, bounds, nearest_character
from gradefloor.rules.lead_facts import LeadCase
from gradefloor.rules.tables import CompiledRules
from gradefloor.trade.band_fit import USUAL_CULET_HEIGHT_MM
from gradefloor.trade.leads import Lead
from gradefloor.trade.shapes import SHAPES
from gradefloor.trade.weights import exact
from gradefloor.trade.wishes import Taste, Wish

# How far off a calibrated size may face before it is no longer the size wished: house limit, no source.
_CALIBRATED_OFF: Final = Decimal("0.25")
# Under this the table stands low: house class, from memory.
_LOW_MM: Final = Decimal("5.0")
# From here on a shape serves a taste badly enough to say so.
_AGAINST: Final = -2

# What a failing rule stands between, by its topic, and the members of a ring by their names in a wish.
_BETWEEN: Final = {
    "band": ("wish.wedding_band", "wish.setting"),
    "sides": ("wish.setting.side_shape", "wish.shapes"),
    "durability": ("wish.shapes", "wish.setting"),
    "metal": ("wish.metal",),
    "wear": ("wish.wear", "wish.setting"),
}
_MEMBERS: Final = {
    "wedding_band": "wish.wedding_band",
    "setting": "wish.setting",
    "side_stones": "wish.setting.side_shape",
    "finger": "wish.finger",
    "wearer": "wish.wear",
    "center": "wish.shapes",
    "context": "wish.metal",
}


def of_wish(rules: CompiledRules, lead: Lead, as_of: date) -> list[Conflict]:
    """Conflicts that the rules about wishes name."""
    case = LeadCase(lead, as_of)
    return [
        _conflict(stamp.rule, sign.triggers(case), [], clash.says, clash.ways_out)
        for stamp, clash, sign in rules.advice.clashes
        if sign.holds(case)
    ]


def of_currency() -> Conflict:
    """A budget that cannot be held against the prices of a list."""
    says = "The budget is in another currency than the prices, so it was not held against them."
    ways = ["State the budget in the currency of the list."]
    return _conflict("budget", ["wish.budget.currency", "currency"], [], says, ways)


def of_candidates(rules: CompiledRules, wish: Wish, candidates: Sequence[Candidate]) -> list[Conflict]:
    """All that the shapes of a wish, advised or not, make impossible."""
    return [
        *of_shapes(rules, wish, candidates),
        *of_taste(rules, wish, candidates),
        *of_look(wish, candidates),
        *of_size(wish, candidates),
    ]


def of_shapes(rules: CompiledRules, wish: Wish, candidates: Sequence[Candidate]) -> Iterator[Conflict]:
    """Shapes that are wished and refused, and those about which these rules do not advise."""
    wished, refused = list(dict.fromkeys(wish.shapes or ())), set(wish.refused_shapes or ())
    both = [shape for shape in wished if shape in refused]
    if both:
        says = "These shapes are wished and refused."
        yield _conflict(
            "shapes", ["wish.shapes", "wish.refused_shapes"], both, says, ["Say which of the two holds."]
        )
    unknown = [s for s in wished if s not in refused and nearest_character(rules, s) is None]
    if unknown:
        says = "These rules do not advise about this shape; its own evaluation still judges it."
        ways = ["Have stones of it evaluated one by one.", "Another shape."]
        yield _conflict("shapes", ["wish.shapes"], unknown, says, ways)
    materials = list(dict.fromkeys(wish.materials or ("diamond",)))
    missing = [m for m in materials if m not in {candidate.material for candidate in candidates}]
    if missing and len(unknown) + len(both) < max(len(wished), 1):
        says = "These rules name no calibrated sizes of this material in what is wished."
        ways = ["Another shape.", "Ask its supplier for millimetres."]
        yield _conflict("materials", ["wish.materials", "wish.shapes"], [], says, ways)


def of_size(wish: Wish, candidates: Sequence[Candidate]) -> Iterator[Conflict]:
    """A weight and a length that no usual stone has, and a substitute that is not sold so large."""
    length = bounds(wish.length_mm)
    for candidate in candidates:
        ends = None if candidate.carat is None else [candidate.size_at(carat) for carat in candidate.carat]
        if ends is None or None in ends:
            continue
        low, high = (size.length_mm for size in ends if size is not None)
        title = SHAPES[candidate.shape].title
        if wish.carat and length is not None and (high < length.low or low > length.high):
            says = f"At the weight wished, {with_article(title)} is {low} to {high} mm long, not as wished."
            ways = [
                "Let the millimetres decide, and the weight follow.",
                "Another length to width, or shape.",
            ]
            between = ["wish.carat", "wish.length_mm"]
            yield _conflict(candidate.stamp.rule, between, [candidate.shape], says, ways)
        if candidate.calibrated_mm and candidate.size is not None:
            across, wished = candidate.size.length_mm, (low + high) / 2
            if abs(across - wished) > wished * _CALIBRATED_OFF:
                stamp, _ = candidate.rules.advice.assortments[candidate.material, candidate.shape]
                says = (
                    f"The nearest calibrated size is {across} mm long, and about {wished:.1f} mm are wished."
                )
                ways = ["Take the calibrated size.", "Have one cut to size."]
                yield _conflict(stamp.rule, ["wish.materials", "wish.carat"], [candidate.shape], says, ways)


def of_height(specimen: Specimen) -> Iterator[Conflict]:
    """A low setting for a stone that is too deep to stand low, with its culet just clear of the finger."""
    wish, depth = specimen.candidate.wish, specimen.stone.depth_mm
    if wish.setting is None or wish.setting.height != "low" or depth is None:
        return
    lowest = USUAL_CULET_HEIGHT_MM + exact(depth)
    if lowest >= _LOW_MM:
        says = (
            f"With its culet just clear of the finger it stands {lowest} mm high; low is under {_LOW_MM} mm."
        )
        ways = ["A smaller or a shallower stone.", "A standard height."]
        between = ["wish.setting.height", "wish.carat"]
        yield _conflict("height", between, [specimen.candidate.shape], says, ways)


def of_look(wish: Wish, candidates: Sequence[Candidate]) -> Iterator[Conflict]:
    """Shapes that have no look of the name that is wished."""
    for candidate in candidates:
        look = candidate.rules.shapes[candidate.shape].look
        if wish.look is None or look is None or wish.look in candidate.looks:
            continue
        names = ", ".join(band.look.replace("_", " ") for band in look.bands)
        says = f"The {SHAPES[candidate.shape].title} has no look of the name that is wished."
        ways = [f"One of its own: {names}.", "Another shape."]
        yield _conflict(look.stamp.rule, ["wish.look", "wish.shapes"], [candidate.shape], says, ways)


def of_taste(rules: CompiledRules, wish: Wish, candidates: Sequence[Candidate]) -> Iterator[Conflict]:
    """Shapes that were wished although they are the opposite of a taste that was wished, too."""
    if not wish.shapes:
        return
    for candidate in candidates:
        for taste, points in candidate.tastes.items():
            if points > _AGAINST:
                continue
            says = f"{candidate.character.title}: the opposite of {taste.replace('_', ' ')}."
            ways = [f"Look at {_best(rules, taste)} beside it.", "Let the taste go."]
            between = ["wish.shapes", "wish.tastes"]
            yield _conflict(candidate.stamp.rule, between, [candidate.shape], says, ways)


def _best(rules: CompiledRules, taste: Taste) -> str:
    """The shapes that serve a taste best, in words."""
    points = {shape: found.serves.get(taste, 0) for shape, (_, found) in rules.advice.characters.items()}
    most = max(points.values())
    return " or ".join(SHAPES[shape].title for shape, value in points.items() if value == most)


def of_ring(tried: Tried) -> Iterator[Conflict]:
    """What fails in a ring with the stone to look for, whatever its grades."""
    for finding in (said.finding for said in tried.said if said.verdict == "fail"):
        levers = [lever["says"] for lever in tell_levers(tried.ring)] if finding["topic"] == "band" else []
        heads = dict.fromkeys(change["field"].partition(".")[0] for change in finding["change"])
        between = [
            *_BETWEEN.get(finding["topic"], ("wish.setting",)),
            *(_MEMBERS[head] for head in heads if head in _MEMBERS),
        ]
        ways = levers or [finding["remedy"] or finding["reason"]]
        shapes = [tried.ring.center.shape]
        yield _conflict(finding["rule"], list(dict.fromkeys(between)), shapes, finding["reason"], ways)


def _conflict(
    name: str, between: list[str], shapes: Sequence[str], says: str, ways_out: Sequence[str]
) -> Conflict:
    return {
        "conflict": name, "between": between, "shapes": list(shapes), "says": says,
        "ways_out": list(ways_out),
    }  # fmt: skip


def joined(conflicts: Sequence[Conflict]) -> list[Conflict]:
    """The same conflict of several shapes told once."""
    found: dict[tuple[str, str], Conflict] = {}
    for conflict in conflicts:
        known = found.setdefault((conflict["conflict"], conflict["says"]), conflict)
        if known is not conflict:
            known["shapes"] += [shape for shape in conflict["shapes"] if shape not in known["shapes"]]
            known["ways_out"] += [way for way in conflict["ways_out"] if way not in known["ways_out"]]
    return list(found.values())
