"""From a message and its fields to a lead: what is stated is kept, what is read fills the gaps."""

from datetime import date
from typing import Any, Final

from pydantic import ValidationError

from gradefloor.judge.letters import read_grades
from gradefloor.judge.message_findings import MessageReading, OpenAnswer, ReadAnswer, answer
from gradefloor.judge.messages import read_message
from gradefloor.rules.tables import CompiledRules
from gradefloor.trade.leads import Lead

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
        put(members, PATHS[read.field].split("."), value)
    budget = members.get("wish", {}).get("budget")
    if budget is not None and "amount" not in budget:
        del members["wish"]["budget"]  # a currency alone is no budget
    return _valid(lead, members)


def put(members: dict[str, Any], path: list[str], value: Any) -> None:
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
