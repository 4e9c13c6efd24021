"""A lead read into a wish, tagged, weighed, and answered with the questions that change the advice most."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import combinations
from typing import Annotated, Any, Final, NotRequired, get_args

from pydantic import Field, ValidationError
from typing_extensions import TypedDict

from gradefloor.judge import clashes
from gradefloor.judge.advice_findings import Conflict
from gradefloor.judge.budgets import reckon
from gradefloor.judge.letters import read_grades
from gradefloor.judge.message_findings import MessageReading, OpenAnswer, ReadAnswer, answer
from gradefloor.judge.messages import read_message
from gradefloor.judge.settings import Tried, try_settings
from gradefloor.judge.specimens import Candidate, choose, judge_specimen
from gradefloor.judge.wishes import ring_of
from gradefloor.rules.advice_format import Tag
from gradefloor.rules.findings import Stamp
from gradefloor.rules.lead_facts import LeadCase
from gradefloor.rules.tables import CompiledRules
from gradefloor.trade.leads import Lead
from gradefloor.trade.wishes import TASTES, StyleName, Wish

MOST_QUESTIONS: Final = 3
_DIGITS: Final = 4  # of a share: questions that differ less are equally good

# Where a field of a message belongs in a lead.
PATHS: Final = {
    "shapes": "wish.shapes",
    "refused_shapes": "wish.refused_shapes",
    "carat": "wish.carat",
    "length_mm": "wish.length_mm",
    "budget_amount": "wish.budget.amount",
    "budget_currency": "wish.budget.currency",
    "budget_covers": "wish.budget.covers",
    "tax_included": "wish.budget.tax_included",
    "metal": "wish.metal",
    "tastes": "wish.tastes",
    "warmth": "wish.warmth",
    "style": "wish.setting.style",
    "height": "wish.setting.height",
    "band_fit": "wish.wedding_band",
    "finger": "wish.finger",
    "finger_guess": "finger_guess",
    "needed_by": "needed_by",
    "origins": "wish.origins",
    "materials": "wish.materials",
    "wear": "wish.wear",
    "avoids": "wish.avoids",
    "surprise": "surprise",
    "heirloom": "heirloom",
    "comparing": "comparing",
    "errand": "errand",
    "gem": "gem",
    "color": "wish.color",
    "clarity": "wish.clarity",
}
_BANDS: Final[dict[object, dict[str, object]]] = {
    "flush": {"accepts_gap": False},
    "gap": {"accepts_gap": True},
    "contour": {"shape": "contour"},
}


class TagAnswer(TypedDict):
    """A word for the CRM."""

    tag: Annotated[str, Field(description="The word.", examples=["budget_basis_unknown"])]
    trigger: Annotated[list[str], Field(description="Dotted paths of what it hangs on.")]
    because: Annotated[str, Field(description="Why it matters.")]
    rule: Annotated[str, Field(description="Id of the rule.")]
    severity: Annotated[int, Field(description="How much it stands in the way, 0 to 3.")]
    refer: NotRequired[
        Annotated[str, Field(description="Who answers what is not answered here, in words to pass on.")]
    ]


class Reckoning(TypedDict):
    """One part of the priority."""

    part: Annotated[str, Field(description="deadline, completeness, value or severity.")]
    level: Annotated[int, Field(description="0 to 3.")]
    weight: Annotated[int, Field(description="What it counts.")]
    says: Annotated[str, Field(description="Where the level comes from.")]


class Priority(TypedDict):
    """How soon a person should look."""

    level: Annotated[str, Field(description="high, medium or low.")]
    sum: Annotated[int, Field(description="Sum of level times weight.")]
    because: Annotated[list[Reckoning], Field(description="Every part of the sum.")]
    rule: Annotated[str, Field(description="Id of the rule that weighs them.")]


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
class Weighed:
    """A lead with what the rules say of it."""

    lead: Lead
    tags: list[TagAnswer]
    conflicts: list[Conflict]
    priority: Priority | None


# From a message to a lead


def read_lead(rules: CompiledRules, lead: Lead, as_of: date) -> tuple[Lead, MessageReading]:
    """The lead with what its message adds, and what was read; a language without a lexicon reads nothing."""
    lexicons = rules.advice.lexicons
    if lead.message is None or (lead.language is not None and lead.language not in lexicons):
        return lead, MessageReading(None, (), ())
    reading = read_message(lexicons, lead.message, as_of, lead.language)
    reads, left = read_grades(lead.message)
    reading = MessageReading(reading.language, (*reading.reads, *reads), (*reading.open, *left))
    return merged(lead, reading), reading


def told(reading: MessageReading) -> tuple[list[ReadAnswer], list[OpenAnswer]]:
    """What was read and what stayed open, by the members of a lead."""
    reads, still_open = answer(reading)
    for part in (*reads, *still_open):
        part["field"] = PATHS[part["field"]]
    return reads, still_open


def merged(lead: Lead, reading: MessageReading) -> Lead:
    """The lead with what its message adds; what is stated in fields is never overwritten."""
    members = lead.model_dump(mode="json", exclude_none=True)
    for read in reading.reads:
        value: Any = read.value
        if read.field == "finger_guess":
            value = True
        elif read.field == "band_fit":
            value = _BANDS[value]
        _put(members, PATHS[read.field].split("."), value)
    budget = members.get("wish", {}).get("budget")
    if budget is not None and "amount" not in budget:
        del members["wish"]["budget"]  # a currency alone is no budget
    return _valid(lead, members)


def _put(members: dict[str, Any], path: list[str], value: Any) -> None:
    for step in path[:-1]:
        members = members.setdefault(step, {})
    members.setdefault(path[-1], value)


def _valid(lead: Lead, members: dict[str, Any]) -> Lead:
    """What was read as a lead; a value that no lead takes (a finger off its table) is left out."""
    while True:
        try:
            return Lead.model_validate(members)
        except ValidationError as error:
            if not _cut(members, error.errors(include_url=False)[0]["loc"]):
                return lead


def _cut(members: Any, place: tuple[int | str, ...]) -> bool:
    """Takes the smallest member out that holds the faulty place."""
    steps = [step for step in place if isinstance(step, str)]
    while steps:
        holder: Any = members
        for step in steps[:-1]:
            holder = holder.get(step) if isinstance(holder, dict) else None
        if isinstance(holder, dict) and steps[-1] in holder:
            del holder[steps[-1]]
            return True
        steps.pop()
    return False


# Tags, conflicts, priority


def weigh(rules: CompiledRules, lead: Lead, as_of: date) -> Weighed:
    """Tags with their triggers, what cannot be had together, and how soon a person should look."""
    case = LeadCase(lead, as_of)
    tags = [
        _tag(stamp, tag, sign.triggers(case)) for stamp, tag, sign in rules.advice.tags if sign.holds(case)
    ]
    conflicts = [] if is_an_errand(lead) else list(_look_ahead(rules, lead, as_of).conflicts)
    return Weighed(lead, tags, conflicts, _priority(rules, lead, as_of, tags, conflicts))


def is_an_errand(lead: Lead) -> bool:
    """Whether something is wanted that no advice about a new ring answers."""
    return lead.errand is not None or lead.gem is not None


def _tag(stamp: Stamp, tag: Tag, trigger: list[str]) -> TagAnswer:
    told: TagAnswer = {
        "tag": tag.tag,
        "trigger": trigger,
        "because": tag.because,
        "rule": stamp.rule,
        "severity": tag.severity,
    }
    if tag.refer is not None:
        told["refer"] = tag.refer
    return told


@dataclass(frozen=True)
class _Outlook:
    """What a wish leads to: the shapes, and the ring with the first of them."""

    candidates: Sequence[Candidate]
    rings: Sequence[Tried]
    conflicts: Sequence[Conflict]


def _look_ahead(rules: CompiledRules, lead: Lead, as_of: date) -> _Outlook:
    """Shapes, the ring with the first, and conflicts of the wish, of taste, of looks and of that ring."""
    wish = lead.wish or Wish()
    candidates = choose(rules, wish)
    rings = _first_ring(rules, candidates, wish, as_of)
    found = clashes.of_wish(rules, lead, as_of)
    found += clashes.of_candidates(rules, wish, candidates)
    found += [conflict for tried in rings for conflict in clashes.of_ring(tried)]
    return _Outlook(candidates, rings, clashes.joined(found))


def _first_ring(
    rules: CompiledRules, candidates: Sequence[Candidate], wish: Wish, as_of: date
) -> Sequence[Tried]:
    """The first shape advised in the style wished, else in the plainest one."""
    if not candidates or not rules.rings:
        return ()
    specimen = judge_specimen(candidates[0], as_of)
    style = "solitaire" if wish.setting is None else wish.setting.style
    only = style if style not in {None, "three_stone"} else "solitaire"
    return try_settings(rules, ring_of(rules, specimen), as_of, only)[:1]


def _priority(
    rules: CompiledRules, lead: Lead, as_of: date, tags: Sequence[TagAnswer], conflicts: Sequence[Conflict]
) -> Priority | None:
    if rules.advice.urgency is None:
        return None
    stamp, urgency = rules.advice.urgency
    wish = lead.wish or Wish()
    days = None if lead.needed_by is None else (lead.needed_by - as_of).days
    amount = max(wish.budget.amount) if wish.budget else None
    known = [wish.shapes or wish.tastes, wish.carat or wish.length_mm, wish.budget, wish.finger, wish.metal]
    stated = sum(bool(part) for part in known)
    worst = max((tag["severity"] for tag in tags), default=0)
    levels = {
        "deadline": (
            0 if days is None or days < 0 else sum(days < limit for limit in urgency.deadline_days),
            "no day is stated" if days is None else f"{days} days left",
        ),
        "completeness": (round(3 * stated / len(known)), f"{stated} of {len(known)} things known"),
        "value": (
            0 if amount is None else sum(amount >= float(limit) for limit in urgency.amounts),
            "no sum is stated" if amount is None else "by the upper end of the budget",
        ),
        "severity": (max(worst, 2 if conflicts else 0), "by the worst tag, and 2 for a conflict"),
    }
    parts: list[Reckoning] = [
        {"part": part, "level": level, "weight": urgency.weights.get(part, 0), "says": says}  # type: ignore[call-overload]
        for part, (level, says) in levels.items()
    ]
    total = sum(part["level"] * part["weight"] for part in parts)
    level = "high" if total >= urgency.high_from else "medium" if total >= urgency.medium_from else "low"
    return {"level": level, "sum": total, "because": parts, "rule": stamp.rule}


# Questions

# Days from now and sizes in carat that stand for a near and a far answer: common practice, no source.
_DAYS: Final = (21, 60, 200)
_CARATS: Final = (0.7, 1.0, 1.5, 2.0, 3.0)
_FINGERS: Final = ("5", "7")


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
    _put(members, about.split("."), value)
    return Lead.model_validate(members)


Core = dict[str, object]


def core_advice(rules: CompiledRules, lead: Lead, as_of: date) -> Core:
    """The advice by its parts, short enough to be worked out for every answer of every question."""
    wish, ahead = lead.wish or Wish(), _look_ahead(rules, lead, as_of)
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
