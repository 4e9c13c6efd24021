"""What an answer about a message is made of: values of closed lists and where they stand, never its words."""

from typing import Annotated, Any, Final, NamedTuple

from pydantic import Field
from typing_extensions import TypedDict

from gradefloor.judge.pieces import Span

Value = str | bool | float | list[str] | list[float] | dict[str, str]


class Read(NamedTuple):
    """One field that was read. Spans count code points of the text as sent, the end exclusive."""

    field: str
    value: Value
    spans: tuple[Span, ...]


class Open(NamedTuple):
    """One field that the message does not settle; `why` is a key of WHY, `says` its sentence."""

    field: str
    why: str
    says: str
    spans: tuple[Span, ...]


class MessageReading(NamedTuple):
    """All that was read, in the order of FIELDS; `language` is None where no lexicon knows a word of it."""

    language: str | None
    reads: tuple[Read, ...]
    open: tuple[Open, ...]


# What one reader found, and what it left open.
Reading = tuple[list[Read], list[Open]]

FIELDS: Final = (
    "shapes", "gem", "refused_shapes", "carat", "length_mm", "budget_amount", "budget_currency",
    "budget_covers", "tax_included", "metal", "tastes", "warmth", "style", "height", "band_fit", "finger",
    "finger_guess", "needed_by", "origins", "materials", "wear", "avoids", "surprise", "heirloom",
    "comparing", "errand",
)  # fmt: skip

WHY: Final = {
    "more_than_one": "The message states more than one, and they differ.",
    "wanted_and_refused": "The message wants it in one place and refuses it in another.",
    "not_said": "A sum is stated, and this is not said with it.",
    "more_than_stone": "It pays for more than the stone; whether the wedding band is in it is not said.",
    "only_a_guess": "Only a guess, or a size without its system, is stated.",
    "off_the_table": "No table of that system has the size.",
    "gem_or_cut": "The word is a green gem and a cut, and nothing beside it tells which.",
    "total_weight": "A weight of all stones together does not tell the center's.",
    "passed": "The day has passed.",
    "no_day": "A month is stated without a day; its first day is read.",
    "day_or_month": "Which number is the day and which the month is not certain.",
    "moves": "The day falls on another date every year.",
}


def stays_open(field: str, why: str, *spans: Span) -> Open:
    return Open(field, why, WHY[why], spans)


class ReadAnswer(TypedDict):
    """A value read from the message."""

    field: Annotated[str, Field(description="What was read.", examples=["carat"])]
    value: Annotated[
        Any,
        Field(
            description="Its value: a token, true or false, or a list of tokens or numbers (a number, or the "
            "ends of a range; in ct, mm or the currency); a day as YYYY-MM-DD; a finger as system and size.",
            examples=[[1.5, 2.0]],
        ),
    ]
    span: Annotated[
        list[list[int]],
        Field(description="Where it stands: first code point and the one behind the last, from 0."),
    ]


class OpenAnswer(TypedDict):
    """Something the message speaks of and does not settle."""

    field: Annotated[str, Field(description="What stayed open.", examples=["budget_covers"])]
    why: Annotated[str, Field(description="Why, as a token.", examples=["not_said"])]
    says: Annotated[str, Field(description="The same as a sentence.")]
    span: Annotated[
        list[list[int]],
        Field(description="What made it open: first code point and the one behind the last, from 0."),
    ]


def answer(reading: MessageReading) -> tuple[list[ReadAnswer], list[OpenAnswer]]:
    """A reading as the wire has it."""
    reads: list[ReadAnswer] = [
        {"field": read.field, "value": read.value, "span": [list(s) for s in read.spans]}
        for read in reading.reads
    ]
    left: list[OpenAnswer] = [
        {
            "field": found.field,
            "why": found.why,
            "says": found.says,
            "span": [list(span) for span in found.spans],
        }
        for found in reading.open
    ]
    return reads, left
