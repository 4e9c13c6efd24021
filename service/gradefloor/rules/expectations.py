"""The format of `cases.yaml`: what a version is proved by before it is released or served."""

from typing import Annotated, Any, Literal

from pydantic import Field, model_validator

from gradefloor.rules.entries import Kept, RuleId, Sentence, Word, refuse
from gradefloor.trade.stones import CalendarDate


class Expectation(Kept):
    """A stone, and what every jeweller of this school would say of it."""

    case: Sentence = Field(description="The case as one would tell it.")
    stone: dict[str, Any]
    context: dict[str, Any] = Field(default_factory=dict)
    as_of: CalendarDate | None = None
    verdict: Literal["pass", "ask", "fail"] | None = Field(None, description="Verdict of the whole answer.")
    expect: dict[RuleId, Literal["pass", "note", "ask", "fail", "silent"]] = Field(default_factory=dict)
    look: Word | None = None


class Boundary(Kept):
    """One field varied across a threshold of one rule, everything else held."""

    rule: RuleId
    stone: dict[str, Any]
    context: dict[str, Any] = Field(default_factory=dict)
    vary: Annotated[str, Field(strict=True, pattern=r"^(stone|context)(\.[a-z_]+)+$")]
    steps: list[Annotated[list[Any], Field(min_length=2, max_length=2)]] = Field(
        min_length=2, description="Pairs of a value and the verdict (or the look) it gets."
    )


class RingExpectation(Kept):
    """A ring, and what every jeweller of this school would say of it."""

    case: Sentence = Field(description="The case as one would tell it.")
    ring: dict[str, Any]
    as_of: CalendarDate | None = None
    verdict: Literal["pass", "ask", "fail"] | None = Field(None, description="Verdict of the whole answer.")
    expect: dict[RuleId, Literal["pass", "note", "ask", "fail", "silent"]] = Field(default_factory=dict)


class RingBoundary(Kept):
    """One field of a ring varied across a threshold of one rule, everything else held."""

    rule: RuleId
    ring: dict[str, Any]
    vary: Annotated[str, Field(strict=True, pattern=r"^[a-z_]+(\.([a-z_]+|[0-9]))+$")]
    steps: list[Annotated[list[Any], Field(min_length=2, max_length=2)]] = Field(
        min_length=2, description="Pairs of a value and the verdict it gets."
    )


class LeadExpectation(Kept):
    """A wish or a message, and what every jeweller of this school would make of it."""

    case: Sentence = Field(description="The case as one would tell it.")
    lead: dict[str, Any]
    as_of: CalendarDate | None = None
    first: Word | None = Field(None, description="Shape that is advised first.")
    tags: list[Word] | None = Field(None, description="All tags, in any order.")
    conflicts: list[RuleId] | None = Field(None, description="All conflicts, in any order.")
    reads: dict[str, Any] | None = Field(None, description="Everything read from the message, by field.")


class TextExpectation(Kept):
    """A text, and what every careful reader of its market's guidance would say of it."""

    case: Sentence = Field(description="The case as one would tell it.")
    said: dict[str, Any]
    as_of: CalendarDate | None = None
    verdict: Literal["clear", "ask", "change"]
    matches: dict[RuleId, Literal["ask", "change"]] = Field(
        default_factory=dict, description="Every policy that has something to say, with its worst verdict."
    )


class Cases(Kept):
    """The proof of one version: it is not released, nor a draft served, unless all of this holds."""

    cases: list[Expectation] = Field(default_factory=list)
    boundaries: list[Boundary] = Field(default_factory=list)
    rings: list[RingExpectation] = Field(default_factory=list)
    ring_boundaries: list[RingBoundary] = Field(default_factory=list)
    leads: list[LeadExpectation] = Field(default_factory=list)
    texts: list[TextExpectation] = Field(default_factory=list)

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
