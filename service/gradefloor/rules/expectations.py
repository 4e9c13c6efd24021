"""The format of `cases.yaml`: what a version is proved by before it is released or served.

Stones, rings, leads and texts in it are read as they are and held to the wire's models when a version is
proved, so that one wrong stone does not hide the others; the schema shows those models to editors.
"""

from typing import Annotated, Any, Final, Literal

from pydantic import BeforeValidator, Field, model_validator

from gradefloor.rules.entries import Kept, RuleId, Sentence, Word, refuse
from gradefloor.trade.leads import Lead
from gradefloor.trade.listings import WordingText
from gradefloor.trade.settings import RingParts
from gradefloor.trade.stones import CalendarDate, Context, Stone


def _as_it_is(value: Any) -> Any:
    return value


_Stone = Annotated[dict[str, Any], BeforeValidator(_as_it_is, json_schema_input_type=Stone)]
_Context = Annotated[dict[str, Any], BeforeValidator(_as_it_is, json_schema_input_type=Context)]
_Ring = Annotated[dict[str, Any], BeforeValidator(_as_it_is, json_schema_input_type=RingParts)]
_Lead = Annotated[dict[str, Any], BeforeValidator(_as_it_is, json_schema_input_type=Lead)]
_Text = Annotated[dict[str, Any], BeforeValidator(_as_it_is, json_schema_input_type=WordingText)]

_Verdict = Literal["pass", "note", "ask", "fail", "silent"]
_WHOLE: Final = "Verdict of the whole answer; absent: not held to anything."
_DAY: Final = "Day on which it is judged, YYYY-MM-DD; absent: 2026-01-01, so that a case never ages."
_EXPECT: Final = "Rules by id, and the verdict of each; `silent`: the rule says nothing of it."
_VARIED: Final = "Members of the request are held as they stand here; the varied one may be left out."


_Step = Annotated[list[Any], Field(min_length=2, max_length=2)]


class Expectation(Kept):
    """A stone, and what every jeweller of this school would say of it."""

    case: Sentence = Field(description="The case as one would tell it.")
    stone: _Stone = Field(description="The stone, as a request states it; lengths in mm, weight in ct.")
    context: _Context = Field(
        default_factory=dict, description="What it is meant for: metal, kind of jewel, place and wear."
    )
    as_of: CalendarDate | None = Field(None, description=_DAY)
    verdict: Literal["pass", "ask", "fail"] | None = Field(None, description=_WHOLE)
    expect: dict[RuleId, _Verdict] = Field(default_factory=dict, description=_EXPECT)
    look: Word | None = Field(None, description="Look of its outline, by the rules in `looks`.")


class Boundary(Kept):
    """One field varied across a threshold of one rule, everything else held."""

    rule: RuleId = Field(description="Id of the rule.")
    stone: _Stone = Field(description=f"The stone. {_VARIED}")
    context: _Context = Field(default_factory=dict, description=f"What it is meant for. {_VARIED}")
    vary: Annotated[str, Field(strict=True, pattern=r"^(stone|context)(\.[a-z_]+)+$")] = Field(
        description="Member that is varied, by dotted path."
    )
    steps: list[_Step] = Field(
        min_length=2, description="Pairs of a value and the verdict (or the look) it gets."
    )


class RingExpectation(Kept):
    """A ring, and what every jeweller of this school would say of it."""

    case: Sentence = Field(description="The case as one would tell it.")
    ring: _Ring = Field(description="The ring, as a request states it; lengths in mm, weights in ct.")
    as_of: CalendarDate | None = Field(None, description=_DAY)
    verdict: Literal["pass", "ask", "fail"] | None = Field(None, description=_WHOLE)
    expect: dict[RuleId, _Verdict] = Field(default_factory=dict, description=_EXPECT)


class RingBoundary(Kept):
    """One field of a ring varied across a threshold of one rule, everything else held."""

    rule: RuleId = Field(description="Id of the rule.")
    ring: _Ring = Field(description=f"The ring. {_VARIED}")
    vary: Annotated[str, Field(strict=True, pattern=r"^[a-z_]+(\.([a-z_]+|[0-9]))+$")] = Field(
        description="Member that is varied, by dotted path; side stones are counted from 0."
    )
    steps: list[_Step] = Field(min_length=2, description="Pairs of a value and the verdict it gets.")


class LeadExpectation(Kept):
    """A wish or a message, and what every jeweller of this school would make of it."""

    case: Sentence = Field(description="The case as one would tell it.")
    lead: _Lead = Field(description="The wish or the message, as a request states it.")
    as_of: CalendarDate | None = Field(None, description=_DAY)
    first: Word | None = Field(None, description="Shape that is advised first.")
    tags: list[Word] | None = Field(None, description="All tags, in any order.")
    conflicts: list[RuleId] | None = Field(None, description="All conflicts, in any order.")
    reads: dict[str, Any] | None = Field(None, description="Everything read from the message, by field.")


class TextExpectation(Kept):
    """A text, and what every careful reader of its market's guidance would say of it."""

    case: Sentence = Field(description="The case as one would tell it.")
    said: _Text = Field(description="The text and what it sells, as a request states it.")
    as_of: CalendarDate | None = Field(None, description=_DAY)
    verdict: Literal["clear", "ask", "change"] = Field(description="Verdict of the whole answer.")
    matches: dict[RuleId, Literal["ask", "change"]] = Field(
        default_factory=dict, description="Every policy that has something to say, with its worst verdict."
    )


class Cases(Kept):
    """The proof of one version: it is not released, nor a draft served, unless all of this holds."""

    cases: list[Expectation] = Field(default_factory=list, description="Stones, and what is said of each.")
    boundaries: list[Boundary] = Field(
        default_factory=list, description="Thresholds of rules about stones, on them, under and over."
    )
    rings: list[RingExpectation] = Field(default_factory=list, description="Rings, and what is said of each.")
    ring_boundaries: list[RingBoundary] = Field(
        default_factory=list, description="Thresholds of rules about rings, on them, under and over."
    )
    leads: list[LeadExpectation] = Field(
        default_factory=list, description="Wishes and messages, and what is made of each."
    )
    texts: list[TextExpectation] = Field(
        default_factory=list, description="Selling copy, and what is said of each text."
    )

    @model_validator(mode="after")
    def _prove_something(self) -> "Cases":
        if not (self.cases or self.texts):
            refuse("no cases and no texts", "at least one of either", "cases")
        return self

    @property
    def count(self) -> int:
        """How many expectations there are in all."""
        steps = [len(boundary.steps) for boundary in self.boundaries]
        steps += [len(boundary.steps) for boundary in self.ring_boundaries]
        return len(self.cases) + len(self.rings) + len(self.leads) + len(self.texts) + sum(steps)
