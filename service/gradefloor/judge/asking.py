"""The questions whose answers change the advice most, worked out by advising for every answer."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import combinations
from typing import Annotated, Any, Final, get_args

from pydantic import Field
from typing_extensions import TypedDict

from gradefloor.judge.budgets import reckon
from gradefloor.judge.lead_reading import put
from gradefloor.judge.leads import look_ahead
from gradefloor.rules.lead_facts import LeadCase
from gradefloor.rules.tables import CompiledRules
from gradefloor.trade.leads import Lead
from gradefloor.trade.wishes import TASTES, StyleName, Wish

MOST_QUESTIONS: Final = 3
_DIGITS: Final = 4  # of a share: questions that differ less are equally good

# Days from now and sizes in carat that stand for a near and a far answer: common practice, no source.
_DAYS: Final = (21, 60, 200)
_CARATS: Final = (0.7, 1.0, 1.5, 2.0, 3.0)
_FINGERS: Final = ("5", "7")


class LeadQuestion(TypedDict):
    """One question whose answer changes the advice."""

    about: Annotated[str, Field(description="Dotted path in the lead that would state it.")]
    ask: Annotated[str, Field(description="The question, as one would ask it.")]
    changes: Annotated[
        float,
        Field(description="Share of the advice in which two of its answers differ, 0 to 1, on average."),
    ]
    moves: Annotated[list[str], Field(description="Parts of the advice that its answers change.")]


@dataclass(frozen=True)
class Asking:
    """One thing to ask and the answers it may get, each as the lead it would make."""

    about: str
    answers: tuple[Lead, ...]


def askings(rules: CompiledRules, lead: Lead, as_of: date) -> Iterator[Asking]:
    """Everything that is still open and may be asked, with its answers; only what the rules know to ask."""
    for about, values in _open(rules, lead, as_of):
        if about in rules.questions:
            yield Asking(about, tuple(_answered(lead, about, value) for value in values))


def _open(rules: CompiledRules, lead: Lead, as_of: date) -> Iterator[tuple[str, list[Any]]]:
    wish = lead.wish or Wish()
    tastes_known = bool(wish.shapes or wish.tastes)
    setting, budget, band = wish.setting, wish.budget, wish.wedding_band
    amounts = [] if rules.advice.urgency is None else rules.advice.urgency[1].amounts
    offered: list[tuple[str, bool, list[Any]]] = [
        ("wish.shapes", wish.shapes is not None, [[shape] for shape in rules.advice.characters]),
        ("wish.tastes", tastes_known, [[taste] for taste in TASTES]),
        ("wish.carat", bool(wish.carat or wish.length_mm), [[carat] for carat in _CARATS]),
        ("wish.metal", wish.metal is not None, ["platinum", "yellow_gold"]),
        ("wish.warmth", wish.warmth is not None, ["welcome", "accepted", "unwelcome"]),
        ("wish.origins", not _origin_matters(lead), [["natural"], ["laboratory_grown"]]),
        ("wish.wear", wish.wear is not None, ["everyday", "active", "occasional"]),
        ("wish.setting.style", bool(setting and setting.style), sorted(_styles(rules))),
        ("wish.setting.height", bool(setting and setting.height), ["low", "standard", "high"]),
        ("wish.wedding_band.accepts_gap", band is not None and band.accepts_gap is not None, [True, False]),
        (
            "wish.budget.amount",
            budget is not None,
            [[float(amounts[0])], [float(amounts[-1])]] if amounts else [],
        ),
        ("wish.budget.covers", not budget or budget.covers is not None, ["stone", "ring", "set"]),
        ("wish.budget.tax_included", not budget or budget.tax_included is not None, [True, False]),
        ("wish.finger", wish.finger is not None, [{"system": "us", "size": size} for size in _FINGERS]),
        ("needed_by", lead.needed_by is not None, _days_from(as_of)),
    ]
    yield from ((about, values) for about, known, values in offered if not known and len(values) > 1)


def _days_from(as_of: date) -> list[str]:
    """A near and a far day, as far as the calendar goes."""
    return [str(date.fromordinal(min(as_of.toordinal() + days, date.max.toordinal()))) for days in _DAYS]


def _origin_matters(lead: Lead) -> bool:
    """Whether the origin is open: not that of an own stone, nor of a material that is always made."""
    wish = lead.wish or Wish()
    return wish.origins is None and lead.heirloom != "stone" and "diamond" in (wish.materials or ("diamond",))


def _styles(rules: CompiledRules) -> set[str]:
    """Styles of the rules that a wish can name."""
    return {style.rule.name for style in rules.rings.centers["round"].styles} & set(get_args(StyleName))


def _answered(lead: Lead, about: str, value: Any) -> Lead:
    """The lead with one thing answered."""
    members = lead.model_dump(mode="json", exclude_none=True)
    put(members, about.split("."), value)
    return Lead.model_validate(members)


Core = dict[str, object]


def core_advice(rules: CompiledRules, lead: Lead, as_of: date) -> Core:
    """The advice by its parts, short enough to be worked out for every answer of every question."""
    wish, ahead = lead.wish or Wish(), look_ahead(rules, lead, as_of)
    first = ahead.candidates[0] if ahead.candidates else None
    floors = [] if first is None else list(first.floors())
    money = None if wish.budget is None else reckon(wish.budget)
    case = LeadCase(lead, as_of)
    return {
        "first_shape": first and (first.shape, first.material, first.origin),
        "other_shapes": [candidate.shape for candidate in ahead.candidates[1:3]],
        "clarity": [f.scale.grades[b.on_paper] for tone, f, b in floors if tone is None],
        "color": [(tone, f.scale.grades[b.on_paper]) for tone, f, b in floors if tone is not None],
        "outline": first and first.looks,
        "size": first and first.size,
        "setting": [tried.style.rule.name for tried in ahead.rings],
        "conflicts": [conflict["conflict"] for conflict in ahead.conflicts],
        "money": money and (money.left, money.open),
        "hurdles": [tag.tag for _, tag, sign in rules.advice.tags if tag.severity > 1 and sign.holds(case)],
    }


def decisiveness(rules: CompiledRules, asking: Asking, as_of: date) -> tuple[float, list[str]]:
    """Share of the parts in which two answers differ, over all pairs of answers, and the parts that move."""
    cores = [core_advice(rules, answer, as_of) for answer in asking.answers]
    apart = [[part for part in one if one[part] != other[part]] for one, other in combinations(cores, 2)]
    moves = [part for part in cores[0] if any(part in parts for parts in apart)]
    return round(sum(map(len, apart)) / (len(apart) * len(cores[0])), _DIGITS), moves


def ask_best(
    rules: CompiledRules, weighed: Sequence[tuple[Asking, tuple[float, list[str]]]]
) -> list[LeadQuestion]:
    """At most three questions, the most decisive first; none that changes nothing."""
    ranked = sorted(weighed, key=lambda found: (-found[1][0], found[0].about))
    return [
        {
            "about": asking.about,
            "ask": rules.questions[asking.about],
            "changes": share,
            "moves": moves,
        }
        for asking, (share, moves) in ranked[:MOST_QUESTIONS]
        if share > 0
    ]
