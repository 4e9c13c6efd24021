"""What is said of the prices of a list. These shapes are the contract of the wire; nothing here decides."""

from typing import Annotated, Final, NotRequired

from pydantic import Field
from typing_extensions import TypedDict


class PricePlace(TypedDict):
    """One price against its like in the same list."""

    place: Annotated[str, Field(description="below, within or above the interval of its like.")]
    expected: Annotated[
        float, Field(description="Price of a like stone by the fit, to five digits, in the list's currency.")
    ]
    low: Annotated[
        float, Field(description="Lower end of the interval that holds nine of ten prices of like stones.")
    ]
    high: Annotated[float, Field(description="Upper end of that interval.")]
    gap_pct: Annotated[float, Field(description="Price above (+) or below (-) the expected one, in %.")]


class PriceStep(TypedDict):
    """What one color, clarity or shape is worth in this list, everything else alike."""

    of: Annotated[str, Field(description="color, clarity or shape.")]
    value: Annotated[str, Field(description="Letter, grade or shape.")]
    against: Annotated[str, Field(description="The one it is compared with: the most frequent.")]
    n: Annotated[int, Field(description="Stones that have it.")]
    pct: Annotated[
        float | None,
        Field(
            description="Price above (+) or below (-) that, in %; null where it goes together with something "
            "else in this list, so that nobody can tell which of them is paid for."
        ),
    ]


class PriceLine(TypedDict):
    """How the prices of one group hang on weight and grades."""

    elasticity: Annotated[
        float | None,
        Field(description="Power of the weight that the price goes with; null where weights do not tell."),
    ]
    ten_pct_heavier_pct: Annotated[
        float | None, Field(description="Price above (+) that of a like stone 10 % lighter, in %.")
    ]
    steps: Annotated[list[PriceStep], Field(description="Worth of colors, clarities and shapes.")]
    spread_pct: Annotated[float, Field(description="Robust standard deviation of like prices, in %.")]
    r2: Annotated[
        float | None,
        Field(
            description="Share of the variation of ln price explained, 0 to 1; null: all prices are alike."
        ),
    ]
    outside: Annotated[int, Field(description="Stones it was fitted to that lie outside their interval.")]


class PriceDeclined(TypedDict):
    """Why no price of a group is placed."""

    reason: Annotated[str, Field(description="too_few, too_many_levels, wide_spread or little_explained.")]
    says: Annotated[str, Field(description="The same in words.")]


class PriceGroup(TypedDict):
    """Stones whose prices may be compared. It has either a line or a reason why there is none."""

    origin: Annotated[str | None, Field(description="natural or laboratory_grown; null: not stated.")]
    material: Annotated[str, Field(description="Material; diamond where none is stated.")]
    issuer: Annotated[str | None, Field(description="Laboratory, in small letters; null: not stated.")]
    n: Annotated[int, Field(description="Stones that can be used: all is stated, and no level is rare.")]
    line: NotRequired[PriceLine]
    declined: NotRequired[PriceDeclined]


class PriceFit(TypedDict):
    """How the prices of one list hang on weight and grades."""

    groups: Annotated[list[PriceGroup], Field(description="Groups, the largest first.")]
    unplaced: Annotated[
        dict[str, int],
        Field(description="Stones that were not placed, by reason; each is counted once."),
    ]
    unplaced_says: Annotated[dict[str, str], Field(description="The same reasons in words.")]
    notice: Annotated[str, Field(description="What a place is not.")]


PRICE_NOTICE: Final = (
    "Places each price against the other prices of this list only, on the day it was sent: not a market "
    "price, not an appraisal, not an offer. What the line does not know (cut, inclusions, haze) may be the "
    "reason."
)
