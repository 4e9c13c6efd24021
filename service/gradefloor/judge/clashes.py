"""What of a wish cannot be had together: said by the rules about wishes, and found by judging the ring."""

from collections.abc import Iterator, Sequence
from datetime import date

from gradefloor.judge.advice_findings import Conflict
from gradefloor.judge.geometry import tell_levers
from gradefloor.judge.settings import Tried
from gradefloor.judge.specimens import Candidate
from gradefloor.rules.lead_facts import LeadCase
from gradefloor.rules.tables import CompiledRules
from gradefloor.trade.leads import Lead
from gradefloor.trade.shapes import SHAPES
from gradefloor.trade.wishes import Wish

# From here on a shape serves a taste badly enough to say so.
_AGAINST = -2

# What a failing rule stands between, by its topic, and the members of a ring by their names in a wish.
_BETWEEN = {
    "band": ("wish.wedding_band", "wish.setting"),
    "sides": ("wish.setting.side_shape", "wish.shapes"),
    "durability": ("wish.shapes", "wish.setting"),
    "metal": ("wish.metal",),
    "wear": ("wish.wear", "wish.setting"),
}
_MEMBERS = {
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
        {
            "conflict": stamp.rule,
            "between": list(sign.abouts),
            "shapes": [],
            "says": clash.says,
            "ways_out": list(clash.ways_out),
        }
        for stamp, clash, sign in rules.advice.clashes
        if sign.holds(case)
    ]


def of_look(wish: Wish, candidates: Sequence[Candidate]) -> Iterator[Conflict]:
    """Shapes that have no look of the name that is wished."""
    for candidate in candidates:
        look = candidate.rules.shapes[candidate.shape].look
        if wish.look is None or look is None or wish.look in candidate.looks:
            continue
        names = ", ".join(band.look.replace("_", " ") for band in look.bands)
        yield {
            "conflict": look.stamp.rule,
            "between": ["wish.look", "wish.shapes"],
            "shapes": [candidate.shape],
            "says": f"The {SHAPES[candidate.shape].title} has no look of the name that is wished.",
            "ways_out": [f"One of its own: {names}.", "Another shape."],
        }


def of_taste(rules: CompiledRules, wish: Wish, candidates: Sequence[Candidate]) -> Iterator[Conflict]:
    """Shapes that were wished although they are the opposite of a taste that was wished, too."""
    if not wish.shapes:
        return
    for candidate in candidates:
        for taste, points in candidate.tastes.items():
            if points > _AGAINST:
                continue
            yield {
                "conflict": candidate.stamp.rule,
                "between": ["wish.shapes", "wish.tastes"],
                "shapes": [candidate.shape],
                "says": f"{candidate.character.title}: the opposite of {taste.replace('_', ' ')}.",
                "ways_out": [f"Look at {_best(rules, taste)} beside it.", "Let the taste go."],
            }


def _best(rules: CompiledRules, taste: str) -> str:
    """The shapes that serve a taste best, in words."""
    serves = {shape: dict(found.serves) for shape, (_, found) in rules.advice.characters.items()}
    points = {shape: int(tastes.get(taste, 0)) for shape, tastes in serves.items()}  # type: ignore[call-overload]
    titles = [SHAPES[shape].title for shape, value in points.items() if value == max(points.values())]
    return " or ".join(titles)


def of_ring(tried: Tried) -> Iterator[Conflict]:
    """What fails in a ring with the stone to look for, whatever its grades."""
    for _, finding, _ in tried.said:
        if finding["verdict"] != "fail":
            continue
        levers = [lever["says"] for lever in tell_levers(tried.ring)] if finding["topic"] == "band" else []
        heads = dict.fromkeys(change["field"].partition(".")[0] for change in finding["change"])
        yield {
            "conflict": finding["rule"],
            "between": list(
                dict.fromkeys(
                    [
                        *_BETWEEN.get(finding["topic"], ("wish.setting",)),
                        *(_MEMBERS[head] for head in heads if head in _MEMBERS),
                    ]
                )
            ),
            "shapes": [tried.ring.center.shape],
            "says": finding["reason"],
            "ways_out": levers or [finding["remedy"] or finding["reason"]],
        }


def joined(conflicts: Sequence[Conflict]) -> list[Conflict]:
    """The same conflict of several shapes told once."""
    found: dict[tuple[str, str], Conflict] = {}
    for conflict in conflicts:
        known = found.setdefault((conflict["conflict"], conflict["says"]), conflict)
        if known is not conflict:
            known["shapes"] += [shape for shape in conflict["shapes"] if shape not in known["shapes"]]
            known["ways_out"] += [way for way in conflict["ways_out"] if way not in known["ways_out"]]
    return list(found.values())
