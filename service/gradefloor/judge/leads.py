"""A lead tagged and weighed: words for a CRM, what cannot be had together, how soon a person should look."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Annotated, NotRequired

from pydantic import Field
from typing_extensions import TypedDict

from gradefloor.judge import clashes
from gradefloor.judge.advice_findings import Conflict
from gradefloor.judge.settings import Tried, try_settings
from gradefloor.judge.specimens import Candidate, choose, judge_specimen
from gradefloor.judge.wishes import ring_of
from gradefloor.rules.advice_format import Tag
from gradefloor.rules.lead_facts import LeadCase
from gradefloor.rules.said import Stamp
from gradefloor.rules.tables import CompiledRules
from gradefloor.trade.leads import Lead
from gradefloor.trade.wishes import Wish


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


@dataclass(frozen=True)
class Weighed:
    """What the rules say of a lead."""

    tags: list[TagAnswer]
    conflicts: list[Conflict]
    priority: Priority | None


def weigh(rules: CompiledRules, lead: Lead, as_of: date) -> Weighed:
    """Tags with their triggers, what cannot be had together, and how soon a person should look."""
    case = LeadCase(lead, as_of)
    tags = [
        _tag(stamp, tag, sign.triggers(case)) for stamp, tag, sign in rules.advice.tags if sign.holds(case)
    ]
    conflicts = [] if is_an_errand(lead) else list(look_ahead(rules, lead, as_of).conflicts)
    return Weighed(tags, conflicts, _priority(rules, lead, as_of, tags, conflicts))


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
class Outlook:
    """What a wish leads to: the shapes, and the ring with the first of them."""

    candidates: Sequence[Candidate]
    rings: Sequence[Tried]
    conflicts: Sequence[Conflict]


def look_ahead(rules: CompiledRules, lead: Lead, as_of: date) -> Outlook:
    """Shapes, the ring with the first, and conflicts of the wish, of taste, of looks and of that ring."""
    wish = lead.wish or Wish()
    candidates = choose(rules, wish)
    rings = _first_ring(rules, candidates, wish, as_of)
    found = clashes.of_wish(rules, lead, as_of)
    found += clashes.of_candidates(rules, wish, candidates)
    found += [conflict for tried in rings for conflict in clashes.of_ring(tried)]
    return Outlook(candidates, rings, clashes.joined(found))


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
