"""What a shortlist is made of. These shapes are the contract of the wire; nothing here decides."""

from typing import Annotated, NotRequired

from pydantic import Field
from typing_extensions import TypedDict

from gradefloor.judge.advice_findings import Conflict
from gradefloor.judge.findings import Measures, Question
from gradefloor.judge.price_findings import PriceFit, PricePlace
from gradefloor.rules.findings import Changed


class Term(TypedDict):
    """Points that one merit adds to the sum."""

    merit: Annotated[str, Field(description="What it counts: shape, size, look, color and others.")]
    points: Annotated[float, Field(description="Points earned.")]
    of: Annotated[float, Field(description="Points for a full hit, with the priorities of the wish.")]
    rule: Annotated[str, Field(description="Id of the rule that sets them.")]


class Tradeoff(TypedDict):
    """One thing gained or given up against the first pick."""

    about: Annotated[str, Field(description="spread, color, clarity, price and others.")]
    says: Annotated[str, Field(description="How much, in words.")]
    visible: Annotated[bool, Field(description="Whether an eye can see it, face up.")]


class Pick(TypedDict):
    """One stone worth showing."""

    role: Annotated[
        str,
        Field(description="closest, most_spread, most_for_money, bends_a_wish or runner_up."),
    ]
    also: Annotated[list[str], Field(description="Other roles that this same stone would have.")]
    index: Annotated[int, Field(description="Place in the request, from 0.")]
    stone_id: Annotated[str | None, Field(description="Your reference, repeated.")]
    verdict: Annotated[str, Field(description="pass, or ask with its questions; never fail.")]
    questions: Annotated[list[Question], Field(description="What to learn before it is recommended.")]
    price: Annotated[float | None, Field(description="Price as sent.")]
    measures: Measures
    gains: Annotated[list[Tradeoff], Field(description="What it has over the first pick.")]
    gives_up: Annotated[list[Tradeoff], Field(description="What the first pick has over it.")]
    differs: Annotated[
        list[Tradeoff], Field(description="What is neither better nor worse: outline, origin, material.")
    ]
    bends: Annotated[list[str], Field(description="Parts of the wish that it does not meet, in words.")]
    points: Annotated[float, Field(description="Sum of the terms.")]
    terms: Annotated[list[Term], Field(description="Every term of the ranking.")]
    price_place: NotRequired[PricePlace]


class NearMiss(TypedDict):
    """A stone that one change would admit."""

    index: Annotated[int, Field(description="Place in the request, from 0.")]
    stone_id: Annotated[str | None, Field(description="Your reference, repeated.")]
    because: Annotated[str, Field(description="What keeps it out: a rule's reason, or a part of the wish.")]
    rule: Annotated[str | None, Field(description="Id of that rule; null where it is the wish.")]
    remedy: Annotated[str, Field(description="Smallest change that would admit it, in words.")]
    change: Annotated[list[Changed], Field(description="The same as data, where a rule keeps it out.")]


class Dropped(TypedDict):
    """How many were left out, and why; each counted once."""

    unreadable: Annotated[int, Field(description="Could not be read.")]
    below_floor: Annotated[int, Field(description="Fail a rule.")]
    not_advised: Annotated[int, Field(description="Of a shape about which these rules do not advise.")]
    beside_the_wish: Annotated[
        int, Field(description="Miss more than one part of the wish, or one that is ruled out, or by far.")
    ]
    bends_one: Annotated[int, Field(description="Miss one part of the wish, and were not picked.")]
    dominated: Annotated[
        int,
        Field(
            description="Another of the same shape, material, origin and laboratory costs no more, shows no "
            "less, is no lower in color, clarity, certainty and fit to the wish, and better in one of them."
        ),
    ]
    not_picked: Annotated[int, Field(description="Good enough, and no role was left for them.")]


class Shortlist(TypedDict):
    """Stones worth showing."""

    picks: Annotated[
        list[Pick], Field(description="Two to four stones, each for another reason; fewer where no more fit.")
    ]
    near_misses: Annotated[list[NearMiss], Field(description="At most five that one change would admit.")]
    conflicts: Annotated[
        list[Conflict], Field(description="What of the wish cannot be had, or not be held against this list.")
    ]
    dropped: Annotated[Dropped, Field(description="How many were left out, and why.")]
    price_fit: Annotated[PriceFit, Field(description="How prices of this list hang on weight and grades.")]
