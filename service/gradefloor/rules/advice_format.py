"""The kinds of rule that advise: what shapes are like, what an eye tells apart, sizes, conflicts, merits."""

from typing import Annotated, Literal

from pydantic import Field, model_validator

from gradefloor.rules.entries import (
    Kept,
    Number,
    Range,
    Reasoned,
    Rule,
    Sentence,
    Word,
    only_values_of,
    refuse,
    token,
)
from gradefloor.rules.lead_facts import LEAD_FACTS, LEAD_MEASURES
from gradefloor.trade.stones import Material
from gradefloor.trade.wishes import Taste

LeadFactName = Annotated[
    str,
    Field(strict=True, json_schema_extra={"enum": list(LEAD_FACTS)}),
    token("fact of a wish", list(LEAD_FACTS)),
]
LeadMeasureName = Annotated[
    str,
    Field(strict=True, json_schema_extra={"enum": list(LEAD_MEASURES)}),
    token("measure of a wish", list(LEAD_MEASURES)),
]
Grade = Literal["color", "clarity"]


class Spare(Kept):
    """What such a shape forgives, and where the money it saves is well spent."""

    forgives: Grade = Field(description="Grade that this shape forgives.")
    spend_on: Grade = Field(description="Grade that this shape needs instead.")
    says: Sentence = Field(description="Why, as one would tell a customer.")


class GiveUp(Kept):
    """One thing that may be given up for this shape."""

    what: Literal["color", "clarity", "carat", "depth", "look", "finish", "fluorescence"] = Field(
        description="What is given up."
    )
    says: Sentence = Field(description="How far, and what it costs the eye.")


class Character(Rule):
    """What a shape is like, and how to choose one. Shapes without a character are never proposed."""

    serves: dict[Taste, Annotated[int, Field(strict=True, ge=-3, le=3)]] = Field(
        description="How well it serves each taste, from -3 (the opposite) to 3; a taste left out is 0.",
    )
    looks: list[Word] = Field(min_length=1, description="Looks to choose where no outline is wished.")
    long_looks: list[Word] = Field(default_factory=list, description="Looks for somebody who wants it long.")
    broad_looks: list[Word] = Field(
        default_factory=list, description="Looks for somebody who wants it broad."
    )
    spare: Spare | None = Field(
        None, description="Grade that it forgives, and where the money so spared is well spent."
    )
    give_up_first: list[GiveUp] = Field(min_length=1, description="What may be given up, the first first.")
    never: list[Sentence] = Field(min_length=1, description="What is never given up.")


class Perception(Rule):
    """How large a difference has to be before an eye sees it, face up, between stones of these shapes."""

    color_letters: int = Field(strict=True, ge=1, le=10, description="Fewest letters that can be seen apart.")
    warm_head_adds: int = Field(
        0, strict=True, ge=0, le=4, description="Letters more that it takes in a yellow or rose head."
    )
    clarity_grades: int = Field(
        strict=True, ge=1, le=6, description="Fewest grades that can be seen apart, one of them unsafe."
    )
    area_pct: Number = Field(description="Smallest difference of face-up area that can be seen, in %.")
    ratio: Number = Field(description="Smallest difference of length to width that can be seen.")


class Assortment(Rule):
    """Sizes and classes in which a substitute is sold."""

    materials: list[Material] = Field(min_length=1, description="Materials it speaks of.")
    sizes_mm: list[Annotated[list[Number], Field(min_length=2, max_length=2)]] = Field(
        min_length=1, description="Length and width of each calibrated size, in mm, smallest first."
    )
    color_classes: list[Sentence | Word] = Field(
        min_length=1, description="Color classes in which it is sold, the whitest first."
    )


class Sign(Reasoned):
    """Something about a wish: all that `when` and `measured` name must hold."""

    when: dict[LeadFactName, Annotated[list[str], Field(min_length=1)]] = Field(
        default_factory=dict,
        description="Facts of the wish and the values each may have; all of them must hold.",
    )
    measured: dict[LeadMeasureName, Range] = Field(
        default_factory=dict,
        description="Numbers of the wish, all of them known, and their ranges; all of them must hold.",
    )

    @model_validator(mode="after")
    def _says_when(self) -> "Sign":
        if not self.when and not self.measured:
            refuse("neither when nor measured", "at least one of them", "when")
        for name, values in self.when.items():
            only_values_of(LEAD_FACTS[name].domain, values, name)
        return self


class Clash(Sign):
    """Two parts of a wish that cannot both be had, and the ways out."""

    says: Sentence = Field(description="What cannot be had together.")
    ways_out: list[Sentence] = Field(min_length=1, description="What may give way, the mildest first.")


class Tag(Sign):
    """A word that a CRM puts on a lead."""

    tag: Word = Field(description="The word that the CRM gets.")
    severity: int = Field(strict=True, ge=0, le=3, description="How much it stands in the way, 0 to 3.")
    refer: Sentence | None = Field(
        None, description="For what this workshop does not answer: who does, in words to pass on."
    )


class Merit(Reasoned):
    """One term by which stones are ranked against a wish: points for a full hit, and what a miss costs."""

    merit: Literal[
        "shape", "size", "look", "color", "clarity", "certainty", "spread", "price", "proportions"
    ] = Field(description="What it counts.")
    points: Number = Field(description="Points for a full hit.")
    priority: Literal["size", "color", "clarity", "character", "price"] | None = Field(
        None,
        description="Priority of a wish under which it counts for more; absent: always the same.",
    )


class Urgency(Reasoned):
    """How priority is reckoned from deadline, completeness, value and severity, each 0 to 3."""

    deadline_days: list[Annotated[int, Field(strict=True, ge=0, le=1000)]] = Field(
        min_length=3, max_length=3, description="Days left under which the deadline counts 1, 2 and 3."
    )
    amounts: list[Number] = Field(
        min_length=3,
        max_length=3,
        description="Budgets, in the currency's main unit, from which the value counts 1, 2 and 3.",
    )
    weights: dict[
        Literal["deadline", "completeness", "value", "severity"],
        Annotated[int, Field(strict=True, ge=0, le=5)],
    ] = Field(description="What each counts in the sum, 0 to 5; left out: 0.")
    high_from: int = Field(strict=True, ge=1, description="Sum from which the priority is high.")
    medium_from: int = Field(strict=True, ge=1, description="Sum from which it is medium.")

    @model_validator(mode="after")
    def _in_order(self) -> "Urgency":
        if self.deadline_days != sorted(self.deadline_days, reverse=True):
            refuse(str(self.deadline_days), "the most days first", "deadline_days")
        if self.amounts != sorted(self.amounts):
            refuse(", ".join(map(str, self.amounts)), "the smallest amount first", "amounts")
        if self.medium_from > self.high_from:
            refuse(str(self.medium_from), f"at most high_from, {self.high_from}", "medium_from")
        return self
