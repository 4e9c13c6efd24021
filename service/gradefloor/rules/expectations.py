"""The format of `cases.yaml`: what a version is proved by before it is released or served."""

from typing import Annotated, Any, Literal

from pydantic import Field

from gradefloor.rules.format import Kept, RuleId, Sentence, Word
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


class Cases(Kept):
    """The proof of one version: it is not released, nor a draft served, unless all of this holds."""

    cases: list[Expectation] = Field(min_length=1)
    boundaries: list[Boundary] = Field(default_factory=list)
