"""What every part of a rule file is made of: words, numbers, ranges, and how a value is refused."""

import re
from collections.abc import Sequence
from decimal import Decimal
from difflib import get_close_matches
from typing import Annotated, Any, Final, Literal, NoReturn

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    PlainSerializer,
    model_validator,
)
from pydantic_core import PydanticCustomError

from gradefloor.trade.shapes import GROUPS, SHAPES
from gradefloor.trade.stones import CalendarDate

Verdict = Literal["pass", "note", "ask", "fail"]
Topic = Literal[
    "clarity", "color", "cut", "fluorescence", "proportions", "ratio", "durability", "consistency",
    "material", "report", "setting", "sides", "halo", "band", "metal", "wear", "wording",
]  # fmt: skip
Disagreement = Literal["low", "medium", "high"]


def show(value: Any) -> str:
    """What was found, as a rule keeper would point at it."""
    if isinstance(value, dict | list):
        return "a mapping" if isinstance(value, dict) else "a list"
    return "nothing" if value is None else repr(value) if isinstance(value, str) else str(value)


def refuse(found: str, allowed: str, *at: str | int) -> NoReturn:
    """Refuse a value from inside a validator; `at` leads from the validated place to the faulty one."""
    raise PydanticCustomError("refused", "refused", {"found": found, "allowed": allowed, "at": at})


def known(word: str, words: Any, what: str) -> str:
    """The word itself if it is one of `words`; else a refusal that names the nearest one."""
    if word in words:
        return word
    near = get_close_matches(word, list(words), n=1)
    hint = f" (did you mean {near[0]}?)" if near else ""
    return refuse(repr(word), f"a {what}: {', '.join(words)}{hint}")


SLOT: Final = re.compile(r"\{([^{}]*)\}")


def only_slots(text: str, slots: Sequence[str], *at: str | int) -> None:
    """Refuse a text with a `{slot}` that nothing fills."""
    for slot in SLOT.findall(text):
        if slot not in slots:
            near = get_close_matches(slot, slots, n=1)
            hint = f" (did you mean {near[0]}?)" if near else ""
            refuse(f"{{{slot}}}", f"one of {', '.join(slots)}{hint}", *at)


def _number(value: Any) -> Any:
    if isinstance(value, bool) or not isinstance(value, int | Decimal):
        refuse(show(value), "a number, without quotes")
    return Decimal(value)


def token(what: str, words: Any) -> AfterValidator:
    return AfterValidator(lambda word: known(word, words, what))


Number = Annotated[
    Decimal,
    BeforeValidator(_number, json_schema_input_type=float),
    PlainSerializer(float, return_type=float, when_used="json"),
]
Text = Annotated[str, Field(strict=True, min_length=3, max_length=600)]
Sentence = Annotated[str, Field(strict=True, min_length=8, max_length=600)]
Word = Annotated[str, Field(strict=True, pattern=r"^[a-z][a-z0-9_]*$", max_length=40)]
RuleId = Annotated[str, Field(strict=True, pattern=r"^[a-z][a-z0-9_]*(\.[a-z0-9_]+)+$", max_length=80)]
Version = Annotated[
    str, Field(strict=True, pattern=r"^(0|[1-9][0-9]*)\.(0|[1-9][0-9]*)\.(0|[1-9][0-9]*)$", max_length=20)
]
ShapeOrGroup = Annotated[
    str,
    Field(strict=True, json_schema_extra={"enum": [*SHAPES, *GROUPS]}),
    token("shape or group", [*SHAPES, *GROUPS]),
]
Positions = Annotated[
    list[Literal["center", "side", "melee"]],
    Field(min_length=1, description="Places in the jewel it holds for; absent: every place."),
]
Shapes = Annotated[list[ShapeOrGroup], Field(min_length=1)]


class Kept(BaseModel):
    """What every part of a rule set shares: unknown keys are refused."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Range(Kept):
    """Half-open: `from` belongs to it, `below` does not. Either may be left out."""

    from_: Number | None = Field(None, alias="from", description="First value inside; absent: no lower end.")
    below: Number | None = Field(None, description="First value outside; absent: no upper end.")

    @model_validator(mode="after")
    def _in_order(self) -> "Range":
        if self.from_ is not None and self.below is not None and self.from_ >= self.below:
            refuse(f"from {self.from_} below {self.below}", "from smaller than below", "from")
        return self

    def __contains__(self, value: Decimal) -> bool:
        return (self.from_ is None or value >= self.from_) and (self.below is None or value < self.below)

    def write(self) -> str:
        if self.from_ is None:
            return "any" if self.below is None else f"under {self.below}"
        return f"from {self.from_}" if self.below is None else f"{self.from_} to under {self.below}"


class Between(Kept):
    """Closed: both ends belong to it."""

    from_: Number = Field(alias="from", description="Smallest value inside.")
    to: Number = Field(description="Largest value inside.")

    @model_validator(mode="after")
    def _in_order(self) -> "Between":
        if self.from_ > self.to:
            refuse(f"from {self.from_} to {self.to}", "from at most to", "from")
        return self

    def __contains__(self, value: Decimal) -> bool:
        return self.from_ <= value <= self.to

    def write(self) -> str:
        return f"{self.from_} to {self.to}"


class Source(Kept):
    """Where a rule comes from."""

    id: Word = Field(description="Short name by which rules call it, in `source`.")
    title: Text = Field(description="Name of the source; common practice is said to be common practice.")
    href: str | None = Field(None, strict=True, pattern="^https?://", description="Where it can be read.")
    checked: CalendarDate = Field(description="When somebody last looked it up, YYYY-MM-DD.")

    def write(self) -> str:
        return f"{self.title}; checked {self.checked.isoformat()}"


class Reasoned(Kept):
    """What every rule carries."""

    id: RuleId = Field(
        description="Name of the rule, with dots; never given to another rule, in any version."
    )
    title: Sentence = Field(description="A sentence that can be true or false.")
    because: Sentence = Field(description="The reason a jeweller would give; shown with every finding.")
    source: Word = Field(description="Where the rule comes from: `id` of an entry in `sources`.")
    disagreement: Disagreement = Field(description="How far practitioners differ about it.")
    instead_because: Sentence | None = Field(
        None, description="Why this rule replaces the one it overrides. Only, and always, in an override."
    )


class Rule(Reasoned):
    """A rule that speaks of some shapes."""

    shapes: Shapes = Field(
        description="Shapes and groups it speaks of; a shape by name beats a group, a group beats `all`."
    )


class Row(Kept):
    """What one row of a table says."""

    verdict: Verdict | Literal["silent"] = Field(
        description="pass, note (a remark), ask (somebody has to find out), fail; `silent`: nothing is said."
    )
    says: Sentence | None = Field(None, description="Reason of this row; absent, the rule's because.")
    remedy: Sentence | None = Field(
        None, description="Smallest change that turns it, as one would say it; needed by ask and fail."
    )
    ask: str | None = Field(
        None, strict=True, description="`about` of the entry in `questions` that this row asks."
    )

    @model_validator(mode="after")
    def _speaks(self) -> "Row":
        if self.verdict in {"ask", "fail"} and self.remedy is None:
            refuse(f"verdict {self.verdict} without remedy", "a remedy for every ask and fail", "verdict")
        if self.verdict == "ask" and self.ask is None:
            refuse("verdict ask without ask", "the question that would settle it", "verdict")
        return self


def only_values_of(domain: Sequence[str], values: Sequence[str], name: str) -> None:
    for index, value in enumerate(values):
        if value not in domain:
            refuse(repr(value), f"one of {', '.join(domain)}", "when", name, index)
